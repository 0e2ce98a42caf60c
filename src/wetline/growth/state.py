"""The arrays that a front works on, and their cheap copy."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from wetline.growth._kernels import layout

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.growth.metric import Metric

Scalar = TypeVar("Scalar", bound=np.generic)

__all__ = ["State"]

_ROOM = 1024
"""Crossings and pieces of line for which there is room at first; more is made when needed."""

_COPIED = (
    *("time_s", "slope", "status", "updates", "told", "parents", "level", "arrival_s"),
    *("counts", "link", "crossed", "cross_piece", "cross_at", "cross_reached", "cross_since_s", "cross_link"),
    *("cross_round", "cross_tip", "piece_end_s", "piece_first", "piece_tips"),
)
_CROSSINGS = (
    "cross_piece",
    "cross_at",
    "cross_reached",
    "cross_since_s",
    "cross_link",
    "cross_round",
    "cross_tip",
)


def _room(array: NDArray[Scalar], size: int) -> NDArray[Scalar]:
    """The array, with room for `size` entries."""
    if size <= array.size:
        return array
    return np.concatenate((array, np.zeros(max(size, 2 * array.size) - array.size, array.dtype)))


class State:
    """Times, lists and lines of one front. The kernels change the arrays in place."""

    def __init__(self, metric: Metric, burn_out_s: float) -> None:
        n = metric.cells
        self.time_s = np.full(n, np.inf)
        """Final in burnt cells until the weather changes, then restated along the rim."""
        self.slope = np.zeros((n, 2), np.float32)
        """How the time changes along columns and along rows [s per cell]."""
        self.status = metric.status.copy()
        self.updates = np.zeros(n, np.uint8)
        self.told = np.zeros(n, np.uint8)
        self.parents = np.full(n, layout.NO_PARENT, np.uint8)
        self.level = np.zeros(n, np.float32)
        """The order of work [s]: see `strips`."""
        self.arrival_s = np.full(n, np.inf)
        """Of a burnt cell, when it burnt; of another, when fire comes straight from a perimeter beside it."""
        self.lists = np.empty(n, np.int32)
        """Cells whose time is not final, the first `counts[TRIALS]`; and from the end, cells beside the fire
        that never burn or lie off the grid, the last `counts[WALLS]`. No cell is ever both."""
        self.counts = np.zeros(layout.COUNTERS, np.int64)
        self.counts[layout.WIDTH] = metric.width
        self.counts[layout.PIECES] = self.counts[layout.CROSSINGS] = 1  # number 0 means none
        self.link = np.zeros(0, np.int32)
        """The crossing that blocks each link, or 0; made with the first line."""
        self.crossed = np.zeros(n, np.uint8)
        """Whether any link of a cell has ever been blocked: only then `link` may be read."""
        self.cross_piece = np.zeros(_ROOM, np.int32)
        self.cross_at = np.zeros(_ROOM, np.float32)
        self.cross_reached = np.zeros(_ROOM, np.uint8)
        self.cross_since_s = np.zeros(_ROOM)
        """Where fire has reached the crossing: since when it stands there."""
        self.cross_link = np.zeros(_ROOM, np.int32)
        self.cross_round = np.zeros(_ROOM, np.float32)
        """How much longer the way round the line's open end is than straight along the link, or inf."""
        self.cross_tip = np.zeros(_ROOM, np.uint8)
        """Which end of its piece that is, 0 or 1."""
        self.piece_end_s = np.zeros(_ROOM)
        self.piece_first = np.zeros(_ROOM, np.int64)
        """A piece's crossings stand together, from here to those of the next piece."""
        self.piece_tips = np.full((_ROOM, 2, 2), np.nan)
        """The open ends of a piece (column, row) in the frame; NaN where there is none."""
        self.piece_shapes: dict[int, BaseGeometry] = {}
        """The line of a piece, or the places on a held edge, in the frame."""
        self.burn_out_s = np.array([burn_out_s])
        self.make_scratch()

    def make_scratch(self) -> None:
        """Work space that holds nothing between calls."""
        n = self.status.size
        self.marks = np.zeros(n, np.uint8)
        self.queue = np.empty(n, np.int32)

    @property
    def cells(self) -> tuple[NDArray[np.generic], ...]:
        """What the kernels call `cells`, in their order."""
        return (
            self.time_s,
            self.slope,
            self.status,
            self.updates,
            self.told,
            self.parents,
            self.level,
            self.marks,
            self.lists,
            self.arrival_s,
        )

    @property
    def lines(self) -> tuple[NDArray[np.generic], ...]:
        """What the kernels call `lines`, in their order."""
        return (
            self.link,
            self.cross_piece,
            self.cross_at,
            self.cross_reached,
            self.piece_end_s,
            self.cross_since_s,
            self.crossed,
            self.burn_out_s,
            self.cross_round,
        )

    def copy(self) -> State:
        """The same state in its own arrays."""
        other = copy.copy(self)
        for name in _COPIED:
            setattr(other, name, getattr(self, name).copy())
        other.lists = np.empty_like(self.lists)
        trials, rest = self.counts[layout.TRIALS], self.lists.size - self.counts[layout.WALLS]
        other.lists[:trials] = self.lists[:trials]
        other.lists[rest:] = self.lists[rest:]
        other.piece_shapes = dict(self.piece_shapes)
        other.make_scratch()
        return other

    def new_piece(self, end_s: float, crossings: int) -> int:
        """A new piece of line with its end, and room for its crossings. Its number."""
        if not self.link.size:
            self.link = np.zeros(4 * self.status.size, np.int32)
        piece = int(self.counts[layout.PIECES])
        self.counts[layout.PIECES] += 1
        self.piece_end_s = _room(self.piece_end_s, piece + 1)
        self.piece_first = _room(self.piece_first, piece + 1)
        if piece >= len(self.piece_tips):
            more = np.full_like(self.piece_tips, np.nan)
            self.piece_tips = np.concatenate((self.piece_tips, more))
        self.piece_end_s[piece] = end_s
        self.piece_first[piece] = self.counts[layout.CROSSINGS]
        self.make_room(crossings)
        return piece

    def make_room(self, crossings: int) -> None:
        """Room for further crossings of the newest piece."""
        size = int(self.counts[layout.CROSSINGS]) + crossings
        for name in _CROSSINGS:
            setattr(self, name, _room(getattr(self, name), size))

    def crossings_of(self, piece: int) -> tuple[int, int]:
        """The first crossing of a piece and the one after its last."""
        pieces = int(self.counts[layout.PIECES])
        last = self.piece_first[piece + 1] if piece + 1 < pieces else self.counts[layout.CROSSINGS]
        return int(self.piece_first[piece]), int(last)

    def take_lines(self, other: State) -> None:
        """Copy all line, and what is known of it, from another state on the same metric."""
        for name in ("link", "crossed", *_CROSSINGS, "piece_end_s", "piece_first", "piece_tips"):
            setattr(self, name, getattr(other, name).copy())
        self.piece_shapes = dict(other.piece_shapes)
        for used in (layout.PIECES, layout.CROSSINGS):
            self.counts[used] = other.counts[used]

    def crossing_points(self, first: int, last: int) -> NDArray[np.float64]:
        """Where crossings lie, float64[n, 2] (column, row) in the frame."""
        number = self.cross_link[first:last]
        row, col = np.divmod(number >> 2, self.counts[layout.WIDTH])
        way = np.column_stack((layout.OX[number & 3], layout.OY[number & 3]))
        return np.asarray(np.column_stack((col, row)) + self.cross_at[first:last, None] * way)

    def close_tip(self, piece: int, tip: int) -> NDArray[np.int64]:
        """No way round an end of a piece from now on; the crossings that could be gone round there."""
        self.piece_tips[piece, tip] = np.nan
        crossings = np.arange(*self.crossings_of(piece))
        near = crossings[(self.cross_tip[crossings] == tip) & (self.cross_round[crossings] < np.inf)]
        self.cross_round[near] = np.inf
        return np.asarray(near)
