"""Fill-fly-drop cycles, drop runs, the day: loads with their times."""

from wetline.circuits.bases import AtBase, at_base, check_base
from wetline.circuits.checks import (
    cut_offs,
    duty_findings,
    first_light,
    fuel_findings,
    terrain_exit_finding,
)
from wetline.circuits.choice import BestSources, best_sources, why_primary
from wetline.circuits.costs import Cost, costs_together
from wetline.circuits.cycle import Circuit, circuit, way_of
from wetline.circuits.day import AircraftDay, CutOff, Day, Load, Stop
from wetline.circuits.flights import LimitedBy
from wetline.circuits.flow import Sharing, repair_shop_rate, share
from wetline.circuits.legs import Leg, ground_speed_mps
from wetline.circuits.light import daylight_findings
from wetline.circuits.parts import Part
from wetline.circuits.planning import plan_day
from wetline.circuits.racetrack import RaceTrack, crossings, race_track
from wetline.circuits.runs import RunGeometry, build_run
from wetline.circuits.separation import separation_findings
from wetline.circuits.sources import Source, air_at_m, sources_from
from wetline.circuits.stock import Stock, drawn, ready_s
from wetline.circuits.totals import Totals, totals_of
from wetline.circuits.track import TrackPoint
from wetline.circuits.way_out import turn_radius_m

__all__ = [
    "AircraftDay",
    "AtBase",
    "BestSources",
    "Circuit",
    "Cost",
    "CutOff",
    "Day",
    "Leg",
    "LimitedBy",
    "Load",
    "Part",
    "RaceTrack",
    "RunGeometry",
    "Sharing",
    "Source",
    "Stock",
    "Stop",
    "Totals",
    "TrackPoint",
    "air_at_m",
    "at_base",
    "best_sources",
    "build_run",
    "check_base",
    "circuit",
    "costs_together",
    "crossings",
    "cut_offs",
    "daylight_findings",
    "drawn",
    "duty_findings",
    "first_light",
    "fuel_findings",
    "ground_speed_mps",
    "plan_day",
    "race_track",
    "ready_s",
    "repair_shop_rate",
    "separation_findings",
    "share",
    "sources_from",
    "terrain_exit_finding",
    "totals_of",
    "turn_radius_m",
    "way_of",
    "why_primary",
]
