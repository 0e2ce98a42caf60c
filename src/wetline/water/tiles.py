"""Wide water cut into overlapping tiles, each small enough for a flat frame of its own.

The cores of the tiles share out the water; each tile reaches beyond its core by so much that a lane
with its middle in the core lies in the tile, up to a greatest length. Longitude and latitude [deg].
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import shapely
from shapely import affinity

from wetline.water.lanes import mended

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry import MultiPolygon, Polygon

    Area = Polygon | MultiPolygon

Box = tuple[float, float, float, float]

__all__ = ["EVERYWHERE", "FARTHEST_LAT", "Tile", "metres_across", "tiles"]

FARTHEST_LAT = 88.0
"""Nearer to a pole water is not searched: there no meridian serves as north."""
EVERYWHERE: Box = (-180.0, -90.0, 181.0, 91.0)
_METRES_A_DEGREE = 111_700.0  # the most that a degree of latitude or longitude measures
_LEAST_METRES_A_DEGREE = 110_500.0
_CORE_M = 30_000.0


@dataclass(frozen=True, slots=True)
class Tile:
    """Water of one tile, and the core (west, south, east, north) whose lanes are the tile's own."""

    water: Area
    core: Box

    def owns(self, lon: float, lat: float) -> bool:
        """True if a point lies in the core; on an edge it belongs to the east and north."""
        west, south, east, north = self.core
        return (lon - west) % 360.0 < east - west and south <= lat < north


def tiles(area: Area, *, reach_m: float) -> Iterator[Tile]:
    """The tiles of a water; each reaches at least `reach_m` beyond its core on the ground.

    Water drawn to both sides of the antimeridian goes on across it; what lies beyond 88° is left out.
    """
    west, south, east, north = shapely.bounds(area)
    whole = area
    if west <= -180.0 and east >= 180.0:
        margin = _margin(max(abs(south), abs(north)), reach_m)[0]
        sides = (
            area,
            affinity.translate(_clipped(area, (west, south, west + margin, north)), 360.0),
            affinity.translate(_clipped(area, (east - margin, south, east, north)), -360.0),
        )
        whole = mended(shapely.union_all(sides)).polygon or area
    # the sliver beyond keeps the easternmost and northernmost points in a core
    core = (west, max(south, -FARTHEST_LAT), east + 1e-9, min(north, FARTHEST_LAT) + 1e-9)
    yield from _split(whole, core, reach_m)


def metres_across(box: Box) -> tuple[float, float]:
    """Never less than the width and height [m] of a box (west, south, east, north) [deg]."""
    west, south, east, north = box
    nearest = 0.0 if south < 0.0 < north else min(abs(south), abs(north))
    wide_m = (east - west) * _METRES_A_DEGREE * math.cos(math.radians(min(nearest, 90.0)))
    return wide_m, (north - south) * _METRES_A_DEGREE


def _split(area: Area, core: Box, reach_m: float) -> Iterator[Tile]:
    west, south, east, north = core
    if south >= north:
        return
    margin_lon, margin_lat = _margin(max(abs(south), abs(north)), reach_m)
    window = (west - margin_lon, south - margin_lat, east + margin_lon, north + margin_lat)
    part = _clipped(area, window)
    if shapely.is_empty(part) or not _meets(part, core):
        return
    wide_m, high_m = metres_across(core)
    if max(wide_m, high_m) <= _CORE_M:
        yield Tile(part, core)
    elif wide_m > high_m:
        middle = (west + east) / 2
        yield from _split(part, (west, south, middle, north), reach_m)
        yield from _split(part, (middle, south, east, north), reach_m)
    else:
        middle = (south + north) / 2
        yield from _split(part, (west, south, east, middle), reach_m)
        yield from _split(part, (west, middle, east, north), reach_m)


def _margin(lat: float, reach_m: float) -> tuple[float, float]:
    """Degrees of longitude and latitude that are at least `reach_m` up to this latitude and the reach beyond."""
    margin_lat = reach_m / _LEAST_METRES_A_DEGREE
    farthest = min(lat + margin_lat, FARTHEST_LAT + 1.0)
    return margin_lat / math.cos(math.radians(farthest)), margin_lat


def _clipped(area: Area, window: Box) -> Area:
    part = shapely.clip_by_rect(area, *window)
    if part.geom_type in {"Polygon", "MultiPolygon"} and shapely.is_valid(part):
        return cast("Area", part)
    return mended(part).polygon or shapely.Polygon()


def _meets(area: Area, core: Box) -> bool:
    west, south, east, north = shapely.bounds(area)
    return bool(west <= core[2] and east >= core[0] and south <= core[3] and north >= core[1])
