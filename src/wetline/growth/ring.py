"""One closed contour of the burnt area."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Ring"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ring:
    """A closed contour at `at_s`, walked with the burnt side on the left.

    Outer contours so run counter-clockwise seen with north up, the edges of islands clockwise.
    `xy` float64[n, 2] in grid metres, the first point not repeated. `held_until_s` float64[n], for the
    part from point i to point i + 1: when the first of the lines that hold it dries; −inf where it is
    free to burn, inf where it borders only on what never burns or is held for good. `touches_edge`:
    the contour was closed along the grid's edge, beyond which nothing is known.
    """

    at_s: float
    xy: NDArray[np.float64]
    held_until_s: NDArray[np.float64]
    touches_edge: bool
    squares: NDArray[np.int64] = field(repr=False)
    """Of use to `Front.hold` only: the square of four cells in which each part lies."""

    @property
    def area_m2(self) -> float:
        """Area [m²] within; negative for an island."""
        x, y = (self.xy - self.xy[0]).T  # the part back to the first point adds nothing
        return 0.5 * float(x[:-1] @ y[1:] - x[1:] @ y[:-1])

    @property
    def lengths_m(self) -> NDArray[np.float64]:
        """Length [m] of each part, from point i to point i + 1."""
        step = np.roll(self.xy, -1, axis=0) - self.xy
        return np.hypot(step[:, 0], step[:, 1])
