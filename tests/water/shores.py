"""Shapes and ground that several tests of water share."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.aircraft import AircraftClass, Quantity
from wetline.grid import Grid, Projection
from wetline.ground import Ground, Hazard, Layer, Water
from wetline.weather import Hour

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def quantity(value: float, unit: str, high: float | None = None) -> Quantity:
    return Quantity(value, unit, "test", high=high)


def make_scooper() -> AircraftClass:
    return AircraftClass(
        id="twin_engine_scooper",
        name="Twin-engine scooper",
        fills="scoop",
        quantities={
            "lane_needed_m": quantity(1500.0, "m", high=2000.0),
            "lane_half_width_m": quantity(50.0, "m"),
            "depth_needed_m": quantity(2.0, "m"),
            "crosswind_limit_kt": quantity(12.0, "kt"),
            "tailwind_limit_kt": quantity(5.0, "kt"),
        },
    )


def make_grid() -> Grid:
    """14 km square, 20 m cells, on the central meridian of its zone: x 500,000 m, y 5,000,000 m."""
    return Grid(Projection("EPSG:32625"), 493_000.0, 5_007_000.0, 20.0, 700, 700)


def make_hour(wind_mps: float, wind_from_deg: float, gust_mps: float | None = None) -> Hour:
    return Hour(
        time=datetime(2026, 8, 14, 14, tzinfo=UTC),
        temperature_c=25.0,
        humidity_pct=30.0,
        wind_mps=wind_mps,
        wind_from_deg=wind_from_deg,
        gust_mps=gust_mps,
        rain_mm=0.0,
        cloud_pct=None,
        visibility_m=None,
    )


def make_ground(
    grid: Grid,
    waters: tuple[Water, ...],
    *,
    elevation_m: np.ndarray | None = None,
    canopy_height_m: np.ndarray | None = None,
    hazards: Layer[Hazard] | None = None,
) -> Ground:
    """Flat ground at 100 m unless given; a hazards layer that somebody vouches for unless given."""
    flat = np.full(grid.shape, 100.0, np.float32)
    return Ground(
        grid=grid,
        elevation_m=flat if elevation_m is None else elevation_m,
        fuel=np.zeros(grid.shape, np.int16),
        canopy_height_m=canopy_height_m,
        water=Layer(waters, present=True),
        hazards=Layer((), present=True, surveyed=datetime(2026, 6, 2, tzinfo=UTC).date())
        if hazards is None
        else hazards,
    )


def make_lake(
    west: float, south: float, east: float, north: float, name: str = "Lomvatn", depth_m: float | None = 5.0
) -> Water:
    return Water(
        name=name,
        kind="lake",
        polygon=shapely.box(west, south, east, north),
        surface_m=100.0,
        depth_m=depth_m,
        depth_date=datetime(2025, 9, 1, tzinfo=UTC).date(),
    )


def area(geometry: BaseGeometry) -> shapely.Polygon | shapely.MultiPolygon:
    """A geometry that must be made of polygons alone."""
    if not isinstance(geometry, shapely.Polygon | shapely.MultiPolygon):
        raise TypeError(geometry.geom_type)
    return geometry


def ragged_lake(seed: int, corners: int = 90, islands: int = 4) -> shapely.Polygon:
    """A shore with bays, headlands and islands; about 4 km by 2.5 km."""
    g = np.random.default_rng(seed)
    angle = np.sort(g.uniform(0.0, 2.0 * np.pi, corners))
    radius = 1300.0 * (
        1.0 + 0.25 * np.sin(2 * angle + g.uniform(0, 6)) + 0.15 * np.sin(5 * angle + g.uniform(0, 6))
        + g.normal(0.0, 0.03, corners)
    )  # fmt: skip
    lake = shapely.Polygon(np.column_stack([1.6 * radius * np.cos(angle), radius * np.sin(angle)]))
    for _ in range(islands):
        middle = g.uniform(-1000.0, 1000.0, 2)
        turn = np.sort(g.uniform(0.0, 2.0 * np.pi, 7))
        size = g.uniform(30.0, 200.0) * g.uniform(0.6, 1.4, 7)
        island = np.column_stack([middle[0] + size * np.cos(turn), middle[1] + size * np.sin(turn)])
        lake = max(shapely.get_parts(lake - shapely.Polygon(island).buffer(0.0)), key=shapely.area)
    return lake
