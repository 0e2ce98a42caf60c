"""Lanes of any water file in longitude and latitude: conformal metre frames, one a water or a tile.

Waters that touch or overlap are joined first: only where the water ends is a shore. Each water is
laid into a transverse Mercator frame about its own middle, its shore taken as straight between the
drawn points in that frame. Up to 100 km across, the frame's scale is within 31 millionths of 1;
clearances are asked for at the largest scale, so that they hold on the ground. Wider water is cut
into tiles of about 30 km that overlap by a lane; there a lane is given up to 10 km long, or up to the
length asked for where that is more. Water more than 1,500 km across is named and not searched.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, cast

import numpy as np
import pyproj
import shapely

from wetline.errors import Problem, SolverError
from wetline.model import Finding
from wetline.water.found import FileLane, FoundLanes
from wetline.water.joined import LONLAT_GAP, joined, name_along, united
from wetline.water.lanes import check_asked, lanes_in, longest_lane, mended
from wetline.water.tiles import EVERYWHERE, FARTHEST_LAT, Tile, metres_across, tiles

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from wetline.water.shore import Strip

    Area = Polygon | MultiPolygon
    _Named = tuple[int, str | int, Area]

__all__ = ["lanes_of_file", "lanes_of_water"]

_WIDEST_M = 1.0e5
_REFUSED_M = 1.5e6  # an ocean: a million lanes in one answer serve nobody
_LONGEST_M = 1.0e4  # of a lane in wide water
_ROUNDING_M = 1e-3
_SAME_HEADING_DEG = 0.05  # nearer than anyone flies: the heading that was searched is given
_EARTH_RADIUS_M = 6.357e6  # the polar radius: the largest scale error of the frame


@lru_cache(maxsize=1)
def _geod() -> pyproj.Geod:
    return pyproj.Geod(ellps="WGS84")


@dataclass(frozen=True, slots=True)
class _Asked:
    length_m: float
    clear_m: float
    step_deg: float | None


def lanes_of_file(
    features: Iterable[tuple[str | int, BaseGeometry | None]],
    *,
    length_m: float,
    clear_m: float,
    step_deg: float | None = 5.0,
) -> FoundLanes:
    """Every usable band of every water, longest first; headings true at the lane's middle.

    `features`: name, or zero-based index where it has none, and geometry in lon/lat [deg, WGS 84].
    Features that touch or overlap are one water; a lane across them bears all their names, `A + B`.
    Headings are searched as in `lanes_in`, from the north of each frame; where the true bearing
    differs from that by 0.05° or more (away from the middle of wide water) it is given instead.
    `problems` names each feature that was repaired, holds no water, or could not be searched.

    Raises
    ------
    OutsideRangeError
        If a length, a half-width or a step lies outside its range.
    """
    check_asked(length_m, clear_m, step_deg)
    asked = _Asked(length_m, clear_m, step_deg)
    problems: list[Problem] = []
    waters: list[_Named] = []
    for row, (name, geometry) in enumerate(features):
        area, found = _water(name, row, geometry)
        problems += found
        if area is not None:
            waters.append((row, name, area))
    lanes: list[FileLane] = []
    together = joined([water for _, _, water in waters], gap=LONLAT_GAP, around=360.0)
    groups = [[waters[i] for i in group] for group in together]
    for group in groups:
        more, found = _lanes_of_group(group, asked)
        lanes += more
        problems += found
    if lanes:
        lanes.sort(key=lambda lane: (-round(lane.length_m, 3), str(lane.water), lane.heading_deg))
        return FoundLanes(lanes=tuple(lanes), problems=tuple(problems))
    reason, miss_m = _none_found(groups, asked)
    return FoundLanes(lanes=(), reason=reason, nearest_miss_m=miss_m, problems=tuple(problems))


def lanes_of_water(
    name: str | int,
    row: int,
    geometry: BaseGeometry | None,
    *,
    length_m: float,
    clear_m: float,
    step_deg: float | None = 5.0,
) -> tuple[tuple[FileLane, ...], tuple[Problem, ...]]:
    """Every usable band of one feature alone, longest first, and what was wrong with it.

    Raises
    ------
    OutsideRangeError
        As `lanes_of_file`.
    """
    check_asked(length_m, clear_m, step_deg)
    area, problems = _water(name, row, geometry)
    if area is None:
        return (), tuple(problems)
    lanes, found = _lanes_of_group([(row, name, area)], _Asked(length_m, clear_m, step_deg))
    lanes.sort(key=lambda lane: (-round(lane.length_m, 3), lane.heading_deg))
    return tuple(lanes), (*problems, *found)


def _lanes_of_group(group: list[_Named], asked: _Asked) -> tuple[list[FileLane], list[Problem]]:
    """The lanes of waters that are one."""
    row, name, _ = group[0]
    area, whole = _one_water(group)
    if _too_small(area, asked):
        return [], []
    if max(metres_across(area.bounds)) > _REFUSED_M:
        return _apart(group, asked)
    names = [named for _, named, _ in group]
    tree = shapely.STRtree([water for _, _, water in group])
    lanes: list[FileLane] = []
    problems = [] if whole else _beyond(area, name, row)
    cap_m = max(_LONGEST_M, asked.length_m)
    try:
        for tile in _tiles(area, asked, whole=whole):
            local, frame, scale = _local(tile.water)
            clear_m = asked.clear_m * scale
            strips = list(lanes_in(local, length_m=asked.length_m, clear_m=clear_m, step_deg=asked.step_deg))
            if not whole:
                strips = [
                    _within(s, cap_m)
                    for s in strips
                    if tile.owns(*frame.transform(*s.middle, direction="INVERSE"))
                ]
            found = [
                lane
                for lane in _in_lonlat(strips, name, frame, asked.clear_m)
                if lane.length_m >= asked.length_m - _ROUNDING_M
            ]
            lanes += found if len(group) == 1 else [_named(lane, names, tree) for lane in found]
    except SolverError as error:
        problems.append(_not_searched(name, row, str(error)))
    return lanes, problems


def _apart(group: list[_Named], asked: _Asked) -> tuple[list[FileLane], list[Problem]]:
    """Of waters that are too wide together: the lanes of each, as far as it is not too wide alone."""
    row, name, _ = group[0]
    if len(group) == 1:
        return [], [_too_wide(name, row, "was not searched", "Cut it into pieces that overlap by a lane.")]
    what = (
        f"and {len(group) - 1} that touch it were searched one by one, each cut between them taken as shore"
    )
    lanes: list[FileLane] = []
    problems = [_too_wide(name, row, what, "Cut the widest into pieces that overlap by a lane.")]
    for water in group:
        more, found = _lanes_of_group([water], asked)
        lanes += more
        problems += found
    return lanes, problems


def _too_wide(name: str | int, row: int, what: str, mend: str) -> Problem:
    return Problem(
        level="warning",
        message=f"Water {name} {what}: it is more than {_REFUSED_M / 1000:.0f} km across.",
        mend=mend,
        row=row,
        field="geometry",
        limit=f"{_REFUSED_M / 1000:.0f} km",
    )


def _one_water(group: list[_Named]) -> tuple[Area, bool]:
    """Waters that touch as one outline, and whether one frame holds it."""
    area = _unbroken(united([water for _, _, water in group], gap=LONLAT_GAP))
    return area, max(metres_across(area.bounds)) <= _WIDEST_M


def _tiles(area: Area, asked: _Asked, *, whole: bool) -> Iterable[Tile]:
    if whole:
        return (Tile(area, EVERYWHERE),)
    # a metre more, since the tiles are cut along meridians and parallels
    return tiles(area, reach_m=max(_LONGEST_M, asked.length_m) / 2 + 1.01 * asked.clear_m + 1.0)


def _named(lane: FileLane, names: list[str | int], tree: shapely.STRtree) -> FileLane:
    """The lane with the names of all waters that it crosses."""
    (west, south), (east, north) = lane.start, lane.end
    east += 360.0 * round((west - east) / 360.0)
    lines = [[(west + turn, south), (east + turn, north)] for turn in (-360.0, 0.0, 360.0)]
    name = name_along(shapely.multilinestrings(lines), names, tree)
    finding = replace(lane.findings[0], refers_to=str(name))
    return replace(lane, water=name, findings=(finding, *lane.findings[1:]))


def _water(name: str | int, row: int, geometry: BaseGeometry | None) -> tuple[Area | None, list[Problem]]:
    """The feature's valid polygon with its longitudes unbroken, and what was wrong with it."""
    points = shapely.get_coordinates(geometry)
    note: str | None
    if geometry is None:
        area, note = None, "has no geometry"
    elif not np.isfinite(points).all() or (np.abs(points) > [360.0, 90.0]).any():
        area, note = None, "holds positions that are no longitude and latitude"
    else:
        result = mended(geometry)
        area, note = result.polygon, result.note
    if note is None:
        return area, []
    problem = Problem(
        level="warning",
        message=f"Water {name}: {note}.",
        mend="Draw its outline again, or look at its lanes with care."
        if area is not None
        else "It was not searched; draw its outline as a polygon.",
        row=row,
        field="geometry",
    )
    return area, [problem]


def _frame(lon: float, lat: float) -> pyproj.Transformer:
    """From lon/lat [deg, WGS 84] to metres about a place, transverse Mercator; a fifth of the time of a named CRS."""
    return pyproj.Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=tmerc +lat_0={lat:.17g} +lon_0={lon:.17g} +ellps=WGS84"
    )


def _local(area: Area) -> tuple[Area, pyproj.Transformer, float]:
    """The polygon in metres, its frame, and the largest scale over it."""
    west, south, east, north = shapely.bounds(area)
    frame = _frame((west + east) / 2, (south + north) / 2)

    def move(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack(frame.transform(points[:, 0], points[:, 1]))

    local = shapely.transform(area, move)
    reach_m = float(np.abs(shapely.get_coordinates(local)[:, 0]).max())
    if not shapely.is_valid(local):  # rounding to metres may fold a needle
        repaired = mended(local).polygon
        local = local if repaired is None else repaired
    return local, frame, 1.0 + (reach_m / _EARTH_RADIUS_M) ** 2 / 2


def _unbroken(area: Area) -> Area:
    """Water over the antimeridian in one piece: longitudes that go on beyond 180°."""
    west, _, east, _ = shapely.bounds(area)
    if east - west <= 180.0:
        return area
    parts = shapely.get_parts(area)
    points, ring = shapely.get_coordinates(shapely.get_rings(parts), return_index=True)
    leap = np.abs(np.diff(points[:, 0]))[ring[1:] == ring[:-1]]
    if ((leap > 180.0) & (leap < 360.0 - LONLAT_GAP)).any():  # drawn across without a cut
        moved = shapely.transform(area, lambda p: p + (p[:, :1] < 0.0) * [360.0, 0.0])
        return mended(moved).polygon or area
    behind = shapely.bounds(parts)[:, 2] <= 0.0
    parts[behind] = shapely.transform(parts[behind], lambda p: np.add(p, [360.0, 0.0]))
    return cast("Area", shapely.union_all(parts, grid_size=LONLAT_GAP))


def _too_small(area: Area, asked: _Asked) -> bool:
    """True if no lane can lie in it, by its box and its surface."""
    box = area.bounds
    wide_m, high_m = metres_across(box)
    longest_m = math.hypot(wide_m, high_m)
    around = box[2] > box[0] and box[3] > box[1]
    most_m2 = area.area * wide_m * high_m / ((box[2] - box[0]) * (box[3] - box[1])) if around else 0.0
    return longest_m < asked.length_m - _ROUNDING_M or most_m2 < 0.99 * asked.length_m * 2.0 * asked.clear_m


def _beyond(area: Area, name: str | int, row: int) -> list[Problem]:
    """What is said of wide water that reaches too near to a pole."""
    _, south, _, north = shapely.bounds(area)
    if max(-south, north) <= FARTHEST_LAT:
        return []
    problem = Problem(
        level="warning",
        message=f"Water {name} was not searched beyond {FARTHEST_LAT:g}° of latitude.",
        mend="Look at the water near the pole by other means.",
        row=row,
        field="geometry",
        limit=f"{FARTHEST_LAT:g}°",
    )
    return [problem]


def _not_searched(name: str | int, row: int, why: str) -> Problem:
    return Problem(
        level="warning",
        message=f"Water {name} could not be searched to the end: {why}.",
        mend="Draw its outline again; some of its lanes are missing.",
        row=row,
        field="geometry",
    )


def _within(strip: Strip, cap_m: float) -> Strip:
    """The middle of a lane that is longer than lanes of wide water are given."""
    if strip.length_m <= cap_m:
        return strip
    (x, y), part = strip.middle, cap_m / strip.length_m / 2
    dx, dy = (strip.end[0] - strip.start[0]) * part, (strip.end[1] - strip.start[1]) * part
    return replace(strip, length_m=cap_m, start=(x - dx, y - dy), end=(x + dx, y + dy))


def _in_lonlat(
    strips: list[Strip], name: str | int, frame: pyproj.Transformer, clear_m: float
) -> list[FileLane]:
    """The strips of a frame as lanes on the globe."""
    if not strips:
        return []
    points = np.array([(s.start, s.middle, s.end) for s in strips])
    lon, lat = frame.transform(points[:, :, 0], points[:, :, 1], direction="INVERSE")
    lon = (lon + 180.0) % 360.0 - 180.0
    length_m = _geod().inv(lon[:, 0], lat[:, 0], lon[:, 2], lat[:, 2])[2]
    true_deg = _geod().inv(lon[:, 1], lat[:, 1], lon[:, 2], lat[:, 2])[0]
    searched_deg = np.array([s.heading_deg for s in strips])
    near = np.abs((true_deg - searched_deg + 180.0) % 360.0 - 180.0) < _SAME_HEADING_DEG
    turned = ~near & ((true_deg < 0.0) | (true_deg >= 180.0))
    heading_deg = np.where(near, searched_deg, np.where(turned, (true_deg + 180.0) % 180.0, true_deg))
    first, last = np.where(turned, 2, 0), np.where(turned, 0, 2)
    at = np.arange(len(strips))
    start = zip(lon[at, first].tolist(), lat[at, first].tolist(), strict=True)
    end = zip(lon[at, last].tolist(), lat[at, last].tolist(), strict=True)
    findings = (_only_the_shore(name),)
    return [
        FileLane(
            water=name,
            heading_deg=heading,
            length_m=length,
            clear_m=clear_m,
            width_m=strip.width_m,
            start=a,
            end=b,
            findings=findings,
        )
        for strip, heading, length, a, b in zip(
            strips, heading_deg.tolist(), length_m.tolist(), start, end, strict=True
        )
    ]


def _only_the_shore(name: str | int) -> Finding:
    return Finding(
        code="data_missing",
        level="unknown",
        effect="look",
        message="Only the shore was read: depth, wires, boats, closures and terrain are unknown.",
        source="the water file",
        refers_to=str(name),
    )


def _none_found(groups: list[list[_Named]], asked: _Asked) -> tuple[str, float | None]:
    if not groups:
        return "no water to search", None
    length_m, clear_m = asked.length_m, asked.clear_m
    longest_m = 0.0
    for group in groups:
        area, whole = _one_water(group)
        if max(metres_across(area.bounds)) > _REFUSED_M:
            return "the water is too wide to be searched at once", None
        for tile in _tiles(area, asked, whole=whole):
            local, _, scale = _local(tile.water)
            best = longest_lane(local, clear_m=clear_m * scale, step_deg=asked.step_deg)
            longest_m = max(longest_m, best.length_m if best else 0.0)
    reason = (
        f"the longest lane {2 * clear_m:g} m wide is {longest_m:.0f} m long, {length_m:g} m are asked for"
        if longest_m
        else f"no lane {2 * clear_m:g} m wide fits into this water"
    )
    return reason, length_m - longest_m
