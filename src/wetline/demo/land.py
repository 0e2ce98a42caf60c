"""The ground before anybody is on it, and the search for places that suit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.demo.basins import choose_basins, dug
from wetline.demo.fuels import BARE, FIELD, URBAN, WATER, Cover, grow_cover
from wetline.demo.terrain import bare_relief, frame
from wetline.demo.water import Waters, settle
from wetline.ground import slope_aspect

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.grid import Grid

__all__ = ["Land", "make_land"]


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
