"""Places that a front is watched for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import InputError, Problem
from wetline.growth._kernels import layout

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.growth.metric import Metric
    from wetline.growth.state import State

__all__ = ["Reached", "first_reached", "framed_cells"]


@dataclass(frozen=True, slots=True)
class Reached:
    """The first of several places that the fire comes to: when [s], which, and at which of its cells."""

    at_s: float
    place: int
    cell: int


def framed_cells(metric: Metric, place: int, cells: NDArray[np.intp]) -> NDArray[np.int64]:
    """Cells of the frame at a place given by flat indices of the grid.

    Raises
    ------
    InputError
        If there are none, or one lies off the grid.
    """
    grid = metric.fields.grid
    if not len(cells) or np.min(cells) < 0 or np.max(cells) >= grid.rows * grid.cols:
        problem = Problem(
            message=f"Place {place} has no cells on the grid, or cells off it.",
            mend="Watch places on the grid only; nothing is known of others.",
            field="places",
        )
        raise InputError.of([problem])
    row, col = np.divmod(np.asarray(cells, np.int64), grid.cols)
    return np.asarray((row + layout.PAD) * metric.width + col + layout.PAD)


def first_reached(
    state: State, metric: Metric, places: Mapping[int, NDArray[np.int64]], watched: NDArray[np.int64]
) -> Reached | None:
    """The place, by its number, of which a watched cell has burnt first, if any has; cells of the frame."""
    burnt = watched[state.status[watched] == layout.BURNT]
    if not burnt.size:
        return None
    cell = burnt[np.argmin(state.arrival_s[burnt])]
    place = next(j for j, cells in places.items() if cell in cells)
    row, col = divmod(int(cell), metric.width)
    flat = (row - layout.PAD) * metric.fields.grid.cols + col - layout.PAD
    return Reached(float(state.arrival_s[cell]), place, flat)
