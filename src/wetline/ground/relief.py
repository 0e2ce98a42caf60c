"""Slope, aspect and shaded relief of a terrain raster."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["shaded_relief", "slope_aspect"]


def _gradient(z: NDArray[np.floating], cell_m: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rise [m/m] toward the east and toward the north (Horn 1981, third-order finite difference).

    At the border the terrain is taken to go on as it came, so that a slope is not halved there.
    """
    p = np.pad(np.asarray(z, float), 1, mode="reflect", reflect_type="odd")
    east = (p[:-2, 2:] + 2 * p[1:-1, 2:] + p[2:, 2:] - p[:-2, :-2] - 2 * p[1:-1, :-2] - p[2:, :-2]) / (
        8 * cell_m
    )
    north = (p[:-2, :-2] + 2 * p[:-2, 1:-1] + p[:-2, 2:] - p[2:, :-2] - 2 * p[2:, 1:-1] - p[2:, 2:]) / (
        8 * cell_m
    )
    return east, north


def slope_aspect(
    elevation_m: NDArray[np.floating], cell_m: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Slope as a tangent and aspect: the grid bearing [deg] in which the ground falls.

    References
    ----------
    Horn 1981, Proc. IEEE 69(1):14-47.
    """
    east, north = _gradient(elevation_m, cell_m)
    slope = np.hypot(east, north)
    aspect = np.degrees(np.arctan2(-east, -north)) % 360.0
    return slope.astype(np.float32), aspect.astype(np.float32)


def shaded_relief(
    elevation_m: NDArray[np.floating],
    cell_m: float,
    *,
    light_from_deg: float = 315.0,
    light_height_deg: float = 45.0,
) -> NDArray[np.float32]:
    """Lambertian shade, 0 (dark) to 1 (lit), with light from a bearing at a height above the horizon."""
    east, north = _gradient(elevation_m, cell_m)
    azimuth, height = np.radians(light_from_deg), np.radians(light_height_deg)
    lit = np.sin(height) - np.cos(height) * (east * np.sin(azimuth) + north * np.cos(azimuth))
    shade: NDArray[np.float32] = np.clip(lit / np.sqrt(1.0 + east**2 + north**2), 0.0, 1.0).astype(np.float32)
    return shade
