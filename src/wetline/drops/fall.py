"""A lone drop in the open air: terminal speed, and drift with the wind over a fall."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline import tables
from wetline.drops.planning import setting

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["terminal_speed_mps", "wind_at_height_mps", "wind_drift_s", "wind_share"]


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


def wind_share(height_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Wind at each height above the growth for each m/s at 10 m; logarithmic in neutral air.

    The profile stands on the top of the canopy, and w = w₁₀ ln(1 + z/z₀)/ln(1 + 10/z₀).
    """
    rough = setting("roughness_m").value
    return np.asarray(np.log1p(height_m / rough) / np.log1p(10.0 / rough), float)


def wind_at_height_mps(wind_mps: float, height_m: float) -> float:
    """Wind [m/s] at one height, from the 10 m wind: `wind_share` of it."""
    return wind_mps * float(wind_share(np.asarray(height_m)))


def wind_drift_s(height_m: NDArray[np.float64], drop_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Drift [m] for each m/s of 10 m wind of a drop of this size at terminal speed from the tank on."""
    rough = setting("roughness_m").value
    mean = ((height_m + rough) * np.log1p(height_m / rough) - height_m) / np.log1p(10.0 / rough)
    return np.asarray(mean / terminal_speed_mps(drop_mm), float)
