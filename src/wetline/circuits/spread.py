"""The band of a cycle: the class's own ranges drawn through the same sum."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.aircraft import Quantity
from wetline.circuits.legs import EMPTY, LOADED, Leg, ground_speeds, quantity_of
from wetline.errors import OutsideRangeError
from wetline.model import Band
from wetline.units import MINUTE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.model import Limits
    from wetline.weather import Hour

__all__ = [
    "Draws",
    "Leg",
    "Overhead",
    "band",
    "band_from",
    "draws_of",
    "extra_passes",
    "leg_members_s",
    "load_factors",
    "overhead_of",
]

_MEMBERS = 200
_INPUTS = 6
_WIND_ALOFT = 1.63
"""Wind 300 m above ground over the 10 m wind: (300/10)^(1/7), power law, common practice, no source."""


@dataclass(frozen=True, slots=True)
class Overhead:
    """What a class's cycle costs beside its legs: ground time (base-fed), air time, and the fill in it."""

    ground: Quantity | None
    air: Quantity
    fill_s: float


def overhead_of(cls: AircraftClass, *, reload_s: float | None = None) -> Overhead:
    """The overhead of a class: ground and air apart where it loads at a base, else one with the fill.

    `reload_s`: landing to take-off as the base gives it, in place of the class's.

    Raises
    ------
    InputError
        If the class lacks it.
    """
    if cls.fills == "base":
        ground = quantity_of(cls, "ground_time_min")
        if reload_s is not None:
            ground = Quantity(value=reload_s / MINUTE, unit="min", source="as the base gives it")
        return Overhead(ground, quantity_of(cls, "air_overhead_min"), 0.0)
    fill = cls.get("fill_time_s")
    return Overhead(None, quantity_of(cls, "circuit_overhead_min"), 0.0 if fill is None else fill.si())


def extra_passes(limits: Limits) -> float:
    """Extra passes at the target for each drop: p / (1 − p) of the share p flown without a drop."""
    share = limits.value("go_round_pct") / 100.0
    if not 0.0 <= share < 1.0:
        raise OutsideRangeError(field="go_round_pct", value=share * 100.0, low=0.0, high=99.0, unit="%")
    return share / (1.0 - share)


@dataclass(frozen=True, slots=True)
class Draws:
    """One draw a member of what varies [members]: speeds and wind [m/s], the others as shares of the middle."""

    loaded_mps: NDArray[np.float64]
    empty_mps: NDArray[np.float64]
    wind_mps: NDArray[np.float64]
    ground: NDArray[np.float64]
    air: NDArray[np.float64]
    climb_time: NDArray[np.float64]
    climb_empty_time: NDArray[np.float64]


def draws_of(cls: AircraftClass, overhead: Overhead, hour: Hour | None) -> Draws:
    """The members of a class in an hour."""
    u = _quantiles(_INPUTS)
    one = np.ones(_MEMBERS)
    loaded, empty = cls.get("climb_fpm"), cls.get("climb_empty_fpm")
    return Draws(
        loaded_mps=_draw(quantity_of(cls, *LOADED), u[0]),
        empty_mps=_draw(quantity_of(cls, *EMPTY), u[0]),
        wind_mps=0.0 * one if hour is None else hour.wind_mps * (1.0 + (_WIND_ALOFT - 1.0) * u[5]),
        ground=one if overhead.ground is None else _draw(overhead.ground, u[1]) / overhead.ground.si(),
        air=_draw(overhead.air, u[2]) / overhead.air.si(),
        climb_time=one if loaded is None else loaded.si() / _draw(loaded, u[4]),
        climb_empty_time=one if empty is None else empty.si() / _draw(empty, u[4]),
    )


def leg_members_s(leg: Leg, draws: Draws, hour: Hour | None) -> tuple[NDArray[np.float64], ...]:
    """Flight and ground speed of a leg's members: times [s], infinite where a course cannot be held, and [m/s]."""
    airspeed = draws.loaded_mps if leg.name == "out" else draws.empty_mps
    speed = ground_speeds(
        airspeed, leg.course_deg, draws.wind_mps, 0.0 if hour is None else hour.wind_from_deg
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(speed > 0.0, leg.distance_m / speed, np.inf), speed


def load_factors(cls: AircraftClass) -> NDArray[np.float64]:
    """Loads of the members over the class's range, as shares of its middle."""
    tank = quantity_of(cls, "tank_volume_l")
    return _draw(tank, _quantiles(_INPUTS)[3]) / tank.si()


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


def band_from(aircraft: Aircraft, cls: AircraftClass, hour: Hour | None, climb_m: float) -> tuple[str, ...]:
    """What the members vary, in words."""
    names = ["cruise speed within the class's range"]
    if cls.fills == "base":
        names += ["ground time within the class's range", "air overhead within the class's range"]
    else:
        names.append("all but the legs in the proportion of the class's range for them")
    if climb_m > 0.0 and cls.get("climb_fpm") is not None:
        names.append("rate of climb within the class's range")
    if hour is not None and hour.wind_mps > 0.0:
        names.append(f"wind between that at 10 m and {_WIND_ALOFT} times it")
    if aircraft.load_l is None:
        names.append("load within the class's range (litres alone)")
    return tuple(names)
