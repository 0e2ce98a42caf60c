"""Straight clear water in a polygon of metres: every usable band for every heading, each lane proved.

A lane is a rectangle, `length` long and `clear` to each side of its centreline, that lies inside
the water; nothing is asked beyond its ends. A *band* is a continuous range of offsets across the
heading over which a long enough lane exists and neither splits (an island, a headland) nor joins
another; each band is given by its longest lane, laid in the middle of the free water beside it.

For a heading the result is exact: a lane's length and clearance are within 1 µm of what the drawn
shore allows. With a fixed step nothing is searched between headings: a lane L long that turns from
the nearest heading by a is met there as one that has L/2 · sin a less room to each side. Without a
step (`step_deg=None`) the headings are chosen so that next to nothing hides between them: see
`wetline.water.headings`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.water.headings import (
    SHORTEST_M,
    lanes_of_any_heading,
    longest_at,
    longest_of_any_heading,
)
from wetline.water.shore import Strip, bands, shore_of, strips

if TYPE_CHECKING:
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    Area = Polygon | MultiPolygon

__all__ = ["Mended", "Strip", "check_asked", "lanes_in", "longest_lane", "mended"]

_LONGEST_M = 1.0e5


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
    sound = bool(shapely.is_valid(geometry))
    if sound and geometry.geom_type == "Polygon" and not geometry.is_empty:
        return Mended(cast("Area", geometry), None)
    if not sound:
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


def lanes_in(
    polygon: Area, *, length_m: float, clear_m: float, step_deg: float | None = 5.0
) -> tuple[Strip, ...]:
    """Every usable band of a valid polygon in metres, longest lane first.

    Headings 0, `step_deg`, … below 180, clockwise from the y axis; each stands for both directions.
    None: headings as the water asks for, and of lanes that cross at less than about 3° only the longer.
    `length_m`: least length [1 m to 100 km]; `clear_m`: half-width [1 m to 100 km].

    Raises
    ------
    OutsideRangeError
        If a length, a half-width or a step lies outside its range.
    InputError
        If the polygon is not valid: mend it first.
    """
    check_asked(length_m, clear_m, step_deg)
    _check_outline(polygon)
    if shapely.is_empty(polygon):
        return ()
    shore = shore_of(polygon)
    if step_deg is None:
        found = lanes_of_any_heading(shore, length_m=length_m, clear_m=clear_m)
    else:
        headings = np.arange(0.0, 180.0, step_deg)
        found = strips(bands(shore, headings, length_m, clear_m), headings, clear_m, shore.origin)
    return tuple(sorted(found, key=lambda s: (-round(s.length_m, 3), s.heading_deg, s.start)))


def longest_lane(polygon: Area, *, clear_m: float, step_deg: float | None = 5.0) -> Strip | None:
    """The longest lane of a valid polygon over all headings, or None if none is 1 m long.

    `step_deg`: as in `lanes_in`; None: within 0.5 % of the longest over all headings.

    Raises
    ------
    InputError
        As `lanes_in`.
    """
    check_asked(SHORTEST_M, clear_m, step_deg)
    _check_outline(polygon)
    if shapely.is_empty(polygon):
        return None
    shore = shore_of(polygon)
    if step_deg is None:
        return longest_of_any_heading(shore, clear_m=clear_m)
    return longest_at(shore, np.arange(0.0, 180.0, step_deg), clear_m=clear_m)


def check_asked(length_m: float, clear_m: float, step_deg: float | None) -> None:
    """Refuse a length, a half-width or a step that no search stands for.

    Raises
    ------
    OutsideRangeError
        Naming the first that lies outside its range.
    """
    for field, value in (("length_m", length_m), ("clear_m", clear_m)):
        if not SHORTEST_M <= value <= _LONGEST_M:
            raise OutsideRangeError(field=field, value=value, low=SHORTEST_M, high=_LONGEST_M, unit="m")
    if step_deg is not None and not 0.1 <= step_deg <= 180.0:
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
