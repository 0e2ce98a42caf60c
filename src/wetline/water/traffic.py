"""Lanes and dip sites so near to each other that those who work them must be kept apart."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import shapely

from wetline.model import Finding, worst

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.model import Limit, Limits
    from wetline.water.found import DipSite, Lane

__all__ = ["one_place", "with_traffic"]

T = TypeVar("T", "Lane", "DipSite")

_ONE_HOVER_M = 100.0
"""Nearer to each other than this nobody fills at two points of one water: common practice, no source."""
_SAME_POINT_M = 1.0


def one_place(site: DipSite, other: DipSite) -> bool:
    """Whether two sites, found for two classes or two ways to fill, are one place to whoever comes.

    A place with a name of its own (a tank) is another than the next one, however near that stands.
    """
    away_m = math.dist(site.position, other.position)
    named = site.place is not None or other.place is not None
    near = away_m <= _ONE_HOVER_M and site.water == other.water and not named
    return near or away_m <= _SAME_POINT_M


def with_traffic(
    lanes: Sequence[Lane], dips: Sequence[DipSite], limits: Limits
) -> tuple[tuple[Lane, ...], tuple[DipSite, ...]]:
    """The same lanes and sites, each with a caution of the nearest one that it must be kept apart from.

    Distance [m] to a lane is that to its straight run; sites that are `one_place` are not apart. What a stop
    stands on is not worked and disturbs nobody.
    """
    limit = limits["dip_separation_m"]
    worked = [lane for lane in lanes if lane.level != "stop"]
    sites = [dip for dip in dips if dip.level != "stop"]
    runs = {lane.id: shapely.LineString([lane.start, lane.end]) for lane in worked}
    points = {dip.id: shapely.Point(dip.position) for dip in sites}

    def beside_lane(lane: Lane) -> Lane:
        if lane.id not in runs:
            return lane
        found = [(float(shapely.distance(runs[lane.id], points[d.id])), f"dip site {d.id}") for d in sites]
        finding = _nearest(found, lane.middle, lane.id, limit)
        return lane if finding is None else _with(lane, finding)

    def beside_dip(dip: DipSite) -> DipSite:
        if dip.id not in points:
            return dip
        near = [(float(shapely.distance(runs[w.id], points[dip.id])), f"scoop lane {w.id}") for w in worked]
        near += [
            (math.dist(d.position, dip.position), f"dip site {d.id}") for d in sites if not one_place(d, dip)
        ]
        finding = _nearest(near, dip.position, dip.id, limit)
        return dip if finding is None else _with(dip, finding)

    return tuple(beside_lane(lane) for lane in lanes), tuple(beside_dip(dip) for dip in dips)


def _nearest(
    found: list[tuple[float, str]], position: tuple[float, float], refers_to: str, limit: Limit
) -> Finding | None:
    if not found:
        return None
    distance_m, name = min(found)
    if distance_m >= limit.value:
        return None
    return Finding.against(
        limit,
        code="separation",
        level="caution",
        message=f"{distance_m:.0f} m from {name}: keep apart, or one way round, if both are worked.",
        refers_to=refers_to,
        position=position,
        distance_m=distance_m,
        value=f"{distance_m:.0f} m",
    )


def _with(thing: T, finding: Finding) -> T:
    findings = (*thing.findings, finding)
    return replace(thing, findings=findings, level=worst(findings))
