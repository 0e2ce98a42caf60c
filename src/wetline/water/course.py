"""The way in and out of a lane: where an aircraft touches and lifts off, and what stands below.

The length that a class needs runs from 15 m above the water to 15 m above it again. The aircraft
touches the descent's length behind its beginning and lifts off the climb's length before its end.
Slopes asked for by the ground are counted from those two points, straight ahead, over the highest
ground and trees within the lane's width.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground
    from wetline.water.flight import Flight

    Area = shapely.Polygon | shapely.MultiPolygon

__all__ = ["APPROACH_M", "CLIMB_M", "Course", "Profile", "Slope", "glance", "lay_course", "tops_over"]

APPROACH_M = 1500.0
"""How far before the touch the ground is read: common practice, no source."""
CLIMB_M = 3000.0
"""How far behind the lift-off the ground is read: common practice, no source."""
_STEP_M = 25.0
_FINEST_M = 10.0
_SLIDE_M = 150.0


@dataclass(frozen=True, slots=True)
class Profile:
    """Tops above the water along a course: `along_m` from the lane's start, negative before it.

    `top_m`: highest ground and known trees across the lane's width [m above the water], at most 0
    over the water itself, NaN where the terrain is not known.
    """

    along_m: NDArray[np.float64]
    top_m: NDArray[np.float64]
    trees_known: bool


@dataclass(frozen=True, slots=True)
class Slope:
    """A slope [m/m] that the ground asks for, and where: `along_m`, `top_m` as in `Profile`.

    `unknown_at_m`: the nearest place along it without terrain, None if all is known.
    """

    asked: float
    along_m: float
    top_m: float
    unknown_at_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One lane flown one way. Distances [m] along it count from `start` (x, y) [m].

    `flight`: the run as it is flown this way. `run_from_m`: where it begins, `run_to_m`: where it
    ends, both 15 m above the water; `touch_m`, `lift_m`: on and off the water.
    `surface_m`: height of the water above sea level, None if not known; `terrain_m`: the median of
    the terrain raster on the lane.
    """

    start: tuple[float, float]
    heading_deg: float
    length_m: float
    clear_m: float
    flight: Flight
    run_from_m: float
    surface_m: float | None
    terrain_m: float | None
    approach: Slope
    climb: Slope
    profile: Profile

    @property
    def touch_m(self) -> float:
        """Where the aircraft touches the water."""
        return self.run_from_m + self.flight.descent_m

    @property
    def run_to_m(self) -> float:
        """Where the climb has reached 15 m: the end of the length needed."""
        return self.run_from_m + self.flight.needed.middle

    @property
    def lift_m(self) -> float:
        """Where it lifts off."""
        return self.run_to_m - self.flight.climb_m

    def point(self, along_m: float) -> tuple[float, float]:
        """The point (x, y) [m] at a distance along the course."""
        east, north = along(self.heading_deg)
        return float(self.start[0] + east * along_m), float(self.start[1] + north * along_m)

    def path(self) -> shapely.LineString:
        """The ground track from the first ground read before the touch to the last behind lift-off."""
        return shapely.LineString([self.point(self.touch_m - APPROACH_M), self.point(self.lift_m + CLIMB_M)])


def lay_course(
    ground: Ground,
    water: Area,
    *,
    start: tuple[float, float],
    heading_deg: float,
    length_m: float,
    clear_m: float,
    flight: Flight,
    surface_m: float | None,
) -> Course:
    """A lane flown one way, with the length needed laid where the slopes are easiest.

    `surface_m`: as the water layer gives it; else the median of the terrain on the lane.
    """
    terrain_m = _terrain(ground, start, heading_deg, length_m)
    surface_m = terrain_m if surface_m is None else surface_m
    profile = _profile(ground, water, start, heading_deg, length_m, clear_m, surface_m)
    on_m, off_m = flight.descent_m, flight.needed.middle - flight.climb_m
    spare_m = max(length_m - flight.needed.middle, 0.0)
    runs = np.linspace(0.0, spare_m, 2 + min(int(spare_m / _SLIDE_M), 14))
    share = np.maximum(
        _steepest(profile, runs + on_m, -1.0, APPROACH_M) / flight.approach_slope,
        _steepest(profile, runs + off_m, 1.0, CLIMB_M) / flight.climb_slope,
    )
    run_from_m = float(runs[np.argmin(np.round(share, 2))])  # the first of the easiest
    return Course(
        start=start,
        heading_deg=heading_deg,
        length_m=length_m,
        clear_m=clear_m,
        flight=flight,
        run_from_m=run_from_m,
        surface_m=surface_m,
        terrain_m=terrain_m,
        approach=_asked(profile, run_from_m + on_m, -1.0, APPROACH_M),
        climb=_asked(profile, run_from_m + off_m, 1.0, CLIMB_M),
        profile=profile,
    )


def glance(
    ground: Ground,
    water: Area,
    starts: NDArray[np.float64],
    headings_deg: NDArray[np.float64],
    lengths_m: NDArray[np.float64],
    flight: Flight,
    surface_m: float,
) -> NDArray[np.float64]:
    """A first look at many ways: [way] share of the climb that the ground behind the lane's end asks for.

    Along the axis alone, from the latest lift-off that the length allows; ground not known counts
    as flat. It says which ways are worth a close look and judges none.
    """
    ahead_m = np.arange(0.0, CLIMB_M, max(2.0 * ground.grid.cell_m, _STEP_M)) + _STEP_M
    east, north = along(headings_deg)
    s = (lengths_m - flight.climb_m)[:, None] + ahead_m
    x = starts[:, 0, None] + east[:, None] * s
    y = starts[:, 1, None] + north[:, None] * s
    top = tops_over(ground, water, x, y, surface_m)[0]
    asked = np.max(np.maximum(np.nan_to_num(top), 0.0) / ahead_m, axis=1)
    return np.asarray(asked / flight.climb_slope)


def tops_over(
    ground: Ground,
    water: Area | None,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    surface_m: float,
    *,
    shore: NDArray[np.bool_] | None = None,
) -> tuple[NDArray[np.float64], bool]:
    """Ground and known trees above the water [m] at points, and whether all trees are known.

    0 or less over the own water, NaN where the terrain is not known. `shore`: where alone the water's outline
    is believed more than the raster; None means everywhere.
    """
    trees_known = ground.canopy_height_m is not None
    top = ground.grid.sample(ground.elevation_m, x, y) - surface_m
    if ground.canopy_height_m is not None:
        trees = np.asarray(ground.grid.nearest(ground.canopy_height_m, x, y), float)
        trees_known = bool(np.isfinite(trees[ground.grid.holds(x, y)]).all())
        top = top + np.maximum(np.nan_to_num(trees), 0.0)
    top = np.round(top, 3)  # a flat shore is flat: no slope out of the last bits
    if water is None:
        return top, trees_known
    west, south, east, north = shapely.bounds(water)
    rises = ~(top <= 0.0)  # not known counts as rising until it is seen to be water
    rises &= (x >= west) & (x <= east) & (y >= south) & (y <= north)
    if shore is not None:
        rises &= shore
    shapely.prepare(water)
    top[rises] = np.where(shapely.contains_xy(water, x[rises], y[rises]), 0.0, top[rises])
    return top, trees_known


def _terrain(ground: Ground, start: tuple[float, float], heading_deg: float, length_m: float) -> float | None:
    east, north = along(heading_deg)
    s = np.linspace(0.1, 0.9, 17) * length_m
    z = ground.grid.sample(ground.elevation_m, start[0] + east * s, start[1] + north * s)
    known = z[np.isfinite(z)]
    return float(np.median(known)) if len(known) else None


def _profile(
    ground: Ground,
    water: Area,
    start: tuple[float, float],
    heading_deg: float,
    length_m: float,
    clear_m: float,
    surface_m: float | None,
) -> Profile:
    """Tops along the axis and the tracks beside it, out to the lane's half-width."""
    east, north = along(heading_deg)
    step_m = min(max(ground.grid.cell_m, _FINEST_M), _STEP_M)
    s = np.arange(-APPROACH_M, length_m + CLIMB_M + step_m, max(step_m / 2.0, _FINEST_M))
    if surface_m is None:
        return Profile(s, np.full(len(s), np.nan), ground.canopy_height_m is not None)
    across = np.linspace(-clear_m, clear_m, 1 + 2 * int(np.ceil(clear_m / step_m)))[:, None]
    x = start[0] + east * s + north * across
    y = start[1] + north * s - east * across
    top, trees_known = tops_over(ground, water, x, y, surface_m)
    return Profile(s, np.max(top, axis=0), trees_known)  # np.max keeps NaN: unknown beside is unknown


def _slopes(
    profile: Profile, origin_m: NDArray[np.float64], sense: float, reach_m: float
) -> NDArray[np.float64]:
    """Slopes [origin, place] from the water to known tops within reach, ahead (1) or behind (-1)."""
    away = (profile.along_m - origin_m[:, None]) * sense
    height = np.maximum(np.nan_to_num(profile.top_m), 0.0)
    return np.where((away > 0.0) & (away <= reach_m), height / np.maximum(away, _FINEST_M / 2), 0.0)


def _steepest(
    profile: Profile, origin_m: NDArray[np.float64], sense: float, reach_m: float
) -> NDArray[np.float64]:
    return np.asarray(_slopes(profile, origin_m, sense, reach_m).max(axis=1))


def _asked(profile: Profile, origin_m: float, sense: float, reach_m: float) -> Slope:
    slope = _slopes(profile, np.array([origin_m]), sense, reach_m)[0]
    away = (profile.along_m - origin_m) * sense
    holes = (away > 0.0) & (away <= reach_m) & ~np.isfinite(profile.top_m)
    nearest = np.argmin(np.where(holes, away, np.inf))
    i = int(np.argmax(slope))
    return Slope(
        asked=float(slope[i]),
        along_m=float(profile.along_m[i]) if slope[i] > 0.0 else origin_m,
        top_m=float(profile.top_m[i]) if slope[i] > 0.0 else 0.0,
        unknown_at_m=float(profile.along_m[nearest]) if holes.any() else None,
    )
