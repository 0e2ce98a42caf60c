"""From the tank to the ground: terminal speed, evaporation, and drift with the wind.

Drops fall at terminal speed all the way. The column that shields them near the aircraft is left
out, so that evaporation and drift are a little too large, never too small, for the sizes assumed.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline import tables
from wetline.drops.planning import setting
from wetline.errors import OutsideRangeError
from wetline.units import celsius_to_kelvin

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "drift_per_wind_s",
    "evaporated_fraction",
    "terminal_speed_mps",
    "vapour_deficit_kg_per_m3",
    "wet_bulb_c",
    "wind_at_height_mps",
]

_PRESSURE_PA = 101325.0
_VAPOUR_GAS_CONSTANT = 461.5  # J/(kg K), from memory
_WATER_KG_PER_M3 = 1000.0
_AIR_KG_PER_M3 = 1.204  # 20 °C, 1013 hPa, as in the terminal-speed table
_AIR_VISCOSITY_PA_S = 1.81e-5  # 20 °C, from memory
_SIZES = 24
_STEPS = 12


def terminal_speed_mps(diameter_mm: ArrayLike) -> NDArray[np.float64]:
    """Terminal speed [m/s] of water drops in still air at 1013 hPa and 20 °C, 0.1 to 5.8 mm.

    Below 0.1 mm the speed falls with the square of the diameter (Stokes); above 5.8 mm it stays, as
    such drops break.

    References
    ----------
    Gunn and Kinzer 1949, J. Meteorol. 6:243-248.
    """
    table = tables.load("drop/gunn_kinzer_1949")
    d = np.asarray(diameter_mm, float)
    size, speed = table["diameter_mm"], table["speed_m_per_s"]
    small = speed[0] * (d / size[0]) ** 2
    return np.asarray(np.where(d < size[0], small, np.interp(d, size, speed)), float)


def _saturation_pa(temperature_c: float) -> float:
    """Vapour pressure over water; Bolton 1980, Mon. Weather Rev. 108:1046, eq. 10 (from memory)."""
    return float(611.2 * math.exp(17.67 * temperature_c / (temperature_c + 243.5)))


def wet_bulb_c(temperature_c: float, humidity_pct: float) -> float:
    """Wet-bulb temperature [°C] at sea-level pressure, by the ventilated psychrometer equation.

    The psychrometer coefficient 6.6e-4 (1 + 0.00115 T_w) per K is from memory.
    """
    vapour = humidity_pct / 100.0 * _saturation_pa(temperature_c)
    low, high = temperature_c - 45.0, temperature_c
    for _ in range(40):
        middle = 0.5 * (low + high)
        slope = 6.6e-4 * (1.0 + 0.00115 * middle) * _PRESSURE_PA
        if _saturation_pa(middle) - slope * (temperature_c - middle) > vapour:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def vapour_deficit_kg_per_m3(temperature_c: float, humidity_pct: float) -> float:
    """Vapour density at a drop's wet-bulb surface less that of the air [kg/m³]; ideal gas."""
    surface_c = wet_bulb_c(temperature_c, humidity_pct)
    at_drop = _saturation_pa(surface_c) / celsius_to_kelvin(surface_c)
    in_air = humidity_pct / 100.0 * _saturation_pa(temperature_c) / celsius_to_kelvin(temperature_c)
    return max(at_drop - in_air, 0.0) / _VAPOUR_GAS_CONSTANT


def _diffusivity_m2_per_s(temperature_c: float) -> float:
    """Water vapour in air at sea level: 0.211 cm²/s (T/273.15)^1.94 (Pruppacher and Klett, from memory)."""
    return float(2.11e-5 * (celsius_to_kelvin(temperature_c) / 273.15) ** 1.94)


def _check_air(temperature_c: float, humidity_pct: float) -> None:
    if not -20.0 <= temperature_c <= 55.0:
        raise OutsideRangeError(field="temperature_c", value=temperature_c, low=-20, high=55, unit="°C")
    if not 1.0 <= humidity_pct <= 100.0:
        raise OutsideRangeError(field="humidity_pct", value=humidity_pct, low=1, high=100, unit="%")


def evaporated_by_size(
    diameter_mm: ArrayLike, fall_m: float, temperature_c: float, humidity_pct: float
) -> NDArray[np.float64]:
    """Share [0 to 1] of drops of each size that evaporates over a fall in unchanged air.

    d(d²)/dt = −K·(1 + 0.3 Re^½ Sc^⅓), K = 8 D Δρ_v/ρ_l, the drop at its wet bulb. An upper bound for
    the size: the vapour of the other drops is left out.

    Raises
    ------
    OutsideRangeError
        Outside −20 to 55 °C or 1 to 100 % humidity.

    References
    ----------
    Ranz and Marshall 1952, Chem. Eng. Prog. 48:141 (from memory).
    """
    _check_air(temperature_c, humidity_pct)
    diffusivity = _diffusivity_m2_per_s(temperature_c)
    loss = 8.0 * diffusivity * vapour_deficit_kg_per_m3(temperature_c, humidity_pct) / _WATER_KG_PER_M3
    schmidt = _AIR_VISCOSITY_PA_S / (_AIR_KG_PER_M3 * diffusivity)
    start = np.asarray(diameter_mm, float) * 1e-3

    def slope(square: NDArray[np.float64]) -> NDArray[np.float64]:
        d = np.sqrt(np.maximum(square, 1e-12))  # a micrometre: gone for every purpose
        v = np.maximum(terminal_speed_mps(d * 1e3), 1e-6)
        reynolds = _AIR_KG_PER_M3 * v * d / _AIR_VISCOSITY_PA_S
        return np.asarray(-loss * (1.0 + 0.3 * np.sqrt(reynolds) * np.cbrt(schmidt)) / v, float)

    square = start**2
    step = fall_m / _STEPS
    for _ in range(_STEPS):
        half = np.maximum(square + 0.5 * step * slope(square), 0.0)
        square = np.where(square > 0.0, np.maximum(square + step * slope(half), 0.0), 0.0)
    return np.asarray(1.0 - (np.sqrt(square) / start) ** 3, float)


@lru_cache(maxsize=512)
def evaporated_fraction(
    fall_m: float, temperature_c: float, humidity_pct: float, median_mm: float, exponent: float
) -> float:
    """Share [0 to 1] of a load that evaporates: `evaporated_by_size` over a Rosin-Rammler spectrum.

    Volume undersize 1 − exp(−ln 2 (d/median)^exponent), in equal shares of volume.
    """
    share = (np.arange(_SIZES) + 0.5) / _SIZES
    sizes = median_mm * (-np.log1p(-share) / math.log(2.0)) ** (1.0 / exponent)
    return float(evaporated_by_size(sizes, fall_m, temperature_c, humidity_pct).mean())


def wind_at_height_mps(wind_mps: float, height_m: float) -> float:
    """Wind [m/s] at a height above the growth, from the 10 m wind; logarithmic in neutral air.

    The profile stands on the top of the canopy, and w = w₁₀ ln(1 + z/z₀)/ln(1 + 10/z₀).
    """
    rough = setting("roughness_m").value
    return wind_mps * math.log1p(height_m / rough) / math.log1p(10.0 / rough)


def drift_per_wind_s(height_m: float, diameter_mm: float) -> float:
    """Drift [m] for each m/s of 10 m wind: ∫ w(z)/w₁₀ dz over the fall, divided by the terminal speed."""
    rough = setting("roughness_m").value
    mean = ((height_m + rough) * math.log1p(height_m / rough) - height_m) / math.log1p(10.0 / rough)
    return mean / float(terminal_speed_mps(diameter_mm))
