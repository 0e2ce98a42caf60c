"""What a search for water gives: lanes and dip sites with the findings on each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date, datetime

    from wetline.aircraft import LoadRule
    from wetline.errors import Problem
    from wetline.model import Band, Finding, Level
    from wetline.water.escape import Escape
    from wetline.water.flight import Phase

__all__ = ["DipSite", "DipWay", "FileLane", "FoundLanes", "Lane"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """A straight run of clear water of an incident, as flown: from `start` to `end` (x, y) [m].

    `heading_deg`: grid bearing. `length_m` is geodesic. `clear_m`: half-width free each side, not
    beyond the ends. `width_m`: free water across, over the whole length.

    `headwind_mps` < 0 is a tailwind; `crosswind_mps` > 0 comes from the right. Gradients [m/m] needed
    are what terrain, known trees and known obstacles ask for, None where not known; available is what
    counts: the limit, or the class's climb where that is less. `class_climb`: what the class climbs.

    `needed`: length that the class needs this way in this air, over its band. `run_from_m`: how far
    into the lane it begins; `phases`: its parts in the order flown. `escape`: how to leave.
    `swell_angle_deg`: 0 into or with the swell, 90 along its crests. `wave_estimate_m`: what the wind
    raises here, by estimate. `looked_at`: the newest look known, `look_expires`: when it ends to hold.
    `because`: what each number stands on, by its name.
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
    needed: Band | None = None
    run_from_m: float = 0.0
    phases: tuple[Phase, ...] = ()
    density_altitude_m: float | None = None
    headwind_mps: float | None = None
    crosswind_mps: float | None = None
    climb_gradient_needed: float | None = None
    climb_gradient_available: float | None = None
    class_climb: Band | None = None
    approach_gradient_needed: float | None = None
    approach_gradient_available: float | None = None
    escape: Escape | None = None
    swell_m: float | None = None
    swell_angle_deg: float | None = None
    wave_estimate_m: float | None = None
    depth_m: float | None = None
    depth_date: date | None = None
    surface_m: float | None = None
    looked_at: datetime | None = None
    look_expires: datetime | None = None
    because: tuple[tuple[str, str], ...] = ()

    @property
    def needed_m(self) -> float | None:
        """The length needed [m], the middle of its band."""
        return None if self.needed is None else self.needed.middle

    def from_m(self, phase: str) -> float | None:
        """Where a part of the run begins [m] along the lane; None where it has no such part."""
        return next((part.from_m for part in self.phases if part.name == phase), None)

    def point(self, along_m: float) -> tuple[float, float]:
        """The point (x, y) [m] at a distance along the lane."""
        share = along_m / math.dist(self.start, self.end)
        return (
            self.start[0] + share * (self.end[0] - self.start[0]),
            self.start[1] + share * (self.end[1] - self.start[1]),
        )

    @property
    def middle(self) -> tuple[float, float]:
        """The point half way between `start` and `end`."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class DipWay:
    """The best way into a dip site and out of it. Headings are grid bearings as flown; None where no way is open.

    `climb_needed`, `approach_needed`: slopes [m/m] from the water over all that is known there.
    `climb_available`: of the class at full load in this air, None if not known. `rise_m`, `rise_low_m`: climb
    straight up before the class's middle and low slope clear it; `descent_m`: straight down at the end of the
    way in. `open_deg`: bearings from the site that are open outward and inward; `confined`: no two of them
    lie 90° apart.
    """

    departure_deg: float | None
    approach_deg: float | None
    climb_needed: float | None
    climb_available: Band | None
    approach_needed: float | None
    approach_available: float
    rise_m: float | None
    rise_low_m: float | None
    descent_m: float | None
    open_deg: tuple[float, ...]
    confined: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DipSite:
    """A place to dip a bucket or a snorkel: `position` (x, y) [m], `clear_m` free all round.

    `class_id`, `fill`: for whom it was judged, and with what that class dips; None where it has no choice.
    `water`: its name, or that of the place where it lies in no known water. `place`: the name of a place
    known for dipping, None for one found in a water; `kind`: natural water, a pond or a tank.
    `way`: None where the height of the water is not known. `headwind_mps` (< 0 is a tailwind), `crosswind_mps`
    (> 0 from the right): on the way out. `load`: litres by fuel on board, None where the class tells none;
    `load_cap_l`: what the tank lets take. `volume_l`, `refill_l_per_min`: of a tank or small pond.
    """

    id: str
    water: str
    position: tuple[float, float]
    level: Level
    findings: tuple[Finding, ...]
    clear_m: float | None
    class_id: str = ""
    fill: str | None = None
    place: str | None = None
    kind: Literal["water", "pond", "tank"] = "water"
    depth_m: float | None = None
    depth_date: date | None = None
    depth_needed_m: float | None = None
    surface_m: float | None = None
    density_altitude_m: float | None = None
    way: DipWay | None = None
    headwind_mps: float | None = None
    crosswind_mps: float | None = None
    load: LoadRule | None = None
    load_cap_l: float | None = None
    volume_l: float | None = None
    refill_l_per_min: float | None = None
    looked_at: datetime | None = None


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
