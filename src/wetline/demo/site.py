"""Where the fire, the village and everybody else stand: searched on the land, never placed by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.demo.fuels import LIVELY
from wetline.demo.scooping import best_lanes, closed_by_terrain
from wetline.grid import along, angle_between, bearing_deg

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import Polygon

    from wetline.demo.land import Land
    from wetline.water import Lane

__all__ = ["Places", "Site", "choose_places", "choose_site"]

Point = tuple[float, float]

DOWNWIND_M = 9_000.0
"""Least way from the fire to the map's edge in the directions in which the fire runs."""
UPWIND_M = 6_000.0
REACH_M = 20_000.0
VILLAGE_H = 4.3
"""Hours after which the fire comes to the village if nothing stops it."""
LEADS = ((900.0, 5.0), (1_600.0, 10.0), (2_300.0, 14.0))
"""Places ahead of the fire's middle whose fuels are looked at too: distance [m], turn [deg]."""


@dataclass(frozen=True, slots=True)
class Site:
    """The fire's place, the grid bearing toward which it runs, and the water round it.

    `near`: a usable lane of each lake within 20 km, nearest first. `walled`: a lane that terrain stops.
    """

    fire: Point
    toward_deg: float
    near: tuple[Lane, ...]
    walled: Lane


def _distance(a: Point, b: Point) -> float:
    return float(np.hypot(a[0] - b[0], a[1] - b[1]))


def _middle(lane: Lane) -> Point:
    return (lane.start[0] + lane.end[0]) / 2, (lane.start[1] + lane.end[1]) / 2


def choose_site(land: Land, *, toward_deg: float) -> Site | None:
    """The place that suits a fire best, or None where the land has none.

    Wanted: fuels that burn all round, two lakes with a usable lane at 6 to 15 km, room downwind, and
    a lake within 20 km whose best lane terrain stops.
    """
    lanes = best_lanes(land, wind_from_deg=(toward_deg + 180.0) % 360.0)
    usable = [lane for lane in lanes if lane.level != "stop"]
    walled = [lane for lane in lanes if closed_by_terrain(lane)]
    if len(usable) < 2 or not walled:
        return None
    x, y, liking = _liking(land, toward_deg)
    gaps = np.sort(_gaps(x, y, usable), axis=0)
    liking -= np.abs(gaps[0] - 7_500) / 3_000 + np.abs(gaps[1] - 10_000) / 3_000
    fits = (gaps[0] > 6_300) & (gaps[1] < 14_500) & (_gaps(x, y, walled).min(axis=0) < 19_000)
    if not (fits & np.isfinite(liking)).any():
        return None
    best = int(np.argmax(np.where(fits, liking, -np.inf)))
    fire = float(x[best]), float(y[best])
    near = sorted((_distance(fire, _middle(lane)), lane.id, lane) for lane in usable)
    closed = min(walled, key=lambda lane: _distance(fire, _middle(lane)))
    return Site(fire, toward_deg, tuple(lane for gap, _, lane in near if gap < REACH_M), closed)


def _gaps(x: NDArray[np.float64], y: NDArray[np.float64], lanes: list[Lane]) -> NDArray[np.float64]:
    """Distance [m] of every candidate from the middle of every lane, float64[lane, candidate]."""
    middles = np.array([_middle(lane) for lane in lanes])
    return np.asarray(np.hypot(x - middles[:, :1], y - middles[:, 1:]), float)


def _lively(land: Land) -> NDArray[np.float64]:
    """How well each cell carries a fire by day, 0 to 1."""
    lively = np.zeros(land.grid.shape)
    for number, weight in LIVELY.items():
        lively[land.cover.fuel == number] = weight
    return lively


def _liking(
    land: Land, toward_deg: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Candidates for the fire: x, y [m], and how much the fuels and slopes there are liked."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    row, col = (a.ravel() for a in np.mgrid[0 : land.grid.rows : 12, 0 : land.grid.cols : 12])
    x, y = land.grid.xy(row, col)

    def round_about(field: NDArray[np.generic], cells: int) -> NDArray[np.float64]:
        return np.asarray(ndimage.uniform_filter(field.astype(float), cells)[row, col], float)

    lively_cells = _lively(land)
    burnable = round_about(land.burnable, 101)
    lively = round_about(lively_cells, 51)
    for lead_m, turn in LEADS:
        east, north = offset((0.0, 0.0), toward_deg + turn, lead_m)
        there = land.grid.nearest(ndimage.uniform_filter(lively_cells, 31), x + east, y + north)
        lively += np.where(land.grid.holds(x + east, y + north), there, 0.0)
    slope = round_about(land.slope, 91)
    liking = 3.5 * lively + 30 * np.minimum(burnable - 0.98, 0.0) - 45 * np.maximum(slope - 0.055, 0.0)
    west, south, east, north = land.grid.bounds
    room = (x - west > UPWIND_M) & (east - x > DOWNWIND_M) & (y - south > DOWNWIND_M) & (north - y > UPWIND_M)
    room &= land.shore_m[row, col] > 1_500.0
    return x, y, np.where(room, liking, -np.inf)


@dataclass(frozen=True, slots=True)
class Places:
    """Where people and bases are: points (x, y) [m]."""

    village: Point
    houses: Polygon
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

    def of(self, field: NDArray[np.float64]) -> NDArray[np.float64]:
        """The value of a raster [r, c] at every candidate."""
        return field[self._row, self._col]

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


def choose_places(rng: np.random.Generator, land: Land, site: Site, arrival_h: NDArray[np.float64]) -> Places:
    """A village downwind, a camp and a helibase behind the fire, runways on flat ground far off.

    `arrival_h` [r, c]: hours after which the fire comes if nothing stops it.
    """
    from scipy import ndimage  # noqa: PLC0415 - heavy

    s = _Search(land, site)
    off_axis = angle_between(s.fire_deg, site.toward_deg + 14.0)
    behind = angle_between(s.fire_deg, site.toward_deg + 180.0)
    wet = np.where(s.shore_m < 120, 50.0, 0.0)
    first_h = ndimage.minimum_filter(arrival_h, 19)  # at the nearest edge of a village
    village = s.least(
        np.minimum(np.abs(s.of(first_h) - VILLAGE_H), 9.0) * 3
        + np.maximum(2_900.0 - s.fire_m, 0.0) / 10
        + np.maximum(s.fire_m - 3_800.0, 0.0) / 50
        + off_axis / 12
        + s.slope * 40
        + np.where(s.shore_m < 350, 50.0, 0.0)
        + np.abs(s.shore_m - 600) / 1_200
    )
    camp = s.least(np.abs(s.fire_m - 4_200) / 400 + behind / 15 + s.slope * 60 + wet)
    helibase = s.least(
        np.abs(s.fire_m - 6_500) / 400 + behind / 25 + s.slope * 60 + wet + (s.from_m(camp) < 1_500) * 20
    )
    flat = s.rough(20)
    airfield = s.least(
        np.abs(s.fire_m - 13_000) / 500
        + flat / 4
        + wet
        + (s.shore_m < 900) * 9
        + (s.from_m(village) < 4_000) * 9
    )
    tanker_base = s.least(
        -s.fire_m / 1_500 + flat / 4 + wet + (s.shore_m < 900) * 9 - s.from_m(airfield) / 4_000
    )
    mast = s.least(-s.height_m / 25 + np.abs(s.fire_m - 6_000) / 1_200)
    leeward = angle_between(s.fire_deg, site.toward_deg + 45.0)
    hamlets = [s.least(np.abs(s.fire_m - 2_200) / 200 + leeward / 6 + s.slope * 40 + wet)]
    cost = s.slope * 40 + wet + np.abs(s.shore_m - 400) / 500 + rng.uniform(0, 3, s.x.size)
    cost += np.where((s.fire_m < 2_100) | (s.fire_m > 12_000), 60.0, 0.0)
    for _ in range(9):
        crowded = [np.where(s.from_m(p) < 1_300, 40.0, 0.0) for p in (*hamlets, village, camp)]
        hamlets.append(s.least(cost + sum(crowded)))
    return Places(
        village=village,
        houses=_outline(rng, village),
        hamlets=tuple(hamlets),
        camp=camp,
        helibase=helibase,
        airfield=airfield,
        tanker_base=tanker_base,
        mast=mast,
        runway_deg=float(rng.integers(5, 10) * 10),
    )


def _outline(rng: np.random.Generator, village: Point) -> Polygon:
    """The edge of a village of some 250 m radius."""
    turn = np.linspace(0, 2 * np.pi, 18, endpoint=False)
    reach = 250 * (1 + 0.18 * np.sin(2 * turn + 0.7) + rng.uniform(-0.08, 0.08, turn.size))
    return shapely.Polygon(
        np.column_stack([village[0] + reach * np.cos(turn), village[1] + reach * np.sin(turn)])
    )


def offset(point: Point, bearing: float, distance_m: float) -> Point:
    """The point at a distance [m] along a grid bearing [deg]."""
    east, north = along(bearing)
    return point[0] + float(east) * distance_m, point[1] + float(north) * distance_m
