"""Straight clear water in a polygon of metres: every usable band for every heading, each lane proved.

A lane is a rectangle, `length` long and `clear` to each side of its centreline, that lies inside
the water; nothing is asked beyond its ends. A *band* is a continuous range of offsets across the
heading over which a long enough lane exists and neither splits (an island, a headland) nor joins
another; each band is given by its longest lane, laid in the middle of the free water beside it.

For a heading the result is exact: a lane's length and clearance are within 1 µm of what the drawn
shore allows. Between headings nothing is searched; take a smaller step to lose less.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.errors import InputError, OutsideRangeError, Problem, SolverError

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    Area = Polygon | MultiPolygon

__all__ = ["Mended", "Strip", "check_asked", "lanes_in", "longest_lane", "mended"]

SLACK_M = 1e-6
"""A strait exactly as wide as asked for is wide enough: the noise of coordinates in metres."""
_SHORTEST_M = 1.0
_LONGEST_M = 1.0e5


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """The longest lane of one band, without direction: `heading_deg` and its opposite.

    `clear_m`: the half-width asked for, free on each side. `width_m`: free water across, over the
    whole length; the lane lies in its middle. Points (x, y) [m].
    """

    heading_deg: float
    length_m: float
    clear_m: float
    width_m: float
    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def middle(self) -> tuple[float, float]:
        """The point half way (x, y) [m]."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


@dataclass(frozen=True, slots=True)
class Mended:
    """Water made valid. `note` says what was wrong with it, None if nothing was."""

    polygon: Area | None
    note: str | None


def mended(geometry: BaseGeometry) -> Mended:
    """The polygons of a geometry, joined where they touch, with broken rings repaired.

    Shells are united and holes taken out, so that a ring drawn wrongly never turns land to water.
    """
    notes = []
    if not shapely.is_valid(geometry):
        notes.append(f"repaired: {shapely.is_valid_reason(geometry).split('[')[0].strip().lower()}")
        geometry = shapely.make_valid(geometry, method="structure", keep_collapsed=False)
    pieces = shapely.get_parts(geometry)
    if geometry.geom_type == "GeometryCollection":
        pieces = shapely.get_parts(pieces)
    kinds = shapely.get_type_id(pieces)
    areas = pieces[kinds == shapely.GeometryType.POLYGON]
    if len(areas) < len(pieces):
        notes.append(f"{len(pieces) - len(areas)} points or lines left out")
    joined = shapely.union_all(areas)
    if shapely.is_empty(joined):
        return Mended(None, "; ".join([*notes, "holds no water"]))
    return Mended(cast("Area", joined), "; ".join(notes) or None)


def lanes_in(polygon: Area, *, length_m: float, clear_m: float, step_deg: float = 5.0) -> tuple[Strip, ...]:
    """Every usable band of a valid polygon in metres, longest lane first.

    Headings 0, `step_deg`, … below 180, clockwise from the y axis; each stands for both directions.
    `length_m`: least length [1 to 100 km]; `clear_m`: half-width [1 m to 100 km].

    Raises
    ------
    OutsideRangeError
        If a length, a half-width or a step lies outside its range.
    InputError
        If the polygon is not valid: mend it first.
    """
    check_asked(length_m, clear_m, step_deg)
    _check_outline(polygon)
    headings = np.arange(0.0, 180.0, step_deg)
    if shapely.is_empty(polygon):
        return ()
    shore = _shore(polygon)
    strips = _strips(_bands(shore, headings, length_m, clear_m), headings, clear_m, shore.origin)
    return tuple(sorted(strips, key=lambda s: (-round(s.length_m, 3), s.heading_deg, s.start)))


def longest_lane(polygon: Area, *, clear_m: float, step_deg: float = 5.0) -> Strip | None:
    """The longest lane of a valid polygon over all headings, or None if none is 1 m long.

    Raises
    ------
    InputError
        As `lanes_in`.
    """
    check_asked(_SHORTEST_M, clear_m, step_deg)
    _check_outline(polygon)
    headings = np.arange(0.0, 180.0, step_deg)
    if shapely.is_empty(polygon):
        return None
    shore = _shore(polygon)
    west, south, east, north = shapely.bounds(polygon)
    length_m = 0.9 * float(np.hypot(east - west, north - south))
    while True:
        length_m = max(length_m, _SHORTEST_M)
        rows = _bands(shore, headings, length_m, clear_m, rising=True)
        if len(rows):
            best = np.lexsort((rows[:, 0], -rows[:, 1]))[:1]
            return _strips(rows[best], headings, clear_m, shore.origin)[0]
        if length_m == _SHORTEST_M:
            return None
        length_m *= 0.8


def check_asked(length_m: float, clear_m: float, step_deg: float) -> None:
    """Refuse a length, a half-width or a step that no search stands for.

    Raises
    ------
    OutsideRangeError
        Naming the first that lies outside its range.
    """
    for field, value in (("length_m", length_m), ("clear_m", clear_m)):
        if not _SHORTEST_M <= value <= _LONGEST_M:
            raise OutsideRangeError(field=field, value=value, low=_SHORTEST_M, high=_LONGEST_M, unit="m")
    if not 0.1 <= step_deg <= 180.0:
        raise OutsideRangeError(field="step_deg", value=step_deg, low=0.1, high=180.0, unit="deg")


def _check_outline(polygon: Area) -> None:
    if shapely.is_valid(polygon) and np.isfinite(shapely.get_coordinates(polygon)).all():
        return
    problem = Problem(
        message="The water's outline is not valid.",
        mend="Mend it with wetline.water.mended.",
        value=shapely.is_valid_reason(polygon),
    )
    raise InputError.of([problem])


@dataclass(frozen=True, slots=True)
class _Shore:
    """Points of all rings about `origin`, the middle of the bounding box, each with its neighbours."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    following: NDArray[np.int64]
    leading: NDArray[np.int64]
    origin: NDArray[np.float64]


def _shore(polygon: Area) -> _Shore:
    rings = shapely.get_rings(shapely.get_parts(polygon))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    origin = (points.min(axis=0) + points.max(axis=0)) / 2
    points = points - origin
    fresh = np.ones(len(points), np.bool_)  # the last point of a ring repeats its first
    fresh[:-1] = (ring[:-1] == ring[1:]) & np.any(points[:-1] != points[1:], axis=1)
    fresh[np.flatnonzero(np.diff(ring, append=-1))] = False
    points, ring = points[fresh], ring[fresh]
    following = np.arange(1, len(points) + 1)
    first = np.flatnonzero(np.diff(ring, prepend=-1))
    following[np.append(first[1:], len(points)) - 1] = first
    leading = np.empty_like(following)
    leading[following] = np.arange(len(points))
    x, y = np.ascontiguousarray(points[:, 0]), np.ascontiguousarray(points[:, 1])
    return _Shore(x, y, following, leading, origin)


def _bands(
    shore: _Shore, headings: NDArray[np.float64], length_m: float, clear_m: float, *, rising: bool = False
) -> NDArray[np.float64]:
    """Kernel rows (heading number, length, from u, to u, v, width)."""
    from wetline.water._kernels import search  # noqa: PLC0415  kernels load when they are needed

    angle = np.radians(headings)
    out = np.empty((1024, 6))
    while True:
        count = search.bands(
            shore.x, shore.y, shore.following, shore.leading, np.sin(angle), np.cos(angle),
            clear_m - SLACK_M, length_m - SLACK_M, rising, out,
        )  # fmt: skip
        if count != search.FULL:
            break
        out = np.empty((4 * len(out), 6))
    if count < 0:
        message = f"a lane came out nearer than {clear_m:g} m to the shore (status {count})"
        raise SolverError(message)
    return out[:count]


def _strips(
    rows: NDArray[np.float64], headings: NDArray[np.float64], clear_m: float, origin: NDArray[np.float64]
) -> list[Strip]:
    heading = headings[rows[:, 0].astype(np.intp)]
    sine, cosine = np.sin(np.radians(heading)), np.cos(np.radians(heading))
    x, y = origin[0] + rows[:, 4] * cosine, origin[1] - rows[:, 4] * sine
    start = np.column_stack([x + rows[:, 2] * sine, y + rows[:, 2] * cosine]).tolist()
    end = np.column_stack([x + rows[:, 3] * sine, y + rows[:, 3] * cosine]).tolist()
    return [
        Strip(heading_deg=h, length_m=length, clear_m=clear_m, width_m=width, start=(*a,), end=(*b,))
        for h, length, width, a, b in zip(
            heading.tolist(), rows[:, 1].tolist(), rows[:, 5].tolist(), start, end, strict=True
        )
    ]
