"""How the state of a front lies in memory.

Cells are numbered row by row in a frame of `PAD` cells around the grid, rows running south. Positions
are (column, row) in that frame [cells], times [s], rates as slowness [s per cell].

Neighbour `k` of a cell lies at `OX[k]`, `OY[k]`, `LENGTH[k]` cells away; `k + 4` is opposite. Each of
the four links `k < 4` belongs to the cell it starts from: link number `4 * cell + k`.
"""

import numpy as np

PAD = 2
OX = np.array([1, 1, 0, -1, -1, -1, 0, 1])
OY = np.array([0, 1, 1, 1, 0, -1, -1, -1])
LENGTH = np.array([1.0, np.sqrt(2.0)] * 4)

# What a cell is. A wall never burns; the outside is off the grid; `SEEN`: the fire stands beside it.
UNBURNT, TRIAL, BURNT, WALL, WALL_SEEN, OUTSIDE, OUTSIDE_SEEN = range(7)

# Whether a trial cell's time has gone to its neighbours.
WAITING, TOLD, FORGOTTEN = range(3)

# Both parents of a cell that got its time from the perimeter itself.
NO_PARENT = 255

# Counters of a front.
WIDTH, TRIALS, WALLS, PIECES, CROSSINGS, AT_EDGE, SOURCES, EVALUATIONS = range(8)
COUNTERS = 8
