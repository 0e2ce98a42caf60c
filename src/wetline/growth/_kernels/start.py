"""Cells within a perimeter, and times from the perimeter. Layout: `layout`."""

import math

import numpy as np
from numba import njit

from wetline.growth._kernels.layout import PAD


@njit(cache=True, nogil=True)
def fill_inside(segments, width, height, inside, burnable):
    """Set 1 in `inside` where a cell's centre lies within the closed segments (even-odd rule).

    Returns the number of burnable cells set.
    """
    rows_lo = int(min(segments[:, 1].min(), segments[:, 3].min()))
    rows_hi = int(max(segments[:, 1].max(), segments[:, 3].max())) + 1
    rows_lo = max(rows_lo, PAD)
    rows_hi = min(rows_hi, height - PAD - 1)
    if rows_hi < rows_lo:
        return 0
    flips = np.zeros((rows_hi - rows_lo + 1, width + 1), np.uint8)
    for j in range(segments.shape[0]):
        x0, y0, x1, y1 = segments[j]
        first = max((math.ceil(min(y0, y1))), rows_lo)
        for row in range(first, rows_hi + 1):
            if row >= max(y0, y1):
                break
            x = x0 + (row - y0) / (y1 - y0) * (x1 - x0)
            col = math.ceil(min(max(x, 0.0), float(width)))
            flips[row - rows_lo, col] ^= 1
    found = 0
    for row in range(rows_lo, rows_hi + 1):
        within = 0
        for col in range(width - PAD):
            within ^= flips[row - rows_lo, col]
            c = row * width + col
            if within and col >= PAD:
                inside[c] = 1
                found += burnable[c]
    return found


@njit(cache=True, nogil=True)
def _open(x0, y0, x1, y1, width, metric):
    """Whether a straight path meets no cell that never burns, not even at its corner."""
    n = (math.ceil(math.hypot(x1 - x0, y1 - y0) * 10.0)) + 1
    dx = (x1 - x0) / n
    dy = (y1 - y0) / n
    r = math.hypot(dx, dy)
    side = 0.02 / r if r > 0.0 else 0.0
    for i in range(n + 1):
        for j in (-side, 0.0, side):
            x = x0 + i * dx - j * dy
            y = y0 + i * dy + j * dx
            if metric[(math.floor(y + 0.5)) * width + (math.floor(x + 0.5)), 0] == np.inf:
                return False
    return True


@njit(cache=True, nogil=True)
def _cost(x, y, vx, vy, width, metric):
    """Time [s] straight along (vx, vy) from (x, y), each part of the way by the cell it is in."""
    n = math.ceil(2.0 * math.hypot(vx, vy)) + 1
    vx /= n
    vy /= n
    r = math.hypot(vx, vy)
    t = 0.0
    for i in range(n):
        c = math.floor(y + (i + 0.5) * vy + 0.5) * width + math.floor(x + (i + 0.5) * vx + 0.5)
        t += metric[c, 0] * r - metric[c, 1] * vx - metric[c, 2] * vy
    return t


@njit(cache=True, nogil=True)
def _nearest(px, py, x0, y0, x1, y1, a, wx, wy, outward):
    """The point of a segment from which (outward 1) or to which (−1) the fire takes the least time."""
    ux = x1 - x0
    uy = y1 - y0
    length = math.hypot(ux, uy)
    if length == 0.0:
        return x0, y0
    ux /= length
    uy /= length
    along = (px - x0) * ux + (py - y0) * uy
    off = abs((px - x0) * uy - (py - y0) * ux)
    wu = wx * ux + wy * uy
    along -= outward * off * wu / math.sqrt(a * a - wu * wu)
    along = min(max(along, 0.0), length)
    return x0 + along * ux, y0 + along * uy


@njit(cache=True, nogil=True)
def time_perimeter(segments, reach, width, height, metric, inside, near, cost, ray):
    """Least time [s] between cells within `reach` cells of the perimeter and the perimeter.

    Outside, from it; inside, to it. Segments run with the burnt side on their left (seen with north
    up). `near`: zeros; becomes 1 within reach, 2 where the perimeter touches the cell. `cost` and `ray` hold
    where `near` is not 0; `cost` is inf there if no straight way is open.
    """
    longest = 1.0
    for j in range(segments.shape[0]):
        x0, y0, x1, y1 = segments[j]
        for row in range(max(int(min(y0, y1) - reach), PAD), min(int(max(y0, y1) + reach) + 2, height - PAD)):
            for col in range(
                max(int(min(x0, x1) - reach), PAD), min(int(max(x0, x1) + reach) + 2, width - PAD)
            ):
                c = row * width + col
                if near[c] == 2 or metric[c, 0] == np.inf:
                    continue
                x, y = _nearest(col, row, x0, y0, x1, y1, 1.0, 0.0, 0.0, 1.0)
                if math.hypot(x - col, y - row) <= reach:
                    cost[c] = np.inf
                    near[c] = 2 if max(abs(x - col), abs(y - row)) <= 0.5 else 1
                    e = math.hypot(metric[c, 1], metric[c, 2]) / metric[c, 0]
                    longest = max(longest, 1.0 / math.sqrt(1.0 - e * e))
    reach = min(reach * longest, 12.0)
    for j in range(segments.shape[0]):
        x0, y0, x1, y1 = segments[j]
        for row in range(max(int(min(y0, y1) - reach), PAD), min(int(max(y0, y1) + reach) + 2, height - PAD)):
            for col in range(
                max(int(min(x0, x1) - reach), PAD), min(int(max(x0, x1) + reach) + 2, width - PAD)
            ):
                c = row * width + col
                if not near[c]:
                    continue
                a = np.float64(metric[c, 0])
                wx = np.float64(metric[c, 1])
                wy = np.float64(metric[c, 2])
                outward = -1.0 if inside[c] == 1 else 1.0
                x, y = _nearest(col, row, x0, y0, x1, y1, a, wx, wy, outward)
                vx = outward * (col - x)
                vy = outward * (row - y)
                r = math.hypot(vx, vy)
                t = _cost(x, y, vx, vy, width, metric) if outward > 0.0 else a * r - wx * vx - wy * vy
                if t >= cost[c]:
                    continue
                if outward > 0.0 and not _open(x, y, col, row, width, metric):
                    continue
                cost[c] = t
                if r > 1e-9:
                    ray[c, 0] = vx / r
                    ray[c, 1] = vy / r
                else:
                    length = math.hypot(x1 - x0, y1 - y0)
                    nx = -(y1 - y0) / length
                    ny = (x1 - x0) / length
                    wn = wx * nx + wy * ny
                    p = math.sqrt(wn * wn + a * a - wx * wx - wy * wy) - wn
                    ray[c, 0] = (p * nx + wx) / a
                    ray[c, 1] = (p * ny + wy) / a
