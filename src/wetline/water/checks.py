"""What only water knows: ways in and out, wind on the water, depth, boats and waves, wires, closures.

Each check is a pure function that gives findings; none of them softens another. A logged look at
the water, while it holds, turns "nobody has looked" into a caution or a clear word; it never
overrules a stop.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import shapely

from wetline.errors import OutsideRangeError
from wetline.model import Finding
from wetline.units import FOOT, KNOT
from wetline.weather.air import density_altitude_m

if TYPE_CHECKING:
    from wetline.aircraft import AircraftClass, Quantity
    from wetline.ground import Water
    from wetline.model import Limit, Limits
    from wetline.water.circumstances import Circumstances
    from wetline.water.course import Course, Slope
    from wetline.water.wires import Obstacle
    from wetline.weather import Hour

__all__ = [
    "check_air",
    "check_areas",
    "check_closed",
    "check_depth",
    "check_length",
    "check_surface",
    "check_waves",
    "check_ways",
    "check_wind",
    "slope_asked",
    "wind_on",
]

_NEAR_LIMIT = 0.75  # share of a slope at which to say so: common practice, no source
_SURFACE_M = 10.0  # surface against terrain: common practice, no source
_NO_SOURCE = "common practice, no source"


def wind_on(heading_deg: float, hour: Hour) -> tuple[float, float]:
    """Headwind [m/s, < 0 is a tailwind] and crosswind [m/s, > 0 from the right] on a heading."""
    angle = math.radians(hour.wind_from_deg - heading_deg)
    return hour.wind_mps * math.cos(angle), hour.wind_mps * math.sin(angle)


def check_wind(heading_deg: float, hour: Hour | None, cls: AircraftClass) -> tuple[Finding, ...]:
    """Crosswind and tailwind on the water against what the class stands."""
    if hour is None:
        return (
            Finding(
                code="wind",
                level="unknown",
                effect="look",
                message="Wind on the water unknown: no weather for this hour. Read it on the water.",
                source="the incident folder",
                refers_to="",
            ),
        )
    head_mps, cross_mps = wind_on(heading_deg, hour)
    gust = 1.0 if not hour.gust_mps or not hour.wind_mps else max(hour.gust_mps / hour.wind_mps, 1.0)
    out = []
    for words, speed_mps, quantity in (
        ("crosswind", abs(cross_mps), cls.get("crosswind_limit_kt")),
        ("tailwind", max(-head_mps, 0.0), cls.get("tailwind_limit_kt")),
    ):
        if words == "crosswind" or speed_mps > 0.05 * KNOT:
            out.append(_against(words, speed_mps / KNOT, gust, quantity, cls))
    return tuple(out)


def _against(words: str, speed_kt: float, gust: float, limit: Quantity | None, cls: AircraftClass) -> Finding:
    value = f"{speed_kt:.0f} kt"
    if limit is None:
        return Finding(
            code="wind",
            level="unknown",
            effect="look",
            message=f"{words.capitalize()} {value}; no limit is known for a {cls.name.lower()}.",
            source="the class's table",
            refers_to="",
            value=value,
        )
    text = f"{limit.value:g} {limit.unit}"
    level: Literal["clear", "caution", "stop"] = "clear"
    message = f"{words.capitalize()} {value}, limit {text}."
    if speed_kt > limit.value:
        level = "stop"
    elif speed_kt * gust > limit.value:
        level, message = (
            "caution",
            f"{words.capitalize()} {value}, {speed_kt * gust:.0f} kt in gusts, limit {text}.",
        )
    return Finding(
        code="wind",
        level=level,
        message=message,
        source=limit.source,
        refers_to="",
        limit=text,
        value=value,
    )


def check_depth(
    water: Water,
    needed_m: float | None,
    source: str,
    circumstances: Circumstances,
    position: tuple[float, float],
) -> Finding:
    """The least known depth against the depth needed."""
    need = None if needed_m is None else f"{needed_m:g} m"
    looked = circumstances.look(water.name)
    if water.depth_m is None or needed_m is None:
        what = "Depth not known" if water.depth_m is None else "Depth needed not known"
        needs = f", {need} needed" if need else ""
        seen = f"; looked at {looked:%H:%MZ}" if looked else ". Look before the first fill"
        return Finding(
            code="depth",
            level="caution" if looked else "unknown",
            effect=None if looked else "look",
            message=f"{what}{needs}{seen}.",
            source=source if water.depth_m is None else "the water layer",
            refers_to="",
            position=position,
            limit=need,
            value=None if water.depth_m is None else f"{water.depth_m:g} m",
        )
    sounded = "date of sounding not known" if water.depth_date is None else f"sounded {water.depth_date}"
    level: Literal["clear", "caution", "stop"] = "caution" if water.depth_date is None else "clear"
    if water.depth_m < needed_m:
        level = "stop"
    return Finding(
        code="depth",
        level=level,
        message=f"Depth {water.depth_m:g} m ({sounded}), {need} needed.",
        source=source,
        refers_to="",
        position=position,
        limit=need,
        value=f"{water.depth_m:g} m",
    )


def check_waves(water: Water, circumstances: Circumstances, position: tuple[float, float]) -> Finding:
    """Boats, waves and debris: unknown until somebody has looked, and again when the look is old."""
    limit = circumstances.limits["look_valid_min"]
    looked = circumstances.look(water.name)
    if looked:
        message = f"Boats, waves and debris: looked at {looked:%H:%MZ}, holds {limit.text()}."
    elif water.name in circumstances.looked:
        message = f"Boats, waves and debris: the look of {circumstances.looked[water.name]:%H:%MZ} does not hold now."
    else:
        message = "Boats, waves and debris: nobody has looked today."
    return Finding(
        code="waves",
        level="clear" if looked else "unknown",
        effect=None if looked else "look",
        message=message,
        source=limit.source,
        refers_to="",
        position=position,
        limit=limit.text(),
    )


def check_closed(water: Water, position: tuple[float, float]) -> tuple[Finding, ...]:
    """A closed water is a stop, whatever else is known of it."""
    if water.closed is None:
        return ()
    return (
        Finding(
            code="waterway",
            level="stop",
            message=f"{water.name} is closed: {water.closed}.",
            source="the water layer",
            refers_to="",
            position=position,
        ),
    )


def check_areas(shape: shapely.Geometry, circumstances: Circumstances) -> tuple[Finding, ...]:
    """Airspace and protected areas that a lane or a site lies in."""
    out = []
    for area in circumstances.ground.avoid:
        if area.kind not in {"airspace", "protected"} or not shapely.intersects(area.polygon, shape):
            continue
        point = shapely.point_on_surface(shapely.intersection(area.polygon, shape))
        out.append(
            Finding(
                code="waterway",
                level="caution",
                message=f"Inside {area.name}: {area.rule}.",
                source="the layer of areas to avoid",
                refers_to="",
                position=(point.x, point.y),
            )
        )
    return tuple(out)


def check_length(length_m: float, needed: Quantity) -> tuple[Finding, ...]:
    """A lane long enough for the class's value, but shorter than some sources ask for."""
    if needed.high is None or length_m >= needed.high:
        return ()
    return (
        Finding(
            code="terrain_exit",
            level="caution",
            message=f"{length_m:.0f} m long; {needed.value:g} m are needed, up to {needed.high:g} m by some sources.",
            source=needed.source,
            refers_to="",
            limit=f"{needed.high:g} m",
            value=f"{length_m:.0f} m",
        ),
    )


def check_air(surface_m: float | None, circumstances: Circumstances) -> tuple[Finding, ...]:
    """Thin air over the water: the run gets longer and the climb flatter."""
    hour, limit = circumstances.hour, circumstances.limits["density_altitude_caution_ft"]
    if hour is None or surface_m is None:
        return ()
    try:
        altitude_ft = density_altitude_m(surface_m, hour.temperature_c, hour.humidity_pct) / FOOT
    except OutsideRangeError as error:
        return (
            Finding(
                code="density_altitude",
                level="unknown",
                effect="noted",
                message=f"Density altitude not known: {error.message}",
                source=limit.source,
                refers_to="",
                limit=limit.text(),
            ),
        )
    above = altitude_ft > limit.value
    words = "longer run and flatter climb than the class's values" if above else "within the class's values"
    return (
        Finding(
            code="density_altitude",
            level="caution" if above else "clear",
            message=f"Density altitude {altitude_ft:.0f} ft: {words}.",
            source=limit.source,
            refers_to="",
            limit=limit.text(),
            value=f"{altitude_ft:.0f} ft",
        ),
    )


def check_surface(course: Course) -> tuple[Finding, ...]:
    """The surface that the water layer gives against the terrain raster: drawn down, or another datum."""
    if course.surface_m is None or course.terrain_m is None:
        return ()
    difference_m = course.surface_m - course.terrain_m
    if abs(difference_m) <= _SURFACE_M:
        return ()
    return (
        Finding(
            code="data_missing",
            level="caution",
            message=f"The surface is given as {course.surface_m:.0f} m, the terrain says {course.terrain_m:.0f} m.",
            source=_NO_SOURCE,
            refers_to="",
            limit=f"{_SURFACE_M:g} m",
            value=f"{difference_m:.0f} m",
        ),
    )


def check_ways(course: Course, obstacles: tuple[Obstacle, ...], limits: Limits) -> tuple[Finding, ...]:
    """Approach over the near shore and climb-out at full load, against the slopes allowed."""
    out = [
        _way("Climb-out", course, course.climb, obstacles, limits["climb_gradient_available"]),
        _way("Approach", course, course.approach, obstacles, limits["approach_gradient_available"]),
    ]
    if not course.profile.trees_known:
        out.append(
            Finding(
                code="data_missing",
                level="unknown",
                effect="noted",
                message="Tree heights are not known: climb-out and approach count bare ground.",
                source="the incident folder",
                refers_to="",
            )
        )
    return tuple(out)


def slope_asked(course: Course, way: str, obstacles: tuple[Obstacle, ...]) -> float | None:
    """The slope [m/m] that ground, trees and known obstacles ask for; None where some is not known."""
    slope = course.climb if way == "Climb-out" else course.approach
    if slope.unknown_at_m is not None:
        return None
    return max([slope.asked, *(o.climb_asked if way == "Climb-out" else o.approach_asked for o in obstacles)])


def _way(name: str, course: Course, slope: Slope, obstacles: tuple[Obstacle, ...], limit: Limit) -> Finding:
    origin_m = course.lift_m if name == "Climb-out" else course.touch_m
    asked, along_m, words = slope.asked, slope.along_m, f"a top {slope.top_m:.0f} m above the water"
    for o in obstacles:
        steeper = o.climb_asked if name == "Climb-out" else o.approach_asked
        if steeper > asked:
            asked, along_m, words = steeper, o.along_m, f"{o.hazard.kind} {o.hazard.name}"
    away_m = abs(along_m - origin_m)
    value = f"{100 * asked:.1f} %"
    text = f"{100 * limit.value:g} %"
    if asked > limit.value:
        message = f"{name} asks for {value} over {words} {away_m:.0f} m away, limit {text}."
        level: Literal["clear", "caution", "stop"] = "stop"
    elif slope.unknown_at_m is not None:
        unknown_m = abs(slope.unknown_at_m - origin_m)
        return Finding(
            code="terrain_exit",
            level="unknown",
            effect="blocks",
            message=f"{name}: the terrain is not known from {unknown_m:.0f} m on.",
            source="the terrain raster",
            refers_to="",
            position=course.point(slope.unknown_at_m),
            distance_m=unknown_m,
            limit=text,
        )
    elif asked > _NEAR_LIMIT * limit.value:
        message = f"{name} asks for {value} over {words} {away_m:.0f} m away, close to the limit {text}."
        level = "caution"
    elif asked == 0.0:
        message = f"{name}: nothing known rises above the water straight ahead, limit {text}."
        level = "clear"
    else:
        message = f"{name} asks for {value} over {words} {away_m:.0f} m away, limit {text}."
        level = "clear"
    return Finding(
        code="terrain_exit",
        level=level,
        message=message,
        source=limit.source,
        refers_to="",
        position=course.point(along_m),
        distance_m=away_m,
        limit=text,
        value=value,
    )
