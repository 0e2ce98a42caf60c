"""What is drawn as burnt stays burnt in every figure, whatever the model can burn there."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from wetline.attack import outlook, scene_round
from wetline.behaviour import Variation
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
SPOT_SEEN = START + timedelta(minutes=40)
LAKE = shapely.box(504_800.0, 5_204_800.0, 505_200.0, 5_205_200.0)


def _scene(
    humidity_pct: float, spot: shapely.Polygon | None = None, *, first: shapely.Polygon = BURNT
) -> Scene:
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
    seen = [Perimeter("fire", "fire", START, first)]
    if spot is not None:
        seen.append(Perimeter("spot", "spot", SPOT_SEEN, spot))
    until = START + timedelta(hours=2)
    return scene_round(
        ground, weather, Fire(tuple(seen)), now=seen[-1].time, look_until=until, keep_until=until
    )


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


def test_a_spot_seen_later_is_lit_then_and_the_main_fire_has_grown_until_then() -> None:
    spot = shapely.box(507_000.0, 5_205_000.0, 507_100.0, 5_205_100.0)
    alone, both = _scene(35.0), _scene(35.0, spot)
    assert both.start == START
    assert both.now_s == 2400.0
    grown = alone.front(alone.fields(Variation()))
    grown.advance(2400.0)
    front = both.front(both.fields(Variation()))
    assert front.now_s == 2400.0
    area = [sum(ring.area_m2 for ring in f.trace()) for f in (grown, front)]
    assert area[1] - area[0] == pytest.approx(spot.area, rel=0.1)
    assert both.drawn(2400.0).area == pytest.approx(BURNT.area + spot.area)


def test_a_spot_on_ground_that_does_not_burn_is_counted_and_said_to_be_lost() -> None:
    inside_lake = shapely.box(504_900.0, 5_204_900.0, 504_950.0, 5_204_950.0)
    alone, both = _scene(35.0), _scene(35.0, inside_lake)
    front = both.front(both.fields(Variation()))
    assert front.now_s == both.now_s
    assert front.parts_lost == 1
    assert both.beside_m2 == pytest.approx(alone.beside_m2 + inside_lake.area)
    assert float(both.area_m2(0.0)) == pytest.approx(both.drawn(both.now_s).area)


def test_an_older_part_on_ground_that_does_not_burn_does_not_hide_the_newer_fire() -> None:
    newer = shapely.box(505_600.0, 5_204_500.0, 506_600.0, 5_205_500.0)
    scene = _scene(35.0, newer, first=shapely.box(504_900.0, 5_204_900.0, 504_950.0, 5_204_950.0))
    assert scene.start == START
    grown = scene.front(scene.fields(Variation()))
    grown.advance(5400.0)
    assert sum(ring.area_m2 for ring in grown.trace()) > newer.area
