"""A small invented incident folder for tests: a tilted plane, a lake, a fire of 20 ha, weather, fleet.

The ground is 6 × 5 km at 30 m in UTM zone 25 N. Use `make_folder(path)`, then spoil what a test is about.
"""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pyproj
import rasterio

if TYPE_CHECKING:
    from pathlib import Path

CRS = "EPSG:32625"
WEST_M, NORTH_M, CELL_M, ROWS, COLS = 590_000.0, 5_230_000.0, 30.0, 166, 200
FIRE_XY = (592_500.0, 5_227_600.0)
FIRE_AREA_M2 = 200_000.0
FIRE_TIME = datetime(2026, 8, 14, 12, 0, tzinfo=UTC)
LAKE_BOX = (594_000.0, 5_226_000.0, 595_500.0, 5_227_000.0)

_TO_LONLAT = pyproj.Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)


def lonlat(x: float, y: float) -> list[float]:
    """A place [m] as [longitude, latitude], nine decimals."""
    lon, lat = _TO_LONLAT.transform(x, y)
    return [round(lon, 9), round(lat, 9)]


def ring(xy: list[tuple[float, float]]) -> list[list[float]]:
    """A closed ring in lon/lat of corners in metres."""
    return [lonlat(x, y) for x, y in [*xy, xy[0]]]


def box_ring(west: float, south: float, east: float, north: float) -> list[list[float]]:
    """The ring of a box in metres."""
    return ring([(west, south), (east, south), (east, north), (west, north)])


def circle_ring(x: float, y: float, area_m2: float, corners: int = 40) -> list[list[float]]:
    """A regular polygon of a given area."""
    radius = math.sqrt(2 * area_m2 / (corners * math.sin(2 * math.pi / corners)))
    angles = [2 * math.pi * k / corners for k in range(corners)]
    return ring([(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles])


def feature(shape: str, coordinates: Any, /, **properties: Any) -> dict[str, Any]:
    """One GeoJSON feature."""
    return {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": shape, "coordinates": coordinates},
    }


def write_features(path: Path, *features: dict[str, Any], **members: Any) -> None:
    """A GeoJSON file."""
    path.write_text(json.dumps({"type": "FeatureCollection", "features": list(features), **members}))


def terrain() -> np.ndarray[Any, np.dtype[np.float32]]:
    """Heights [m]: 400 m in the west, rising 3 % toward the east and 1 % toward the north; lake flat."""
    rows, cols = np.mgrid[0:ROWS, 0:COLS]
    x, y = WEST_M + (cols + 0.5) * CELL_M, NORTH_M - (rows + 0.5) * CELL_M
    z = 400.0 + 0.03 * (x - WEST_M) + 0.01 * (y - NORTH_M + ROWS * CELL_M)
    west, south, east, north = LAKE_BOX
    z[(x > west) & (x < east) & (y > south) & (y < north)] = 510.0
    return np.asarray(z, np.float32)


def fuels() -> np.ndarray[Any, np.dtype[np.int16]]:
    """Fuel model 2, open water (98) on the lake."""
    z = terrain()
    return np.where(z == 510.0, 98, 2).astype(np.int16)


def write_raster(
    path: Path,
    values: np.ndarray[Any, Any],
    *,
    crs: str | None = CRS,
    transform: Any = None,
    nodata: float | None = None,
) -> None:
    """A one-band GeoTIFF, on the folder's ground unless told otherwise."""
    where = rasterio.Affine(CELL_M, 0, WEST_M, 0, -CELL_M, NORTH_M) if transform is None else transform
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=values.shape[0],
        width=values.shape[1],
        count=1,
        dtype=values.dtype,
        crs=crs,
        transform=where,
        nodata=nodata,
    ) as ds:
        ds.write(values, 1)


INCIDENT = """name = "Ketter Ridge"
place = "Sorrin, Vastmark"
exercise = true
time_zone = "Etc/GMT+1"
magnetic_variation_deg = -14.0
variation_date = 2026-01-01
crs = "EPSG:32625"
units = "aviation"

[cover]
hazards = 2026-06-02

[limits.people_stop_m]
value = 80
source = "Sorrin fire service order 12"
date = 2026-05-01

[frequencies]
air_to_air = "129.250"
"""

FLEET = """[[aircraft]]
call_sign = "Tern 1"
class = "twin_engine_scooper"
base = "Halm Field"
load_l = 5600
pair = "Tern"
fuel_h = 3.8
duty_start = 2026-08-14T06:00:00-01:00
flown_h = 2.5

[[aircraft]]
call_sign = "Tern 2"
class = "twin_engine_scooper"
base = "Halm Field"
pair = "Tern"
duty_start = 2026-08-14T06:00:00-01:00
"""


def weather_csv(hours: int = 12, first: datetime = FIRE_TIME) -> str:
    """Hours of weather: 30 °C, 30 %, 10 kt from 270° true, gusts of 15 kt."""
    head = "time,temperature_c,humidity_pct,wind_kt,wind_from_deg,gust_kt,rain_mm,cloud_pct,visibility_km\n"
    times = (first + timedelta(hours=k) for k in range(hours))
    return head + "".join(f"{t:%Y-%m-%dT%H:%M:%SZ},30,30,10,270,15,0,20,30\n" for t in times)


def make_folder(path: Path) -> Path:
    """The whole folder, sound: `check_folder` finds no error in it. Returns the path."""
    path.mkdir(parents=True, exist_ok=True)
    (path / "incident.toml").write_text(INCIDENT)
    (path / "fleet.toml").write_text(FLEET)
    (path / "weather.csv").write_text(weather_csv())
    write_raster(path / "terrain.tif", terrain())
    write_raster(path / "fuels.tif", fuels())
    x, y = FIRE_XY
    write_features(
        path / "fire.geojson",
        feature(
            "Polygon",
            [circle_ring(x, y, FIRE_AREA_M2)],
            name="Ketter",
            kind="fire",
            time=FIRE_TIME.isoformat(),
        ),
    )
    write_features(
        path / "water.geojson",
        feature("Polygon", [box_ring(*LAKE_BOX)], name="Skell Mere", kind="lake", depth_m=6),
    )
    write_features(
        path / "bases.geojson",
        feature(
            "Point",
            lonlat(590_600, 5_225_600),
            name="Halm Field",
            kind="airfield",
            runway_m=1800,
            agents=["water", "retardant"],
        ),
    )
    write_features(
        path / "hazards.geojson",
        feature(
            "LineString",
            [lonlat(591_000, 5_226_000), lonlat(593_000, 5_229_000)],
            name="Line 4",
            kind="wire",
            height_m=35,
        ),
    )
    write_features(
        path / "people.geojson",
        feature(
            "Point",
            lonlat(x - 600, y),
            name="Crew Aldo",
            kind="crew",
            count=8,
            seen=FIRE_TIME.isoformat(),
            tools="hand",
        ),
    )
    return path
