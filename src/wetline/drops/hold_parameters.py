"""Parameters of hold, from `drop/hold`: each as its middle value and a fixed set of draws from its range."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline import tables
from wetline.model import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["band_of", "middle", "varied"]

_DRAWS = 127
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97)


@lru_cache(maxsize=1)
def _rows() -> dict[str, tuple[float, float, float]]:
    return {
        row["name"]: (
            row["value"] if row["low"] is None else row["low"],
            row["value"],
            row["value"] if row["high"] is None else row["high"],
        )
        for row in tables.load("drop/hold").rows()
    }


def middle(name: str) -> float:
    """The value of a parameter."""
    return _rows()[name][1]


@lru_cache(maxsize=64)
def varied(name: str) -> NDArray[np.float64]:
    """A parameter as float64[128], read-only: its value first, then the draws.

    Half of the draws lie evenly between low and value, half between value and high. They are the same on
    every call: a band from them moves only where what is asked moves. Factors of agents share one
    sequence, so that the thicker agent is the better one in each draw.

    References
    ----------
    Weyl 1916, Math. Ann. 77:313: multiples of an irrational number fill the unit interval evenly.
    """
    spanned = [key for key, (low, _, high) in _rows().items() if low < high]
    key = "gel_factor" if name == "foam_factor" else name
    out = np.full(_DRAWS + 1, middle(name))
    if key in spanned:
        step = math.sqrt(_PRIMES[spanned.index(key)])
        share = np.arange(1, _DRAWS + 1) * step % 1.0
        out[1:] = np.interp(share, [0.0, 0.5, 1.0], _rows()[name])
    out.setflags(write=False)
    return out


def band_of(values: NDArray[np.float64]) -> Band:
    """The middle, and the 80 % of the draws round it."""
    drawn = np.sort(values[1:])
    low, high = float(drawn[_DRAWS // 10]), float(drawn[-1 - _DRAWS // 10])
    first = float(values[0])
    return Band(first, min(low, first), max(high, first))
