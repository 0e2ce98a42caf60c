"""Rings of a burnt area: which belong to the edge, how long they are, which way they face."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import LinearRing, MultiPolygon, Polygon

from wetline.errors import SolverError
from wetline.grid import bearing_deg
from wetline.units import HECTARE

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["DrawnRing", "burnt_parts", "drawn_ring", "edge_length_m", "islands", "normals_deg"]

ISLAND_M2 = HECTARE
"""Unburnt islands from this size on belong to the edge."""
NORMAL_OVER_M = 100.0
"""Length of edge over which an outward normal is taken."""
TOLERANCE_M = 30.0
"""How far the edge is simplified before it is measured."""
_FINE_M = 5.0


@dataclass(frozen=True, slots=True)
class DrawnRing:
    """A ring as drawn, without its closing point, and the way from its simplified length to it.

    `drawn_m`: distance of each vertex along the ring as drawn, float64[n + 1]. `simple_m`: distance of
    each kept vertex along the simplified ring; `kept_m`: the same along the ring as drawn, rising; the
    last is the first, one turn on.
    """

    drawn: NDArray[np.float64]
    drawn_m: NDArray[np.float64]
    simple_m: NDArray[np.float64]
    kept_m: NDArray[np.float64]

    @property
    def length_m(self) -> float:
        """Length [m] on the simplified ring."""
        return float(self.simple_m[-1])

    def on_drawn_m(self, simple_m: ArrayLike) -> NDArray[np.float64]:
        """Distance along the ring as drawn of places on the simplified one, turns counted on."""
        turns, rest = np.divmod(simple_m, self.length_m)
        return np.asarray(np.interp(rest, self.simple_m, self.kept_m) + turns * self.drawn_m[-1], float)

    def at(self, drawn_m: ArrayLike) -> NDArray[np.float64]:
        """Points float64[n, 2] at distances along the ring as drawn, taken round it."""
        closed = np.vstack([self.drawn, self.drawn[:1]])
        s = np.asarray(drawn_m, float) % self.drawn_m[-1]
        return np.column_stack([np.interp(s, self.drawn_m, closed[:, k]) for k in (0, 1)])

    def between(self, first_m: float, last_m: float) -> NDArray[np.float64]:
        """The ring as drawn between two places [m] of its simplified length, at most one turn apart."""
        lo, hi = self.on_drawn_m([first_m, last_m])
        n, turn = len(self.drawn), self.drawn_m[-1]
        vertex_m = np.concatenate([self.drawn_m[:-1] + k * turn for k in range(3)])
        inside = np.flatnonzero((vertex_m > lo) & (vertex_m < hi))
        ends = self.at([lo, hi])
        return np.vstack([ends[:1], self.drawn[inside % n], ends[1:]])


def burnt_parts(burnt: Polygon | MultiPolygon) -> list[Polygon]:
    """The parts of a burnt area, largest first; ties from west to east and south to north."""
    polygons = list(burnt.geoms) if isinstance(burnt, MultiPolygon) else [burnt]
    polygons = [shapely.orient_polygons(p) for p in polygons if p.area > 0.0]
    return sorted(polygons, key=lambda p: (-p.area, p.bounds))


def islands(polygon: Polygon) -> list[LinearRing]:
    """The holes that belong to the edge, largest first."""
    holes = [hole for hole in polygon.interiors if Polygon(hole).area >= ISLAND_M2]
    return sorted(holes, key=lambda ring: (-Polygon(ring).area, ring.bounds))


def _from_its_far_corner(ring: LinearRing) -> LinearRing:
    """The same ring begun at the corner farthest from its middle, so that it matters not where it was begun."""
    middle = Polygon(ring).centroid
    xy = shapely.get_coordinates(ring)[:-1]
    away = np.round(np.hypot(xy[:, 0] - middle.x, xy[:, 1] - middle.y), 6)
    first = int(np.lexsort((xy[:, 1], xy[:, 0], -away))[0])
    turned = np.roll(xy, -first, axis=0)
    return LinearRing(np.vstack([turned, turned[:1]]))


def _simplified(ring: LinearRing, tolerance_m: float) -> LinearRing:
    """The ring simplified, less where it is so small that the tolerance would cut it to a triangle."""
    tolerance = min(tolerance_m, 0.1 * math.sqrt(Polygon(ring).area))
    return shapely.simplify(_from_its_far_corner(ring), tolerance, preserve_topology=True)


def edge_length_m(burnt: Polygon | MultiPolygon, tolerance_m: float = TOLERANCE_M) -> float:
    """Length of the edge [m]: outer contours and islands over 1 ha, on the simplified contour.

    The tolerance is at most a tenth of the square root of a ring's own area.
    """
    rings = [ring for p in burnt_parts(burnt) for ring in (p.exterior, *islands(p))]
    return float(sum(_simplified(ring, tolerance_m).length for ring in rings))


def _distances_m(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance of each vertex along an open ring, and its whole length last."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*(np.roll(xy, -1, axis=0) - xy).T))])


def drawn_ring(ring: LinearRing) -> DrawnRing:
    """A ring with every vertex of its simplified form found again among those drawn.

    Raises
    ------
    SolverError
        If that cannot be done: simplifying must only drop vertices.
    """
    drawn = np.asarray(ring.coords, float)[:-1, :2]
    kept = np.asarray(_simplified(ring, TOLERANCE_M).coords, float)[:-1, :2]
    n = len(drawn)
    drawn_m = _distances_m(drawn)
    place = {vertex: i for i, vertex in reversed(list(enumerate(map(tuple, drawn.tolist()))))}
    try:
        found = np.array([place[vertex] for vertex in map(tuple, kept.tolist())])
    except KeyError:
        message = "a corner of the simplified edge is not on the edge as drawn"
        raise SolverError(message) from None
    turns = np.concatenate([[0], np.cumsum(np.diff(found) <= 0)])
    index = found + n * turns
    if index[-1] >= index[0] + n:
        message = "the simplified edge goes round the edge as drawn more than once"
        raise SolverError(message)
    turns, rest = np.divmod(np.append(index, index[0] + n), n)
    return DrawnRing(drawn, drawn_m, _distances_m(kept), drawn_m[rest] + turns * drawn_m[-1])


def normals_deg(ring: DrawnRing, at_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Outward normals [deg] at distances along the ring as drawn, steps of a lattice smoothed away.

    The tangent joins the mean place of the edge over `NORMAL_OVER_M` behind to that over as much ahead.
    """
    turn = float(ring.drawn_m[-1])
    reach = min(NORMAL_OVER_M, turn / 8.0)
    n = max(64, math.ceil(turn / min(_FINE_M, reach / 8.0)))
    step = turn / n
    middle = ring.at((np.arange(n) + 0.5) * step)
    summed = np.vstack([[0.0, 0.0], np.cumsum(np.tile(middle, (3, 1)), axis=0)])
    place = np.arange(3 * n + 1) * step

    def total(s: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([np.interp(s, place, summed[:, k]) for k in (0, 1)])

    s = at_m % turn + turn
    tangent = total(s + reach) - 2.0 * total(s) + total(s - reach)
    return bearing_deg(tangent[:, 1], -tangent[:, 0])  # right of the walk
