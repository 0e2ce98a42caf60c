"""The way in and out of a lane: where an aircraft touches and lifts off, and what stands below.

The length that a class needs runs from 15 m above the water to 15 m above it again. Flown at the
slopes that the limits allow, the aircraft touches 15 m / approach slope behind the beginning of that
length and lifts off 15 m / climb slope before its end. Slopes asked for by the ground are counted
from those two points, straight ahead, over the highest ground and trees within the lane's width.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground, Hazard
    from wetline.model import Limits

__all__ = ["APPROACH_M", "CLIMB_M", "Course", "Obstacle", "Profile", "Slope", "lay_course", "obstacles_near"]

SCREEN_M = 15.0
"""Height at both ends of the length needed: 15 m to 15 m, as the classes' tables state it."""
APPROACH_M = 1500.0
"""How far before the touch the ground is read: common practice, no source."""
CLIMB_M = 3000.0
"""How far behind the lift-off the ground is read: common practice, no source."""
_STEP_M = 25.0
_FINEST_M = 10.0
_HAZARD_STEP_M = 10.0


@dataclass(frozen=True, slots=True)
class Profile:
    """Tops above the water along a course: `along_m` from the lane's start, negative before it.

    `top_m`: highest ground and known trees across the lane's width [m above the water], 0 over the
    water itself, NaN where the terrain is not known.
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

    `run_from_m`: where the length needed begins; `touch_m`, `lift_m`: on and off the water.
    `surface_m`: height of the water above sea level, None if not known.
    """

    start: tuple[float, float]
    heading_deg: float
    length_m: float
    clear_m: float
    needed_m: float
    run_from_m: float
    touch_m: float
    lift_m: float
    surface_m: float | None
    approach: Slope
    climb: Slope
    profile: Profile

    def point(self, along_m: float) -> tuple[float, float]:
        """The point (x, y) [m] at a distance along the course."""
        east, north = along(self.heading_deg)
        return float(self.start[0] + east * along_m), float(self.start[1] + north * along_m)

    def path(self) -> shapely.LineString:
        """The ground track from the first ground read before the touch to the last behind lift-off."""
        return shapely.LineString([self.point(self.touch_m - APPROACH_M), self.point(self.lift_m + CLIMB_M)])


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A known obstacle beside a course. `distance_m`: between it and the path flown, in space.

    `along_m`: where. `top_m`: above the water, None where its height or the ground is not known.
    `approach_asked`, `climb_asked`: slopes that it asks for; 0 beside the lane's width.
    """

    hazard: Hazard
    distance_m: float
    along_m: float
    across_m: float
    top_m: float | None
    approach_asked: float
    climb_asked: float
    position: tuple[float, float]

    def part(self, course: Course) -> str:
        """Where on the course it stands, in words."""
        if self.along_m < course.touch_m:
            return "approach"
        return "lane" if self.along_m <= course.lift_m else "climb-out"


def lay_course(
    ground: Ground,
    water: shapely.Polygon | shapely.MultiPolygon,
    *,
    start: tuple[float, float],
    heading_deg: float,
    length_m: float,
    clear_m: float,
    needed_m: float,
    surface_m: float | None,
    limits: Limits,
) -> Course:
    """A lane flown one way, with the length needed laid where the slopes are easiest.

    `surface_m`: as the water layer gives it; else the median of the terrain on the lane.
    """
    approach_slope = limits.value("approach_gradient_available")
    climb_slope = limits.value("climb_gradient_available")
    on_m = min(SCREEN_M / approach_slope, needed_m / 2)
    off_m = min(SCREEN_M / climb_slope, needed_m / 2)
    if surface_m is None:
        surface_m = _surface(ground, start, heading_deg, length_m)
    profile = _profile(ground, water, start, heading_deg, length_m, clear_m, surface_m)
    spare_m = max(length_m - needed_m, 0.0)
    choices = []
    for run_from_m in np.linspace(0.0, spare_m, 2 + min(int(spare_m / 100.0), 18)):
        approach = _asked(profile, float(run_from_m) + on_m, -1.0, APPROACH_M)
        climb = _asked(profile, float(run_from_m) + needed_m - off_m, 1.0, CLIMB_M)
        share = max(approach.asked / approach_slope, climb.asked / climb_slope)
        choices.append((round(share, 2), float(run_from_m), approach, climb))
    _, run_from_m, approach, climb = min(choices, key=lambda choice: choice[:2])
    return Course(
        start=start,
        heading_deg=heading_deg,
        length_m=length_m,
        clear_m=clear_m,
        needed_m=needed_m,
        run_from_m=run_from_m,
        touch_m=run_from_m + on_m,
        lift_m=run_from_m + needed_m - off_m,
        surface_m=surface_m,
        approach=approach,
        climb=climb,
        profile=profile,
    )


def _surface(ground: Ground, start: tuple[float, float], heading_deg: float, length_m: float) -> float | None:
    east, north = along(heading_deg)
    s = np.linspace(0.1, 0.9, 17) * length_m
    z = ground.grid.sample(ground.elevation_m, start[0] + east * s, start[1] + north * s)
    known = z[np.isfinite(z)]
    return float(np.median(known)) if len(known) else None


def _profile(
    ground: Ground,
    water: shapely.Polygon | shapely.MultiPolygon,
    start: tuple[float, float],
    heading_deg: float,
    length_m: float,
    clear_m: float,
    surface_m: float | None,
) -> Profile:
    """Tops along the axis and four tracks beside it; over the lane's own water they are 0."""
    east, north = along(heading_deg)
    step_m = min(max(ground.grid.cell_m, _FINEST_M), _STEP_M)
    s = np.arange(-APPROACH_M, length_m + CLIMB_M + step_m, step_m)
    across = np.linspace(-clear_m, clear_m, 1 + 2 * int(np.ceil(clear_m / step_m)))[:, None]
    x = start[0] + east * s + north * across
    y = start[1] + north * s - east * across
    trees_known = ground.canopy_height_m is not None
    if surface_m is None:
        return Profile(s, np.full(len(s), np.nan), trees_known)
    top = ground.grid.sample(ground.elevation_m, x, y) - surface_m
    if ground.canopy_height_m is not None:
        trees = np.asarray(ground.grid.nearest(ground.canopy_height_m, x, y), float)
        trees_known = bool(np.isfinite(trees[ground.grid.holds(x, y)]).all())
        top = top + np.maximum(np.nan_to_num(trees), 0.0)
    shapely.prepare(water)
    top = np.where(shapely.contains_xy(water, x, y), 0.0, top)
    return Profile(s, np.max(top, axis=0), trees_known)  # np.max keeps NaN: unknown beside is unknown


def _asked(profile: Profile, origin_m: float, sense: float, reach_m: float) -> Slope:
    """The steepest line from the water at `origin_m` to a top within reach, ahead (1) or behind (-1)."""
    away = (profile.along_m - origin_m) * sense
    part = (away > 0.0) & (away <= reach_m)
    away, tops, at = away[part], profile.top_m[part], profile.along_m[part]
    unknown = at[~np.isfinite(tops)]
    unknown_at_m = float(unknown[np.argmin(np.abs(unknown - origin_m))]) if len(unknown) else None
    slope = np.where(np.isfinite(tops), np.maximum(tops, 0.0), 0.0) / np.maximum(away, _FINEST_M / 2)
    i = int(np.argmax(slope))
    return Slope(float(slope[i]), float(at[i]), float(tops[i]), unknown_at_m)


def obstacles_near(course: Course, ground: Ground, limits: Limits) -> tuple[Obstacle, ...]:
    """Known obstacles within the caution distance of the path flown, nearest first.

    The path: on the water from touch to lift-off; in the air at the slopes that the limits allow.
    An obstacle of unknown height counts as reaching the path.
    """
    reach_m = limits.value("wire_caution_m")
    path = course.path()
    beside = shapely.buffer(path, reach_m)
    out = []
    for hazard in ground.hazards:
        near = shapely.intersection(hazard.shape, beside)
        if shapely.is_empty(near):
            continue
        crossing = shapely.intersection(hazard.shape, path)
        points = np.vstack(
            [shapely.get_coordinates(shapely.segmentize(g, _HAZARD_STEP_M)) for g in (near, crossing)]
        )
        found = _nearest(course, hazard, points, ground, limits)
        if found.distance_m <= reach_m:
            out.append(found)
    return tuple(sorted(out, key=lambda o: (o.distance_m, o.hazard.name)))


def _nearest(
    course: Course, hazard: Hazard, points: NDArray[np.float64], ground: Ground, limits: Limits
) -> Obstacle:
    east, north = along(course.heading_deg)
    dx, dy = points[:, 0] - course.start[0], points[:, 1] - course.start[1]
    s, across = dx * east + dy * north, dx * north - dy * east
    before = np.maximum(course.touch_m - s, 0.0)
    behind = np.maximum(s - course.lift_m, 0.0)
    over = before * limits.value("approach_gradient_available")
    over = np.maximum(over, behind * limits.value("climb_gradient_available"))
    if hazard.height_m is None or course.surface_m is None:
        top = np.full(len(points), np.nan)
    else:
        ground_m = ground.grid.sample(ground.elevation_m, points[:, 0], points[:, 1])
        top = ground_m + hazard.height_m - course.surface_m
    under = np.where(np.isfinite(top), np.maximum(over - top, 0.0), 0.0)
    outside = np.maximum(np.maximum(before - APPROACH_M, behind - CLIMB_M), 0.0)
    distance = np.sqrt(across**2 + under**2 + outside**2)
    counts = (np.abs(across) <= course.clear_m) & (outside == 0.0) & np.isfinite(top)
    height = np.where(counts, np.maximum(np.nan_to_num(top), 0.0), 0.0)
    i = int(np.argmin(distance))
    return Obstacle(
        hazard=hazard,
        distance_m=float(distance[i]),
        along_m=float(s[i]),
        across_m=float(across[i]),
        top_m=float(top[i]) if np.isfinite(top[i]) else None,
        approach_asked=_steepest(height, before),
        climb_asked=_steepest(height, behind),
        position=(float(points[i, 0]), float(points[i, 1])),
    )


def _steepest(height_m: NDArray[np.float64], away_m: NDArray[np.float64]) -> float:
    off = away_m > 0.0
    return float(np.max(height_m[off] / np.maximum(away_m[off], _HAZARD_STEP_M / 2), initial=0.0))
