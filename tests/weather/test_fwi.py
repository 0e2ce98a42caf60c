"""The fire weather codes and indices against the published 49-day series and other published points."""

from __future__ import annotations

import csv
import warnings
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.errors import InputError, OutsideRangeError
from wetline.weather import (
    START_UP,
    Codes,
    DatedCodes,
    NoonWeather,
    Weather,
    advance_day,
    codes_through,
    fwi,
    overwintered_dc,
    season_start,
)

SERIES = list(
    csv.DictReader(Path(__file__).with_name("fwi_series.csv").read_text(encoding="utf-8").splitlines())
)
"""The sample of 13 April to 31 May of Van Wagner and Pickett 1985, Forestry Technical Report 33 (the numbers
read in a public copy, the attribution from memory)."""
SIX = ("ffmc", "dmc", "dc", "isi", "bui", "fwi")
DRY = NoonWeather(temperature_c=25.0, humidity_pct=30.0, wind_mps=4.0, rain_mm=0.0)


def _noon(row: dict[str, str]) -> NoonWeather:
    return NoonWeather(
        temperature_c=float(row["temp_c"]),
        humidity_pct=float(row["rh_pct"]),
        wind_mps=float(row["wind_kmh"]) / 3.6,
        rain_mm=float(row["rain_mm"]),
    )


def _walk(lat_deg: float = 50.0) -> list[dict[str, float]]:
    codes, out = START_UP, []
    for row in SERIES:
        noon = _noon(row)
        codes = advance_day(codes, noon, month=int(row["mth"]), lat_deg=lat_deg)
        isi, bui = fwi.isi(codes.ffmc, noon.wind_mps), fwi.bui(codes.dmc, codes.dc)
        six = (codes.ffmc, codes.dmc, codes.dc, isi, bui, fwi.fwi(isi, bui))
        out.append(dict(zip(SIX, six, strict=True)))
    return out


@pytest.mark.published
@pytest.mark.parametrize("name", SIX)
def test_every_day_of_the_published_series(name: str) -> None:
    # Van Wagner and Pickett 1985, FTR 33, worked example: 49 days, printed to one decimal
    assert len(SERIES) == 49
    for row, found in zip(SERIES, _walk(), strict=True):
        assert found[name] == pytest.approx(float(row[name]), abs=0.05), f"{row['mth']}-{row['day']}"


FULL = """04-13,87.6930,8.5451,19.0140,10.8537,8.4904,10.0964
04-14,86.2476,10.4019,23.5680,8.8376,10.3553,9.2802
04-15,86.9671,11.7983,26.0520,6.5391,11.7392,7.5802
04-16,88.8286,13.1801,28.1760,4.9034,13.1052,6.1582
04-17,89.1015,15.4362,31.4700,12.6306,15.3374,14.8421
04-22,29.8589,10.1447,29.5247,0.0067,10.9141,0.0042
05-07,95.1657,54.4558,102.1347,34.5221,54.2611,52.5542
05-09,62.2307,29.9207,91.8026,1.4088,32.9739,3.0199
05-31,88.4592,16.3420,117.1155,4.4217,24.2311,7.9288"""


@pytest.mark.derived
def test_the_same_days_to_four_decimals() -> None:
    # computed beforehand from the equations of Van Wagner 1987 by other code
    by_day = {f"{int(r['mth']):02d}-{int(r['day']):02d}": f for r, f in zip(SERIES, _walk(), strict=True)}
    for line in FULL.splitlines():
        day, *values = line.split(",")
        for name, value in zip(SIX, values, strict=True):
            assert by_day[day][name] == pytest.approx(float(value), abs=1e-4), (day, name)


def _library() -> Any:
    """A general climate library that computes the same codes; its imports warn of plotting."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import xclim.indices.fire._cffwis as library  # noqa: PLC0415  heavy, and needed here alone
    return library


@pytest.mark.derived
def test_an_independent_library_gives_the_same_series() -> None:
    # xclim 0.62, fire_weather_ufunc's scalar functions chained over the same days
    library = _library()
    f, p, d = 85.0, 6.0, 15.0
    for row, found in zip(SERIES, _walk(), strict=True):
        noon = (float(row[k]) for k in ("temp_c", "rain_mm", "wind_kmh", "rh_pct"))
        t, rain, wind, humidity = noon
        f = float(library._fine_fuel_moisture_code(t, rain, wind, humidity, f))
        p = float(library._duff_moisture_code(t, rain, humidity, int(row["mth"]), 50.0, p))
        d = float(library._drought_code(t, rain, int(row["mth"]), 50.0, d))
        isi = float(library.initial_spread_index(wind, f))
        bui = float(library.build_up_index(p, d))
        theirs = (f, p, d, isi, bui, float(library.fire_weather_index(isi, bui)))
        assert [found[name] for name in SIX] == pytest.approx(theirs, abs=1e-5)


@pytest.mark.derived
@pytest.mark.parametrize("lat_deg", [-40.0, -25.0, 0.0, 25.0, 40.0])
@pytest.mark.parametrize("month", [1, 4, 7, 10])
def test_day_length_by_latitude_as_an_independent_library_takes_it(lat_deg: float, month: int) -> None:
    # xclim 0.62; our table's rows are from memory
    library = _library()
    assert fwi.dmc(30.0, DRY, month=month, lat_deg=lat_deg) == pytest.approx(
        float(library._duff_moisture_code(25.0, 0.0, 30.0, month, lat_deg, 30.0)), abs=1e-9
    )
    assert fwi.dc(200.0, DRY, month=month, lat_deg=lat_deg) == pytest.approx(
        float(library._drought_code(25.0, 0.0, month, lat_deg, 200.0)), abs=1e-9
    )


@pytest.mark.published
@pytest.mark.parametrize(
    ("isi", "bui", "expected"),
    [
        (10, 0, 3.492),
        (1, 20, 0.906),
        (10, 50, 22.241),
        (15, 80, 37.003),
        (20, 100, 49.368),
        (50, 200, 103.265),
    ],
)
def test_fire_weather_index_points(isi: float, bui: float, expected: float) -> None:
    # expectations of a national weather service's post-processing library, read in a public copy
    assert fwi.fwi(isi, bui) == pytest.approx(expected, abs=5e-4)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("wind_kmh", "plain", "fbp"),
    [(0, 4.29, 4.29), (10, 7.10, 7.10), (20, 11.75, 11.75), (40, 32.18, 32.18), (50, 53.26, 42.94),
     (60, 88.15, 47.69), (80, 241.5, 50.7)],
)  # fmt: skip
def test_spread_index_at_ffmc_90(wind_kmh: float, plain: float, fbp: float) -> None:
    # computed beforehand from Van Wagner 1987, eq. 24-26, and ST-X-3 eq. 53a
    assert fwi.isi(90.0, wind_kmh / 3.6) == pytest.approx(plain, abs=0.05 if plain > 100 else 0.0051)
    assert fwi.isi_fbp(90.0, wind_kmh / 3.6) == pytest.approx(fbp, abs=0.05 if wind_kmh == 80 else 0.0051)


@pytest.mark.published
@pytest.mark.parametrize(
    ("autumn", "winter_mm", "carried", "wetting", "least", "expected"),
    [
        (300, 110, 0.75, 0.75, 15, 109.4657),
        (300, 110, 1.0, 0.9, 15, 16.35315),
        (100, 50, 0.75, 0.75, 15, 105.176),
        (1, 550, 0.75, 0.75, 10, 10.0),
    ],
)
def test_overwintered_drought_code(
    autumn: float, winter_mm: float, carried: float, wetting: float, least: float, expected: float
) -> None:
    # expectations in the tests of xclim, read in a public copy
    found = overwintered_dc(autumn, winter_mm, carried=carried, wetting=wetting, least=least)
    assert found == pytest.approx(expected, abs=6e-4)


@pytest.mark.memory
def test_the_season_starts_after_three_warm_noons() -> None:
    # Lawson and Armitage 2008, 12 °C at noon on three days on end, from memory
    assert season_start([12.0, 13.0, 11.9, 12.0, 12.0, 12.0, 3.0]) == 6
    assert season_start([12.0, 12.0, 12.0]) is None


@pytest.mark.memory
def test_daily_severity_rating() -> None:
    # Van Wagner 1987, eq. 31, from memory: 0.0272 · 10^1.77
    assert fwi.dsr(10.0) == pytest.approx(1.6017, abs=1e-4)


@pytest.mark.property
@given(
    code=st.floats(0.0, 101.0),
    temperature_c=st.floats(-20.0, 45.0),
    humidity_pct=st.floats(1.0, 100.0),
    wind_mps=st.floats(0.0, 40.0),
    rain_mm=st.floats(0.0, 100.0),
)
def test_a_code_stays_on_its_scale_and_rain_never_dries(
    code: float, temperature_c: float, humidity_pct: float, wind_mps: float, rain_mm: float
) -> None:
    wet, dry = (
        NoonWeather(temperature_c=temperature_c, humidity_pct=humidity_pct, wind_mps=wind_mps, rain_mm=r)
        for r in (rain_mm, 0.0)
    )
    assert 0.0 <= fwi.ffmc(code, wet) <= fwi.ffmc(code, dry) + 1e-9
    assert fwi.ffmc(code, dry) <= 101.0
    m = fwi.litter_moisture_pct(code)
    assert 250.0 >= fwi.litter_hourly_pct(m, wet) >= fwi.litter_hourly_pct(m, dry) - 1e-9 >= -1e-9
    before = Codes(ffmc=code, dmc=40.0, dc=200.0)
    soaked, dried = (advance_day(before, w, month=7, lat_deg=50.0) for w in (wet, dry))
    assert soaked.dmc <= dried.dmc + 0.1  # the program's form of the code does not invert itself exactly
    assert soaked.dc <= dried.dc + 1e-9


@pytest.mark.property
@given(st.floats(0.1, 249.0))
def test_moisture_and_code_invert_each_other(moisture_pct: float) -> None:
    # but for the hair by which 147.2 misses 250 · 59.5 / 101
    back = fwi.litter_moisture_pct(fwi.ffmc_from_moisture(moisture_pct))
    assert back == pytest.approx(moisture_pct, abs=0.25)


@pytest.mark.derived
def test_hours_dry_the_litter_to_its_equilibrium() -> None:
    # Van Wagner 1987, eq. 4, by hand: 0.942 · 30^0.679 + 11 e^-7 + 0.18 (21.1 − 25)(1 − e^-3.45) = 8.815
    moisture = 60.0
    for _ in range(24 * 20):
        moisture = fwi.litter_hourly_pct(moisture, DRY)
    assert moisture == pytest.approx(8.815, abs=0.01)


@pytest.mark.derived
def test_ten_hours_dry_about_as_much_as_a_day() -> None:
    # 0.581 of the day's equation over 0.0579 of the hour's: 10.03 hours of the same air
    moisture = fwi.litter_moisture_pct(70.0)
    for _ in range(10):
        moisture = fwi.litter_hourly_pct(moisture, DRY)
    assert fwi.ffmc_from_moisture(moisture) == pytest.approx(fwi.ffmc(70.0, DRY), abs=0.1)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "ask",
    [
        lambda: Codes(ffmc=101.5, dmc=6.0, dc=15.0),
        lambda: Codes(ffmc=85.0, dmc=-1.0, dc=15.0),
        lambda: Codes(ffmc=float("nan"), dmc=6.0, dc=15.0),
        lambda: NoonWeather(temperature_c=20.0, humidity_pct=101.0, wind_mps=1.0, rain_mm=0.0),
        lambda: fwi.dmc(6.0, DRY, month=13, lat_deg=50.0),
        lambda: fwi.dc(6.0, DRY, month=7, lat_deg=95.0),
        lambda: fwi.isi(90.0, -1.0),
        lambda: overwintered_dc(300.0, 100.0, carried=0.2),
    ],
)
def test_a_value_off_its_scale_is_refused(ask: Any) -> None:
    with pytest.raises(OutsideRangeError):
        ask()


def _table(first: datetime, hours: int, rain_mm: float = 0.0) -> Weather:
    def every(value: float) -> Any:
        return np.full(hours, value)

    return Weather(
        time_s=first.timestamp() + 3600.0 * np.arange(hours, dtype=np.float64),
        temperature_c=every(25.0),
        humidity_pct=every(30.0),
        wind_mps=every(4.0),
        wind_from_deg=every(270.0),
        gust_mps=every(np.nan),
        rain_mm=every(rain_mm),
        cloud_pct=every(np.nan),
        visibility_m=every(np.nan),
    )


TOLD = DatedCodes(codes=Codes(ffmc=88.0, dmc=40.0, dc=250.0), day=date(2026, 7, 14))
NOON = datetime(2026, 7, 14, 17, tzinfo=UTC)
"""Noon of standard time at 75° W."""
HERE = {"lat_deg": 48.0, "lon_deg": -75.0}


@pytest.mark.practice
def test_a_days_codes_hold_until_the_next_noon_and_are_then_carried_on() -> None:
    table = _table(NOON, 48)
    before, at_noon = NOON + timedelta(hours=23), NOON + timedelta(hours=24)
    found = codes_through(TOLD, table, [NOON - timedelta(hours=6), before, at_noon], **HERE)
    expected = advance_day(TOLD.codes, DRY, month=7, lat_deg=48.0)
    assert found.codes == (TOLD.codes, TOLD.codes, expected)
    assert any("carried on" in note for note in found.notes)


@pytest.mark.practice
def test_hour_by_hour_the_afternoons_code_is_walked_through_the_night() -> None:
    table = _table(NOON, 48)
    told = DatedCodes(codes=TOLD.codes, day=TOLD.day, hourly=True)
    found = codes_through(told, table, [NOON + timedelta(hours=h) for h in (0, 4, 5, 6)], **HERE)
    once = fwi.litter_hourly_pct(fwi.litter_moisture_pct(88.0), DRY)
    walked = [fwi.ffmc_from_moisture(m) for m in (once, fwi.litter_hourly_pct(once, DRY))]
    assert [c.ffmc for c in found.codes] == [88.0, 88.0, *walked]


HOURLY = DatedCodes(codes=TOLD.codes, day=TOLD.day, hourly=True)


def _rainy(table: Weather, hour: int, rain_mm: float) -> Weather:
    rain = table.rain_mm.copy()
    rain[hour] = rain_mm
    return replace(table, rain_mm=rain)


@pytest.mark.practice
@pytest.mark.parametrize("hour", [0, 1, 3])
def test_rain_between_noon_and_the_afternoon_wets_the_hourly_litter(hour: int) -> None:
    """The day's code knows no rain after noon: the walk begins with the first hour of it."""
    table = _rainy(_table(NOON, 24), hour, 10.0)
    hours = [NOON + timedelta(hours=h) for h in (0, hour, hour + 1, hour + 2)]
    found = codes_through(HOURLY, table, hours, **HERE)
    wet = fwi.litter_hourly_pct(fwi.litter_moisture_pct(88.0), replace(DRY, rain_mm=10.0))
    expected = [88.0, 88.0, *(fwi.ffmc_from_moisture(m) for m in (wet, fwi.litter_hourly_pct(wet, DRY)))]
    assert [c.ffmc for c in found.codes] == pytest.approx(expected, abs=1e-9)
    assert found.codes[2].ffmc < 50.0


@pytest.mark.behaviour
def test_hours_before_the_afternoon_are_said_to_stand_still() -> None:
    table = _table(NOON - timedelta(hours=12), 48)
    morning, noon, evening = (NOON + timedelta(hours=h) for h in (-9, 1, 6))
    early = " ".join(codes_through(HOURLY, table, [morning, noon], **HERE).notes)
    assert "stands in every hour" in early
    assert "in the morning fuel is damper" in early
    assert "hour by hour" not in early
    both = " ".join(codes_through(HOURLY, table, [morning, evening], **HERE).notes)
    assert "stands in every hour" in both
    assert "hour by hour" in both
    late = " ".join(codes_through(HOURLY, table, [evening], **HERE).notes)
    assert "stands in every hour" not in late
    assert "hour by hour" in late


@pytest.mark.behaviour
def test_rain_that_the_hourly_code_does_not_know_is_said() -> None:
    table = _table(NOON - timedelta(hours=12), 48)
    morning, evening = NOON - timedelta(hours=6), NOON + timedelta(hours=6)
    assert not any("ain before" in n for n in codes_through(HOURLY, table, [morning, evening], **HERE).notes)
    for rain_mm in (5.0, np.nan):
        wet = codes_through(HOURLY, _rainy(table, 7, rain_mm), [morning, evening], **HERE)
        assert any("Rain before" in note for note in wet.notes), rain_mm
    begins_late = codes_through(HOURLY, _table(NOON + timedelta(hours=2), 24), [evening], **HERE)
    assert any("begins after noon" in note for note in begins_late.notes)
    with pytest.raises(InputError, match="is not given"):
        codes_through(HOURLY, _rainy(table, 13, np.nan), [evening], **HERE)
    with pytest.raises(InputError, match="need the rain"):
        codes_through(HOURLY, _table(NOON + timedelta(hours=5), 24), [evening], **HERE)


@pytest.mark.behaviour
@pytest.mark.parametrize("rain_mm", [5.0, np.nan])
def test_rain_after_the_days_noon_is_said_where_the_days_code_holds(rain_mm: float) -> None:
    asked = [NOON + timedelta(hours=6)]
    assert not any("ain in some" in n for n in codes_through(TOLD, _table(NOON, 24), asked, **HERE).notes)
    wet = codes_through(TOLD, _rainy(_table(NOON, 24), 5, rain_mm), asked, **HERE)
    assert any("before the next noon" in n and "ain" in n for n in wet.notes)


@pytest.mark.behaviour
def test_codes_that_the_table_cannot_carry_are_refused() -> None:
    late = _table(NOON + timedelta(hours=30), 24)
    with pytest.raises(InputError, match="need the rain"):
        codes_through(TOLD, late, [NOON + timedelta(hours=30)], **HERE)
    with pytest.raises(InputError, match="is not given"):
        codes_through(TOLD, _table(NOON, 48, np.nan), [NOON + timedelta(hours=24)], **HERE)
    with pytest.raises(InputError, match="later than"):
        codes_through(TOLD, _table(NOON - timedelta(days=2), 24), [NOON - timedelta(days=1)], **HERE)
