"""Bands of clear straight water in one polygon, heading by heading.

Metres throughout. For a heading, `u` runs along it and `v` to its right. Edges are float64[n, 4]
(x0, y0, x1, y1) of all rings together; water is inside by the even-odd rule.

A lane at offset v is free where no shore enters the open strip |v' - v| < half. Take v between two
neighbouring levels k·half and (k+1)·half: both levels lie inside the strip, so a lane lies inside a
chord of either, and their overlap, if long enough, is a *window*. Within a window the offsets at
which a shore vertex enters or leaves the strip cut v into *slabs*; in a slab each shore edge blocks
one interval of u whose ends are linear in v, and it always blocks one fixed point, so a *gap*
between two such points has a length that is concave in v: its peak is exact, nothing is sampled.
"""

import math
from typing import NamedTuple

import numpy as np
from numba import njit

FULL = -1
"""Status: `out` is too small, call again with a larger one."""
BROKEN = -2
"""Status: a lane was found nearer to the shore than asked for; a fault of the kernel."""


class Scratch(NamedTuple):
    """Work arrays of one heading: made once, since a window is only a few edges."""

    block: np.ndarray
    level: np.ndarray
    low: np.ndarray
    high: np.ndarray
    gaps: np.ndarray
    now: np.ndarray
    begin: np.ndarray
    finish: np.ndarray
    peak: np.ndarray
    mate: np.ndarray
    pick: np.ndarray


_THIN = 1e-9  # slabs thinner than this lie below the noise of the coordinates
_TOUCH = 1e-6  # a lane's ends may touch the shore
_TRIM = 1e-3  # taken off each end where a shore across the end is not quite square to the lane
_FAULT = 1e-2  # a lane nearer than asked by more than this is no noise


@njit(cache=True, nogil=True)
def _rotate(edges, sine, cosine):
    n = edges.shape[0]
    turned = np.empty((4, n))  # ua, va, ub, vb with va <= vb
    for i in range(n):
        u0 = edges[i, 0] * sine + edges[i, 1] * cosine
        v0 = edges[i, 0] * cosine - edges[i, 1] * sine
        u1 = edges[i, 2] * sine + edges[i, 3] * cosine
        v1 = edges[i, 2] * cosine - edges[i, 3] * sine
        if v0 > v1:
            u0, v0, u1, v1 = u1, v1, u0, v0
        turned[0, i] = u0
        turned[1, i] = v0
        turned[2, i] = u1
        turned[3, i] = v1
    return turned


@njit(cache=True, nogil=True)
def _first_level(v, base, half):
    k = int((v - base) / half)
    while base + k * half < v:
        k += 1
    return k


@njit(cache=True, nogil=True)
def _cuts(turned, base, half, levels):
    """Where the shore crosses each level, sorted along u: offsets int64[levels + 1] and u."""
    ua, va, ub, vb = turned[0], turned[1], turned[2], turned[3]
    first = np.zeros(levels + 1, np.int64)
    for i in range(ua.size):
        k = _first_level(va[i], base, half)
        while k < levels and base + k * half < vb[i]:
            first[k + 1] += 1
            k += 1
    for k in range(levels):
        first[k + 1] += first[k]
    cut = np.empty(first[levels])
    fill = first[:-1].copy()
    for i in range(ua.size):
        k = _first_level(va[i], base, half)
        while k < levels and base + k * half < vb[i]:
            u = ua[i] + (ub[i] - ua[i]) * ((base + k * half - va[i]) / (vb[i] - va[i]))
            j = fill[k]
            while j > first[k] and cut[j - 1] > u:
                cut[j] = cut[j - 1]
                j -= 1
            cut[j] = u
            fill[k] += 1
            k += 1
    return first, cut


@njit(cache=True, nogil=True)
def _windows(first, cut, levels, least):
    """Overlaps of at least `least` between chords of neighbouring levels: (k, from u, to u)."""
    out = np.empty((16, 3))
    n = 0
    for k in range(levels - 1):
        i = first[k]
        j = first[k + 1]
        while i + 1 < first[k + 1] and j + 1 < first[k + 2]:
            a = max(cut[i], cut[j])
            b = min(cut[i + 1], cut[j + 1])
            if b - a >= least:
                if n == out.shape[0]:
                    more = np.empty((2 * n, 3))
                    more[:n] = out
                    out = more
                out[n, 0] = k
                out[n, 1] = a
                out[n, 2] = b
                n += 1
            if cut[i + 1] < cut[j + 1]:
                i += 2
            else:
                j += 2
    return out[:n]


@njit(cache=True, nogil=True)
def _bins(turned, base, half, levels):
    """Edges that touch each layer k·half <= v <= (k+1)·half: offsets and edge numbers."""
    va, vb = turned[1], turned[3]
    first = np.zeros(levels + 2, np.int64)
    for i in range(va.size):
        for k in range(int((va[i] - base) / half), min(int((vb[i] - base) / half), levels) + 1):
            first[k + 1] += 1
    for k in range(levels + 1):
        first[k + 1] += first[k]
    edge = np.empty(first[levels + 1], np.int64)
    fill = first[:-1].copy()
    for i in range(va.size):
        for k in range(int((va[i] - base) / half), min(int((vb[i] - base) / half), levels) + 1):
            edge[fill[k]] = i
            fill[k] += 1
    return first, edge


@njit(cache=True, nogil=True)
def _near(turned, first, edge, k, a, b, base, half, levels, pick):
    """The edges that can enter the strip of a lane between levels k and k + 1 and u from a to b."""
    lowest = max(k - 1, 0)
    highest = min(k + 1, levels)
    n = 0
    for layer in range(lowest, highest + 1):
        for j in range(first[layer], first[layer + 1]):
            i = edge[j]
            if max(int((turned[1, i] - base) / half), lowest) != layer:
                continue  # met in a lower layer already
            if max(turned[0, i], turned[2, i]) > a and min(turned[0, i], turned[2, i]) < b:
                pick[n] = i
                n += 1
    return pick[:n]


@njit(cache=True, nogil=True)
def _slab_levels(turned, pick, low, high, half, level):
    """Offsets from `low` to `high` at which a shore vertex enters or leaves the strip, sorted."""
    level[0] = low
    n = 1
    for i in pick:
        for row in (1, 3):
            for t in (turned[row, i] - half, turned[row, i] + half):
                if low < t < high:
                    j = n
                    while level[j - 1] > t:
                        level[j] = level[j - 1]
                        j -= 1
                    level[j] = t
                    n += 1
    level[n] = high
    return level[: n + 1]


@njit(cache=True, nogil=True)
def _u_at(turned, i, v):
    va = turned[1, i]
    vb = turned[3, i]
    if v <= va:
        return turned[0, i]
    if v >= vb:
        return turned[2, i]
    return turned[0, i] + (turned[2, i] - turned[0, i]) * ((v - va) / (vb - va))


@njit(cache=True, nogil=True)
def _blocks(turned, pick, a, b, t0, t1, half, block):
    """Rows (fixed point, low and high u at t0, low and high u at t1) of the edges in the strip.

    The first two rows are the ends of the window.
    """
    block[0] = a
    block[1] = b
    n = 2
    middle = 0.5 * (t0 + t1)
    for i in pick:
        va = turned[1, i]
        vb = turned[3, i]
        if vb <= middle - half or va >= middle + half:
            continue
        if va == vb:
            low = min(turned[0, i], turned[2, i])
            high = max(turned[0, i], turned[2, i])
            block[n, 0] = low
            block[n, 1] = low
            block[n, 2] = high
            block[n, 3] = low
            block[n, 4] = high
            n += 1
            continue
        block[n, 0] = _u_at(turned, i, middle)
        for side in range(2):
            t = t0 if side == 0 else t1
            p = _u_at(turned, i, t - half)
            q = _u_at(turned, i, t + half)
            block[n, 1 + 2 * side] = min(p, q)
            block[n, 2 + 2 * side] = max(p, q)
        n += 1
    return n


@njit(cache=True, nogil=True)
def _long_gaps(block, n, a, b, least, low, high, gaps):
    """Neighbouring fixed points at least `least` apart, between a and b. Rows (left, right)."""
    width = 0.5 * least
    buckets = int((b - a) / width) + 1
    low[:buckets] = np.inf
    high[:buckets] = -np.inf
    for i in range(n):
        u = block[i, 0]
        if a <= u <= b:
            k = min(int((u - a) / width), buckets - 1)
            low[k] = min(low[k], u)
            high[k] = max(high[k], u)
    found = 0
    last = high[0]
    for k in range(1, buckets):
        if low[k] < np.inf:
            if low[k] - last >= least:
                gaps[found, 0] = last
                gaps[found, 1] = low[k]
                found += 1
            last = high[k]
    return found


@njit(cache=True, nogil=True)
def _gap_at(block, n, left_point, s, tie):
    """A gap at the fraction s of its slab: left, right, and the slopes of its length either way."""
    left = -np.inf
    right = np.inf
    for i in range(n):
        if block[i, 0] <= left_point:
            left = max(left, block[i, 2] + s * (block[i, 4] - block[i, 2]))
        else:
            right = min(right, block[i, 1] + s * (block[i, 3] - block[i, 1]))
    left_most = -np.inf
    left_least = np.inf
    right_most = -np.inf
    right_least = np.inf
    for i in range(n):
        if block[i, 0] <= left_point:
            slope = block[i, 4] - block[i, 2]
            if block[i, 2] + s * slope >= left - tie:
                left_most = max(left_most, slope)
                left_least = min(left_least, slope)
        else:
            slope = block[i, 3] - block[i, 1]
            if block[i, 1] + s * slope <= right + tie:
                right_most = max(right_most, slope)
                right_least = min(right_least, slope)
    return left, right, right_most - left_least, right_least - left_most


@njit(cache=True, nogil=True)
def _peak(block, n, left_point):
    """The fraction of the slab at which a gap is longest, and its ends there.

    The length is concave and piecewise linear: tangents from both sides meet at the peak after
    finitely many steps.
    """
    tie = 1e-9
    l0, r0, _, up = _gap_at(block, n, left_point, 0.0, tie)
    l1, r1, down, _ = _gap_at(block, n, left_point, 1.0, tie)
    if up <= 0.0:
        return 0.0, l0, r0
    if down >= 0.0:
        return 1.0, l1, r1
    sa, ga, sb, gb = 0.0, r0 - l0, 1.0, r1 - l1
    if ga >= gb:
        best_s, best_l, best_r = 0.0, l0, r0
    else:
        best_s, best_l, best_r = 1.0, l1, r1
    for _ in range(100):
        s = (gb - ga + up * sa - down * sb) / (up - down)
        if not sa < s < sb:
            break
        left, right, before, after = _gap_at(block, n, left_point, s, tie)
        length = right - left
        if length > best_r - best_l:
            best_s, best_l, best_r = s, left, right
        if ga + up * (s - sa) - length < 1e-8:
            break
        if after > 0.0:
            sa, ga, up = s, length, after
        elif before < 0.0:
            sb, gb, down = s, length, before
        else:
            break
    return best_s, best_l, best_r


@njit(cache=True, nogil=True)
def _join(ends, n_ends, starts, n_starts, least, parent, mate):
    """`mate[j]`: the band that goes on as start j, or -1 where bands split, meet or begin."""
    for j in range(n_starts):
        mate[j] = -1
        met = -1
        count = 0
        for i in range(n_ends):
            if min(ends[i, 2], starts[j, 2]) - max(ends[i, 1], starts[j, 1]) >= least - _TOUCH:
                met = i
                count += 1
        if count != 1:
            continue
        count = 0
        for jj in range(n_starts):
            if min(ends[met, 2], starts[jj, 2]) - max(ends[met, 1], starts[jj, 1]) >= least - _TOUCH:
                count += 1
        if count == 1:
            mate[j] = _root(parent, int(ends[met, 0]))


@njit(cache=True, nogil=True)
def _root(parent, i):
    while parent[i] != i:
        i = parent[i]
    return i


@njit(cache=True, nogil=True)
def _sweep(
    turned, pick, a, b, low, high, half, least, out, parent, used, starts, n_starts, ends, n_ends, scratch
):
    """All gaps of one window, slab by slab; bands go to `out` rows (length, from u, to u, v).

    Gaps that reach the lower or upper level of the window are added to `starts` and `ends`
    (band, from u, to u). Returns the rows used (FULL if too many), and both counts.
    """
    block, gaps, mate = scratch.block, scratch.gaps, scratch.mate
    begin, finish, peak = scratch.begin, scratch.finish, scratch.peak
    now = scratch.now  # gaps open at the end of the slab before: band, from u, to u
    n_now = 0
    level = _slab_levels(turned, pick, low, high, half, scratch.level)
    virgin = True
    for step in range(level.size - 1):
        t0 = level[step]
        t1 = level[step + 1]
        if t1 - t0 < _THIN:
            continue
        n = _blocks(turned, pick, a, b, t0, t1, half, block)
        found = 0
        for g in range(_long_gaps(block, n, a, b, least, scratch.low, scratch.high, gaps)):
            left0 = left1 = left_bound = -np.inf
            right0 = right1 = right_bound = np.inf
            for i in range(n):
                if block[i, 0] <= gaps[g, 0]:
                    left0 = max(left0, block[i, 2])
                    left1 = max(left1, block[i, 4])
                    left_bound = max(left_bound, min(block[i, 2], block[i, 4]))
                else:
                    right0 = min(right0, block[i, 1])
                    right1 = min(right1, block[i, 3])
                    right_bound = min(right_bound, max(block[i, 1], block[i, 3]))
            if right_bound - left_bound < least:
                continue
            s, u0, u1 = _peak(block, n, gaps[g, 0])
            if u1 - u0 < least:
                continue
            peak[found, 0] = u1 - u0
            peak[found, 1] = u0
            peak[found, 2] = u1
            peak[found, 3] = t0 + s * (t1 - t0)
            begin[found, 1] = left0
            begin[found, 2] = right0
            finish[found, 1] = left1
            finish[found, 2] = right1
            found += 1
        _join(now, n_now, begin, found, least, parent, mate)
        n_now = 0
        for j in range(found):
            band = mate[j]
            if band < 0:
                if used == out.shape[0]:
                    return FULL, n_starts, n_ends
                band = used
                out[band, 0] = -1.0
                parent[band] = band
                used += 1
            if peak[j, 0] > out[band, 0]:
                out[band, :4] = peak[j]
            if virgin and begin[j, 2] - begin[j, 1] >= least:
                starts[n_starts, 0] = band
                starts[n_starts, 1:] = begin[j, 1:]
                n_starts += 1
            if finish[j, 2] - finish[j, 1] >= least:
                now[n_now, 0] = band
                now[n_now, 1:] = finish[j, 1:]
                n_now += 1
        virgin = False
    for j in range(n_now):
        ends[n_ends] = now[j]
        n_ends += 1
    return used, n_starts, n_ends


@njit(cache=True, nogil=True)
def _room_beside(turned, u0, u1, v):
    """Free water left and right of a lane, measured against every shore edge."""
    left = np.inf
    right = np.inf
    for i in range(turned.shape[1]):
        ua = turned[0, i]
        ub = turned[2, i]
        if max(ua, ub) <= u0 + _TOUCH or min(ua, ub) >= u1 - _TOUCH:
            continue
        va = turned[1, i]
        vb = turned[3, i]
        p = va
        q = vb
        if ua != ub:
            slope = (vb - va) / (ub - ua)
            p = va + slope * (min(max(ua, u0), u1) - ua)
            q = va + slope * (min(max(ub, u0), u1) - ua)
        if min(p, q) >= v:
            right = min(right, min(p, q) - v)
        elif max(p, q) <= v:
            left = min(left, v - max(p, q))
        else:
            return 0.0, 0.0
    return left, right


@njit(cache=True, nogil=True)
def _settle(turned, half, out, parent, used):
    """Fold joined bands into one row each, move each lane to the middle of its room, and prove it there.

    A lane beside a shore that runs all but along it may come out nearer than asked by the noise of the
    coordinates. In the middle of its room it is measured again; what cannot be proved is left out.
    """
    for i in range(used):
        r = _root(parent, i)
        if r != i and out[i, 0] > out[r, 0]:
            out[r, :4] = out[i, :4]
    n = 0
    for i in range(used):
        if parent[i] != i:
            continue
        left, right = _room_beside(turned, out[i, 1], out[i, 2], out[i, 3])
        if min(left, right) < half - _FAULT or not math.isfinite(left + right):
            return BROKEN
        v = out[i, 3] + 0.5 * (right - left)
        u0 = out[i, 1]
        u1 = out[i, 2]
        left, right = _room_beside(turned, u0, u1, v)
        if min(left, right) < half - _TOUCH:
            u0 += _TRIM
            u1 -= _TRIM
            left, right = _room_beside(turned, u0, u1, out[i, 3])
            v = out[i, 3] + 0.5 * (right - left)
            left, right = _room_beside(turned, u0, u1, v)
        if min(left, right) < half - _TOUCH:
            continue
        out[n, 0] = u1 - u0
        out[n, 1] = u0
        out[n, 2] = u1
        out[n, 3] = v
        out[n, 4] = left + right
        n += 1
    return _drop_nested(out, n, half)


@njit(cache=True, nogil=True)
def _drop_nested(out, n, half):
    """Without the lanes whose centreline lies inside a longer one: the same water."""
    kept = 0
    keep = np.ones(n, np.bool_)
    for i in range(n):
        for j in range(n):
            longer = out[j, 0] > out[i, 0] or (out[j, 0] == out[i, 0] and j < i)
            beside = abs(out[j, 3] - out[i, 3]) < half
            within = out[j, 1] - _TOUCH <= out[i, 1] and out[i, 2] <= out[j, 2] + _TOUCH
            if longer and beside and within:
                keep[i] = False
    for i in range(n):
        if keep[i]:
            out[kept] = out[i]
            kept += 1
    return kept


@njit(cache=True, nogil=True)
def _heading(edges, sine, cosine, half, least, out):
    """The bands of one heading: rows (length, from u, to u, v, width). Returns how many, or a status."""
    turned = _rotate(edges, sine, cosine)
    base = turned[1].min()
    u_span = max(turned[0].max(), turned[2].max()) - min(turned[0].min(), turned[2].min())
    levels = int((turned[3].max() - base) / half) + 1
    if u_span < least or levels < 2:
        return 0
    first, cut = _cuts(turned, base, half, levels)
    windows = _windows(first, cut, levels, least)
    if windows.shape[0] == 0:
        return 0
    bin_first, bin_edge = _bins(turned, base, half, levels)
    room = int(u_span / least) + 4
    n = edges.shape[0]
    scratch = Scratch(
        np.empty((n + 2, 5)), np.empty(4 * n + 2), np.empty(2 * room), np.empty(2 * room),
        np.empty((room, 2)), np.empty((room, 3)), np.empty((room, 3)), np.empty((room, 3)),
        np.empty((room, 4)), np.empty(room, np.int64), np.empty(n, np.int64),
    )  # fmt: skip
    parent = np.empty(out.shape[0], np.int64)
    starts = np.empty((room, 3))
    ends = np.empty((room, 3))
    before = np.empty((room, 3))
    mate = np.empty(room, np.int64)
    n_before = 0
    used = 0
    row = 0
    k = -2
    while row < windows.shape[0]:
        if windows[row, 0] != k + 1:
            n_before = 0
        k = int(windows[row, 0])
        n_starts = 0
        n_ends = 0
        while row < windows.shape[0] and windows[row, 0] == k:
            a = windows[row, 1]
            b = windows[row, 2]
            pick = _near(turned, bin_first, bin_edge, k, a, b, base, half, levels, scratch.pick)
            used, n_starts, n_ends = _sweep(
                turned, pick, a, b, base + k * half, base + (k + 1) * half, half, least,
                out, parent, used, starts, n_starts, ends, n_ends, scratch,
            )  # fmt: skip
            if used < 0:
                return used
            row += 1
        _join(before, n_before, starts, n_starts, least, parent, mate)
        for j in range(n_starts):
            if mate[j] >= 0:
                parent[_root(parent, int(starts[j, 0]))] = mate[j]
        before, ends = ends, before
        n_before = n_ends
    return _settle(turned, half, out, parent, used)


@njit(cache=True, nogil=True)
def bands(edges, sines, cosines, half, least, out):
    """The bands of every heading: rows (heading number, length, from u, to u, v, width).

    Returns how many rows of `out` are filled, or FULL, or BROKEN.
    """
    n = 0
    scratch = np.empty((out.shape[0], 5))
    for h in range(sines.size):
        found = _heading(edges, sines[h], cosines[h], half, least, scratch)
        if found < 0:
            return found
        if n + found > out.shape[0]:
            return FULL
        for i in range(found):
            out[n, 0] = h
            out[n, 1:] = scratch[i]
            n += 1
    return n
