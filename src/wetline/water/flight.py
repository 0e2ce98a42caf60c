"""How a class flies a lane in one air: the parts of its run over the water, and what it climbs.

The length a class needs runs from 15 m above the water to 15 m above it again: descent over the
near end, settling on the water, the fill, the run to lift-off, the climb. Thin air and a tailwind
lengthen it; a headwind is not credited, because it may drop.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wetline.aircraft import climb_gradient, phases
from wetline.errors import OutsideRangeError
from wetline.model import Band
from wetline.units import FOOT, KNOT
from wetline.weather.air import density_ratio

if TYPE_CHECKING:
    from wetline.aircraft import AircraftClass, Quantity
    from wetline.model import Limits

__all__ = ["SCREEN_M", "Flight", "Phase", "how_flown"]

SCREEN_M = 15.0
"""Height at both ends of the length needed: 15 m to 15 m, as the classes' tables state it."""
_CLIMB_SPEEDS = ("climb_speed_kt", "liftoff_speed_kt", "drop_speed_kt")
"""Speeds that a class may know, the one that fits the climb behind the lift-off first."""


@dataclass(frozen=True, slots=True)
class Phase:
    """One part of the run, from and to [m] along the lane."""

    name: str
    from_m: float
    to_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Flight:
    """One class on the water in one air. Parts [m] in the order flown; `needed` holds them all.

    `density_altitude_m`: None where it is not known, and `why_unknown` says why: then the lengths
    are those of sea level on a standard day (`standard_m`), and no climb of the class is given.
    `fill_m`: None where the class's fill run is not known; then the run is halved between settling
    and lift-off. `climb`, `climb_empty`: of the class in still air [m/m], at full load and with
    the load dumped. `climb_mps`, `water_mps`: true speeds on the climb and on the water.
    """

    needed: Band
    standard_m: float
    source: str
    descent_m: float
    settle_m: float
    fill_m: float | None
    lift_m: float
    climb_m: float
    approach_slope: float
    climb_limit: float
    density_altitude_m: float | None = None
    why_unknown: str | None = None
    climb: Band | None = None
    climb_empty: Band | None = None
    climb_mps: float | None = None
    water_mps: float | None = None
    tailwind_mps: float = 0.0

    @property
    def climb_slope(self) -> float:
        """The slope [m/m] over the ground at full load: the limit, or less where the class gives less.

        Never below 0.5 %: a class that hardly climbs is stopped by its climb, not by its length.
        """
        over = self.over_ground(self.climb)
        return self.climb_limit if over is None else max(min(self.climb_limit, over.middle), 0.005)

    def over_ground(self, climb: Band | None) -> Band | None:
        """A still-air gradient as it lies over the ground: flatter with a tailwind."""
        if climb is None or self.climb_mps is None:
            return climb
        share = self.climb_mps / (self.climb_mps + self.tailwind_mps)
        return Band(
            climb.middle * share, *(None if v is None else v * share for v in (climb.low, climb.high))
        )

    def downwind(self, tailwind_mps: float) -> Flight:
        """The same with a tailwind [m/s, ≥ 0]: more ground goes by.

        The fill lasts as long, so its run grows with the ground speed; settling and the run to
        lift-off grow with its square. A class whose speed on the water is not known is left as it is.
        """
        if tailwind_mps <= 0.0 or self.water_mps is None:
            return self
        faster = (self.water_mps + tailwind_mps) / self.water_mps
        with_wind = replace(self, tailwind_mps=tailwind_mps)
        return _rebuilt(
            with_wind,
            settle_m=self.settle_m * faster**2,
            fill_m=None if self.fill_m is None else self.fill_m * faster,
            lift_m=self.lift_m * faster**2,
            climb_m=max(SCREEN_M / with_wind.climb_slope, self.climb_m),
        )

    def phases(self, run_from_m: float) -> tuple[Phase, ...]:
        """The parts along a lane on which the run begins at `run_from_m` [m]."""
        named = [("descent", self.descent_m)]
        if self.fill_m is None:
            named.append(("run", self.settle_m + self.lift_m))
        else:
            named += [("settle", self.settle_m), ("fill", self.fill_m), ("lift_off", self.lift_m)]
        out, at_m = [], run_from_m
        for name, length_m in (*named, ("climb", self.climb_m)):
            out.append(Phase(name, at_m, at_m + length_m))
            at_m += length_m
        return tuple(out)

    def length_words(self) -> str:
        """What the length needed stands on."""
        if self.density_altitude_m is None:
            air = "on a standard day at sea level; this air is not known"
        else:
            air = f"at a density altitude of {self.density_altitude_m / FOOT:.0f} ft"
        wind = f", {self.tailwind_mps / KNOT:.0f} kt of tailwind" if self.tailwind_mps > 0.0 else ""
        return f"{self.needed.middle:.0f} m {air}{wind}; {self.standard_m:.0f} m by the class ({self.source})"


def how_flown(
    cls: AircraftClass, density_altitude_m: float | None, limits: Limits, *, why_unknown: str | None = None
) -> Flight:
    """How a class whose length needed is known flies a lane in the air of a density altitude [m].

    `density_altitude_m` None: not known, because of `why_unknown`.

    Raises
    ------
    KeyError
        If the class has no `lane_needed_m`.
    OutsideRangeError
        If a slope that the limits allow is not positive.
    """
    for name in ("approach_gradient_available", "climb_gradient_available"):
        if not limits.value(name) > 0.0:
            raise OutsideRangeError(field=name, value=limits.value(name), low=0.0, high=1.0, unit="m/m")
    length = cls.quantities["lane_needed_m"]
    known = density_altitude_m is not None
    altitude_m = density_altitude_m if density_altitude_m is not None else 0.0
    root = density_ratio(altitude_m) ** 0.5
    climb_kt, water_kt = _first_kt(cls, _CLIMB_SPEEDS), _water_kt(cls)
    climb_mps = None if climb_kt is None else climb_kt * KNOT / root
    flight = _run(cls, length, altitude_m, limits)
    flight = replace(
        flight,
        density_altitude_m=density_altitude_m,
        why_unknown=None if known else why_unknown or "no weather for this hour",
        climb=_climb(cls, altitude_m, climb_mps) if known else None,
        climb_empty=_climb(cls, altitude_m, climb_mps, loaded=False) if known else None,
        climb_mps=climb_mps,
        water_mps=None if water_kt is None else water_kt * KNOT / root,
    )
    return _rebuilt(flight, climb_m=max(SCREEN_M / flight.climb_slope, flight.climb_m))


def _run(cls: AircraftClass, length: Quantity, altitude_m: float, limits: Limits) -> Flight:
    """The parts of the run; without a fill run all of it grows with 1/σ², the most that any part does."""
    approach, climb = limits.value("approach_gradient_available"), limits.value("climb_gradient_available")
    parts = phases(cls, altitude_m, approach_slope=approach, climb_slope=climb)
    if parts is not None:
        return Flight(
            needed=parts.needed_m,
            standard_m=length.value,
            source=length.source,
            descent_m=parts.descent_m,
            settle_m=parts.settle_m,
            fill_m=parts.fill_m,
            lift_m=parts.lift_m,
            climb_m=parts.climb_m,
            approach_slope=approach,
            climb_limit=climb,
        )
    descent_m = min(SCREEN_M / approach, length.value / 2)
    climb_m = min(SCREEN_M / climb, length.value / 2)
    thinner = 1.0 / density_ratio(altitude_m) ** 2

    def needed_m(at_sea_level_m: float) -> float:
        return descent_m + climb_m + max(at_sea_level_m - descent_m - climb_m, 0.0) * thinner

    run_m = needed_m(length.value) - descent_m - climb_m
    ends = (None if v is None else needed_m(v) for v in (length.low, length.high))
    return Flight(
        needed=Band(needed_m(length.value), *ends),
        standard_m=length.value,
        source=length.source,
        descent_m=descent_m,
        settle_m=run_m / 2,
        fill_m=None,
        lift_m=run_m / 2,
        climb_m=climb_m,
        approach_slope=approach,
        climb_limit=climb,
    )


def _rebuilt(flight: Flight, **parts: float | None) -> Flight:
    """The flight with other parts, and the length needed moved by what they differ in sum."""
    changed: Flight = replace(flight, **parts)  # type: ignore[arg-type]  # names of lengths alone
    more_m = _sum_m(changed) - _sum_m(flight)
    old = flight.needed
    ends = (None if v is None else v + more_m for v in (old.low, old.high))
    return replace(changed, needed=Band(old.middle + more_m, *ends))


def _sum_m(flight: Flight) -> float:
    return flight.descent_m + flight.settle_m + (flight.fill_m or 0.0) + flight.lift_m + flight.climb_m


def _first_kt(cls: AircraftClass, names: tuple[str, ...]) -> float | None:
    return next((quantity.value for name in names if (quantity := cls.get(name)) is not None), None)


def _water_kt(cls: AircraftClass) -> float | None:
    """Speed on the water [kt]: at the touch, or the mean of the fill run, which is slower."""
    touch, run, time = cls.get("touchdown_speed_kt"), cls.get("fill_run_m"), cls.get("fill_time_s")
    if touch is not None:
        return touch.value
    return None if run is None or time is None else run.value / time.value / KNOT


def _climb(
    cls: AircraftClass, altitude_m: float, climb_mps: float | None, *, loaded: bool = True
) -> Band | None:
    if climb_mps is None:
        return None
    return climb_gradient(cls, altitude_m, speed_kt=climb_mps / KNOT, loaded=loaded)
