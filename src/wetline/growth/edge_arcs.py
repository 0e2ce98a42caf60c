"""The outer contour of a fire cut into head, left flank, heel and right flank, each one unbroken arc."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["AROUND", "HALF_SECTOR_DEG", "arcs", "halves"]

AROUND = ("head", "left_flank", "heel", "right_flank")
"""In the order of a walk with burnt ground on the left."""
HALF_SECTOR_DEG = 45.0
"""Head within this of the head direction, heel beyond 180° less this: common practice, no source."""
_MIDDLE_DEG = (0.0, 270.0, 180.0, 90.0)
_COARSE = 120


def arcs(normal_deg: NDArray[np.float64], head_deg: float, counts: NDArray[np.bool_]) -> NDArray[np.intp]:
    """The index in `AROUND` of each sample of a ring: the four unbroken arcs that fit the normals best.

    The misfit of a sample is how far [deg] its normal lies outside its sector; the sum over the samples
    that count is the least of all ways to cut the ring into head, left flank, heel and right flank in
    this order.
    """
    n = len(normal_deg)
    off = (normal_deg[:, None] - head_deg - np.array(_MIDDLE_DEG) + 180.0) % 360.0 - 180.0
    misfit = np.maximum(np.abs(off) - HALF_SECTOR_DEG, 0.0)
    misfit += 1e-3 * np.abs(off)  # breaks ties
    misfit[~counts] = 0.0
    total = np.vstack([np.zeros(4), np.cumsum(np.vstack([misfit, misfit]), axis=0)])
    # cuts a ≤ b ≤ c ≤ d ≤ a + n: what each adds by itself, so that a coarse best can be refined cut by cut
    adds = np.array([np.append(total[n:, 3], np.full(n, np.inf)) - total[:, 0], *-np.diff(total, axis=1).T])
    places = np.round(np.linspace(0, n, min(n, _COARSE) + 1)).astype(np.intp)
    cuts = _best_cuts(adds, places, n)
    width = math.ceil(n / _COARSE)
    for k, cut in enumerate(cuts):
        low = max(cut - width, cuts[k - 1] if k else cuts[-1] - n, 0)
        high = min(cut + width, cuts[k + 1] if k < 3 else cuts[0] + n)
        cuts[k] = low + int(np.argmin(adds[k, low : high + 1]))
    labels = np.empty(n, dtype=np.intp)
    for k, (first, last) in enumerate(itertools.pairwise([*cuts, cuts[0] + n])):
        labels[np.arange(first, last) % n] = k
    return labels


def _best_cuts(adds: NDArray[np.float64], places: NDArray[np.intp], n: int) -> list[int]:
    """The four cuts with the least sum of what each adds, in order within one turn, among coarse places."""
    m = len(places) - 1
    twice = np.concatenate([places, places[1:] + n])
    turn = twice[np.arange(m)[:, None] + np.arange(m + 1)[None, :]]

    def least_on(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.minimum.accumulate(values[:, ::-1], axis=1)[:, ::-1])

    at_d = adds[3][turn]
    after_c = adds[2][turn] + least_on(at_d)
    after_b = adds[1][turn] + least_on(after_c)
    a = int(np.argmin(adds[0][places[:m]] + after_b.min(axis=1)))
    b = int(np.argmin(after_b[a]))
    c = b + int(np.argmin(after_c[a, b:]))
    d = c + int(np.argmin(at_d[a, c:]))
    return [int(turn[a, step]) for step in (0, b, c, d)]


def halves(xy: NDArray[np.float64]) -> NDArray[np.intp]:
    """West half as left flank, east half as right flank: a fire without direction, seen from the south."""
    n = len(xy)
    north, south = int(np.argmax(xy[:, 1])), int(np.argmin(xy[:, 1]))
    labels = np.full(n, AROUND.index("right_flank"), dtype=np.intp)
    labels[(north + np.arange((south - north) % n)) % n] = AROUND.index("left_flank")
    return labels
