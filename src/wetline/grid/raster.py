"""The working grid: square cells in metres, row 0 in the north."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.grid.projection import Projection

__all__ = ["Grid"]


@dataclass(frozen=True, slots=True)
class Grid:
    """A north-up raster frame. `west_m`, `north_m` are the outer corner of cell [0, 0]."""

    projection: Projection
    west_m: float
    north_m: float
    cell_m: float
    rows: int
    cols: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.cols

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east, north [m], outer edges."""
        east = self.west_m + self.cols * self.cell_m
        return self.west_m, self.north_m - self.rows * self.cell_m, east, self.north_m

    @property
    def convergence_deg(self) -> float:
        """Meridian convergence at the middle of the grid: true bearing = grid bearing + this."""
        west, south, east, north = self.bounds
        return self.projection.convergence_deg((west + east) / 2, (south + north) / 2)

    def xy(self, row: ArrayLike, col: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Cell centres [m] of (fractional) rows and columns."""
        x = self.west_m + (np.asarray(col, float) + 0.5) * self.cell_m
        y = self.north_m - (np.asarray(row, float) + 0.5) * self.cell_m
        return x, y

    def rowcol(self, x: ArrayLike, y: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Fractional row and column of points [m]; integers are cell centres."""
        col = (np.asarray(x, float) - self.west_m) / self.cell_m - 0.5
        row = (self.north_m - np.asarray(y, float)) / self.cell_m - 0.5
        return row, col

    def index(self, x: ArrayLike, y: ArrayLike) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Row and column of the cells that hold points [m]; may lie outside the grid."""
        row, col = self.rowcol(x, y)
        return np.floor(row + 0.5).astype(np.intp), np.floor(col + 0.5).astype(np.intp)

    def holds(self, x: ArrayLike, y: ArrayLike) -> NDArray[np.bool_]:
        """Whether points [m] lie on the grid."""
        row, col = self.index(x, y)
        return (row >= 0) & (row < self.rows) & (col >= 0) & (col < self.cols)

    def sample(self, z: NDArray[np.floating], x: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
        """Bilinear values of `z[row, col]` at points [m]; NaN outside the grid or beside a hole."""
        row, col = self.rowcol(x, y)
        inside = (row >= -0.5) & (row < self.rows - 0.5) & (col >= -0.5) & (col < self.cols - 0.5)
        row = np.clip(row, 0, self.rows - 1)
        col = np.clip(col, 0, self.cols - 1)
        r0 = np.minimum(row.astype(np.intp), max(self.rows - 2, 0))
        c0 = np.minimum(col.astype(np.intp), max(self.cols - 2, 0))
        r1 = np.minimum(r0 + 1, self.rows - 1)
        c1 = np.minimum(c0 + 1, self.cols - 1)
        fr, fc = row - r0, col - c0
        value = (
            z[r0, c0] * (1 - fr) * (1 - fc)
            + z[r0, c1] * (1 - fr) * fc
            + z[r1, c0] * fr * (1 - fc)
            + z[r1, c1] * fr * fc
        )
        return np.where(inside, value, np.nan)

    def nearest(self, z: NDArray[np.generic], x: ArrayLike, y: ArrayLike) -> NDArray[np.generic]:
        """Values of the cells that hold points [m]; points outside take the nearest edge cell."""
        row, col = self.index(x, y)
        return z[np.clip(row, 0, self.rows - 1), np.clip(col, 0, self.cols - 1)]

    def window(self, west: float, south: float, east: float, north: float) -> tuple[Grid, slice, slice]:
        """The sub-grid that covers a box [m], cut to this grid, with its row and column slices."""
        c0 = max(0, int(np.floor((west - self.west_m) / self.cell_m)))
        c1 = min(self.cols, int(np.ceil((east - self.west_m) / self.cell_m)))
        r0 = max(0, int(np.floor((self.north_m - north) / self.cell_m)))
        r1 = min(self.rows, int(np.ceil((self.north_m - south) / self.cell_m)))
        part = Grid(
            self.projection,
            self.west_m + c0 * self.cell_m,
            self.north_m - r0 * self.cell_m,
            self.cell_m,
            max(r1 - r0, 0),
            max(c1 - c0, 0),
        )
        return part, slice(r0, r1), slice(c0, c1)
