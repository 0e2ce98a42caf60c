"""Small grounds and weather on which both fire systems are asked the same things."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour import SURFACE_MODELS, CanadianSystem, FbpFuel, Variation, fbp_fuel
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.weather import Codes, DatedCodes, Weather

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour import FireFields, FireSystem
    from wetline.weather import TerrainWind

START = datetime(2026, 7, 14, 13, tzinfo=UTC)
STANDS: dict[int, FbpFuel | None] = {
    1: fbp_fuel("C-2"),
    2: fbp_fuel("C-6"),
    3: fbp_fuel("D-1"),
    4: fbp_fuel("M-2", conifer_pct=60.0),
    5: fbp_fuel("S-1"),
    6: fbp_fuel("O-1b", cured_pct=85.0, grass_load_kg_per_m2=0.4),
    9: None,
}
CANADIAN = CanadianSystem(
    stands=STANDS,
    told=DatedCodes(codes=Codes(ffmc=90.0, dmc=45.0, dc=300.0), day=date(2026, 7, 14)),
    foliar_moisture_pct=100.0,
)
SYSTEMS: dict[str, FireSystem] = {"surface_models": SURFACE_MODELS, "canadian": CANADIAN}
BURNS = {"surface_models": (1, 2, 4, 10, 12, 165), "canadian": (1, 2, 3, 4, 5, 6)}
"""Numbers that burn, by system."""
CROWNLESS = {"surface_models": BURNS["surface_models"], "canadian": (3, 5, 6)}
"""Those of them whose fire has no crowns in it, on ground without canopy layers."""
BARE = {"surface_models": 99, "canadian": 9}


def weather(
    wind_mps: tuple[float, ...] = (5.0,),
    wind_from_deg: tuple[float, ...] = (270.0,),
    *,
    first: datetime = START,
) -> Weather:
    """Hours of warm dry air without rain."""
    n = len(wind_mps)

    def every(value: float) -> NDArray[np.float64]:
        return np.full(n, value)

    return Weather(
        time_s=first.timestamp() + 3600.0 * np.arange(n, dtype=np.float64),
        temperature_c=every(26.0),
        humidity_pct=every(30.0),
        wind_mps=np.array(wind_mps),
        wind_from_deg=np.array(wind_from_deg),
        gust_mps=every(np.nan),
        rain_mm=every(0.0),
        cloud_pct=every(10.0),
        visibility_m=every(np.nan),
        live_herb_pct=60.0,
        live_woody_pct=90.0,
        elevation_m=500.0,
    )


def ground(elevation_m: NDArray[np.float64], fuel: int | NDArray[np.int_]) -> Ground:
    """Cells of 30 m in the zone of 33° W."""
    rows, cols = elevation_m.shape
    return Ground(
        grid=Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, 30.0, rows, cols),
        elevation_m=elevation_m.astype(np.float32),
        fuel=np.broadcast_to(np.asarray(fuel, np.int16), elevation_m.shape).copy(),
    )


def flat(fuel: int | NDArray[np.int_], n: int = 5) -> Ground:
    """Level ground."""
    return ground(np.full((n, n), 500.0), fuel)


def tilted(fuel: int, toward_up_deg: float, tangent: float, n: int = 7) -> Ground:
    """A plane that rises toward a bearing."""
    row, col = np.mgrid[0:n, 0:n] * 30.0
    up = math.radians(toward_up_deg)
    return ground(500.0 + tangent * (col * math.sin(up) - row * math.cos(up)), fuel)


def rolling(name: str, n: int = 24) -> Ground:
    """Hills under a mosaic of all the fuels of a system, with some that do not burn."""
    row, col = np.mgrid[0:n, 0:n]
    z = 500.0 + 60.0 * np.sin(row / 3.0) + 50.0 * np.cos(col / 4.0)
    numbers = np.array([*BURNS[name], BARE[name]])
    return ground(z, np.random.default_rng(2).choice(numbers, (n, n)))


def fields(
    system: FireSystem,
    where: Ground,
    air: Weather,
    *,
    hours: float = 1.0,
    start: datetime = START,
    grid: Grid | None = None,
    variation: Variation | None = None,
    wind: TerrainWind | None = None,
) -> FireFields:
    """The fields of a system from `start` on."""
    return system.fields(
        where,
        air,
        start=start,
        until=start + timedelta(hours=hours),
        grid=grid,
        variation=variation or Variation(),
        wind=wind,
    )
