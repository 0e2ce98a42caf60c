"""The store's small folder with a lake that scoopers can use, a late fire, and a mixed fleet."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from store import folder_maker as fm

if TYPE_CHECKING:
    from pathlib import Path

SEEN = datetime(2026, 8, 14, 19, 0, tzinfo=UTC)
"""Two hours of light are left: few loads, quick tests. 18:00 on the incident's clock."""
LAKE = (
    (593_000.0, 5_225_300.0),
    (595_800.0, 5_225_360.0),
    (595_700.0, 5_226_300.0),
    (593_100.0, 5_226_240.0),
)
SHORE_NORTH_M = 5_226_300.0
LAKE_M = 500.0

FLEET = (
    fm.FLEET.replace("06:00:00-01:00", "09:00:00-01:00")
    + """
[[aircraft]]
call_sign = "Wick 3"
class = "medium_helicopter"
base = "Halm Field"
duty_start = 2026-08-14T09:00:00-01:00
fuel_h = 1.8
flown_h = 1.0

[[aircraft]]
call_sign = "Coot 5"
class = "single_engine_scooper"
base = "Halm Field"
out_of_service = "engine"

[[aircraft]]
call_sign = "Lantern 9"
class = "supervision"
base = "Halm Field"
airborne = true
fuel_h = 2.0
duty_start = 2026-08-14T09:00:00-01:00
flown_h = 1.0
"""
)


def terrain() -> np.ndarray[Any, np.dtype[np.float32]]:
    """A plain at the lake's level, rising 2 % toward the north from 500 m beyond its shore."""
    rows, _ = np.mgrid[0 : fm.ROWS, 0 : fm.COLS]
    y = fm.NORTH_M - (rows + 0.5) * fm.CELL_M
    return np.asarray(LAKE_M + 0.02 * np.maximum(0.0, y - (SHORE_NORTH_M + 500.0)), np.float32)


def fuels() -> np.ndarray[Any, np.dtype[np.int16]]:
    """Fuel model 2, open water (98) on the lake."""
    rows, cols = np.mgrid[0 : fm.ROWS, 0 : fm.COLS]
    x, y = fm.WEST_M + (cols + 0.5) * fm.CELL_M, fm.NORTH_M - (rows + 0.5) * fm.CELL_M
    return np.where(shapely.contains_xy(shapely.Polygon(LAKE), x, y), 98, 2).astype(np.int16)


def make_brief_folder(path: Path) -> Path:
    """The whole folder. Returns the path."""
    fm.make_folder(path)
    fm.write_raster(path / "terrain.tif", terrain())
    fm.write_raster(path / "fuels.tif", fuels())
    (path / "fleet.toml").write_text(FLEET)
    x, y = fm.FIRE_XY
    fm.write_features(
        path / "fire.geojson",
        fm.feature(
            "Polygon",
            [fm.circle_ring(x, y, fm.FIRE_AREA_M2)],
            name="Ketter",
            kind="fire",
            time=SEEN.isoformat(),
        ),
    )
    fm.write_features(
        path / "water.geojson",
        fm.feature("Polygon", [fm.ring(list(LAKE))], name="Skell Mere", kind="lake", depth_m=6),
    )
    fm.write_features(
        path / "people.geojson",
        fm.feature(
            "Point", fm.lonlat(x - 300, y), name="Crew Aldo", kind="crew", count=8, seen=SEEN.isoformat()
        ),
        fm.feature("Point", fm.lonlat(x + 2_500, y + 900), name="Tessick", kind="houses", count=14),
    )
    return path
