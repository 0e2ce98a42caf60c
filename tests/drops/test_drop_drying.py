"""Drying of wet fuel: evaporation against the standard method and a library, flames against geometry."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pyet
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from wetline.drops import Air, airs_from, evaporation_mm_per_h
from wetline.drops.drying import (
    flame_flux_kw_per_m2,
    penman_monteith_w_per_m2,
    taken_by_flame_l_per_m2,
)
from wetline.drops.hold_parameters import drawn
from wetline.errors import OutsideRangeError
from wetline.weather import Weather

LATENT_J_PER_KG = 2.45e6  # FAO-56, at 20 °C; 1.7 % over that at 38 °C
START = datetime(2026, 8, 14, 14, tzinfo=UTC)
HOT = Air(temperature_c=35.0, humidity_pct=20.0, wind_mps=5.0, sun_deg=70.0, cloud_pct=0.0)

airs = st.builds(
    Air,
    temperature_c=st.floats(-10.0, 50.0),
    humidity_pct=st.floats(0.0, 99.0),
    wind_mps=st.floats(0.0, 25.0),
    sun_deg=st.none() | st.floats(-60.0, 90.0),
    cloud_pct=st.none() | st.floats(0.0, 100.0),
)


def weather(*, humidity_pct: float = 25.0, cloud_pct: float = 10.0) -> Weather:
    """Three hours of one afternoon; the second one with the humidity and cloud given."""
    unknown = np.full(3, np.nan)
    return Weather(
        time_s=np.array([START.timestamp() + 3600.0 * k for k in range(3)]),
        temperature_c=np.full(3, 30.0),
        humidity_pct=np.array([25.0, humidity_pct, 25.0]),
        wind_mps=np.full(3, 5.0),
        wind_from_deg=np.full(3, 240.0),
        gust_mps=unknown,
        rain_mm=np.zeros(3),
        cloud_pct=np.array([10.0, cloud_pct, 10.0]),
        visibility_m=unknown,
    )


@pytest.mark.memory
@pytest.mark.parametrize(
    ("available_mj_per_h", "temperature", "humidity", "wind_2m", "mm_per_h"),
    [(1.749 - 0.175, 38.0, 52.0, 3.3, 0.63), (-0.100 + 0.050, 28.0, 90.0, 1.9, 0.00)],
)
def test_evaporation_meets_the_worked_hours_of_the_standard_method(
    available_mj_per_h: float, temperature: float, humidity: float, wind_2m: float, mm_per_h: float
) -> None:
    """FAO-56, example 19 (14-15 h and 2-3 h, 8 m above the sea), recalled; its grass has 70 s/m, 208/u₂ of air."""
    heat = penman_monteith_w_per_m2(
        available_mj_per_h * 1e6 / 3600.0, temperature, humidity, 208.0 / wind_2m,
        pressure_pa=101_200.0, surface_resistance_s_per_m=70.0,
    )  # fmt: skip
    assert float(heat) / LATENT_J_PER_KG * 3600.0 == pytest.approx(mm_per_h, abs=0.011)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("temperature", "humidity", "wind_2m", "net_w", "kpa"),
    [(35.0, 20.0, 5.0, 600.0, 101.3), (20.0, 50.0, 2.0, 200.0, 90.0), (28.0, 90.0, 1.0, 50.0, 101.3),
     (10.0, 80.0, 3.0, -20.0, 80.0)],
)  # fmt: skip
def test_an_open_wet_surface_agrees_with_a_general_library(
    temperature: float, humidity: float, wind_2m: float, net_w: float, kpa: float
) -> None:
    """pyet, Penman-Monteith with (nearly) no surface resistance over its 0.12 m crop: 208/u₂ of air.

    Its psychrometer and latent heat are for fixed temperatures: 0.5 %.
    """
    one = {"rn": net_w * 0.0864, "rh": humidity, "pressure": kpa}
    series = {name: xr.DataArray([value]) for name, value in one.items()}
    air, wind = xr.DataArray([temperature]), xr.DataArray([wind_2m])
    other = pyet.pm(air, wind, **series, r_s=1e-9, clip_zero=False)
    heat = penman_monteith_w_per_m2(net_w, temperature, humidity, 208.0 / wind_2m, pressure_pa=kpa * 1e3)
    mm_per_day = float(heat) / (2.501e6 - 2361.0 * temperature) * 86_400.0
    assert mm_per_day == pytest.approx(float(other[0]), rel=0.005)


@pytest.mark.derived
def test_a_hot_afternoon_dries_about_a_millimetre_an_hour() -> None:
    """35 °C, 20 %, 5 m/s, full sun: about 1 mm/h by a separate estimate by hand."""
    assert evaporation_mm_per_h(HOT)[0] == pytest.approx(1.0, rel=0.3)


@pytest.mark.derived
@pytest.mark.parametrize(("flux", "seconds"), [(20.0, 130.0), (50.0, 53.0)])
def test_radiant_heat_boils_a_litre_off_within_the_derived_times(flux: float, seconds: float) -> None:
    """2640 kJ/kg (Penney et al. 2019): 20 to 50 kW/m² take 1 L/m² in 130 to 50 s."""
    assert float(taken_by_flame_l_per_m2(flux, seconds)) == pytest.approx(1.0, rel=0.02)


@pytest.mark.derived
def test_the_view_of_flames_is_that_of_a_wide_sheet_one_length_away() -> None:
    """The integral of cos·cos/πr² over a sheet 1 high and 400 wide, from ground 1 away, lying flat and facing it."""
    across = np.linspace(-200.0, 200.0, 40_001)
    up = (np.arange(100) + 0.5) / 100.0
    square = across[:, None] ** 2 + up**2 + 1.0
    cell = (across[1] - across[0]) * 0.01 / np.pi
    flat, facing = float((up / square**2).sum() * cell), float((1.0 / square**2).sum() * cell)
    views = drawn("flame_view")
    assert views.min() == pytest.approx(flat, abs=0.01)
    assert views.max() == pytest.approx(facing, abs=0.01)
    assert flat < views[0] < facing


@pytest.mark.derived
def test_flames_send_out_no_more_than_black_flames_of_their_temperature() -> None:
    """Stefan's law at 1090 and 1200 K: 80 and 118 kW/m²."""
    most = drawn("flame_emissive_most_kw_per_m2")
    for kelvin, value in ((1090.0, most[0]), (1200.0, most.max())):
        assert value == pytest.approx(5.670374e-11 * kelvin**4, rel=0.02)
    assert np.all(flame_flux_kw_per_m2(1e5) <= most * drawn("flame_view"))
    assert np.all(flame_flux_kw_per_m2(0.0) == 0.0)


@pytest.mark.property
@given(air=airs, more=st.floats(0.0, 10.0))
def test_more_wind_and_drier_air_never_dry_slower(air: Air, more: float) -> None:
    here = evaporation_mm_per_h(air)
    assert np.all(here >= 0.0)
    windier = replace(air, wind_mps=air.wind_mps + more)
    drier = replace(air, humidity_pct=max(air.humidity_pct - 5.0 * more, 0.0))
    assert np.all(evaporation_mm_per_h(windier) >= here - 1e-12)
    assert np.all(evaporation_mm_per_h(drier) >= here - 1e-12)


@pytest.mark.property
@given(air=airs)
def test_an_unknown_sun_or_cloud_never_dries_slower_than_any_known_one(air: Air) -> None:
    unknown = evaporation_mm_per_h(replace(air, sun_deg=None, cloud_pct=None))
    clear = evaporation_mm_per_h(replace(air, sun_deg=90.0, cloud_pct=0.0))
    assert unknown[0] == clear[0]
    assert np.all(unknown <= clear + 1e-12)
    if clear[0] > 0.0:
        assert unknown.min() < clear.min()


@pytest.mark.derived
def test_at_night_in_saturated_air_nothing_dries() -> None:
    """No energy but what the ground gives back, no room in the air: dew, which is not counted as water."""
    damp = Air(temperature_c=12.0, humidity_pct=100.0, wind_mps=3.0, sun_deg=-20.0, cloud_pct=0.0)
    assert np.all(evaporation_mm_per_h(damp) == 0.0)
    assert evaporation_mm_per_h(replace(damp, sun_deg=30.0))[0] > 0.0


@pytest.mark.derived
def test_sun_is_worth_its_heat() -> None:
    """Between night and the highest sun: at most 1361 W/m² less what is reflected, over 2.43 MJ/kg."""
    night = evaporation_mm_per_h(replace(HOT, sun_deg=-10.0))[0]
    assert 0.5 < evaporation_mm_per_h(HOT)[0] - night < 1361.0 / 2.43e6 * 3600.0
    assert night == pytest.approx(0.35, abs=0.15)  # air alone, 4.5 kPa short and 56 s/m: 0.37 by hand


@pytest.mark.behaviour
def test_airs_follow_the_hours_of_the_table_to_its_end() -> None:
    found = airs_from(weather(cloud_pct=np.nan), START + timedelta(minutes=20), -31.0, 47.0)
    assert [air.cloud_pct for air in found] == [10.0, None, 10.0]
    assert [air.lasts_min for air in found] == [40.0, 60.0, 60.0]  # 20 min of the first are over
    suns = [air.sun_deg or 0.0 for air in found]
    assert suns == sorted(suns, reverse=True)


@pytest.mark.behaviour
def test_rain_counts_from_its_own_hour_and_is_not_known_where_it_is_not_told() -> None:
    rain = np.array([np.nan, 6.0, 0.0])
    found = airs_from(replace(weather(), rain_mm=rain), START + timedelta(minutes=50), -31.0, 47.0)
    assert [(air.rain_mm, air.lasts_min) for air in found] == [(None, 10.0), (6.0, 60.0), (0.0, 60.0)]


@pytest.mark.behaviour
def test_every_temperature_that_a_forecast_may_hold_is_air() -> None:
    """The weather reader takes -50 to 60 °C."""
    assert np.all(evaporation_mm_per_h(replace(HOT, temperature_c=-50.0)) >= 0.0)


@pytest.mark.behaviour
def test_what_the_table_does_not_know_is_no_air() -> None:
    table = weather(humidity_pct=np.nan)
    assert len(airs_from(table, START, -31.0, 47.0)) == 1
    assert airs_from(table, START + timedelta(hours=1), -31.0, 47.0) == ()
    assert airs_from(table, START + timedelta(hours=9), -31.0, 47.0) == ()


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("field", "value"),
    [("humidity_pct", 101.0), ("humidity_pct", np.nan), ("wind_mps", -1.0), ("temperature_c", 95.0),
     ("cloud_pct", 120.0), ("sun_deg", 91.0), ("rain_mm", -1.0)],
)  # fmt: skip
def test_air_that_is_no_air_is_refused(field: str, value: float) -> None:
    with pytest.raises(OutsideRangeError):
        replace(HOT, **{field: value})


@pytest.mark.property
@given(cooler=st.floats(0.0, 20.0))
def test_warmer_air_never_dries_slower_by_day(cooler: float) -> None:
    assert np.all(
        evaporation_mm_per_h(replace(HOT, temperature_c=35.0 - cooler)) <= evaporation_mm_per_h(HOT) + 1e-12
    )
