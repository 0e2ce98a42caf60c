"""Lines as blocked links, and the contour of the burnt area with what holds each part of it.

A crossing blocks one link at a fraction of its length until its piece of line dries out. Fire that
comes to it waits there, then goes on from there; one that has waited longer than the edge burns is out
for good. Units and layout: `layout`.
"""

import math

import numpy as np
from numba import njit

from wetline.growth._kernels.layout import (
    AT_EDGE,
    BURNT,
    CROSSINGS,
    FORGOTTEN,
    LENGTH,
    OUTSIDE,
    OX,
    OY,
    SOURCES,
    TRIALS,
    UNBURNT,
    WAITING,
    WALL,
    WALLS,
    WIDTH,
)

NEAREST = 0.01  # a front is drawn no nearer to a cell's centre than this part of a link
STRAIGHT = 0.97  # of the way along the line to its end, at least: else the end is not in sight
SLOWEST = 0.3  # least time along a link, as part of its straight cost, where the slope says less

# The links of the square whose north-west corner is cell q, as (column, row, direction).
SQUARE = np.array([[0, 0, 0], [1, 0, 2], [0, 1, 0], [0, 0, 2], [0, 0, 1], [1, 0, 3]])


@njit(cache=True, nogil=True)
def _number(y, k, width):
    """The number of the link from cell `y` in direction `k`."""
    if k < 4:
        return 4 * y + k
    return 4 * (y + OY[k] * width + OX[k]) + k - 4


@njit(cache=True, nogil=True)
def _crossing(y, k, width, lines):
    """The crossing that lies on the link from cell `y` in direction `k`, or 0."""
    return lines[0][_number(y, k, width)] if lines[6][y] else 0


@njit(cache=True, nogil=True)
def _cost_to(part, y, k, width, metric):
    """Time [s] straight from cell `y` to a part of the link in direction `k`: half is in either cell."""
    x = y + OY[k] * width + OX[k]
    here = metric[y, 0] * LENGTH[k] - metric[y, 1] * OX[k] - metric[y, 2] * OY[k]
    there = metric[x, 0] * LENGTH[k] - metric[x, 1] * OX[k] - metric[x, 2] * OY[k]
    if part <= 0.5:
        return part * here
    return 0.5 * here + (part - 0.5) * there


@njit(cache=True, nogil=True)
def _part_after(elapsed, y, k, width, metric):
    """The part of a link that is done `elapsed` seconds after leaving cell `y`."""
    half = _cost_to(0.5, y, k, width, metric)
    if elapsed <= half:
        return 0.5 * elapsed / half
    return 0.5 + 0.5 * (elapsed - half) / (_cost_to(1.0, y, k, width, metric) - half)


@njit(cache=True, nogil=True)
def _squeezed(y, k, width, status):
    """Whether a diagonal runs between two cells that never burn."""
    return bool(k & 1) and status[y + OX[k]] >= WALL and status[y + OY[k] * width] >= WALL


@njit(cache=True, nogil=True)
def _waits(i, y, k, width, cells, lines, metric):
    """Whether fire on its way along a link stands, or stood, at the crossing `i`; where, and since when."""
    at = np.float64(lines[2][i]) if k < 4 else 1.0 - lines[2][i]
    if lines[3][i]:
        return True, at, lines[5][i]
    before = _cost_to(at, y, k, width, metric)
    across = at * (cells[1][y, 0] * OX[k] + cells[1][y, 1] * OY[k])  # the front may come sooner than straight
    since = cells[0][y] + min(max(across, 0.0), before)
    return cells[0][y] + before < lines[4][lines[1][i]], at, since


@njit(cache=True, nogil=True)
def _is_out(i, y, k, now, width, cells, lines, metric):
    """Whether fire on its way from `y` has waited at the crossing `i` until it was out."""
    waits, _, since = _waits(i, y, k, width, cells, lines, metric)
    return waits and min(now, lines[4][lines[1][i]]) - since > lines[7][0]


@njit(cache=True, nogil=True)
def _elapsed(y, k, width, cells, metric, t):
    """Time since leaving burnt cell `y` as if the link were free: by the slope there, and by both ends."""
    time = cells[0]
    cost = _cost_to(1.0, y, k, width, metric)
    along = max(cells[1][y, 0] * OX[k] + cells[1][y, 1] * OY[k], SLOWEST * cost)
    ahead = time[y + OY[k] * width + OX[k]] - time[y]
    elapsed = (t - time[y]) * cost
    return elapsed / along, elapsed / (ahead if 0.0 < ahead < np.inf else along)


@njit(cache=True, nogil=True)
def _front_at(y, k, width, cells, lines, metric, t):
    """How far [part of the link] the front has come at `t` from burnt cell `y` in direction `k`."""
    x = y + OY[k] * width + OX[k]
    if cells[2][x] >= WALL:
        return 0.5
    by_slope, by_ends = _elapsed(y, k, width, cells, metric, t)
    part = _part_after(by_ends, y, k, width, metric)
    i = _crossing(y, k, width, lines)
    if i > 0:
        end = lines[4][lines[1][i]]
        waits, at, since = _waits(i, y, k, width, cells, lines, metric)
        if waits and (t < end or end - since > lines[7][0]):
            part = at if lines[3][i] else min(at, _part_after(by_slope, y, k, width, metric))
        elif waits:
            rest = cells[0][x] - end
            if not 0.0 < rest < np.inf:
                rest = _cost_to(1.0, y, k, width, metric) - _cost_to(at, y, k, width, metric)
            part = at + (1.0 - at) * (t - end) / max(rest, 1e-9)
    return min(max(part, NEAREST), 1.0 - NEAREST)


@njit(cache=True, nogil=True)
def _cross(number, piece, at, reached, since, lines, cross_link, counts):
    i = counts[CROSSINGS]
    counts[CROSSINGS] += 1
    y = number >> 2
    k = number & 3
    lines[0][number] = i
    lines[1][i] = piece
    lines[2][i] = at
    lines[3][i] = reached
    lines[5][i] = since
    lines[8][i] = np.inf
    lines[6][y] = 1
    lines[6][y + OY[k] * counts[WIDTH] + OX[k]] = 1
    cross_link[i] = number


@njit(cache=True, nogil=True)
def _stays(number, end, now, lines):
    """Whether a link is already blocked at least until `end`."""
    i = lines[0][number]
    if i == 0:
        return False
    until = lines[4][lines[1][i]]
    return until > now and until >= end


@njit(cache=True, nogil=True)
def _hold_front(y, k, piece, now, cells, lines, cross_link, counts, metric):
    """Block a link from burnt to unburnt where the front is on it. Fire that waits there waits on."""
    width = counts[WIDTH]
    number = _number(y, k, width)
    since = now
    i = _crossing(y, k, width, lines)
    if i > 0:
        if _is_out(i, y, k, now, width, cells, lines, metric):
            return
        waits, _, began = _waits(i, y, k, width, cells, lines, metric)
        if waits and lines[4][lines[1][i]] > now:
            since = min(began, now)
    at = _front_at(y, k, width, cells, lines, metric, now)
    _cross(number, piece, at if k < 4 else 1.0 - at, 1, since, lines, cross_link, counts)


@njit(cache=True, nogil=True)
def block_squares(squares, piece, now, cells, lines, cross_link, counts, metric):
    """Block every link between burnt and unburnt in the squares, where the front is on it."""
    status = cells[2]
    width = counts[WIDTH]
    end = lines[4][piece]
    for q in squares:
        for j in range(6):
            y = q + SQUARE[j, 0] + SQUARE[j, 1] * width
            k = SQUARE[j, 2]
            x = y + OY[k] * width + OX[k]
            if (status[y] == BURNT) == (status[x] == BURNT):
                continue
            if status[x] == BURNT:
                y, x, k = x, y, k + 4
            if status[x] >= WALL or _squeezed(y, k, width, status):
                continue
            if not _stays(_number(y, k, width), end, now, lines):
                _hold_front(y, k, piece, now, cells, lines, cross_link, counts, metric)


@njit(cache=True, nogil=True)
def _block_link(c, k, f, piece, now, cells, lines, cross_link, counts, metric):
    """Block one link at fraction `f` from its owner, unless the fire is past it or out beside it."""
    status = cells[2]
    width = counts[WIDTH]
    q = c + OY[k] * width + OX[k]
    if status[c] >= WALL or status[q] >= WALL or (status[c] == BURNT and status[q] == BURNT):
        return False
    number = 4 * c + k
    if _stays(number, lines[4][piece], now, lines):
        return False
    reached = 0
    if status[c] == BURNT or status[q] == BURNT:
        y, from_y, way = (c, f, k) if status[c] == BURNT else (q, 1.0 - f, k + 4)
        i = _crossing(y, way, width, lines)
        if i > 0 and _is_out(i, y, way, now, width, cells, lines, metric):
            return False
        beyond = _front_at(y, way, width, cells, lines, metric, now) - from_y
        if beyond > 1e-9:
            return False
        reached = 1 if beyond >= -1e-9 else 0
    _cross(number, piece, f, reached, now, lines, cross_link, counts)
    return True


@njit(cache=True, nogil=True)
def _round_tip(tip, reach, x, y, k, f, along):
    """How much longer the way is round a line's end than straight along a link; inf if that is not near.

    The end at `tip`, the link's owner at (x, y), crossed at `f`, `along` from the end by the line.
    """
    if along > reach:
        return np.inf
    if math.hypot(x + f * OX[k] - tip[0], y + f * OY[k] - tip[1]) < STRAIGHT * along:
        return np.inf
    there = math.hypot(x - tip[0], y - tip[1])
    return (there + math.hypot(x + OX[k] - tip[0], y + OY[k] - tip[1])) / LENGTH[k]


@njit(cache=True, nogil=True)
def block_polyline(points, along, reach, piece, now, cells, lines, cross_link, cross_tip, counts, metric):
    """Block every link that a polyline crosses. Its parts are at most a cell long (the caller's work).

    `along`: each point's distance from the first. Crossings within `reach` of an end can be gone round
    there if it is in sight; `cross_tip` becomes which end, 0 or 1.
    """
    width = counts[WIDTH]
    height = cells[0].size // width
    last = points.shape[0] - 1
    for j in range(last):
        x0 = points[j, 0]
        y0 = points[j, 1]
        sx = points[j + 1, 0] - x0
        sy = points[j + 1, 1] - y0
        for row in range(max(int(min(y0, y0 + sy)) - 1, 1), min(int(max(y0, y0 + sy)) + 2, height - 1)):
            for col in range(max(int(min(x0, x0 + sx)) - 1, 1), min(int(max(x0, x0 + sx)) + 2, width - 1)):
                for k in range(4):
                    d = OX[k] * sy - OY[k] * sx
                    if abs(d) < 1e-12:
                        continue
                    f = ((x0 - col) * sy - (y0 - row) * sx) / d
                    g = ((x0 - col) * OY[k] - (y0 - row) * OX[k]) / d
                    if f < -1e-9 or f > 1.0 + 1e-9 or g < -1e-9 or g > 1.0 + 1e-9:
                        continue
                    f = min(max(f, 0.0), 1.0)
                    c = row * width + col
                    if _block_link(c, k, f, piece, now, cells, lines, cross_link, counts, metric):
                        i = counts[CROSSINGS] - 1
                        s = along[j] + g * (along[j + 1] - along[j])
                        by_first = _round_tip(points[0], reach, col, row, k, f, s)
                        by_last = _round_tip(points[last], reach, col, row, k, f, along[last] - s)
                        lines[8][i] = min(by_first, by_last)
                        cross_tip[i] = 0 if by_first <= by_last else 1


@njit(cache=True, nogil=True)
def _outward(i, width, status, lines, cross_link):
    """Burnt cell, direction and whether the crossing `i` lies on a link from burnt to unburnt."""
    number = cross_link[i]
    y = number >> 2
    k = number & 3
    x = y + OY[k] * width + OX[k]
    if lines[0][number] != i or (status[y] == BURNT) == (status[x] == BURNT):
        return y, k, False
    return (y, k, True) if status[y] == BURNT else (x, k + 4, True)


@njit(cache=True, nogil=True)
def settle_waits(first, last, now, cells, lines, cross_link, counts, metric):
    """Note where fire has come to stand at crossings, and since when.

    It depends no longer on times that a change of weather states anew.
    """
    width = counts[WIDTH]
    for i in range(first, last):
        if lines[3][i]:
            continue
        y, k, outward = _outward(i, width, cells[2], lines, cross_link)
        if not outward:
            continue
        waits, _, since = _waits(i, y, k, width, cells, lines, metric)
        if waits and since <= now:
            lines[3][i] = 1
            lines[5][i] = since


@njit(cache=True, nogil=True)
def move_on(first, last, piece, now, cells, lines, cross_link, counts, metric):
    """Where fire waited at a crossing that has dried: restate how far it has come since, at `now`.

    The crossing passes to `piece`, which ends now; where fire came after it had dried and is past it, the
    link is free. A change of weather, or new water on the old line, then cannot pull the fire back.
    """
    width = counts[WIDTH]
    for i in range(first, last):
        if lines[4][lines[1][i]] > now:
            continue
        y, k, outward = _outward(i, width, cells[2], lines, cross_link)
        if not outward or _is_out(i, y, k, now, width, cells, lines, metric):
            continue
        waits, crossing, _ = _waits(i, y, k, width, cells, lines, metric)
        at = _front_at(y, k, width, cells, lines, metric, now)
        number = _number(y, k, width)
        if waits:
            _cross(number, piece, at if k < 4 else 1.0 - at, 1, now, lines, cross_link, counts)
        elif at > crossing:
            lines[0][number] = 0


@njit(cache=True, nogil=True)
def judge_drawn(near, slack, now, cells, lines, cross_link, counts, metric, kept):
    """Judge line anew where a perimeter has been drawn: what it lies beyond is passed and stops nothing.

    By more than `slack` cells for line that is wet now, so that a line drawn along is not lost to the
    width of the pen. Where an edge burnt before, nothing changes. Before growth is solved from there. Fills `kept` with the crossings that stay
    beside the perimeter; returns their number.
    """
    width = counts[WIDTH]
    n = 0
    for i in range(1, counts[CROSSINGS]):
        number = cross_link[i]
        c = number >> 2
        if lines[0][number] != i or not (near[c] or near[c + OY[number & 3] * width + OX[number & 3]]):
            continue
        y, k, outward = _outward(i, width, cells[2], lines, cross_link)
        if not outward:
            lines[3][i] = 0
        elif cells[9][y] == now:
            lines[3][i] = 0
            at = np.float64(lines[2][i]) if k < 4 else 1.0 - lines[2][i]
            _, elapsed = _elapsed(y, k, width, cells, metric, now)
            beyond = (_part_after(elapsed, y, k, width, metric) - at) * LENGTH[k]
            wet = lines[4][lines[1][i]] > now
            if beyond > (slack if wet else 0.0):
                lines[0][number] = 0
                continue
            if wet and beyond >= 0.0:
                lines[3][i] = 1
                lines[5][i] = now
        kept[n] = i
        n += 1
    return n


@njit(cache=True, nogil=True)
def _slowness(metric, c, nx, ny):
    """Seconds per cell at right angles to an edge with outward normal n: |p n + w| = a."""
    a = np.float64(metric[c, 0])
    wx = np.float64(metric[c, 1])
    wy = np.float64(metric[c, 2])
    wn = wx * nx + wy * ny
    return math.sqrt(max(wn * wn + a * a - wx * wx - wy * wy, 0.0)) - wn


@njit(cache=True, nogil=True)
def _to_front(y, width, t, cells, lines, old, new):
    """Time [s] from burnt cell `y` to the front at `t` by the `new` metric, and the slope with it.

    The least of two: at right angles to the edge, straight as far as `y` can tell, each part of the way
    timed with the cell it is in; and along the links to unburnt neighbours, to where the front is on
    them. The second rules where the edge bends sharply, so that the fire cannot jump ahead.
    """
    time, slope, status = cells[0], cells[1], cells[2]
    p = math.hypot(slope[y, 0], slope[y, 1])
    least = np.inf
    gx = 0.0
    gy = 0.0
    if p > 0.0:
        nx = slope[y, 0] / p
        ny = slope[y, 1] / p
        d = (t - time[y]) / p
        own = _slowness(new, y, nx, ny)
        least = d * own
        within = 0.5 / max(abs(nx), abs(ny))
        if d > within:
            reach = min(d, 1.5)
            z = y + int(np.rint(ny * reach)) * width + int(np.rint(nx * reach))
            if new[z, 0] < np.inf:
                d = within + (t - time[y] - within * p) / _slowness(old, z, nx, ny)
                least = within * own + (d - within) * _slowness(new, z, nx, ny)
        scaled = least / d if abs(d) > 1e-6 else own
        gx = scaled * nx
        gy = scaled * ny
    for k in range(8):
        x = y + OY[k] * width + OX[k]
        if status[x] == BURNT or status[x] >= WALL or _squeezed(y, k, width, status):
            continue
        cost = _cost_to(_front_at(y, k, width, cells, lines, old, t), y, k, width, new)
        if cost < least:
            least = cost
            gx = new[y, 0] * OX[k] / LENGTH[k] - new[y, 1]
            gy = new[y, 0] * OY[k] / LENGTH[k] - new[y, 2]
    return least, gx, gy


@njit(cache=True, nogil=True)
def hand_over(cells, lines, counts, old, new, t):
    """Weather change at `t`: restate the rim's times so that the front stays where it is.

    Everything ahead is forgotten.
    """
    time, slope, status, updates, told = cells[:5]
    level, marks, trial, arrival = cells[6:]
    width = counts[WIDTH]
    counts[SOURCES] = 0
    for i in range(counts[TRIALS]):
        for k in range(8):
            y = trial[i] + OY[k] * width + OX[k]
            if status[y] == BURNT and not marks[y]:
                marks[y] = 1
                least, slope[y, 0], slope[y, 1] = _to_front(y, width, t, cells, lines, old, new)
                time[y] = t - least
                level[y] = 0.0
    left = 0
    for i in range(counts[TRIALS]):
        c = trial[i]
        beside = False
        for k in range(8):
            y = c + OY[k] * width + OX[k]
            if status[y] == BURNT:
                marks[y] = 0
                beside = True
        time[c] = np.inf
        arrival[c] = np.inf
        level[c] = 0.0
        updates[c] = 0
        if beside:
            told[c] = FORGOTTEN
            trial[left] = c
            left += 1
        else:
            told[c] = WAITING
            status[c] = UNBURNT
    counts[TRIALS] = left


@njit(cache=True, nogil=True)
def contained(now, cells, lines, counts, metric, last_slot, slot):
    """Whether no unburnt cell that can still burn has a link to a burnt one that is not blocked for good."""
    status, trial, arrival = cells[2], cells[8], cells[9]
    width = counts[WIDTH]
    if counts[AT_EDGE]:
        return False
    for j in range(counts[TRIALS]):
        x = trial[j]
        if last_slot[x] < slot:
            continue
        if arrival[x] < np.inf:
            return False
        for k in range(8):
            y = x + OY[k] * width + OX[k]
            if status[y] != BURNT or _squeezed(x, k, width, status):
                continue
            i = _crossing(x, k, width, lines)
            if i == 0 or lines[8][i] < np.inf:
                return False
            if lines[4][lines[1][i]] < np.inf and not _is_out(
                i, y, (k + 4) & 7, now, width, cells, lines, metric
            ):
                return False
    return True


@njit(cache=True, nogil=True)
def _held_until(q, now, width, cells, lines, metric):
    """Until when the square `q` is held: −inf if any of its links is free, inf if nothing there burns."""
    status = cells[2]
    soonest = np.inf
    for j in range(6):
        y = q + SQUARE[j, 0] + SQUARE[j, 1] * width
        k = SQUARE[j, 2]
        x = y + OY[k] * width + OX[k]
        if (status[y] == BURNT) == (status[x] == BURNT):
            continue
        if status[x] == BURNT:
            y, x, k = x, y, k + 4
        if status[x] >= OUTSIDE:
            return -np.inf
        if status[x] >= WALL or _squeezed(y, k, width, status):
            continue
        i = _crossing(y, k, width, lines)
        if i > 0 and _is_out(i, y, k, now, width, cells, lines, metric):
            continue
        if i == 0 or lines[4][lines[1][i]] <= now:
            return -np.inf
        soonest = min(soonest, lines[4][lines[1][i]])
    return soonest


# Headings 0 east, 1 south, 2 west, 3 north, and the corners of a square seen on entering it.
STEP = np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])
LEFT = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
RIGHT = np.array([[0, 1], [0, 0], [1, 0], [1, 1]])
AHEAD_LEFT = np.array([[1, 0], [1, 1], [0, 1], [0, 0]])
AHEAD_RIGHT = np.array([[1, 1], [0, 1], [0, 0], [1, 0]])


@njit(cache=True, nogil=True)
def _corner(q, corners, heading, width):
    return q + corners[heading, 0] + corners[heading, 1] * width


@njit(cache=True, nogil=True)
def _walk(q, heading, n, now, cells, lines, counts, metric, xy, square, held):
    """Follow the contour from one crossing round to itself. New count, and whether it ran off the grid."""
    status, seen = cells[2], cells[7]
    width = counts[WIDTH]
    off = False
    while True:
        left = _corner(q, LEFT, heading, width)
        right = _corner(q, RIGHT, heading, width)
        if seen[right] & (1 << heading):
            return n, off
        seen[right] |= 1 << heading
        off = off or status[right] >= OUTSIDE
        k = 2 * ((heading + 1) & 3)
        part = _front_at(left, k, width, cells, lines, metric, now)
        xy[n, 0] = left % width + part * OX[k]
        xy[n, 1] = left // width + part * OY[k]
        square[n] = q
        held[n] = _held_until(q, now, width, cells, lines, metric)
        n += 1
        if status[_corner(q, AHEAD_RIGHT, heading, width)] == BURNT:
            heading = (heading + 1) & 3
        elif status[_corner(q, AHEAD_LEFT, heading, width)] != BURNT:
            heading = (heading + 3) & 3
        q += STEP[heading, 0] + STEP[heading, 1] * width


@njit(cache=True, nogil=True)
def trace(now, cells, lines, counts, metric, xy, square, held, starts, off):
    """All closed contours of the burnt area. Returns their number; ring j starts at `starts[j]`."""
    status, seen, lists = cells[2], cells[7], cells[8]
    width = counts[WIDTH]
    rings = 0
    n = 0
    starts[0] = 0
    for j in range(counts[TRIALS] + counts[WALLS]):
        x = lists[j] if j < counts[TRIALS] else lists[lists.size - 1 - (j - counts[TRIALS])]
        for heading in range(4):
            k = 2 * ((heading + 3) & 3)
            if status[x + OY[k] * width + OX[k]] != BURNT or seen[x] & (1 << heading):
                continue
            q = x - RIGHT[heading, 0] - RIGHT[heading, 1] * width
            n, off[rings] = _walk(q, heading, n, now, cells, lines, counts, metric, xy, square, held)
            rings += 1
            starts[rings] = n
    for j in range(counts[TRIALS] + counts[WALLS]):
        seen[lists[j] if j < counts[TRIALS] else lists[lists.size - 1 - (j - counts[TRIALS])]] = 0
    return rings
