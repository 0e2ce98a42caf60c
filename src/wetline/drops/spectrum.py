"""Drop sizes by volume, and points that fill a space evenly."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.column import critical_weber, ohnesorge

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.drops.liquid import Liquid

__all__ = ["even_points", "median_at_column_mm", "sizes_m", "undersize"]


def undersize(diameter_mm: ArrayLike, median_mm: float, exponent: float) -> NDArray[np.float64]:
    """Share of the volume in drops smaller than a diameter: 1 − exp(−ln 2 (d/median)^exponent).

    References
    ----------
    Rosin and Rammler 1933 (from memory).
    """
    d = np.asarray(diameter_mm, float)
    return np.asarray(-np.expm1(-math.log(2.0) * (d / median_mm) ** exponent), float)


def median_at_column_mm(liquid: Liquid, coarser: float) -> float:
    """Median [mm] of what leaves the column, for a liquid whose median is told at the ground.

    Thin liquids leave it `coarser` times as large and break again on the way; thick ones hardly break,
    so that the factor fades as their critical Weber number grows.
    """
    median = liquid.median_mm.middle
    holds = critical_weber(ohnesorge(liquid, 1e-3 * median)) / 12.0
    return median * (1.0 + (coarser - 1.0) / holds**2)


def sizes_m(share: ArrayLike, median_mm: float, exponent: float, largest_mm: float) -> NDArray[np.float64]:
    """Diameter [m] under which a share [0 to 1) of the volume lies, of a spectrum cut at the largest."""
    kept = np.asarray(share, float) * undersize(largest_mm, median_mm, exponent)
    return np.asarray(1e-3 * median_mm * (-np.log1p(-kept) / math.log(2.0)) ** (1.0 / exponent), float)


def even_points(count: int, dimensions: int, seed: int) -> NDArray[np.float64]:
    """float64[dimension, point] in [0, 1): steps of irrational length, begun where the seed says.

    The steps are powers of 1/g, g^(n+1) = g + 1, which leave no wide gap for any count (Roberts 2018,
    from memory).
    """
    g = 2.0
    for _ in range(60):
        g = (1.0 + g) ** (1.0 / (dimensions + 1))
    steps = g ** -np.arange(1.0, dimensions + 1.0)
    begin = np.random.default_rng(seed).random(dimensions)
    points = begin[:, None] + steps[:, None] * np.arange(1.0, count + 1.0)
    points -= np.floor(points)
    return np.asarray(points, float)
