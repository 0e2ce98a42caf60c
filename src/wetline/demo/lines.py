"""Lines with their corners cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["smooth"]


def smooth(line: NDArray[np.float64], *, times: int) -> NDArray[np.float64]:
    """A line float64[n, 2] with its corners cut some times (Chaikin 1974), its ends kept."""
    for _ in range(times):
        cut = np.empty((2 * len(line) - 2, 2))
        cut[0::2] = 0.75 * line[:-1] + 0.25 * line[1:]
        cut[1::2] = 0.25 * line[:-1] + 0.75 * line[1:]
        line = np.vstack([line[:1], cut, line[-1:]])
    return line
