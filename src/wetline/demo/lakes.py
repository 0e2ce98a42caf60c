"""Lakes: the basins filled to a level, their shores contoured finer than the terrain's cells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.demo.contour import regions_below
from wetline.demo.terrain import border, decimetres, drain

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import Polygon

    from wetline.grid import Grid

__all__ = ["Lake", "fill_basins", "inside"]

LEAST_AREA_M2 = 90_000.0
LEAST_ISLAND_M2 = 400.0
LEAST_DEPTH_M = 2.5
FINER = 3
"""Shore points per cell: the lattice is interpolated this much finer before it is contoured."""


@dataclass(frozen=True, slots=True)
class Lake:
    """Standing water: shore [m], level [m], and the greatest depth in its basin [m]."""

    polygon: Polygon
    surface_m: float
    greatest_depth_m: float


def inside(grid: Grid, polygons: list[Polygon]) -> NDArray[np.int32]:
    """Number (from 1) of the polygon that holds each cell's middle, 0 in none."""
    from rasterio import Affine  # noqa: PLC0415 - heavy
    from rasterio.features import rasterize  # noqa: PLC0415 - heavy

    numbers: NDArray[np.int32] = rasterize(
        [(polygon, number + 1) for number, polygon in enumerate(polygons)],
        out_shape=grid.shape,
        transform=Affine(grid.cell_m, 0.0, grid.west_m, 0.0, -grid.cell_m, grid.north_m),
        dtype="int32",
    )
    return numbers


def _shores(
    rng: np.random.Generator, grid: Grid, z: NDArray[np.float64], level_m: float, r0: int, c0: int
) -> list[Polygon]:
    """Shores [m] at a level in a window of the terrain whose first cell is [r0, c0]."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    row = np.arange(0, z.shape[0] - 1 + 1e-9, 1 / FINER)
    col = np.arange(0, z.shape[1] - 1 + 1e-9, 1 / FINER)
    fine = ndimage.map_coordinates(z, np.meshgrid(row, col, indexing="ij"), order=3, mode="nearest")
    fine += 0.9 * ndimage.gaussian_filter(rng.standard_normal(fine.shape), 1.6)
    west_m, north_m = grid.xy(r0, c0)
    shores = regions_below(
        fine, level_m, west_m=float(west_m), north_m=float(north_m), step_m=grid.cell_m / FINER
    )
    kept = []
    for shore in shores:
        islands = [ring for ring in shore.interiors if shapely.Polygon(ring).area >= LEAST_ISLAND_M2]
        lake = shapely.Polygon(shore.exterior, islands).simplify(1.5)
        if lake.area >= LEAST_AREA_M2 and lake.is_valid:
            kept.append(cast("Polygon", lake))
    return kept


def fill_basins(rng: np.random.Generator, grid: Grid, z: NDArray[np.float64]) -> tuple[Lake, ...]:
    """Every basin filled to just under the height at which it spills, largest lake first."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    spill = drain(decimetres(z), border(z.shape), rise_dm=0).filled_dm / 10.0
    depth = spill - z
    labels, _ = ndimage.label(depth > 0.3)
    lakes: list[Lake] = []
    for number, window in enumerate(ndimage.find_objects(labels), start=1):
        here = labels[window] == number
        deepest = float(depth[window][here].max())
        if here.sum() * grid.cell_m**2 < LEAST_AREA_M2 or deepest < LEAST_DEPTH_M:
            continue
        level = round(float(spill[window][here].max()) - min(1.2, 0.25 * deepest), 1)
        r0, c0 = max(window[0].start - 3, 0), max(window[1].start - 3, 0)
        rows, cols = slice(r0, window[0].stop + 3), slice(c0, window[1].stop + 3)
        near = ndimage.binary_dilation(labels[rows, cols] == number, iterations=2)
        dammed = np.where(near, z[rows, cols], np.maximum(z[rows, cols], level + 5.0))
        shores = _shores(rng, grid, dammed, level, r0, c0)
        lakes += [Lake(polygon=shore, surface_m=level, greatest_depth_m=deepest) for shore in shores]
    return tuple(sorted(lakes, key=lambda lake: -lake.polygon.area))
