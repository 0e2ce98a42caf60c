"""The arrays that a front works on, and their cheap copy."""

from __future__ import annotations

import copy
import math
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from wetline.growth._kernels import layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.growth.metric import Metric

Scalar = TypeVar("Scalar", bound=np.generic)

__all__ = ["State"]

_ROOM = 1024
"""Crossings and pieces of line for which there is room at first; more is made when needed."""

_COPIED = (
    *("time_s", "slope_x", "slope_y", "source_s", "status", "updates", "told", "parents", "arrival_s"),
    *("counts", "link", "cross_piece", "cross_at", "cross_reached", "cross_link"),
    *("piece_end_s", "piece_first"),
)


def _room(array: NDArray[Scalar], size: int) -> NDArray[Scalar]:
    """The array, with room for `size` entries."""
    if size <= array.size:
        return array
    return np.concatenate((array, np.zeros(max(size, 2 * array.size) - array.size, array.dtype)))


class State:
    """Times, lists and lines of one front. The kernels change the arrays in place."""

    def __init__(self, metric: Metric) -> None:
        n = metric.cells
        self.time_s = np.full(n, np.inf)
        """Final in burnt cells until the weather changes, then restated along the rim."""
        self.slope_x = np.zeros(n, np.float32)
        """How the time changes along columns, and along rows [s per cell]."""
        self.slope_y = np.zeros(n, np.float32)
        self.source_s = np.full(n, np.inf)
        """Arrival straight from the perimeter drawn, beside it."""
        self.status = metric.status.copy()
        self.updates = np.zeros(n, np.uint8)
        self.told = np.zeros(n, np.uint8)
        self.parents = np.full(n, layout.NO_PARENT, np.uint8)
        self.arrival_s = np.full(n, np.inf)
        """Written once, when a cell burns."""
        self.trials = np.empty(n, np.int32)
        """Cells whose time is not final: the first `counts[TRIALS]`."""
        self.walls = np.empty(n, np.int32)
        """Cells beside the fire that never burn, or lie off the grid: the first `counts[WALLS]`."""
        self.counts = np.zeros(layout.COUNTERS, np.int64)
        self.counts[layout.WIDTH] = metric.width
        self.counts[layout.PIECES] = self.counts[layout.CROSSINGS] = 1  # number 0 means none
        self.link = np.zeros(4 * n, np.int32)
        """The crossing that blocks each link, or 0."""
        self.cross_piece = np.zeros(_ROOM, np.int32)
        self.cross_at = np.zeros(_ROOM, np.float32)
        self.cross_reached = np.zeros(_ROOM, np.uint8)
        self.cross_link = np.zeros(_ROOM, np.int32)
        self.piece_end_s = np.zeros(_ROOM)
        self.piece_first = np.zeros(_ROOM, np.int64)
        """A piece's crossings stand together, from here to those of the next piece."""
        self.make_scratch()

    def make_scratch(self) -> None:
        """Work space that holds nothing between calls."""
        n = self.status.size
        self.queued = np.zeros(n, np.uint8)
        self.seen = np.zeros(n, np.uint8)
        self.queue = np.empty(1 << math.ceil(math.log2(n)), np.int32)

    @property
    def cells(self) -> tuple[NDArray[np.generic], ...]:
        """What the kernels call `cells`, in their order."""
        return (
            self.time_s,
            self.slope_x,
            self.slope_y,
            self.source_s,
            self.status,
            self.updates,
            self.told,
            self.parents,
            self.queued,
            self.trials,
            self.walls,
            self.arrival_s,
        )

    @property
    def lines(self) -> tuple[NDArray[np.generic], ...]:
        """What the kernels call `lines`, in their order."""
        return self.link, self.cross_piece, self.cross_at, self.cross_reached, self.piece_end_s

    def copy(self) -> State:
        """The same state in its own arrays."""
        other = copy.copy(self)
        for name in _COPIED:
            setattr(other, name, getattr(self, name).copy())
        for name, used in (("trials", layout.TRIALS), ("walls", layout.WALLS)):
            filled = getattr(self, name)
            array = np.empty_like(filled)
            array[: self.counts[used]] = filled[: self.counts[used]]
            setattr(other, name, array)
        other.make_scratch()
        return other

    def new_piece(self, end_s: float, crossings: int) -> int:
        """A new piece of line with its end, and room for its crossings. Its number."""
        piece = int(self.counts[layout.PIECES])
        self.counts[layout.PIECES] += 1
        self.piece_end_s = _room(self.piece_end_s, piece + 1)
        self.piece_first = _room(self.piece_first, piece + 1)
        self.piece_end_s[piece] = end_s
        self.piece_first[piece] = self.counts[layout.CROSSINGS]
        size = int(self.counts[layout.CROSSINGS]) + crossings
        for name in ("cross_piece", "cross_at", "cross_reached", "cross_link"):
            setattr(self, name, _room(getattr(self, name), size))
        return piece

    def crossings_of(self, piece: int) -> tuple[int, int]:
        """The first crossing of a piece and the one after its last."""
        pieces = int(self.counts[layout.PIECES])
        last = self.piece_first[piece + 1] if piece + 1 < pieces else self.counts[layout.CROSSINGS]
        return int(self.piece_first[piece]), int(last)
