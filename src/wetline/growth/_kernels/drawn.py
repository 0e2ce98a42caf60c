"""From a perimeter drawn to burnt cells and times beside them, and forgetting what line has changed.

Units and layout: `layout`.
"""

import numpy as np
from numba import njit

from wetline.growth._kernels.layout import (
    AT_EDGE,
    BURNT,
    FORGOTTEN,
    NO_PARENT,
    OUTSIDE,
    OX,
    OY,
    SOURCES,
    TRIAL,
    TRIALS,
    UNBURNT,
    WAITING,
    WALL,
    WALLS,
    WIDTH,
)


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
def _count_inside(c, width, inside):
    n = 0
    for k in range(8):
        n += inside[c + OY[k] * width + OX[k]] == 1
    return n


@njit(cache=True, nogil=True)
def ignite(cells, counts, metric, inside, near, cost, ray, at):
    """Burn what lies within a perimeter drawn at `at`, and time the cells beside it.

    `inside`: 1 within the perimeter, 2 burnt although its centre lies just outside; so is a cell that
    the perimeter touches (`near` 2) and no cell within it is beside: a finger thinner than the cells
    is not lost. `cost` [s], where `near` is not 0: the least time between the cell's centre and the
    perimeter, inf if there is no straight way, along `ray`. What burns already, or sooner, stays.
    """
    time, slope, status, updates, told, parents, level = cells[:7]
    trial, arrival = cells[8], cells[9]
    width = counts[WIDTH]
    least = np.float32(np.inf)
    for i in range(counts[TRIALS]):
        least = min(least, level[trial[i]])
    if least == np.inf:
        least = np.float32(0.0)
    for c in range(time.size):
        if status[c] > TRIAL or not (inside[c] or near[c]):
            continue
        timed = near[c] != 0 and cost[c] < np.inf
        within = inside[c] == 1
        if within or inside[c] == 2 or (near[c] == 2 and timed and not _count_inside(c, width, inside)):
            status[c] = BURNT
            arrival[c] = at
            time[c] = at
            if timed:
                time[c] += -cost[c] if within else cost[c]
        elif timed and at + cost[c] < time[c]:
            arrival[c] = at + cost[c]
            time[c] = arrival[c]
            counts[SOURCES] += 1
            told[c] = WAITING
            updates[c] = 0
            parents[c] = NO_PARENT
            if status[c] == UNBURNT:
                status[c] = TRIAL
                trial[counts[TRIALS]] = c
                counts[TRIALS] += 1
        else:
            continue
        level[c] = least
        if timed:
            if not within:
                with_wind = metric[c, 1] * ray[c, 0] + metric[c, 2] * ray[c, 1]
                level[c] += cost[c] * metric[c, 0] / (metric[c, 0] - with_wind)
            slope[c, 0] = metric[c, 0] * ray[c, 0] - metric[c, 1]
            slope[c, 1] = metric[c, 0] * ray[c, 1] - metric[c, 2]
    for c in range(time.size):
        if status[c] != BURNT or not (inside[c] or near[c]):
            continue
        _see_neighbours(c, width, status, trial, counts)
        for k in range(8):
            q = c + OY[k] * width + OX[k]
            if status[q] == UNBURNT:
                status[q] = TRIAL
                level[q] = least + metric[q, 0]
                trial[counts[TRIALS]] = q
                counts[TRIALS] += 1
            if status[q] == TRIAL and arrival[q] == np.inf:
                told[q] = FORGOTTEN
    left = 0
    for i in range(counts[TRIALS]):
        c = trial[i]
        if status[c] == TRIAL:
            trial[left] = c
            left += 1
    counts[TRIALS] = left


@njit(cache=True, nogil=True)
def _forget_cell(c, width, cells, queue):
    """Forget a trial cell and every trial cell whose time came from it."""
    time, status, updates, told, parents, arrival = cells[0], cells[2], cells[3], cells[4], cells[5], cells[9]
    if status[c] != TRIAL:
        return
    arrival[c] = np.inf
    told[c] = FORGOTTEN
    if time[c] == np.inf:
        return
    time[c] = np.inf
    updates[c] = 0
    queue[0] = c
    head = 0
    tail = 1
    while head < tail:
        c = queue[head]
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
                queue[tail] = q
                tail += 1


@njit(cache=True, nogil=True)
def _forget_sources(c, width, cells, queue):
    """Forget what came straight from the perimeter near a new crossing: the way may be blocked."""
    status, parents, arrival = cells[2], cells[5], cells[9]
    height = status.size // width
    for row in range(max(c // width - 3, 0), min(c // width + 4, height)):
        for col in range(max(c % width - 3, 0), min(c % width + 4, width)):
            q = row * width + col
            if status[q] == TRIAL and arrival[q] < np.inf:
                arrival[q] = np.inf
                if parents[q] == NO_PARENT:
                    _forget_cell(q, width, cells, queue)


@njit(cache=True, nogil=True)
def forget(crossings, cells, counts, cross_link, link, queue):
    """Forget what was computed across the crossings."""
    width = counts[WIDTH]
    for i in crossings:
        c = cross_link[i] >> 2
        k = cross_link[i] & 3
        if link[cross_link[i]] == i:
            if counts[SOURCES]:
                _forget_sources(c, width, cells, queue)
            _forget_cell(c, width, cells, queue)
            _forget_cell(c + OY[k] * width + OX[k], width, cells, queue)
