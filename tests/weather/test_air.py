from datetime import UTC, datetime

import psychrolib
import pytest
from ambiance import Atmosphere
from hypothesis import given
from hypothesis import strategies as st

from wetline.errors import OutsideRangeError
from wetline.weather import (
    Hour,
    air_density_kg_per_m3,
    density_altitude_at,
    density_altitude_m,
    density_ratio,
    standard_pressure_pa,
)

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.derived
@pytest.mark.parametrize("height_m", [-500.0, 0.0, 800.0, 1500.0, 3000.0, 6000.0, 10900.0])
def test_standard_atmosphere_is_that_of_a_general_library(height_m: float) -> None:
    # ambiance: ISO 2533 / ICAO Doc 7488
    standard = Atmosphere(height_m)
    assert standard_pressure_pa(height_m) == pytest.approx(float(standard.pressure[0]), rel=1e-6)
    assert density_ratio(height_m) == pytest.approx(float(standard.density[0]) / 1.225, rel=1e-5)
    standard_c = float(standard.temperature_in_celsius[0])
    if standard_c > -40.0:
        dry = air_density_kg_per_m3(standard_pressure_pa(height_m), standard_c, 0.0)
        assert dry == pytest.approx(float(standard.density[0]), rel=1e-5)
        assert density_altitude_m(height_m, standard_c) == pytest.approx(height_m, abs=0.2)


@pytest.mark.published
def test_sea_level_density_of_the_standard_atmosphere() -> None:
    # ISO 2533:1975: 101 325 Pa, 15 °C, 1.225 kg/m³
    assert standard_pressure_pa(0.0) == 101325.0
    assert air_density_kg_per_m3(101325.0, 15.0, 0.0) == pytest.approx(1.225, abs=5e-5)


@pytest.mark.derived
@pytest.mark.parametrize("temperature_c", [-10.0, 5.0, 20.0, 35.0, 45.0])
@pytest.mark.parametrize("humidity_pct", [0.0, 15.0, 60.0, 100.0])
def test_moist_air_is_that_of_a_general_library(temperature_c: float, humidity_pct: float) -> None:
    # psychrolib: ASHRAE Handbook of Fundamentals 2017, ch. 1
    for pressure_pa in (101325.0, 85000.0):
        ratio = psychrolib.GetHumRatioFromRelHum(temperature_c, humidity_pct / 100.0, pressure_pa)
        expected = psychrolib.GetMoistAirDensity(temperature_c, ratio, pressure_pa)
        # the saturation formula is good to 0.4 %, which is 0.02 % of density at 45 °C
        density = air_density_kg_per_m3(pressure_pa, temperature_c, humidity_pct)
        assert density == pytest.approx(expected, rel=4e-4)


@pytest.mark.practice
def test_density_altitude_follows_the_pilots_rule() -> None:
    # common practice, no source: 120 ft for each °C above standard; a straight line, so near standard only
    assert density_altitude_m(0.0, 25.0) == pytest.approx(10 * 120 * 0.3048, rel=0.05)


@pytest.mark.property
@given(
    st.floats(0.0, 3000.0), st.floats(-10.0, 45.0), st.floats(0.0, 100.0), st.floats(1.0, 5.0)
)  # fmt: skip
def test_heat_height_and_damp_all_raise_density_altitude(
    elevation_m: float, temperature_c: float, humidity_pct: float, step: float
) -> None:
    here = density_altitude_m(elevation_m, temperature_c, humidity_pct)
    assert density_altitude_m(elevation_m, temperature_c + step, humidity_pct) > here
    assert density_altitude_m(elevation_m + step, temperature_c, humidity_pct) > here
    assert here >= density_altitude_m(elevation_m, temperature_c)


@pytest.mark.behaviour
def test_outside_the_atmosphere_s_lowest_layer_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match="11000"):
        standard_pressure_pa(12000.0)
    with pytest.raises(OutsideRangeError):
        air_density_kg_per_m3(101325.0, 20.0, 120.0)
    with pytest.raises(OutsideRangeError):
        air_density_kg_per_m3(101325.0, float("nan"), 20.0)
    with pytest.raises(OutsideRangeError):
        air_density_kg_per_m3(1013.25, 20.0, 20.0)  # hectopascals


@pytest.mark.property
@pytest.mark.parametrize(
    ("elevation_m", "temperature_c", "why"),
    [(None, 20.0, "height"), (10_900.0, 30.0, "elevation_m"), (500.0, 80.0, "temperature_c")],
)
def test_air_that_nothing_can_be_judged_in_is_not_known_and_says_why(
    elevation_m: float | None, temperature_c: float, why: str
) -> None:
    hour = Hour(
        time=datetime(2026, 8, 14, 12, tzinfo=UTC),
        temperature_c=temperature_c,
        humidity_pct=30.0,
        wind_mps=3.0,
        wind_from_deg=250.0,
        gust_mps=None,
        rain_mm=0.0,
        cloud_pct=None,
        visibility_m=None,
    )
    altitude_m, words = density_altitude_at(elevation_m, hour)
    assert altitude_m is None
    assert why in words
    assert density_altitude_at(500.0, None) == (None, "there is no weather for this hour")
