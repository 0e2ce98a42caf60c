"""The lanes of an atlas near a place: which lie in reach, which a class can use in a wind, the best first.

An atlas keeps one record a lane (`RECORD`) on shelves by place: the Earth is cut into cells of a quarter of
a degree, and a query reads the cells that its circle meets. Distances are geodesics on WGS 84 to the middle
of the lane; the sphere alone decides only where it cannot be wrong.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pyproj

from wetline.model import Finding, shipped_limits, worst
from wetline.units import KNOT
from wetline.water.checks import check_length
from wetline.water.flight import how_flown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.model import Level
    from wetline.water.atlas import AtlasLane

    Records = NDArray[np.void]
    Box = tuple[float, float, float, float]

__all__ = [
    "RECORD",
    "NearLane",
    "Ranked",
    "Reach",
    "Wind",
    "boxes_near",
    "cell_of",
    "cells_near",
    "in_reach",
    "judged",
    "rank",
]

RECORD = np.dtype(
    [
        ("id", "<u4"),
        ("row", "<u4"),
        ("ask", "<u1"),
        ("heading_deg", "<f4"),
        ("length_m", "<f8"),
        ("width_m", "<f8"),
        ("lon", "<f8"),
        ("lat", "<f8"),
    ]
)
"""What a query must know of a lane: its id, its water, the ask it answers, its middle [deg]."""

_CELL_DEG = 0.25
_COLS, _ROWS = 1440, 720
_LEAST_RADIUS_M, _MOST_RADIUS_M = 6_335_000.0, 6_400_000.0
"""Round the radii of curvature on WGS 84, 6,335,439 m (meridian, equator) to 6,399,594 m (pole):

a geodesic lies between these, times the angle on the sphere of the same latitude and longitude.
"""
_APART_DEG = 20.0
_ROUNDING_M = 1e-3
_SHORE_ALONE = "Only the shore was read: depth, wires, boats, closures and terrain are unknown."


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind on the water: `mps` [m/s], `from_deg` true."""

    mps: float
    from_deg: float


@dataclass(frozen=True, slots=True)
class Reach:
    """Records in reach of a place. `farness` grows with distance: sin² of half the angle on the sphere."""

    records: Records
    farness: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.records)


@dataclass(frozen=True, slots=True)
class Ranked:
    """Places in the records of the lanes to name, best first, and how many there are in all.

    `lanes`: long and wide enough; `waters`: that hold one; `against_wind`: of the lanes, those that no way
    of flying keeps within the class's crosswind.
    """

    chosen: NDArray[np.intp]
    lanes: int
    waters: int
    against_wind: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NearLane:
    """A lane of an atlas for one class, as flown: into the wind where there is one.

    `distance_m`, `toward_deg`: from the place asked about to the lane's middle. `other_way`: whether the
    opposite heading keeps the class's limits too, None where wind or limits are not known.
    """

    lane: AtlasLane
    class_id: str
    heading_deg: float
    start: tuple[float, float]
    end: tuple[float, float]
    distance_m: float
    toward_deg: float
    needed_m: float
    headwind_mps: float | None
    crosswind_mps: float | None
    other_way: bool | None
    level: Level
    findings: tuple[Finding, ...]


def cell_of(lon: NDArray[np.float64], lat: NDArray[np.float64]) -> NDArray[np.int64]:
    """Number of the cell of each place: rows from the south, columns from the antimeridian eastward."""
    row = np.minimum(np.floor((lat + 90.0) / _CELL_DEG), _ROWS - 1)
    col = np.floor((lon + 180.0) / _CELL_DEG) % _COLS
    return np.asarray(row * _COLS + col, np.int64)


def boxes_near(lon: float, lat: float, within_m: float) -> list[Box]:
    """One box or, across the antimeridian, two, that hold every place within a distance [m]."""
    turn = within_m / _LEAST_RADIUS_M
    south, north = max(lat - math.degrees(turn), -90.0), min(lat + math.degrees(turn), 90.0)
    wide = math.sin(turn) / max(math.cos(math.radians(lat)), 1e-12)
    if wide >= 1.0 or north == 90.0 or south == -90.0:
        return [(-180.0, south, 180.0, north)]
    west, east = lon - math.degrees(math.asin(wide)), lon + math.degrees(math.asin(wide))
    if west < -180.0:
        return [(-180.0, south, east, north), (west + 360.0, south, 180.0, north)]
    if east >= 180.0:
        return [(west, south, 180.0, north), (-180.0, south, east - 360.0, north)]
    return [(west, south, east, north)]


def cells_near(lon: float, lat: float, within_m: float) -> list[tuple[int, int]]:
    """Runs of cells (first, last) that hold every place within a distance [m]."""
    runs = []
    for west, south, east, north in boxes_near(lon, lat, within_m):
        low, high = cell_of(np.zeros(2), np.array([south, north])) // _COLS
        first, last = (min(math.floor((side + 180.0) / _CELL_DEG), _COLS - 1) for side in (west, east))
        runs += [(row * _COLS + first, row * _COLS + last) for row in range(int(low), int(high) + 1)]
    return runs


def in_reach(records: Records, lon: float, lat: float, within_m: float) -> Reach:
    """The records whose middle lies within a geodesic distance [m] of a place."""
    phi, there = math.radians(lat), np.radians(records["lat"])
    farness = (
        np.sin((there - phi) / 2.0) ** 2
        + math.cos(phi) * np.cos(there) * np.sin(np.radians(records["lon"] - lon) / 2.0) ** 2
    )
    inside = farness <= _farness(within_m / _MOST_RADIUS_M)
    doubtful = np.flatnonzero(~inside & (farness <= _farness(within_m / _LEAST_RADIUS_M)))
    inside[doubtful] = _distance_m((lon, lat), records[doubtful]) <= within_m
    return Reach(records[inside], farness[inside])


def _farness(angle: float) -> float:
    return math.sin(min(angle, math.pi) / 2.0) ** 2


def rank(
    reach: Reach,
    ask: int,
    cls: AircraftClass,
    wind: Wind | None,
    *,
    here: tuple[float, float],
    most: int,
    per_water: int = 3,
) -> Ranked:
    """The lanes that a class can use at sea level: the best `per_water` of each water, nearest water first.

    Lanes beyond the crosswind limit come last. Within a water the least share of that limit less the spare length
    (up to twice the need) is best; its lanes differ by 20° or by half of their length in place. At most `most`
    are chosen, out of as many waters.
    """
    length_m, clear_m = cls.value("lane_needed_m"), cls.value("lane_half_width_m")
    records = reach.records
    fits = (records["ask"] == ask) & (records["length_m"] >= length_m - _ROUNDING_M)
    fits &= records["width_m"] >= 2.0 * clear_m - _ROUNDING_M
    usable = np.flatnonzero(fits)
    row = records["row"][usable]
    share = _crosswind_share(records["heading_deg"][usable], cls, wind)
    over = share > 1.0
    near = np.isin(row, _nearest_waters(row, over, reach.farness[usable], most))
    lanes = records[usable[near]]
    cost = share[near] - np.minimum(lanes["length_m"] / length_m, 2.0)
    best = _apart(lanes, np.lexsort((lanes["id"], cost, over[near], lanes["row"])), per_water)
    order = _nearest_first(lanes[best], over[near][best], here)
    return Ranked(usable[near][best][order][:most], len(usable), len(np.unique(row)), int(over.sum()))


def _nearest_waters(
    row: NDArray[np.uint32], over: NDArray[np.bool_], farness: NDArray[np.float64], most: int
) -> NDArray[np.uint32]:
    """Up to `most` waters, those first whose nearest lane within the limits of the wind is nearest."""
    far = farness + 2.0 * over  # farness is 1 at most
    ahead = 64 * most
    while True:
        some = np.argpartition(far, ahead)[:ahead] if ahead < len(far) else np.arange(len(far))
        waters, first = np.unique(row[some[np.argsort(far[some])]], return_index=True)
        if len(waters) >= most or ahead >= len(far):
            return waters[np.argsort(first)[:most]]
        ahead *= 4


def _nearest_first(lanes: Records, over: NDArray[np.bool_], here: tuple[float, float]) -> NDArray[np.intp]:
    """Their order: those within the limits of the wind, water by water; the lanes of a water stay as they are."""
    away_m = _distance_m(here, lanes)
    waters, water = np.unique(lanes["row"], return_inverse=True)
    nearest_m = np.full(len(waters), np.inf)
    np.minimum.at(nearest_m, water, away_m)
    return np.lexsort((np.arange(len(lanes)), lanes["row"], nearest_m[water], over))


def _distance_m(here: tuple[float, float], records: Records) -> NDArray[np.float64]:
    lon, lat = np.full(len(records), here[0]), np.full(len(records), here[1])
    _, _, away_m = _geod().inv(lon, lat, records["lon"], records["lat"])
    return np.asarray(away_m, np.float64)


def _crosswind_share(
    heading_deg: NDArray[np.float32], cls: AircraftClass, wind: Wind | None
) -> NDArray[np.float64]:
    """Of the class's limit; 0 where wind or limit is not known, which the findings say."""
    limit = cls.get("crosswind_limit_kt")
    if wind is None or limit is None:
        return np.zeros(len(heading_deg))
    cross_mps = np.abs(wind.mps * np.sin(np.radians(wind.from_deg - heading_deg.astype(float))))
    return np.asarray(cross_mps / limit.si(), np.float64)


def _apart(lanes: Records, order: NDArray[np.intp], per_water: int) -> NDArray[np.intp]:
    """The first of each water in `order`, then the next that differs from those taken, and so on."""
    taken: list[NDArray[np.intp]] = []
    left = order
    for _ in range(per_water):
        rows, first = np.unique(lanes["row"][left], return_index=True)
        best = left[first]
        taken.append(best)
        rival = best[np.searchsorted(rows, lanes["row"][left])]
        left = left[_differ(lanes[left], lanes[rival])]
    return np.concatenate(taken) if taken else order


def _differ(one: Records, other: Records) -> NDArray[np.bool_]:
    turn = np.abs((one["heading_deg"] - other["heading_deg"] + 90.0) % 180.0 - 90.0)
    north = np.radians(one["lat"] - other["lat"])
    turned = (one["lon"] - other["lon"] + 180.0) % 360.0 - 180.0
    east = np.radians(turned) * np.cos(np.radians(one["lat"]))
    half_m = 0.5 * np.minimum(one["length_m"], other["length_m"])
    return np.asarray((turn >= _APART_DEG) | (np.hypot(north, east) * _LEAST_RADIUS_M >= half_m), np.bool_)


def judged(
    lanes: Sequence[AtlasLane], here: tuple[float, float], cls: AircraftClass, wind: Wind | None
) -> list[NearLane]:
    """Each lane flown the way that meets the wind, with what is known against it and what is not."""
    flight = how_flown(cls, None, shipped_limits(), why_unknown="an atlas knows no air")
    out = []
    for lane in lanes:
        toward_deg, _, distance_m = _geod().inv(*here, *lane.middle)
        heading_deg, start, end = lane.heading_deg, lane.start, lane.end
        head_mps, cross_mps = _on(heading_deg, wind)
        if head_mps is not None and head_mps < 0.0:
            heading_deg, start, end = (heading_deg + 180.0) % 360.0, end, start
            head_mps, cross_mps = _on(heading_deg, wind)
        findings = (
            _shore_alone(lane),
            _wind(cross_mps, cls),
            *check_length(lane.length_m, flight),
        )
        out.append(
            NearLane(
                lane=lane,
                class_id=cls.id,
                heading_deg=heading_deg,
                start=start,
                end=end,
                distance_m=float(distance_m),
                toward_deg=float(toward_deg) % 360.0,
                needed_m=cls.value("lane_needed_m"),
                headwind_mps=head_mps,
                crosswind_mps=cross_mps,
                other_way=_other_way(head_mps, cross_mps, cls),
                level=worst(findings),
                findings=findings,
            )
        )
    return out


def _on(heading_deg: float, wind: Wind | None) -> tuple[float | None, float | None]:
    if wind is None:
        return None, None
    angle = math.radians(wind.from_deg - heading_deg)
    return wind.mps * math.cos(angle), wind.mps * math.sin(angle)


def _other_way(head_mps: float | None, cross_mps: float | None, cls: AircraftClass) -> bool | None:
    tail, cross = cls.get("tailwind_limit_kt"), cls.get("crosswind_limit_kt")
    if head_mps is None or cross_mps is None or tail is None or cross is None:
        return None
    return head_mps <= tail.si() and abs(cross_mps) <= cross.si()


def _shore_alone(lane: AtlasLane) -> Finding:
    return Finding(
        code="data_missing",
        level="unknown",
        effect="look",
        message=_SHORE_ALONE if lane.note is None else f"{_SHORE_ALONE} {lane.note}",
        source="the atlas",
        refers_to=lane.water or str(lane.row),
    )


def _wind(cross_mps: float | None, cls: AircraftClass) -> Finding:
    """The crosswind against what the class stands; flown into the wind there is no tailwind."""
    limit = cls.get("crosswind_limit_kt")
    level: Level = "unknown"
    if cross_mps is None:
        message = "Wind on the water unknown: none was given. Read it on the water."
    elif limit is None:
        message = f"No crosswind limit is known for a {cls.name.lower()}."
    else:
        cross_kt = abs(cross_mps) / KNOT
        level = "stop" if cross_kt > limit.value else "clear"
        message = f"Crosswind {cross_kt:.0f} kt, limit {limit.value:g} kt; gusts are not counted."
    return Finding(
        code="wind",
        level=level,
        effect="look" if level == "unknown" else None,
        message=message,
        source="the wind given" if limit is None else limit.source,
        refers_to="",
        limit=None if limit is None else f"{limit.value:g} kt",
        value=None if cross_mps is None else f"{abs(cross_mps) / KNOT:.0f} kt",
    )


@lru_cache(maxsize=1)
def _geod() -> pyproj.Geod:
    return pyproj.Geod(ellps="WGS84")
