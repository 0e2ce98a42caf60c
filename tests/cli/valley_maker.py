"""A small invented valley that every command can work on: two lakes, a fleet of four, people, roads.

The ground is that of `store.folder_maker`, nearly level so that lanes can be flown from the large lake.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from store.folder_maker import (
    CELL_M,
    COLS,
    FIRE_TIME,
    FIRE_XY,
    NORTH_M,
    ROWS,
    WEST_M,
    box_ring,
    feature,
    lonlat,
    make_folder,
    write_features,
    write_raster,
)

if TYPE_CHECKING:
    from pathlib import Path

X, Y = FIRE_XY
MERE = (592_400.0, 5_225_300.0, 595_600.0, 5_226_100.0)
POND = (591_000.0, 5_228_700.0, 591_200.0, 5_228_900.0)
FLEET = """[[aircraft]]
call_sign = "Tern 1"
class = "twin_engine_scooper"
base = "Halm Field"
load_l = 5600
fuel_h = 3.8
duty_start = 2026-08-14T06:00:00-01:00
flown_h = 2.5

[[aircraft]]
call_sign = "Plover 2"
class = "medium_helicopter"
base = "Halm Field"
fuel_h = 2.0
duty_start = 2026-08-14T09:00:00-01:00
flown_h = 0.0

[[aircraft]]
call_sign = "Siskin 3"
class = "single_engine_tanker"
base = "Aldmoor"
agent = "retardant"
fuel_h = 2.0
duty_start = 2026-08-14T09:00:00-01:00
flown_h = 0.0

[[aircraft]]
call_sign = "Heron 4"
class = "supervision"
base = "Halm Field"
fuel_h = 4.0
duty_start = 2026-08-14T09:00:00-01:00
flown_h = 0.0
"""


def make_valley(path: Path, *, crew_ahead_m: float = -600.0) -> Path:
    """The whole folder. `crew_ahead_m`: the crew's place east of the fire's middle, where the wind blows to."""
    make_folder(path)
    (path / "fleet.toml").write_text(FLEET)
    rows, cols = np.mgrid[0:ROWS, 0:COLS]
    east, north = WEST_M + (cols + 0.5) * CELL_M, NORTH_M - (rows + 0.5) * CELL_M
    ground = np.asarray(402.0 + 0.002 * (north - NORTH_M + ROWS * CELL_M), np.float32)
    fuel = np.full((ROWS, COLS), 2, np.int16)
    for west, south, right, top in (MERE, POND):
        wet = (east > west) & (east < right) & (north > south) & (north < top)
        ground[wet], fuel[wet] = 401.0, 98
    write_raster(path / "terrain.tif", ground)
    write_raster(path / "fuels.tif", fuel)
    write_features(
        path / "water.geojson",
        feature("Polygon", [box_ring(*MERE)], name="Skell Mere", kind="lake", depth_m=6),
        feature("Polygon", [box_ring(*POND)], name="Brae Pond", kind="pond"),
    )
    write_features(
        path / "bases.geojson",
        feature("Point", lonlat(590_600, 5_225_600), name="Halm Field", kind="airfield", runway_m=1800,
                agents=["water"]),
        feature("Point", lonlat(590_700, 5_229_600), name="Aldmoor", kind="tanker_base", runway_m=1500,
                agents=["retardant"], pits=1),
    )  # fmt: skip
    write_features(
        path / "people.geojson",
        feature("Point", lonlat(X + crew_ahead_m, Y), name="Crew Aldo", kind="crew", count=8,
                seen=FIRE_TIME.isoformat(), tools="hand"),
        feature("Point", lonlat(X + 1800, Y + 300), name="Birkhope", kind="houses", count=4),
    )  # fmt: skip
    write_features(
        path / "roads.geojson",
        feature("LineString", [lonlat(590_100, 5_228_500), lonlat(595_900, 5_228_500)], name="Skell road"),
    )
    write_features(
        path / "hazards.geojson",
        feature("LineString", [lonlat(590_100, 5_229_900), lonlat(595_900, 5_229_900)], name="Line 4",
                kind="wire", height_m=35),
    )  # fmt: skip
    return path
