"""The way by which a fire came to a place: its own earliest-arrival path, traced back to the edge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.grid import along, bearing_deg

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.behaviour import FireFields
    from wetline.grid import Grid

__all__ = ["RunPath", "farthest_ahead", "trace_back"]

_STEP_CELLS = 0.5
_LAST_CELLS = 1.5
"""So near [cells] to the edge it began at, the fire is taken to have come straight."""
_SMOOTH_CELLS = 0.25
"""How far [cells] the path is simplified before it is measured: never along steps of the lattice."""
_AROUND = tuple((row, col) for row in (-1, 0, 1) for col in (-1, 0, 1) if row or col)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPath:
    """A run from the edge to where the fire has come, `line` float64[n, 2] [m], over `seconds`."""

    line: NDArray[np.float64]
    seconds: float

    @property
    def length_m(self) -> float:
        """Length [m] along the path."""
        return float(np.hypot(*np.diff(self.line, axis=0).T).sum())

    @property
    def mean_rate_mps(self) -> float:
        """Mean rate along the path; NaN for a run without time."""
        return self.length_m / self.seconds if self.seconds > 0.0 else math.nan

    @property
    def toward_deg(self) -> float:
        """Grid bearing from its start to its end."""
        east, north = self.line[-1] - self.line[0]
        return float(bearing_deg(east, north))

    def points(self, step_m: float) -> NDArray[np.float64]:
        """Points float64[n, 2] at even steps of at most `step_m`, each for its own share of the length."""
        n = max(1, math.ceil(self.length_m / step_m))
        places = shapely.line_interpolate_point(
            shapely.LineString(self.line), (np.arange(n) + 0.5) / n, normalized=True
        )
        return np.asarray(shapely.get_coordinates(places), float)


def farthest_ahead(
    outlines: Sequence[NDArray[np.float64]], burnt: Polygon | MultiPolygon
) -> tuple[tuple[float, float], float] | None:
    """The point of later outlines [m] farthest from the area burnt now, and how far; None without outlines."""
    if not outlines:
        return None
    xy = np.vstack(outlines)
    away = np.asarray(shapely.distance(burnt, shapely.points(xy)), float)
    i = int(np.argmax(away))
    return (float(xy[i, 0]), float(xy[i, 1])), float(away[i])


def trace_back(
    arrival_s: NDArray[np.float64],
    fields: FireFields,
    burnt: Polygon | MultiPolygon,
    end: tuple[float, float],
    *,
    since_s: float,
    by_s: float,
) -> RunPath | None:
    """The path by which the fire came to `end` [m] from the edge of what had burnt at `since_s`.

    It follows the rays of the front back in steps of half a cell, and where no ray can be told (beside what
    does not burn, at line that held) the neighbour that burnt first. Where fire waited, the wait belongs to
    the path.

    Parameters
    ----------
    arrival_s
        float64[r, c] on the fields' grid, seconds after their start; inf where the fire has not come.
    burnt
        The area burnt at `since_s` [grid metres].
    by_s
        When the fire was at `end` at the latest: the time of the outline that it lies on.

    Returns
    -------
    RunPath or None
        None where no fire has come to within a cell of `end`.

    References
    ----------
    The time of a step v is a|v| − w·v with a = 1/(R(1 − e)), w = e a h, h the head's direction; so the
    gradient p of arrival and the ray d, of length 1, obey a d = p + w.
    """
    cell = _burnt_cell(arrival_s, fields, end)
    if cell is None:
        return None
    grid = fields.grid
    near = burnt.buffer(_LAST_CELLS * grid.cell_m)
    shapely.prepare(near)
    reached_s = _time_near(arrival_s, grid, cell, end)
    points = [np.array(end)]
    while not near.intersects(shapely.Point(points[-1])):
        ray = _ray(arrival_s, fields, cell)
        before, place = cell, None
        if ray is not None:
            place = points[-1] - _STEP_CELLS * grid.cell_m * ray
            before = _cell_at(grid, place) or cell
        if place is None or (before != cell and not arrival_s[before] < arrival_s[cell]):
            before = _earliest_beside(arrival_s, cell)
            place = np.array(grid.xy(*before))
            if before == cell:
                break
        points.append(place)
        cell = before
    points.append(_on_edge(burnt, points[-1], _ray(arrival_s, fields, cell), 2.0 * _LAST_CELLS * grid.cell_m))
    line = shapely.simplify(shapely.LineString(points[::-1]), _SMOOTH_CELLS * grid.cell_m)
    return RunPath(
        line=np.asarray(shapely.get_coordinates(line), float),
        seconds=max(min(reached_s, by_s) - since_s, 0.0),
    )


def _cell_at(grid: Grid, place: NDArray[np.float64]) -> tuple[int, int] | None:
    if not grid.holds(place[0], place[1]):
        return None
    row, col = grid.index(place[0], place[1])
    return int(row), int(col)


def _burnt_cell(
    arrival_s: NDArray[np.float64], fields: FireFields, end: tuple[float, float]
) -> tuple[int, int] | None:
    """The burnt cell nearest to a point, within a cell of it."""
    grid = fields.grid
    row, col = (math.floor(float(i)) for i in grid.rowcol(*end))
    rows, cols = np.mgrid[row - 1 : row + 3, col - 1 : col + 3]
    on = (rows >= 0) & (rows < grid.rows) & (cols >= 0) & (cols < grid.cols)
    rows, cols = rows[on], cols[on]
    x, y = grid.xy(rows, cols)
    away = np.where(np.isfinite(arrival_s[rows, cols]), np.hypot(x - end[0], y - end[1]), np.inf)
    if not away.size or not away.min() <= 1.5 * grid.cell_m:
        return None
    i = int(np.argmin(away))
    return int(rows[i]), int(cols[i])


def _gradient(
    arrival_s: NDArray[np.float64], cell_m: float, cell: tuple[int, int]
) -> NDArray[np.float64] | None:
    """How arrival changes to the east and to the north [s/m]; one-sided beside what has not burnt."""
    out = np.zeros(2)
    here = float(arrival_s[cell])
    for axis, (row, col) in enumerate(((0, 1), (-1, 0))):  # rows count southward
        sides = []
        for sign in (1, -1):
            r, c = cell[0] + sign * row, cell[1] + sign * col
            on = 0 <= r < arrival_s.shape[0] and 0 <= c < arrival_s.shape[1]
            if on and np.isfinite(arrival_s[r, c]):
                sides.append(sign * (float(arrival_s[r, c]) - here) / cell_m)
        if not sides:
            return None
        out[axis] = np.mean(sides)
    return out


def _ray(
    arrival_s: NDArray[np.float64], fields: FireFields, cell: tuple[int, int]
) -> NDArray[np.float64] | None:
    """The direction (east, north), of length 1, in which fire came through a cell; None if not to be told."""
    gradient = _gradient(arrival_s, fields.grid.cell_m, cell)
    time_s = float(np.clip(arrival_s[cell] - 1e-3, fields.edges_s[0], fields.edges_s[-1]))
    at = (fields.slot(time_s), *cell)
    rate, ecc = float(fields.head_rate_mps[at]), float(fields.eccentricity[at])
    if gradient is None or rate <= 0.0:
        return None
    head = np.array(along(float(fields.head_toward_deg[at])))
    ray = gradient + ecc / (rate * (1.0 - ecc)) * head
    length = float(np.hypot(*ray))
    return ray / length if length > 0.0 else None


def _earliest_beside(arrival_s: NDArray[np.float64], cell: tuple[int, int]) -> tuple[int, int]:
    """The neighbour that burnt first, or the cell itself if none burnt before it."""
    beside = [(cell[0] + row, cell[1] + col) for row, col in _AROUND]
    beside = [(r, c) for r, c in beside if 0 <= r < arrival_s.shape[0] and 0 <= c < arrival_s.shape[1]]
    return min([cell, *beside], key=lambda place: float(arrival_s[place]))


def _time_near(
    arrival_s: NDArray[np.float64], grid: Grid, cell: tuple[int, int], place: tuple[float, float]
) -> float:
    """Arrival [s] at a place beside the middle of a burnt cell, by the slope of the times there."""
    here = float(arrival_s[cell])
    gradient = _gradient(arrival_s, grid.cell_m, cell)
    if gradient is None:
        return here
    x, y = grid.xy(*cell)
    return max(here, here + float(gradient @ np.array([place[0] - float(x), place[1] - float(y)])))


def _on_edge(
    burnt: Polygon | MultiPolygon,
    place: NDArray[np.float64],
    ray: NDArray[np.float64] | None,
    within_m: float,
) -> NDArray[np.float64]:
    """Where the fire left the edge on its way to a place beside it: straight back, or the nearest point."""
    edge, point = burnt.boundary, shapely.Point(place)
    if ray is not None:
        met = shapely.LineString([place, place - within_m * ray]).intersection(edge)
        if not met.is_empty:
            corners = shapely.get_coordinates(met)
            return np.asarray(corners[int(np.argmin(np.hypot(*(corners - place).T)))], float)
    nearest = edge.interpolate(edge.project(point))
    return np.array([nearest.x, nearest.y])
