"""Fuel models and canopy that follow height, aspect, slope and water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.demo.noise import fractal
from wetline.ground import slope_aspect

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.demo.water import Waters
    from wetline.grid import Grid

__all__ = ["Cover", "grow_cover"]

URBAN, FIELD, WATER, BARE = 91, 93, 98, 99
# Published fuel models by number (Scott & Burgan 2005), dry to wet ground.
BROADLEAF, SHADY_CONIFER, PINE, OPEN_WOOD, THICKET, PINE_SHRUB = 186, 183, 188, 162, 165, 144
GRASS_SHRUB, TALL_GRASS, GRASS, SHRUB, HEATH, SPARSE_GRASS, SLASH = 122, 104, 102, 145, 142, 101, 202
LIVELY = {THICKET: 1.0, GRASS_SHRUB: 0.7, SLASH: 0.7, OPEN_WOOD: 0.6, PINE_SHRUB: 0.5, GRASS: 0.5}
"""Models that carry a fire by day without throwing flames beyond reach, and how well they do."""

# The trees that stand over each model: cover [%], height [m], where crowns begin as a share of it, and the
# density of what burns in them [kg/m³].
_TREES = {
    BROADLEAF: (56, 13, 0.40, 0.05),
    SHADY_CONIFER: (62, 15, 0.35, 0.12),
    PINE: (47, 17, 0.50, 0.10),
    OPEN_WOOD: (31, 12, 0.42, 0.06),
    THICKET: (24, 9, 0.45, 0.06),
    PINE_SHRUB: (17, 8, 0.40, 0.05),
    GRASS_SHRUB: (7, 6, 0.40, 0.02),
    SLASH: (5, 8, 0.45, 0.02),
}


@dataclass(frozen=True, slots=True)
class Cover:
    """`fuel` int16 model numbers; the trees' cover, height, crown base and crown density float32, all [r, c]."""

    fuel: NDArray[np.int16]
    canopy_pct: NDArray[np.float32]
    canopy_m: NDArray[np.float32]

    @property
    def base_m(self) -> NDArray[np.float32]:
        """Height at which crowns begin, 0 without trees."""
        return np.round(self.canopy_m * self._by_model(2), 1)

    @property
    def bulk_kg_per_m3(self) -> NDArray[np.float32]:
        """Density of what burns in the crowns; thicker where the cover is."""
        usual_pct = np.maximum(self._by_model(0), np.float32(1.0))
        return np.round(self._by_model(3) * self.canopy_pct / usual_pct, 3)

    def _by_model(self, column: int) -> NDArray[np.float32]:
        out = np.zeros(self.fuel.shape, np.float32)
        for number, trees in _TREES.items():
            out[self.fuel == number] = trees[column]
        return out


def _dryness(grid: Grid, waters: Waters, patch: NDArray[np.float64]) -> NDArray[np.float64]:
    """How dry the ground is, about −2 (mire) to 2 (sunny knoll): sun, height over water, slope."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    z = waters.elevation_m
    slope, aspect = slope_aspect(ndimage.gaussian_filter(z, 3.0), grid.cell_m)
    sun = -np.cos(np.radians(aspect - 20.0)) * np.minimum(slope / 0.18, 1.0)
    wide = ndimage.zoom(ndimage.gaussian_filter(z[::4, ::4], 6), 4, order=1)
    above = z - wide
    shore_m = ndimage.distance_transform_edt(~waters.wet) * grid.cell_m
    gathered = ndimage.gaussian_filter(np.log(np.minimum(waters.cells, 3_000.0)), 1.6)
    damp = np.exp(-shore_m / 150.0) + 0.17 * np.maximum(gathered - 2.4, 0.0)
    return np.asarray(0.7 * sun + 0.035 * np.clip(above, -25, 25) - 0.8 * damp + 0.8 * patch + 0.35, float)


def _models(
    waters: Waters, dry: NDArray[np.float64], hilly: NDArray[np.float64], other: NDArray[np.float64]
) -> NDArray[np.int16]:
    """Model numbers by dryness; height takes over toward the tops."""
    z = waters.elevation_m
    steps = np.array([-0.8, -0.45, -0.05, 0.2, 1.15, 1.35, 2.2])
    by_dryness = np.array(
        [BROADLEAF, SHADY_CONIFER, PINE, OPEN_WOOD, THICKET, PINE_SHRUB, GRASS_SHRUB, TALL_GRASS], np.int16
    )
    fuel = by_dryness[np.digitize(dry, steps)]
    fuel = np.where((other > 1.2) & (dry > -0.2) & (dry < 1.15), GRASS_SHRUB, fuel)
    fuel = np.where((other > 1.7) & (dry > -0.6), GRASS, fuel)
    fuel = np.where((other < -1.7) & (dry > 0.6), SHRUB, fuel)
    fuel = np.where((other < -1.75) & (dry > -0.6) & (dry <= 0.4), SLASH, fuel)
    top = (z - np.percentile(z, 91)) / 60.0 + 0.35 * other + 0.3 * dry
    fuel = np.where((top > 0.5) & (hilly > 0.5), HEATH, fuel)
    fuel = np.where((top > 1.3) & (hilly > 0.5), SPARSE_GRASS, fuel)
    return fuel.astype(np.int16)


def grow_cover(rng: np.random.Generator, grid: Grid, waters: Waters, hilly: NDArray[np.float64]) -> Cover:
    """Fuels by dryness and height, bare rock where it is steep, trees that agree with the fuels."""
    shape = grid.shape
    patch = fractal(rng, shape, cell_m=grid.cell_m, longest_m=2_500, shortest_m=170, slope=2.9)
    other = fractal(rng, shape, cell_m=grid.cell_m, longest_m=3_500, shortest_m=240, slope=3.0)
    fuel = _models(waters, _dryness(grid, waters, patch), hilly, other)
    slope, _ = slope_aspect(waters.elevation_m, grid.cell_m)
    fuel[(slope > 0.75) & ~waters.wet] = BARE
    fuel[waters.wet] = WATER
    return Cover(fuel, *_trees(rng, fuel, grid.cell_m))


def _trees(
    rng: np.random.Generator, fuel: NDArray[np.int16], cell_m: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Cover [%] and height [m] of trees, 0 where the model has none."""
    uneven = fractal(rng, fuel.shape, cell_m=cell_m, longest_m=1_500, shortest_m=90, slope=2.0)
    uneven = np.clip(uneven, -2.2, 2.2)
    cover, height = np.zeros(fuel.shape), np.zeros(fuel.shape)
    for number, (pct, height_m, _, _) in _TREES.items():
        here = fuel == number
        cover[here] = np.clip(pct * (1 + 0.16 * uneven[here]), 2, 85)
        height[here] = np.clip(height_m * (1 + 0.13 * uneven[here]), 2, 25)
    return np.rint(cover).astype(np.float32), np.round(height, 1).astype(np.float32)


def clear_for(cover: Cover, where: NDArray[np.bool_], number: int) -> Cover:
    """The same cover with houses or fields put in and their trees cut."""
    fuel, pct, height = cover.fuel.copy(), cover.canopy_pct.copy(), cover.canopy_m.copy()
    put = where & (fuel != WATER)
    fuel[put], pct[put], height[put] = number, 0.0, 0.0
    return Cover(fuel, pct, height)
