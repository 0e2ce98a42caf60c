"""Each lane moved to the middle of its free water and measured there against the drawn shore.

Metres, as in `chords`. The shore is laid into layers of v, and every layer that could hold a nearer
edge is looked through; nothing rests on how the lane was found.
"""

import math

import numpy as np
from numba import njit

from wetline.water._kernels.stations import root

FULL = -1
BROKEN = -3
"""Status: a lane was found nearer to the shore than asked for; a fault of the search."""

_TOUCH = 1e-6  # a lane's ends may touch the shore
_TRIM = 1e-3  # taken off each end where a shore across the end is not quite square to the lane
_FAULT = 1e-2  # a lane nearer than asked by more than this is no noise


@njit(cache=True, nogil=True)
def lay(points, edges, order, half, first, edge):
    """Edges by layers of v: offsets `first`, numbers `edge`. Returns (base, thickness, layers) or FULL."""
    n = points.shape[1]
    base = points[1, order[0, 0]]
    span = points[1, order[0, n - 1]] - base
    total = 0.0
    for i in range(n):
        total += edges[i, 3] - edges[i, 1]
    thick = max(half, 2.0 * total / n, span / (first.size - 3))
    per = 1.0 / thick
    layers = int(span * per) + 1
    first[: layers + 1] = 0
    for i in range(n):
        for k in range(int((edges[i, 1] - base) * per), int((edges[i, 3] - base) * per) + 1):
            first[k + 1] += 1
    for k in range(layers):
        first[k + 1] += first[k]
    if first[layers] > edge.size:
        return base, thick, FULL
    for i in range(n):
        for k in range(int((edges[i, 1] - base) * per), int((edges[i, 3] - base) * per) + 1):
            edge[first[k]] = i
            first[k] += 1
    for k in range(layers, 0, -1):
        first[k] = first[k - 1]
    first[0] = 0
    return base, thick, layers


@njit(cache=True, nogil=True)
def _beside(edges, i, u0, u1, v, left, right):
    """Free water left and right of a lane, less what edge i takes."""
    ua = edges[i, 0]
    ub = edges[i, 2]
    if max(ua, ub) <= u0 + _TOUCH or min(ua, ub) >= u1 - _TOUCH:
        return left, right
    va = edges[i, 1]
    vb = edges[i, 3]
    p = va
    q = vb
    if ua != ub:
        slope = (vb - va) / (ub - ua)
        p = va + slope * (min(max(ua, u0), u1) - ua)
        q = va + slope * (min(max(ub, u0), u1) - ua)
    if min(p, q) >= v:
        return left, min(right, min(p, q) - v)
    if max(p, q) <= v:
        return min(left, v - max(p, q)), right
    return 0.0, 0.0


@njit(cache=True, nogil=True)
def _room(edges, layer, first, edge, u0, u1, v):
    """Free water left and right of a lane, layer by layer outward from it."""
    base, thick, layers = layer
    left = right = np.inf
    middle = min(max(int((v - base) * (1.0 / thick)), 0), layers - 1)
    for k in range(middle, layers):
        if base + k * thick - v > right:
            break
        for j in range(first[k], first[k + 1]):
            left, right = _beside(edges, edge[j], u0, u1, v, left, right)
    for k in range(middle - 1, -1, -1):
        if v - (base + (k + 1) * thick) > left:
            break
        for j in range(first[k], first[k + 1]):
            left, right = _beside(edges, edge[j], u0, u1, v, left, right)
    return left, right


@njit(cache=True, nogil=True)
def settle(edges, layer, first, edge, half, out, parent, used, keep):
    """Fold joined bands into one row each, move each lane to the middle of its room, and prove it there.

    A lane beside a shore that runs all but along it may come out nearer than asked by the noise of the
    coordinates. In the middle of its room it is measured again; what cannot be proved is left out.
    """
    for i in range(used):
        r = root(parent, i)
        if r != i and out[i, 0] > out[r, 0]:
            out[r, :4] = out[i, :4]
    n = 0
    for i in range(used):
        if parent[i] != i:
            continue
        u0 = out[i, 1]
        u1 = out[i, 2]
        left, right = _room(edges, layer, first, edge, u0, u1, out[i, 3])
        if min(left, right) < half - _FAULT or not math.isfinite(left + right):
            return BROKEN
        v = out[i, 3] + 0.5 * (right - left)
        left, right = _room(edges, layer, first, edge, u0, u1, v)
        if min(left, right) < half - _TOUCH:
            u0 += _TRIM
            u1 -= _TRIM
            left, right = _room(edges, layer, first, edge, u0, u1, out[i, 3])
            v = out[i, 3] + 0.5 * (right - left)
            left, right = _room(edges, layer, first, edge, u0, u1, v)
        if min(left, right) < half - _TOUCH:
            continue
        out[n, 0] = u1 - u0
        out[n, 1] = u0
        out[n, 2] = u1
        out[n, 3] = v
        out[n, 4] = left + right
        n += 1
    return _drop_nested(out, n, half, keep)


@njit(cache=True, nogil=True)
def _drop_nested(out, n, half, keep):
    """Without the lanes whose centreline lies inside a longer one: the same water."""
    kept = 0
    keep[:n] = 1
    for i in range(n):
        for j in range(n):
            longer = out[j, 0] > out[i, 0] or (out[j, 0] == out[i, 0] and j < i)
            beside = abs(out[j, 3] - out[i, 3]) < half
            within = out[j, 1] - _TOUCH <= out[i, 1] and out[i, 2] <= out[j, 2] + _TOUCH
            if longer and beside and within:
                keep[i] = 0
                break
    for i in range(n):
        if keep[i]:
            out[kept] = out[i]
            kept += 1
    return kept
