"""What thin air and fuel on board take from a class: runs, climb, runway, load.

Every answer is a band over the class's own ranges; what the class does not know stays None.
Density altitude [m] is that of the place and hour; a class's numbers hold at sea level on a standard day.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.model import Band
from wetline.units import KNOT
from wetline.weather.air import density_ratio

if TYPE_CHECKING:
    from collections.abc import Callable

    from wetline.aircraft.fleet import Aircraft, AircraftClass, Quantity

__all__ = ["LoadRule", "Phases", "climb_gradient", "load_rule", "phases", "runway_needed_m"]

_SCREEN_M = 15.0
"""The length a scooper needs runs from 15 m above the water to 15 m above it again, as the tables state it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Phases:
    """The parts [m] of the water a scooper needs, in the order flown, in one air.

    `descent_m`: from 15 m to the touch; `settle_m`: to the begin of the fill; `fill_m`; `lift_m`: to
    lift-off; `climb_m`: to 15 m. `needed_m` holds them all, with the class's range.
    """

    density_altitude_m: float
    descent_m: float
    settle_m: float
    fill_m: float
    lift_m: float
    climb_m: float
    needed_m: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadRule:
    """Litres that may be taken, by fuel on board, in one air: what the fuel weighs is not carried as water.

    `most_l`: with the fuel low; `full_fuel_l`: with `full_fuel_s` [s] of flight on board. `limited_by`: in words,
    what sets `most_l`.
    """

    most_l: float
    full_fuel_l: float
    full_fuel_s: float
    gain_l_per_s: float
    limited_by: str

    def litres(self, fuel_s: float) -> float:
        """The load [L] with fuel for `fuel_s` [s] on board."""
        burnt_s = max(self.full_fuel_s - fuel_s, 0.0)
        return min(self.most_l, self.full_fuel_l + self.gain_l_per_s * burnt_s)


def phases(
    cls: AircraftClass, density_altitude_m: float, *, approach_slope: float, climb_slope: float
) -> Phases | None:
    """The water a scooper needs, part by part; None where its table lacks the length or the fill run.

    `approach_slope`, `climb_slope`: the slopes [m/m] flown between the water and 15 m.

    Flown at the same indicated speeds, true speed grows with 1/√σ: the fill, which lasts as long, grows with it.
    Settling and accelerating grow with 1/σ² (speed squared over a thrust that falls with σ).
    """
    needed, fill = cls.get("lane_needed_m"), cls.get("fill_run_m")
    if needed is None or fill is None:
        return None
    sigma = density_ratio(density_altitude_m)
    descent_m, climb_m = _SCREEN_M / approach_slope, _SCREEN_M / climb_slope

    def parts(length_m: float) -> tuple[float, float]:
        run_m = max(length_m - descent_m - climb_m - fill.value, 0.0)
        return fill.value / sigma**0.5, run_m / sigma**2

    def total_m(length_m: float) -> float:
        return descent_m + climb_m + sum(parts(length_m))

    fill_m, run_m = parts(needed.value)
    return Phases(
        density_altitude_m=density_altitude_m,
        descent_m=descent_m,
        settle_m=run_m / 2.0,
        fill_m=fill_m,
        lift_m=run_m / 2.0,
        climb_m=climb_m,
        needed_m=_banded(needed, total_m),
    )


def climb_gradient(cls: AircraftClass, density_altitude_m: float, *, speed_kt: float) -> Band | None:
    """Climb at full load [m/m] at a true airspeed, in still air; None where the class's climb is not known."""
    climb = cls.get("climb_fpm")
    if climb is None:
        return None
    sigma = density_ratio(density_altitude_m)
    speed_mps = speed_kt * KNOT
    return _banded(climb, lambda fpm: climb.si(fpm) * sigma / speed_mps)


def runway_needed_m(cls: AircraftClass, density_altitude_m: float) -> Band | None:
    """Runway [m] at full load; None where the class's is not known. Grows with 1/σ²."""
    needed = cls.get("runway_needed_m")
    if needed is None:
        return None
    sigma = density_ratio(density_altitude_m)
    return _banded(needed, lambda m: m / sigma**2)


def load_rule(cls: AircraftClass, aircraft: Aircraft, density_altitude_m: float | None) -> LoadRule | None:
    """What an aircraft may take; None where neither it nor its class says how much.

    `density_altitude_m` None: not known, so nothing is cut for it; the caller says so.
    """
    tank = cls.get("tank_volume_l")
    most_l = aircraft.load_l if aircraft.load_l is not None else tank.value if tank else None
    if most_l is None:
        return None
    limited_by = "the aircraft's own load" if aircraft.load_l is not None else "the class's tank or bucket"
    full_to = cls.get("full_load_to_ft")
    if full_to is not None and density_altitude_m is not None and density_altitude_m > full_to.si():
        most_l *= density_ratio(density_altitude_m) / density_ratio(full_to.si())
        limited_by = f"density altitude above {full_to.value:g} ft"
    endurance = cls.get("endurance_h")
    return LoadRule(
        most_l=most_l,
        full_fuel_l=most_l,
        full_fuel_s=0.0 if endurance is None else endurance.si(),
        gain_l_per_s=0.0,
        limited_by=limited_by,
    )


def _banded(quantity: Quantity, of: Callable[[float], float]) -> Band:
    ends = [of(v) for v in (quantity.low, quantity.high) if v is not None]
    middle = of(quantity.value)
    return Band(middle, min(ends), max(ends)) if len(ends) == 2 else Band(middle)
