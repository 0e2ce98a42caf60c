"""An independent way to arrival times: shortest paths over a finer grid with far neighbours.

Nothing of the solver's own is used: no slopes, no stencil of eight, no restated times. Every node has as
neighbours all that it sees within `reach` nodes (no two in one direction): 80 for 5, 144 for 7, 256 for
10. The time along an edge is summed in steps of at most half a node's spacing by the ellipse of the place
and the hour, so weather may change on the way; what crosses ground that does not burn, or two corners of it
that touch, is no edge, and fire that comes to a line waits at the crossing until that dries.

Its only error of weight is that of direction: with gaps of δ between neighbours a path is up to δ²/8 too
long, never too short, and the head of an ellipse multiplies that by 1 / (1 − e). The tests measure what is
left by refining.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import Polygon

    _Floats = NDArray[np.float64]
    _Flags = NDArray[np.bool_]
    _Ints = NDArray[np.int64]
    _Where = tuple[float, float, float]

__all__ = ["Ground", "reference_s"]


@dataclass(frozen=True)
class Ground:
    """Fields on nodes `cell_m` apart, row 0 north, centre of the north-west node at (west_m, north_m).

    Rates [m/s], bearings [deg] and eccentricities float64[slots, n, n], `burns` bool[n, n]; slots change
    at `edges_s`. `lines` float64[m, 5]: from (x, y) to (x, y), and when it dries [s].
    """

    cell_m: float
    west_m: float
    north_m: float
    rate_mps: NDArray[np.float64]
    toward_deg: NDArray[np.float64]
    eccentricity: NDArray[np.float64]
    burns: NDArray[np.bool_]
    edges_s: NDArray[np.float64]
    lines: NDArray[np.float64]


def reference_s(ground: Ground, burnt: Polygon, until_s: float, reach: int) -> NDArray[np.float64]:
    """Arrival [s] at every node from a perimeter seen at 0 s, inf beyond `until_s`."""
    n = ground.burns.shape[0]
    i, j = np.mgrid[:n, :n]
    x, y = ground.west_m + ground.cell_m * j, ground.north_m - ground.cell_m * i
    inside = shapely.contains_xy(burnt, x, y)
    points = shapely.points(x, y)
    beside = ~inside & ground.burns & np.asarray(shapely.dwithin(burnt, points, 4.0 * ground.cell_m))
    edge = shapely.get_coordinates(shapely.segmentize(burnt.exterior, 0.25 * ground.cell_m))
    angle = np.radians(ground.toward_deg)
    slow = 1.0 / (ground.rate_mps * (1.0 - ground.eccentricity))
    field = np.stack(
        (slow, slow * ground.eccentricity * np.sin(angle), slow * ground.eccentricity * np.cos(angle)),
        axis=-1,
    )
    where = (ground.cell_m, ground.west_m, ground.north_m)
    start = np.where(inside & ground.burns, 0.0, np.inf)
    _from_edge(start, beside, edge, field, ground.burns, ground.edges_s, ground.lines, where)
    steps = [
        (di, dj)
        for di in range(-reach, reach + 1)
        for dj in range(-reach, reach + 1)
        if math.gcd(di, dj) == 1
    ]
    found: NDArray[np.float64] = _shortest(
        start, np.array(steps), field, ground.burns, ground.edges_s, ground.lines, where, until_s
    )
    return found


@njit(nogil=True)
def _crossed(x0: float, y0: float, x1: float, y1: float, lines: _Floats, k: int) -> float:
    """Where a way crosses line `k`, as a part of its length, or 2."""
    sx, sy = lines[k, 2] - lines[k, 0], lines[k, 3] - lines[k, 1]
    d = (x1 - x0) * sy - (y1 - y0) * sx
    if d == 0.0:
        return 2.0
    f = ((lines[k, 0] - x0) * sy - (lines[k, 1] - y0) * sx) / d
    g = ((lines[k, 0] - x0) * (y1 - y0) - (lines[k, 1] - y0) * (x1 - x0)) / d
    return f if 0.0 <= f <= 1.0 and 0.0 <= g <= 1.0 else 2.0


@njit(nogil=True)
def _travel(
    t: float,
    x0: float,
    y0: float,
    x1: float,
    y1: float,
    field: _Floats,
    burns: _Flags,
    edges: _Floats,
    lines: _Floats,
    where: _Where,
) -> float:
    """When fire that leaves (x0, y0) at `t` is at (x1, y1), going straight; inf where it cannot."""
    cell, west, north = where
    slots = field.shape[0]
    steps = math.ceil(2.0 * math.hypot(x1 - x0, y1 - y0) / cell)
    dx, dy = (x1 - x0) / steps, (y1 - y0) / steps
    length = math.hypot(dx, dy)
    at = np.full(lines.shape[0], 2.0)
    for k in range(lines.shape[0]):
        at[k] = _crossed(x0, y0, x1, y1, lines, k)
    slot = 0
    before = (0, 0)
    for s in range(steps):
        col = math.floor((x0 + (s + 0.5) * dx - west) / cell + 0.5)
        row = math.floor((north - y0 - (s + 0.5) * dy) / cell + 0.5)
        if row < 0 or col < 0 or row >= burns.shape[0] or col >= burns.shape[1] or not burns[row, col]:
            return np.inf
        corner = s > 0 and row != before[0] and col != before[1]
        if corner and not burns[row, before[1]] and not burns[before[0], col]:
            return np.inf
        before = (row, col)
        for k in range(lines.shape[0]):
            if s <= at[k] * steps < s + 1 and t < lines[k, 4]:
                t = lines[k, 4]
        left = 1.0
        while True:
            while slot < slots - 1 and t >= edges[slot + 1]:
                slot += 1
            cost = (
                field[slot, row, col, 0] * length
                - field[slot, row, col, 1] * dx
                - field[slot, row, col, 2] * dy
            )
            if slot == slots - 1 or t + left * cost <= edges[slot + 1]:
                t += left * cost
                break
            left -= (edges[slot + 1] - t) / cost
            t = edges[slot + 1]
    return t


@njit(nogil=True)
def _from_edge(
    start: _Floats,
    beside: _Flags,
    edge: _Floats,
    field: _Floats,
    burns: _Flags,
    edges: _Floats,
    lines: _Floats,
    where: _Where,
) -> None:
    cell, west, north = where
    for i in range(start.shape[0]):
        for j in range(start.shape[1]):
            if beside[i, j]:
                x, y = west + cell * j, north - cell * i
                for p in range(edge.shape[0]):
                    if math.hypot(edge[p, 0] - x, edge[p, 1] - y) < 12.0 * cell:
                        t = _travel(0.0, edge[p, 0], edge[p, 1], x, y, field, burns, edges, lines, where)
                        start[i, j] = min(start[i, j], t)


@njit(nogil=True)
def _shortest(
    start: _Floats,
    steps: _Ints,
    field: _Floats,
    burns: _Flags,
    edges: _Floats,
    lines: _Floats,
    where: _Where,
    until: float,
) -> _Floats:
    cell, west, north = where
    rows, cols = start.shape
    time = start.copy()
    done = np.zeros((rows, cols), np.bool_)
    heap = [(time[i, j], i, j) for i in range(rows) for j in range(cols) if time[i, j] < np.inf]
    heapq.heapify(heap)
    while heap:
        t, i, j = heapq.heappop(heap)
        if done[i, j]:
            continue
        if t > until:
            break
        done[i, j] = True
        x, y = west + cell * j, north - cell * i
        for k in range(steps.shape[0]):
            p, q = i + steps[k, 0], j + steps[k, 1]
            if p < 0 or q < 0 or p >= rows or q >= cols or done[p, q] or not burns[p, q]:
                continue
            v = _travel(t, x, y, west + cell * q, north - cell * p, field, burns, edges, lines, where)
            if v < time[p, q]:
                time[p, q] = v
                heapq.heappush(heap, (v, p, q))
    for i in range(rows):
        for j in range(cols):
            if not done[i, j]:
                time[i, j] = np.inf
    return time
