"""Fingers: narrow outward tongues of the burnt area, found by what a disc cannot roll into."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Polygon

from wetline.grid import along

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

__all__ = ["finger_half_width_m", "fingers"]

_HALF_WIDTH_M = 30.0
_SHARE = 0.05
"""A finger is narrower than 60 m, or than a tenth of the square root of the area of a large fire; common practice."""
_BASE = 0.1
"""A tongue begins this share of the half width away from the body."""
_LOBE = 0.1
"""A broad end of a tongue is part of it up to this share of the body; a larger one is a body of its own."""


def finger_half_width_m(area_m2: float) -> float:
    """Half the width [m] up to which a tongue of a burnt area is a finger."""
    return max(_HALF_WIDTH_M, _SHARE * math.sqrt(area_m2))


def fingers(polygon: Polygon, xy: NDArray[np.float64], head_deg: float | None) -> NDArray[np.bool_]:
    """Which samples `xy` round the outer contour lie on fingers: narrow tongues twice as long as half their width.

    The body is where a disc of the half width fits, with every part of it that is not small. A tongue
    begins and ends at the same part of it: what joins two parts is a neck, and no finger. The tongue that
    reaches farthest ahead is the head itself, and the one farthest back the heel.
    """
    none = np.zeros(len(xy), dtype=np.bool_)
    solid = Polygon(polygon.exterior)
    half = finger_half_width_m(solid.area)
    body = _body(solid, half)
    if not body:
        return none  # all of the fire is narrow: there is nothing to tell a finger from
    off = _off(body, xy, _BASE * half)
    if off.all() or not off.any():
        return none
    ends: set[int] = set()
    if head_deg is not None:
        ahead = xy @ np.array(along(head_deg))
        ends = {int(np.argmax(ahead)), int(np.argmin(ahead))}
    out = none
    for tongue in _runs(off):
        if ends.isdisjoint(tongue.tolist()) and _is_finger(tongue, xy, body, half):
            out[tongue] = True
    return out


def _body(solid: Polygon, half_m: float) -> list[Polygon]:
    """The parts of the area into which a disc fits, those apart that are small beside the largest left out."""
    plain = shapely.simplify(solid, half_m / 8.0, preserve_topology=True)
    opened = shapely.get_parts(plain.buffer(-half_m, quad_segs=4).buffer(half_m, quad_segs=4))
    areas = shapely.area(opened)
    return [part for part, area in zip(opened, areas, strict=True) if area >= _LOBE * areas.max()]


def _off(body: list[Polygon], xy: NDArray[np.float64], beyond_m: float) -> NDArray[np.bool_]:
    """Which points lie farther from the body than a distance."""
    near = shapely.union_all([part.buffer(beyond_m, quad_segs=4) for part in body])
    shapely.prepare(near)
    return ~np.asarray(shapely.contains_xy(near, xy[:, 0], xy[:, 1]), bool)


def _runs(flags: NDArray[np.bool_]) -> Iterator[NDArray[np.intp]]:
    """The unbroken runs of true round a ring, each as sample numbers; not all are true."""
    n = len(flags)
    start = int(np.flatnonzero(~flags)[0])
    order = (start + np.arange(n)) % n
    edges = np.diff(np.concatenate([[0], flags[order].astype(int), [0]]))
    for first, last in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        yield order[first:last]


def _is_finger(tongue: NDArray[np.intp], xy: NDArray[np.float64], body: list[Polygon], half_m: float) -> bool:
    """Whether a run off the body leaves and meets the same part of it, and is long for its width."""
    points = shapely.points(xy[tongue])
    away = np.array([shapely.distance(part, points) for part in body])
    if int(np.argmin(away[:, 0])) != int(np.argmin(away[:, -1])):
        return False
    reach = float(away.min(axis=0).max())
    if reach >= 2.0 * half_m:
        return True
    # a tongue that curls back along the body stays near it, however long it is
    line = shapely.simplify(shapely.LineString(xy[tongue]), half_m / 4.0) if len(tongue) > 1 else None
    return line is not None and reach >= half_m and line.length >= 8.0 * half_m
