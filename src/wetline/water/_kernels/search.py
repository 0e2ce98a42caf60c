"""Bands of clear straight water in one polygon, heading by heading.

Metres. Points float64[n], all rings together; edge i runs from point i to point `following[i]`, and
edge `leading[i]` ends at point i. Points of one ring that follow each other differ.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from wetline.water._kernels import chords, proof, stations

FULL = -1
"""Status: no room for all; call again with more."""
ODD = chords.ODD
"""Status: the outline crosses itself."""


class Work(NamedTuple):
    """Work arrays of the bands of one heading."""

    first: np.ndarray
    links: np.ndarray
    piece: np.ndarray
    lefts: np.ndarray
    rights: np.ndarray
    queue: np.ndarray
    starts: np.ndarray
    ends: np.ndarray
    parent: np.ndarray
    tally: np.ndarray


@njit(cache=True, nogil=True)
def bands(x, y, following, leading, sines, cosines, half, least, rising, out):
    """The bands of every heading: rows (heading number, length, from u, to u, v, width).

    `rising`: the least length rises to the longest found so far; rows are then ever longer lanes.
    Returns how many rows of `out` are filled, or a status: FULL, or that of `chords` or `proof`.
    """
    n = x.size
    m = 64 + out.shape[0] // 8  # of one heading
    points = np.empty((2, n))
    edges = np.empty((n, 8))
    order = np.empty((2, n), np.int64)
    net = np.empty((5, n + 2), np.int64)
    pieces = 4 * n + m
    work = Work(
        np.empty(n + m, np.int64), np.empty((3, pieces), np.int64), np.empty((pieces, 10)),
        np.empty(pieces, np.int64), np.empty(pieces, np.int64), np.empty(4, np.int64), np.empty((4 * m, 4)), np.empty((4 * m, 4)),
        np.empty(m, np.int64), np.empty(3, np.int64),
    )  # fmt: skip
    rows = np.empty((3 * n + m, 6))
    first = np.empty(n + 4, np.int64)
    edge = np.empty(4 * n + m, np.int64)
    keep = np.empty(m, np.int8)
    found = np.empty((m, 5))
    total = 0
    for h in range(sines.size):
        low_u, high_u = chords.turn(x, y, following, sines[h], cosines[h], points, edges, order, net)
        if high_u - low_u < least:
            continue
        count = chords.chords(following, leading, points, edges, order, net, least, rows)
        if count < 0:
            return count
        if count == 0:
            continue
        used = stations.bands(rows, count, low_u, high_u, half, least, work, found)
        if used < 0:
            return used
        if used == 0:
            continue
        base, thick, layers = proof.lay(points, edges, order, half, first, edge)
        if layers < 0:
            return layers
        used = proof.settle(edges, (base, thick, layers), first, edge, half, found, work.parent, used, keep)
        if used < 0:
            return used
        if total + used > out.shape[0]:
            return FULL
        for i in range(used):
            out[total, 0] = h
            out[total, 1:] = found[i]
            total += 1
            if rising:
                least = max(least, found[i, 0])
    return total
