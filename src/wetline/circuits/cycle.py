"""The fill-fly-drop cycle of one aircraft between one source and one target.

A cycle is the sum of its parts: filling, turning, the leg out with its climb and descent, the drop pass, the
leg back, joining, and the passes flown without a drop. Of a lane whose ends are known the way round is laid
out and its parts are timed; else the class's own figure stands for all but the legs.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from wetline.circuits import checks
from wetline.circuits.legs import (
    LOADED,
    Leg,
    Seen,
    flight_time_s,
    fly_leg,
    ground_speed_mps,
    height_at_m,
    quantity_of,
)
from wetline.circuits.loads import capped, load_rule_of, mean_load_l
from wetline.circuits.parts import Part, Piece, flown_pieces, leg_pieces, plain_pieces
from wetline.circuits.pattern import Pattern, approach_m, assumed_run, lane_line, pattern_of, turning_radius_m
from wetline.circuits.racetrack import RaceTrack, race_track
from wetline.circuits.sources import Source, SourceKind, air_at_m, fit
from wetline.circuits.spread import band, band_from, draws_of, extra_passes, load_factors, overhead_of
from wetline.circuits.track import SCREEN_M, Levels, TrackPoint, track_points
from wetline.errors import InputError, Problem
from wetline.grid import bearing_deg
from wetline.model import Finding
from wetline.units import FOOT, MINUTE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from wetline.aircraft import Aircraft, AircraftClass, LoadRule
    from wetline.circuits.parts import Where
    from wetline.ground import Ground
    from wetline.model import Band, Limits
    from wetline.weather import Hour

    Line = NDArray[np.float64]
    Point = tuple[float, float]

__all__ = [
    "Circuit",
    "Leg",
    "circuit",
    "flight_time_s",
    "ground_speed_mps",
    "way_of",
]

_COMMON = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One aircraft's cycle on one source: `distance_m` from source to target, times in the band.

    Bands are the 10th to 90th of 100 members over the class's own ranges, named in `band_from`, and
    always hold the middle. `litres_per_load` is the mean over a fuel cycle, between `litres_full_fuel` and
    `litres_low_fuel`. The cycle is made of `ground_s` (on the ground at a base), `source_s`, `legs` and
    `target_s`; all but the first is flight. `parts`: the same in the order flown, in words. `ends`: source and
    target (x, y) [m]. `way`, `track`: the way round where it was laid out, None and empty where the class's own
    figure stands for all but the legs; `own_figure`: that figure, in words.
    """

    aircraft: str
    class_id: str
    source: str
    source_kind: SourceKind
    water: str
    ends: tuple[Point, Point]
    distance_m: float
    cycle_min: Band
    loads_per_hour: Band
    litres_per_hour: Band
    litres_per_load: float
    litres_full_fuel: float
    litres_low_fuel: float
    legs: tuple[Leg, Leg]
    ground_s: float
    source_s: float
    target_s: float
    parts: tuple[Part, ...]
    look: bool
    blocked: bool
    band_from: tuple[str, ...]
    own_figure: str
    way: RaceTrack | None = None
    track: tuple[TrackPoint, ...] = ()
    findings: tuple[Finding, ...] = ()


@lru_cache(maxsize=1024)
def _way(
    fill: tuple[Point, ...], run: tuple[Point, ...], radius_m: float, apart_m: float
) -> RaceTrack | None:
    return race_track(np.array(fill), np.array(run), radius_m=radius_m, apart_m=apart_m)


def way_of(cls: AircraftClass, source: Source, run: Line, limits: Limits) -> RaceTrack | None:
    """The way round from a source over a run; None where none was found.

    `run`: approach, release and exit as flown, float64[n, 2] [m].
    """
    fill = np.array([source.position]) if source.strip is None else lane_line(source.strip)
    return _way(
        tuple(map(tuple, fill.tolist())),
        tuple(map(tuple, run.tolist())),
        turning_radius_m(cls, limits),
        limits.value("legs_apart_m"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """What one cycle is worked out from."""

    aircraft: Aircraft
    cls: AircraftClass
    source: Source
    target: Point
    hour: Hour | None
    ground: Ground
    limits: Limits
    seen: Seen | None = None

    @property
    def surface_m(self) -> float | None:
        """Height of the source above sea level."""
        known_m = self.source.elevation_m
        return height_at_m(self.ground, self.source.position) if known_m is None else known_m

    @property
    def air_m(self) -> float | None:
        """Density altitude at the source."""
        return air_at_m(self.surface_m, self.hour)


class _Common(TypedDict):
    hour: Hour | None
    ground: Ground
    limits: Limits
    seen: Seen | None


def _laid_out(case: _Case, run: Line | None) -> tuple[Pattern, RaceTrack, Line] | None:
    """Pattern, way round and run of a lane whose ends are known; None where there is no such thing."""
    if case.source.strip is None:
        return None
    pattern = pattern_of(case.cls, case.limits, density_altitude_m=case.air_m)
    if pattern is None:
        return None
    if run is None:
        here = case.source.position
        course = float(bearing_deg(case.target[0] - here[0], case.target[1] - here[1]))
        run = assumed_run(case.cls, case.target, course, case.hour)
    way = way_of(case.cls, case.source, run, case.limits)
    return None if way is None else (pattern, way, run)


def _legs(case: _Case, way: RaceTrack | None) -> tuple[Leg, Leg]:
    """Out and back: the straights of the way round, else straight from source to target."""
    here, there, surface_m = case.source.position, case.target, case.source.elevation_m
    common: _Common = {
        "hour": case.hour, "ground": case.ground, "limits": case.limits, "seen": case.seen,
    }  # fmt: skip
    if way is None:
        return (
            fly_leg("out", case.cls, here, there, heights_m=(surface_m, None), **common),
            fly_leg("back", case.cls, there, here, heights_m=(None, surface_m), **common),
        )
    fire_m = height_at_m(case.ground, there)
    final_m, run_m = float(np.hypot(*(way.fill[1] - way.fill[0]))), approach_m(case.cls)
    return (
        fly_leg(
            "out", case.cls, way.out.off, way.out.on,
            heights_m=(surface_m, fire_m), after_m=way.out.last_m + run_m, **common,
        ),
        fly_leg(
            "back", case.cls, way.back.off, way.back.on,
            heights_m=(fire_m, surface_m), after_m=way.back.last_m + final_m, **common,
        ),
    )  # fmt: skip


def _track(
    case: _Case, legs: tuple[Leg, Leg], pattern: Pattern, way: RaceTrack, run: Line
) -> tuple[TrackPoint, ...]:
    """The way round with heights: over the ground on the legs by the limit, on the slopes of the limits at the water."""
    clear_m = case.limits.value("en_route_clear_ft") * FOOT
    out_m, back_m = (None if leg.top_m is None or not leg.known else leg.top_m + clear_m for leg in legs)
    drop, tops_m = case.cls.get("drop_height_ft"), _tops_m(case.ground, case.target)
    run_m = None if drop is None or tops_m is None else tops_m + drop.si()

    def near_m(leg_m: float | None, slope_name: str) -> float | None:
        if leg_m is None or case.surface_m is None:
            return None
        return min(leg_m, case.surface_m + SCREEN_M + pattern.final_m * case.limits.value(slope_name))

    levels = Levels(
        screen_m=None if case.surface_m is None else case.surface_m + SCREEN_M,
        climb_out_m=near_m(out_m, "climb_gradient_available"),
        out_m=out_m,
        run_m=run_m,
        back_m=back_m,
        final_m=near_m(back_m, "approach_gradient_available"),
    )
    return track_points(
        way, strip=case.source.strip, release=(float(run[1][0]), float(run[1][1])), levels=levels
    )


def _tops_m(ground: Ground, point: Point) -> float | None:
    """Top of the trees [m above sea level] at a point; None where ground or trees are not known."""
    ground_m, canopy = height_at_m(ground, point), ground.canopy_height_m
    if ground_m is None or canopy is None:
        return None
    trees_m = float(ground.grid.nearest(canopy, np.array([point[0]]), np.array([point[1]]))[0])
    return ground_m + trees_m if np.isfinite(trees_m) else None


def _pieces(case: _Case, legs: tuple[Leg, Leg], laid: tuple[Pattern, RaceTrack, Line] | None) -> list[Piece]:
    overhead = overhead_of(case.cls, reload_s=case.source.reload_s)
    draws, go_rounds = draws_of(case.cls, overhead, case.hour), extra_passes(case.limits)
    flights = [piece for leg in legs for piece in leg_pieces(leg, draws, case.hour, case.limits)]
    if laid is None:
        return plain_pieces(case.cls, overhead, draws, flights, go_rounds=go_rounds)
    pattern, way, run = laid
    course = float(bearing_deg(*(run[1] - run[0])))
    wind, from_deg = (0.0, 0.0) if case.hour is None else (case.hour.wind_mps, case.hour.wind_from_deg)
    run_mps = ground_speed_mps(pattern.speed_mps, course, wind, from_deg)
    return flown_pieces(
        case.cls, overhead, draws, pattern, way, flights, run_mps=run_mps, go_rounds=go_rounds
    )


def _own_figure(case: _Case, laid: tuple[Pattern, RaceTrack, Line] | None) -> str:
    """The class's own figure for all but the legs beside what its parts add up to."""
    air = overhead_of(case.cls).air
    span = "" if air.low is None or air.high is None else f" ({air.low:g}–{air.high:g})"
    own = f"the class's own figure for all but the legs is {air.value:g} min{span}; {air.source}"
    if laid is None:
        return f"Not laid out: {own}."
    plainest_s = laid[0].overhead_s(quantity_of(case.cls, *LOADED).si())
    return (
        f"Fill, turns and drop pass of the plainest circuit add up to {plainest_s / MINUTE:.1f} min; {own}."
    )


def _unknowns(case: _Case, legs: tuple[Leg, Leg], laid: object | None, rule: LoadRule) -> list[Finding]:
    """What the cycle had to leave out."""
    refers_to = f"{case.aircraft.call_sign} {case.source.id}"

    def noted(code: str, message: str) -> Finding:
        return Finding(
            code=code,  # type: ignore[arg-type]
            level="unknown",
            effect="noted",
            message=message,
            source=_COMMON,
            refers_to=refers_to,
        )

    out = []
    if case.hour is None:
        words = "; ".join(("its cycle is that of still air", *rule.not_counted))
        out.append(noted("wind", f"No weather for {refers_to}: {words}."))
    else:
        out += [noted("data_missing", f"Load of {refers_to}: {words}.") for words in rule.not_counted]
    known = legs[0].known and legs[1].known
    if not known or any(leg.climb_m > 0.0 and leg.climb_s == 0.0 for leg in legs):
        lacking = "heights on the way" if not known else "the class's rate of climb"
        out.append(
            noted(
                "data_missing",
                f"{lacking.capitalize()} not known for {refers_to}: climb and descent are not wholly counted.",
            )
        )
    if laid is None and case.source.strip is not None:
        out.append(
            noted(
                "separation",
                f"{refers_to}: no one-way track was found between lane and run that does not cross itself; "
                "the class's own figure stands for all but the legs.",
            )
        )
    return out


def _apart(case: _Case, way: RaceTrack | None) -> list[Finding]:
    """Whether the legs of the way round lie far enough from each other."""
    if way is None:
        return []
    limit = case.limits["legs_apart_m"]
    if way.apart_m >= limit.value:
        return []
    return [
        Finding.against(
            limit,
            code="separation",
            level="caution",
            message=f"Legs out and back only {way.apart_m:.0f} m apart: agree heights.",
            refers_to=f"{case.aircraft.call_sign} {case.source.id}",
            value=f"{way.apart_m:.0f} m",
            distance_m=way.apart_m,
        )
    ]


def _seconds(pieces: Iterable[Piece], where: Where) -> float:
    return sum(piece.seconds for piece in pieces if piece.where == where)


def circuit(
    aircraft: Aircraft,
    cls: AircraftClass,
    source: Source,
    target: Point,
    hour: Hour | None,
    ground: Ground,
    limits: Limits,
    *,
    run: Line | None = None,
    seen: Seen | None = None,
) -> Circuit:
    """The cycle between a source and a target (x, y) [m]; `hour` None means still air, and says so.

    `run`: approach, release and exit as flown, float64[n, 2] [m]; else a run into the wind. `seen`: legs of
    this ground looked at already.

    Raises
    ------
    InputError
        If the aircraft does not load at that source, or its class lacks what a cycle needs.
    OutsideRangeError
        If a leg or the run cannot be flown in that wind.
    """
    why, findings = fit(source, aircraft, cls)
    if why is not None:
        problem = Problem(
            message=f"{aircraft.call_sign} at {source.id}: {why}.", mend="Choose another source."
        )
        raise InputError.of([problem])
    case = _Case(
        aircraft=aircraft, cls=cls, source=source, target=target, hour=hour, ground=ground, limits=limits,
        seen=seen,
    )  # fmt: skip
    laid = _laid_out(case, run)
    way = None if laid is None else laid[1]
    legs = _legs(case, way)
    pieces = _pieces(case, legs, laid)
    cycle_s = sum(piece.seconds for piece in pieces)
    cycles = np.sum([piece.members for piece in pieces], axis=0)
    rule = load_rule_of(aircraft, cls, case.air_m)
    litres, low_fuel = mean_load_l(rule, checks.reserve_s(cls, limits), source.load_cap_l)
    loads = capped(litres * load_factors(cls), source.load_cap_l) if aircraft.load_l is None else litres
    return Circuit(
        aircraft=aircraft.call_sign,
        class_id=cls.id,
        source=source.id,
        source_kind=source.kind,
        water=source.name,
        ends=(source.position, target),
        distance_m=float(np.hypot(target[0] - source.position[0], target[1] - source.position[1])),
        cycle_min=band(cycle_s / MINUTE, cycles / MINUTE),
        loads_per_hour=band(3600.0 / cycle_s, 3600.0 / cycles),
        litres_per_hour=band(litres * 3600.0 / cycle_s, loads * 3600.0 / cycles),
        litres_per_load=litres,
        litres_full_fuel=float(capped(rule.litres(rule.full_fuel_s), source.load_cap_l)),
        litres_low_fuel=low_fuel,
        legs=legs,
        ground_s=_seconds(pieces, "ground"),
        source_s=_seconds(pieces, "source"),
        target_s=_seconds(pieces, "target"),
        parts=tuple(piece.part() for piece in pieces),
        look=any(f.level == "unknown" and f.holds_back for f in findings),
        blocked=any(f.level == "unknown" and f.effect == "blocks" for f in findings),
        band_from=band_from(aircraft, cls, hour, legs[0].climb_m + legs[1].climb_m),
        own_figure=_own_figure(case, laid),
        way=way,
        track=() if laid is None else _track(case, legs, *laid),
        findings=(*findings, *_unknowns(case, legs, laid, rule), *_apart(case, way)),
    )
