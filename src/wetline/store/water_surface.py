"""The height of a water surface, read off the terrain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.grid import Grid

__all__ = ["surface_m"]

_MOST_SAMPLES = 4000


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
