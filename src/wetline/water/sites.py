"""Scoop lanes of an incident, best first: usable, then to be looked at, then rejected."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pyproj
import shapely

from wetline.errors import InputError, Problem
from wetline.model import worst
from wetline.units import KNOT
from wetline.water import checks
from wetline.water.circumstances import Circumstances
from wetline.water.course import lay_course
from wetline.water.found import Lane
from wetline.water.lanes import lanes_in, longest_lane
from wetline.water.reach import check_outline, refer, tier, waters_within
from wetline.water.wires import check_wires, obstacles_near

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.aircraft import AircraftClass, Quantity
    from wetline.ground import Ground, Water
    from wetline.model import Finding, Limits
    from wetline.water.course import Course
    from wetline.water.lanes import Strip
    from wetline.water.wires import Obstacle
    from wetline.weather import Hour

    Area = Polygon | MultiPolygon

__all__ = ["lanes_for", "why_no_lane"]

_FINER = 3.0
_TRIED = 8  # ways of flying that are looked at closely, each water


@dataclass(frozen=True, slots=True)
class _Needs:
    length: Quantity
    half_width: Quantity


def lanes_for(
    ground: Ground,
    aircraft_class: AircraftClass,
    hour: Hour | None,
    limits: Limits,
    *,
    near: tuple[float, float],
    within_m: float,
    looked: Mapping[str, datetime] | None = None,
    at: datetime | None = None,
    name_prefix: str = "S",
    step_deg: float = 3.0,
    per_water: int = 3,
) -> list[Lane]:
    """Scoop lanes whose middle lies within `within_m` of `near` (x, y) [m], best first.

    Each lane is flown into the wind where the ways in and out allow it; every water gives at most
    `per_water` lanes. Headings lie `step_deg` apart, a third of it in water that gives none.
    `looked`: when a water was last looked at, by name; `at`: the moment planned
    for (default the hour's own). Without `hour` the wind is unknown, never calm.

    Raises
    ------
    InputError
        If the class does not scoop, or its table lacks the length or half-width it needs.
    OutsideRangeError
        If `step_deg` or what the class needs lies outside the range of the search.
    """
    needs = _needs(aircraft_class)
    circumstances = Circumstances(ground=ground, limits=limits, hour=hour, looked=looked or {}, at=at)
    groups: list[list[Lane]] = []
    for water, area, note in waters_within(ground, near, within_m):
        found = _strips(area, needs, _scale(ground, area), step_deg)
        strips = [s for s in found if math.dist(s.middle, near) <= within_m]
        tried = [
            _lane(water, area, note, start, heading_deg, strip, needs, aircraft_class, circumstances)
            for start, heading_deg, strip in _ways_to_fly(strips, hour, aircraft_class)
        ]
        groups.append(_apart(sorted(tried, key=lambda lane: _cost(lane, aircraft_class)), per_water))
    return _named(groups, near, name_prefix)


def why_no_lane(
    ground: Ground,
    aircraft_class: AircraftClass,
    *,
    near: tuple[float, float],
    within_m: float,
    step_deg: float = 3.0,
) -> tuple[str, float | None]:
    """Why `lanes_for` gives none, and by how many metres the longest lane in reach is short.

    Raises
    ------
    InputError
        As `lanes_for`.
    """
    needs = _needs(aircraft_class)
    waters = waters_within(ground, near, within_m)
    if not ground.water.present and not waters:
        return "there is no water layer", None
    if not waters:
        return f"no water lies within {within_m / 1000:g} km", None
    longest_m = 0.0
    for _, area, _ in waters:
        scale = _scale(ground, area)
        best = longest_lane(area, clear_m=needs.half_width.value * scale, step_deg=step_deg / _FINER)
        longest_m = max(longest_m, best.length_m / scale if best else 0.0)
    need_m = needs.length.value
    if longest_m >= need_m:
        return f"every lane lies more than {within_m / 1000:g} km away", None
    return (
        f"the longest lane {2 * needs.half_width.value:g} m wide is {longest_m:.0f} m long, {need_m:g} m are needed",
        need_m - longest_m,
    )


def _needs(cls: AircraftClass) -> _Needs:
    length, half_width = cls.get("lane_needed_m"), cls.get("lane_half_width_m")
    if cls.fills == "scoop" and length is not None and half_width is not None:
        return _Needs(length, half_width)
    field = "fills" if cls.fills != "scoop" else "lane_needed_m" if length is None else "lane_half_width_m"
    problem = Problem(
        message=f"No lane can be looked for: {cls.name} "
        + ("does not scoop." if field == "fills" else f"has no {field}."),
        mend="Ask for a class that scoops, or give its table what it lacks.",
        field=field,
        value=cls.fills if field == "fills" else None,
    )
    raise InputError.of([problem])


def _strips(area: Area, needs: _Needs, scale: float, step_deg: float) -> tuple[Strip, ...]:
    """Every band, `step_deg` apart; where there is none, the headings between are searched too."""
    found: tuple[Strip, ...] = ()
    for step in (step_deg, step_deg / _FINER):
        found = lanes_in(
            area,
            length_m=needs.length.value * scale,
            clear_m=needs.half_width.value * scale,
            step_deg=step,
        )
        if found:
            break
    return found


def _scale(ground: Ground, area: Area) -> float:
    """Grid metres in a metre on the ground, the largest over any direction at the water's middle."""
    middle = shapely.centroid(area)
    lon, lat = ground.grid.projection.to_lonlat(middle.x, middle.y)
    factors = pyproj.Proj(ground.grid.projection.code).get_factors(float(lon), float(lat))
    return float(factors.tissot_semimajor)


def _ways_to_fly(
    strips: Iterable[Strip], hour: Hour | None, cls: AircraftClass
) -> list[tuple[tuple[float, float], float, Strip]]:
    """The strips worth a close look, each flown one way: (start, heading, strip), well apart."""
    ways = []
    for strip in strips:
        ways.append((strip.start, strip.heading_deg, strip))
        ways.append((strip.end, (strip.heading_deg + 180.0) % 360.0, strip))
    ways.sort(key=lambda way: (_flying_cost(way[1], way[2].length_m, hour, cls), way[1], way[0]))
    kept: list[tuple[tuple[float, float], float, Strip]] = []
    for way in ways:
        if len(kept) == _TRIED:
            break
        if all(_differ(way[1], way[2], other[1], other[2]) for other in kept):
            kept.append(way)
    return kept


def _differ(heading_deg: float, strip: Strip | Lane, other_deg: float, other: Strip | Lane) -> bool:
    turn = abs((heading_deg - other_deg + 180.0) % 360.0 - 180.0)
    return turn >= 20.0 or math.dist(strip.middle, other.middle) >= 0.5 * min(strip.length_m, other.length_m)


def _flying_cost(heading_deg: float, length_m: float, hour: Hour | None, cls: AircraftClass) -> float:
    """Less is better: share of the wind limits used, against spare length up to twice the need."""
    spare = min(length_m / cls.value("lane_needed_m"), 2.0)
    if hour is None:
        return -spare
    head_mps, cross_mps = checks.wind_on(heading_deg, hour)
    cross, tail = cls.get("crosswind_limit_kt"), cls.get("tailwind_limit_kt")
    cross_share = abs(cross_mps) / ((cross.value if cross else 10.0) * KNOT)
    tail_share = max(-head_mps, 0.0) / ((tail.value if tail else 5.0) * KNOT)
    over = 10.0 * (max(cross_share, tail_share) > 1.0)
    return over + cross_share + 2.0 * tail_share - spare


def _cost(lane: Lane, cls: AircraftClass) -> tuple[float, ...]:
    share = 0.0
    cross, tail = cls.get("crosswind_limit_kt"), cls.get("tailwind_limit_kt")
    if lane.crosswind_mps is not None and lane.headwind_mps is not None:
        share = abs(lane.crosswind_mps) / ((cross.value if cross else 10.0) * KNOT)
        share += 2.0 * max(-lane.headwind_mps, 0.0) / ((tail.value if tail else 5.0) * KNOT)
    spare = min(lane.length_m / cls.value("lane_needed_m"), 2.0)
    return (*tier(lane.findings), share - spare, lane.heading_deg, *lane.start)


def _apart(lanes: list[Lane], most: int) -> list[Lane]:
    kept: list[Lane] = []
    for lane in lanes:
        if len(kept) < most and all(
            _differ(lane.heading_deg, lane, other.heading_deg, other) for other in kept
        ):
            kept.append(lane)
    return kept


def _named(groups: list[list[Lane]], near: tuple[float, float], prefix: str) -> list[Lane]:
    """All lanes in order, each with its id; the lanes of one water keep the order of their group."""
    ranked = []
    for group in groups:
        away_m = min((math.dist(lane.middle, near) for lane in group), default=0.0)
        ranked += [(tier(lane.findings), away_m, i, lane) for i, lane in enumerate(group)]
    ranked.sort(key=lambda row: (row[0], row[1], row[2], row[3].water))
    return [
        replace(lane, id=f"{prefix}{n}", findings=refer(lane.findings, f"{prefix}{n}"))
        for n, (_, _, _, lane) in enumerate(ranked, 1)
    ]


def _lane(
    water: Water,
    area: Area,
    note: str | None,
    start: tuple[float, float],
    heading_deg: float,
    strip: Strip,
    needs: _Needs,
    cls: AircraftClass,
    circumstances: Circumstances,
) -> Lane:
    ground, limits, hour = circumstances.ground, circumstances.limits, circumstances.hour
    end = strip.end if start == strip.start else strip.start
    course = lay_course(
        ground,
        area,
        start=start,
        heading_deg=heading_deg,
        length_m=strip.length_m,
        clear_m=strip.clear_m,
        needed_m=needs.length.value,
        surface_m=water.surface_m,
        limits=limits,
    )
    obstacles = obstacles_near(course, ground, limits)
    length_m = _geodesic_m(ground, start, end)
    findings = (
        *_findings(water, strip.middle, course, obstacles, cls, circumstances),
        *checks.check_length(length_m, needs.length),
        *check_outline(note),
    )
    wind = checks.wind_on(heading_deg, hour) if hour else (None, None)
    return Lane(
        id="",
        water=water.name,
        heading_deg=heading_deg,
        length_m=length_m,
        clear_m=needs.half_width.value,
        width_m=strip.width_m,
        start=start,
        end=end,
        level=worst(findings),
        findings=findings,
        needed_m=needs.length.value,
        run_from_m=course.run_from_m,
        headwind_mps=wind[0],
        crosswind_mps=wind[1],
        climb_gradient_needed=checks.slope_asked(course, "Climb-out", obstacles),
        climb_gradient_available=limits.value("climb_gradient_available"),
        approach_gradient_needed=checks.slope_asked(course, "Approach", obstacles),
        depth_m=water.depth_m,
        depth_date=water.depth_date,
        surface_m=course.surface_m,
    )


def _findings(
    water: Water,
    middle: tuple[float, float],
    course: Course,
    obstacles: tuple[Obstacle, ...],
    cls: AircraftClass,
    circumstances: Circumstances,
) -> tuple[Finding, ...]:
    depth = cls.get("depth_needed_m")
    return (
        *checks.check_closed(water, middle),
        *checks.check_ways(course, obstacles, circumstances.limits),
        *checks.check_wind(course.heading_deg, circumstances.hour, cls),
        checks.check_depth(
            water,
            depth.value if depth else None,
            depth.source if depth else "the class's table",
            circumstances,
            middle,
        ),
        checks.check_waves(water, circumstances, middle),
        *check_wires(course, obstacles, water, circumstances),
        *checks.check_areas(course.path(), circumstances),
        *checks.check_surface(course),
        *checks.check_air(course.surface_m, circumstances),
    )


def _geodesic_m(ground: Ground, start: tuple[float, float], end: tuple[float, float]) -> float:
    lon, lat = ground.grid.projection.to_lonlat([start[0], end[0]], [start[1], end[1]])
    _, _, length_m = pyproj.Geod(ellps="WGS84").inv(lon[0], lat[0], lon[1], lat[1])
    return float(length_m)
