"""What a search for water gives: lanes and dip sites with the findings on each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from wetline.errors import Problem
    from wetline.model import Finding, Level

__all__ = ["DipSite", "FileLane", "FoundLanes", "Lane"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """A straight run of clear water of an incident, as flown: from `start` to `end` (x, y) [m].

    `heading_deg`: grid bearing. `length_m` is geodesic. `clear_m`: half-width free each side, not
    beyond the ends. `width_m`: free water across, over the whole length.

    `headwind_mps` < 0 is a tailwind; `crosswind_mps` > 0 comes from the right. Gradients [m/m] are
    what terrain, known trees and known obstacles ask for, None where not known.
    `run_from_m`: how far into the lane the length that the class needs begins.
    """

    id: str
    water: str
    heading_deg: float
    length_m: float
    clear_m: float
    width_m: float
    start: tuple[float, float]
    end: tuple[float, float]
    level: Level
    findings: tuple[Finding, ...] = ()
    needed_m: float | None = None
    run_from_m: float = 0.0
    headwind_mps: float | None = None
    crosswind_mps: float | None = None
    climb_gradient_needed: float | None = None
    climb_gradient_available: float | None = None
    approach_gradient_needed: float | None = None
    depth_m: float | None = None
    depth_date: date | None = None
    surface_m: float | None = None

    @property
    def middle(self) -> tuple[float, float]:
        """The point half way between `start` and `end`."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class DipSite:
    """A place to dip a bucket or a snorkel: `position` (x, y) [m], `clear_m` of water all round."""

    id: str
    water: str
    position: tuple[float, float]
    level: Level
    findings: tuple[Finding, ...]
    clear_m: float
    depth_m: float | None = None
    depth_date: date | None = None
    depth_needed_m: float | None = None
    surface_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FileLane:
    """A straight run of clear water of a water file; only its shore is known.

    `water`: the feature's name or its zero-based index. `heading_deg`: true, 0 ≤ h < 180, standing
    for both directions. `start`, `end`: (lon, lat). The rest as in `Lane`.
    """

    water: str | int
    heading_deg: float
    length_m: float
    clear_m: float
    width_m: float
    start: tuple[float, float]
    end: tuple[float, float]
    findings: tuple[Finding, ...]
    level: Level = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundLanes:
    """The lanes of a water file, longest first. Where there are none, `reason`, and how short the longest one is."""

    lanes: tuple[FileLane, ...]
    reason: str | None = None
    nearest_miss_m: float | None = None
    problems: tuple[Problem, ...] = ()
