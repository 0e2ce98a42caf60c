"""The ground before anybody is on it, and the search for places that suit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.demo.basins import choose_basins, dug
from wetline.demo.fuels import BARE, FIELD, URBAN, WATER, Cover, grow_cover
from wetline.demo.terrain import bare_relief, frame
from wetline.demo.water import Waters, settle
from wetline.ground import slope_aspect

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.grid import Grid

__all__ = ["Land", "Reach", "longest_reach", "make_land"]

CLEAR_M = 50.0
"""Clear half-width of the straight water that a twin-engine scooper asks for."""


@dataclass(frozen=True, slots=True)
class Reach:
    """Straight water of one lake: its number (from 0), length [m] and ends (x, y) [m].

    `climbs`: steepest climb [m/m] over the ground beyond each end, from 100 m after it to 3 km.
    """

    lake: int
    length_m: float
    ends: tuple[tuple[float, float], tuple[float, float]]
    climbs: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Land:
    """Grid, waters, cover, and rasters [r, c] that the search for places reads.

    `slope`: tangent over about 150 m. `shore_m`: distance to open water.
    """

    grid: Grid
    waters: Waters
    cover: Cover
    slope: NDArray[np.float32]
    shore_m: NDArray[np.float64]

    @property
    def burnable(self) -> NDArray[np.bool_]:
        """Where the fuels burn."""
        return ~np.isin(self.cover.fuel, (URBAN, FIELD, WATER, BARE))

    def height_m(self, x: float, y: float) -> float:
        """Ground [m] at a point."""
        return float(self.grid.sample(self.waters.elevation_m, x, y))


def make_land(rng: np.random.Generator) -> Land:
    """Relief, lakes, river and fuels from a seed."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    grid = frame()
    bare, hilly = bare_relief(rng)
    waters = settle(rng, grid, dug(rng, bare, choose_basins(rng, bare, hilly)))
    cover = grow_cover(rng, grid, waters, hilly)
    slope, _ = slope_aspect(ndimage.gaussian_filter(waters.elevation_m, 2.5), grid.cell_m)
    shore_m = ndimage.distance_transform_edt(~waters.wet) * grid.cell_m
    return Land(grid=grid, waters=waters, cover=cover, slope=slope, shore_m=shore_m)


def _climb(land: Land, end: tuple[float, float], away: tuple[float, float]) -> float:
    """Steepest climb [m/m] from the end of a reach over the ground ahead."""
    along_m = np.arange(100.0, 3_000.0, 30.0)
    x, y = end[0] + away[0] * along_m, end[1] + away[1] * along_m
    rise = land.grid.sample(land.waters.elevation_m, x, y) - land.height_m(*end)
    return float(np.nanmax(rise / along_m, initial=0.0))


def longest_reach(land: Land, number: int, *, headings: NDArray[np.float64]) -> Reach | None:
    """The longest straight water with `CLEAR_M` on either side, among headings 0 to 180° [deg]."""
    open_water = land.waters.lakes[number].polygon.buffer(-CLEAR_M).simplify(5.0)
    if open_water.is_empty:
        return None
    west, south, east, north = open_water.bounds
    middle = np.array([(west + east) / 2, (south + north) / 2])
    half = np.hypot(east - west, north - south) / 2 + 1.0
    best: Reach | None = None
    for heading in headings:
        step = np.array([np.sin(np.radians(heading)), np.cos(np.radians(heading))])
        side = np.array([step[1], -step[0]])
        start = middle + np.arange(-half, half, CLEAR_M)[:, None] * side
        lines = shapely.linestrings(np.stack([start - half * step, start + half * step], axis=1))
        pieces = shapely.get_parts(shapely.intersection(lines, open_water))
        lengths = shapely.length(pieces)
        if not lengths.size or (best is not None and lengths.max() <= best.length_m):
            continue
        (x0, y0), (x1, y1) = shapely.get_coordinates(pieces[int(lengths.argmax())])[[0, -1]].tolist()
        first, last = (x0, y0), (x1, y1)
        climbs = (_climb(land, first, (-step[0], -step[1])), _climb(land, last, (step[0], step[1])))
        best = Reach(number, float(lengths.max()), (first, last), climbs)
    return best
