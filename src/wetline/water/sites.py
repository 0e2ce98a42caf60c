"""Scoop lanes of an incident, best first: usable, then to be looked at, then rejected."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from wetline.errors import InputError, Problem
from wetline.units import KNOT
from wetline.water import checks
from wetline.water.across import Piece, in_pieces, wholes
from wetline.water.circumstances import Circumstances
from wetline.water.course import glance
from wetline.water.flight import how_flown
from wetline.water.judge import Candidate, judged
from wetline.water.lanes import lanes_in, longest_lane
from wetline.water.reach import refer, tier, waters_within
from wetline.water.swell import swell_angle_deg

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.aircraft import AircraftClass, Quantity
    from wetline.ground import Ground, Water
    from wetline.model import Limits
    from wetline.water.flight import Flight
    from wetline.water.found import Lane
    from wetline.water.lanes import Strip
    from wetline.weather import Hour

    Area = Polygon | MultiPolygon

__all__ = ["lanes_for", "why_no_lane"]

_FINER = 3.0
_TRIED = 8  # ways of flying that are looked at closely, each water
_ACROSS = 2.0  # lengths needed on either side of a cut between two pieces of one water
_WALLED = 10.0  # cost of a way past a limit: more than wind, swell and length together


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

    Each lane is as long as the class needs in the air of the hour, and flown into the wind and along
    the swell where the ways in and out allow it; every water gives at most `per_water` lanes. Headings lie `step_deg` apart, a third of it in water that gives none.
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
    pieces = [Piece(*row) for row in waters_within(ground, near, within_m)]

    def found(piece: Piece) -> list[Strip]:
        flight, _ = _flown(aircraft_class, piece, circumstances)
        scale = _scale(ground, piece.area)
        strips = _strips(piece.area, flight.needed.middle, needs.half_width.value, scale, step_deg)
        return [strip for strip in strips if math.dist(strip.middle, near) <= within_m]

    searched = [(piece, found(piece)) for piece in pieces]
    for whole in wholes(pieces, circumstances, reach_m=_ACROSS * needs.length.value):
        searched += in_pieces(whole, found(whole.as_one), circumstances)
    groups = [
        _best(piece, strips, aircraft_class, needs, circumstances, per_water) for piece, strips in searched
    ]
    return _named(groups, near, name_prefix)


def _best(
    piece: Piece,
    strips: list[Strip],
    cls: AircraftClass,
    needs: _Needs,
    circumstances: Circumstances,
    most: int,
) -> list[Lane]:
    """The strips of one water as flown, the best first and well apart."""
    water, hour = piece.water, circumstances.hour
    flight, surface_m = _flown(cls, piece, circumstances)
    steep = _glances(strips, piece.area, flight, surface_m, circumstances.ground)
    ways = _ways_to_fly(strips, steep, water, hour, cls, flight)
    ways.sort(key=lambda way: _stopped_by_wind(way[1], hour, cls))
    best: list[Lane] = []
    tried: list[Lane] = []
    for start, heading_deg, strip in ways:
        if _stopped_by_wind(heading_deg, hour, cls) and len(best) == most and best[-1].level != "stop":
            break  # a stop ranks behind all that is kept
        candidate = Candidate(
            water=water,
            area=piece.area,
            outline_note=piece.note,
            strip=strip,
            clear_m=needs.half_width.value,
            start=start,
            heading_deg=heading_deg,
            cls=cls,
            flight=flight,
        )
        tried.append(judged(candidate, circumstances))
        best = _apart(sorted(tried, key=partial(_cost, cls=cls, water=water, hour=hour)))[:most]
    return best


def why_no_lane(
    ground: Ground,
    aircraft_class: AircraftClass,
    hour: Hour | None,
    limits: Limits,
    *,
    near: tuple[float, float],
    within_m: float,
    step_deg: float = 3.0,
) -> tuple[str, float | None]:
    """Why `lanes_for` gives none, and by how many metres the lane that misses least is short.

    Each water is held against the length that its own air asks for.

    Raises
    ------
    InputError
        As `lanes_for`.
    """
    needs = _needs(aircraft_class)
    pieces = [Piece(*row) for row in waters_within(ground, near, within_m)]
    if not ground.water.present and not pieces:
        return "there is no water layer", None
    if not pieces:
        return f"no water lies within {within_m / 1000:g} km", None
    circumstances = Circumstances(ground=ground, limits=limits, hour=hour)
    short_m, longest_m, need_m = math.inf, 0.0, 0.0
    for piece in [
        *pieces,
        *(whole.as_one for whole in wholes(pieces, circumstances, reach_m=_ACROSS * needs.length.value)),
    ]:
        scale = _scale(ground, piece.area)
        needed_m = _flown(aircraft_class, piece, circumstances)[0].needed.middle
        best = longest_lane(piece.area, clear_m=needs.half_width.value * scale, step_deg=step_deg / _FINER)
        length_m = best.length_m / scale if best else 0.0
        if needed_m - length_m < short_m:
            short_m, longest_m, need_m = needed_m - length_m, length_m, needed_m
    if short_m <= 0.0:
        return f"every lane lies more than {within_m / 1000:g} km away", None
    wide = f"{2 * needs.half_width.value:g} m wide"
    return f"the longest lane {wide} is {longest_m:.0f} m long, {need_m:.0f} m are needed", short_m


def _flown(cls: AircraftClass, piece: Piece, circumstances: Circumstances) -> tuple[Flight, float | None]:
    """How the class flies a lane of the water in the air of the hour, and the water's height [m]."""
    surface_m = piece.water.surface_m
    if surface_m is None:
        inside = shapely.point_on_surface(piece.area)
        terrain_m = circumstances.ground.elevation_at(inside.x, inside.y)
        surface_m = terrain_m if math.isfinite(terrain_m) else None
    altitude_m, why = circumstances.density_altitude(surface_m)
    return how_flown(cls, altitude_m, circumstances.limits, why_unknown=why or None), surface_m


def _glances(
    strips: list[Strip], area: Area, flight: Flight, surface_m: float | None, ground: Ground
) -> NDArray[np.float64]:
    """[strip, way] share of the climb that a first look ahead asks for: as drawn, and turned round."""
    if not strips or surface_m is None:
        return np.zeros((len(strips), 2))
    starts = np.array([way for s in strips for way in (s.start, s.end)])
    headings = np.array([way for s in strips for way in (s.heading_deg, s.heading_deg + 180.0)])
    lengths = np.repeat([s.length_m for s in strips], 2)
    return glance(ground, area, starts, headings, lengths, flight, surface_m).reshape(-1, 2)


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


def _strips(
    area: Area, needed_m: float, half_width_m: float, scale: float, step_deg: float
) -> tuple[Strip, ...]:
    """Every band, `step_deg` apart; where there is none, the headings between are searched too."""
    found: tuple[Strip, ...] = ()
    for step in (step_deg, step_deg / _FINER):
        found = lanes_in(area, length_m=needed_m * scale, clear_m=half_width_m * scale, step_deg=step)
        if found:
            break
    return found


def _scale(ground: Ground, area: Area) -> float:
    """Grid metres in a metre on the ground, the largest over any direction at the water's middle."""
    middle = shapely.centroid(area)
    lon, lat = ground.grid.projection.to_lonlat(middle.x, middle.y)
    return float(_projected(ground.grid.projection.code).get_factors(float(lon), float(lat)).tissot_semimajor)


@lru_cache(maxsize=8)
def _projected(code: str) -> pyproj.Proj:
    return pyproj.Proj(code)


def _ways_to_fly(
    strips: list[Strip],
    steep: NDArray[np.float64],
    water: Water,
    hour: Hour | None,
    cls: AircraftClass,
    flight: Flight,
) -> list[tuple[tuple[float, float], float, Strip]]:
    """The strips worth a close look, each flown one way: (start, heading, strip), well apart.

    `steep`: [strip, way] share of the climb that a first look asks for; ways over it come last.
    """
    ways = []
    for strip, (there, back) in zip(strips, steep.tolist(), strict=True):
        ways.append((strip.start, strip.heading_deg, strip, there))
        ways.append((strip.end, (strip.heading_deg + 180.0) % 360.0, strip, back))

    def cost(
        way: tuple[tuple[float, float], float, Strip, float],
    ) -> tuple[float, float, tuple[float, float]]:
        start, heading_deg, strip, share = way
        walled = _WALLED * (share > 1.0)
        spare = min(strip.length_m / flight.needed.middle, 2.0)
        return (
            walled + _wind_share(heading_deg, hour, cls) + _swell_share(heading_deg, water, cls) - spare,
            heading_deg,
            start,
        )

    kept: list[tuple[tuple[float, float], float, Strip]] = []
    for start, heading_deg, strip, _ in sorted(ways, key=cost):
        if len(kept) == _TRIED:
            break
        if all(_differ(heading_deg, strip, other[1], other[2]) for other in kept):
            kept.append((start, heading_deg, strip))
    return kept


def _differ(heading_deg: float, strip: Strip | Lane, other_deg: float, other: Strip | Lane) -> bool:
    turn = abs((heading_deg - other_deg + 180.0) % 360.0 - 180.0)
    return turn >= 20.0 or math.dist(strip.middle, other.middle) >= 0.5 * min(strip.length_m, other.length_m)


def _wind_share(heading_deg: float, hour: Hour | None, cls: AircraftClass) -> float:
    """Share of the wind limits that a heading uses, much more where one is passed; 0 without weather."""
    if hour is None:
        return 0.0
    head_mps, cross_mps = checks.wind_on(heading_deg, hour)
    cross, tail = cls.get("crosswind_limit_kt"), cls.get("tailwind_limit_kt")
    cross_share = abs(cross_mps) / ((cross.value if cross else 10.0) * KNOT)
    tail_share = max(-head_mps, 0.0) / ((tail.value if tail else 5.0) * KNOT)
    return _WALLED * (max(cross_share, tail_share) > 1.0) + cross_share + 2.0 * tail_share


def _stopped_by_wind(heading_deg: float, hour: Hour | None, cls: AircraftClass) -> bool:
    """Whether the mean wind passes a limit of the class that is known: a stop, whatever else is found."""
    if hour is None:
        return False
    head_mps, cross_mps = checks.wind_on(heading_deg, hour)
    cross, tail = cls.get("crosswind_limit_kt"), cls.get("tailwind_limit_kt")
    return (cross is not None and abs(cross_mps) > cross.si()) or (tail is not None and -head_mps > tail.si())


def _swell_share(heading_deg: float, water: Water, cls: AircraftClass) -> float:
    """What the swell speaks against a heading: 0 along its crests, its share of the limit into or with it."""
    limit = cls.get("wave_limit_m")
    if not water.swell_m or water.swell_from_deg is None or limit is None:
        return 0.0
    across = 1.0 - swell_angle_deg(heading_deg, water.swell_from_deg) / 90.0
    return across * water.swell_m / limit.value


def _cost(lane: Lane, cls: AircraftClass, water: Water, hour: Hour | None) -> tuple[float, ...]:
    share = _wind_share(lane.heading_deg, hour, cls) + _swell_share(lane.heading_deg, water, cls)
    spare = min(lane.length_m / (lane.needed_m or lane.length_m), 2.0)
    return (*tier(lane.findings), share - spare, lane.heading_deg, *lane.start)


def _apart(lanes: list[Lane]) -> list[Lane]:
    kept: list[Lane] = []
    for lane in lanes:
        if all(_differ(lane.heading_deg, lane, other.heading_deg, other) for other in kept):
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
