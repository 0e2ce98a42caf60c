"""Waves on a lane: the swell that was told, and what the wind raises over the water before it.

A told swell ages. Waves of the wind are an estimate from open water and wind alone: it can hold a
lane back, it never clears one.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from wetline import tables
from wetline.grid import along, angle_between
from wetline.model import Finding

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass, Quantity
    from wetline.ground import Water
    from wetline.water.circumstances import Circumstances
    from wetline.water.course import Course
    from wetline.weather import Hour

    Area = shapely.Polygon | shapely.MultiPolygon

__all__ = ["check_swell", "fetch_m", "sea_state", "swell_angle_deg", "wind_wave_m"]

_GRAVITY_MPS2 = 9.80665  # ISO 80000-3: standard acceleration of free fall
_NEAR_LIMIT = 0.75  # share of a wave height at which to say so: common practice, no source
_HIGH_SHARE = 0.5  # share from which the angle to the swell is a caution: common practice, no source
_ALONG_DEG = 45.0  # nearer to the crests than to the swell's own direction
_SOURCE = "from memory: Shore Protection Manual 1984, deep water, limited by fetch"


def sea_state(height_m: float) -> str:
    """The word of the Douglas scale for a significant wave height [m, ≥ 0]."""
    table = tables.load("sea/state")
    row = int(np.searchsorted(table["to_m"][:-1], height_m))  # a bound belongs to the state below it
    return f"state {table['state'][row]:.0f}, {table['word'][row]}"


def swell_angle_deg(heading_deg: float, swell_from_deg: float) -> float:
    """Angle [deg, 0 to 90] between a run and the swell's direction: 0 into or with it, 90 along its crests."""
    angle = float(angle_between(heading_deg, swell_from_deg))
    return min(angle, 180.0 - angle)


def wind_wave_m(wind_mps: float, fetch: float) -> float:
    """Significant height [m] of waves that a steady wind [m/s, 10 m] raises over open water [m], deep water.

    Limited by the fetch or fully grown, whichever is less; a wind that has not blown long enough
    raises less. Shallow water lowers them and makes them steeper.

    References
    ----------
    From memory: Shore Protection Manual 1984, eq. 3-28a (wind factor), 3-33 and 3-36.
    """
    if wind_mps <= 0.0 or fetch <= 0.0:
        return 0.0
    factor_mps: float = 0.71 * wind_mps**1.23  # eq. 3-28a
    limited = 1.6e-3 * math.sqrt(_GRAVITY_MPS2 * fetch / factor_mps**2)  # eq. 3-33
    return min(limited, 0.2433) * factor_mps**2 / _GRAVITY_MPS2  # eq. 3-36


def fetch_m(course: Course, water: Area, hour: Hour) -> float:
    """Longest open water [m] up the wind from the lane's start, middle and end, on this water alone."""
    east, north = along(hour.wind_from_deg)
    rings = shapely.get_rings(shapely.get_parts(water))
    shore, ring = shapely.get_coordinates(rings, return_index=True)
    lane = np.array([course.point(share * course.length_m) for share in (0.02, 0.5, 0.98)])
    up, aside = _turned(shore, east, north)
    lane_up, lane_aside = (v[:, None] for v in _turned(lane, east, north))
    joined = ring[:-1] == ring[1:]
    u0, u1, v0, v1 = up[:-1][joined], up[1:][joined], aside[:-1][joined], aside[1:][joined]
    crosses = (v0 <= lane_aside) != (v1 <= lane_aside)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = u0 + (lane_aside - v0) / (v1 - v0) * (u1 - u0)
    away = np.where(crosses & (at > lane_up), at - lane_up, np.inf).min(axis=1)
    return float(np.max(away, where=np.isfinite(away), initial=0.0))


def _turned(
    points: NDArray[np.float64], east: NDArray[np.float64], north: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distances [m] up the wind and to its right."""
    return points[:, 0] * east + points[:, 1] * north, points[:, 0] * north - points[:, 1] * east


def check_swell(
    water: Water,
    course: Course,
    cls: AircraftClass,
    circumstances: Circumstances,
    wind_waves_m: float | None,
) -> tuple[Finding, ...]:
    """The told swell, its age and its direction against the run; on the sea also that nobody told one.

    `wind_waves_m`: what the wind raises here, by estimate; None where the wind is not known.
    """
    limit = cls.get("wave_limit_m")
    told = _told(water, circumstances)
    if water.swell_m is not None and told is None:
        return (
            _height(water.swell_m, water.swell_at, limit, cls),
            *_direction(water, course, limit),
        )
    looked = circumstances.look_at(water)
    out = []
    if told is not None or water.kind == "sea":
        why = told or "no swell is told"
        out.append(_look(f"Swell: {why}", looked, circumstances.limits["swell_valid_min"].source))
    if wind_waves_m is not None and limit is not None and wind_waves_m > _NEAR_LIMIT * limit.value:
        out.append(_estimate(wind_waves_m, limit, looked, circumstances.hour))
    return tuple(out)


def _told(water: Water, circumstances: Circumstances) -> str | None:
    """Why a told swell does not count; None where it counts or none is told."""
    if water.swell_m is None:
        return None
    now, at = circumstances.now, water.swell_at
    if at is None or now is None:
        return f"{water.swell_m:g} m, but it is not known when that was told"
    age_min = (now - at).total_seconds() / 60.0
    limit = circumstances.limits["swell_valid_min"]
    if age_min < 0.0:
        return f"{water.swell_m:g} m, dated {at:%d %b %H:%MZ}, after the moment asked about"
    if age_min > limit.value:
        return f"{water.swell_m:g} m of {at:%d %b %H:%MZ} is {_age(age_min)} old, {limit.text()} count"
    return None


def _age(age_min: float) -> str:
    return f"{age_min:.0f} min" if age_min < 120.0 else f"{age_min / 60.0:.0f} h"


def _height(swell_m: float, at: datetime | None, limit: Quantity | None, cls: AircraftClass) -> Finding:
    when = "" if at is None else f" at {at:%H:%MZ}"
    words = f"Swell {swell_m:g} m ({sea_state(swell_m)}){when}"
    if limit is None:
        return Finding(
            code="waves",
            level="unknown",
            effect="look",
            message=f"{words}; no limit is known for a {cls.name.lower()}.",
            source="the class's table",
            refers_to="",
            value=f"{swell_m:g} m",
        )
    least = limit.value if limit.low is None else limit.low
    level: Literal["clear", "caution", "stop"] = "clear"
    if swell_m > limit.value:
        level = "stop"
    elif swell_m > min(_NEAR_LIMIT * limit.value, least):
        level = "caution"
    return Finding(
        code="waves",
        level=level,
        message=f"{words}, limit {limit.value:g} m.",
        source=limit.source,
        refers_to="",
        limit=f"{limit.value:g} m",
        value=f"{swell_m:g} m",
    )


def _direction(water: Water, course: Course, limit: Quantity | None) -> tuple[Finding, ...]:
    """A run along the crests is wanted: into or with a high swell is a caution."""
    if not water.swell_m:
        return ()
    if water.swell_from_deg is None:
        return (
            Finding(
                code="waves",
                level="unknown",
                effect="noted",
                message="The direction of the swell is not told: choose the run along its crests.",
                source="the water layer",
                refers_to="",
            ),
        )
    angle_deg = swell_angle_deg(course.heading_deg, water.swell_from_deg)
    into = float(angle_between(course.heading_deg, water.swell_from_deg)) < 90.0
    high = limit is None or water.swell_m > _HIGH_SHARE * limit.value
    if angle_deg >= _ALONG_DEG:
        message = f"The run lies {angle_deg:.0f}° to the swell, nearer to its crests."
    else:
        message = f"The run goes {'into' if into else 'with'} the swell, {angle_deg:.0f}° off; along its crests is better."
    return (
        Finding(
            code="waves",
            level="caution" if high and angle_deg < _ALONG_DEG else "clear",
            message=message,
            source="second-hand public copy: scoop into the wind, parallel to the swell",
            refers_to="",
            value=f"{angle_deg:.0f}°",
        ),
    )


def _look(what: str, looked: datetime | None, source: str) -> Finding:
    seen = f"; the water was looked at {looked:%H:%MZ}" if looked else ". Look before the first fill"
    return Finding(
        code="waves",
        level="caution" if looked else "unknown",
        effect=None if looked else "look",
        message=f"{what}{seen}.",
        source=source,
        refers_to="",
    )


def _estimate(height_m: float, limit: Quantity, looked: datetime | None, hour: Hour | None) -> Finding:
    """Waves by estimate: above the limit they ask for a look, near it they are a caution; never clear."""
    above = height_m > limit.value
    held = above and looked is None
    when = "" if hour is None else f" in the wind of {hour.time:%H:%MZ}"
    side = "above" if above else "near"
    return Finding(
        code="waves",
        level="unknown" if held else "caution",
        effect="look" if held else None,
        message=f"Waves of about {height_m:.1f} m ({sea_state(height_m)}) by estimate{when}, {side} the limit {limit.value:g} m.",
        source=_SOURCE,
        refers_to="",
        limit=f"{limit.value:g} m",
        value=f"{height_m:.1f} m",
    )
