"""Parameters of hold, from `drop/hold`: each as its middle value and a fixed set of draws from its range."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline import tables
from wetline.model import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["band_of", "drawn", "middle"]

_DRAWS = 127


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
def drawn(name: str) -> NDArray[np.float64]:
    """A parameter as float64[128], read-only: its value first, then the draws.

    Half of the draws lie evenly between low and value, half between value and high, in an order that only
    the name decides: a band moves only where what is asked moves. Factors of agents share one order, so
    that the thicker agent is the better one in each draw.

    References
    ----------
    McKay, Beckman and Conover 1979, Technometrics 21:239: one draw from each of as many even strata.
    """
    order = "gel_factor" if name == "foam_factor" else name
    strata = np.random.default_rng(list(order.encode())).permutation(_DRAWS)
    shares = (strata + 0.5) / _DRAWS
    out = np.append(middle(name), np.interp(shares, [0.0, 0.5, 1.0], _rows()[name]))
    out.setflags(write=False)
    return out


def band_of(values: NDArray[np.float64]) -> Band:
    """The middle, and the 80 % of the draws round it."""
    ordered = np.sort(values[1:])
    low, high = float(ordered[_DRAWS // 10]), float(ordered[-1 - _DRAWS // 10])
    first = float(values[0])
    return Band(first, min(low, first), max(high, first))
