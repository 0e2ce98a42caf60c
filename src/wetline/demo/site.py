"""Where the fire, the village and everybody else stand: searched on the land, never placed by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.demo.land import longest_reach
from wetline.grid import along, angle_between, bearing_deg

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.demo.land import Land, Reach

__all__ = ["Places", "Site", "choose_places", "choose_site"]

Point = tuple[float, float]

DOWNWIND_M = 9_000.0
"""Least way from the fire to the map's edge in the directions in which the fire runs."""
UPWIND_M = 6_000.0
SCOOP_M = 1_600.0
GENTLE = 0.034
"""Climb [m/m] beyond the end of a reach that a loaded scooper takes with something to spare."""
STEEP = 0.06
LANE_M = 1_250.0


@dataclass(frozen=True, slots=True)
class Site:
    """The fire's place, the grid bearing toward which it runs, and the water round it.

    `near`: usable reaches within 20 km, nearest first. `walled`: a reach that steep ground closes.
    """

    fire: Point
    toward_deg: float
    near: tuple[Reach, ...]
    walled: Reach


def _distance(a: Point, b: Point) -> float:
    return float(np.hypot(a[0] - b[0], a[1] - b[1]))


def _middle(reach: Reach) -> Point:
    (x0, y0), (x1, y1) = reach.ends
    return (x0 + x1) / 2, (y0 + y1) / 2


def _usable(reach: Reach, toward_deg: float) -> bool:
    """Whether a scooper flying into the wind gets away over gentle ground."""
    (x0, y0), (x1, y1) = reach.ends
    heading = float(bearing_deg(x1 - x0, y1 - y0))
    into_wind = (toward_deg + 180.0) % 360.0
    ahead = reach.climbs[1] if angle_between(heading, into_wind) < 90.0 else reach.climbs[0]
    return reach.length_m >= SCOOP_M and ahead <= GENTLE


def _reaches(land: Land) -> list[Reach]:
    headings = np.arange(0.0, 180.0, 10.0)
    large = [i for i, lake in enumerate(land.waters.lakes) if lake.polygon.area > 350_000.0]
    found = (longest_reach(land, i, headings=headings) for i in large)
    return [reach for reach in found if reach is not None]


def choose_site(land: Land, *, toward_deg: float) -> Site | None:
    """The place that suits a fire best, or None where the land has none.

    Wanted: fuels that burn all round, two usable reaches at 6 to 15 km, room downwind, and a reach
    somewhere that steep ground closes at both ends.
    """
    from scipy import ndimage  # noqa: PLC0415 - heavy

    reaches = _reaches(land)
    usable = [r for r in reaches if _usable(r, toward_deg)]
    walled = [r for r in reaches if r.length_m >= LANE_M and min(r.climbs) >= STEEP]
    if len(usable) < 2 or not walled:
        return None
    grid = land.grid
    lively = np.isin(land.cover.fuel, (102, 122, 161, 165))  # models that carry fire by day
    near_lively = ndimage.uniform_filter(lively.astype(float), 61)
    near_burnable = ndimage.uniform_filter(land.burnable.astype(float), 101)
    near_slope = ndimage.uniform_filter(land.slope.astype(float), 61)
    best: tuple[float, Point] | None = None
    for row in range(0, grid.rows, 12):
        for col in range(0, grid.cols, 12):
            x, y = (float(v) for v in grid.xy(row, col))
            if not _room(land, (x, y)) or land.shore_m[row, col] < 1_500.0:
                continue
            gaps = sorted(_distance((x, y), _middle(r)) for r in usable)
            score = (
                4 * near_lively[row, col]
                + 30 * min(near_burnable[row, col] - 0.98, 0.0)
                - 25 * max(near_slope[row, col] - 0.16, 0.0)
                - sum(
                    abs(gap - best_gap) / 3_000 for gap, best_gap in zip(gaps, (7_500, 10_000), strict=False)
                )
                - (5 if gaps[1] > 14_500 or gaps[0] < 5_500 else 0)
            )
            if best is None or score > best[0]:
                best = score, (x, y)
    if best is None:
        return None
    fire = best[1]
    near = sorted(
        (r for r in usable if _distance(fire, _middle(r)) < 20_000), key=lambda r: _distance(fire, _middle(r))
    )
    closed = min(walled, key=lambda r: _distance(fire, _middle(r)))
    in_range = [r for r in near if 6_000 <= _distance(fire, _middle(r)) <= 15_000]
    return Site(fire, toward_deg, tuple(near), closed) if len(in_range) >= 2 else None


def _room(land: Land, fire: Point) -> bool:
    west, south, east, north = land.grid.bounds
    x, y = fire
    return x - west > UPWIND_M and east - x > DOWNWIND_M and y - south > DOWNWIND_M and north - y > UPWIND_M


@dataclass(frozen=True, slots=True)
class Places:
    """Where people and bases are: points (x, y) [m]."""

    village: Point
    hamlets: tuple[Point, ...]
    camp: Point
    helibase: Point
    airfield: Point
    tanker_base: Point
    mast: Point
    runway_deg: float


class _Search:
    """Candidate cells with the rasters that tell whether a place suits."""

    def __init__(self, land: Land, site: Site) -> None:
        self._land = land
        row, col = np.meshgrid(
            np.arange(40, land.grid.rows - 40, 6), np.arange(40, land.grid.cols - 40, 6), indexing="ij"
        )
        self._row, self._col = row.ravel(), col.ravel()
        self.x, self.y = land.grid.xy(self._row, self._col)
        self.slope = land.slope[self._row, self._col].astype(float)
        self.shore_m = land.shore_m[self._row, self._col]
        self.height_m = land.waters.elevation_m[self._row, self._col].astype(float)
        east, north = self.x - site.fire[0], self.y - site.fire[1]
        self.fire_m = np.hypot(east, north)
        self.fire_deg = bearing_deg(east, north)

    def from_m(self, point: Point) -> NDArray[np.float64]:
        """Distance [m] of every candidate from a point."""
        return np.asarray(np.hypot(self.x - point[0], self.y - point[1]), float)

    def rough(self, reach: int) -> NDArray[np.float64]:
        """Height range [m] within `reach` cells of every candidate."""
        from scipy import ndimage  # noqa: PLC0415 - heavy

        z = self._land.waters.elevation_m
        spread = ndimage.maximum_filter(z, 2 * reach + 1) - ndimage.minimum_filter(z, 2 * reach + 1)
        return np.asarray(spread[self._row, self._col], float)

    def least(self, cost: NDArray[np.float64]) -> Point:
        """The candidate of least cost."""
        best = int(np.argmin(cost))
        return float(self.x[best]), float(self.y[best])


def choose_places(rng: np.random.Generator, land: Land, site: Site) -> Places:
    """A village downwind, a camp and a helibase behind the fire, runways on flat ground far off."""
    s = _Search(land, site)
    off_axis = angle_between(s.fire_deg, site.toward_deg + 18.0)
    behind = angle_between(s.fire_deg, site.toward_deg + 180.0)
    wet = np.where(s.shore_m < 120, 50.0, 0.0)
    village = s.least(
        np.abs(s.fire_m - 5_200) / 400 + off_axis / 6 + s.slope * 40 + wet + np.abs(s.shore_m - 500) / 800
    )
    camp = s.least(np.abs(s.fire_m - 4_200) / 400 + behind / 15 + s.slope * 60 + wet)
    helibase = s.least(
        np.abs(s.fire_m - 6_500) / 400 + behind / 25 + s.slope * 60 + wet + (s.from_m(camp) < 1_500) * 20
    )
    flat = s.rough(20)
    airfield = s.least(
        np.abs(s.fire_m - 13_000) / 900
        + flat / 4
        + wet
        + (s.shore_m < 900) * 9
        + (s.from_m(village) < 4_000) * 9
    )
    tanker_base = s.least(
        -s.fire_m / 1_500 + flat / 4 + wet + (s.shore_m < 900) * 9 - s.from_m(airfield) / 4_000
    )
    mast = s.least(-s.height_m / 25 + np.abs(s.fire_m - 6_000) / 1_200)
    hamlets: list[Point] = []
    cost = s.slope * 40 + wet + np.abs(s.shore_m - 400) / 500 + rng.uniform(0, 3, s.x.size)
    cost += np.where((s.fire_m < 2_300) | (s.fire_m > 12_000), 60.0, 0.0)
    for _ in range(9):
        crowded = [np.where(s.from_m(p) < 1_300, 40.0, 0.0) for p in (*hamlets, village, camp)]
        hamlets.append(s.least(cost + sum(crowded)))
    return Places(
        village=village,
        hamlets=tuple(hamlets),
        camp=camp,
        helibase=helibase,
        airfield=airfield,
        tanker_base=tanker_base,
        mast=mast,
        runway_deg=float(rng.integers(5, 10) * 10),
    )


def offset(point: Point, bearing: float, distance_m: float) -> Point:
    """The point at a distance [m] along a grid bearing [deg]."""
    east, north = along(bearing)
    return point[0] + float(east) * distance_m, point[1] + float(north) * distance_m
