"""From the load to the ground: pattern, line by coverage level, drift, danger below, hold."""

from wetline.drops.agents import (
    AgentFacts,
    Carries,
    Known,
    agent_facts,
    between_waters,
    carries,
    concentrate_l,
    viscosity_class,
)
from wetline.drops.clear import StandClear
from wetline.drops.column import Column, column
from wetline.drops.danger import IF_CAUGHT, IF_CAUGHT_SOURCE, LARGE_CLASSES, safe_height_m, stand_off_m
from wetline.drops.droplet_settings import DropletSettings, droplet_settings
from wetline.drops.droplets import Droplets, droplets
from wetline.drops.drying import Air, airs_from, evaporation_mm_per_h
from wetline.drops.fall import terminal_speed_mps
from wetline.drops.flame import flame_findings
from wetline.drops.flow import Flow
from wetline.drops.hold import Hold, hold, wet_minutes
from wetline.drops.ladder import Ladder, Rung, height_ladder, speed_ladder
from wetline.drops.line import Stack, line_m, lines_of, overlap, overlap_m, stack_for
from wetline.drops.liquid import AGENTS, Agent, Liquid, liquid
from wetline.drops.measured import DropTest, HeightAbove, LineKind, SpeedKind
from wetline.drops.need import Need, above_canopy_l_per_m2, need, needed_level
from wetline.drops.own_faults import own_faults
from wetline.drops.own_table import DropTests, OwnLine, UsedLine
from wetline.drops.pattern import pattern
from wetline.drops.picture import picture
from wetline.drops.planning_pattern import doors_open_m
from wetline.drops.release import Input, Release, Resolved, System
from wetline.drops.resolve import resolve
from wetline.drops.result import (
    LEVELS,
    METHODS,
    AtLevel,
    DropResult,
    Fall,
    Method,
    PatternRaster,
    PatternSize,
)
from wetline.drops.strike import Strike, strike
from wetline.drops.systems import systems_of

__all__ = [
    "AGENTS",
    "IF_CAUGHT",
    "IF_CAUGHT_SOURCE",
    "LARGE_CLASSES",
    "LEVELS",
    "METHODS",
    "Agent",
    "AgentFacts",
    "Air",
    "AtLevel",
    "Carries",
    "Column",
    "DropResult",
    "DropTest",
    "DropTests",
    "DropletSettings",
    "Droplets",
    "Fall",
    "Flow",
    "HeightAbove",
    "Hold",
    "Input",
    "Known",
    "Ladder",
    "LineKind",
    "Liquid",
    "Method",
    "Need",
    "OwnLine",
    "PatternRaster",
    "PatternSize",
    "Release",
    "Resolved",
    "Rung",
    "SpeedKind",
    "Stack",
    "StandClear",
    "Strike",
    "System",
    "UsedLine",
    "above_canopy_l_per_m2",
    "agent_facts",
    "airs_from",
    "between_waters",
    "carries",
    "column",
    "concentrate_l",
    "doors_open_m",
    "droplet_settings",
    "droplets",
    "evaporation_mm_per_h",
    "flame_findings",
    "height_ladder",
    "hold",
    "line_m",
    "lines_of",
    "liquid",
    "need",
    "needed_level",
    "overlap",
    "overlap_m",
    "own_faults",
    "pattern",
    "picture",
    "resolve",
    "safe_height_m",
    "speed_ladder",
    "stack_for",
    "stand_off_m",
    "strike",
    "systems_of",
    "terminal_speed_mps",
    "viscosity_class",
    "wet_minutes",
]
