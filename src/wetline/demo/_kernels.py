"""Water running over a lattice of heights: flooding, gathering, carving.

Heights are int32 in the caller's step (decimetres or centimetres, 0 ≤ z < 2^20); lattices hold at
most 2^21 cells. Flat cell numbers are row-major. Eight neighbours.
"""

from __future__ import annotations

import numpy as np
from numba import njit

_ROW_STEP = np.array([-1, -1, -1, 0, 0, 1, 1, 1], np.int64)
_COL_STEP = np.array([-1, 0, 1, -1, 1, -1, 0, 1], np.int64)


@njit(cache=True, nogil=True)
def flood(z, outlet, rise, filled, parent, order):
    """Raise every cell until it spills to an outlet (priority-flood; Barnes et al. 2014).

    `outlet` uint8: where water leaves. `rise`: least step up from a cell to the one that drains
    into it. Writes `filled` (the raised heights), `parent` (the cell drained into; itself at an
    outlet) and `order` (cells from the outlets upward). Returns the number of cells reached.
    """
    rows, cols = z.shape
    count = rows * cols
    heap = np.empty(count, np.int64)
    size = 0
    pushed = 0
    seen = np.zeros(count, np.uint8)
    for cell in range(count):
        row = cell // cols
        col = cell - row * cols
        if outlet[row, col]:
            filled[row, col] = z[row, col]
            parent[cell] = cell
            seen[cell] = 1
            key = (np.int64(z[row, col]) << 42) | (np.int64(pushed) << 21) | np.int64(cell)
            pushed += 1
            at = size
            size += 1
            while at > 0 and heap[(at - 1) >> 1] > key:
                heap[at] = heap[(at - 1) >> 1]
                at = (at - 1) >> 1
            heap[at] = key
    done = 0
    while size > 0:
        cell = heap[0] & 0x1FFFFF
        size -= 1
        last = heap[size]
        at = 0
        while True:
            child = 2 * at + 1
            if child >= size:
                break
            if child + 1 < size and heap[child + 1] < heap[child]:
                child += 1
            if heap[child] >= last:
                break
            heap[at] = heap[child]
            at = child
        heap[at] = last
        order[done] = cell
        done += 1
        row = cell // cols
        col = cell - row * cols
        for k in range(8):
            r = row + _ROW_STEP[k]
            c = col + _COL_STEP[k]
            if r < 0 or c < 0 or r >= rows or c >= cols:
                continue
            near = r * cols + c
            if seen[near]:
                continue
            seen[near] = 1
            parent[near] = cell
            level = max(z[r, c], filled[row, col] + rise)
            filled[r, c] = level
            key = (np.int64(level) << 42) | (np.int64(pushed) << 21) | near
            pushed += 1
            at = size
            size += 1
            while at > 0 and heap[(at - 1) >> 1] > key:
                heap[at] = heap[(at - 1) >> 1]
                at = (at - 1) >> 1
            heap[at] = key
    return done


@njit(cache=True, nogil=True)
def gather(parent, order, cells):
    """Add to every cell of `cells` what drains into it, itself included (float64, in place)."""
    for k in range(order.size - 1, -1, -1):
        cell = order[k]
        if parent[cell] != cell:
            cells[parent[cell]] += cells[cell]


@njit(cache=True, nogil=True)
def carve(z, parent, order, cells, cols, strength, exponent):
    """One implicit step of stream-power incision, in place (Braun & Willett 2013, eq. 22, n = 1).

    `z` float64 flat [m], `cells` gathered cells, `strength` [1] per step at one cell of area.
    """
    for k in range(order.size):
        cell = order[k]
        below = parent[cell]
        if below == cell:
            continue
        run = 1.0
        if cell // cols != below // cols and cell % cols != below % cols:
            run = 1.4142135623730951
        share = strength * cells[cell] ** exponent / run
        if z[cell] > z[below]:
            z[cell] = (z[cell] + share * z[below]) / (1.0 + share)
