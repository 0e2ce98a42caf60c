"""Crews' line as the model of growth takes it: from when, where, how long somebody counts on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.growth import Front
    from wetline.model import CrewLine

__all__ = ["LaidLine", "hold_along", "laid_lines"]

_DRAWN_OFF_M = 10.0
"""How far a line along the edge may be drawn inside it and still stand on it; common practice, no source."""
_BESIDE_M = 2.0
"""Where it then stands outside it: clear of what the front's edge differs from the drawn one; common practice."""
_POINTS_M = 10.0


@dataclass(frozen=True, slots=True)
class LaidLine:
    """A line `xy` float64[n, 2] [m] that stops the fire from `at_s` to `until_s` [s; inf: for good]."""

    at_s: float
    until_s: float
    xy: NDArray[np.float64]


def laid_lines(
    lines: Iterable[CrewLine], burnt: Polygon | MultiPolygon, *, start: datetime, now: datetime
) -> tuple[LaidLine, ...]:
    """The lines that stand by now and that somebody counts on, in the order of their times.

    Seconds count from `start`, when `burnt` was seen. A line built after now is a plan and stops nothing;
    so does one of which nobody says that it holds. Where a line that stood by `start` runs a few metres
    inside the edge it is moved onto it; where the fire is farther past it, it is lost.
    """
    out = []
    for line in lines:
        if not line.counted_in(start, now):
            continue
        at_s = max((line.time - start).total_seconds(), 0.0)
        until_s = math.inf if line.until is None else (line.until - start).total_seconds()
        xy = np.asarray(line.line.coords, float)[:, :2]
        out.append(LaidLine(at_s, until_s, _onto_edge(xy, burnt) if at_s == 0.0 else xy))
    return tuple(sorted(out, key=lambda laid: laid.at_s))


def _onto_edge(xy: NDArray[np.float64], burnt: Polygon | MultiPolygon) -> NDArray[np.float64]:
    """A line with what runs a little inside the burnt area, or on its edge, moved just outside."""
    dense = shapely.get_coordinates(shapely.segmentize(shapely.LineString(xy), _POINTS_M))
    points = shapely.points(dense)
    depth_m = np.asarray(shapely.distance(burnt.boundary, points), float)
    within = np.asarray(shapely.intersects(burnt, points), bool)
    beside = depth_m <= np.where(within, _DRAWN_OFF_M, _BESIDE_M)
    edge = burnt.buffer(_BESIDE_M).boundary
    moved = shapely.line_interpolate_point(edge, shapely.line_locate_point(edge, points))
    return np.where(beside[:, None], shapely.get_coordinates(moved), dense)


def hold_along(front: Front, lines: Iterable[LaidLine], cell_m: float) -> None:
    """Hold the edge drawn now wherever a line runs along it, within the width of the pen or half a cell.

    A line on the edge and the edge of cells cross to and fro: laid by itself it would leave holes.
    """
    reach_m = max(_DRAWN_OFF_M, 0.5 * cell_m)
    for ring in front.trace():
        middle = shapely.points(0.5 * (ring.xy + np.roll(ring.xy, -1, axis=0)))
        for line in lines:
            along = np.asarray(shapely.dwithin(shapely.LineString(line.xy), middle, reach_m), bool)
            for first, last in _runs(along):
                front.hold(ring, first, last, line.until_s)


def _runs(along: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last of each unbroken run round a ring."""
    n = len(along)
    if along.all():
        return [(0, n - 1)]
    starts = np.flatnonzero(along & ~np.roll(along, 1))
    ends = np.flatnonzero(along & ~np.roll(along, -1))
    if starts.size and ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    return list(zip(starts.tolist(), ends.tolist(), strict=True))
