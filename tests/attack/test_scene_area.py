"""What is drawn as burnt stays burnt in every figure, whatever the model can burn there."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from wetline.attack import outlook, scene_round
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.model import Fire, Perimeter
from wetline.weather import Weather

if TYPE_CHECKING:
    from wetline.attack import Scene

pytestmark = pytest.mark.behaviour

START = datetime(2026, 7, 14, 12, tzinfo=UTC)
N, HOURS = 400, 3
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_210_000.0, 25.0, N, N)
BURNT = shapely.box(504_500.0, 5_204_500.0, 505_500.0, 5_205_500.0)
LAKE = shapely.box(504_800.0, 5_204_800.0, 505_200.0, 5_205_200.0)


def _scene(humidity_pct: float) -> Scene:
    x, y = GRID.xy(*np.mgrid[:N, :N])
    fuel = np.where(shapely.contains_xy(LAKE, x, y), 98, 2).astype(np.int16)
    ground = Ground(grid=GRID, elevation_m=np.full((N, N), 300.0, np.float32), fuel=fuel)

    def every(value: float) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        return np.full(HOURS, value)

    weather = Weather(
        time_s=START.timestamp() + 3600.0 * np.arange(HOURS, dtype=float),
        temperature_c=every(22.0),
        humidity_pct=every(humidity_pct),
        wind_mps=every(2.0),
        wind_from_deg=every(250.0),
        gust_mps=every(np.nan),
        rain_mm=every(0.0),
        cloud_pct=every(10.0),
        visibility_m=every(np.nan),
        live_herb_pct=60.0,
        live_woody_pct=90.0,
    )
    fire = Fire(perimeters=(Perimeter(name="fire", kind="fire", time=START, polygon=BURNT),))
    until = START + timedelta(hours=2)
    return scene_round(ground, weather, fire, now=START, look_until=until, keep_until=until)


def test_a_lake_within_the_perimeter_counts_in_every_front_as_it_does_now() -> None:
    scene = _scene(35.0)
    assert scene.beside_m2 == pytest.approx(LAKE.area, rel=0.08)
    seen = outlook(scene, 0, 1, [60.0, 3600.0], workers=1)
    first, second = seen.played[0].area_m2
    assert first == pytest.approx(BURNT.area, rel=0.03)
    assert second > first


def test_a_traced_area_is_never_told_below_what_is_drawn() -> None:
    """Fuel that is too damp in every hour is no ground to the model; the fire on the map is still there."""
    scene = _scene(35.0)
    assert scene.area_m2(0.0) == pytest.approx(BURNT.area)
    more = float(scene.area_m2(2.0 * BURNT.area))
    assert more == pytest.approx(2.0 * BURNT.area + scene.beside_m2)
