"""The fire as the solver reads it: time per cell, slot by slot, made when first asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np

from wetline.behaviour import FireFields
from wetline.errors import InputError, Problem
from wetline.growth._kernels.layout import OUTSIDE, PAD, UNBURNT, WALL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.grid import Grid

Scalar = TypeVar("Scalar", bound=np.generic)

__all__ = ["STANDING_MPS", "Metric", "Paced"]

STANDING_MPS = 1e-6
"""A fire that stands, in a cell and hour of rate 0, moves this fast in the sums: 4 mm an hour. Its
place within the cell is kept, and it goes on from there when the hour allows it."""


class Paced(Protocol):
    """Fire behaviour that tells growth its pace at once, without fields (`behaviour.Pace`)."""

    @property
    def grid(self) -> Grid:
        """The grid of its cells."""

    @property
    def edges_s(self) -> NDArray[np.float64]:
        """Slot k holds from `edges_s[k]` to `edges_s[k + 1]` [s]."""

    @property
    def unknown(self) -> NDArray[np.bool_] | None:
        """bool[r, c]: ground of unknown fuel or height; None for none."""

    def slot(self, t_s: float) -> int:
        """The slot that holds a time, or LookupError."""

    def last_slot(self) -> NDArray[np.int16]:
        """int16[r, c]: the last slot in which each cell can burn; −1 never."""

    def fill(self, k: int, standing_mps: float, pace: NDArray[np.float32]) -> None:
        """Write slot `k` into float32[r, c, 3]; a = inf in cells that never burn."""


class _Stored:
    """Fields as `Paced`."""

    def __init__(self, fields: FireFields) -> None:
        self._fields = fields
        slots = np.arange(len(fields.edges_s) - 1, dtype=np.int16)[:, None, None]
        burns = fields.burnable & (fields.head_rate_mps != 0.0)  # what is no rate is found in `fill`
        self._last: NDArray[np.int16] = np.where(burns, slots, np.int16(-1)).max(axis=0)

    def last_slot(self) -> NDArray[np.int16]:
        return self._last

    def fill(self, k: int, standing_mps: float, pace: NDArray[np.float32]) -> None:
        from wetline.behaviour._kernels import fields_pace  # noqa: PLC0415  compiled code, only when used

        fields = self._fields
        bad = fields_pace(
            fields.head_rate_mps[k],
            fields.head_toward_deg[k],
            fields.eccentricity[k],
            self._last >= 0,
            np.float32(fields.grid.cell_m),
            np.float32(standing_mps),
            pace,
        )
        if bad:
            problem = Problem(
                message=f"{bad} burnable cells have a rate, direction or shape that is not a number in range.",
                mend="Give rates of 0 or more, bearings, and eccentricities of 0 up to but not including 1.",
                field="fields",
            )
            raise InputError.of([problem])


class Metric:
    """(a, w) of every cell in a frame of `PAD` cells around the grid, one array per weather slot.

    Shared by a front and all its copies; never changed once made.
    """

    def __init__(self, fields: FireFields | Paced) -> None:
        self.fields = fields
        self._source = _Stored(fields) if isinstance(fields, FireFields) else fields
        rows, cols = fields.grid.shape
        self.width = cols + 2 * PAD
        self.height = rows + 2 * PAD
        self.cells = self.width * self.height
        self._slots: list[NDArray[np.float32] | None] = [None] * (len(fields.edges_s) - 1)
        last = self._source.last_slot()
        self.last_slot: NDArray[np.int16] = np.pad(last, PAD, constant_values=-1).ravel()
        """Per cell: the last slot in which it can burn; −1 never."""
        status = np.where(last >= 0, UNBURNT, WALL).astype(np.uint8)
        self.status: NDArray[np.uint8] = np.pad(status, PAD, constant_values=OUTSIDE).ravel()
        """Per cell: unburnt, wall or outside, before any fire."""

    def unframed(self, flat: NDArray[Scalar]) -> NDArray[Scalar]:
        """The grid's part of a flat array in the frame."""
        return flat.reshape(self.height, self.width)[PAD:-PAD, PAD:-PAD].copy()

    def slot(self, k: int) -> NDArray[np.float32]:
        """float32[cells, 3] of slot `k`.

        Raises
        ------
        InputError, SolverError
            If the behaviour holds a rate, bearing or eccentricity that is no number or out of range.
        """
        made = self._slots[k]
        if made is None:
            framed = np.empty((self.height, self.width, 3), np.float32)
            framed[:PAD] = framed[-PAD:] = (np.inf, 0.0, 0.0)
            framed[:, :PAD] = framed[:, -PAD:] = (np.inf, 0.0, 0.0)
            self._source.fill(k, STANDING_MPS, framed[PAD:-PAD, PAD:-PAD])
            made = self._slots[k] = framed.reshape(self.cells, 3)
        return made
