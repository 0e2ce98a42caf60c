"""Heights of water and of bases, read off the terrain, and bases as a check of its unit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.units import FOOT

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.grid import Grid
    from wetline.ground import Base, Layer
    from wetline.store.problems import Complaints

__all__ = ["raised_bases", "surface_m"]

_MOST_SAMPLES = 4000
_APART_M = 50.0
"""A base stands within a terrain cell or two of its published height. Common practice, no source."""


def surface_m(polygon: Polygon | MultiPolygon, grid: Grid, elevation_m: NDArray[np.floating]) -> float | None:
    """The median height [m] of the terrain cells whose centres lie in the water; None if not known.

    A water smaller than a cell takes the height at a point inside it. Only the part on the grid
    counts: a water wholly off the terrain has no known height.
    """
    west, south, east, north = polygon.bounds
    part, rows, cols = grid.window(west, south, east, north)
    step = max(1, int(np.sqrt(max(part.rows * part.cols, 1) / _MOST_SAMPLES)))
    if part.rows > 0 and part.cols > 0:
        r, c = np.meshgrid(np.arange(0, part.rows, step), np.arange(0, part.cols, step), indexing="ij")
        x, y = part.xy(r, c)
        shapely.prepare(polygon)
        inside = shapely.contains_xy(polygon, x, y)
        heights = elevation_m[rows, cols][r, c][inside]
        heights = heights[np.isfinite(heights)]
        if heights.size:
            return float(np.median(heights))
    point = shapely.point_on_surface(polygon)
    height = float(grid.sample(elevation_m, point.x, point.y))
    return height if np.isfinite(height) else None


def raised_bases(
    layer: Layer[Base], grid: Grid, elevation_m: NDArray[np.floating], complaints: Complaints
) -> Layer[Base]:
    """Bases with a height: their own where it is given, else the terrain's; None off the terrain.

    A terrain that differs from a given height is remarked; one that is 3.28 times as high is refused.
    """

    def raised(base: Base) -> Base:
        ground_m = float(grid.sample(elevation_m, base.point.x, base.point.y))
        if not np.isfinite(ground_m):
            return base
        if base.elevation_m is None:
            return replace(base, elevation_m=ground_m)
        if abs(ground_m - base.elevation_m) > _APART_M:
            _complain_of_height(base.name, ground_m, base.elevation_m, complaints)
        return base

    return replace(layer, features=tuple(raised(base) for base in layer))


def _complain_of_height(name: str, ground_m: float, base_m: float, complaints: Complaints) -> None:
    said = f"The terrain lies at {ground_m:.0f} m under {name}, which stands at {base_m:.0f} m"
    if abs(ground_m * FOOT - base_m) < _APART_M / 2:
        complaints.error(
            f"{said}: the terrain is in feet.", "Convert it to metres (1 ft = 0.3048 m).",
            field="height", value=f"{ground_m:.0f} m", limit=f"{base_m:.0f} m",
        )  # fmt: skip
    else:
        complaints.warning(
            f"{said}.", "See the unit of the heights, and the place and height of the base.",
            field="height", value=f"{ground_m:.0f} m", limit=f"{base_m:.0f} m",
        )  # fmt: skip
