"""What drives a fire at a place: its head rate shared out among wind, slope, fuel and dryness.

The rate is told again with each driver taken away, alone and together with the others: the wind calm, the
ground level, the fuel the middle one of the ground about, the moisture that of the middle hour of the day.
Each driver gets what it adds to the rate on average over all orders in which the four can be put back
(Shapley's value), as a share of the rate; what is left is the rate that such a fire would have anyway. The
five shares add up to 1. A share is negative where its driver holds the fire back.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import InputError, OutsideRangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import ArrayLike

    from wetline.behaviour.system import FireSystem
    from wetline.ground import Ground
    from wetline.weather import TerrainWind, Weather

__all__ = ["DRIVERS", "Drivers", "drivers", "mean_drivers"]

DRIVERS = ("wind", "slope", "fuel", "dryness")
_DAY = timedelta(hours=12)
"""Hours so far from the moment, before and after, make up the day whose middle moisture is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drivers:
    """Shares of the head rate; they add up to 1.

    `rest`: the rate calm, level, in `typical_fuel` at the moisture of `typical_hour`, as a share of the rate.
    """

    wind: float
    slope: float
    fuel: float
    dryness: float
    rest: float
    rate_mps: float
    typical_fuel: int
    typical_hour: datetime


def drivers(
    system: FireSystem,
    ground: Ground,
    weather: Weather,
    time: datetime,
    x: float,
    y: float,
    *,
    fuels: ArrayLike,
    wind: TerrainWind | None = None,
) -> Drivers | None:
    """What drives the head in the cell that holds (x, y) [m] at a time; None where nothing burns.

    Parameters
    ----------
    fuels
        Fuel numbers of the cells about; the middle one by area, ranked by the rate each would give at
        this place and time, is the typical fuel. Those that do not burn are left out.

    Raises
    ------
    LookupError, InputError, OutsideRangeError
        As `FireSystem.explain` at that place and time.

    References
    ----------
    Shapley 1953, Contributions to the Theory of Games II:307-317 (from memory).
    """
    here = _Here(system, ground, weather, time, x, y, wind)
    whole = here.rate(time, calm=False, level=False, fuel=None)
    if whole <= 0.0:
        return None
    fuel = _typical_fuel(here, time, fuels)
    hour = _typical_hour(here, time)

    def rate(kept: frozenset[str]) -> float:
        return here.rate(
            time if "dryness" in kept else hour,
            calm="wind" not in kept,
            level="slope" not in kept,
            fuel=None if "fuel" in kept else fuel,
        )

    shares = _shapley(DRIVERS, rate)
    rest = rate(frozenset())
    return Drivers(
        **{name: value / whole for name, value in shares.items()},
        rest=rest / whole,
        rate_mps=whole,
        typical_fuel=fuel,
        typical_hour=hour,
    )


def mean_drivers(found: Sequence[Drivers]) -> Drivers:
    """The mean of the shares of several places, each counted alike; the first one's typical fire.

    Raises
    ------
    ValueError
        If there is none.
    """
    if not found:
        message = "no place to take the mean of"
        raise ValueError(message)

    def mean(name: str) -> float:
        return float(np.mean([getattr(d, name) for d in found]))

    return replace(
        found[0],
        wind=mean("wind"),
        slope=mean("slope"),
        fuel=mean("fuel"),
        dryness=mean("dryness"),
        rest=mean("rest"),
        rate_mps=mean("rate_mps"),
    )


@dataclass(frozen=True, slots=True)
class _Here:
    """One place, asked again and again with something taken away."""

    system: FireSystem
    ground: Ground
    weather: Weather
    time: datetime
    x: float
    y: float
    wind: TerrainWind | None

    def rate(self, hour: datetime, *, calm: bool, level: bool, fuel: int | None) -> float:
        """Head rate [m/s] with the moisture of an hour and the wind of the moment."""
        now = self.weather.at(self.time)
        # not given in a calm hour: no direction is as good as any
        from_deg = now.wind_from_deg if math.isfinite(now.wind_from_deg) else 0.0
        blown = replace(
            self.weather,
            wind_mps=np.full_like(self.weather.wind_mps, 0.0 if calm else now.wind_mps),
            wind_from_deg=np.full_like(self.weather.wind_from_deg, from_deg),
        )
        ground = self.ground
        if level:
            height = np.float32(ground.elevation_at(self.x, self.y))
            ground = replace(ground, elevation_m=np.broadcast_to(height, ground.grid.shape))
        if fuel is not None:
            ground = replace(ground, fuel=np.broadcast_to(ground.fuel.dtype.type(fuel), ground.grid.shape))
        return self.system.explain(ground, blown, hour, self.x, self.y, wind=self.wind).rate_mps


def _typical_fuel(here: _Here, time: datetime, fuels: ArrayLike) -> int:
    """The middle fuel by area, ranked by the rate each would give here; the place's own if no other burns."""
    numbers, counts = np.unique(np.asarray(fuels), return_counts=True)
    known = [(int(n), int(c)) for n, c in zip(numbers, counts, strict=True) if int(n) in here.system.fuels]
    ranked = sorted((here.rate(time, calm=False, level=False, fuel=n), n, c) for n, c in known)
    burning = [(n, c) for rate, n, c in ranked if rate > 0.0]
    row, col = here.ground.grid.index(here.x, here.y)
    if not burning:
        return int(here.ground.fuel[row, col])
    passed = np.cumsum([c for _, c in burning])
    return burning[int(np.searchsorted(passed, passed[-1] / 2.0))][0]


def _typical_hour(here: _Here, time: datetime) -> datetime:
    """The hour of the middle rate, wind as now, of those within half a day; the moment itself if none counts."""
    seconds = here.weather.time_s
    found = []
    for second in seconds[np.abs(seconds - time.timestamp()) <= _DAY.total_seconds()]:
        hour = datetime.fromtimestamp(float(second), UTC)
        try:
            found.append((here.rate(hour, calm=False, level=False, fuel=None), hour))
        except (InputError, OutsideRangeError):  # an hour with a gap or outside the tables tells nothing
            continue
    return sorted(found)[(len(found) - 1) // 2][1] if found else time


def _shapley(names: Sequence[str], value: Callable[[frozenset[str]], float]) -> dict[str, float]:
    """What each name adds to a value, averaged over all orders of adding them."""
    known = {
        kept: value(kept)
        for k in range(len(names) + 1)
        for kept in (frozenset(chosen) for chosen in itertools.combinations(names, k))
    }
    n, out = len(names), dict.fromkeys(names, 0.0)
    for kept, without in known.items():
        for name in set(names) - kept:
            orders = math.factorial(len(kept)) * math.factorial(n - len(kept) - 1)
            out[name] += orders / math.factorial(n) * (known[kept | {name}] - without)
    return out
