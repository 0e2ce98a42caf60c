"""The terrain on the horizon, and when the sun comes over it and goes behind it.

Ground off the raster, or unknown on it, cannot shade: how far it is known stands beside each answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from wetline.weather.sun import HORIZON_DEG, sun_position

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from wetline.grid import Grid
    from wetline.weather.sun import Daylight

__all__ = ["Skyline", "TerrainLight", "skyline", "terrain_light"]

_EARTH_RADIUS_M = 6371008.8  # mean radius of GRS 80, Moritz 2000, J. Geodesy 74:128
_BENT = 0.13
"""Share of the Earth's curve that air bends a flat ray by: Gauss's coefficient, from memory."""
_HALF_SUN_DEG = 16.0 / 60.0
_GROWING = 0.005
_STEP_S = 240.0
_FINE = 24
_CHUNK = 24
_ROUNDING_DEG = 5e-3
"""The sun moves so much in 1.2 s: a sunrise rounded to the second still counts as one."""


@dataclass(frozen=True, slots=True)
class Skyline:
    """Height [deg] of the ground on the horizon for each bearing asked for, and how far it is known [m].

    The height is that over the level plane, never under 0: lower ground still leaves the level horizon.
    """

    height_deg: NDArray[np.float64]
    known_m: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TerrainLight:
    """First and last direct sun at a place on one day, and how far the ground toward it is known [m].

    Never before official sunrise or after official sunset. None: there is no such event on that day, no
    direct sun at all, or the height of the place itself is not known (then 0 m of ground are known).
    """

    first: datetime | None
    last: datetime | None
    first_known_m: float
    last_known_m: float


def skyline(
    elevation_m: NDArray[np.floating],
    grid: Grid,
    place: tuple[float, float],
    grid_bearing_deg: NDArray[np.float64],
) -> Skyline:
    """Height of the terrain on the horizon from the ground at a place (x, y) [m], for each grid bearing [deg].

    Rays are walked by half cells, far out by 0.5 % of the way, to the edge of the raster or the first unknown height. Ground beyond
    sinks by d²/2R less what the air bends the ray back.
    """
    bearing = np.radians(grid_bearing_deg)
    west, south, east, north = grid.bounds
    far = max(np.hypot(x - place[0], y - place[1]) for x in (west, east) for y in (south, north))
    distance = _distances_m(grid.cell_m / 2.0, far)
    x = place[0] + np.sin(bearing)[:, None] * distance
    y = place[1] + np.cos(bearing)[:, None] * distance
    own_m = float(grid.sample(elevation_m, place[0], place[1]))
    z = grid.sample(elevation_m, x, y)
    sunk = (1.0 - _BENT) * distance**2 / (2.0 * _EARTH_RADIUS_M)
    slope = (z - own_m - sunk) / distance
    unknown = np.isnan(slope)
    first = np.where(unknown.any(axis=1), unknown.argmax(axis=1), distance.size)
    seen = np.where(np.arange(distance.size) < first[:, None], slope, 0.0)
    known_m = np.append(distance, distance[-1])[first]
    return Skyline(np.degrees(np.arctan(np.maximum(seen.max(axis=1), 0.0))), known_m)


def _distances_m(least_m: float, far_m: float) -> NDArray[np.float64]:
    """Steps along a ray: half cells at first, then `_GROWING` of the way, so that no crest is overstepped by more."""
    near_m = least_m / _GROWING
    near = np.arange(1, int(min(near_m, far_m + least_m) / least_m) + 1) * least_m
    more = int(np.ceil(np.log(max(far_m / near[-1], 1.0)) / np.log1p(_GROWING)))
    return np.concatenate([near, near[-1] * (1.0 + _GROWING) ** np.arange(1, more + 1)])


def _sun_level_deg(height_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    """True height [deg] of the sun's centre when its upper limb stands on a horizon of that apparent height.

    The level horizon gives the official height of sunrise and sunset.

    References
    ----------
    Meeus 1998, Astronomical Algorithms, 2nd ed., eq. 16.3 (Bennett): refraction by apparent height.
    """
    refraction_min = 1.0 / np.tan(np.radians(height_deg + 7.31 / (height_deg + 4.4)))
    return height_deg - np.minimum(refraction_min / 60.0, -HORIZON_DEG - _HALF_SUN_DEG) - _HALF_SUN_DEG


def _first_lit(
    steps_s: NDArray[np.float64],
    above: Callable[[NDArray[np.float64]], tuple[NDArray[np.bool_], NDArray[np.float64]]],
) -> tuple[float, float] | None:
    """The first time in the order given at which the sun is up, and how far the ground is known then."""
    for start in range(0, steps_s.size, _CHUNK):
        lit, known_m = above(steps_s[start : start + _CHUNK])
        if not lit.any():
            continue
        i = int(lit.argmax())
        if start + i == 0:
            return float(steps_s[0]), float(known_m[0])
        fine = np.linspace(steps_s[start + i - 1], steps_s[start + i], _FINE + 1)
        fine_lit, fine_known_m = above(fine)
        k = int(fine_lit.argmax())
        return float(round(fine[k])), float(fine_known_m[k])
    return None


def terrain_light(
    elevation_m: NDArray[np.floating], grid: Grid, place: tuple[float, float], day: Daylight
) -> TerrainLight:
    """First and last direct sun at a place (x, y) [m] on a day whose level sunrise and sunset are known.

    Within 10 s of the crossing of the skyline as the raster holds it. The last sun is the last of all:
    a peak that hides it for a while before counts for nothing.
    """
    unknown = TerrainLight(first=None, last=None, first_known_m=0.0, last_known_m=0.0)
    if day.sunrise is None or day.sunset is None or np.isnan(grid.sample(elevation_m, *place)):
        return unknown
    lon, lat = (float(v) for v in grid.projection.to_lonlat(*place))
    turn_deg = grid.projection.convergence_deg(*place)
    start_s, end_s = day.sunrise.timestamp(), day.sunset.timestamp()

    def above(time_s: NDArray[np.float64]) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
        height, azimuth = sun_position([datetime.fromtimestamp(t, UTC) for t in time_s], lon, lat)
        line = skyline(elevation_m, grid, place, azimuth - turn_deg)
        return height > _sun_level_deg(line.height_deg) - _ROUNDING_DEG, line.known_m

    steps = np.append(np.arange(start_s, end_s, _STEP_S), end_s)
    first, last = _first_lit(steps, above), _first_lit(steps[::-1], above)
    if first is None or last is None:
        nearest_m = float(above(steps)[1].min())
        return TerrainLight(first=None, last=None, first_known_m=nearest_m, last_known_m=nearest_m)
    return TerrainLight(
        first=datetime.fromtimestamp(first[0], UTC),
        last=datetime.fromtimestamp(last[0], UTC),
        first_known_m=first[1],
        last_known_m=last[1],
    )
