"""What thin air and fuel on board take from a class: runs, climb, runway, load.

Every length and climb is a band over the class's own ranges; what the class does not know stays None.
Density altitude [m] is that of the place and hour; a class's numbers hold at sea level on a standard day.
Of aeroplanes thin air takes metres and climb, of helicopters litres; fuel takes litres of both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.model import Band
from wetline.units import FOOT, KNOT, MINUTE, POUND, US_GALLON_L
from wetline.weather.air import density_ratio

if TYPE_CHECKING:
    from collections.abc import Callable

    from wetline.aircraft.fleet import Aircraft, AircraftClass, Quantity

__all__ = [
    "LoadRule",
    "Phases",
    "climb_gradient",
    "climb_rate_mps",
    "load_rule",
    "phases",
    "runway_needed_m",
]

_SCREEN_M = 15.0
"""The length a scooper needs runs from 15 m above the water to 15 m above it again, as the tables state it."""
_AT_CEILING_MPS = 100.0 * FOOT / MINUTE
"""The climb left at a service ceiling by its definition: 100 ft/min. From memory."""
_WATER_KG_PER_L = 1.0
_RETARDANT_KG_PER_L = 9.0 * POUND / US_GALLON_L  # about 9 lb a US gallon (press, second-hand public copy)
_FUEL_KG_PER_L = 0.80  # turbine fuel, 0.775 to 0.840 at 15 °C by its specification; from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Phases:
    """The parts [m] of the water a scooper needs, in the order flown, in one air.

    `descent_m`: from 15 m to the touch; `settle_m`: to the begin of the fill; `fill_m`; `lift_m`: to
    lift-off; `climb_m`: to 15 m. `needed_m` holds them all, with the class's range and the doubt about how
    much longer runs grow.
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

    `most_l`: with the fuel low; `full_fuel_l`: with `full_fuel_s` [s] of flight on board (where it could lift none
    so heavy: 0, and the fuel with which it begins to); `gain_l_per_s`: more water for each second of fuel burnt.
    `limited_by`: in words, what sets `most_l`. `not_counted`: in words, what would take from the load but is not
    known; never to be read as nothing.
    """

    most_l: float
    full_fuel_l: float
    full_fuel_s: float
    gain_l_per_s: float
    limited_by: str
    not_counted: tuple[str, ...] = ()

    def litres(self, fuel_s: float) -> float:
        """The load [L] with fuel for `fuel_s` [s] on board; 0 where it cannot lift any."""
        burnt_s = self.full_fuel_s - fuel_s
        return max(min(self.most_l, self.full_fuel_l + self.gain_l_per_s * burnt_s), 0.0)


def phases(
    cls: AircraftClass, density_altitude_m: float, *, approach_slope: float, climb_slope: float
) -> Phases | None:
    """The water a scooper needs, part by part; None where its table lacks the length or the fill run.

    `approach_slope`, `climb_slope`: the slopes [m/m] flown between the water and 15 m. Where they and the fill
    alone are longer than the class's length, the need is theirs.

    Flown at the same indicated speeds, true speed grows with 1/√σ (σ: density over that at sea level): the fill,
    which lasts as long, grows with it. Settling grows with the speed squared, 1/σ, for the water that brakes does
    not thin. Lifting off grows as `_take_off_growth` says.

    Raises
    ------
    OutsideRangeError
        For a density altitude outside −2000 to 11000 m.
    """
    needed, fill = cls.get("lane_needed_m"), cls.get("fill_run_m")
    if needed is None or fill is None:
        return None
    sigma = density_ratio(density_altitude_m)
    descent_m, climb_m = _SCREEN_M / approach_slope, _SCREEN_M / climb_slope
    growth = _take_off_growth(cls, density_altitude_m)

    def parts(length_m: float, lift_growth: float) -> tuple[float, float, float]:
        half_m = max(length_m - descent_m - climb_m - fill.value, 0.0) / 2.0
        return half_m / sigma, fill.value / sigma**0.5, half_m * lift_growth

    settle_m, fill_m, lift_m = parts(needed.value, growth.middle)
    return Phases(
        density_altitude_m=density_altitude_m,
        descent_m=descent_m,
        settle_m=settle_m,
        fill_m=fill_m,
        lift_m=lift_m,
        climb_m=climb_m,
        needed_m=_grown(needed, growth, lambda m, grows: descent_m + climb_m + sum(parts(m, grows))),
    )


def climb_rate_mps(cls: AircraftClass, density_altitude_m: float, *, loaded: bool = True) -> Band | None:
    """Rate of climb [m/s]; None where the class's climb or ceiling is not known. Below 0 above the ceiling.

    Climb falls in a straight line from sea level to 100 ft/min at the class's service ceiling. With the load let
    go (`loaded=False`) the ceiling of the full load is kept, which is on the safe side.

    References
    ----------
    The straight line is the usual reading of climb charts: handbooks of aeroplane performance, from memory.
    """
    climb, ceiling = cls.get("climb_fpm" if loaded else "climb_empty_fpm"), cls.get("ceiling_ft")
    if climb is None or ceiling is None:
        return None

    def at(fpm: float, ceiling_ft: float) -> float:
        share = density_altitude_m / ceiling.si(ceiling_ft)
        return climb.si(fpm) + (_AT_CEILING_MPS - climb.si(fpm)) * share

    middle = at(climb.value, ceiling.value)
    if climb.low is None or climb.high is None:
        return Band(middle)
    low = at(climb.low, ceiling.value if ceiling.low is None else ceiling.low)
    high = at(climb.high, ceiling.value if ceiling.high is None else ceiling.high)
    return Band(middle, min(low, middle), max(high, middle))


def climb_gradient(
    cls: AircraftClass, density_altitude_m: float, *, speed_kt: float, loaded: bool = True
) -> Band | None:
    """Climb [m/m] at a true airspeed [kt, > 0], in still air; None where `climb_rate_mps` is.

    `loaded`: at full load, or with the load let go.
    """
    rate = climb_rate_mps(cls, density_altitude_m, loaded=loaded)
    if rate is None:
        return None
    speed_mps = speed_kt * KNOT
    ends = (None if end is None else end / speed_mps for end in (rate.low, rate.high))
    return Band(rate.middle / speed_mps, *ends)


def runway_needed_m(cls: AircraftClass, density_altitude_m: float) -> Band | None:
    """Runway [m] at full load; None where the class's is not known. Grows as `_take_off_growth` says."""
    needed = cls.get("runway_needed_m")
    if needed is None:
        return None
    return _grown(needed, _take_off_growth(cls, density_altitude_m), lambda m, growth: m * growth)


def load_rule(cls: AircraftClass, aircraft: Aircraft, density_altitude_m: float | None) -> LoadRule | None:
    """What an aircraft may take; None where neither it nor its class says how much.

    `density_altitude_m`: at the place where it fills. None: not known, so nothing is cut for it, and
    `not_counted` says so.

    Three weights stand in the way of a full tank, and the litres are what they leave:

    - *Fuel.* At full fuel a class carries `load_full_fuel_l`; each kilogram burnt may be a kilogram of water.
    - *Thin air.* A rotor lifts in proportion to density once the engine gives less too (actuator disc: lift is
      (P²ρ)^⅓, and P falls with ρ). So above `full_load_to_ft` the whole `gross_kg` shrinks with density, and all
      that it loses is load. Below it nothing is cut.
    - *A heavy agent.* Retardant weighs about 1.08 kg/L. A land tanker's litres are stated in retardant; those of
      others are stated in water.

    An aircraft's own `load_l` takes the place of the tank. A helicopter's weights go with its own load (another
    size of machine); an aeroplane's only if it carries more than its class.
    """
    tank = cls.get("tank_volume_l")
    own_l = aircraft.load_l if aircraft.load_l is not None else tank.value if tank else None
    if own_l is None:
        return None
    size = 1.0 if tank is None else own_l / tank.value
    if cls.fills != "dip":
        size = max(size, 1.0)
    agent = _RETARDANT_KG_PER_L if aircraft.agent == "retardant" else _WATER_KG_PER_L
    stated = _RETARDANT_KG_PER_L if cls.fills == "base" else _WATER_KG_PER_L
    lost_kg, not_counted = _lost_to_thin_air(cls, density_altitude_m, size)
    weight_l = ((own_l if tank is None else tank.value * size) * stated - lost_kg) / agent
    most_l = max(min(own_l, weight_l), 0.0)
    limited_by = "the aircraft's own load" if aircraft.load_l is not None else "the class's tank or bucket"
    if most_l < own_l:
        limited_by = "density altitude" if lost_kg > 0.0 else f"the weight of {aircraft.agent}"
    full_l, full_s, gain_kg_per_s, unknown = _by_fuel(cls, size)
    full_l = most_l if full_l is None else min(most_l, (full_l * stated - lost_kg) / agent)
    gain_l_per_s = gain_kg_per_s / agent
    if full_l < 0.0 < gain_l_per_s:
        full_s += full_l / gain_l_per_s
    return LoadRule(
        most_l=most_l,
        full_fuel_l=max(full_l, 0.0),
        full_fuel_s=full_s,
        gain_l_per_s=gain_l_per_s,
        limited_by=limited_by,
        not_counted=(*not_counted, *unknown),
    )


def _lost_to_thin_air(
    cls: AircraftClass, density_altitude_m: float | None, size: float
) -> tuple[float, tuple[str, ...]]:
    """Load [kg] lost to thin air, and in words what could not be counted."""
    full_to, gross = cls.get("full_load_to_ft"), cls.get("gross_kg")
    if density_altitude_m is None:
        return 0.0, ("density altitude is not known: nothing is cut for thin air",)
    if full_to is None:
        return 0.0, ("up to which density altitude this class takes its full load is not known",)
    if density_altitude_m <= full_to.si():
        return 0.0, ()
    if gross is None:
        return 0.0, (f"mass of this class is not known: nothing is cut above {full_to.value:g} ft",)
    kept = density_ratio(density_altitude_m) / density_ratio(full_to.si())
    return gross.si() * size * (1.0 - kept), ()


def _by_fuel(cls: AircraftClass, size: float) -> tuple[float | None, float, float, tuple[str, ...]]:
    """Litres as stated with full fuel, the seconds that it lasts, kilograms won back a second, what is unknown."""
    full, endurance = cls.get("load_full_fuel_l"), cls.get("endurance_h")
    full_s = 0.0 if endurance is None else endurance.si()
    if full is None:
        return None, full_s, 0.0, ("what its fuel takes from the load is not known",)
    burn_kg_per_s = _fuel_burn_kg_per_s(cls)
    if burn_kg_per_s is None or endurance is None:
        return full.value * size, full_s, 0.0, ("fuel burn is not known: the load of full fuel is kept",)
    return full.value * size, full_s, burn_kg_per_s * size, ()


def _fuel_burn_kg_per_s(cls: AircraftClass) -> float | None:
    mass, volume = cls.get("fuel_burn_kg_per_h"), cls.get("fuel_burn_l_per_h")
    if mass is not None:
        return mass.si()
    return None if volume is None else volume.si() * _FUEL_KG_PER_L


def _take_off_growth(cls: AircraftClass, density_altitude_m: float) -> Band:
    """By how much a run to lift-off grows in thin air, as a factor.

    A run is the speed squared over twice the acceleration. The square of the true speed grows with 1/σ; a
    propeller's thrust is power over speed, so it falls with √σ, and with the power itself: in proportion to σ, or
    not at all below the altitude to which an engine is flat rated (`flat_rated_to_ft`). That gives σ^-2.5, or
    σ^-1.5 while flat rated. The band runs from an engine flat rated all the way to the planning rule for light
    aeroplanes, 10 % for each 1,000 ft.

    References
    ----------
    Derived from the equation of motion. The rule: Safety Sense Leaflet 7, Aeroplane performance (UK Civil
    Aviation Authority), from memory: a factor of 1.10 for each 1,000 ft.
    """
    sigma = density_ratio(density_altitude_m)
    flat = cls.get("flat_rated_to_ft")
    rated = sigma if flat is None else min(sigma / density_ratio(flat.si()), 1.0)
    middle = sigma**-1.5 / rated
    bounds = (middle, sigma**-1.5, 1.10 ** (density_altitude_m / (1000.0 * FOOT)))
    return Band(middle, min(bounds), max(bounds))


def _grown(quantity: Quantity, growth: Band, of: Callable[[float, float], float]) -> Band:
    """A length of the class in thin air, with the class's range and the growth's; no band without a range."""
    middle = of(quantity.value, growth.middle)
    if quantity.low is None or quantity.high is None or growth.low is None or growth.high is None:
        return Band(middle)
    return Band(middle, of(quantity.low, growth.low), of(quantity.high, growth.high))
