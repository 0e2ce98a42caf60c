"""Where a site for dipping may be: points in a water with room all round, and places known for it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.grid import along
from wetline.ground import Water
from wetline.model import Finding
from wetline.water.dip_way import BEARINGS_DEG
from wetline.water.reach import waters_within

if TYPE_CHECKING:
    from collections.abc import Iterator

    from wetline.ground import DipPlace, Ground
    from wetline.water.reach import Area

__all__ = ["Spot", "known_spots", "nearest_clear", "other_spots"]

_SEEN_M = 100.0  # how far round a known place trees are read: common practice, no source
_TREE_STEP_M = 5.0
_TRIED = 8
_SPREAD_M = 3000.0
_WIDER = (1.0, 1.002, 1.01, 1.03, 1.1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A point that may be judged. `water`: what is known of the water there; `area`: its outline, None if none.

    `clear_m`: to shore and trees [m], None where trees are not known. `note`: what was mended on the outline.
    """

    position: tuple[float, float]
    water: Water
    area: Area | None
    clear_m: float | None
    note: str | None = None
    place: DipPlace | None = None
    findings: tuple[Finding, ...] = ()


def nearest_clear(area: Area, near: tuple[float, float], clear_m: float) -> tuple[float, float] | None:
    """The point nearest to `near` with at least `clear_m` of water all round.

    A buffer is no proof of clearance (its arcs are polylines inside the true arc): the distance to
    the shore is measured, and the buffer widened until it holds.
    """
    for wider in _WIDER:
        inner = shapely.buffer(area, -clear_m * wider, quad_segs=16)
        if shapely.is_empty(inner):
            return None
        nearest = shapely.Point(shapely.get_coordinates(shapely.shortest_line(inner, shapely.Point(near)))[0])
        if shapely.distance(area.boundary, nearest) >= clear_m - 1e-6:
            return nearest.x, nearest.y
    return None


def other_spots(area: Area, first: tuple[float, float], clear_m: float) -> list[tuple[float, float]]:
    """Points round the same water, within 3 km of the first, nearest to it first: for where that one is bad."""
    inner = shapely.buffer(area, -clear_m * _WIDER[-1], quad_segs=8)
    rim = shapely.intersection(inner.boundary, shapely.Point(first).buffer(_SPREAD_M))
    if shapely.is_empty(rim):
        return []
    points = shapely.line_interpolate_point(
        shapely.get_parts(rim)[:, None], (np.arange(_TRIED) + 0.5) / _TRIED, normalized=True
    )
    middle = shapely.maximum_inscribed_circle(area, tolerance=clear_m)
    places = [(p.x, p.y) for p in points.ravel()] + [tuple(shapely.get_coordinates(middle)[0].tolist())]
    sound = [p for p in places if shapely.distance(area.boundary, shapely.Point(p)) >= clear_m - 1e-6]
    sound.sort(key=lambda p: math.dist(p, first))
    apart: list[tuple[float, float]] = []
    for place in sound:
        if len(apart) < _TRIED and all(math.dist(place, other) > 2.0 * clear_m for other in [first, *apart]):
            apart.append(place)
    return apart


def known_spots(ground: Ground, near: tuple[float, float], within_m: float) -> Iterator[Spot]:
    """The places known for dipping in reach, each with what the water layer tells of the water there."""
    waters = waters_within(ground, near, within_m)
    for place in ground.dips:
        position = (place.point.x, place.point.y)
        if math.dist(position, near) > within_m:
            continue
        inside = next(
            (w for w in waters if place.kind != "tank" and shapely.intersects(w[1], place.point)), None
        )
        area, note = (None, None) if inside is None else inside[1:]
        yield Spot(
            position=position,
            water=_water_of(place, None if inside is None else inside[0], ground),
            area=area,
            clear_m=_free_m(position, area, ground),
            note=note,
            place=place,
            findings=_on_land(place, ground) if inside is None else (),
        )


def _water_of(place: DipPlace, water: Water | None, ground: Ground) -> Water:
    """The water at a known place: what the place tells, else what the water layer tells; looks at the water alone."""
    terrain_m = ground.elevation_at(place.point.x, place.point.y)
    surface_m = terrain_m if math.isfinite(terrain_m) else None
    if water is None:
        return Water(
            name=place.name,
            kind="pond",
            polygon=shapely.Polygon(),
            surface_m=surface_m,
            depth_m=place.depth_m,
            depth_date=place.depth_date,
            salt=place.salt,
            closed=place.closed,
        )
    own_depth = place.depth_m is not None
    return Water(
        name=water.name,
        kind=water.kind,
        polygon=water.polygon,
        surface_m=water.surface_m if water.surface_m is not None else surface_m,
        depth_m=place.depth_m if own_depth else water.depth_m,
        depth_date=place.depth_date if own_depth else water.depth_date,
        salt=place.salt or water.salt,
        closed=place.closed or water.closed,
        looked_at=water.looked_at,
        current_mps=water.current_mps,
        swell_m=water.swell_m,
        swell_from_deg=water.swell_from_deg,
        swell_at=water.swell_at,
    )


def _on_land(place: DipPlace, ground: Ground) -> tuple[Finding, ...]:
    """A place of natural water where the water layer, which tells of others, shows none."""
    away_m = place.on_land_m(ground.water)
    if away_m is None:
        return ()
    far = f"{away_m:.0f} m from the nearest known water" if math.isfinite(away_m) else "with no known water"
    return (
        Finding(
            code="data_missing",
            level="caution",
            message=f"{place.name} lies on land by the water layer, {far}.",
            source="the water layer",
            refers_to="",
            position=(place.point.x, place.point.y),
        ),
    )


def _free_m(position: tuple[float, float], area: Area | None, ground: Ground) -> float | None:
    """How far it is to the shore and to the nearest trees [m], 100 m at most; None where trees are not known."""
    shore_m = _SEEN_M if area is None else float(shapely.distance(area.boundary, shapely.Point(position)))
    if ground.canopy_height_m is None:
        return None
    east, north = along(BEARINGS_DEG[:, None])
    away_m = np.arange(0.0, _SEEN_M, _TREE_STEP_M)
    x, y = position[0] + east * away_m, position[1] + north * away_m
    trees_m = np.asarray(ground.grid.nearest(ground.canopy_height_m, x, y), float)
    trees_m = np.where(ground.grid.holds(x, y), trees_m, np.nan)
    if not np.isfinite(trees_m).all():
        return None
    stand = (trees_m > 0.0).any(axis=0)
    return min(shore_m, float(away_m[stand].min()) if stand.any() else _SEEN_M)
