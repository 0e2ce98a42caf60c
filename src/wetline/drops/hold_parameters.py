"""Parameters of hold, from `drop/hold`: each as its middle value and a fixed set of draws from its range."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.planning import settings_of
from wetline.model import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["band_of", "drawn", "middle"]

_DRAWS = 127


def middle(name: str) -> float:
    """The value of a parameter."""
    return settings_of("drop/hold")[name].value


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
    one = settings_of("drop/hold")[name]
    out = np.append(one.value, np.interp(shares, [0.0, 0.5, 1.0], [one.low, one.value, one.high]))
    out.setflags(write=False)
    return out


def band_of(values: NDArray[np.float64]) -> Band:
    """The middle, and the 80 % of the draws round it."""
    ordered = np.sort(values[1:])
    low, high = float(ordered[_DRAWS // 10]), float(ordered[-1 - _DRAWS // 10])
    first = float(values[0])
    return Band(first, min(low, first), max(high, first))
