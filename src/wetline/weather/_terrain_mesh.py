"""The mesh on which the wind is fitted to the ground: columns over smoothed heights, levels that follow them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Mesh", "levels_m", "mesh_over"]

FINEST_M = 60.0
"""No mesh cell is finer: narrower hills lie within the eddies that the flow over them does not know."""
MOST_UNKNOWNS = 400_000
BORDER = 4
"""Mesh cells added on every side, level outward from the last ground that is known."""
LOWEST_M = 20.0
"""Thickness of the lowest level: its middle lies 10 m above the ground, where the wind is asked for."""
_GROWTH = 1.3
_TOP_OVER_RELIEF = 5.0
_LEAST_TOP_M = 1_000.0
_FILL_STEPS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Square columns of `cell_m` over `height_m[y, x]` (float64; y northward, x eastward).

    `thickness_m[k]`: of the levels, lowest first, the same over every column. `per_cell`: ground cells along
    the side of a column. `filled`: columns without any known height.
    """

    cell_m: float
    height_m: NDArray[np.float64]
    thickness_m: NDArray[np.float64]
    per_cell: int = 1
    filled: int = 0

    @property
    def top_m(self) -> float:
        """Height of the mesh above the ground."""
        return float(self.thickness_m.sum())


def levels_m(relief_m: float) -> NDArray[np.float64]:
    """Thickness [m] of the levels over ground of a relief [m]: stretched, to five times its height."""
    top_m = max(_TOP_OVER_RELIEF * relief_m, _LEAST_TOP_M)
    count = math.ceil(math.log1p(top_m / LOWEST_M * (_GROWTH - 1.0)) / math.log(_GROWTH))
    return np.asarray(LOWEST_M * _GROWTH ** np.arange(count), float)


def mesh_over(elevation_m: NDArray[np.floating], cell_m: float) -> Mesh:
    """The finest mesh over heights `[row, col]`, row 0 north, that keeps within `MOST_UNKNOWNS`.

    Heights are means over the mesh cell. NaN is filled smoothly from around. At least one height must be known.
    """
    thickness_m = levels_m(float(np.nanmax(elevation_m) - np.nanmin(elevation_m)))
    rows, cols = elevation_m.shape
    per_cell = max(1, math.ceil(FINEST_M / cell_m - 1e-9))
    while _columns(rows, per_cell) * _columns(cols, per_cell) * (thickness_m.size + 1) > MOST_UNKNOWNS:
        per_cell += 1
    coarse = _block_means(elevation_m, per_cell)
    filled = int(np.isnan(coarse).sum())
    height_m = np.pad(_filled(coarse) if filled else coarse, BORDER, mode="edge")
    return Mesh(
        cell_m=per_cell * cell_m,
        height_m=np.ascontiguousarray(height_m[::-1]),
        thickness_m=thickness_m,
        per_cell=per_cell,
        filled=filled,
    )


def _columns(cells: int, per_cell: int) -> int:
    return -(-cells // per_cell) + 2 * BORDER


def _block_means(z: NDArray[np.floating], per_cell: int) -> NDArray[np.float64]:
    """Means of the known values in blocks from the north-west corner; NaN where a block knows none."""
    rows, cols = (-(-n // per_cell) for n in z.shape)
    whole = np.full((rows * per_cell, cols * per_cell), np.nan)
    whole[: z.shape[0], : z.shape[1]] = z
    blocks = whole.reshape(rows, per_cell, cols, per_cell)
    known = (~np.isnan(blocks)).sum(axis=(1, 3))
    total = np.nansum(blocks, axis=(1, 3))
    return np.where(known > 0, total / np.maximum(known, 1), np.nan)


def _filled(z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Holes take the nearest known value, then are relaxed until they join without a step."""
    from scipy import ndimage  # noqa: PLC0415  scipy loads late

    hole = np.isnan(z)
    nearest = ndimage.distance_transform_edt(hole, return_distances=False, return_indices=True)
    out = np.array(z[tuple(nearest)])
    cross = np.array([[0.0, 0.25, 0.0], [0.25, 0.0, 0.25], [0.0, 0.25, 0.0]])
    for _ in range(_FILL_STEPS):
        out[hole] = ndimage.convolve(out, cross, mode="nearest")[hole]
    return out
