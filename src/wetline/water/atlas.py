"""Lanes for an atlas: a chunk of a water file searched for what each kind of scooper asks.

An atlas holds, for each *ask* (a length and a half-width), every usable band of every water of a file.
A chunk is some features in a row; searching one is a pure function, so that a process or another machine
may do it. Lanes lie in the order of the features, whoever searched.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from wetline.errors import Problem, WetlineError
from wetline.grid import Projection
from wetline.water.lanes import check_asked
from wetline.water.local import lanes_of_water

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from wetline.water.found import FileLane

__all__ = ["Ask", "AtlasLane", "Chunk", "Searched", "Trouble", "search_chunk"]

_WGS84 = "EPSG:4326"
_DEGREE_M = 111_800.0
"""Above any degree on WGS 84 (the longest is 111,694 m) by more than the scale of a water's frame."""
_AREAS = frozenset({shapely.GeometryType.POLYGON, shapely.GeometryType.MULTIPOLYGON})


@dataclass(frozen=True, slots=True, order=True)
class Ask:
    """The straight water asked for: `length_m`, and `clear_m` free to each side."""

    length_m: float
    clear_m: float

    def check(self, step_deg: float) -> None:
        """Refuse what no search stands for.

        Raises
        ------
        OutsideRangeError
            Naming what lies outside its range.
        """
        check_asked(self.length_m, self.clear_m, step_deg)


@dataclass(frozen=True, slots=True)
class Chunk:
    """Features in a row: `first` is the zero-based row of the first one in its file.

    `shapes`: well-known binary in `crs`, None where a feature has none. `names`: None where it has none.
    """

    first: int
    crs: str
    names: tuple[str | None, ...]
    shapes: tuple[bytes | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AtlasLane:
    """The longest lane of one band, both ways. Only the shore of its water is known.

    `row`: of the water in its file. `ask`: number of the ask that it answers. Places (lon, lat) [deg, WGS 84];
    `middle` is half way along the geodesic. `heading_deg`: true there, 0 ≤ h < 180. `note`: what was repaired.
    """

    row: int
    ask: int
    water: str | None
    heading_deg: float
    length_m: float
    clear_m: float
    width_m: float
    start: tuple[float, float]
    end: tuple[float, float]
    middle: tuple[float, float]
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong with one water, its name if it has one, and its box (west, south, east, north) [deg].

    `problem.row`: of the water in its file. `box`: within ±180°, all round the Earth for a water across the
    antimeridian; None for one without a place.
    """

    problem: Problem
    water: str | None
    box: tuple[float, float, float, float] | None


@dataclass(frozen=True, slots=True)
class Searched:
    """What a chunk of `count` features gave. `too_small`: waters whose box is shorter than every ask."""

    first: int
    count: int
    lanes: tuple[AtlasLane, ...]
    troubles: tuple[Trouble, ...]
    too_small: int


def search_chunk(chunk: Chunk, *, asks: Sequence[Ask], step_deg: float) -> Searched:
    """Every lane of every ask in a chunk. A water that breaks the search is named, and the rest goes on.

    Raises
    ------
    OutsideRangeError
        If an ask or the step lies outside its range.
    """
    for ask in asks:
        ask.check(step_deg)
    shapes = _in_lonlat(chunk)
    reach_m = [_reach_m(shape) for shape in shapes]
    found: list[tuple[int, FileLane]] = []
    problems: dict[int, dict[str, Problem]] = {}
    for number, ask in enumerate(asks):
        for row, shape in enumerate(shapes, chunk.first):
            if reach_m[row - chunk.first] < ask.length_m:
                continue
            lanes, wrong = _lanes(row, shape, ask, step_deg)
            found += [(number, lane) for lane in lanes]
            for problem in wrong:
                problems.setdefault(row, {})[problem.message] = problem
    notes = {row: " ".join(said) for row, said in problems.items()}
    least_m = min(ask.length_m for ask in asks)
    return Searched(
        first=chunk.first,
        count=len(chunk.shapes),
        lanes=_in_order(chunk, found, notes),
        troubles=tuple(
            Trouble(problem, chunk.names[row - chunk.first], _box(shapes[row - chunk.first]))
            for row in sorted(problems)
            for problem in problems[row].values()
        ),
        too_small=sum(reach < least_m for reach in reach_m),
    )


def _in_lonlat(chunk: Chunk) -> list[BaseGeometry | None]:
    """The shapes in lon/lat; None for one that is missing or broken beyond reading."""
    shapes = shapely.from_wkb(np.array(chunk.shapes, dtype=object), on_invalid="ignore")
    if chunk.crs == _WGS84:
        return list(shapes)
    world = Projection(_WGS84)
    return [None if shape is None else world.geometry_from(shape, chunk.crs) for shape in shapes]


def _reach_m(shape: BaseGeometry | None) -> float:
    """No straight line within the shape is longer; infinite for what must be looked at to be named.

    A lane is no longer than the two drawn points farthest apart, and these lie in the box: its sides in
    degrees, those along the parallel nearest the equator, bound them as on a plane.
    """
    if shape is None or shapely.get_type_id(shape) not in _AREAS:
        return np.inf
    west, south, east, north = shapely.bounds(shape)
    if not np.isfinite([west, south, east, north]).all() or east - west > 180.0 or max(-south, north) > 90.0:
        return np.inf
    nearest = 0.0 if south <= 0.0 <= north else min(abs(south), abs(north))
    return _DEGREE_M * float(np.hypot(north - south, (east - west) * np.cos(np.radians(nearest))))


def _lanes(
    row: int, shape: BaseGeometry | None, ask: Ask, step_deg: float
) -> tuple[tuple[FileLane, ...], tuple[Problem, ...]]:
    """Lanes of one water, called by its row, and what is wrong with it."""
    try:
        return lanes_of_water(row, row, shape, length_m=ask.length_m, clear_m=ask.clear_m, step_deg=step_deg)
    except (WetlineError, shapely.errors.GEOSException, ArithmeticError, ValueError) as error:
        return (), (_fault(row, error),)


def _fault(row: int, error: Exception) -> Problem:
    return Problem(
        level="warning",
        message=f"Water {row} was not searched: a fault of the search ({error}).",
        mend="Do not count on it; look at its outline, and tell the makers.",
        row=row,
        field="geometry",
    )


def _box(shape: BaseGeometry | None) -> tuple[float, float, float, float] | None:
    west, south, east, north = (float(side) for side in shapely.bounds(shape))
    if not np.isfinite([west, south, east, north]).all():
        return None
    if max(-south, north) > 90.0 or max(-west, east) > 360.0:  # metres, or swapped
        return None
    turn = 360.0 * np.floor((west + 180.0) / 360.0)
    if east - turn > 180.0:
        return -180.0, south, 180.0, north
    return float(west - turn), south, float(east - turn), north


def _in_order(
    chunk: Chunk, found: Sequence[tuple[int, FileLane]], notes: dict[int, str]
) -> tuple[AtlasLane, ...]:
    """By row, ask, longest first; each with the place half way along its geodesic."""
    ordered = sorted(
        found, key=lambda f: (f[1].water, f[0], -round(f[1].length_m, 3), f[1].heading_deg, f[1].start)
    )
    if not ordered:
        return ()
    geod = pyproj.Geod(ellps="WGS84")
    start = np.array([lane.start for _, lane in ordered])
    end = np.array([lane.end for _, lane in ordered])
    toward_deg, _, apart_m = geod.inv(start[:, 0], start[:, 1], end[:, 0], end[:, 1])
    lon, lat, _ = geod.fwd(start[:, 0], start[:, 1], toward_deg, apart_m / 2.0)
    out = []
    for (ask, lane), x, y in zip(ordered, lon.tolist(), lat.tolist(), strict=True):
        row = int(lane.water)
        out.append(
            AtlasLane(
                row=row,
                ask=ask,
                water=chunk.names[row - chunk.first],
                heading_deg=lane.heading_deg,
                length_m=lane.length_m,
                clear_m=lane.clear_m,
                width_m=lane.width_m,
                start=lane.start,
                end=lane.end,
                middle=((x + 180.0) % 360.0 - 180.0, y),
                note=notes.get(row),
            )
        )
    return tuple(out)
