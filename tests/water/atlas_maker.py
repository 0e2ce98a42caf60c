"""Lakes laid out by geodesics, chunks of them, and invented lanes for tests of the atlas."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from wetline.water import RECORD, AtlasLane, Chunk, Searched

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

GEOD = pyproj.Geod(ellps="WGS84")


def oblong(
    lon: float, lat: float, heading_deg: float = 90.0, length_m: float = 2000.0, width_m: float = 300.0
) -> shapely.Polygon:
    """A rectangle about a place, its long side along a true heading, by geodesics on the ellipsoid."""
    corners = []
    for along, side in ((1, 1), (1, -1), (-1, -1), (-1, 1)):
        x, y, back = GEOD.fwd(lon, lat, heading_deg, along * length_m / 2)
        x, y, _ = GEOD.fwd(x, y, back + 180.0 + 90.0 * side, width_m / 2)
        corners.append((x, y))
    return shapely.Polygon(corners)


def lakes(count: int) -> list[shapely.Polygon]:
    """Rectangles 0.1° apart in rows of 30 from 25° E 60° N, each of its own size and heading."""
    g = np.random.default_rng(7)
    return [
        oblong(
            25.0 + 0.1 * (i % 30),
            60.0 + 0.1 * (i // 30),
            *g.uniform([0.0, 900.0, 90.0], [180.0, 2600.0, 320.0]).tolist(),
        )
        for i in range(count)
    ]


def chunk_of(shapes: Sequence[shapely.Geometry | None], *, first: int = 0, crs: str = "EPSG:4326") -> Chunk:
    """A chunk of shapes, every second one with a name."""
    names = tuple(f"Lake {first + i}" if i % 2 else None for i in range(len(shapes)))
    return Chunk(first, crs, names, tuple(None if s is None else shapely.to_wkb(s) for s in shapes))


def lane_at(
    lon: float,
    lat: float,
    *,
    row: int = 0,
    heading_deg: float = 0.0,
    length_m: float = 2000.0,
    width_m: float = 100.0,
    ask: int = 0,
) -> AtlasLane:
    """An invented lane about its middle."""
    start = GEOD.fwd(lon, lat, heading_deg + 180.0, length_m / 2)[:2]
    end = GEOD.fwd(lon, lat, heading_deg, length_m / 2)[:2]
    return AtlasLane(
        row=row,
        ask=ask,
        water=f"Water {row}",
        heading_deg=heading_deg,
        length_m=length_m,
        clear_m=50.0,
        width_m=width_m,
        start=start,
        end=end,
        middle=(lon, lat),
    )


def searched(lanes: Sequence[AtlasLane], *, first: int = 0, count: int = 1) -> Searched:
    """What a chunk gave that held these lanes."""
    return Searched(first, count, tuple(lanes), (), 0)


def records_of(lanes: Sequence[AtlasLane]) -> NDArray[np.void]:
    """The records of lanes, numbered from 1."""
    return np.array(
        [
            (i, a.row, a.ask, a.heading_deg, a.length_m, a.width_m, *a.middle)
            for i, a in enumerate(lanes, start=1)
        ],
        RECORD,
    )


def scattered(lon: float, lat: float, count: int, *, farthest_m: float, seed: int = 3) -> list[AtlasLane]:
    """Lanes at random distances and bearings from a place."""
    g = np.random.default_rng(seed)
    out = []
    for i in range(count):
        x, y, _ = GEOD.fwd(lon, lat, g.uniform(0.0, 360.0), g.uniform(0.0, farthest_m))
        heading = float(g.uniform(0.0, 180.0))
        out.append(lane_at(x, y, row=i // 4, heading_deg=heading, length_m=float(g.uniform(1500.0, 4000.0))))
    return out
