"""Behaviour over the ground: the right direction, the same numbers as cell by cell, nothing silent."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from wetline.behaviour import (
    LENGTH_TO_WIDTH_MAX,
    FireFields,
    Variation,
    WindLimit,
    eccentricity,
    explain,
    fire_fields,
    fuel_models,
    length_to_width,
    over_ground,
    surface_spread_rothermel_1972,
    wind_adjustment,
)
from wetline.behaviour.cells import Cells, cells_of
from wetline.errors import InputError, OutsideRangeError, SolverError
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.weather import Site, TerrainWind, Weather, dead_moisture, live_moisture

START = datetime(2026, 7, 14, 12, tzinfo=UTC)
PROJECTION = Projection("EPSG:32625")


def _weather(
    wind_mps: tuple[float, ...] = (6.0,),
    wind_from_deg: tuple[float, ...] = (270.0,),
    *,
    humidity_pct: float = 25.0,
    cloud_pct: float = 10.0,
    rain_mm: float = 0.0,
) -> Weather:
    n = len(wind_mps)

    def every(value: float) -> NDArray[np.float64]:
        return np.full(n, value)

    return Weather(
        time_s=START.timestamp() + 3600.0 * np.arange(n, dtype=np.float64),
        temperature_c=every(28.0),
        humidity_pct=every(humidity_pct),
        wind_mps=np.array(wind_mps),
        wind_from_deg=np.array(wind_from_deg),
        gust_mps=every(np.nan),
        rain_mm=every(rain_mm),
        cloud_pct=every(cloud_pct),
        visibility_m=every(np.nan),
        live_herb_pct=60.0,
        live_woody_pct=90.0,
        elevation_m=500.0,
    )


def _ground(
    elevation_m: NDArray[np.float64], fuel: int | NDArray[np.int_] = 2, cell_m: float = 30.0
) -> Ground:
    rows, cols = elevation_m.shape
    return Ground(
        grid=Grid(PROJECTION, 500_000.0, 5_200_000.0, cell_m, rows, cols),
        elevation_m=elevation_m.astype(np.float32),
        fuel=np.broadcast_to(np.asarray(fuel, np.int16), elevation_m.shape).copy(),
    )


def _flat(fuel: int | NDArray[np.int_] = 2, n: int = 5) -> Ground:
    return _ground(np.full((n, n), 500.0), fuel)


def _fields(
    ground: Ground,
    weather: Weather,
    *,
    hours: float = 1.0,
    grid: Grid | None = None,
    variation: Variation | None = None,
    wind_limit: WindLimit | None = None,
) -> FireFields:
    return fire_fields(
        ground,
        weather,
        start=START,
        until=START + timedelta(hours=hours),
        grid=grid,
        variation=variation or Variation(),
        wind_limit=wind_limit,
    )


def _tilted(toward_up_deg: float, tangent: float, n: int = 7) -> Ground:
    """A plane that rises toward a bearing."""
    row, col = np.mgrid[0:n, 0:n] * 30.0
    up = math.radians(toward_up_deg)
    return _ground(500.0 + tangent * (col * math.sin(up) - row * math.cos(up)))


@pytest.mark.derived
@pytest.mark.parametrize("wind_from", [0.0, 90.0, 200.0, 270.0])
def test_on_level_ground_the_head_runs_with_the_wind(wind_from: float) -> None:
    # wind *from* 270 blows toward 90
    found = _fields(_flat(), _weather(wind_from_deg=(wind_from,)))
    assert found.head_toward_deg[0] == pytest.approx((wind_from + 180.0) % 360.0, abs=1e-4)


@pytest.mark.derived
@pytest.mark.parametrize("up", [0.0, 45.0, 135.0, 250.0])
def test_in_calm_the_head_runs_up_the_slope(up: float) -> None:
    ground = _tilted(up, 0.5)
    found = _fields(ground, _weather(wind_mps=(0.0,)))
    turn = (found.head_toward_deg[0, 1:-1, 1:-1] - up + 180.0) % 360.0 - 180.0
    assert turn == pytest.approx(np.zeros_like(turn), abs=1e-3)


@pytest.mark.derived
def test_wind_across_the_slope_turns_the_head_between_the_two() -> None:
    # slope rises to the north, wind blows to the east: the head runs north-east, faster than either alone
    ground = _tilted(0.0, 0.4)
    calm = _fields(ground, _weather(wind_mps=(0.0,)))
    level = _fields(_flat(n=7), _weather())
    both = _fields(ground, _weather())
    inner = (0, 3, 3)
    assert 5.0 < both.head_toward_deg[inner] < 85.0
    r0 = float(_fields(_flat(n=7), _weather(wind_mps=(0.0,))).head_rate_mps[inner])
    wind, slope = float(level.head_rate_mps[inner]) - r0, float(calm.head_rate_mps[inner]) - r0
    assert float(both.head_rate_mps[inner]) == pytest.approx(r0 + math.hypot(wind, slope), rel=1e-5)
    assert float(both.head_toward_deg[inner]) == pytest.approx(
        math.degrees(math.atan2(wind, slope)), rel=1e-4
    )


@pytest.mark.property
def test_a_mirrored_wind_gives_a_mirrored_fire() -> None:
    ground = _tilted(0.0, 0.4)
    west, east = (_fields(ground, _weather(wind_from_deg=(w,))) for w in (240.0, 120.0))
    assert np.allclose(west.head_rate_mps, east.head_rate_mps, rtol=1e-5)
    assert np.allclose(west.head_toward_deg[0, 3, 3], 360.0 - east.head_toward_deg[0, 3, 3])


def _rough() -> Ground:
    rng = np.random.default_rng(7)
    n = 14
    row, col = np.mgrid[0:n, 0:n]
    elevation = 700.0 + 60.0 * np.sin(row / 3.0) + 45.0 * np.cos(col / 2.5) + rng.normal(0.0, 3.0, (n, n))
    codes = [number for number, model in fuel_models().items() if model.burnable]
    fuel = rng.choice(codes, (n, n))
    return replace(
        _ground(elevation, fuel),
        canopy_cover=rng.uniform(0.0, 0.9, (n, n)).astype(np.float32),
        canopy_height_m=rng.uniform(0.0, 25.0, (n, n)).astype(np.float32),
        canopy_base_m=np.full((n, n), 2.0, np.float32),
    )


@pytest.mark.derived
@pytest.mark.parametrize("wind_limit", [None, "rothermel_1972", "andrews_2013"])
def test_the_kernel_agrees_with_the_one_cell_functions(wind_limit: WindLimit | None) -> None:
    # two paths over the same ground: the numba kernel, and the scalar model put together here by hand
    ground, weather = _rough(), _weather((3.0, 7.0), (215.0, 300.0))
    found = _fields(ground, weather, hours=2.0, wind_limit=wind_limit)
    slope, aspect = ground.slope_aspect()
    cover, height = ground.canopy_cover, ground.canopy_height_m
    assert cover is not None
    assert height is not None
    lon = float(PROJECTION.to_lonlat(500_210.0, 5_199_790.0)[0])
    for k in range(2):
        hour = weather.at(START + timedelta(hours=k))
        for i, j in ((0, 0), (3, 9), (7, 7), (10, 2), (13, 13), (5, 12)):
            model = fuel_models()[int(ground.fuel[i, j])]
            assert model.depth_m is not None
            up = (float(aspect[i, j]) + 180.0) % 360.0
            ratio = max(float(height[i, j]) - 2.0, 0.0) / float(height[i, j]) if height[i, j] >= 2.0 else 0.5
            waf = float(wind_adjustment(model.depth_m, cover[i, j], height[i, j], ratio))
            site = Site(
                local_hour=12.0 + k + lon / 15.0,
                aspect_deg=float(aspect[i, j]),
                slope_tan=float(slope[i, j]),
                above_station_m=float(ground.elevation_m[i, j]) - 500.0,
            )
            expected = surface_spread_rothermel_1972(
                model,
                dead_moisture(hour, 7, bool(cover[i, j] >= 0.5), site=site),
                live_moisture(weather),
                midflame_mps=hour.wind_mps / 1.15 * waf,
                slope_tan=float(slope[i, j]),
                wind_toward_deg=hour.wind_from_deg + 180.0 - up,
                wind_limit=wind_limit,
            )
            here = (k, i, j)
            lw = min(float(length_to_width(expected.effective_midflame_mps)), LENGTH_TO_WIDTH_MAX)
            turn = (float(found.head_toward_deg[here]) - up - expected.toward_deg + 180.0) % 360.0 - 180.0
            assert float(found.head_rate_mps[here]) == pytest.approx(expected.rate_mps, rel=2e-6)
            assert float(found.head_intensity_kw_per_m[here]) == pytest.approx(
                expected.byram_kw_per_m, rel=2e-6
            )
            assert turn == pytest.approx(0.0, abs=1e-3)
            assert float(found.eccentricity[here]) == pytest.approx(
                float(eccentricity(lw)), rel=1e-5, abs=1e-4
            )


@pytest.mark.property
def test_a_window_is_the_same_as_the_whole() -> None:
    ground, weather = _rough(), _weather()
    whole = _fields(ground, weather)
    west, north = ground.grid.west_m, ground.grid.north_m
    part, rows, cols = ground.grid.window(west + 100, north - 330, west + 290, north - 70)
    found = _fields(ground, weather, grid=part)
    assert found.grid == part
    for name in ("head_rate_mps", "head_toward_deg", "eccentricity", "head_intensity_kw_per_m"):
        assert np.array_equal(getattr(found, name), getattr(whole, name)[:, rows, cols]), name
    assert np.array_equal(found.burnable, whole.burnable[rows, cols])


@pytest.mark.behaviour
def test_a_grid_that_is_no_window_is_refused() -> None:
    ground = _flat()
    for wrong in (
        replace(ground.grid, west_m=ground.grid.west_m + 10.0),
        replace(ground.grid, cell_m=20.0),
        replace(ground.grid, rows=50),
        replace(ground.grid, projection=Projection("EPSG:32626")),
        replace(ground.grid, rows=0),
    ):
        with pytest.raises(InputError, match="no window"):
            _fields(ground, _weather(), grid=wrong)


@pytest.mark.behaviour
def test_unknown_ground_is_counted_and_said_and_water_is_not_unknown() -> None:
    fuel = np.full((6, 6), 2)
    fuel[0, 0], fuel[0, 1], fuel[5, 5] = -1, 77, 98
    ground = _ground(np.full((6, 6), 500.0), fuel)
    ground.elevation_m[3, 3] = np.nan
    found = _fields(ground, _weather())
    assert found.unknown_cells == 3
    assert np.flatnonzero(~found.burnable).tolist() == [0, 1, 21, 35]
    assert np.all(found.head_rate_mps[0][~found.burnable] == 0.0)
    assert np.all(found.head_rate_mps[0][found.burnable] > 0.0)
    assert any("3 cells without known fuel or height" in note for note in found.notes)
    assert any("8 cells beside a hole" in note for note in found.notes)


@pytest.mark.behaviour
def test_ground_without_fuel_has_no_fire() -> None:
    found = _fields(_flat(99), _weather())
    assert not found.burnable.any()
    assert not found.head_rate_mps.any()
    assert found.unknown_cells == 0


@pytest.mark.behaviour
def test_a_cut_length_to_width_is_counted() -> None:
    found = _fields(_flat(1), _weather((40.0,)))
    assert found.capped_cells == 25
    assert found.eccentricity[0] == pytest.approx(math.sqrt(1.0 - 1.0 / LENGTH_TO_WIDTH_MAX**2))
    assert any("Length to width cut at 8" in note for note in found.notes)
    assert _fields(_flat(1), _weather((4.0,))).capped_cells == 0


@pytest.mark.behaviour
def test_slots_change_at_the_weathers_hours() -> None:
    weather = _weather((2.0, 5.0, 9.0), (270.0, 300.0, 0.0))
    begin = START + timedelta(minutes=20)
    found = fire_fields(_flat(), weather, start=begin, until=begin + timedelta(hours=2))
    assert found.edges_s.tolist() == [0.0, 2400.0, 6000.0, 7200.0]
    assert [found.slot(t) for t in (0.0, 2399.9, 2400.0, 6000.0, 7200.0)] == [0, 0, 1, 2, 2]
    assert found.head_toward_deg[:, 2, 2] == pytest.approx([90.0, 120.0, 180.0], abs=1e-4)
    assert np.all(np.diff(found.head_rate_mps[:, 2, 2]) > 0)
    with pytest.raises(LookupError):
        found.slot(7201.0)


@pytest.mark.behaviour
def test_time_or_values_that_the_weather_lacks_are_refused() -> None:
    with pytest.raises(InputError, match="whole time"):
        _fields(_flat(), _weather(), hours=1.5)
    with pytest.raises(InputError, match="has no wind_mps"):
        _fields(_flat(), _weather((math.nan,)))
    with pytest.raises(OutsideRangeError, match="wind_factor"):
        Variation(wind_factor=-0.2)


@pytest.mark.property
def test_variations_push_the_way_they_say() -> None:
    ground, weather = _flat(122), _weather()
    base, faster, damper, stronger, turned = (
        _fields(ground, weather, variation=v)
        for v in (
            Variation(),
            Variation(spread_factor=1.5),
            Variation(moisture_add_pct=3.0),
            Variation(wind_factor=1.3),
            Variation(wind_turn_deg=25.0),
        )
    )
    assert np.allclose(faster.head_rate_mps, 1.5 * base.head_rate_mps)
    assert np.allclose(faster.head_intensity_kw_per_m, 1.5 * base.head_intensity_kw_per_m)
    assert np.all(damper.head_rate_mps < base.head_rate_mps)
    assert np.all(stronger.head_rate_mps > base.head_rate_mps)
    assert np.all(stronger.eccentricity > base.eccentricity)
    assert np.allclose(turned.head_toward_deg, base.head_toward_deg + 25.0)


@pytest.mark.property
def test_shade_of_trees_and_cloud_slows_the_fire() -> None:
    open_ground = _flat(10)
    trees = replace(
        open_ground,
        canopy_cover=np.full((5, 5), 0.8, np.float32),
        canopy_height_m=np.full((5, 5), 20.0, np.float32),
    )
    base = _fields(open_ground, _weather())
    assert np.all(_fields(trees, _weather()).head_rate_mps < base.head_rate_mps)
    assert np.all(_fields(open_ground, _weather(cloud_pct=90.0)).head_rate_mps < base.head_rate_mps)


@pytest.mark.behaviour
def test_what_is_assumed_is_said() -> None:
    weather = replace(_weather(rain_mm=2.0), live_herb_pct=None, elevation_m=None)
    notes = " ".join(_fields(_flat(), weather).notes)
    for words in (
        "No canopy layer",
        "Rain in some hours",
        "Live herb moisture not given",
        "Height of the weather",
    ):
        assert words in notes
    assert "Live woody" not in notes
    trees = replace(_flat(), canopy_cover=np.full((5, 5), np.nan, np.float32))
    notes = " ".join(_fields(trees, _weather()).notes)
    assert "Canopy cover unknown in 25 cells" in notes
    assert "No canopy height" in notes


@pytest.mark.behaviour
def test_behaviour_at_points() -> None:
    found = _fields(_rough(), _weather())
    x, y = found.grid.xy([2, 5], [3, 8])
    here = found.at(0, x + 10.0, y - 10.0)
    assert here.head_rate_mps.tolist() == [found.head_rate_mps[0, 2, 3], found.head_rate_mps[0, 5, 8]]
    with pytest.raises(LookupError, match="off the grid"):
        found.at(0, x - 1000.0, y)


@pytest.mark.property
def test_an_explanation_gives_the_fields_own_numbers_and_shares() -> None:
    ground, weather = _rough(), _weather((6.0,), (215.0,))
    found = _fields(ground, weather)
    for i, j in ((0, 0), (3, 9), (7, 7), (13, 13)):
        x, y = (float(v) for v in ground.grid.xy(i, j))
        why = explain(ground, weather, START, x, y)
        assert why.fuel_code == fuel_models()[int(ground.fuel[i, j])].code
        assert why.rate_mps == pytest.approx(float(found.head_rate_mps[0, i, j]), rel=2e-6)
        assert why.toward_deg == pytest.approx(float(found.head_toward_deg[0, i, j]), abs=1e-3)
        assert why.intensity_kw_per_m == pytest.approx(
            float(found.head_intensity_kw_per_m[0, i, j]), rel=2e-6
        )
        assert why.wind_share is not None
        assert why.slope_share is not None
        assert 0.0 < why.wind_share + why.slope_share < 1.0
        assert why.midflame_mps is not None
        assert 0.0 < why.midflame_mps < 6.0 / 1.15


@pytest.mark.derived
def test_an_explanation_splits_wind_and_slope() -> None:
    # wind straight down a slope holds the head back; on level ground the slope has no share
    level = explain(_flat(), _weather(), START, 500_075.0, 5_199_925.0)
    assert level.slope_share == pytest.approx(0.0, abs=1e-9)
    assert level.wind_share is not None
    assert level.wind_share > 0.5
    steep = _tilted(0.0, 0.8)
    down = explain(steep, _weather((1.0,), (0.0,)), START, 500_105.0, 5_199_895.0)
    assert down.toward_deg == pytest.approx(0.0, abs=0.01) or down.toward_deg == pytest.approx(
        360.0, abs=0.01
    )
    assert down.wind_share is not None
    assert down.wind_share < 0.0


@pytest.mark.behaviour
def test_an_explanation_of_water_unknown_and_outside() -> None:
    fuel = np.full((5, 5), 2)
    fuel[2, 2], fuel[1, 1] = 98, -1
    ground = _flat(fuel)
    water = explain(ground, _weather(), START, 500_075.0, 5_199_925.0)
    assert (water.fuel_code, water.rate_mps, water.toward_deg) == ("NB8", 0.0, None)
    with pytest.raises(LookupError, match="unknown"):
        explain(ground, _weather(), START, 500_045.0, 5_199_955.0)
    with pytest.raises(LookupError, match="off the ground"):
        explain(ground, _weather(), START, 0.0, 0.0)


@pytest.mark.behaviour
def test_a_number_that_is_none_never_leaves_in_silence(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: Any) -> Cells:
        cells = cells_of(*args)
        slope = cells.slope_tan.copy()
        slope[2, 2] = np.nan
        return replace(cells, slope_tan=slope)

    monkeypatch.setattr(over_ground, "cells_of", broken)
    with pytest.raises(SolverError, match="no number in 1 cells"):
        _fields(_flat(), _weather())


@pytest.mark.derived
def test_wind_bent_by_terrain_acts_as_the_same_wind_blowing_everywhere() -> None:
    """Half as fast again and turned by a right angle: the response and the table must say the same."""
    ground = _ground(np.tile(np.arange(0.0, 60.0, 10.0), (6, 1)))
    end = START + timedelta(hours=1)
    quarter_turn = 1.5 * np.array([[0.0, 1.0], [-1.0, 0.0]], np.float32)
    response = np.broadcast_to(quarter_turn, (*ground.grid.shape, 2, 2)).copy()
    bent = TerrainWind(grid=ground.grid, response=response)
    ours = fire_fields(ground, _weather((4.0,), (270.0,)), start=START, until=end, wind=bent)
    theirs = fire_fields(ground, _weather((6.0,), (0.0,)), start=START, until=end)
    np.testing.assert_allclose(ours.head_rate_mps, theirs.head_rate_mps, rtol=1e-5)
    np.testing.assert_allclose(ours.eccentricity, theirs.eccentricity, atol=1e-5)
    off = (ours.head_toward_deg - theirs.head_toward_deg + 180.0) % 360.0 - 180.0
    assert np.abs(off[ours.head_rate_mps > 0.0]).max() < 0.01
