"""Relief: eroded hills in the north and west, a lake plain with a grain, basins dug by old ice.

The heights come in two steps. `bare_relief` gives hills, valleys and dug basins; `lakes.py` fills the
basins; `drained` then lets every cell drain to a lake or off the map.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.demo.noise import fractal, smoothstep
from wetline.grid import Grid, Projection

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Drainage", "bare_relief", "decimetres", "drain", "frame"]

CELL_M = 30.0
ROWS, COLS = 1000, 1340
COARSE = 4
GRAIN_DEG = 68.0
"""Bearing along which the ice went: lakes and ridges lie along it."""
HILL_M = 430.0
FOOT_M = 190.0
SILTED = 0.9


def frame() -> Grid:
    """The demo's grid: open ocean, so that nobody takes the region for a real one."""
    return Grid(Projection("EPSG:32625"), 570_000.0, 5_243_000.0, CELL_M, ROWS, COLS)


@dataclass(frozen=True, slots=True)
class Drainage:
    """Where water goes.

    `filled_dm` int32[r, c]: heights raised until each cell drains. `parent`: the cell that each
    drains into, itself at an outlet. `order`: cells from the outlets upward. `cells` float64[r, c]:
    how many cells drain through each, itself included.
    """

    filled_dm: NDArray[np.int32]
    parent: NDArray[np.int64]
    order: NDArray[np.int64]
    cells: NDArray[np.float64]


def decimetres(z: NDArray[np.floating]) -> NDArray[np.int32]:
    """Heights [dm], rounded: the step in which the terrain file is written."""
    rounded: NDArray[np.int32] = np.rint(np.asarray(z, float) * 10).astype(np.int32)
    return rounded


def border(shape: tuple[int, int]) -> NDArray[np.uint8]:
    """1 on the frame of a lattice, 0 inside."""
    edge = np.ones(shape, np.uint8)
    edge[1:-1, 1:-1] = 0
    return edge


def drain(z_dm: NDArray[np.int32], outlet: NDArray[np.uint8], *, rise_dm: int) -> Drainage:
    """Let every cell drain to an outlet, each at least `rise_dm` above the one it drains into."""
    from wetline.demo import _kernels as kernels  # noqa: PLC0415 - numba is heavy

    filled = np.empty_like(z_dm)
    parent = np.empty(z_dm.size, np.int64)
    order = np.empty(z_dm.size, np.int64)
    kernels.flood(z_dm, outlet, rise_dm, filled, parent, order)
    cells = np.ones(z_dm.size)
    kernels.gather(parent, order, cells)
    return Drainage(filled, parent, order, cells.reshape(z_dm.shape))


def _carved(
    z: NDArray[np.float64],
    *,
    steps: int,
    strength: float,
    uplift: NDArray[np.float64] | float,
    smooth_cells: float,
) -> NDArray[np.float64]:
    """Let running water and creeping soil work on the heights for some steps."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    from wetline.demo import _kernels as kernels  # noqa: PLC0415 - numba is heavy

    edge = border(z.shape)
    for _ in range(steps):
        z = np.where(edge, z, z + uplift)
        water = drain(decimetres(z - z.min()), edge, rise_dm=0)
        flat = np.ascontiguousarray(z.ravel())
        kernels.carve(flat, water.parent, water.order, water.cells.ravel(), z.shape[1], strength, 0.45)
        z = ndimage.gaussian_filter(flat.reshape(z.shape), smooth_cells, mode="nearest")
    return z


def _hilliness(rng: np.random.Generator, shape: tuple[int, int], cell_m: float) -> NDArray[np.float64]:
    """0 on the lake plain to 1 in the hills."""
    wide = fractal(rng, shape, cell_m=cell_m, longest_m=30_000, shortest_m=5_000, slope=3.0)
    row, col = np.mgrid[0 : shape[0], 0 : shape[1]]
    north_west = 0.9 - 1.5 * row / shape[0] - 0.5 * col / shape[1]
    return smoothstep(wide * 0.55 + north_west, -0.35, 1.0)


def _coarse_relief(rng: np.random.Generator) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Hills and valleys on the coarse lattice [m], and the hilliness there."""
    shape = (ROWS // COARSE, COLS // COARSE)
    cell_m = CELL_M * COARSE
    hilly = _hilliness(rng, shape, cell_m)
    rough = fractal(
        rng,
        shape,
        cell_m=cell_m,
        longest_m=9_000,
        shortest_m=300,
        slope=2.6,
        stretch=2.0,
        grain_deg=GRAIN_DEG,
    )
    row, col = np.mgrid[0 : shape[0], 0 : shape[1]]
    tilt = 45.0 * (1 - row / shape[0]) + 25.0 * (1 - col / shape[1])
    z = tilt + (0.3 + hilly) * (60 + 45 * rough)
    z = _carved(z, steps=60, strength=0.09, uplift=6.0 * hilly + 0.25, smooth_cells=0.4)
    return FOOT_M + (z - z.min()) * (HILL_M / np.ptp(z)), hilly


def bare_relief(rng: np.random.Generator) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Heights [m] before any basin is dug, and the hilliness 0 to 1, both float64[r, c]."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    coarse, hilly = _coarse_relief(rng)
    z = ndimage.zoom(coarse, COARSE, order=3, mode="nearest", grid_mode=True)
    hilly = np.clip(ndimage.zoom(hilly, COARSE, order=1, mode="nearest", grid_mode=True), 0, 1)
    knobs = fractal(
        rng,
        z.shape,
        cell_m=CELL_M,
        longest_m=2_600,
        shortest_m=90,
        slope=3.3,
        stretch=1.8,
        grain_deg=GRAIN_DEG,
    )
    z += (7.0 + 12.0 * hilly) * knobs
    z = _carved(z, steps=3, strength=0.03, uplift=0.0, smooth_cells=0.5)
    # Old mires: most of every undrained hollow has silted up, so that the dug basins hold the lakes.
    filled = drain(decimetres(z), border(z.shape), rise_dm=0).filled_dm / 10.0
    return z + SILTED * (filled - z), hilly
