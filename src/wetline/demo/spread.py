"""When the fire would come, by the project's own model, so that the village has hours and not days."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour import fire_fields
from wetline.demo.weather import COLUMNS
from wetline.ground import Ground
from wetline.growth import arrival
from wetline.units import HOUR, KNOT
from wetline.weather import Weather

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import Polygon

    from wetline.demo.land import Land

__all__ = ["arrival_h"]

LOOK_AHEAD_H = 7
REACH_M = 5_500.0


def _weather(land: Land, rows: list[tuple[str, ...]]) -> Weather:
    """The rows of the weather file as the project reads them, directions turned to the grid."""
    column = {name: [row[i] for row in rows] for i, name in enumerate(COLUMNS)}

    def numbers(name: str) -> NDArray[np.float64]:
        return np.array([float(text) for text in column[name]])

    return Weather(
        time_s=np.array([datetime.fromisoformat(text).timestamp() for text in column["time"]]),
        temperature_c=numbers("temperature_c"),
        humidity_pct=numbers("humidity_pct"),
        wind_mps=numbers("wind_kt") * KNOT,
        wind_from_deg=numbers("wind_from_deg"),
        gust_mps=numbers("gust_kt") * KNOT,
        rain_mm=numbers("rain_mm"),
        cloud_pct=numbers("cloud_pct"),
        visibility_m=numbers("visibility_km") * 1_000.0,
        live_herb_pct=numbers("live_herb_pct")[0],
        live_woody_pct=numbers("live_woody_pct")[0],
    ).turned(-land.grid.convergence_deg)


def arrival_h(land: Land, rows: list[tuple[str, ...]], burnt: Polygon, now: datetime) -> NDArray[np.float64]:
    """Hours after `now` at which the fire comes to each cell of the land, inf where it does not."""
    ground = Ground(
        grid=land.grid,
        elevation_m=land.waters.elevation_m,
        fuel=land.cover.fuel,
        canopy_cover=land.cover.canopy_pct / np.float32(100.0),
        canopy_height_m=land.cover.canopy_m,
        canopy_base_m=land.cover.base_m,
        canopy_bulk_kg_per_m3=land.cover.bulk_kg_per_m3,
    )
    x, y = burnt.centroid.x, burnt.centroid.y
    window, window_rows, window_cols = land.grid.window(x - REACH_M, y - REACH_M, x + REACH_M, y + REACH_M)
    until = now + timedelta(hours=LOOK_AHEAD_H)
    fields = fire_fields(ground, _weather(land, rows), start=now, until=until, grid=window)
    hours = np.full(land.grid.shape, np.inf)
    hours[window_rows, window_cols] = arrival(fields, burnt, at_s=0.0, until_s=LOOK_AHEAD_H * HOUR) / HOUR
    return hours
