"""From the load to the ground: pattern, line by coverage level, drift, danger below, hold."""

from wetline.drops.danger import safe_height_m, stand_off_m
from wetline.drops.fall import terminal_speed_mps
from wetline.drops.flow import Flow
from wetline.drops.hold import Hold, hold
from wetline.drops.line import Stack, line_m, loads_to_reach, overlap_m, stack_for
from wetline.drops.liquid import AGENTS, Agent, Liquid, liquid
from wetline.drops.need import Need, need, needed_level
from wetline.drops.pattern import pattern
from wetline.drops.picture import picture
from wetline.drops.release import Input, Release
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

__all__ = [
    "AGENTS",
    "LEVELS",
    "METHODS",
    "Agent",
    "AtLevel",
    "DropResult",
    "Fall",
    "Flow",
    "Hold",
    "Input",
    "Liquid",
    "Method",
    "Need",
    "PatternRaster",
    "PatternSize",
    "Release",
    "Stack",
    "hold",
    "line_m",
    "liquid",
    "loads_to_reach",
    "need",
    "needed_level",
    "overlap_m",
    "pattern",
    "picture",
    "safe_height_m",
    "stack_for",
    "stand_off_m",
    "terminal_speed_mps",
]
