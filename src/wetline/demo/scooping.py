"""Which lakes a scooper can use, by the project's own checks, so that the demo holds what it promises."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from wetline.aircraft import aircraft_classes
from wetline.ground import Ground, Layer, Water
from wetline.model import shipped_limits
from wetline.units import KNOT
from wetline.water import lanes_for
from wetline.weather import Hour

if TYPE_CHECKING:
    from wetline.demo.land import Land
    from wetline.water import Lane

__all__ = ["best_lanes", "closed_by_terrain"]

LEAST_AREA_M2 = 300_000.0
DEEP_M = 5.0
STEP_DEG = 6.0


def best_lanes(land: Land, *, wind_from_deg: float) -> list[Lane]:
    """The best lane of every large lake for a twin-engine scooper; `Lane.water` is the lake's number.

    Depth is taken as enough: soundings are invented afterwards. `wind_from_deg`: grid bearing.
    """
    waters = tuple(
        Water(
            name=str(number),
            kind="lake",
            polygon=lake.polygon,
            surface_m=lake.surface_m,
            depth_m=DEEP_M,
            depth_date=date(2025, 7, 1),
        )
        for number, lake in enumerate(land.waters.lakes)
        if lake.polygon.area >= LEAST_AREA_M2
    )
    ground = Ground(
        grid=land.grid,
        elevation_m=land.waters.elevation_m,
        fuel=land.cover.fuel,
        canopy_height_m=land.cover.canopy_m,
        water=Layer(waters, present=True),
    )
    west, south, east, north = land.grid.bounds
    hour = Hour(
        time=datetime(2026, 8, 14, 14, tzinfo=UTC),
        temperature_c=28.0,
        humidity_pct=30.0,
        wind_mps=11.5 * KNOT,
        wind_from_deg=wind_from_deg,
        gust_mps=16.0 * KNOT,
        rain_mm=0.0,
        cloud_pct=20.0,
        visibility_m=20_000.0,
    )
    return lanes_for(
        ground,
        aircraft_classes()["twin_engine_scooper"],
        hour,
        shipped_limits(),
        near=((west + east) / 2, (south + north) / 2),
        within_m=(east - west + north - south) / 2,
        step_deg=STEP_DEG,
        per_water=1,
    )


def closed_by_terrain(lane: Lane) -> bool:
    """Whether terrain stops a lane."""
    return any(f.code == "terrain_exit" and f.level == "stop" for f in lane.findings)
