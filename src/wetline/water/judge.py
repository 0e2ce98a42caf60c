"""One lane flown one way, judged: what it needs and gives, what stands on it, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pyproj

from wetline.model import worst
from wetline.units import FOOT, KNOT
from wetline.water import checks
from wetline.water.course import lay_course
from wetline.water.found import Lane
from wetline.water.reach import check_outline
from wetline.water.swell import check_swell, fetch_m, swell_angle_deg, wind_wave_m
from wetline.water.ways import check_class_climb, check_trees, check_way, escape_from, way_in, way_out
from wetline.water.wires import check_crossings, check_wires, obstacles_near

if TYPE_CHECKING:
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.aircraft import AircraftClass
    from wetline.ground import Ground, Water
    from wetline.model import Finding
    from wetline.water.circumstances import Circumstances
    from wetline.water.course import Course
    from wetline.water.escape import Escape
    from wetline.water.flight import Flight
    from wetline.water.lanes import Strip
    from wetline.water.ways import Way
    from wetline.water.wires import Obstacle

    Area = Polygon | MultiPolygon

__all__ = ["Candidate", "judged"]

_WGS84 = pyproj.Geod(ellps="WGS84")


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A strip of a water to be flown from `start` on `heading_deg` by a class, in its air without wind.

    `clear_m`: half-width on the ground; the strip's own is in metres of the grid.
    """

    water: Water
    area: Area
    outline_note: str | None
    strip: Strip
    clear_m: float
    start: tuple[float, float]
    heading_deg: float
    cls: AircraftClass
    flight: Flight

    @property
    def end(self) -> tuple[float, float]:
        """The other end of the strip."""
        return self.strip.end if self.start == self.strip.start else self.strip.start


@dataclass(frozen=True, slots=True, kw_only=True)
class _Looked:
    """What the close look at a candidate found."""

    course: Course
    obstacles: tuple[Obstacle, ...]
    way_in: Way
    way_out: Way
    escape: Escape
    length_m: float
    wave_estimate_m: float | None


def judged(candidate: Candidate, circumstances: Circumstances) -> Lane:
    """The lane, without an id."""
    looked = _look(candidate, circumstances)
    course, flight, water = looked.course, looked.course.flight, candidate.water
    findings = _findings(candidate, looked, circumstances)
    hour = circumstances.hour
    head_mps, cross_mps = checks.wind_on(candidate.heading_deg, hour) if hour else (None, None)
    seen = circumstances.last_look(water)
    return Lane(
        id="",
        water=water.name,
        heading_deg=candidate.heading_deg,
        length_m=looked.length_m,
        clear_m=candidate.clear_m,
        width_m=candidate.strip.width_m,
        start=candidate.start,
        end=candidate.end,
        level=worst(findings),
        findings=findings,
        needed=flight.needed,
        run_from_m=course.run_from_m,
        phases=flight.phases(course.run_from_m),
        density_altitude_m=flight.density_altitude_m,
        headwind_mps=head_mps,
        crosswind_mps=cross_mps,
        climb_gradient_needed=looked.way_out.needed,
        climb_gradient_available=looked.way_out.available,
        class_climb=looked.way_out.of_class,
        approach_gradient_needed=looked.way_in.needed,
        approach_gradient_available=looked.way_in.available,
        escape=looked.escape,
        swell_m=water.swell_m,
        swell_angle_deg=None
        if water.swell_from_deg is None
        else swell_angle_deg(candidate.heading_deg, water.swell_from_deg),
        wave_estimate_m=looked.wave_estimate_m,
        depth_m=water.depth_m,
        depth_date=water.depth_date,
        surface_m=course.surface_m,
        looked_at=seen,
        look_expires=None if seen is None else circumstances.expires(seen),
        because=_because(candidate, looked, circumstances),
    )


def _look(candidate: Candidate, circumstances: Circumstances) -> _Looked:
    ground, limits, hour = circumstances.ground, circumstances.limits, circumstances.hour
    tail_mps = max(-checks.wind_on(candidate.heading_deg, hour)[0], 0.0) if hour else 0.0
    course = lay_course(
        ground,
        candidate.area,
        start=candidate.start,
        heading_deg=candidate.heading_deg,
        length_m=candidate.strip.length_m,
        clear_m=candidate.strip.clear_m,
        flight=candidate.flight.downwind(tail_mps),
        surface_m=candidate.water.surface_m,
    )
    obstacles = obstacles_near(course, ground, limits)
    out = way_out(course, obstacles, limits)
    return _Looked(
        course=course,
        obstacles=obstacles,
        way_in=way_in(course, obstacles, limits),
        way_out=out,
        escape=escape_from(out, course, candidate.area, ground, hour, limits),
        length_m=_geodesic_m(ground, candidate.start, candidate.end),
        wave_estimate_m=None
        if hour is None
        else wind_wave_m(hour.wind_mps, fetch_m(course, candidate.area, hour)),
    )


def _findings(candidate: Candidate, looked: _Looked, circumstances: Circumstances) -> tuple[Finding, ...]:
    water, cls, course, middle = candidate.water, candidate.cls, looked.course, candidate.strip.middle
    depth = cls.get("depth_needed_m")
    return (
        *checks.check_closed(water, middle),
        check_way(looked.way_out, course, looked.escape),
        check_way(looked.way_in, course),
        *check_class_climb(looked.way_out, course),
        *check_trees(course),
        *checks.check_wind(course.heading_deg, circumstances.hour, cls),
        *checks.check_current(water, course.flight, looked.length_m, cls.get("tailwind_limit_kt")),
        checks.check_depth(
            water,
            depth.value if depth else None,
            depth.source if depth else "the class's table",
            circumstances,
            middle,
        ),
        checks.check_waves(water, circumstances, middle),
        *check_swell(water, course, cls, circumstances, looked.wave_estimate_m),
        *check_wires(course, looked.obstacles, water, circumstances),
        *check_crossings(course, circumstances.ground),
        *checks.check_areas(course.path(), circumstances),
        *checks.check_surface(course),
        *checks.check_air(course.surface_m, circumstances, course.flight),
        *checks.check_length(looked.length_m, course.flight),
        *check_outline(candidate.outline_note),
    )


def _because(
    candidate: Candidate, looked: _Looked, circumstances: Circumstances
) -> tuple[tuple[str, str], ...]:
    """What each number stands on: terrain, class, wind and the layers."""
    water, course, hour = candidate.water, looked.course, circumstances.hour
    out = [
        ("length_m", "shore of the water layer, both half-widths clear, measured on the ellipsoid"),
        ("needed_m", course.flight.length_words()),
        ("approach_gradient_needed", _slope_words(looked.way_in)),
        ("climb_gradient_needed", _slope_words(looked.way_out)),
        ("climb_gradient_available", _climb_words(looked.way_out, course)),
        ("surface_m", "the water layer" if water.surface_m is not None else "the terrain on the lane"),
    ]
    if hour is not None:
        wind = f"wind of {hour.time:%d %b %H:%MZ}, {hour.wind_mps / KNOT:.0f} kt at 10 m"
        out += [("headwind_kt", wind), ("crosswind_kt", wind)]
        out.append(
            ("wave_estimate_m", f"{wind}, over the longest open water up the wind; deep water, steady wind")
        )
    if water.depth_m is not None:
        day = "date not known" if water.depth_date is None else f"sounded {water.depth_date}"
        out.append(("depth_m", f"the water layer, {day}: least known depth of the whole water"))
    if water.swell_m is not None:
        told = "time not known" if water.swell_at is None else f"told {water.swell_at:%d %b %H:%MZ}"
        out.append(("swell_m", f"the water layer, {told}"))
    return tuple(out)


def _slope_words(way: Way) -> str:
    if way.unknown_at_m is not None:
        return f"the terrain is not known from {way.unknown_away_m:.0f} m on"
    if way.asked == 0.0:
        return f"nothing known rises above the water within {way.reach_m:.0f} m"
    return (
        f"{way.by}, {way.away_m:.0f} m away: the steepest across the lane's width within {way.reach_m:.0f} m"
    )


def _climb_words(way: Way, course: Course) -> str:
    band = way.of_class
    if band is None:
        return f"the limit ({way.limit_source}); the class's climb in this air is not known"
    speed = "" if course.flight.climb_mps is None else f" at {course.flight.climb_mps / KNOT:.0f} kt true"
    altitude = course.flight.density_altitude_m
    air = "" if altitude is None else f", {altitude / FOOT:.0f} ft density altitude"
    spread = (
        "" if band.low is None or band.high is None else f" ({100 * band.low:.1f} to {100 * band.high:.1f} %)"
    )
    which = "the class's climb" if band.middle < way.limit else f"the limit ({way.limit_source})"
    return f"{which}; the class climbs {100 * band.middle:.1f} %{spread}, full{speed}{air}"


def _geodesic_m(ground: Ground, start: tuple[float, float], end: tuple[float, float]) -> float:
    lon, lat = ground.grid.projection.to_lonlat([start[0], end[0]], [start[1], end[1]])
    _, _, length_m = _WGS84.inv(lon[0], lat[0], lon[1], lat[1])
    return float(length_m)
