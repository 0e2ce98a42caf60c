"""Dead fuel by lagged equilibrium: published pieces, and the way sun, shade, cloud, wind and rain push it."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pvlib import atmosphere, irradiance

from wetline.errors import InputError, OutsideRangeError
from wetline.weather import (
    Weather,
    equilibrium_moisture,
    equilibrium_moisture_simard_1968,
    site_index,
    sun_position,
)
from wetline.weather.equilibrium import (
    clear_sun_w_per_m2,
    fuel_level_air_byram_jemison_1943,
    lagged_pct,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

LON, LAT = 0.0, 43.0  # local sun time is UTC
MIDNIGHT = datetime(2026, 7, 14, tzinfo=UTC)


def _weather(hours: int = 48, **columns: Any) -> Weather:
    given: dict[str, Any] = {
        "temperature_c": 25.0,
        "humidity_pct": 40.0,
        "wind_mps": 3.0,
        "rain_mm": 0.0,
        "cloud_pct": 0.0,
        **columns,
    }

    def column(name: str) -> NDArray[np.float64]:
        return np.broadcast_to(np.asarray(given[name], float), hours).copy()

    return Weather(
        time_s=MIDNIGHT.timestamp() + 3600.0 * np.arange(hours, dtype=np.float64),
        wind_from_deg=np.zeros(hours),
        gust_mps=np.full(hours, np.nan),
        visibility_m=np.full(hours, np.nan),
        elevation_m=500.0,
        temperature_c=column("temperature_c"),
        humidity_pct=column("humidity_pct"),
        wind_mps=column("wind_mps"),
        rain_mm=column("rain_mm"),
        cloud_pct=column("cloud_pct"),
    )


def _site(
    aspect_deg: float, slope_tan: float, *, shaded: bool = False, above_m: float = 0.0, lat: float = LAT
) -> int:
    return int(site_index(aspect_deg, slope_tan, shaded, above_m, southern=lat < 0.0))


def _one_h(weather: Weather, site: int, *, lat: float = LAT) -> NDArray[np.float64]:
    return equilibrium_moisture(weather, LON, lat).pct[:, 0, site]


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@pytest.mark.published
@pytest.mark.parametrize(
    ("humidity_pct", "at_50f", "at_70f", "at_90f"),
    [
        (5, 1.293, 1.235, 1.178),
        (10, 3.089, 2.794, 2.498),
        (20, 4.690, 4.395, 4.099),
        (30, 6.291, 5.996, 5.700),
        (50, 9.938, 9.588, 9.238),
        (70, 13.280, 12.790, 12.300),
        (90, 21.074, 20.444, 19.814),
    ],
)
def test_equilibrium_moisture(humidity_pct: float, at_50f: float, at_70f: float, at_90f: float) -> None:
    # Simard 1968, equations as printed at wikifire.wsl.ch; values to half the last digit
    temperatures = [_celsius(f) for f in (50.0, 70.0, 90.0)]
    found = equilibrium_moisture_simard_1968(temperatures, np.full(3, float(humidity_pct)))
    assert found == pytest.approx(np.array([at_50f, at_70f, at_90f]), abs=5.1e-4)
    assert equilibrium_moisture_simard_1968(temperatures[0], humidity_pct) == pytest.approx(
        at_50f, abs=5.1e-4
    )


@pytest.mark.memory
@pytest.mark.parametrize(("wind_mph", "warmer_f"), [(0.0, 38.46), (4.0, 11.63), (10.0, 5.68)])
def test_fuel_in_the_sun_is_warmer_than_the_air(wind_mph: float, warmer_f: float) -> None:
    # Byram and Jemison 1943, equation from memory: 1 cal/cm²/min over 0.015 U + 0.026
    sun = 4.184e4 / 60.0
    warm_c, humidity = fuel_level_air_byram_jemison_1943(25.0, 40.0, sun, wind_mph * 0.44704)
    assert (float(warm_c) - 25.0) * 1.8 == pytest.approx(warmer_f, abs=0.006)
    assert float(humidity) == pytest.approx(40.0 * math.exp(-0.033 * warmer_f), rel=3e-4)


@pytest.mark.derived
@pytest.mark.parametrize("warmer_c", [2.0, 5.0, 10.0, 15.0])
def test_the_air_at_the_fuel_keeps_its_vapour(warmer_c: float) -> None:
    """Against the Magnus form (Alduchov and Eskridge 1996) at 25 °C: the fitted exponent is within 6 %."""

    def saturated(t: float) -> float:
        return 610.94 * math.exp(17.625 * t / (243.04 + t))

    sun = warmer_c * 1.8 * 0.026 * 4.184e4 / 60.0
    _, humidity = fuel_level_air_byram_jemison_1943(25.0, 40.0, sun, 0.0)
    kept = 40.0 * saturated(25.0) / saturated(25.0 + warmer_c)
    assert float(humidity) == pytest.approx(kept, rel=0.06)


@pytest.mark.derived
def test_sun_on_slopes_against_a_general_library() -> None:
    # pvlib: projection onto the slope, and the air mass of Kasten and Young 1989
    for hour in (6, 9, 12, 15, 18):
        elevation, azimuth = (float(a) for a in sun_position(MIDNIGHT + timedelta(hours=hour), LON, LAT))
        through = 0.75 ** float(atmosphere.get_relative_airmass(90.0 - elevation, "kastenyoung1989"))
        sky = max(0.271 - 0.294 * through, 0.0) * math.sin(math.radians(elevation))
        for slope in (0.0, 0.15, 0.5):
            for aspect in (0.0, 90.0, 180.0, 270.0):
                tilt = math.degrees(math.atan(slope))
                onto = float(irradiance.aoi_projection(tilt, aspect, 90.0 - elevation, azimuth))
                found = float(clear_sun_w_per_m2(elevation, azimuth, slope, aspect))
                assert found == pytest.approx(1361.0 * (through * max(onto, 0.0) + sky), rel=1e-4)


@pytest.mark.derived
def test_one_timelag_goes_63_per_cent_of_the_way() -> None:
    # the definition of a timelag: 1 − 1/e
    start, end = np.array([20.0, 20.0, 20.0]), np.full(3, 10.0)
    found = lagged_pct(start, end, 10.0, np.array([1.0, 10.0, 100.0]))
    assert found == pytest.approx(10.0 + 10.0 * np.exp([-10.0, -1.0, -0.1]))
    assert 20.0 - found[1] == pytest.approx(6.32, abs=0.005)


@pytest.mark.derived
def test_in_steady_dark_air_every_class_settles_at_the_airs_equilibrium() -> None:
    """At 89° N in midwinter the sun never rises: fuel has the air's own temperature."""
    weather = _weather(72)
    winter = replace(weather, time_s=weather.time_s + 160.0 * 86400.0)
    found = equilibrium_moisture(winter, LON, 89.0)
    expected = float(equilibrium_moisture_simard_1968(25.0, 40.0))
    level = found.pct[:, :, 1::3]
    assert np.allclose(level, expected)
    assert np.allclose(found.pct[:, :, 2::3], expected), "no cooling with height while the sun is down"


@pytest.mark.property
@pytest.mark.parametrize("lat", [43.0, -43.0])
def test_the_sunny_side_is_drier_and_shade_is_damper(lat: float) -> None:
    weather = _weather()
    if lat < 0.0:
        weather = replace(weather, time_s=weather.time_s + 184.0 * 86400.0)  # its own summer
    toward, away = (180.0, 0.0) if lat > 0.0 else (0.0, 180.0)
    sunny, dull = (_one_h(weather, _site(a, 0.5, lat=lat), lat=lat) for a in (toward, away))
    shaded = _one_h(weather, _site(toward, 0.5, shaded=True, lat=lat), lat=lat)
    noon = slice(36, 38)
    assert np.all(sunny[noon] < dull[noon])
    assert np.all(dull[noon] < shaded[noon])
    night = slice(25, 27)
    assert np.allclose(sunny[night], shaded[night], atol=0.4)


@pytest.mark.property
@pytest.mark.parametrize("lat", [43.0, -43.0])
def test_east_dries_first_and_west_stays_dry_longest(lat: float) -> None:
    east, west = (_one_h(_weather(), _site(a, 0.5, lat=lat), lat=lat) for a in (90.0, 270.0))
    assert east[33] < west[33]
    assert west[41] < east[41]


@pytest.mark.property
def test_cloud_and_wind_keep_sunlit_fuel_damper() -> None:
    site, noon = _site(180.0, 0.15), 36
    clear, overcast, windy = (
        float(_one_h(given, site)[noon])
        for given in (_weather(), _weather(cloud_pct=100.0), _weather(wind_mps=12.0))
    )
    assert clear < windy
    assert clear < overcast


@pytest.mark.property
def test_thick_fuel_follows_more_slowly() -> None:
    hour = np.arange(96)
    weather = _weather(96, humidity_pct=50.0 + 30.0 * np.cos(2 * np.pi * hour / 24.0))
    pct = equilibrium_moisture(weather, LON, LAT).pct[48:, :, _site(180.0, 0.15)]
    swing = np.ptp(pct, axis=0)
    assert swing[0] > 1.5 * swing[1] > 3.0 * swing[2] > 0.0


@pytest.mark.property
def test_night_is_damper_than_day_and_has_no_gap() -> None:
    hour = np.arange(48)
    weather = _weather(
        48,
        humidity_pct=55.0 + 30.0 * np.cos(2 * np.pi * hour / 24.0),
        temperature_c=22.0 - 8.0 * np.cos(2 * np.pi * hour / 24.0),
    )
    found = _one_h(weather, _site(180.0, 0.15))
    assert np.all(found[24:29] > 2.0 * found[36])
    assert np.abs(np.diff(found)).max() < 4.0


@pytest.mark.property
def test_rain_wets_thin_fuel_first_and_a_trace_wets_nothing() -> None:
    rain = np.zeros(48)
    rain[30:33] = 2.0
    dry, wet = (equilibrium_moisture(_weather(rain_mm=r), LON, LAT) for r in (0.0, rain))
    site = _site(0.0, 0.15)
    assert np.all(wet.pct[30:, :, site] > dry.pct[30:, :, site])
    after = wet.pct[32, :, site]
    assert 30.0 > after[0] > after[1] > after[2]
    assert after[0] > 27.0
    assert any("0.25 mm or more" in note for note in wet.notes)
    trace = equilibrium_moisture(_weather(rain_mm=0.2), LON, LAT)
    assert np.array_equal(trace.pct, dry.pct)
    assert not any("Rain" in note for note in trace.notes)


@pytest.mark.property
def test_high_ground_is_damper_by_day_and_low_ground_drier() -> None:
    below, level, above = (_one_h(_weather(), _site(180.0, 0.15, above_m=m)) for m in (-400.0, 0.0, 400.0))
    assert below[36] < level[36] < above[36]
    assert below[24] < level[24]
    assert above[25] == pytest.approx(float(level[25]), abs=0.05)


@pytest.mark.property
@given(
    temperature_c=st.floats(-20.0, 50.0),
    humidity_pct=st.floats(0.0, 100.0),
    wind_mps=st.floats(0.0, 30.0),
    cloud_pct=st.one_of(st.just(math.nan), st.floats(0.0, 100.0)),
)
def test_moisture_stays_between_bone_dry_and_saturated(
    temperature_c: float, humidity_pct: float, wind_mps: float, cloud_pct: float
) -> None:
    weather = _weather(
        24, temperature_c=temperature_c, humidity_pct=humidity_pct, wind_mps=wind_mps, cloud_pct=cloud_pct
    )
    found = equilibrium_moisture(weather, LON, LAT).pct
    assert np.all((found > 0.0) & (found < 31.0))


@pytest.mark.behaviour
def test_what_is_assumed_is_said() -> None:
    notes = " ".join(equilibrium_moisture(_weather(10, cloud_pct=math.nan), LON, LAT).notes)
    assert "Simard 1968" in notes
    assert "first 10 h" in notes
    assert "clear sky" in notes


@pytest.mark.behaviour
def test_the_value_of_an_hour_is_found_by_its_time() -> None:
    weather = _weather(5)
    found = equilibrium_moisture(weather, LON, LAT)
    assert np.array_equal(found.at(weather.at(MIDNIGHT + timedelta(hours=3, minutes=20))), found.pct[3])
    other = replace(weather.at(MIDNIGHT), time=MIDNIGHT - timedelta(hours=1))
    with pytest.raises(LookupError, match="no hour"):
        found.at(other)


@pytest.mark.behaviour
def test_weather_that_lacks_a_value_or_is_impossible_is_refused() -> None:
    with pytest.raises(InputError, match="has no humidity_pct"):
        equilibrium_moisture(_weather(3, humidity_pct=[40.0, math.nan, 40.0]), LON, LAT)
    with pytest.raises(OutsideRangeError, match="temperature_c"):
        equilibrium_moisture(_weather(3, temperature_c=[20.0, 75.0, 20.0]), LON, LAT)
    with pytest.raises(OutsideRangeError, match="humidity_pct"):
        equilibrium_moisture(_weather(3, humidity_pct=[40.0, 140.0, 40.0]), LON, LAT)


@pytest.mark.behaviour
def test_rain_that_is_not_given_is_said_to_be_taken_as_none() -> None:
    rain = np.zeros(48)
    assert not any("Rain not given" in n for n in equilibrium_moisture(_weather(), LON, LAT).notes)
    rain[5] = np.nan
    unknown = equilibrium_moisture(_weather(rain_mm=rain), LON, LAT)
    assert any("Rain not given in some hours: taken as none, the driest fuel" in n for n in unknown.notes)
    assert np.array_equal(unknown.pct, equilibrium_moisture(_weather(), LON, LAT).pct)
