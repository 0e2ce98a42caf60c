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
from wetline.drops.moist_air import moist_air
from wetline.drops.planning import setting

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "drift_per_wind_s",
    "evaporated_fraction",
    "terminal_speed_mps",
    "wind_at_height_mps",
]

_WATER_KG_PER_M3 = 998.0  # 20 °C, from memory
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
    air = moist_air(temperature_c, humidity_pct)
    loss = 8.0 * air.diffusivity_m2_per_s * air.deficit_kg_per_m3 / _WATER_KG_PER_M3
    start = np.asarray(diameter_mm, float) * 1e-3

    def slope(square: NDArray[np.float64]) -> NDArray[np.float64]:
        d = np.sqrt(np.maximum(square, 1e-12))  # a micrometre: gone for every purpose
        v = np.maximum(terminal_speed_mps(d * 1e3), 1e-6)
        reynolds = air.density_kg_per_m3 * v * d / air.viscosity_pa_s
        return np.asarray(-loss * (1.0 + 0.3 * np.sqrt(reynolds) * np.cbrt(air.schmidt)) / v, float)

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
