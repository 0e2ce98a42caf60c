"""The way out of a lane: straight ahead, by a turn at full load, or only with the load dumped.

A turn begins where the climb has reached 15 m and is flown at the bank that the limits allow. In
the air its radius is V²/(g tan φ); over the ground the wind carries it along. Ground, trees and
known obstacles are looked at across the whole strip that the turn and the straight behind it sweep.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from wetline.grid import along
from wetline.water.course import CLIMB_M, tops_over
from wetline.water.flight import SCREEN_M
from wetline.water.wires import hazards_within

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.water.course import Course
    from wetline.weather import Hour

    Area = shapely.Polygon | shapely.MultiPolygon

__all__ = ["Escape", "turn_out", "turn_radius_m", "turn_track"]

_GRAVITY_MPS2 = 9.80665  # ISO 80000-3: standard acceleration of free fall
_TURNS_DEG = (30.0, 60.0, 90.0, 120.0, 150.0, 180.0)
_STEEPEST_DEG = 90.0
_STEP_M = 20.0
_WIDER = 2.0
"""Half-width that a turn sweeps, in half-widths of the lane: common practice, no source."""

Kind = Literal["straight", "turn_left", "turn_right", "dump", "none", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Escape:
    """How to leave the lane when the load is on, and why so.

    `gradient_needed`: what it asks for; `gradient_available`: what counts for it, None if not known.
    `turn_deg`, `radius_m` (in the air), `track` (x, y) [m] over the ground: of a turn.
    """

    kind: Kind
    because: str
    gradient_needed: float | None = None
    gradient_available: float | None = None
    turn_deg: float | None = None
    radius_m: float | None = None
    track: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Turn:
    """One turn looked at: the slope it asks for, NaN where ground is not known; `track` float64[n, 2] [m]."""

    kind: Kind
    turn_deg: float
    asked: float
    track: NDArray[np.float64]


def turn_radius_m(speed_mps: float, bank_deg: float) -> float:
    """Radius [m] of a level, balanced turn at a true speed [m/s] and bank [deg, 0 < φ < 90]: V²/(g tan φ)."""
    return speed_mps**2 / (_GRAVITY_MPS2 * math.tan(math.radians(bank_deg)))


def turn_out(
    course: Course, water: Area, ground: Ground, hour: Hour | None, limits: Limits, *, available: float
) -> Escape:
    """The turn that asks for least, right or left; `none` or `unknown` where no turn is proved clear.

    `available`: climb [m/m] that counts in a turn.
    """
    speed_mps, surface_m = course.flight.climb_mps, course.surface_m
    if speed_mps is None or surface_m is None or hour is None:
        missing = "the climb speed of the class" if speed_mps is None else "the wind" if hour is None else "the water's height"  # fmt: skip
        return Escape(kind="unknown", because=f"no turn can be laid out: {missing} is not known")
    bank = limits["turn_bank_deg"]
    if not 0.0 < bank.value < _STEEPEST_DEG:
        return Escape(kind="unknown", because=f"no turn can be laid out at {bank.text()} of bank")
    radius_m = turn_radius_m(speed_mps, bank.value)
    found = _turns(course, water, ground, hour, (radius_m, speed_mps, surface_m))
    keep_m = _WIDER * course.clear_m + limits.value("wire_stop_m")
    low = [t for t in found if t.asked <= available]  # NaN is not ≤
    low.sort(key=lambda t: (round(t.asked, 3), t.turn_deg))
    turn = next((t for t in low if not _near_hazard(t.track, ground, keep_m)), None)
    if turn is not None:
        return Escape(
            kind=turn.kind,
            because=f"{turn.turn_deg:.0f}° at {bank.value:g}° of bank from {SCREEN_M:g} m up, radius {radius_m:.0f} m, "
            f"asks for {100 * turn.asked:.1f} % of {100 * available:.1f} % that count in a turn",
            gradient_needed=turn.asked,
            gradient_available=available,
            turn_deg=turn.turn_deg,
            radius_m=radius_m,
            track=tuple((float(x), float(y)) for x, y in turn.track),
        )
    if any(math.isnan(t.asked) and not _near_hazard(t.track, ground, keep_m) for t in found):
        return Escape(
            kind="unknown", because="the ground that a turn would cross is not known", radius_m=radius_m
        )
    return Escape(
        kind="none",
        because=f"no turn of 30° to 180° to either side, radius {radius_m:.0f} m, is clear",
        radius_m=radius_m,
    )


def turn_track(
    course: Course, side: float, turn_deg: float, radius_m: float, speed_mps: float, hour: Hour
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Points x, y [m] over the ground and the way flown in the air [m], from 15 m up to the end of the look.

    `side`: −1 left, 1 right. The straight behind the turn is flown on the heading it ends on.
    """
    flown_m = np.arange(0.0, max(CLIMB_M - course.flight.climb_m, _STEP_M * 3), _STEP_M)
    arc_m = radius_m * math.radians(turn_deg)
    angle = np.minimum(flown_m, arc_m) / radius_m
    beyond_m = np.maximum(flown_m - arc_m, 0.0)
    ahead_m = radius_m * np.sin(angle) + beyond_m * np.cos(angle)
    right_m = side * (radius_m * (1.0 - np.cos(angle)) + beyond_m * np.sin(angle))
    east, north = along(course.heading_deg)
    drift_m = flown_m / speed_mps * hour.wind_mps
    from_east, from_north = along(hour.wind_from_deg)
    x0, y0 = course.point(course.run_to_m)
    x = x0 + east * ahead_m + north * right_m - from_east * drift_m
    y = y0 + north * ahead_m - east * right_m - from_north * drift_m
    return x, y, flown_m


def _turns(
    course: Course,
    water: Area,
    ground: Ground,
    hour: Hour,
    turn: tuple[float, float, float],
) -> list[_Turn]:
    """Every turn: what stands above 15 m on the strip that it sweeps, as a slope from where it begins."""
    radius_m, speed_mps, surface_m = turn
    kinds = [("turn_left", -1.0, deg) for deg in _TURNS_DEG] + [
        ("turn_right", 1.0, deg) for deg in _TURNS_DEG
    ]
    tracks = [turn_track(course, side, deg, radius_m, speed_mps, hour) for _, side, deg in kinds]
    x, y, flown_m = (np.array(part) for part in zip(*tracks, strict=True))
    half_m = _WIDER * course.clear_m
    step_m = max(_STEP_M, ground.grid.cell_m)
    across = np.linspace(-half_m, half_m, 1 + 2 * math.ceil(half_m / step_m))[:, None, None]
    toward = np.arctan2(np.gradient(x, axis=1), np.gradient(y, axis=1))
    top, _ = tops_over(ground, water, x + np.cos(toward) * across, y - np.sin(toward) * across, surface_m)
    above_m = np.max(top, axis=0) - SCREEN_M  # np.max keeps NaN: unknown beside is unknown
    asked = np.max(np.maximum(above_m, 0.0) / np.maximum(flown_m, _STEP_M / 2), axis=1)
    return [
        _Turn(
            kind=kind,  # type: ignore[arg-type]  # the two words above
            turn_deg=deg,
            asked=float(asked[i]),
            track=np.column_stack([x[i], y[i]]),
        )
        for i, (kind, _, deg) in enumerate(kinds)
    ]


def _near_hazard(track: NDArray[np.float64], ground: Ground, keep_m: float) -> bool:
    """Whether a known obstacle, of whatever height, stands within a distance [m] of a path."""
    return bool(hazards_within(ground, shapely.LineString(track), keep_m))
