"""Line in the frame, and its ends: open, so that fire comes round them, or joined to what stops it there."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.errors import InputError, Problem
from wetline.growth._kernels import layout

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.grid import Grid
    from wetline.growth.state import State

__all__ = ["Joins", "cell_long", "joins"]

JOINED_CELLS = 0.5
"""An end no farther from wet line, or from ground that never burns, is joined to it (common practice, no
source): no fire is followed through a gap that the map cannot show."""


def cell_long(grid: Grid, xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """A polyline's points (column, row) in the frame, its parts at most a cell long.

    Raises
    ------
    InputError
        If `xy` [grid metres] is not [n, 2] of two points or more.
    """
    if xy.ndim != 2 or xy.shape[1] != 2 or len(xy) < 2 or not np.isfinite(xy).all():
        problem = Problem(
            message="The line is not a list of two or more points (x, y).",
            mend="Give its points in grid metres.",
            field="xy",
        )
        raise InputError.of([problem])
    row, col = grid.rowcol(xy[:, 0], xy[:, 1])
    corners = np.column_stack((col, row)) + layout.PAD
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    where = np.union1d(along, np.arange(0.0, along[-1], 1.0))
    return np.column_stack([np.interp(where, along, corners[:, j]) for j in (0, 1)])


@dataclass
class Joins:
    """What a new piece joins.

    `spurs`: the short lines [2, 2] that close the gaps. `own`: which of its own ends; `others`: which
    ends (piece, 0 or 1) of other pieces.
    """

    spurs: list[NDArray[np.float64]] = field(default_factory=list)
    own: set[int] = field(default_factory=set)
    others: list[tuple[int, int]] = field(default_factory=list)


def joins(state: State, shape: BaseGeometry, ends: NDArray[np.float64], now_s: float) -> Joins:
    """What a new piece of the shape, with open ends [0 or 2, 2], joins; (column, row) in the frame."""
    found = Joins()
    for piece, tip in np.argwhere(~np.isnan(state.piece_tips[:, :, 0])):
        end = shapely.points(state.piece_tips[piece, tip])
        if state.piece_end_s[piece] > now_s and shapely.dwithin(shape, end, JOINED_CELLS):
            found.others.append((int(piece), int(tip)))
            found.spurs.append(shapely.get_coordinates(shapely.shortest_line(end, shape)))
    wet = [other for piece, other in state.piece_shapes.items() if state.piece_end_s[piece] > now_s]
    for tip, place in enumerate(ends):
        end = shapely.points(place)
        met = [other for other in wet if shapely.dwithin(other, end, JOINED_CELLS)]
        met += _rock_beside(state, place)
        if len(ends) and np.hypot(*(ends[1 - tip] - place)) <= JOINED_CELLS:
            met.append(shapely.points(ends[1 - tip]))
        if met:
            found.own.add(tip)
            found.spurs += [shapely.get_coordinates(shapely.shortest_line(end, other)) for other in met]
    return found


def _rock_beside(state: State, place: NDArray[np.float64]) -> list[BaseGeometry]:
    """Middles of the cells that never burn in or beside which a place lies."""
    width = int(state.counts[layout.WIDTH])
    cols, rows = (np.arange(round(v - JOINED_CELLS), round(v + JOINED_CELLS) + 1) for v in place)
    row, col = (grid.ravel() for grid in np.meshgrid(rows, cols, indexing="ij"))
    on = (row >= 0) & (row < state.status.size // width) & (col >= 0) & (col < width)
    rock = on & (state.status[(row * width + col) * on] >= layout.WALL)
    return list(shapely.points(col[rock].astype(float), row[rock].astype(float)))
