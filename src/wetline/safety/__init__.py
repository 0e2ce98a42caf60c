"""Checks of any plan: pure functions that return findings. One code, one function, one place."""

from wetline.safety.compose import check_run, is_stopped
from wetline.safety.conditions import check_conditions, check_daylight, check_intensity
from wetline.safety.context import Confirmation, SafetyContext
from wetline.safety.coverage import check_coverage
from wetline.safety.crew_lines import check_lines, if_lines_fail, lines_notes
from wetline.safety.drawn import check_beside, check_drawn
from wetline.safety.entrapment import check_entrapment, people_horizon
from wetline.safety.errors_changed import check_errors
from wetline.safety.obstacles import check_wires, check_wires_on_leg
from wetline.safety.people import check_people, distance_to_run_m, people_limit
from wetline.safety.reach import (
    Place,
    Reach,
    arrival_times_s,
    cells_near,
    places_of,
    reaches,
)
from wetline.safety.separation import check_separation
from wetline.safety.thrown import check_thrown, people_within
from wetline.safety.waterway import check_agent, check_avoid, check_waterway, pattern_area
from wetline.safety.whole_plan import (
    check_data,
    check_follow_up,
    check_supervision,
    check_unknown_ground,
)

__all__ = [
    "Confirmation",
    "Place",
    "Reach",
    "SafetyContext",
    "arrival_times_s",
    "cells_near",
    "check_agent",
    "check_avoid",
    "check_beside",
    "check_conditions",
    "check_coverage",
    "check_data",
    "check_daylight",
    "check_drawn",
    "check_entrapment",
    "check_errors",
    "check_follow_up",
    "check_intensity",
    "check_lines",
    "check_people",
    "check_run",
    "check_separation",
    "check_supervision",
    "check_thrown",
    "check_unknown_ground",
    "check_waterway",
    "check_wires",
    "check_wires_on_leg",
    "distance_to_run_m",
    "if_lines_fail",
    "is_stopped",
    "lines_notes",
    "pattern_area",
    "people_horizon",
    "people_limit",
    "people_within",
    "places_of",
    "reaches",
]
