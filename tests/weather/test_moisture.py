from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.errors import InputError, OutsideRangeError
from wetline.weather import (
    Hour,
    Site,
    Weather,
    corrections_pct,
    dead_moisture,
    live_moisture,
    reference_moisture_pct,
    site_index,
)

HOUR = Hour(
    time=datetime(2026, 7, 14, 13, tzinfo=UTC),
    temperature_c=30.0,
    humidity_pct=22.0,
    wind_mps=5.0,
    wind_from_deg=270.0,
    gust_mps=None,
    rain_mm=0.0,
    cloud_pct=None,
    visibility_m=None,
)


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@pytest.mark.memory
@pytest.mark.parametrize(
    ("fahrenheit", "humidity_pct", "expected"),
    [
        (85, 22, 3),
        (85, 3, 1),
        (100, 32, 4),
        (60, 47, 7),
        (15, 100, 14),
        (115, 100, 12),
        (89.4, 29.6, 5),
        (30, 50, 7),
    ],
)
def test_reference_moisture(fahrenheit: float, humidity_pct: float, expected: float) -> None:
    # Rothermel 1983, INT-143, day table, from memory
    assert reference_moisture_pct(_celsius(fahrenheit), humidity_pct) == expected


@pytest.mark.memory
@pytest.mark.parametrize(
    ("hour", "aspect", "slope", "shaded", "above", "expected"),
    [
        (14.0, 180.0, 0.20, False, 0.0, 0),
        (8.0, 0.0, 0.20, False, 0.0, 3),
        (9.9, 270.0, 0.50, False, -400.0, 4),
        (18.0, 90.0, 0.31, False, 400.0, 6),
        (12.5, 200.0, 0.50, False, 0.0, 1),
        (12.5, 200.0, 0.30, False, 0.0, 0),
        (19.9, 315.0, 0.10, True, 0.0, 5),
        (19.9, 314.0, 0.10, True, 0.0, 4),
        (16.0, 100.0, 0.90, True, 306.0, 5),
        (16.0, 100.0, 0.90, True, 304.0, 4),
    ],
)
def test_correction(
    hour: float, aspect: float, slope: float, shaded: bool, above: float, expected: float
) -> None:
    # Rothermel 1983, INT-143, correction May to July, from memory
    table, notes = corrections_pct(6, hour)
    assert table[int(site_index(aspect, slope, shaded, above))] == expected
    assert notes == ()


@pytest.mark.derived
def test_south_of_the_equator_seasons_and_sunny_sides_swap() -> None:
    # the sun stands in the north there, and January is July
    south, notes = corrections_pct(1, 9.0, southern=True)
    north, _ = corrections_pct(7, 9.0)
    assert notes == ()
    assert np.array_equal(south, north)
    for here, there in ((0.0, 180.0), (90.0, 90.0), (270.0, 270.0), (150.0, 30.0)):
        assert site_index(here, 0.5, False, 0.0, southern=True) == site_index(there, 0.5, False, 0.0)


@pytest.mark.behaviour
@pytest.mark.parametrize(("month", "hour"), [(8, 14.0), (4, 14.0), (12, 12.0), (6, 22.0), (6, 3.0)])
def test_a_step_outside_the_tables_is_said(month: int, hour: float) -> None:
    site = Site(local_hour=hour)
    found = dead_moisture(HOUR, month, False, site=site)
    assert found.notes
    assert all("from memory" in note for note in found.notes)
    assert dead_moisture(HOUR, 6, False, site=replace(site, local_hour=14.0)).notes == ()


@pytest.mark.behaviour
def test_a_reference_value_without_correction_is_said() -> None:
    found = dead_moisture(HOUR, 7, False)
    assert found.one_h == pytest.approx(0.03)
    assert "without correction" in found.notes[0]


@pytest.mark.memory
def test_larger_dead_fuel_holds_one_and_two_points_more() -> None:
    # NWCG PMS 437, rule of thumb, from memory
    found = dead_moisture(HOUR, 7, True, site=Site(local_hour=14.0, aspect_deg=90.0))
    assert (found.one_h, found.ten_h, found.hundred_h) == pytest.approx((0.07, 0.08, 0.09))


@pytest.mark.property
@given(st.floats(-10.0, 45.0), st.floats(0.0, 99.0), st.floats(0.0, 23.99), st.integers(1, 12))
def test_damper_air_never_gives_drier_fuel(
    temperature_c: float, humidity_pct: float, local_hour: float, month: int
) -> None:
    site = Site(local_hour=local_hour)
    here = replace(HOUR, temperature_c=temperature_c, humidity_pct=humidity_pct)
    damper = replace(here, humidity_pct=humidity_pct + 1.0)
    drier, wetter = (dead_moisture(h, month, False, site=site).one_h for h in (here, damper))
    assert 0.01 <= drier <= wetter
    assert dead_moisture(here, month, True, site=site).one_h >= drier


@pytest.mark.behaviour
def test_weather_outside_the_table_or_missing_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match="temperature_c"):
        dead_moisture(replace(HOUR, temperature_c=-20.0), 7, False)
    with pytest.raises(OutsideRangeError, match="humidity_pct"):
        dead_moisture(replace(HOUR, humidity_pct=101.0), 7, False)
    with pytest.raises(InputError, match="has no humidity_pct"):
        dead_moisture(replace(HOUR, humidity_pct=float("nan")), 7, False)
    with pytest.raises(OutsideRangeError, match="month"):
        corrections_pct(13, 12.0)


def _weather(herb: float | None, woody: float | None) -> Weather:
    one = np.zeros(1)
    return Weather(
        time_s=one,
        temperature_c=one,
        humidity_pct=one,
        wind_mps=one,
        wind_from_deg=one,
        gust_mps=one,
        rain_mm=one,
        cloud_pct=one,
        visibility_m=one,
        live_herb_pct=herb,
        live_woody_pct=woody,
    )


@pytest.mark.memory
def test_live_moisture_not_given_is_scenario_l3_and_said() -> None:
    # Scott & Burgan 2005, table 5, from memory
    found = live_moisture(_weather(None, None))
    assert (found.herb, found.woody) == (0.90, 1.20)
    assert len(found.notes) == 2
    assert live_moisture(_weather(60.0, 90.0)).notes == ()


@pytest.mark.behaviour
def test_live_moisture_given_as_a_fraction_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match="live_herb_pct"):
        live_moisture(_weather(0.6, 90.0))
