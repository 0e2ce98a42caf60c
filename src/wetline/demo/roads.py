"""Roads: the easiest ways over the land from the village to where people have to be."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.demo.lakes import inside
from wetline.demo.lines import smooth
from wetline.demo.noise import fractal

if TYPE_CHECKING:
    from shapely.geometry import LineString, Polygon

    from wetline.demo.land import Land

__all__ = ["lay_roads"]

COARSE = 4
WET_COST = 60.0


def lay_roads(
    rng: np.random.Generator,
    land: Land,
    start: tuple[float, float],
    ends: list[tuple[float, float]],
    round_off: Polygon,
) -> list[LineString]:
    """One line [m] per end, each from the place where it leaves the roads laid before it.

    All go round what `round_off` [m] covers.
    """
    from scipy import sparse  # noqa: PLC0415 - heavy
    from scipy.sparse.csgraph import dijkstra  # noqa: PLC0415 - heavy

    height = land.waters.elevation_m[::COARSE, ::COARSE].astype(float)
    wet = np.where(land.shore_m[::COARSE, ::COARSE] < 60.0, WET_COST, 0.0)
    wet[inside(land.grid, [round_off])[::COARSE, ::COARSE] > 0] = 2 * WET_COST
    rows, cols = height.shape
    number = np.arange(rows * cols).reshape(rows, cols)
    step_m = land.grid.cell_m * COARSE
    ground = np.exp(
        0.5 * fractal(rng, height.shape, cell_m=step_m, longest_m=4_000, shortest_m=500, slope=2.4)
    )
    one, other, cost = [], [], []
    for dr, dc in ((0, 1), (1, 0), (1, 1), (1, -1)):
        here = (slice(0, rows - dr), slice(max(0, -dc), cols - max(0, dc)))
        there = (slice(dr, rows), slice(max(0, dc), cols + min(0, dc)))
        run = step_m * np.hypot(dr, dc)
        grade = np.abs(height[there] - height[here]) / run
        one.append(number[here].ravel())
        other.append(number[there].ravel())
        cost.append((run * (ground[here] + (grade / 0.05) ** 2 + wet[here] + wet[there])).ravel())
    graph = sparse.coo_array(
        (np.concatenate(cost), (np.concatenate(one), np.concatenate(other))), shape=(number.size, number.size)
    )

    def cell(point: tuple[float, float]) -> int:
        row, col = land.grid.index(*point)
        return int(number[min(int(row) // COARSE, rows - 1), min(int(col) // COARSE, cols - 1)])

    _, before = dijkstra(graph, directed=False, indices=np.array([cell(start)]), return_predecessors=True)
    used = {cell(start)}
    roads: list[LineString] = []
    for end in ends:
        at = cell(end)
        path = [at]
        while at not in used:
            at = int(before[0, at])
            path.append(at)
        used.update(path)
        if len(path) < 2:
            continue
        row, col = np.divmod(np.array(path), cols)
        points = np.column_stack(land.grid.xy(row * COARSE, col * COARSE))
        roads.append(cast("LineString", shapely.LineString(smooth(points, times=2)).simplify(4.0)))
    return roads
