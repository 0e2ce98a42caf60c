"""Sun over terrain: level ground keeps the official times, a wall hides the sun when it stands that low."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pvlib import spa

from wetline.grid import Grid, Projection
from wetline.weather import daylight, skyline, terrain_light

CRS = "EPSG:32625"
EAST_M, NORTH_M, CELL_M, CELLS = 500_000.0, 4_500_000.0, 100.0, 241  # on the middle meridian of the zone
HALF_M = CELL_M * CELLS / 2
GRID = Grid(Projection(CRS), EAST_M - HALF_M, NORTH_M + HALF_M, CELL_M, CELLS, CELLS)
PLACE = (EAST_M, NORTH_M)
LON, LAT = (float(v) for v in GRID.projection.to_lonlat(*PLACE))
DAY = daylight(LON, LAT, date(2026, 8, 14), ZoneInfo("Etc/GMT+2"))
X, Y = GRID.xy(*np.mgrid[0:CELLS, 0:CELLS])


@pytest.mark.derived
def test_level_ground_keeps_official_times() -> None:
    light = terrain_light(np.zeros(GRID.shape), GRID, PLACE, DAY)
    assert (light.first, light.last) == (DAY.sunrise, DAY.sunset)
    assert HALF_M - 2 * CELL_M <= light.last_known_m <= 1.1 * HALF_M  # on a slant toward 288°


@pytest.mark.derived
@pytest.mark.parametrize("height_deg", [3.0, 8.0, 15.0])
def test_a_wall_in_the_west_hides_the_sun_when_it_stands_that_low(height_deg: float) -> None:
    """A wall 5 km west, long enough north and south: toward the azimuth of the sun it stands at
    atan(tan h · sin of the angle to the wall). pvlib's sun, refraction in it, less half its diameter of
    16' for the upper limb; the wall sinks by 1.7 m, less than 0.02°."""
    wall_m = 5_000.0 * np.tan(np.radians(height_deg))
    light = terrain_light(np.where(X < EAST_M - 4_950.0, wall_m, 0.0), GRID, PLACE, DAY)
    assert light.last is not None
    assert DAY.sunset is not None
    assert light.first == DAY.sunrise
    unix_s = np.arange(datetime(2026, 8, 14, 16, tzinfo=UTC).timestamp(), DAY.sunset.timestamp(), 5.0)
    _, _, height, _, azimuth, _ = spa.solar_position_numpy(
        unix_s, LAT, LON, 0.0, 1013.25, 15.0, 69.2, 0.5667, numthreads=1
    )
    toward = np.sin(np.radians(azimuth - 180.0))
    top = np.degrees(np.arctan(np.tan(np.radians(height_deg)) * toward))
    expected_s = float(unix_s[np.flatnonzero(height + 16.0 / 60.0 > top)[-1]])
    assert abs(light.last.timestamp() - expected_s) <= 60.0


@pytest.mark.derived
def test_the_skyline_of_a_cone_and_the_sinking_of_far_ground() -> None:
    """A peak of 1,000 m 10 km north: atan((1000 − d²(1 − 0.13)/2R) / d), the sinking 6.8 m with the bent ray."""
    z = np.maximum(1_000.0 - 2.0 * np.hypot(X - EAST_M, Y - NORTH_M - 10_000.0), 0.0)
    line = skyline(z, GRID, PLACE, np.array([0.0, 180.0]))
    sunk_m = 0.87 * 10_000.0**2 / (2 * 6_371_000.0)
    assert line.height_deg[0] == pytest.approx(np.degrees(np.arctan((1_000.0 - sunk_m) / 10_000.0)), abs=0.02)
    assert line.height_deg[1] == 0.0


@pytest.mark.behaviour
def test_ground_that_is_not_known_ends_what_is_known() -> None:
    z = np.zeros(GRID.shape)
    z[:, :40] = np.nan  # from 12.05 km to 8.05 km west
    light = terrain_light(z, GRID, PLACE, DAY)
    assert light.last_known_m < 8_050.0 / np.sin(np.radians(70.0))
    assert light.first_known_m > 11_000.0
    unknown = terrain_light(np.full(GRID.shape, np.nan), GRID, PLACE, DAY)
    assert (unknown.first, unknown.last, unknown.last_known_m) == (None, None, 0.0)


@pytest.mark.property
@settings(max_examples=12, deadline=None)
@given(lower=st.floats(0.0, 800.0), more=st.floats(1.0, 800.0))
def test_a_higher_wall_never_lets_the_sun_stay_longer(lower: float, more: float) -> None:
    lasts = []
    for wall_m in (lower, lower + more):
        light = terrain_light(np.where(X < EAST_M - 4_950.0, wall_m, 0.0), GRID, PLACE, DAY)
        assert light.last is not None
        lasts.append(light.last)
    assert lasts[1] <= lasts[0] <= (DAY.sunset or lasts[0])
