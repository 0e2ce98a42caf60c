"""Lanes of any water file in longitude and latitude: one conformal metre frame per feature.

Each feature is laid into a transverse Mercator frame about its own middle, its shore taken as
straight between the drawn points in that frame. Up to 100 km across, the frame's scale is within
31 millionths of 1; clearances are asked for at the largest scale, so that they hold on the ground.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from wetline.errors import Problem
from wetline.model import Finding
from wetline.water.found import FileLane, FoundLanes
from wetline.water.lanes import check_asked, lanes_in, longest_lane, mended

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from wetline.water.lanes import Strip

    Area = Polygon | MultiPolygon

__all__ = ["lanes_of_file"]

_WIDEST_M = 1.0e5
_ROUNDING_M = 1e-3
_SAME_HEADING_DEG = 0.05  # nearer than anyone flies: the heading that was searched is given
_EARTH_RADIUS_M = 6.357e6  # the polar radius: the largest scale error of the frame


@lru_cache(maxsize=1)
def _geod() -> pyproj.Geod:
    return pyproj.Geod(ellps="WGS84")


def lanes_of_file(
    features: Iterable[tuple[str | int, BaseGeometry | None]],
    *,
    length_m: float,
    clear_m: float,
    step_deg: float = 5.0,
) -> FoundLanes:
    """Every usable band of every feature, longest first; headings true at the lane's middle.

    `features`: name, or zero-based index where it has none, and geometry in lon/lat [deg, WGS 84].
    Headings are searched `step_deg` apart from the north of each feature's frame; where the true
    bearing differs from that by 0.05° or more (away from the middle of wide water) it is given
    instead. `problems` names each feature that was repaired, holds no water, or is too wide to search.

    Raises
    ------
    OutsideRangeError
        If a length, a half-width or a step lies outside its range.
    """
    check_asked(length_m, clear_m, step_deg)
    lanes: list[FileLane] = []
    problems: list[Problem] = []
    searched: list[tuple[Area, float]] = []
    for row, (name, geometry) in enumerate(features):
        area, found = _water(name, row, geometry)
        problems += found
        if area is None:
            continue
        local, frame, scale = _local(area)
        width_m = _across(local)
        if width_m > _WIDEST_M:
            problems.append(_too_wide(name, row, width_m))
            continue
        strips = lanes_in(local, length_m=length_m, clear_m=clear_m * scale, step_deg=step_deg)
        lanes += [_lane(strip, name, frame, clear_m) for strip in strips]
        searched.append((local, scale))
    lanes = [lane for lane in lanes if lane.length_m >= length_m - _ROUNDING_M]
    if lanes:
        lanes.sort(key=lambda lane: (-round(lane.length_m, 3), str(lane.water), lane.heading_deg))
        return FoundLanes(lanes=tuple(lanes), problems=tuple(problems))
    reason, miss_m = _none_found(searched, length_m, clear_m, step_deg)
    return FoundLanes(lanes=(), reason=reason, nearest_miss_m=miss_m, problems=tuple(problems))


def _water(name: str | int, row: int, geometry: BaseGeometry | None) -> tuple[Area | None, list[Problem]]:
    """The feature's valid polygon with its longitudes unbroken, and what was wrong with it."""
    west, _, east, _ = shapely.bounds(geometry)  # NaN of nothing
    if np.isfinite(west) and east - west > 180.0:
        geometry = shapely.transform(
            geometry, lambda p: np.column_stack([np.where(p[:, 0] < 0, p[:, 0] + 360.0, p[:, 0]), p[:, 1]])
        )
    points = shapely.get_coordinates(geometry)
    note: str | None
    if geometry is None:
        area, note = None, "has no geometry"
    elif not np.isfinite(points).all() or (np.abs(points[:, 1:]) > 90.0).any():
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


def _local(area: Area) -> tuple[Area, pyproj.Proj, float]:
    """The polygon in metres, its frame, and the largest scale over it."""
    west, south, east, north = shapely.bounds(area)
    frame = pyproj.Proj(proj="tmerc", lat_0=(south + north) / 2, lon_0=(west + east) / 2, ellps="WGS84")

    def move(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack(frame(points[:, 0], points[:, 1]))

    local = shapely.transform(area, move)
    reach_m = float(np.abs(shapely.get_coordinates(local)[:, 0]).max())
    if not shapely.is_valid(local):  # rounding to metres may fold a needle
        repaired = mended(local).polygon
        local = local if repaired is None else repaired
    return local, frame, 1.0 + (reach_m / _EARTH_RADIUS_M) ** 2 / 2


def _across(local: Area) -> float:
    west, south, east, north = shapely.bounds(local)
    return float(max(east - west, north - south))


def _too_wide(name: str | int, row: int, width_m: float) -> Problem:
    return Problem(
        level="warning",
        message=f"Water {name} is {width_m / 1000:.0f} km across and was not searched.",
        mend="Cut it into pieces that overlap by the length of a lane.",
        row=row,
        field="geometry",
        value=f"{width_m / 1000:.0f} km",
        limit=f"{_WIDEST_M / 1000:.0f} km",
    )


def _lane(strip: Strip, name: str | int, frame: pyproj.Proj, clear_m: float) -> FileLane:
    lon, lat = frame(
        [strip.start[0], strip.middle[0], strip.end[0]],
        [strip.start[1], strip.middle[1], strip.end[1]],
        inverse=True,
    )
    lon = [(value + 180.0) % 360.0 - 180.0 for value in lon]
    _, _, length_m = _geod().inv(lon[0], lat[0], lon[2], lat[2])
    heading, _, _ = _geod().inv(lon[1], lat[1], lon[2], lat[2])
    start, end = (lon[0], lat[0]), (lon[2], lat[2])
    if abs((heading - strip.heading_deg + 180.0) % 360.0 - 180.0) < _SAME_HEADING_DEG:
        heading = strip.heading_deg
    elif not 0.0 <= heading < 180.0:
        heading, start, end = (heading + 180.0) % 180.0, end, start
    return FileLane(
        water=name,
        heading_deg=float(heading),
        length_m=float(length_m),
        clear_m=clear_m,
        width_m=strip.width_m,
        start=start,
        end=end,
        findings=(
            Finding(
                code="data_missing",
                level="unknown",
                effect="look",
                message="Only the shore was read: depth, wires, boats, closures and terrain are unknown.",
                source="the water file",
                refers_to=str(name),
            ),
        ),
    )


def _none_found(
    searched: list[tuple[Area, float]], length_m: float, clear_m: float, step_deg: float
) -> tuple[str, float | None]:
    if not searched:
        return "no water to search", None
    longest_m = 0.0
    for local, scale in searched:
        best = longest_lane(local, clear_m=clear_m * scale, step_deg=step_deg)
        longest_m = max(longest_m, best.length_m if best else 0.0)
    reason = (
        f"the longest lane {2 * clear_m:g} m wide is {longest_m:.0f} m long, {length_m:g} m are asked for"
        if longest_m
        else f"no lane {2 * clear_m:g} m wide fits into this water"
    )
    return reason, length_m - longest_m
