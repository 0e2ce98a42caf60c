"""Forested ground and hours of weather for the tests of crown fire and spotting."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour import fuel_models
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.weather import Weather

if TYPE_CHECKING:
    from numpy.typing import NDArray

START = datetime(2026, 7, 14, 12, tzinfo=UTC)
PROJECTION = Projection("EPSG:32625")


def weather(
    wind_mps: tuple[float, ...] = (14.0,),
    wind_from_deg: tuple[float, ...] = (270.0,),
    *,
    humidity_pct: float = 20.0,
) -> Weather:
    """Hours from `START` on: 30 °C, dry."""
    n = len(wind_mps)
    return Weather(
        time_s=START.timestamp() + 3600.0 * np.arange(n, dtype=np.float64),
        temperature_c=np.full(n, 30.0),
        humidity_pct=np.full(n, humidity_pct),
        wind_mps=np.array(wind_mps),
        wind_from_deg=np.array(wind_from_deg),
        gust_mps=np.full(n, np.nan),
        rain_mm=np.zeros(n),
        cloud_pct=np.full(n, 10.0),
        visibility_m=np.full(n, np.nan),
        live_herb_pct=60.0,
        live_woody_pct=80.0,
        elevation_m=500.0,
    )


def forest(
    *,
    base_m: float | None = 1.5,
    bulk: float | None = 0.2,
    height_m: float | None = 18.0,
    cover: float | None = 0.6,
    fuel: int = 147,
    n: int = 5,
) -> Ground:
    """Level ground under one stand of trees; a layer is left out where its value is None."""

    def layer(value: float | None) -> NDArray[np.float32] | None:
        return None if value is None else np.full((n, n), value, np.float32)

    return Ground(
        grid=Grid(PROJECTION, 500_000.0, 5_200_000.0, 30.0, n, n),
        elevation_m=np.full((n, n), 500.0, np.float32),
        fuel=np.full((n, n), fuel, np.int16),
        canopy_cover=layer(cover),
        canopy_height_m=layer(height_m),
        canopy_base_m=layer(base_m),
        canopy_bulk_kg_per_m3=layer(bulk),
    )


def wild_forest(n: int = 16, seed: int = 3) -> Ground:
    """Hills, every burnable fuel, trees of every kind, glades, and gaps in the canopy layers."""
    rng = np.random.default_rng(seed)
    row, col = np.mgrid[0:n, 0:n]
    codes = [number for number, model in fuel_models().items() if model.burnable]
    height = rng.uniform(6.0, 30.0, (n, n)).astype(np.float32)
    base = (height * rng.uniform(0.02, 0.5, (n, n))).astype(np.float32)
    bulk = rng.uniform(0.02, 0.35, (n, n)).astype(np.float32)
    cover = rng.uniform(0.1, 0.9, (n, n)).astype(np.float32)
    glade = rng.random((n, n)) < 0.2
    for values in (height, base, bulk, cover):
        values[glade] = 0.0
    base[rng.random((n, n)) < 0.1] = np.nan
    bulk[rng.random((n, n)) < 0.1] = np.nan
    return replace(
        forest(n=n),
        elevation_m=(700.0 + 80.0 * np.sin(row / 2.5) + 60.0 * np.cos(col / 2.0)).astype(np.float32),
        fuel=rng.choice(np.array(codes, np.int16), (n, n)),
        canopy_cover=cover,
        canopy_height_m=height,
        canopy_base_m=base,
        canopy_bulk_kg_per_m3=bulk,
    )
