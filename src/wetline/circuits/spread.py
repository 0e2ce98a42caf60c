"""What a cycle is made of, and its band: the class's own ranges drawn through the same sum."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.aircraft import Aircraft, AircraftClass, Quantity
    from wetline.model import Limits
    from wetline.weather import Hour

__all__ = [
    "EMPTY",
    "LOADED",
    "Leg",
    "Overhead",
    "band",
    "band_from",
    "cycle_members_s",
    "extra_passes",
    "ground_speeds",
    "load_members_l",
    "overhead_of",
    "quantity_of",
]

_MEMBERS = 200
_INPUTS = 6
_WIND_ALOFT = 1.63
"""Wind 300 m above ground over the 10 m wind: (300/10)^(1/7), power law, common practice, no source."""

LOADED = ("cruise_loaded_kt", "cruise_kt")
EMPTY = ("cruise_kt", "cruise_loaded_kt")


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One straight leg. `course_deg` grid bearing; `time_s` holds the climb over `climb_m`."""

    name: Literal["out", "back"]
    course_deg: float
    distance_m: float
    ground_speed_mps: float
    climb_m: float
    time_s: float


def ground_speeds(
    airspeed: NDArray[np.float64], course_deg: float, wind: NDArray[np.float64], from_deg: float
) -> NDArray[np.float64]:
    """Ground speed [m/s]; 0 where the wind is too strong to hold the course or to get on."""
    angle = np.radians(from_deg - course_deg)
    across, against = wind * np.sin(angle), wind * np.cos(angle)
    along = np.sqrt(np.maximum(airspeed**2 - across**2, 0.0)) - against
    return np.where((np.abs(across) < airspeed) & (along > 0.0), along, 0.0)


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


@dataclass(frozen=True, slots=True)
class Overhead:
    """What a cycle costs beside its legs: ground time (base-fed), air time, and the fill in it."""

    ground: Quantity | None
    air: Quantity
    fill_s: float


def overhead_of(cls: AircraftClass) -> Overhead:
    """The overhead of a class: ground and air apart where it loads at a base, else one with the fill."""
    if cls.fills == "base":
        return Overhead(quantity_of(cls, "ground_time_min"), quantity_of(cls, "air_overhead_min"), 0.0)
    fill = cls.get("fill_time_s")
    return Overhead(None, quantity_of(cls, "circuit_overhead_min"), 0.0 if fill is None else fill.si())


def extra_passes(limits: Limits) -> float:
    """Extra passes at the target for each drop: p / (1 − p) of the share p flown without a drop."""
    share = limits.value("go_round_pct") / 100.0
    if not 0.0 <= share < 1.0:
        raise OutsideRangeError(field="go_round_pct", value=share * 100.0, low=0.0, high=99.0, unit="%")
    return share / (1.0 - share)


@lru_cache(maxsize=4)
def _quantiles(inputs: int) -> NDArray[np.float64]:
    """Stratified quantiles [inputs, members], each row shuffled once and for all."""
    even = (np.arange(_MEMBERS) + 0.5) / _MEMBERS
    shuffled = np.stack([np.random.default_rng(1000 + k).permutation(even) for k in range(inputs)])
    shuffled.setflags(write=False)
    return shuffled


def _draw(quantity: Quantity, u: NDArray[np.float64]) -> NDArray[np.float64]:
    """Members [SI] of the triangle over the class's range; the value alone where it has no range."""
    low = quantity.si(quantity.low)
    middle = quantity.si()
    high = quantity.si(quantity.high)
    if high <= low:
        return np.full_like(u, middle)
    rising = low + np.sqrt(u * (high - low) * (middle - low))
    falling = high - np.sqrt((1.0 - u) * (high - low) * (high - middle))
    return np.where(u < (middle - low) / (high - low), rising, falling)


def band(middle: float, members: NDArray[np.float64]) -> Band:
    """10 % and 90 % of the members, widened to the middle where a lopsided range leaves it outside.

    No upper end where more than a tenth of the members cannot fly the leg at all.
    """
    ordered = np.sort(members)
    low, high = float(ordered[_MEMBERS // 10 - 1]), float(ordered[-(_MEMBERS // 10)])
    return Band(middle, min(low, middle), max(high, middle) if math.isfinite(high) else None)


def cycle_members_s(
    cls: AircraftClass, overhead: Overhead, legs: tuple[Leg, Leg], hour: Hour | None, go_rounds: float
) -> NDArray[np.float64]:
    """Cycle times [s] of the members; infinite where a member cannot hold its course."""
    u = _quantiles(_INPUTS)
    air = _draw(overhead.air, u[2])
    total = air + go_rounds * (air - overhead.fill_s)
    if overhead.ground is not None:
        total = total + _draw(overhead.ground, u[1])
    rate = cls.get("climb_fpm")
    wind = np.zeros(_MEMBERS) if hour is None else hour.wind_mps * (1.0 + (_WIND_ALOFT - 1.0) * u[5])
    from_deg = 0.0 if hour is None else hour.wind_from_deg
    for leg, names in zip(legs, (LOADED, EMPTY), strict=True):
        speed = ground_speeds(_draw(quantity_of(cls, *names), u[0]), leg.course_deg, wind, from_deg)
        with np.errstate(divide="ignore", invalid="ignore"):
            total = total + np.where(speed > 0.0, leg.distance_m / speed, np.inf)
        if rate is not None:
            total = total + leg.climb_m / _draw(rate, u[4])
    return total


def band_from(aircraft: Aircraft, cls: AircraftClass, hour: Hour | None, climb_m: float) -> tuple[str, ...]:
    """What the members vary, in words."""
    names = ["cruise speed within the class's range"]
    if cls.fills == "base":
        names += ["ground time within the class's range", "air overhead within the class's range"]
    else:
        names.append("circuit overhead, fill included, within the class's range")
    if climb_m > 0.0 and cls.get("climb_fpm") is not None:
        names.append("rate of climb within the class's range")
    if hour is not None and hour.wind_mps > 0.0:
        names.append(f"wind between that at 10 m and {_WIND_ALOFT} times it")
    if aircraft.load_l is None:
        names.append("load within the class's range (litres alone)")
    return tuple(names)


def load_members_l(cls: AircraftClass) -> NDArray[np.float64]:
    """Loads [L] of the members over the class's range."""
    return _draw(quantity_of(cls, "tank_volume_l"), _quantiles(_INPUTS)[3])
