"""The fire fields as the solver reads them: time per cell, slot by slot, made when first asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

from wetline.errors import InputError, Problem
from wetline.growth._kernels.layout import OUTSIDE, PAD, UNBURNT, WALL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour import FireFields

Scalar = TypeVar("Scalar", bound=np.generic)

__all__ = ["STANDING_MPS", "Metric"]

STANDING_MPS = 1e-6
"""A fire that stands, in a cell and hour of rate 0, moves this fast in the sums: 4 mm an hour. Its
place within the cell is kept, and it goes on from there when the hour allows it."""


class Metric:
    """(a, w) of every cell in a frame of `PAD` cells around the grid, one array per weather slot.

    Shared by a front and all its copies; never changed once made.
    """

    def __init__(self, fields: FireFields) -> None:
        self.fields = fields
        rows, cols = fields.grid.shape
        self.width = cols + 2 * PAD
        self.height = rows + 2 * PAD
        self.cells = self.width * self.height
        self._slots: list[NDArray[np.float32] | None] = [None] * (len(fields.edges_s) - 1)
        slots = np.arange(len(self._slots), dtype=np.int16)[:, None, None]
        burns = fields.burnable & (fields.head_rate_mps != 0.0)  # what is no rate is found in `slot`
        last = np.where(burns, slots, np.int16(-1)).max(axis=0)
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
        InputError
            If the fields hold a rate, bearing or eccentricity that is no number or out of range.
        """
        made = self._slots[k]
        if made is None:
            from wetline.growth._kernels.start import fill_metric  # noqa: PLC0415  compiled code, only when used

            made = np.empty((self.cells, 3), np.float32)
            fields = self.fields
            bad = fill_metric(
                fields.head_rate_mps[k],
                fields.head_toward_deg[k],
                fields.eccentricity[k],
                self.unframed(self.last_slot) >= 0,
                fields.grid.cell_m,
                STANDING_MPS,
                made,
            )
            if bad:
                problem = Problem(
                    message=f"{bad} burnable cells have a rate, direction or shape that is not a number in range.",
                    mend="Give rates of 0 or more, bearings, and eccentricities of 0 up to but not including 1.",
                    field="fields",
                )
                raise InputError.of([problem])
            self._slots[k] = made
        return made
