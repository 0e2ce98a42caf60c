"""Dip sites of an incident: in each water the place nearest to the fire with room all round."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from wetline.errors import OutsideRangeError
from wetline.model import Finding, worst
from wetline.water import checks
from wetline.water.circumstances import Circumstances
from wetline.water.found import DipSite
from wetline.water.reach import check_outline, refer, tier, waters_within
from wetline.water.wires import check_wires_at

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.ground import Ground, Water
    from wetline.model import Limits
    from wetline.weather import Hour

    Area = Polygon | MultiPolygon

__all__ = ["dip_sites"]

DIP_CLEAR_M = 30.0
"""Water all round a dip site: common practice, no source."""
DIP_LEAST_M2 = 1000.0
"""Smaller water is no dip site: common practice, no source."""


def dip_sites(
    ground: Ground,
    hour: Hour | None,
    limits: Limits,
    *,
    near: tuple[float, float],
    within_m: float,
    depth_needed_m: float | None,
    clear_m: float = DIP_CLEAR_M,
    depth_source: str = "the class's table",
    looked: Mapping[str, datetime] | None = None,
    at: datetime | None = None,
    name_prefix: str = "D",
) -> list[DipSite]:
    """One dip site in each water of 1,000 m² or more, best first: as near to `near` as can be.

    `clear_m`: water to keep all round [m]; water too narrow for it gives no site.

    Raises
    ------
    OutsideRangeError
        If `clear_m` is not positive.
    """
    if not clear_m > 0.0:
        raise OutsideRangeError(field="clear_m", value=clear_m, low=0.0, high=1.0e5, unit="m")
    circumstances = Circumstances(ground=ground, limits=limits, hour=hour, looked=looked or {}, at=at)
    sites = []
    for water, area, note in waters_within(ground, near, within_m):
        if area.area < DIP_LEAST_M2:
            continue
        position = _nearest_clear(area, near, clear_m)
        if position is None or math.dist(position, near) > within_m:
            continue
        findings = (
            *checks.check_closed(water, position),
            *_at_sea(water, position),
            checks.check_depth(water, depth_needed_m, depth_source, circumstances, position),
            checks.check_waves(water, circumstances, position),
            *check_wires_at(position, water, circumstances),
            *checks.check_areas(shapely.Point(position), circumstances),
            *check_outline(note),
        )
        sites.append(
            DipSite(
                id="",
                water=water.name,
                position=position,
                level=worst(findings),
                findings=findings,
                clear_m=float(shapely.distance(area.boundary, shapely.Point(position))),
                depth_m=water.depth_m,
                depth_date=water.depth_date,
                depth_needed_m=depth_needed_m,
                surface_m=_surface(water, ground, position),
            )
        )
    sites.sort(key=lambda s: (*tier(s.findings), math.dist(s.position, near), s.water))
    return [
        replace(site, id=f"{name_prefix}{i}", findings=refer(site.findings, f"{name_prefix}{i}"))
        for i, site in enumerate(sites, 1)
    ]


def _surface(water: Water, ground: Ground, position: tuple[float, float]) -> float | None:
    if water.surface_m is not None:
        return water.surface_m
    terrain_m = ground.elevation_at(*position)
    return terrain_m if math.isfinite(terrain_m) else None


def _at_sea(water: Water, position: tuple[float, float]) -> tuple[Finding, ...]:
    if water.kind != "sea" and not water.salt:
        return ()
    return (
        Finding(
            code="waterway",
            level="caution",
            message="Salt water: buckets are filled at sea only to save lives.",
            source="second-hand public copy of a national helicopter instruction",
            refers_to="",
            position=position,
        ),
    )


def _nearest_clear(area: Area, near: tuple[float, float], clear_m: float) -> tuple[float, float] | None:
    """The point nearest to `near` with at least `clear_m` of water all round.

    A buffer is no proof of clearance (its arcs are polylines inside the true arc): the distance to
    the shore is measured, and the buffer widened until it holds.
    """
    for wider in (1.0, 1.002, 1.01, 1.03, 1.1):
        inner = shapely.buffer(area, -clear_m * wider, quad_segs=16)
        if shapely.is_empty(inner):
            return None
        nearest = shapely.Point(shapely.get_coordinates(shapely.shortest_line(inner, shapely.Point(near)))[0])
        if shapely.distance(area.boundary, nearest) >= clear_m - 1e-6:
            return nearest.x, nearest.y
    return None
