"""Arrival times from one event to the next.

A small step v through a cell takes a |v| − w·v, a = 1 / (R (1 − e)), w = e a h: the ellipse with the
ignition at its rear focus. With w·v taken out, the update from two neighbours is the plain isotropic
one. Units and layout: `layout`.

The work is ordered by each cell's *level*: the sum of a |v| alone along the way the fire came. No cell
depends on one of a higher level, whatever the wind; its time gives no such order on the flanks of a
long ellipse. Where two ways compete, though, the lesser level may be the later time: so the work is
done in windows of time, the shorter the more w differs from place to place.
"""

import math

import numpy as np
from numba import njit

from wetline.growth._kernels.layout import (
    AT_EDGE,
    BURNT,
    EVALUATIONS,
    FORGOTTEN,
    LENGTH,
    NO_PARENT,
    OUTSIDE,
    OX,
    OY,
    TOLD,
    TRIAL,
    TRIALS,
    UNBURNT,
    WAITING,
    WALL,
    WALLS,
    WIDTH,
)

# Reordering of sums only: infinities keep their meaning.
SUMS = {"contract", "reassoc", "arcp", "nsz"}
SETTLED = 2e-4  # a time is settled when it moves by less than this part of a head cell
FREE_UPDATES = 40  # after so many changes a time may only fall, so that the queue always ends
BUCKETS = 4096  # of the queue, a ring in order of level
BEHIND = BUCKETS // 4 * 3  # so far ahead in the ring is behind: done at once
BUCKET_CELLS = 0.25  # width of a bucket, as part of a
STEP_CELLS = 1.0  # guessed rise of level from cell to cell, as part of a
WINDOW_CELLS = 12.0  # length of a window of time, in head cells, where w is all different
STRAIGHT = 0.05  # straight from a perimeter counts unless another way is sooner by this part of a head cell
SINE_45 = math.sqrt(0.5)
STIFF = 0.05  # least second derivative that Newton's method divides by
SMOOTH = np.float32(
    0.1
)  # a and w change smoothly from cell to cell while the square of it is less than this part
TINY = np.float32(1e-30)
ZERO, HALF, ONE, TWELFTH = np.float32(0.0), np.float32(0.5), np.float32(1.0), np.float32(1.0 / 12.0)
X, Y, LONG = OX.astype(np.float32), OY.astype(np.float32), LENGTH.astype(np.float32)
FAR_END = 2.5 * SINE_45  # see `_through_edge`: how the slope at the diagonal grows with g


@njit(cache=True, nogil=True, fastmath=SUMS)
def _wait_at_lines(
    c,
    width,
    time,
    slope,
    metric,
    link,
    cross_piece,
    cross_at,
    cross_reached,
    piece_end,
    cross_since,
    burn_out,
    cross_round,
    direct,
    shifted,
):
    """Least time through the crossings at which fire waits, and from which side; those links closed.

    A crossing that holds longer than the edge can burn there is the end of that way. Near an open end the
    fire may be sooner round it: w·v is the same by any way, so that only the way in |v| is longer.
    """
    best = np.inf
    k_best = -1
    for k in range(8):
        if direct[k] == np.inf:
            continue
        y = c + OY[k] * width + OX[k]
        i = link[4 * c + k] if k < 4 else link[4 * y + k - 4]
        if i == 0:
            continue
        t = time[y]
        at = 1.0 - cross_at[i] if k < 4 else np.float64(cross_at[i])
        end = piece_end[cross_piece[i]]
        here = metric[c, 0] * LENGTH[k] + metric[c, 1] * OX[k] + metric[c, 2] * OY[k]
        there = 2.0 * (direct[k] - t) - here
        before = min(at, 0.5) * there + max(at - 0.5, 0.0) * here
        if not cross_reached[i] and t + before >= end:
            continue
        if cross_reached[i]:
            since = cross_since[i]
        else:  # the front may come to the crossing sooner than straight along the link
            across = -at * (slope[y, 0] * OX[k] + slope[y, 1] * OY[k])
            since = t + min(max(across, 0.0), before)
        v = max(direct[k], end + (direct[k] - t) - before) if end - since <= burn_out[0] else np.inf
        v = min(v, shifted[k] + cross_round[i] * (direct[k] - shifted[k]))
        direct[k] = np.inf
        if v < best:
            best = v
            k_best = k
    return best, k_best


@njit(cache=True, nogil=True, fastmath=SUMS, inline="always")
def _through_edge(m, b, g):
    """Earliest way through the edge between an axis and a diagonal neighbour.

    Minimises `b s² − (b + m) s + (1 + g (s − ½)) √(1 + s²)` over the place `s`, 0 at the axis and 1 at
    the diagonal, in units of the cost straight along the axis, midway: `m` is how much earlier the
    diagonal is, `b` how the time bends between them, `g` how much more the way costs beside the
    diagonal. Returns that least value and the sine of the ray's angle to the axis. Without `b` and `g`
    the sine is `m`; one step of Newton's method from there leaves an error of third order in them, a
    second one an error that does not count.
    """
    sine = min(max(m, 0.0), SINE_45)
    cos = math.sqrt(1.0 - sine * sine)
    s = sine / cos
    mean = 1.0 + g * (s - 0.5)
    cos3 = cos * cos * cos
    pull = m - mean * sine + b * (1.0 - 2.0 * s) - g / cos
    stiff = 1.0 / max(mean * cos3 + 2.0 * (b + g * sine), STIFF)
    moved = min(max(sine + pull * cos3 * stiff, 0.0), SINE_45)
    if abs(pull) < 0.05 and 0.0 < moved < SINE_45:
        return (mean - m * sine) / cos - b * s * (1.0 - s) - 0.5 * pull * pull * stiff, moved
    cos = math.sqrt(1.0 - moved * moved)
    s = moved / cos
    mean = 1.0 + g * (s - 0.5)
    cos3 = cos * cos * cos
    pull = m - mean * moved + b * (1.0 - 2.0 * s) - g / cos
    moved = min(max(moved + pull * cos3 / max(mean * cos3 + 2.0 * (b + g * moved), STIFF), 0.0), SINE_45)
    cos = math.sqrt(1.0 - moved * moved)
    s = moved / cos
    return (1.0 + g * (s - 0.5)) / cos - m * s - b * s * (1.0 - s), moved


@njit(cache=True, nogil=True, fastmath=SUMS, inline="always")
def _jumps(y1, y2, metric):
    """Whether a or w differ so much between two cells that they are not one smooth field."""
    dx = metric[y2, 1] - metric[y1, 1]
    dy = metric[y2, 2] - metric[y1, 2]
    wx = HALF * (metric[y1, 1] + metric[y2, 1])
    wy = HALF * (metric[y1, 2] + metric[y2, 2])
    da = metric[y2, 0] - metric[y1, 0]
    a = min(metric[y1, 0], metric[y2, 0])
    return dx * dx + dy * dy >= SMOOTH * (wx * wx + wy * wy + TINY) or da * da >= SMOOTH * a * a


@njit(cache=True, nogil=True, fastmath=SUMS, inline="always")
def _through_half(dt, a, wx, wy, k1, ex, ey, least, most):
    """Earliest way through the part of an edge from `least` to `most`, its a and w all the same there.

    Time after that of the axis neighbour, whose own is `dt` before the diagonal's, and the place.
    """
    q = dt + wx * ex + wy * ey
    s = -q / math.sqrt(a * a - q * q) if -a < q < 0.0 else (0.0 if q >= 0.0 else 1.0)
    s = min(max(s, least), most)
    return s * q + wx * OX[k1] + wy * OY[k1] + a * math.sqrt(1.0 + s * s), s


@njit(cache=True, nogil=True, fastmath=SUMS, inline="always")
def _bend(k1, k2, y1, y2, time, slope, metric, per_a):
    """How the cost through the edge from `y1` to `y2` bends along it, as part of the cost on the axis, 1 / `per_a`.

    In a smooth field: by how w changes along the edge and turns, and by the slopes of the time at its ends.
    """
    ex = OX[k2] - OX[k1]
    ey = OY[k2] - OY[k1]
    dx = np.float64(metric[y2, 1] - metric[y1, 1])
    dy = np.float64(metric[y2, 2] - metric[y1, 2])
    wx = 0.5 * (metric[y1, 1] + metric[y2, 1])
    wy = 0.5 * (metric[y1, 2] + metric[y2, 2])
    w2 = wx * wx + wy * wy + TINY
    turned = (dx * wy - dy * wx) / w2
    back = wx * (OX[k1] + 0.5 * ex) + wy * (OY[k1] + 0.5 * ey)
    b = (0.5 * (dx * ex + dy * ey) - 0.25 * turned * turned * back) * per_a
    dt = time[y2] - time[y1]
    bend1 = slope[y1, 0] * ex + slope[y1, 1] * ey - dt
    bend2 = slope[y2, 0] * ex + slope[y2, 1] * ey - dt
    if bend1 * bend2 < 0.0:
        most = 2.0 * min(abs(bend1), abs(bend2))
        b += min(max(min(max(0.5 * (bend2 - bend1), -most), most) * per_a, -0.15), 0.4)
    return b


@njit(cache=True, nogil=True, fastmath=SUMS, inline="always")
def _straight(c, width, time, metric, direct, shifted):
    """Times straight from the eight neighbours, and the same less the cost of |v|: `shifted`.

    By Simpson's rule, a and w half way taken as geometric means: where the wind turns from cell to cell,
    the plain mean of w is too short, and the head, its a − |w| being small, would be much too slow. Where
    they jump, half the way is each cell's.
    """
    a_c = metric[c, 0]
    wx_c = metric[c, 1]
    wy_c = metric[c, 2]
    per_a = ONE / a_c
    per_w2 = ONE / (wx_c * wx_c + wy_c * wy_c + TINY)
    for k in range(8):
        y = np.uint64(c + OY[k] * width + OX[k])
        dx = metric[y, 1] - wx_c
        dy = metric[y, 2] - wy_c
        turned = (dx * dx + dy * dy) * per_w2
        along = (dx * wx_c + dy * wy_c) * per_w2
        grown = (metric[y, 0] - a_c) * per_a
        bent = (turned - along * along - along * along) * TWELFTH if turned < SMOOTH else ZERO
        less = grown * grown * TWELFTH if grown * grown < SMOOTH else ZERO
        wx = wx_c + HALF * dx
        wy = wy_c + HALF * dy
        shifted[k] = time[y] + (wx * X[k] + wy * Y[k]) * (ONE + bent)
        direct[k] = shifted[k] + HALF * (a_c + metric[y, 0]) * (ONE - less) * LONG[k]
    for k in range(1, 8, 2):
        if min(metric[np.uint64(c + OX[k]), 0], metric[np.uint64(c + OY[k] * width), 0]) == np.inf:
            direct[k] = np.inf


@njit(cache=True, nogil=True, fastmath=SUMS, inline="always")
def _evaluate(
    c,
    width,
    time,
    slope,
    arrival,
    metric,
    link,
    cross_piece,
    cross_at,
    cross_reached,
    piece_end,
    cross_since,
    crossed,
    burn_out,
    cross_round,
    direct,
    shifted,
):
    """Time, slope and parents of one cell from its eight neighbours."""
    _straight(c, width, time, metric, direct, shifted)
    a_c = np.float64(metric[c, 0])
    wx_c = np.float64(metric[c, 1])
    wy_c = np.float64(metric[c, 2])
    held = np.inf
    k_held = -1
    if crossed[c]:
        held, k_held = _wait_at_lines(
            c,
            width,
            time,
            slope,
            metric,
            link,
            cross_piece,
            cross_at,
            cross_reached,
            piece_end,
            cross_since,
            burn_out,
            cross_round,
            direct,
            shifted,
        )
    best = np.inf
    k_best = 0
    for k in range(8):
        k_best = k if direct[k] < best else k_best
        best = min(best, direct[k])
    ray_x = -OX[k_best] / LENGTH[k_best]
    ray_y = -OY[k_best] / LENGTH[k_best]
    parents = 17 * k_best
    k_other = (k_best + 1) & 7
    k_last = (k_best + 7) & 7
    if direct[k_last] < direct[k_other]:
        k_other, k_last = k_last, k_other
    for _ in range(2):
        if direct[k_other] == np.inf:
            k_other = k_last
            continue
        odd = k_best & 1
        k1 = k_best + (k_other - k_best) * odd
        k2 = k_other + (k_best - k_other) * odd
        ex = OX[k2] - OX[k1]
        ey = OY[k2] - OY[k1]
        y1 = np.uint64(c + OY[k1] * width + OX[k1])
        y2 = np.uint64(c + OY[k2] * width + OX[k2])
        a1 = direct[k1] - shifted[k1]
        a2 = (direct[k2] - shifted[k2]) * SINE_45
        if _jumps(y1, y2, metric):
            # each half of the edge lies in a cell of its own: what one costs is not what the other costs
            dt = time[y2] - time[y1]
            v1, s1 = _through_half(
                dt, a1, 0.5 * (wx_c + metric[y1, 1]), 0.5 * (wy_c + metric[y1, 2]), k1, ex, ey, 0.0, 0.5
            )
            v2, s2 = _through_half(
                dt, a2, 0.5 * (wx_c + metric[y2, 1]), 0.5 * (wy_c + metric[y2, 2]), k1, ex, ey, 0.5, 1.0
            )
            v = time[y1] + min(v1, v2)
            if v < best:
                best = v
                s = s1 if v1 <= v2 else s2
                cosine = 1.0 / math.sqrt(1.0 + s * s)
                ray_x = -(OX[k1] + ex * s) * cosine
                ray_y = -(OY[k1] + ey * s) * cosine
                parents = k_best + 16 * k_other
                break
            k_other = k_last
            continue
        a = 0.5 * (a1 + a2)
        per_a = 1.0 / a
        b = _bend(k1, k2, y1, y2, time, slope, metric, per_a)
        m = (shifted[k1] - shifted[k2]) * per_a
        g = (a2 - a1) * per_a
        if g - b < m < b + SINE_45 + FAR_END * g:
            part, sine = _through_edge(m, b, g)
            v = shifted[k1] + a * part
            if min(time[y1], time[y2]) < v < best:
                best = v
                cosine = math.sqrt(1.0 - sine * sine)
                ray_x = -(OX[k1] * cosine + ex * sine)
                ray_y = -(OY[k1] * cosine + ey * sine)
                parents = k_best + 16 * k_other
                break
        k_other = k_last
    if held < best:
        best = held
        ray_x = -OX[k_held] / LENGTH[k_held]
        ray_y = -OY[k_held] / LENGTH[k_held]
        parents = 17 * k_held
    straight = arrival[c]
    if straight < np.inf and straight <= best + STRAIGHT * (a_c - math.sqrt(wx_c * wx_c + wy_c * wy_c)):
        best = straight
        parents = NO_PARENT
    elif best == np.inf:
        parents = NO_PARENT
    return best, a_c * ray_x - wx_c, a_c * ray_y - wy_c, parents


@njit(cache=True, nogil=True)
def _look_ahead(a, w):
    """How far beyond a window [s] a cell must be known for those within it to be final.

    On the flanks of a long ellipse the neighbour upwind of a cell burns after it.
    """
    return 0.5 * (max(0.0, 1.5 * (w - 0.6 * a)) + 0.3 * a)


@njit(cache=True, nogil=True, inline="always")
def _push(c, n, first, last, following):
    """Put a cell at the end of bucket `n` of the ring."""
    b = n & (BUCKETS - 1)
    following[c] = -1
    if first[b] < 0:
        first[b] = c
    else:
        following[last[b]] = c
    last[b] = c


@njit(cache=True, nogil=True)
def _window(cells, counts, metric):
    """Length of a window [s], and the mean a, from the cells at the edge; inf where w is all the same."""
    trial = cells[8]
    n = counts[TRIALS]
    speed = 0.0
    fast = 0.0
    wx = 0.0
    wy = 0.0
    burning = 0
    for i in range(n):
        a = np.float64(metric[trial[i], 0])
        if a < np.inf:
            x = np.float64(metric[trial[i], 1])
            y = np.float64(metric[trial[i], 2])
            speed += 1.0 / a
            fast += 1.0 / (a - math.sqrt(x * x + y * y))
            wx += x / a
            wy += y / a
            burning += 1
    if burning == 0:
        return np.inf, 1.0
    wx /= speed
    wy /= speed
    differs = 0.0
    for i in range(n):
        a = np.float64(metric[trial[i], 0])
        if a < np.inf:
            x = metric[trial[i], 1] - wx
            y = metric[trial[i], 2] - wy
            differs += (x * x + y * y) / (a * a)
    differs /= burning
    a = burning / speed
    return (WINDOW_CELLS * burning / (fast * differs) if differs > 1e-6 else np.inf), a


@njit(cache=True, nogil=True)
def _gather(cells, counts, metric, first, last, following, until, a):
    """Queue the trial cells that have something to tell by `until`.

    Returns how many they are, the first bucket in use and the width of a bucket [s].
    """
    time, told, level, marks, trial = cells[0], cells[4], cells[6], cells[7], cells[8]
    n = 0
    least = np.inf
    for i in range(counts[TRIALS]):
        c = trial[i]
        if told[c] == TOLD:
            continue
        if told[c] == WAITING and time[c] > until:
            x = np.float64(metric[c, 1])
            y = np.float64(metric[c, 2])
            if time[c] > until + _look_ahead(metric[c, 0], math.sqrt(x * x + y * y)):
                continue
        marks[c] = 1
        n += 1
        least = min(least, level[c])
    step = BUCKET_CELLS * a
    if n > 0:
        for i in range(counts[TRIALS]):
            c = trial[i]
            if marks[c]:
                _push(c, np.int64(level[c] / step), first, last, following)
    return n, np.int64(least / step) if n > 0 else 0, step


@njit(cache=True, nogil=True, fastmath=SUMS)
def _relax(cells, lines, counts, metric, first, last, following, left, b, step, until, soonest_s):
    """Work the queue off: every cell whose neighbours changed is computed anew.

    What is unburnt burns no sooner than `soonest_s`: where rates jump from cell to cell, a time
    restated behind the edge is only good to a cell, and must not run ahead from there.
    """
    time, slope, status, updates, told, parents, level, marks, trial, arrival = cells
    link, cross_piece, cross_at, cross_reached, piece_end, cross_since, crossed, burn_out, cross_round = lines
    width = counts[WIDTH]
    direct = np.empty(8)
    shifted = np.empty(8)
    done = 0
    while left > 0:
        while first[b & (BUCKETS - 1)] < 0:
            b += 1
        c = np.int64(first[b & (BUCKETS - 1)])
        first[b & (BUCKETS - 1)] = following[c]
        left -= 1
        done += 1
        marks[c] = 0
        old = time[c]
        v, gx, gy, who = _evaluate(
            c,
            width,
            time,
            slope,
            arrival,
            metric,
            link,
            cross_piece,
            cross_at,
            cross_reached,
            piece_end,
            cross_since,
            crossed,
            burn_out,
            cross_round,
            direct,
            shifted,
        )
        v = max(v, soonest_s)
        if status[c] == UNBURNT:
            status[c] = TRIAL
            trial[counts[TRIALS]] = c
            counts[TRIALS] += 1
        told_before = told[c] == TOLD
        a = np.float64(metric[c, 0])
        wx = np.float64(metric[c, 1])
        wy = np.float64(metric[c, 2])
        w = math.sqrt(wx * wx + wy * wy)
        change = v != old
        if change and old < np.inf:
            change = abs(v - old) > SETTLED * (a - w) and (v < old or updates[c] < FREE_UPDATES)
        if change:
            updates[c] = min(updates[c] + 1, 255)
            time[c] = v
            if who != NO_PARENT or parents[c] != NO_PARENT:  # else the slope is the perimeter's own
                slope[c, 0] = gx
                slope[c, 1] = gy
            parents[c] = who
            if who != NO_PARENT:
                k = who & 15
                level[c] = level[c + OY[k] * width + OX[k]] + np.float32(v - shifted[k])
        else:
            v = old
        if v > until + _look_ahead(a, w):
            if change or told[c] == FORGOTTEN:
                told[c] = WAITING
            continue
        if told_before and not change:
            continue
        told[c] = TOLD
        ahead = level[c] + np.float32(STEP_CELLS * a)
        for k in range(8):
            q = np.uint64(c + OY[k] * width + OX[k])
            if status[q] >= BURNT or marks[q]:
                continue
            if direct[k] < np.inf:
                # No way through `c` takes less than 0.71 a past an axis neighbour, a past a diagonal one;
                # a seventh off, as the time may bend and a may change on the way.
                mean = (direct[k] - shifted[k]) * (SINE_45 if k & 1 else 1.0)
                least = (0.7 if k & 1 else 0.45) * mean + 0.15 * min(a, mean)
                if v - shifted[k] + least > 0.0:
                    back = (k + 4) & 7
                    if v <= old or ((parents[q] & 15) != back and (parents[q] >> 4) != back):
                        continue
            if time[q] < np.inf:
                level[q] = min(level[q], ahead)
            else:
                level[q] = ahead
            marks[q] = 1
            n = np.int64(level[q] / step)
            _push(q, b if (n - b) & (BUCKETS - 1) > BEHIND else n, first, last, following)
            left += 1
    counts[EVALUATIONS] += done


@njit(cache=True, nogil=True)
def _see_neighbours(c, width, status, lists, counts):
    """Note the cells beside a burnt one that will never burn."""
    for k in range(8):
        q = c + OY[k] * width + OX[k]
        if status[q] == WALL or status[q] == OUTSIDE:
            if status[q] == OUTSIDE:
                counts[AT_EDGE] = 1
            status[q] += 1
            counts[WALLS] += 1
            lists[lists.size - counts[WALLS]] = q


@njit(cache=True, nogil=True)
def _freeze(cells, counts, until):
    """Burn what the fire reaches by `until`. When it reaches the next cell."""
    time, status, trial, arrival = cells[0], cells[2], cells[8], cells[9]
    left = 0
    soonest = np.inf
    for i in range(counts[TRIALS]):
        c = trial[i]
        if time[c] <= until:
            status[c] = BURNT
            arrival[c] = time[c]
            _see_neighbours(c, counts[WIDTH], status, trial, counts)
        else:
            soonest = min(soonest, time[c])
            trial[left] = c
            left += 1
    counts[TRIALS] = left
    return soonest


@njit(cache=True, nogil=True)
def solve(cells, lines, counts, metric, following, now, until, slot_start, watched):
    """Grow from `now` to `until` within one weather slot; with `until == now`, work off changes.

    Cells reached by then are burnt and final. A cell unburnt when the slot began, or now, burns no earlier.
    Ends at the time at which the first of the cells `watched` burns, if that is sooner. Returns the end.
    """
    time = cells[0]
    first = np.full(BUCKETS, -1, np.int32)
    last = np.empty(BUCKETS, np.int32)
    soonest_s = max(slot_start, now)
    while True:
        length, a = _window(cells, counts, metric)
        end = min(now + length, until)
        left, b, step = _gather(cells, counts, metric, first, last, following, end, a)
        _relax(cells, lines, counts, metric, first, last, following, left, b, step, end, soonest_s)
        met = np.inf
        for c in watched:
            met = min(met, time[c])
        if met <= end:
            end = max(met, now)
        soonest = _freeze(cells, counts, end)
        if met <= end:
            return end
        now = max(end, soonest)
        if end >= until or now > until:
            return until
