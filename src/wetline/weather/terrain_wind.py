"""The wind over terrain: how the ground bends and speeds the wind that the weather table gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import SolverError
from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.grid import Grid

__all__ = ["LEE_TAN", "TerrainWind"]

LEE_TAN = 0.3
"""Fall downwind [tangent, 17°] beyond which the flow over a ridge parts from the ground in neutral air:
Kaimal and Finnigan 1994, Atmospheric Boundary Layer Flows, ch. 5, some 16 to 18°, from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TerrainWind:
    """The 10 m wind of each cell for a unit wind of the weather table.

    `response` float32[r, c, 2, 2] on `grid`: (east, north) wind of the cell = response @ (east, north)
    of the table's wind, grid axes. A diagnostic wind without heating is linear in what drives it, so one
    response serves every hour and every member of an ensemble. `first_row`, `first_col`: the cell of the ground's
    grid that is [0, 0] here. `rise` float32[r, c, 2]: the ground's rise toward east and north, as smooth
    as the wind was computed over. `notes`: what it leaves out.
    """

    grid: Grid
    response: NDArray[np.float32]
    first_row: int = 0
    first_col: int = 0
    rise: NDArray[np.float32] | None = None
    notes: tuple[str, ...] = ()

    def at(self, rows: slice, cols: slice) -> NDArray[np.float32]:
        """The response of a window of the ground's grid, contiguous.

        Raises
        ------
        SolverError
            If the wind was not computed over all of it.
        """
        inner = self._span(rows, self.first_row, 0), self._span(cols, self.first_col, 1)
        return np.ascontiguousarray(self.response[inner])

    def blown(self, row: int, col: int, wind_mps: float, toward_deg: float) -> tuple[float, float]:
        """Speed [m/s] and bearing [deg] the wind blows to in a cell of the ground, for a wind of the table.

        Raises
        ------
        SolverError
            If the wind was not computed there.
        """
        toward = np.radians(toward_deg)
        driving: ArrayLike = (wind_mps * np.sin(toward), wind_mps * np.cos(toward))
        here = self.at(slice(row, row + 1), slice(col, col + 1))[0, 0]
        east, north = here.astype(float) @ np.asarray(driving)
        return float(np.hypot(east, north)), float(np.degrees(np.arctan2(east, north)) % 360.0)

    def lee(self, toward_deg: float) -> NDArray[np.bool_]:
        """Cells of `grid` whose ground falls by more than `LEE_TAN` the way the table's wind blows.

        There, and for some heights of the hill beyond, real air may part from the ground and turn back.

        Raises
        ------
        LookupError
            If the rise of the ground is not known.
        """
        if self.rise is None:
            message = "the rise of the ground is not known"
            raise LookupError(message)
        return np.asarray(self.rise @ np.asarray(along(toward_deg), np.float32) < -LEE_TAN)

    def _span(self, asked: slice, first: int, axis: int) -> slice:
        start, stop, _ = asked.indices(first + self.response.shape[axis])
        if start < first or (asked.stop is not None and asked.stop > stop):
            message = "the wind over terrain was not computed over all of the window"
            raise SolverError(message)
        return slice(start - first, stop - first)
