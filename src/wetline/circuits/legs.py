"""Straight legs: the wind triangle, and the climb and descent that the ground under them asks for.

A leg is flown at cruise. What the ground makes it climb is added in full, for no class knows how fast it
gets on while climbing; a descent is counted only where the straight way down is steeper than the limit.
The limit of clearance over the ground raises both ends of a leg alike and so costs no time here: climbing
to it from the water and coming down from it is in the fill and the drop pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from wetline.aircraft import climb_rate_mps
from wetline.circuits.sources import air_at_m
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.grid import bearing_deg
from wetline.units import FOOT, MINUTE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass, Quantity
    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Hour

    Point = tuple[float, float]

__all__ = [
    "EMPTY",
    "LOADED",
    "Leg",
    "Seen",
    "Under",
    "flight_time_s",
    "fly_leg",
    "ground_speed_mps",
    "ground_speeds",
    "height_at_m",
    "known_along",
    "quantity_of",
    "rate_up_mps",
    "steep_descent_s",
]

LOADED = ("cruise_loaded_kt", "cruise_kt")
EMPTY = ("cruise_kt", "cruise_loaded_kt")
_MOST_SAMPLES = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One straight leg. `course_deg` grid bearing; `time_s` holds `climb_s` and `descent_s`.

    `climb_m` is climbed from its start over the highest ground on it, `top_m` that ground above sea level
    (None: not known). `drop_m` must be lost within the last `within_m`, where that takes more time than
    the leg. `known`: whether heights are known all along.
    """

    name: Literal["out", "back"]
    course_deg: float
    distance_m: float
    ground_speed_mps: float
    climb_m: float
    time_s: float
    climb_s: float = 0.0
    descent_s: float = 0.0
    drop_m: float = 0.0
    within_m: float = 0.0
    top_m: float | None = None
    known: bool = True


def ground_speeds(
    airspeed: NDArray[np.float64], course_deg: float, wind: NDArray[np.float64], from_deg: float
) -> NDArray[np.float64]:
    """Ground speed [m/s]; 0 where the wind is too strong to hold the course or to get on."""
    angle = np.radians(from_deg - course_deg)
    across, against = wind * np.sin(angle), wind * np.cos(angle)
    along = np.sqrt(np.maximum(airspeed**2 - across**2, 0.0)) - against
    return np.where((np.abs(across) < airspeed) & (along > 0.0), along, 0.0)


def ground_speed_mps(airspeed_mps: float, course_deg: float, wind_mps: float, wind_from_deg: float) -> float:
    """Speed over the ground [m/s] along a course, by the wind triangle. Bearings grid [deg].

    Raises
    ------
    OutsideRangeError
        If the course cannot be held in that wind.
    """
    speed = float(ground_speeds(np.array([airspeed_mps]), course_deg, np.array([wind_mps]), wind_from_deg)[0])
    if speed <= 0.0:
        raise OutsideRangeError(field="wind", value=wind_mps, low=0.0, high=airspeed_mps, unit="m/s")
    return speed


def quantity_of(cls: AircraftClass, *names: str) -> Quantity:
    """The first of `names` that the class knows.

    Raises
    ------
    InputError
        If it knows none.
    """
    for name in names:
        quantity = cls.get(name)
        if quantity is not None:
            return quantity
    problem = Problem(
        message=f"{cls.name} has no {names[0]}.",
        mend=f"Give {names[0]} for the class {cls.id}.",
        field=names[0],
    )
    raise InputError.of([problem])


def height_at_m(ground: Ground, point: Point) -> float | None:
    """Terrain [m above sea level] at a point, None where it is not known."""
    z = float(ground.grid.sample(ground.elevation_m, np.array([point[0]]), np.array([point[1]]))[0])
    return z if np.isfinite(z) else None


def rate_up_mps(cls: AircraftClass, air_m: float | None, *, loaded: bool) -> float | None:
    """Rate of climb [m/s] in the air of a density altitude [m]; None where the class's is not known.

    Where the air is not known the class's figure stands as it is, that of sea level on a standard day.

    Raises
    ------
    OutsideRangeError
        If it does not climb in that air.
    """
    rate = climb_rate_mps(cls, air_m or 0.0, loaded=loaded)
    if rate is None:
        return None
    if rate.middle <= 0.0:
        highest_m = quantity_of(cls, "ceiling_ft").si()
        raise OutsideRangeError(
            field="density_altitude", value=air_m or 0.0, low=-2000.0, high=highest_m, unit="m"
        )
    return rate.middle


@dataclass(frozen=True, slots=True)
class Under:
    """The ground under a leg: height [m] at distances [m] from its start; both NaN-free, maybe gappy."""

    at_m: NDArray[np.float64]
    z_m: NDArray[np.float64]
    known: bool


Seen: TypeAlias = "dict[tuple[Point, Point, tuple[float | None, float | None]], Under | None]"
"""The ground under the legs looked at already: the same in every hour. Of one ground alone."""


def _under(
    ground: Ground,
    start: Point,
    end: Point,
    heights_m: tuple[float | None, float | None],
    seen: Seen | None = None,
) -> Under | None:
    """The ground from start to end, the ends at `heights_m` where given; None where the start is not known."""
    if seen is None:
        return _looked_up(ground, start, end, heights_m)
    key = (start, end, heights_m)
    if key not in seen:
        seen[key] = _looked_up(ground, start, end, heights_m)
    return seen[key]


def _looked_up(
    ground: Ground, start: Point, end: Point, heights_m: tuple[float | None, float | None]
) -> Under | None:
    distance = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    steps = max(2, min(_MOST_SAMPLES, int(distance / ground.grid.cell_m) + 2))
    share = np.linspace(0.0, 1.0, steps)
    z = ground.grid.sample(
        ground.elevation_m, start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
    )
    for i in (0, -1):
        height = heights_m[i]
        if height is not None:
            z[i] = height
    known = ~np.isnan(z)
    if not known[0]:
        return None
    return Under(share[known] * distance, z[known], bool(known.all()))


def known_along(ground: Ground, start: Point, end: Point) -> bool:
    """Whether the height of the ground is known all along a straight flight."""
    under = _under(ground, start, end, (None, None))
    return under is not None and under.known


def steep_descent_s(
    drop_m: float | NDArray[np.float64],
    within_m: float | NDArray[np.float64],
    speed_mps: float | NDArray[np.float64],
    rate_mps: float,
) -> NDArray[np.float64]:
    """Time [s] that losing a height takes beyond the flight over the distance left for it, 0 at least."""
    return np.maximum(0.0, drop_m / rate_mps - within_m / np.asarray(speed_mps))


def fly_leg(
    name: Literal["out", "back"],
    cls: AircraftClass,
    start: Point,
    end: Point,
    *,
    hour: Hour | None,
    ground: Ground,
    heights_m: tuple[float | None, float | None] = (None, None),
    after_m: float = 0.0,
    limits: Limits | None = None,
    seen: Seen | None = None,
) -> Leg:
    """A leg with the hour's wind (none: still air); loaded out, empty back.

    `heights_m`: of the ends above sea level where the terrain is not to be asked. `after_m`: what is flown
    behind the leg until its end's height must be reached. Without `limits` a descent costs nothing.

    Raises
    ------
    OutsideRangeError
        If the course cannot be held in that wind, or the class does not climb in that air.
    """
    airspeed = quantity_of(cls, *(LOADED if name == "out" else EMPTY)).si()
    course = float(bearing_deg(end[0] - start[0], end[1] - start[1]))
    wind, from_deg = (0.0, 0.0) if hour is None else (hour.wind_mps, hour.wind_from_deg)
    speed = ground_speed_mps(airspeed, course, wind, from_deg)
    distance = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    under = _under(ground, start, end, heights_m, seen)
    if under is None:
        return Leg(
            name=name,
            course_deg=course,
            distance_m=distance,
            ground_speed_mps=speed,
            climb_m=0.0,
            time_s=distance / speed,
            known=False,
        )
    climb_m = max(0.0, float(under.z_m.max() - under.z_m[0]))
    climb_s = 0.0
    if climb_m > 0.0:
        rate = rate_up_mps(cls, air_at_m(float(under.z_m[0]), hour), loaded=name == "out")
        climb_s = 0.0 if rate is None else climb_m / rate
    drop_m, within_m, descent_s = 0.0, 0.0, 0.0
    if limits is not None and under.known:
        down_mps = limits.value("descent_rate_fpm") * FOOT / MINUTE
        drops, lefts = under.z_m - under.z_m[-1], distance - under.at_m + after_m
        late = steep_descent_s(drops, lefts, speed, down_mps)
        i = int(np.argmax(late))
        drop_m, within_m, descent_s = max(float(drops[i]), 0.0), float(lefts[i]), float(late[i])
    return Leg(
        name=name,
        course_deg=course,
        distance_m=distance,
        ground_speed_mps=speed,
        climb_m=climb_m,
        time_s=distance / speed + climb_s + descent_s,
        climb_s=climb_s,
        descent_s=descent_s,
        drop_m=drop_m,
        within_m=within_m,
        top_m=float(under.z_m.max()),
        known=under.known,
    )


def flight_time_s(
    cls: AircraftClass,
    start: Point,
    end: Point,
    hour: Hour | None,
    ground: Ground,
    *,
    loaded: bool = False,
    limits: Limits | None = None,
    seen: Seen | None = None,
) -> float:
    """Time [s] of a flight between two points [m] with the hour's wind (none: still air) and climb.

    Raises
    ------
    OutsideRangeError
        If the course cannot be held in that wind.
    """
    return fly_leg(
        "out" if loaded else "back", cls, start, end, hour=hour, ground=ground, limits=limits, seen=seen
    ).time_s
