"""The wind over terrain: how the ground bends and speeds the wind that the weather table gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.grid import Grid

__all__ = ["TerrainWind"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TerrainWind:
    """The 10 m wind of each cell for a unit wind of the weather table.

    `response` float32[r, c, 2, 2] on `grid`: (east, north) wind of the cell = response @ (east, north)
    of the table's wind, grid axes. A diagnostic wind without heating is linear in what drives it, so one
    response serves every hour and every member of an ensemble. `notes`: what it leaves out.
    """

    grid: Grid
    response: NDArray[np.float32]
    notes: tuple[str, ...] = ()

    def at(self, rows: slice, cols: slice) -> NDArray[np.float32]:
        """The response of a window of the grid, contiguous."""
        return np.ascontiguousarray(self.response[rows, cols])

    def blown(self, row: int, col: int, wind_mps: float, toward_deg: float) -> tuple[float, float]:
        """Speed [m/s] and bearing [deg] the wind blows to in a cell, for a wind of the table."""
        toward = np.radians(toward_deg)
        driving: ArrayLike = (wind_mps * np.sin(toward), wind_mps * np.cos(toward))
        east, north = self.response[row, col].astype(float) @ np.asarray(driving)
        return float(np.hypot(east, north)), float(np.degrees(np.arctan2(east, north)) % 360.0)
