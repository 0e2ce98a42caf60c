"""Lakes set into the terrain, the river that joins them, and heights from which every cell drains."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.demo.lakes import fill_basins, inside
from wetline.demo.lines import smooth
from wetline.demo.terrain import border, decimetres, drain

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.demo.lakes import Lake
    from wetline.demo.terrain import Drainage
    from wetline.grid import Grid

__all__ = ["Waters", "settle"]

RIVER_LEAST_CELLS = 45_000
"""Cells drained (40 km²) from which on a stream is drawn as a river."""


@dataclass(frozen=True, slots=True)
class Waters:
    """Terrain with its water in it.

    `elevation_m` float32[r, c] to 0.1 m, flat on lakes. `lake` int32[r, c]: number (from 1) of the
    lake in `lakes`, else 0. `wet` bool: lake or river. `cells` float64: cells drained by each cell.
    """

    elevation_m: NDArray[np.float32]
    lakes: tuple[Lake, ...]
    river: Polygon | MultiPolygon
    lake: NDArray[np.int32]
    wet: NDArray[np.bool_]
    cells: NDArray[np.float64]


def _open_outlets(z: NDArray[np.int32], lake: NDArray[np.int32], water: Drainage) -> NDArray[np.int32]:
    """Cut each lake's sill, so that its outlet leaves at the lake's own level [dm]."""
    z = z.copy()
    flat, number, cells = z.ravel(), lake.ravel(), water.cells.ravel()
    for lake_number in range(1, int(lake.max()) + 1):
        mine = np.flatnonzero(number == lake_number)
        at = int(mine[np.argmax(cells[mine])])
        level = int(flat[at])
        while water.parent[at] != at:
            at = int(water.parent[at])
            if number[at] == lake_number:
                continue
            if number[at] or flat[at] < level:
                break
            level -= 1
            flat[at] = level
    return z


def _river(grid: Grid, water: Drainage, lakes: tuple[Lake, ...]) -> Polygon | MultiPolygon:
    """The largest stream of the map from its mouth up to where it drains too little, without lakes."""
    cells = water.cells.ravel()
    above = np.full(cells.size, -1, np.int64)
    streams = np.flatnonzero((cells >= RIVER_LEAST_CELLS) & (water.parent != np.arange(cells.size)))
    streams = streams[np.argsort(cells[streams], kind="stable")]
    above[water.parent[streams]] = streams  # of several, the largest is written last
    mouths = np.flatnonzero(water.parent == np.arange(cells.size))
    at = int(mouths[np.argmax(cells[mouths])])
    path = [at]
    while above[at] >= 0:
        at = int(above[at])
        path.append(at)
    row, col = np.divmod(np.array(path), grid.cols)
    line = np.column_stack(grid.xy(row, col))
    coarse = smooth(np.vstack([line[:-1:3], line[-1:]]), times=2)
    half = shapely.LineString(coarse).buffer(17.0)
    wide = half.union(shapely.LineString(coarse[: len(coarse) // 2]).buffer(24.0))
    frame = shapely.box(*grid.bounds)
    land = wide.intersection(frame).difference(shapely.union_all([lake.polygon for lake in lakes]))
    parts = [p.simplify(2.0) for p in shapely.get_parts(land) if p.area > 4_000.0]
    return cast("Polygon | MultiPolygon", shapely.union_all(parts))


def settle(rng: np.random.Generator, grid: Grid, z: NDArray[np.float64]) -> Waters:
    """Fill the basins of a bare terrain [m], lead the water off, and let every cell drain."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    lakes = fill_basins(rng, grid, z)
    lake = inside(grid, [each.polygon for each in lakes])
    levels = decimetres(np.array([0.0, *(each.surface_m for each in lakes)]))
    z_dm = np.where(lake > 0, levels[lake], decimetres(z)).astype(np.int32)
    shore = ndimage.maximum_filter(np.where(lake > 0, z_dm, -1), 3) + 1
    z_dm = np.where(lake > 0, z_dm, np.maximum(z_dm, shore)).astype(np.int32)
    whole = drain(z_dm, border(z.shape), rise_dm=0)
    river = _river(grid, whole, lakes)
    z_dm = _open_outlets(z_dm, lake, whole)
    outlet = np.where(lake > 0, 1, border(z.shape)).astype(np.uint8)
    settled = drain(z_dm, outlet, rise_dm=1)
    streams = inside(grid, list(shapely.get_parts(river)))
    return Waters(
        elevation_m=(settled.filled_dm / 10.0).astype(np.float32),
        lakes=lakes,
        river=river,
        lake=lake,
        wet=(lake > 0) | (streams > 0),
        cells=whole.cells,
    )
