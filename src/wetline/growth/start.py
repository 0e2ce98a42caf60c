"""From a perimeter to the state of a front at its start, to a fraction of a cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.errors import InputError, Problem
from wetline.growth._kernels.layout import PAD, WALL

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.grid import Grid
    from wetline.growth.metric import Metric

__all__ = ["Start", "perimeter_times"]

_REACH_CELLS = 1.6
"""Every neighbour of a burnt cell, diagonal or not, gets its time from the perimeter itself."""


class Start:
    """Where the perimeter lies among the cells: arrays per cell of the frame (see `ignite`)."""

    def __init__(self, cells: int) -> None:
        self.inside = np.zeros(cells, np.uint8)
        self.near = np.zeros(cells, np.uint8)
        self.cost_s = np.zeros(cells)
        self.ray = np.zeros((cells, 2), np.float32)
        self.parts_lost = 0
        """Parts of the perimeter that hold no burnable ground, known as such or unknown."""


def _refuse(message: str, *, mend: str) -> InputError:
    return InputError.of([Problem(message=message, mend=mend, field="burnt")])


def _segments(part: Polygon, grid: Grid) -> NDArray[np.float64]:
    """float64[n, 4] (column, row) from and to, burnt on the left seen with north up."""
    oriented = shapely.orient_polygons(shapely.segmentize(part, 3.0 * grid.cell_m))
    pieces = []
    for ring in (oriented.exterior, *oriented.interiors):
        xy = shapely.get_coordinates(ring)
        row, col = grid.rowcol(xy[:, 0], xy[:, 1])
        points = np.column_stack((col, row)) + PAD
        pieces.append(np.hstack((points[:-1], points[1:])))
    return np.ascontiguousarray(np.vstack(pieces))


def _nearest_burnable(part: Polygon, grid: Grid, burnable: NDArray[np.uint8], width: int) -> int | None:
    """The burnable cell whose centre lies nearest to a part too small to hold one."""
    west, south, east, north = part.bounds
    row0, col0 = (int(v) for v in grid.index(west, north))
    row1, col1 = (int(v) for v in grid.index(east, south))
    rows, cols = np.mgrid[row0 - 1 : row1 + 2, col0 - 1 : col1 + 2].reshape(2, -1)
    on_grid = (rows >= 0) & (rows < grid.rows) & (cols >= 0) & (cols < grid.cols)
    rows, cols = rows[on_grid], cols[on_grid]
    cells = (rows + PAD) * width + cols + PAD
    burns = burnable[cells] != 0
    if not burns.any():
        return None
    x, y = grid.xy(rows[burns], cols[burns])
    return int(cells[burns][int(np.argmin(shapely.distance(part, shapely.points(x, y))))])


def perimeter_times(
    burnt: Polygon | MultiPolygon, metric: Metric, slot: int, *, may_be_lost: bool = False
) -> Start:
    """Cells within a perimeter, and the time [s] between the perimeter and the cells along it.

    A part smaller than a cell burns the burnable cell nearest to it; no fire is lost for being small.
    `may_be_lost`: ground that holds no fire is counted in `parts_lost`, and not refused.

    Raises
    ------
    InputError
        If the perimeter is empty, crosses itself, or holds no burnable ground of the grid.
    """
    from wetline.growth._kernels.start import fill_inside, time_perimeter  # noqa: PLC0415  numba loads late

    if burnt.is_empty or not burnt.is_valid:
        reason = "It is empty." if burnt.is_empty else f"{shapely.is_valid_reason(burnt)}."
        message = f"The perimeter is no area. {reason}"
        raise _refuse(message, mend="Draw it as a closed line that does not cross itself.")
    grid = metric.fields.grid
    start = Start(metric.cells)
    burnable = (metric.status < WALL).astype(np.uint8)
    pieces = []
    burning = 0
    for part in shapely.get_parts(burnt):
        segments = _segments(part, grid)
        pieces.append(segments)
        found = fill_inside(segments, metric.width, metric.height, start.inside, burnable)
        if not found:
            cell = _nearest_burnable(part, grid, burnable, metric.width)
            if cell is None:
                start.parts_lost += 1
                continue
            start.inside[cell] = 2
            found = 1
        burning += found
    if not burning and may_be_lost:
        start.cost_s[:] = np.inf
        return start
    if not burning:
        message = "No ground within the perimeter is known to burn."
        raise _refuse(message, mend="Check that the perimeter lies on the fuel map, and the fuel there.")
    time_perimeter(
        np.vstack(pieces),
        _REACH_CELLS,
        metric.width,
        metric.height,
        metric.slot(slot),
        start.inside,
        start.near,
        start.cost_s,
        start.ray,
    )
    return start
