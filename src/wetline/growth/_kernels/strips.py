"""Arrival times from one event to the next, and forgetting what a line has changed.

A small step v through a cell takes a |v| − w·v, a = 1 / (R (1 − e)), w = e a h: the ellipse with the
ignition at its rear focus. With w·v taken out, the update from two neighbours is the plain isotropic
one. Units and layout: `layout`.
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
    SOURCES,
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
SETTLED = 1e-4  # a time is settled when it moves by less than this part of a head cell
FREE_UPDATES = 40  # after so many changes a time may only fall, so that the queue always ends
BUCKETS = 1024  # of the queue, in order of work
BUCKET_CELLS = 0.25  # least width of a bucket, and guessed step from cell to cell, as parts of a
STEP_CELLS = 0.7


@njit(cache=True, nogil=True, fastmath=SUMS)
def _through_edge(u1, du, dt, g1, g2, a):
    """Earliest time through the edge between an axis and a diagonal neighbour, and where (0 to 1).

    `u`: the neighbours' times with w·v taken out; `dt`: difference of their times; `g1`, `g2`: slopes
    of the time along the edge at its ends, which bend the straight line between them.
    """
    bend1 = g1 - dt
    bend2 = g2 - dt
    c = 0.0
    if bend1 * bend2 < 0.0:
        most = 2.0 * min(abs(bend1), abs(bend2))
        c = min(max(0.5 * (bend2 - bend1), -most), most)
        c = min(max(c, -0.15 * a), 0.4 * a)
    if du >= c or du + c + 0.7071067811865476 * a <= 0.0:
        return np.inf, 0.0
    s = min(max(-du / a, 0.0), 0.7)
    s /= math.sqrt(1.0 - s * s)
    for _ in range(2):
        q = 1.0 / math.sqrt(1.0 + s * s)
        s -= (du - (1.0 - 2.0 * s) * c + a * s * q) / (2.0 * c + a * q * q * q)
        s = min(max(s, 0.0), 1.0)
    return u1 + s * du - s * (1.0 - s) * c + a * math.sqrt(1.0 + s * s), s


@njit(cache=True, nogil=True, fastmath=SUMS)
def _evaluate(
    c,
    width,
    time,
    slope_x,
    slope_y,
    source,
    link,
    cross_piece,
    cross_at,
    cross_reached,
    piece_end,
    metric,
    direct,
    shifted,
    held,
):
    """Time, slope and parents of one cell from its eight neighbours."""
    a_c = np.float64(metric[c, 0])
    wx_c = np.float64(metric[c, 1])
    wy_c = np.float64(metric[c, 2])
    best = np.inf
    k_best = -1
    for k in range(8):
        direct[k] = np.inf
        held[k] = 1
        y = c + OY[k] * width + OX[k]
        t = time[y]
        if t == np.inf:
            continue
        if k & 1 and metric[c + OX[k], 0] == np.inf and metric[c + OY[k] * width, 0] == np.inf:
            continue
        u = t + 0.5 * ((wx_c + metric[y, 1]) * OX[k] + (wy_c + metric[y, 2]) * OY[k])
        v = u + 0.5 * (a_c + metric[y, 0]) * LENGTH[k]
        waits = 0
        i = link[4 * c + k] if k < 4 else link[4 * y + k - 4]
        if i > 0:
            at = 1.0 - cross_at[i] if k < 4 else np.float64(cross_at[i])
            end = piece_end[cross_piece[i]]
            here = a_c * LENGTH[k] + wx_c * OX[k] + wy_c * OY[k]
            there = 2.0 * (v - t) - here
            before = min(at, 0.5) * there + max(at - 0.5, 0.0) * here
            if cross_reached[i] or t + before < end:
                v = max(v, end + (v - t) - before)
                waits = 1
        direct[k] = v
        shifted[k] = u
        held[k] = waits
        if v < best:
            best = v
            k_best = k
    if k_best < 0:
        return source[c], np.float64(slope_x[c]), np.float64(slope_y[c]), NO_PARENT
    ray_x = -OX[k_best] / LENGTH[k_best]
    ray_y = -OY[k_best] / LENGTH[k_best]
    parents = k_best + 16 * k_best
    if held[k_best] == 0:
        for side in (1, 7):
            k_other = (k_best + side) & 7
            if held[k_other]:
                continue
            k1, k2 = (k_other, k_best) if k_best & 1 else (k_best, k_other)
            y1 = c + OY[k1] * width + OX[k1]
            y2 = c + OY[k2] * width + OX[k2]
            ex = OX[k2] - OX[k1]
            ey = OY[k2] - OY[k1]
            a = 0.5 * a_c + 0.25 * (np.float64(metric[y1, 0]) + np.float64(metric[y2, 0]))
            v, s = _through_edge(
                shifted[k1],
                shifted[k2] - shifted[k1],
                time[y2] - time[y1],
                np.float64(slope_x[y1]) * ex + np.float64(slope_y[y1]) * ey,
                np.float64(slope_x[y2]) * ex + np.float64(slope_y[y2]) * ey,
                a,
            )
            if v < best:
                best = v
                r = 1.0 / math.sqrt(1.0 + s * s)
                ray_x = -(OX[k1] + s * ex) * r
                ray_y = -(OY[k1] + s * ey) * r
                parents = k_best + 16 * k_other
    if source[c] <= best:
        return source[c], np.float64(slope_x[c]), np.float64(slope_y[c]), NO_PARENT
    return best, a_c * ray_x - wx_c, a_c * ray_y - wy_c, parents


@njit(cache=True, nogil=True)
def _look_ahead(a, w):
    """How far beyond a strip [s] a cell must be known for those within it to be final.

    On the flanks of a long ellipse the neighbour upwind of a cell burns after it.
    """
    return 0.5 * (max(0.0, 1.5 * (w - 0.6 * a)) + 0.3 * a)


@njit(cache=True, nogil=True)
def _push(c, u, order, following, scale):
    """Put a cell at the end of the bucket of its `u`. Which bucket that is."""
    b = int(min(max((u - scale[0]) / scale[1], 0.0), BUCKETS - 1.0))
    following[c] = -1
    if order[b] < 0:
        order[b] = c
    else:
        following[order[BUCKETS + b]] = c
    order[BUCKETS + b] = c
    return b


@njit(cache=True, nogil=True)
def _gather(cells, counts, metric, order, following, scale, now, until):
    """Queue the trial cells that have something to tell by `until`. How many they are.

    The queue runs by u = T + w·x with the mean w: where w is uniform, u grows like an isotropic fire's
    time, and no cell depends on a later one. T alone gives no such order on the flanks of an ellipse.
    """
    time, told, queued, trial = cells[0], cells[6], cells[8], cells[9]
    width = counts[WIDTH]
    n = 0
    wx = 0.0
    wy = 0.0
    speed = 0.0
    for i in range(counts[TRIALS]):
        c = trial[i]
        if told[c] == TOLD:
            continue
        if told[c] == WAITING:
            w = math.hypot(metric[c, 1], metric[c, 2])
            if time[c] > until + _look_ahead(metric[c, 0], w):
                continue
        queued[c] = 1
        n += 1
        if metric[c, 0] < np.inf:
            wx += metric[c, 1] / metric[c, 0]
            wy += metric[c, 2] / metric[c, 0]
            speed += 1.0 / metric[c, 0]
    if n == 0:
        return 0
    wx /= speed
    wy /= speed
    least = np.inf
    most = -np.inf
    for i in range(counts[TRIALS]):
        c = trial[i]
        if queued[c]:
            u = (min(time[c], until) if time[c] < np.inf else now) + wx * (c % width) + wy * (c // width)
            least = min(least, u)
            most = max(most, u)
    scale[0] = least - 2.0 * n / speed
    scale[1] = max((most - least + 8.0 * n / speed) / BUCKETS, BUCKET_CELLS * n / speed)
    scale[2] = wx
    scale[3] = wy
    order[:] = -1
    for i in range(counts[TRIALS]):
        c = trial[i]
        if queued[c]:
            u = (min(time[c], until) if time[c] < np.inf else now) + wx * (c % width) + wy * (c // width)
            _push(c, u, order, following, scale)
    return n


@njit(cache=True, nogil=True, fastmath=SUMS)
def _relax(cells, lines, counts, metric, order, following, scale, left, until, slot_start):
    """Work the queue off: every cell whose neighbours changed is computed anew.

    What was unburnt when the slot began burns no earlier: where rates jump from cell to cell, a time
    restated behind the edge is only good to a cell, and must not run ahead from there.
    """
    time, slope_x, slope_y, source, status = cells[0], cells[1], cells[2], cells[3], cells[4]
    updates, told, parents, queued, trial = cells[5], cells[6], cells[7], cells[8], cells[9]
    link, cross_piece, cross_at, cross_reached, piece_end = lines
    width = counts[WIDTH]
    wx_mean = scale[2]
    wy_mean = scale[3]
    direct = np.empty(8)
    shifted = np.empty(8)
    held = np.empty(8, np.uint8)
    b = 0
    while left > 0:
        while order[b] < 0:
            b += 1
        c = order[b]
        order[b] = following[c]
        left -= 1
        counts[EVALUATIONS] += 1
        queued[c] = 0
        old = time[c]
        v, gx, gy, who = _evaluate(
            c,
            width,
            time,
            slope_x,
            slope_y,
            source,
            link,
            cross_piece,
            cross_at,
            cross_reached,
            piece_end,
            metric,
            direct,
            shifted,
            held,
        )
        v = max(v, slot_start)
        if status[c] == UNBURNT:
            status[c] = TRIAL
            trial[counts[TRIALS]] = c
            counts[TRIALS] += 1
        told_before = told[c] == TOLD
        a = np.float64(metric[c, 0])
        w = math.hypot(metric[c, 1], metric[c, 2])
        change = v != old
        if change and old < np.inf:
            change = abs(v - old) > SETTLED * (a - w) and (v < old or updates[c] < FREE_UPDATES)
        if change:
            updates[c] = min(updates[c] + 1, 255)
            time[c] = v
            slope_x[c] = gx
            slope_y[c] = gy
            parents[c] = who
            if who != NO_PARENT:
                source[c] = np.inf
        else:
            v = old
        if v > until + _look_ahead(a, w):
            if change or told[c] == FORGOTTEN:
                told[c] = WAITING
            continue
        if told_before and not change:
            continue
        told[c] = TOLD
        u = v + wx_mean * (c % width) + wy_mean * (c // width) + STEP_CELLS * a
        for k in range(8):
            q = c + OY[k] * width + OX[k]
            if status[q] >= BURNT or queued[q]:
                continue
            if v <= old and time[q] < np.inf:
                wx = 0.5 * (metric[q, 1] + metric[c, 1])
                wy = 0.5 * (metric[q, 2] + metric[c, 2])
                least = 0.25 * (metric[c, 0] + metric[q, 0] + min(metric[c, 0], metric[q, 0]))
                if v - wx * OX[k] - wy * OY[k] + least * (0.9 if k & 1 else 0.65) > time[q]:
                    continue
            queued[q] = 1
            known = time[q] + wx_mean * (q % width) + wy_mean * (q // width)
            b = min(b, _push(q, min(known, u), order, following, scale))
            left += 1


@njit(cache=True, nogil=True)
def _see_neighbours(c, width, status, walls, counts):
    """Note the cells beside a burnt one that will never burn."""
    for k in range(8):
        q = c + OY[k] * width + OX[k]
        if status[q] == WALL or status[q] == OUTSIDE:
            if status[q] == OUTSIDE:
                counts[AT_EDGE] = 1
            status[q] += 1
            walls[counts[WALLS]] = q
            counts[WALLS] += 1


@njit(cache=True, nogil=True)
def solve(cells, lines, counts, metric, following, now, until, slot_start):
    """Grow from `now` to `until` within one weather slot; with `until == now`, work off changes.

    Cells reached by `until` are burnt and final. A cell unburnt when the slot began burns no earlier.
    """
    time, status, trial, walls, arrival = cells[0], cells[4], cells[9], cells[10], cells[11]
    order = np.empty(2 * BUCKETS, np.int32)
    scale = np.empty(4)
    left = _gather(cells, counts, metric, order, following, scale, now, until)
    _relax(cells, lines, counts, metric, order, following, scale, left, until, slot_start)
    left = 0
    for i in range(counts[TRIALS]):
        c = trial[i]
        if time[c] <= until:
            status[c] = BURNT
            arrival[c] = time[c]
            _see_neighbours(c, counts[WIDTH], status, walls, counts)
        else:
            trial[left] = c
            left += 1
    counts[TRIALS] = left


@njit(cache=True, nogil=True)
def _count_inside(c, width, inside):
    n = 0
    for k in range(8):
        n += inside[c + OY[k] * width + OX[k]] == 1
    return n


@njit(cache=True, nogil=True)
def ignite(cells, counts, metric, inside, near, cost, ray_x, ray_y, at):
    """Set the state at the start: burnt inside the perimeter, times from it on both sides.

    `inside`: 1 within the perimeter, 2 burnt although its centre lies just outside; so is a cell that
    the perimeter touches (`near` 2) and no cell within it is beside: a finger thinner than the cells
    is not lost. `cost` [s]: the least time between the cell's centre and the perimeter, inf far from
    it, along (ray_x, ray_y).
    """
    time, slope_x, slope_y, source, status = cells[0], cells[1], cells[2], cells[3], cells[4]
    told, trial, walls, arrival = cells[6], cells[9], cells[10], cells[11]
    width = counts[WIDTH]
    for c in range(time.size):
        if status[c] != UNBURNT:
            continue
        if cost[c] < np.inf:
            slope_x[c] = metric[c, 0] * ray_x[c] - metric[c, 1]
            slope_y[c] = metric[c, 0] * ray_y[c] - metric[c, 2]
        outside = cost[c] if cost[c] < np.inf else 0.0
        if inside[c] == 1:
            status[c] = BURNT
            arrival[c] = at
            time[c] = at - outside
        elif inside[c] == 2 or (near[c] == 2 and cost[c] < np.inf and not _count_inside(c, width, inside)):
            status[c] = BURNT
            arrival[c] = at
            time[c] = at + outside
        elif cost[c] < np.inf:
            source[c] = at + cost[c]
            time[c] = source[c]
            status[c] = TRIAL
            trial[counts[TRIALS]] = c
            counts[TRIALS] += 1
            counts[SOURCES] += 1
    for c in range(time.size):
        if status[c] != BURNT:
            continue
        _see_neighbours(c, width, status, walls, counts)
        for k in range(8):
            q = c + OY[k] * width + OX[k]
            if status[q] != UNBURNT:
                continue
            status[q] = TRIAL
            told[q] = FORGOTTEN
            trial[counts[TRIALS]] = q
            counts[TRIALS] += 1


@njit(cache=True, nogil=True)
def _forget_cell(c, width, cells, queue):
    """Forget a trial cell and every trial cell whose time came from it."""
    time, source, status, updates = cells[0], cells[3], cells[4], cells[5]
    told, parents = cells[6], cells[7]
    if status[c] != TRIAL:
        return
    source[c] = np.inf
    told[c] = FORGOTTEN
    if time[c] == np.inf:
        return
    mask = queue.size - 1
    time[c] = np.inf
    updates[c] = 0
    queue[0] = c
    head = 0
    tail = 1
    while head < tail:
        c = queue[head & mask]
        head += 1
        for k in range(8):
            q = c + OY[k] * width + OX[k]
            if status[q] != TRIAL or time[q] == np.inf or parents[q] == NO_PARENT:
                continue
            back = (k + 4) & 7
            if parents[q] & 15 == back or parents[q] >> 4 == back:
                time[q] = np.inf
                told[q] = FORGOTTEN
                updates[q] = 0
                queue[tail & mask] = q
                tail += 1


@njit(cache=True, nogil=True)
def _forget_sources(c, width, cells, queue):
    """Forget what came straight from the perimeter near a new crossing: the way may be blocked."""
    source, status, parents = cells[3], cells[4], cells[7]
    height = status.size // width
    for row in range(max(c // width - 3, 0), min(c // width + 4, height)):
        for col in range(max(c % width - 3, 0), min(c % width + 4, width)):
            q = row * width + col
            if status[q] == TRIAL and source[q] < np.inf:
                source[q] = np.inf
                if parents[q] == NO_PARENT:
                    _forget_cell(q, width, cells, queue)


@njit(cache=True, nogil=True)
def forget(first, last, cells, counts, cross_link, link, queue):
    """Forget what was computed across the crossings `first` to `last` (not included)."""
    width = counts[WIDTH]
    for i in range(first, last):
        if link[cross_link[i]] == i:
            c = cross_link[i] >> 2
            k = cross_link[i] & 3
            if counts[SOURCES]:
                _forget_sources(c, width, cells, queue)
            _forget_cell(c, width, cells, queue)
            _forget_cell(c + OY[k] * width + OX[k], width, cells, queue)
