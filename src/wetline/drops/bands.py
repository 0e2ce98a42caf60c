"""Bands out of varied inputs, and of shares and levels that must stay in order."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.model import Band

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.drops.release import Resolved

__all__ = ["falling", "joined", "percent", "reaching_percent", "unknown_without_wind"]


def joined(values: NDArray[np.float64]) -> Band:
    """A band of float64[1 + 2 n]: the middle, then n inputs at their low and their high end.

    Of each input the greater change to either side counts; changes of different inputs join as the root
    of the sum of their squares.
    """
    middle = float(values[0])
    change = (values[1:] - middle).reshape(-1, 2)
    down, up = np.minimum(change, 0.0).min(axis=1), np.maximum(change, 0.0).max(axis=1)
    return Band(middle, middle - float(np.hypot.reduce(down)), middle + float(np.hypot.reduce(up)))


def unknown_without_wind(resolved: Resolved, band: Band) -> Band:
    """A band whose ends nobody knows where no wind is told."""
    return band if resolved.wind_known else Band(band.middle)


def percent(share: Band, of: float) -> Band:
    """A share of a share, in per cent, its ends inside 0 to 100."""
    low, high = (100.0 * of * min(max(end or 0.0, 0.0), 1.0) for end in (share.low, share.high))
    return Band(100.0 * of * share.middle, low, high)


def reaching_percent(share: float, evaporated: Band, held: Band) -> Band:
    """Share at the surface [%], as counted, with the ends of evaporation and canopy joined."""
    down = (evaporated.high or 0.0) - evaporated.middle, (held.high or 0.0) - held.middle
    up = evaporated.middle - (evaporated.low or 0.0), held.middle - (held.low or 0.0)
    under, open_air = 1.0 - held.middle, 1.0 - evaporated.middle
    low = share - math.hypot(down[0] * under, down[1] * open_air)
    high = share + math.hypot(up[0] * under, up[1] * open_air)
    return Band(100.0 * share, 100.0 * max(low, 0.0), 100.0 * min(high, 1.0))


def falling(bands: Sequence[Band]) -> list[Band]:
    """The same bands, none below nothing, and no end above that of a lower level."""
    low = np.minimum.accumulate([max(band.low or 0.0, 0.0) for band in bands])
    high = np.minimum.accumulate([band.high or 0.0 for band in bands])
    return [Band(band.middle, float(lo), float(hi)) for band, lo, hi in zip(bands, low, high, strict=True)]
