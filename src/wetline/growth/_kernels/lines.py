"""Lines as blocked links, and the contour of the burnt area with what holds each part of it.

A crossing blocks one link at a fraction of its length until its piece of line dries out. Fire that
comes to it waits there, then goes on from there. Units and layout: `layout`.
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
    """Whether fire on its way along a link stands, or stood, at the crossing `i`; where that is."""
    at = np.float64(lines[2][i]) if k < 4 else 1.0 - lines[2][i]
    if lines[3][i]:
        return True, at
    return cells[0][y] + _cost_to(at, y, k, width, metric) < lines[4][lines[1][i]], at


@njit(cache=True, nogil=True)
def _front_at(y, k, width, cells, lines, metric, t):
    """How far [part of the link] the front has come at `t` from burnt cell `y` in direction `k`."""
    time, status = cells[0], cells[4]
    x = y + OY[k] * width + OX[k]
    if status[x] >= WALL:
        return 0.5
    cost = _cost_to(1.0, y, k, width, metric)
    along = max(cells[1][y] * OX[k] + cells[2][y] * OY[k], SLOWEST * cost)
    ahead = time[x] - time[y]
    elapsed = (t - time[y]) * cost
    part = _part_after(elapsed / (ahead if 0.0 < ahead < np.inf else along), y, k, width, metric)
    i = lines[0][_number(y, k, width)]
    if i > 0:
        end = lines[4][lines[1][i]]
        waits, at = _waits(i, y, k, width, cells, lines, metric)
        if waits and t < end:
            part = at if lines[3][i] else min(at, _part_after(elapsed / along, y, k, width, metric))
        elif waits:
            rest = time[x] - end
            if not 0.0 < rest < np.inf:
                rest = cost - _cost_to(at, y, k, width, metric)
            part = at + (1.0 - at) * (t - end) / max(rest, 1e-9)
    return min(max(part, NEAREST), 1.0 - NEAREST)


@njit(cache=True, nogil=True)
def _cross(number, piece, at, reached, lines, cross_link, counts):
    i = counts[CROSSINGS]
    counts[CROSSINGS] += 1
    lines[0][number] = i
    lines[1][i] = piece
    lines[2][i] = at
    lines[3][i] = reached
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
def block_squares(squares, piece, now, cells, lines, cross_link, counts, metric):
    """Block every link between burnt and unburnt in the squares, where the front is on it."""
    status = cells[4]
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
            number = _number(y, k, width)
            if _stays(number, end, now, lines):
                continue
            at = _front_at(y, k, width, cells, lines, metric, now)
            _cross(number, piece, at if k < 4 else 1.0 - at, 1, lines, cross_link, counts)


@njit(cache=True, nogil=True)
def _block_link(c, k, f, piece, now, cells, lines, cross_link, counts, metric):
    """Block one link at fraction `f` from its owner, unless the fire is past it."""
    status = cells[4]
    width = counts[WIDTH]
    q = c + OY[k] * width + OX[k]
    if status[c] >= WALL or status[q] >= WALL or (status[c] == BURNT and status[q] == BURNT):
        return
    number = 4 * c + k
    if _stays(number, lines[4][piece], now, lines):
        return
    reached = 0
    if status[c] == BURNT or status[q] == BURNT:
        if status[c] == BURNT:
            beyond = _front_at(c, k, width, cells, lines, metric, now) - f
        else:
            beyond = _front_at(q, k + 4, width, cells, lines, metric, now) - (1.0 - f)
        if beyond > 1e-9:
            return
        reached = 1 if beyond >= -1e-9 else 0
    _cross(number, piece, f, reached, lines, cross_link, counts)


@njit(cache=True, nogil=True)
def block_polyline(points, piece, now, cells, lines, cross_link, counts, metric):
    """Block every link that a polyline crosses. Its parts are at most a cell long (the caller's work)."""
    width = counts[WIDTH]
    height = cells[0].size // width
    for j in range(points.shape[0] - 1):
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
                    if -1e-9 <= f <= 1.0 + 1e-9 and -1e-9 <= g <= 1.0 + 1e-9:
                        f = min(max(f, 0.0), 1.0)
                        _block_link(
                            row * width + col,
                            k,
                            f,
                            piece,
                            now,
                            cells,
                            lines,
                            cross_link,
                            counts,
                            metric,
                        )


@njit(cache=True, nogil=True)
def move_on(first, last, piece, now, cells, lines, cross_link, counts, metric):
    """Where fire waited at a crossing that has dried: restate how far it has come since, at `now`.

    The crossing passes to `piece`, which ends now. A change of weather, or new water on the old line,
    then cannot pull the fire back.
    """
    status = cells[4]
    width = counts[WIDTH]
    for i in range(first, last):
        number = cross_link[i]
        if lines[0][number] != i or lines[4][lines[1][i]] > now:
            continue
        y = number >> 2
        k = number & 3
        x = y + OY[k] * width + OX[k]
        if (status[y] == BURNT) == (status[x] == BURNT):
            continue
        if status[x] == BURNT:
            y, x, k = x, y, k + 4
        waits, _ = _waits(i, y, k, width, cells, lines, metric)
        if waits:
            at = _front_at(y, k, width, cells, lines, metric, now)
            _cross(number, piece, at if k < 4 else 1.0 - at, 1, lines, cross_link, counts)


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
    time, slope_x, slope_y, status = cells[0], cells[1], cells[2], cells[4]
    p = math.hypot(slope_x[y], slope_y[y])
    least = np.inf
    gx = 0.0
    gy = 0.0
    if p > 0.0:
        nx = slope_x[y] / p
        ny = slope_y[y] / p
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
    time, slope_x, slope_y, source, status = cells[0], cells[1], cells[2], cells[3], cells[4]
    updates, told, queued, trial = cells[5], cells[6], cells[8], cells[9]
    width = counts[WIDTH]
    counts[SOURCES] = 0
    for i in range(counts[TRIALS]):
        for k in range(8):
            y = trial[i] + OY[k] * width + OX[k]
            if status[y] == BURNT and not queued[y]:
                queued[y] = 1
                least, slope_x[y], slope_y[y] = _to_front(y, width, t, cells, lines, old, new)
                time[y] = t - least
    left = 0
    for i in range(counts[TRIALS]):
        c = trial[i]
        beside = False
        for k in range(8):
            y = c + OY[k] * width + OX[k]
            if status[y] == BURNT:
                queued[y] = 0
                beside = True
        time[c] = np.inf
        source[c] = np.inf
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
def contained(cells, lines, counts, last_slot, slot):
    """Whether no unburnt cell that can still burn has a link to a burnt one that is not blocked for good."""
    source, status, trial = cells[3], cells[4], cells[9]
    width = counts[WIDTH]
    if counts[AT_EDGE]:
        return False
    for j in range(counts[TRIALS]):
        x = trial[j]
        if last_slot[x] < slot:
            continue
        if source[x] < np.inf:
            return False
        for k in range(8):
            y = x + OY[k] * width + OX[k]
            if status[y] != BURNT or _squeezed(x, k, width, status):
                continue
            i = lines[0][_number(x, k, width)]
            if i == 0 or lines[4][lines[1][i]] < np.inf:
                return False
    return True


@njit(cache=True, nogil=True)
def _held_until(q, now, width, status, lines):
    """Until when the square `q` is held: −inf if any of its links is free, inf if nothing there burns."""
    soonest = np.inf
    for j in range(6):
        y = q + SQUARE[j, 0] + SQUARE[j, 1] * width
        k = SQUARE[j, 2]
        x = y + OY[k] * width + OX[k]
        if (status[y] == BURNT) == (status[x] == BURNT):
            continue
        unburnt = y if status[x] == BURNT else x
        if status[unburnt] >= OUTSIDE:
            return -np.inf
        if status[unburnt] >= WALL or _squeezed(y, k, width, status):
            continue
        i = lines[0][_number(y, k, width)]
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
def _walk(q, heading, n, now, cells, lines, counts, metric, seen, xy, square, held):
    """Follow the contour from one crossing round to itself. New count, and whether it ran off the grid."""
    status = cells[4]
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
        held[n] = _held_until(q, now, width, status, lines)
        n += 1
        if status[_corner(q, AHEAD_RIGHT, heading, width)] == BURNT:
            heading = (heading + 1) & 3
        elif status[_corner(q, AHEAD_LEFT, heading, width)] != BURNT:
            heading = (heading + 3) & 3
        q += STEP[heading, 0] + STEP[heading, 1] * width


@njit(cache=True, nogil=True)
def trace(now, cells, lines, counts, metric, seen, xy, square, held, starts, off):
    """All closed contours of the burnt area. Returns their number; ring j starts at `starts[j]`."""
    status, trial, walls = cells[4], cells[9], cells[10]
    width = counts[WIDTH]
    rings = 0
    n = 0
    starts[0] = 0
    for j in range(counts[TRIALS] + counts[WALLS]):
        x = trial[j] if j < counts[TRIALS] else walls[j - counts[TRIALS]]
        for heading in range(4):
            k = 2 * ((heading + 3) & 3)
            if status[x + OY[k] * width + OX[k]] != BURNT or seen[x] & (1 << heading):
                continue
            q = x - RIGHT[heading, 0] - RIGHT[heading, 1] * width
            n, off[rings] = _walk(q, heading, n, now, cells, lines, counts, metric, seen, xy, square, held)
            rings += 1
            starts[rings] = n
    for j in range(counts[TRIALS]):
        seen[trial[j]] = 0
    for j in range(counts[WALLS]):
        seen[walls[j]] = 0
    return rings
