"""Fire behaviour by the Canadian Forest Fire Behavior Prediction System: its formulas.

Head fire at equilibrium: how a fire gathers speed from a point is not taken, because an incident's fire
is a line already. Coefficients are from memory (see the table `fbp/fuel_types`).

References
----------
Forestry Canada Fire Danger Group 1992, Information Report ST-X-3.
Wotton, Alexander and Taylor 2009, Information Report GLC-X-10.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.units import KM_PER_HOUR, MINUTE

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from numpy.typing import ArrayLike, NDArray

    from wetline.behaviour.fuel_types import FbpFuel

__all__ = [
    "STEEPEST_TAN",
    "FbpFire",
    "back_rate_mps",
    "buildup_effect",
    "critical_intensity_kw_per_m",
    "foliar_moisture_by_date_pct",
    "head_fire_fbp",
    "initial_rate_mps",
    "length_to_breadth",
    "slope_wind_mps",
    "surface_consumption_kg_per_m2",
]

STEEPEST_TAN = 0.70
"""The slope beyond which the slope effect stays as it is (ST-X-3, eq. 39a; from memory)."""
FADING_WIND_MPS = 112.45 * KM_PER_HOUR
"""The wind for which the spread index hardly rises any more, taken where a slope asks for more (GLC-X-10,
eq. 44e; from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FbpFire:
    """A head fire; arrays of one shape.

    `rate_mps` [m/s], `crown_fraction` burned, `surface_kg_per_m2` and `fuel_kg_per_m2` consumed,
    `intensity_kw_per_m`.
    """

    rate_mps: NDArray[np.float64]
    crown_fraction: NDArray[np.float64]
    surface_kg_per_m2: float
    fuel_kg_per_m2: NDArray[np.float64]
    intensity_kw_per_m: NDArray[np.float64]


def _initial_m_per_min(fuel: FbpFuel, isi: ArrayLike) -> NDArray[np.float64]:
    index = np.asarray(isi, float)
    parts = [s.share * s.factor * s.a * (-np.expm1(-s.b * index)) ** s.c for s in fuel.strands]
    return np.asarray(sum(parts), float)


def initial_rate_mps(fuel: FbpFuel, isi: ArrayLike) -> NDArray[np.float64]:
    """Rate of the head [m/s] for a spread index [≥ 0] on level ground, before the buildup effect.

    References
    ----------
    ST-X-3 eq. 26 to 28, 35, 36; GLC-X-10 eq. 29 to 34 for M-3 and M-4.
    """
    return _initial_m_per_min(fuel, isi) / MINUTE


def buildup_effect(fuel: FbpFuel, bui: float) -> float:
    """Factor on the rate for the dryness of the deeper fuel [BUI ≥ 0]; 1 in grass.

    Elsewhere it is 0 at BUI 0, the limit of the formula, and near 0 for an index of 1 or 2: no spread is told
    then, however dry the litter, where a real fire may still creep. Whoever shows the rate must say so.

    Raises
    ------
    OutsideRangeError
        If the index is negative or no number.

    References
    ----------
    ST-X-3 eq. 54.
    """
    if not 0.0 <= bui <= 2000.0:
        raise OutsideRangeError(field="bui", value=bui, low=0.0, high=2000.0, unit="")
    if fuel.bui0 is None:
        return 1.0
    return math.exp(50.0 * math.log(fuel.q) * (1.0 / bui - 1.0 / fuel.bui0)) if bui > 0.0 else 0.0


def surface_consumption_kg_per_m2(fuel: FbpFuel, ffmc: float, bui: float) -> float:
    """Surface fuel that the head burns [kg/m²].

    References
    ----------
    ST-X-3 eq. 9 to 25; C-1 and the grass load as GLC-X-10.
    """
    if fuel.grass_load_kg_per_m2 is not None:
        return fuel.grass_load_kg_per_m2
    if fuel.conifer_share is not None:
        return fuel.conifer_share * _CONSUMED["C-2"](ffmc, bui) + (1.0 - fuel.conifer_share) * _CONSUMED[
            "D-1"
        ](ffmc, bui)
    return _CONSUMED[fuel.code](ffmc, bui)


def _dried(rate: float, index: float) -> float:
    return 1.0 - math.exp(-rate * index)


def _consumed_c1(ffmc: float) -> float:
    return 0.75 + math.copysign(0.75 * math.sqrt(_dried(0.23, abs(ffmc - 84.0))), ffmc - 84.0)


_CONSUMED: Mapping[str, Callable[[float, float], float]] = MappingProxyType(
    {
        "C-1": lambda ffmc, _: _consumed_c1(ffmc),
        "C-2": lambda _, bui: 5.0 * _dried(0.0115, bui),
        "C-3": lambda _, bui: 5.0 * float(_dried(0.0164, bui) ** 2.24),
        "C-4": lambda _, bui: 5.0 * float(_dried(0.0164, bui) ** 2.24),
        "C-5": lambda _, bui: 5.0 * float(_dried(0.0149, bui) ** 2.48),
        "C-6": lambda _, bui: 5.0 * float(_dried(0.0149, bui) ** 2.48),
        "C-7": lambda ffmc, bui: max(0.0, 2.0 * _dried(0.104, ffmc - 70.0)) + 1.5 * _dried(0.0201, bui),
        "D-1": lambda _, bui: 1.5 * _dried(0.0183, bui),
        "M-3": lambda _, bui: 5.0 * _dried(0.0115, bui),
        "M-4": lambda _, bui: 5.0 * _dried(0.0115, bui),
        "S-1": lambda _, bui: 4.0 * _dried(0.025, bui) + 4.0 * _dried(0.034, bui),
        "S-2": lambda _, bui: 10.0 * _dried(0.013, bui) + 6.0 * _dried(0.06, bui),
        "S-3": lambda _, bui: 12.0 * _dried(0.0166, bui) + 20.0 * _dried(0.021, bui),
    }
)
"""Surface fuel consumed [kg/m2] by FFMC and BUI."""


def critical_intensity_kw_per_m(fuel: FbpFuel, foliar_moisture_pct: float | None) -> float:
    """Intensity of the surface fire from which crowns burn [kW/m]; infinite without crowns.

    `foliar_moisture_pct`: foliar moisture [%, 30 to 300]; None will do where no crowns burn.

    Raises
    ------
    InputError
        If the fuel has crowns and their moisture is not given.
    OutsideRangeError
        If the foliar moisture lies outside 30 to 300 %.

    References
    ----------
    Van Wagner 1977, Can. J. For. Res. 7:23-34, in ST-X-3 eq. 56.
    """
    if fuel.crown_base_m is None:
        return math.inf
    if foliar_moisture_pct is None:
        message = f"The foliar moisture of {fuel.code} is not given."
        raise InputError.of(
            [Problem(message=message, mend="Give foliar_moisture_pct.", field="foliar_moisture_pct")]
        )
    if not 30.0 <= foliar_moisture_pct <= 300.0:
        raise OutsideRangeError(
            field="foliar_moisture_pct", value=foliar_moisture_pct, low=30.0, high=300.0, unit="%"
        )
    return float(0.001 * fuel.crown_base_m**1.5 * (460.0 + 25.9 * foliar_moisture_pct) ** 1.5)


def head_fire_fbp(
    fuel: FbpFuel,
    isi: ArrayLike,
    *,
    ffmc: float,
    bui: float,
    foliar_moisture_pct: float | None,
    spread_factor: float = 1.0,
) -> FbpFire:
    """The head fire of a spread index that holds wind and slope.

    Parameters
    ----------
    isi
        Spread index of FFMC and of wind and slope together [≥ 0].
    ffmc, bui
        Of the day or hour.
    foliar_moisture_pct
        Foliar moisture [%, 30 to 300]; None will do where no crowns burn.
    spread_factor
        An error of the rate, on surface and crown fire alike: how much of the crowns burns follows from it.

    Raises
    ------
    InputError
        If the fuel has crowns and their moisture is not given.
    OutsideRangeError
        If the buildup index or the foliar moisture lies outside its scale.

    References
    ----------
    ST-X-3 eq. 54 to 69.
    """
    index = np.asarray(isi, float)
    rate = _initial_m_per_min(fuel, index) * buildup_effect(fuel, bui) * spread_factor
    surface = surface_consumption_kg_per_m2(fuel, ffmc, bui)
    critical = critical_intensity_kw_per_m(fuel, foliar_moisture_pct)
    from_rate = critical / (300.0 * surface) if surface > 0.0 else math.inf  # eq. 57, m/min
    crown = -np.expm1(-0.23 * np.maximum(rate - from_rate, 0.0))  # eq. 58
    if fuel.code == "C-6" and foliar_moisture_pct is not None:
        # crowns run at their own rate, and crowning never slows the fire (eq. 61 to 65)
        foliar = (
            1000.0 * (1.5 - 0.00275 * foliar_moisture_pct) ** 4 / (460.0 + 25.9 * foliar_moisture_pct) / 0.778
        )
        crown_rate = 60.0 * -np.expm1(-0.0497 * index) * foliar * spread_factor
        rate = rate + crown * np.maximum(crown_rate - rate, 0.0)
    burnt = surface + crown * (fuel.crown_load_kg_per_m2 or 0.0)
    return FbpFire(
        rate_mps=rate / MINUTE,
        crown_fraction=crown,
        surface_kg_per_m2=surface,
        fuel_kg_per_m2=burnt,
        intensity_kw_per_m=300.0 * burnt * rate,  # eq. 69: 18 000 kJ/kg over 60 s/min
    )


def slope_wind_mps(fuel: FbpFuel, still_isi: float, slope_tan: ArrayLike) -> NDArray[np.float64]:
    """The 10 m wind [m/s] that would drive the fire on level ground as hard as a slope does in calm air.

    `still_isi`: spread index of the FFMC in calm air [> 0]. `slope_tan`: slope as a tangent [≥ 0]; beyond
    `STEEPEST_TAN` the effect stays as it is there. In a mixed stand each curve's index counts by its share.

    References
    ----------
    ST-X-3 eq. 39 to 44; GLC-X-10 eq. 41 to 44; from memory.
    """
    steep = np.minimum(np.asarray(slope_tan, float), STEEPEST_TAN)
    factor = np.exp(3.533 * steep**1.2)
    index = np.zeros_like(factor)
    for s in fuel.strands:
        # a (1 − e^(−b ISF))^c = factor · a (1 − e^(−b ISI))^c; cut where the curve has hardly more to give
        reached = np.minimum(-math.expm1(-s.b * still_isi) * factor ** (1.0 / s.c), 0.99)
        index += s.share * -np.log1p(-reached) / s.b
    ratio = index / still_isi  # the wind function that makes up the difference
    low = np.log(np.maximum(ratio, 1.0)) / 0.05039
    high = 28.0 - np.log(1.0 - np.minimum(ratio, 0.999 * 12.0) / 12.0) / 0.0818
    wind = np.where(low <= 40.0, low, np.where(ratio < 0.999 * 12.0, high, FADING_WIND_MPS / KM_PER_HOUR))
    return np.asarray(wind * KM_PER_HOUR, float)


def back_rate_mps(
    fuel: FbpFuel,
    still_isi: float,
    wind_mps: ArrayLike,
    *,
    ffmc: float,
    bui: float,
    foliar_moisture_pct: float | None,
) -> NDArray[np.float64]:
    """Rate of the back [m/s] against a wind (slope in it) [m/s, ≥ 0].

    Raises
    ------
    InputError, OutsideRangeError
        As `head_fire_fbp`.

    References
    ----------
    ST-X-3 eq. 75 to 77.
    """
    against = np.exp(-0.05039 * np.asarray(wind_mps, float) / KM_PER_HOUR)
    return head_fire_fbp(
        fuel, still_isi * against, ffmc=ffmc, bui=bui, foliar_moisture_pct=foliar_moisture_pct
    ).rate_mps


def length_to_breadth(fuel: FbpFuel, wind_mps: ArrayLike) -> NDArray[np.float64]:
    """Length over breadth of a fire in a wind (slope in it) [m/s, ≥ 0], uncut; 1 in calm air.

    References
    ----------
    ST-X-3 eq. 79 (forest, slash); GLC-X-10 eq. 80a and 81 (grass; from memory: 1992 printed a sum).
    """
    w = np.asarray(wind_mps, float) / KM_PER_HOUR
    if fuel.grass:
        return np.where(w < 1.0, 1.0, 1.1 * np.maximum(w, 1.0) ** 0.464)
    return 1.0 + 8.729 * (-np.expm1(-0.030 * w)) ** 2.155


_CANADA_LAT, _CANADA_LON = (41.0, 84.0), (-142.0, -52.0)


def foliar_moisture_by_date_pct(
    day: date, lat_deg: float, lon_deg: float, elevation_m: float | None
) -> float:
    """Moisture of conifer needles [%] by day of the year and place; least in late spring.

    Fitted in Canada: no other place is taken.

    Raises
    ------
    OutsideRangeError
        Outside 41 to 84° N and 142 to 52° W.

    References
    ----------
    ST-X-3 eq. 1 to 8; from memory.
    """
    for field, value, (low, high) in (("lat_deg", lat_deg, _CANADA_LAT), ("lon_deg", lon_deg, _CANADA_LON)):
        if not low <= value <= high:
            raise OutsideRangeError(field=field, value=value, low=low, high=high, unit="°")
    west = -lon_deg
    if elevation_m is None:
        driest = 151.0 * lat_deg / (46.0 + 23.4 * math.exp(-0.0360 * (150.0 - west)))
    else:
        normal = 43.0 + 33.7 * math.exp(-0.0351 * (150.0 - west))
        driest = 142.1 * lat_deg / normal + 0.0172 * elevation_m
    away = abs(day.timetuple().tm_yday - round(driest))
    if away < 30:
        return 85.0 + 0.0189 * away**2
    if away < 50:
        return 32.9 + 3.17 * away - 0.0288 * away**2
    return 120.0
