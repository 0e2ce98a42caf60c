"""A rival for `bench_arrival.py`: Dijkstra's algorithm with a ring of buckets, compiled.

Far neighbours (32 within three cells: all directions of whole steps), the cost of an edge from the ellipses
at its two ends, no edge across cells that do not burn. Written for speed, with the width of a bucket the
best of those tried; its error is that of its few directions.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    _Metric = NDArray[np.float32]
    _Times = NDArray[np.float64]
    _Flags = NDArray[np.bool_]
    _Ints = NDArray[np.int64]
    _Links = NDArray[np.int32]

BUCKETS = 1 << 14


def edges(reach: int) -> NDArray[np.int64]:
    """Per edge: rows, columns, and the two cells it passes between its ends [rows, columns each]."""
    found = []
    for i in range(-reach, reach + 1):
        for j in range(-reach, reach + 1):
            if math.gcd(i, j) != 1:
                continue
            long = max(abs(i), abs(j))
            between = [(round(i * k / long), round(j * k / long)) for k in range(1, long)] or [(0, 0)]
            found.append((i, j, *between[0], *between[-1]))
    return np.array(found)


@njit(cache=True, nogil=True)
def _insert(x: int, t: float, width_s: float, first: _Links, after: _Links, before: _Links) -> None:
    b = int(max(t, 0.0) / width_s) & (BUCKETS - 1)
    after[x] = first[b]
    before[x] = -1
    if first[b] >= 0:
        before[first[b]] = x
    first[b] = x


@njit(cache=True, nogil=True)
def _take(x: int, t: float, width_s: float, first: _Links, after: _Links, before: _Links) -> None:
    if before[x] >= 0:
        after[before[x]] = after[x]
    else:
        first[int(max(t, 0.0) / width_s) & (BUCKETS - 1)] = after[x]
    if after[x] >= 0:
        before[after[x]] = before[x]


@njit(cache=True, nogil=True)
def dijkstra(
    a: _Metric,
    wx: _Metric,
    wy: _Metric,
    times: _Times,
    burnt: _Flags,
    ways: _Ints,
    width_s: float,
) -> _Times:
    """Arrival at every cell: `a`, `wx`, `wy` [s per cell] float32[n, m], a = inf where nothing burns."""
    rows, cols = a.shape
    time = np.full(rows * cols, np.inf)
    first = np.full(BUCKETS, -1, np.int32)
    after = np.full(rows * cols, -1, np.int32)
    before = np.full(rows * cols, -1, np.int32)
    queued = np.zeros(rows * cols, np.uint8)
    lengths = np.sqrt((ways[:, 0] ** 2 + ways[:, 1] ** 2).astype(np.float64))
    left = 0
    for c in range(rows * cols):
        if burnt[c // cols, c % cols]:
            time[c] = times[c // cols, c % cols]
            _insert(c, time[c], width_s, first, after, before)
            queued[c] = 1
            left += 1
    n = 0
    while left > 0:
        while first[n & (BUCKETS - 1)] < 0:
            n += 1
        c = first[n & (BUCKETS - 1)]
        t = time[c]
        _take(c, t, width_s, first, after, before)
        queued[c] = 0
        left -= 1
        i = c // cols
        j = c - i * cols
        for k in range(ways.shape[0]):
            p = i + ways[k, 0]
            q = j + ways[k, 1]
            if p < 0 or q < 0 or p >= rows or q >= cols:
                continue
            if a[i + ways[k, 2], j + ways[k, 3]] == np.inf or a[i + ways[k, 4], j + ways[k, 5]] == np.inf:
                continue
            twice = (
                (a[i, j] + a[p, q]) * lengths[k]
                - (wx[i, j] + wx[p, q]) * ways[k, 1]
                - (wy[i, j] + wy[p, q]) * ways[k, 0]
            )
            v = t + 0.5 * twice
            x = p * cols + q
            if v >= time[x]:
                continue
            if queued[x]:
                _take(x, time[x], width_s, first, after, before)
            else:
                queued[x] = 1
                left += 1
            time[x] = v
            _insert(x, v, width_s, first, after, before)
    return time.reshape(rows, cols)
