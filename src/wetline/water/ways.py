"""The ways in and out of a lane against what the limits allow and what the class climbs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from wetline.model import Finding
from wetline.units import FOOT
from wetline.water.course import APPROACH_M, CLIMB_M
from wetline.water.escape import Escape, turn_out

if TYPE_CHECKING:
    import shapely

    from wetline.ground import Ground
    from wetline.model import Band, Limit, Limits
    from wetline.water.course import Course, Slope
    from wetline.water.wires import Obstacle
    from wetline.weather import Hour

    Area = shapely.Polygon | shapely.MultiPolygon

__all__ = [
    "Way",
    "check_class_climb",
    "check_trees",
    "check_way",
    "climb_available",
    "escape_from",
    "way_in",
    "way_out",
]

_NEAR_LIMIT = 0.75  # share of a slope at which to say so: common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way, in or out: the slope asked for, by what and where, and the slope that counts.

    `asked`: by what is known; `unknown_at_m`: the nearest place without terrain, None if all is
    known. `of_class`: what the class climbs over the ground at full load, None for a way in or
    where it is not known.
    """

    name: Literal["Approach", "Climb-out"]
    asked: float
    by: str
    along_m: float
    away_m: float
    unknown_at_m: float | None
    unknown_away_m: float
    limit: float
    limit_source: str
    reach_m: float
    of_class: Band | None = None

    @property
    def needed(self) -> float | None:
        """The slope [m/m] asked for; None where some of the ground is not known."""
        return None if self.unknown_at_m is not None else self.asked

    @property
    def available(self) -> float:
        """The slope [m/m] that counts: the limit, or less where the class climbs less."""
        return self.limit if self.of_class is None else min(self.limit, self.of_class.middle)

    @property
    def fails(self) -> bool:
        """Whether what is known asks for more than counts."""
        return self.asked > self.available or self.available <= 0.0

    @property
    def close(self) -> bool:
        """Whether it is near the limit, or more than the least that the class climbs."""
        low = None if self.of_class is None else self.of_class.low
        return self.asked > _NEAR_LIMIT * self.limit or (low is not None and self.asked > low)


def way_in(course: Course, obstacles: tuple[Obstacle, ...], limits: Limits) -> Way:
    """The approach over the near shore, counted back from the touch."""
    steeper = [(o.approach_asked, o) for o in obstacles]
    limit = limits["approach_gradient_available"]
    return _way("Approach", course.approach, steeper, limit, from_m=course.touch_m, reach_m=APPROACH_M)


def way_out(course: Course, obstacles: tuple[Obstacle, ...], limits: Limits) -> Way:
    """The climb straight ahead at full load, counted from the lift-off."""
    steeper = [(o.climb_asked, o) for o in obstacles]
    limit = limits["climb_gradient_available"]
    way = _way("Climb-out", course.climb, steeper, limit, from_m=course.lift_m, reach_m=CLIMB_M)
    return replace(way, of_class=climb_available(course))


def _way(
    name: Literal["Approach", "Climb-out"],
    slope: Slope,
    steeper: list[tuple[float, Obstacle]],
    limit: Limit,
    *,
    from_m: float,
    reach_m: float,
) -> Way:
    """What ground and obstacles ask for, counted from `from_m` along the course."""
    asked, by, along_m = _asked(slope, steeper)
    return Way(
        name=name,
        asked=asked,
        by=by,
        along_m=along_m,
        away_m=abs(along_m - from_m),
        unknown_at_m=slope.unknown_at_m,
        unknown_away_m=abs((slope.unknown_at_m or 0.0) - from_m),
        limit=limit.value,
        limit_source=limit.source,
        reach_m=reach_m,
    )


def climb_available(course: Course) -> Band | None:
    """What the class climbs over the ground [m/m], at full load, in this air and wind."""
    return course.flight.over_ground(course.flight.climb)


def _asked(slope: Slope, steeper: list[tuple[float, Obstacle]]) -> tuple[float, str, float]:
    asked, by, along_m = slope.asked, f"a top {slope.top_m:.0f} m above the water", slope.along_m
    for more, obstacle in steeper:
        if more > asked:
            asked, by, along_m = more, f"{obstacle.hazard.kind} {obstacle.hazard.name}", obstacle.along_m
    return asked, by, along_m


def check_way(way: Way, course: Course, escape: Escape | None = None) -> Finding:
    """What one way asks for against what counts; `escape` goes with a way out that fails."""
    value = f"{100 * way.asked:.1f} %"
    text = f"{100 * way.limit:g} %"
    asks = f"{way.name} asks for {value} over {way.by} {way.away_m:.0f} m away"
    by_class = _class_words(way, course)
    level: Literal["clear", "caution", "stop"] = "clear"
    if way.fails:
        level = "stop"
        message = f"{asks}, limit {text}{by_class}."
        if escape is not None:
            level = "caution" if escape.kind in {"turn_left", "turn_right"} else "stop"
            message += f" {_escape_words(escape)}"
    elif way.unknown_at_m is not None:
        return Finding(
            code="terrain_exit",
            level="unknown",
            effect="blocks",
            message=f"{way.name}: the terrain is not known from {way.unknown_away_m:.0f} m on.",
            source="the terrain raster",
            refers_to="",
            position=course.point(way.unknown_at_m),
            distance_m=way.unknown_away_m,
            limit=text,
        )
    elif way.close:
        level = "caution"
        message = f"{asks}, close to the limit {text}{by_class}."
    elif way.asked == 0.0:
        message = f"{way.name}: nothing known rises above the water for {way.reach_m:.0f} m straight ahead, limit {text}{by_class}."
    else:
        message = f"{asks}, limit {text}{by_class}; looked at for {way.reach_m:.0f} m."
    return Finding(
        code="terrain_exit",
        level=level,
        message=message,
        source=way.limit_source,
        refers_to="",
        position=course.point(way.along_m),
        distance_m=way.away_m,
        limit=text,
        value=value,
    )


def _class_words(way: Way, course: Course) -> str:
    """What the class climbs, where that is less than the limit or is what the finding turns on."""
    band = way.of_class
    if band is None:
        return ""
    low = band.middle if band.low is None else band.low
    if low >= way.limit:
        return ""
    altitude_m = course.flight.density_altitude_m
    air = "" if altitude_m is None else f" at {altitude_m / FOOT:.0f} ft density altitude"
    least = "" if band.low is None else f", at least {100 * band.low:.1f} %"
    return f"; the class climbs {100 * band.middle:.1f} %{least}, full{air}"


def _escape_words(escape: Escape) -> str:
    if escape.kind in {"turn_left", "turn_right"}:
        return f"Way out: turn {escape.kind.removeprefix('turn_')}, {escape.because}."
    if escape.kind == "dump":
        return f"Way out only with the load dumped: {escape.because}."
    word = "No way out" if escape.kind == "none" else "Way out not known"
    return f"{word}: {escape.because}."


def escape_from(
    way: Way, course: Course, water: Area, ground: Ground, hour: Hour | None, limits: Limits
) -> Escape:
    """How to leave: straight where that is clear, else by a turn with the load, else with it dumped.

    In a turn a share of the least climb of the class counts, never more than the limit.
    """
    band = way.of_class
    if not way.fails:
        if way.unknown_at_m is not None:
            return Escape(kind="unknown", because="the terrain straight ahead is not known")
        return Escape(
            kind="straight",
            because=f"straight ahead asks for {100 * way.asked:.1f} % of {100 * way.available:.1f} %",
            gradient_needed=way.asked,
            gradient_available=way.available,
        )
    if band is None:
        turn = Escape(kind="unknown", because="the climb of the class in this air is not known")
    elif way.along_m < course.run_to_m:
        turn = Escape(kind="none", because="what stands in the way comes before a turn can begin")
    else:
        still = course.flight.climb
        least = min(v for b in (band, still) if b is not None for v in (b.middle, b.low) if v is not None)
        share = limits.value("turn_climb_share_pct") / 100.0
        turn = turn_out(
            course, water, ground, hour, limits, available=max(min(way.limit, share * least), 0.0)
        )
    if turn.kind in {"turn_left", "turn_right"}:
        return turn
    return _dumped(way, course, turn)


def _dumped(way: Way, course: Course, turn: Escape) -> Escape:
    """Straight ahead with the load dumped, judged by the least that the class then climbs."""
    empty = course.flight.over_ground(course.flight.climb_empty)
    if empty is None:
        because = f"{turn.because}; the climb with the load dumped is not known"
        return Escape(kind="unknown", because=because, radius_m=turn.radius_m)
    least = empty.middle if empty.low is None else empty.low
    words = f"asks for {100 * way.asked:.1f} %, the class then climbs {100 * least:.1f} % or more"
    if way.unknown_at_m is not None:
        return Escape(kind="unknown", because=f"{turn.because}; the terrain straight ahead is not known")
    if way.asked <= least:
        return Escape(
            kind="dump",
            because=f"{words}; {turn.because}",
            gradient_needed=way.asked,
            gradient_available=least,
        )
    kind: Literal["none", "unknown"] = "unknown" if turn.kind == "unknown" else "none"
    return Escape(
        kind=kind, because=f"{turn.because}; with the load dumped it {words.replace('or more', 'at least')}"
    )


def check_class_climb(way: Way, course: Course) -> tuple[Finding, ...]:
    """A climb of the class that is not known, or less than the limit lets a lane ask for."""
    band, text = way.of_class, f"{100 * way.limit:g} %"
    if band is None:
        return (
            Finding(
                code="density_altitude",
                level="unknown",
                effect="noted",
                message=f"Climb of the class in this air not known: the climb-out is judged by the limit of {text} alone.",
                source="the class's table"
                if course.flight.why_unknown is None
                else course.flight.why_unknown,
                refers_to="",
                limit=text,
            ),
        )
    if band.middle >= way.limit:
        return ()
    return (
        Finding(
            code="density_altitude",
            level="caution",
            message=f"The class climbs {100 * band.middle:.1f} % at full load here, less than the {text} that a lane may ask for: "
            "the class's climb counts.",
            source="the class's table",
            refers_to="",
            limit=text,
            value=f"{100 * band.middle:.1f} %",
        ),
    )


def check_trees(course: Course) -> tuple[Finding, ...]:
    """Trees that nobody knows are counted as bare ground, and that is said."""
    if course.profile.trees_known:
        return ()
    return (
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message="Tree heights are not known: climb-out and approach count bare ground.",
            source="the incident folder",
            refers_to="",
        ),
    )
