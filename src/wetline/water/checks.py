"""What only water knows: wind on it, depth, boats and waves, current, thin air, closures.

Each check is a pure function that gives findings; none of them softens another. A logged look at
the water, while it holds, turns "nobody has looked" into a caution or a clear word; it never
overrules a stop.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import shapely

from wetline.model import Finding
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from datetime import date, datetime

    from wetline.aircraft import AircraftClass, Quantity
    from wetline.ground import Water
    from wetline.water.circumstances import Circumstances
    from wetline.water.course import Course
    from wetline.water.flight import Flight
    from wetline.weather import Hour

__all__ = [
    "check_air",
    "check_areas",
    "check_closed",
    "check_current",
    "check_depth",
    "check_length",
    "check_surface",
    "check_waves",
    "check_wind",
    "gusts_in_calm",
    "wind_on",
]

_DEEP = 2.0  # depth over the depth needed from which an old sounding is no doubt: common practice, no source
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
    if hour.wind_mps == 0.0 and hour.gust_mps:
        return (gusts_in_calm(hour, cls),)
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


def gusts_in_calm(hour: Hour, cls: AircraftClass) -> Finding:
    """Gusts without a mean wind come from nobody knows where: they count as the worse of cross and tail."""
    gust_kt = (hour.gust_mps or 0.0) / KNOT
    value = f"{gust_kt:.0f} kt"
    words = f"Calm, gusts of {value} from a side that is not known"
    limits = [q for name in ("crosswind_limit_kt", "tailwind_limit_kt") if (q := cls.get(name)) is not None]
    if not limits:
        return Finding(
            code="wind",
            level="unknown",
            effect="look",
            message=f"{words}; no limit is known for a {cls.name.lower()}.",
            source="the class's table",
            refers_to="",
            value=value,
        )
    least = min(limits, key=lambda q: q.value)
    text = f"{least.value:g} {least.unit}"
    return Finding(
        code="wind",
        level="caution" if gust_kt > least.value else "clear",
        message=f"{words}, limit {text}.",
        source=least.source,
        refers_to="",
        limit=text,
        value=value,
    )


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
    """The least known depth of the whole water against the depth needed."""
    need = None if needed_m is None else f"{needed_m:g} m"
    looked = circumstances.look_at(water)
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
    sounded, doubtful = _sounding(water.depth_date, water.depth_m >= _DEEP * needed_m, circumstances)
    level: Literal["clear", "caution", "stop"] = "caution" if doubtful else "clear"
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


def _sounding(sounded_on: date | None, deep: bool, circumstances: Circumstances) -> tuple[str, bool]:
    """When the water was sounded, in words, and whether that leaves the depth in doubt.

    The level of a water moves: an old sounding is in doubt unless it shows far more than is needed.
    """
    if sounded_on is None:
        return "date of sounding not known", True
    sounded = f"sounded {sounded_on}"
    if circumstances.now is None:
        return sounded, False
    age_d = (circumstances.now.date() - sounded_on).days
    limit = circumstances.limits["depth_old_days"]
    if age_d < 0:
        return f"{sounded}, after the day asked about", True
    if age_d > limit.value and not deep:
        return f"{sounded}, more than {limit.text()} ago: the level may have changed", True
    return sounded, False


def check_waves(water: Water, circumstances: Circumstances, position: tuple[float, float]) -> Finding:
    """Boats, waves and debris: unknown until somebody has looked, and again when the look is old."""
    limit = circumstances.limits["look_valid_min"]
    looked, looks = circumstances.look_at(water), circumstances.looks(water)
    now = circumstances.now
    if looked and now:
        age_min = (now - looked).total_seconds() / 60.0
        message = f"Boats, waves and debris: looked at {looked:%H:%MZ}, {age_min:.0f} min ago, holds {limit.text()}."
    elif looks:
        message = f"Boats, waves and debris: the look of {_newest(looks, now)} does not hold now."
    elif water.name in circumstances.looked:
        message = f"Boats, waves and debris: a look at {water.name} is logged, but more than one water is called so."
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


def _newest(looks: tuple[datetime, ...], now: datetime | None) -> str:
    """The look that says most: the newest one that is not ahead of the moment, else the nearest ahead."""
    past = [seen for seen in looks if now is None or seen <= now]
    if past:
        return f"{max(past):%d %b %H:%MZ}"
    return f"{min(looks):%d %b %H:%MZ}, after the moment asked about,"


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


def check_length(length_m: float, flight: Flight) -> tuple[Finding, ...]:
    """The lane's length against what the run needs this way, in this air and wind, over its band."""
    needed = flight.needed
    if length_m < needed.middle:
        level: Literal["caution", "stop"] = "stop"
        message = f"{length_m:.0f} m long, needed: {flight.length_words()}."
    elif needed.high is not None and length_m < needed.high:
        level = "caution"
        message = f"{length_m:.0f} m long; {needed.middle:.0f} m are needed, up to {needed.high:.0f} m by some sources."
    else:
        return ()
    return (
        Finding(
            code="terrain_exit",
            level=level,
            message=message,
            source=flight.source,
            refers_to="",
            limit=f"{needed.middle if level == 'stop' else needed.high:.0f} m",
            value=f"{length_m:.0f} m",
        ),
    )


def check_air(
    surface_m: float | None, circumstances: Circumstances, flight: Flight | None = None
) -> tuple[Finding, ...]:
    """Thin air over the water: the run gets longer and the climb flatter.

    `flight`: how the class flies in that air, for what it costs in metres.
    """
    limit = circumstances.limits["density_altitude_caution_ft"]
    altitude_m, why = circumstances.density_altitude(surface_m)
    if flight is not None:
        altitude_m, why = flight.density_altitude_m, flight.why_unknown or why
    if altitude_m is None:
        used = (
            ""
            if flight is None
            else f" {flight.needed.middle:.0f} m are those of a standard day at sea level."
        )
        return (
            Finding(
                code="density_altitude",
                level="unknown",
                effect="noted",
                message=f"Density altitude not known: {why}.{used}",
                source=limit.source,
                refers_to="",
                limit=limit.text(),
            ),
        )
    altitude_ft = altitude_m / FOOT
    above = altitude_ft > limit.value
    words = "longer run and flatter climb than the class's values" if above else "within the limit"
    if flight is not None:
        words += f"; {flight.needed.middle:.0f} m are needed, {flight.standard_m:.0f} m at sea level"
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


def check_current(
    water: Water, flight: Flight, length_m: float, tailwind_limit: Quantity | None
) -> tuple[Finding, ...]:
    """A river's current: which way it runs along the lane is not told, so the worse way counts.

    Flown with it the water goes by slower: the fill needs as much water, so the run over the ground
    grows by V/(V − c). Flown against it the water is met faster, as with a tailwind of that speed.
    """
    if water.kind != "river":
        return ()
    if water.current_mps is None:
        return (_current("Current not known: it changes the run and the speed at the touch. Look."),)
    current, speed = water.current_mps, flight.water_mps
    words = f"Current {current:g} m/s, not known which way along the run"
    if speed is None or speed <= current:
        return (_current(f"{words}; what it adds to the run is not known either."),)
    run_m = flight.settle_m + (flight.fill_m or 0.0) + flight.lift_m
    longer_m = run_m * current / (speed - current)
    words += f": with it the run is {longer_m:.0f} m longer, against it the water is met {current / KNOT:.0f} kt faster"
    short = length_m < flight.needed.middle + longer_m
    tail_kt = (current + flight.tailwind_mps) / KNOT
    fast = tailwind_limit is not None and tail_kt > tailwind_limit.value
    if short:
        words += f"; {length_m:.0f} m do not hold that"
    if fast and tailwind_limit is not None:
        words += f", more than the {tailwind_limit.value:g} kt of tailwind allowed"
    return (_current(f"{words}.", caution=short or fast),)


def _current(message: str, *, caution: bool = False) -> Finding:
    return Finding(
        code="waterway",
        level="caution" if caution else "unknown",
        effect=None if caution else "noted",
        message=message,
        source=_NO_SOURCE,
        refers_to="",
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
