"""Surface fire spread: the model of Rothermel 1972 as it is used today.

Inside this file the private functions work in the printed units (ft, lb, min, Btu), because the
published coefficients are; `surface_spread_rothermel_1972` converts around them.

References
----------
Rothermel 1972, INT-115; Albini 1976, INT-30 (net load, exponent A); Scott and Burgan 2005,
RMRS-GTR-153 (curing); Andrews 2018, RMRS-GTR-371 (the whole set, cross-slope wind); Andrews, Cruz and
Rothermel 2013, IJWF 22:959-969 (wind limits).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from wetline.behaviour.intensity import flame_length_m
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.units import BTU, FOOT, MINUTE, POUND

if TYPE_CHECKING:
    from wetline.behaviour.fuel import FuelModel
    from wetline.weather import DeadMoisture, LiveMoisture

__all__ = ["SurfaceSpread", "WindLimit", "cured_fraction", "surface_spread_rothermel_1972"]

Number = TypeVar("Number", float, NDArray[np.float64])

WindLimit = Literal["rothermel_1972", "andrews_2013"]
"""Greatest effective midflame wind that the reaction intensity allows.

`rothermel_1972`: 0.9 I_R; `andrews_2013`: 96.8 I_R^(1/3) (ft/min, Btu/ft²/min; both from memory). Andrews
and others 2013 find both too restrictive; by default none is applied.
"""

FT_PER_MIN = FOOT / MINUTE
_LB_PER_FT2 = POUND / FOOT**2
_BTU_PER_LB = BTU / POUND
BTU_PER_FT2 = BTU / FOOT**2

# Particle properties of every published model, Rothermel 1972 and Albini 1976.
PARTICLE_DENSITY = 32.0  # lb/ft³
_MINERAL_TOTAL = 0.0555
_MINERAL_EFFECTIVE = 0.010
_SIZE_BINS = (1200.0, 192.0, 96.0, 48.0, 16.0)  # 1/ft, lower edges, Albini 1976


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceSpread:
    """Head fire behaviour of one fuel model in one weather on one slope.

    `wind_factor`, `slope_factor`: additions to the no-wind rate, dimensionless. `toward_deg`: head
    direction clockwise from upslope. `effective_midflame_mps`: wind that alone would give this rate on
    level ground. `wind_limited`: the chosen wind limit was binding.
    """

    rate_mps: float
    no_wind_rate_mps: float
    wind_factor: float
    slope_factor: float
    toward_deg: float
    effective_midflame_mps: float
    wind_limited: bool
    reaction_intensity_kw_per_m2: float
    heat_per_area_kj_per_m2: float
    byram_kw_per_m: float
    flame_length_m: float
    residence_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reaction:
    """The fuel bed alight without wind or slope, in the printed units (ft, lb, min, Btu)."""

    sigma: float
    beta: float
    beta_op: float
    rr: float
    gamma: float
    wn_dead: float
    wn_live: float
    eta_m_dead: float
    eta_m_live: float
    mx_live: float | None
    i_r: float
    xi: float
    sink: float
    r0: float
    wind_c: float
    wind_b: float
    wind_e: float

    @property
    def residence_min(self) -> float:
        """Flaming residence time [min], Anderson 1969."""
        return 384.0 / self.sigma

    @property
    def heat_per_area(self) -> float:
        """Heat per area [Btu/ft²]."""
        return self.i_r * self.residence_min

    @property
    def slope_coefficient(self) -> float:
        """Slope factor over tan²."""
        return float(5.275 * self.beta**-0.3)

    def wind_factor(self, wind_ft_min: float) -> float:
        """Wind factor of a midflame wind [ft/min]."""
        return float(self.wind_c * wind_ft_min**self.wind_b * self.rr**-self.wind_e)

    def effective_wind(self, factor: float) -> float:
        """Midflame wind [ft/min] that alone gives a factor."""
        return float((factor * self.rr**self.wind_e / self.wind_c) ** (1.0 / self.wind_b))

    def factor_max(self, limit: WindLimit | None) -> float:
        """Greatest wind and slope factor that a limit allows; infinite without one."""
        if limit is None:
            return math.inf
        return self.wind_factor(greatest_wind(self.i_r, limit))

    @property
    def no_wind_mps(self) -> float:
        """Rate without wind or slope [m/s]."""
        return self.r0 * FT_PER_MIN

    @property
    def heat_kj_per_m2(self) -> float:
        """Heat per area [kJ/m²]."""
        return self.heat_per_area * BTU_PER_FT2 / 1000.0

    @property
    def wind_k(self) -> float:
        """Wind factor over (midflame wind [m/s]) to the power `wind_b`."""
        return self.wind_factor(1.0 / FT_PER_MIN)


def greatest_wind(i_r: Number, limit: WindLimit) -> Number:
    """Greatest effective wind [ft/min] that a limit allows at a reaction intensity [Btu/ft²/min]."""
    return 0.9 * i_r if limit == "rothermel_1972" else 96.8 * i_r ** (1.0 / 3.0)


@dataclass(frozen=True, slots=True)
class _Class:
    """One size class: load [lb/ft²], surface-to-volume [1/ft], moisture [fraction]."""

    load: float
    sav: float
    moisture: float

    @property
    def area(self) -> float:
        return self.sav * self.load / PARTICLE_DENSITY

    @property
    def size_bin(self) -> int:
        return next((i for i, edge in enumerate(_SIZE_BINS) if self.sav >= edge), len(_SIZE_BINS))


def cured_fraction(herb_moisture: float) -> float:
    """Share of the herb load that has cured to dead fuel: 1 at 30 %, 0 from 120 % up.

    References
    ----------
    Scott and Burgan 2005, RMRS-GTR-153, in the form of Andrews 2018 (from memory).
    """
    return min(max(1.33 - 1.11 * herb_moisture, 0.0), 1.0)


def size_classes(
    model: FuelModel, dead: DeadMoisture, live: LiveMoisture
) -> tuple[tuple[_Class, ...], tuple[_Class, ...]]:
    """Dead and live classes that carry load, herbs shared out by curing."""
    cured = cured_fraction(live.herb) if model.dynamic else 0.0
    herb = model.load_herb_kg_per_m2
    rows = (
        (model.load_1h_kg_per_m2, model.sav_1h_per_m, dead.one_h),
        (model.load_10h_kg_per_m2, model.sav_10h_per_m, dead.ten_h),
        (model.load_100h_kg_per_m2, model.sav_100h_per_m, dead.hundred_h),
        (herb * cured, model.sav_herb_per_m, dead.one_h),
        (herb * (1.0 - cured), model.sav_herb_per_m, live.herb),
        (model.load_woody_kg_per_m2, model.sav_woody_per_m, live.woody),
    )
    out = [
        _Class(load / _LB_PER_FT2, sav * FOOT, moisture) if load > 0.0 and sav is not None else None
        for load, sav, moisture in rows
    ]
    return tuple(c for c in out[:4] if c), tuple(c for c in out[4:] if c)


def mean_by_area(classes: tuple[_Class, ...], values: list[float]) -> float:
    """Mean of a property over classes by surface area."""
    return sum(c.area * v for c, v in zip(classes, values, strict=True)) / sum(c.area for c in classes)


def _net_load(classes: tuple[_Class, ...]) -> float:
    """Net load [lb/ft²] of a category: each class weighted by the area share of its size bin (Albini 1976)."""
    total = sum(c.area for c in classes)
    share: dict[int, float] = {}
    for c in classes:
        share[c.size_bin] = share.get(c.size_bin, 0.0) + c.area / total
    return sum(share[c.size_bin] * c.load * (1.0 - _MINERAL_TOTAL) for c in classes)


def moisture_damping(ratio: Number) -> Number:
    """Damping at a moisture over that of extinction."""
    damped = 1.0 - 2.59 * ratio + 5.11 * ratio**2 - 3.52 * ratio**3
    return damped * (damped > 0.0) * (ratio < 1.0)


def fine_dead_over_live(dead: tuple[_Class, ...], live: tuple[_Class, ...]) -> tuple[float, float]:
    """Load of fine dead over that of fine live fuel, and the moisture of the fine dead."""
    fine_dead = sum(c.load * math.exp(-138.0 / c.sav) for c in dead)
    fine_live = sum(c.load * math.exp(-500.0 / c.sav) for c in live)
    fine_moisture = sum(c.moisture * c.load * math.exp(-138.0 / c.sav) for c in dead) / fine_dead
    return fine_dead / fine_live, fine_moisture


def live_extinction(dead_over_live: float, fine_moisture: Number, mx_dead: float) -> Number:
    """Live moisture of extinction: how much green fuel the fine dead fuel can bring to burn."""
    more = 2.9 * dead_over_live * (1.0 - fine_moisture / mx_dead) - 0.226 - mx_dead
    return mx_dead + more * (more > 0.0)


def preignition(classes: tuple[_Class, ...]) -> float:
    """Heat [Btu/lb] that brings a category to ignition, by surface area."""
    return mean_by_area(classes, [math.exp(-138.0 / c.sav) * (250.0 + 1116.0 * c.moisture) for c in classes])


def reaction(model: FuelModel, dead: DeadMoisture, live: LiveMoisture) -> Reaction:
    """The bed of a burnable model alight without wind or slope; equations in the order of Andrews 2018."""
    assert model.depth_m is not None
    assert model.mx_dead is not None
    assert model.heat_j_per_kg is not None
    depth, heat = model.depth_m / FOOT, model.heat_j_per_kg / _BTU_PER_LB
    dead_classes, live_classes = size_classes(model, dead, live)
    everything = dead_classes + live_classes
    categories = [c for c in (dead_classes, live_classes) if c]
    total = sum(c.area for c in everything)
    share = [sum(c.area for c in category) / total for category in categories]

    sigma = sum(f * mean_by_area(c, [x.sav for x in c]) for f, c in zip(share, categories, strict=True))
    bulk_density = sum(c.load for c in everything) / depth
    beta = bulk_density / PARTICLE_DENSITY
    beta_op = 3.348 * sigma**-0.8189
    rr = beta / beta_op
    gamma_max = sigma**1.5 / (495.0 + 0.0594 * sigma**1.5)
    a = 133.0 * sigma**-0.7913  # Albini 1976
    gamma = gamma_max * rr**a * math.exp(a * (1.0 - rr))

    eta_s = min(1.0, 0.174 * _MINERAL_EFFECTIVE**-0.19)
    wn_dead = _net_load(dead_classes)
    eta_dead = moisture_damping(
        mean_by_area(dead_classes, [c.moisture for c in dead_classes]) / model.mx_dead
    )
    wn_live, eta_live, mx_live = 0.0, 0.0, None
    if live_classes:
        wn_live = _net_load(live_classes)
        mx_live = live_extinction(*fine_dead_over_live(dead_classes, live_classes), model.mx_dead)
        eta_live = moisture_damping(mean_by_area(live_classes, [c.moisture for c in live_classes]) / mx_live)
    i_r = gamma * heat * eta_s * (wn_dead * eta_dead + wn_live * eta_live)

    xi = math.exp((0.792 + 0.681 * sigma**0.5) * (beta + 0.1)) / (192.0 + 0.2595 * sigma)
    sink = bulk_density * sum(f * preignition(c) for f, c in zip(share, categories, strict=True))
    return Reaction(
        sigma=sigma,
        beta=beta,
        beta_op=beta_op,
        rr=rr,
        gamma=gamma,
        wn_dead=wn_dead,
        wn_live=wn_live,
        eta_m_dead=eta_dead,
        eta_m_live=eta_live,
        mx_live=mx_live,
        i_r=i_r,
        xi=xi,
        sink=sink,
        r0=i_r * xi / sink,
        wind_c=7.47 * math.exp(-0.133 * sigma**0.55),
        wind_b=0.02526 * sigma**0.54,
        wind_e=0.715 * math.exp(-3.59e-4 * sigma),
    )


def _check(
    model: FuelModel, dead: DeadMoisture, live: LiveMoisture, midflame_mps: float, slope_tan: float
) -> None:
    if not model.burnable:
        message = f"Fuel model {model.code} ({model.name}) does not burn."
        raise InputError.of([Problem(message=message, mend="Ask for a burnable model.", field="model")])
    checks = (
        ("dead.one_h", dead.one_h, 0.0, 1.0, "fraction"),
        ("dead.ten_h", dead.ten_h, 0.0, 1.0, "fraction"),
        ("dead.hundred_h", dead.hundred_h, 0.0, 1.0, "fraction"),
        ("live.herb", live.herb, 0.0, 4.0, "fraction"),
        ("live.woody", live.woody, 0.0, 4.0, "fraction"),
        ("midflame_mps", midflame_mps, 0.0, 50.0, "m/s"),
        ("slope_tan", slope_tan, 0.0, 10.0, ""),
    )
    for field, value, low, high, unit in checks:
        if not low <= value <= high:
            raise OutsideRangeError(field=field, value=value, low=low, high=high, unit=unit)


def surface_spread_rothermel_1972(
    model: FuelModel,
    dead: DeadMoisture,
    live: LiveMoisture,
    *,
    midflame_mps: float,
    slope_tan: float = 0.0,
    wind_toward_deg: float = 0.0,
    wind_limit: WindLimit | None = None,
) -> SurfaceSpread:
    """Head fire of a burnable model.

    `midflame_mps`: wind at midflame height [m/s, 0-50]. `slope_tan`: slope as a tangent [0-10].
    `wind_toward_deg`: direction the wind blows to, clockwise from upslope [deg].

    Raises
    ------
    InputError
        If the model does not burn.
    OutsideRangeError
        If a moisture is no fraction (0-1 dead, 0-4 live), or wind or slope is out of range.

    References
    ----------
    See the head of this file. The model was fitted on laboratory beds without live fuel; crowning and
    spotting lie outside it.
    """
    _check(model, dead, live, midflame_mps, slope_tan)
    bed = reaction(model, dead, live)
    phi_w = bed.wind_factor(midflame_mps / FT_PER_MIN)
    phi_s = bed.slope_coefficient * slope_tan**2
    angle = math.radians(wind_toward_deg)
    along, across = phi_s + phi_w * math.cos(angle), phi_w * math.sin(angle)
    factor = math.hypot(along, across)
    toward = math.degrees(math.atan2(across, along)) % 360.0 if factor > 0.0 else 0.0
    limited = factor > bed.factor_max(wind_limit)
    factor = min(factor, bed.factor_max(wind_limit))
    rate_mps = bed.no_wind_mps * (1.0 + factor)
    intensity_kw_per_m = bed.heat_kj_per_m2 * rate_mps
    return SurfaceSpread(
        rate_mps=rate_mps,
        no_wind_rate_mps=bed.no_wind_mps,
        wind_factor=phi_w,
        slope_factor=phi_s,
        toward_deg=toward,
        effective_midflame_mps=bed.effective_wind(factor) * FT_PER_MIN,
        wind_limited=limited,
        reaction_intensity_kw_per_m2=bed.i_r * BTU_PER_FT2 / MINUTE / 1000.0,
        heat_per_area_kj_per_m2=bed.heat_kj_per_m2,
        byram_kw_per_m=intensity_kw_per_m,
        flame_length_m=float(flame_length_m(intensity_kw_per_m)),
        residence_s=bed.residence_min * MINUTE,
    )
