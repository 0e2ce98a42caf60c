from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pvlib import spa

from wetline.weather import Daylight, daylight, daylight_around, sun_position

# Two general libraries agree on these to 1 s (pvlib 0.16.1 with the SPA of Reda & Andreas 2004, skyfield 1.55
# with DE421): lat, lon, local offset [h], date, civil dawn, sunrise, sunset, civil dusk (UTC; +/- a day).
EVENTS = """\
43.0,23.0,2,2025-07-15,02:28:26,03:02:32,18:05:01,18:39:02
43.0,23.0,2,2025-09-22,03:47:00,04:15:21,16:25:13,16:53:30
43.0,23.0,2,2025-12-21,05:23:36,05:56:03,14:56:14,15:28:41
38.0,24.0,2,2025-07-15,02:42:57,03:13:32,17:46:07,18:16:38
38.0,24.0,2,2025-09-22,03:45:32,04:11:49,16:20:53,16:47:07
38.0,24.0,2,2025-12-21,05:06:49,05:36:22,15:07:55,15:37:28
49.5,-119.5,-8,2025-07-15,11:27:03,12:08:20,+03:59:06,+04:40:12
49.5,-119.5,-8,2025-09-22,13:13:11,13:45:08,+01:54:58,+02:26:50
-35.0,149.0,10,2025-07-15,-20:41:58,-21:09:35,07:10:36,07:38:13
-35.0,149.0,10,2025-12-21,-18:16:45,-18:46:29,09:17:28,09:47:12
""".splitlines()

TOLERANCE_S = 5.0  # 0.01° of the low-accuracy position is 2.4 s of turn, twice that on a slanting path


def _moment(day: date, text: str) -> datetime:
    shift = {"+": 1, "-": -1}.get(text[0], 0)
    clock = datetime.strptime(text.lstrip("+-"), "%H:%M:%S").time()  # noqa: DTZ007  the zone is given below
    return datetime.combine(day + timedelta(days=shift), clock, UTC)


@pytest.mark.published
@pytest.mark.parametrize("row", EVENTS)
def test_events_agree_with_two_general_libraries(row: str) -> None:
    lat, lon, offset, day_text, *times = row.split(",")
    day = date.fromisoformat(day_text)
    found = daylight(float(lon), float(lat), day, timezone(timedelta(hours=int(offset))))
    events = (found.civil_dawn, found.sunrise, found.sunset, found.civil_dusk)
    for event, text in zip(events, times, strict=True):
        assert event is not None
        assert abs((event - _moment(day, text)).total_seconds()) <= TOLERANCE_S


@pytest.mark.derived
@pytest.mark.parametrize(("lat", "lon"), [(47.2, -31.8), (-35.0, 149.0), (64.0, -20.0), (0.0, 100.0)])
def test_position_agrees_with_a_general_library_through_the_year(lat: float, lon: float) -> None:
    # pvlib: the solar position algorithm of Reda & Andreas 2004, good to 0.0003°; 69 s between UT and TT
    unix_s = datetime(2026, 1, 1, tzinfo=UTC).timestamp() + 95000.0 * np.arange(332)
    _, _, _, other_elevation, other_azimuth, _ = spa.solar_position_numpy(
        unix_s, lat, lon, 0.0, 1013.25, 12.0, 69.0, 0.5667, numthreads=1
    )
    elevation, azimuth = sun_position([datetime.fromtimestamp(t, UTC) for t in unix_s], lon, lat)
    assert np.max(np.abs(elevation - other_elevation)) < 0.01
    # near the zenith an azimuth says little: weigh it by the cosine of the height
    turn = (azimuth - other_azimuth + 180.0) % 360.0 - 180.0
    assert np.max(np.abs(turn) * np.cos(np.radians(elevation))) < 0.01


@pytest.mark.derived
def test_midsummer_in_the_north_has_no_civil_night() -> None:
    # 66° N, 15 July: the sun's depression at its lowest is 90 − 66 − 21.5 = 2.5°, above −6°, below −0.83°
    found = daylight(23.0, 66.0, date(2025, 7, 15), ZoneInfo("Europe/Helsinki"))
    assert found.civil_dawn is None
    assert found.civil_dusk is None
    assert found.sunset is not None


@pytest.mark.derived
@pytest.mark.parametrize(("day", "lat"), [(date(2025, 6, 21), 80.0), (date(2025, 12, 21), 80.0)])
def test_polar_day_and_night_have_no_events(day: date, lat: float) -> None:
    # declination ±23.44°: the sun stays over 13° above or under 13° below the horizon at 80° N
    assert daylight(0.0, lat, day, UTC) == Daylight(
        civil_dawn=None, sunrise=None, sunset=None, civil_dusk=None
    )


@pytest.mark.property
@given(
    st.floats(-58.0, 58.0), st.floats(-180.0, 180.0), st.dates(date(2020, 1, 1), date(2035, 12, 31))
)  # fmt: skip
def test_events_come_in_order_and_within_the_local_day(lat: float, lon: float, day: date) -> None:
    tz = timezone(timedelta(hours=round(lon / 15.0)))
    found = daylight(lon, lat, day, tz)
    events = [found.civil_dawn, found.sunrise, found.sunset, found.civil_dusk]
    assert all(e is not None and e.astimezone(tz).date() == day for e in events)
    assert events == sorted(e for e in events if e is not None)


@pytest.mark.memory
@pytest.mark.parametrize("hour", [6, 12, 23])
def test_a_sun_that_sets_after_midnight_sets_after_it_rose(hour: int) -> None:
    """Fairbanks at midsummer, from memory: up at 02:57, down at 00:47 of the next day, by summer time."""
    clock = ZoneInfo("America/Anchorage")
    found = daylight_around(-147.72, 64.84, datetime(2026, 6, 21, hour, 0, tzinfo=clock), clock)
    assert found.sunrise is not None
    assert found.sunset is not None
    minute = timedelta(minutes=2)
    assert abs(found.sunrise - datetime(2026, 6, 21, 2, 57, tzinfo=clock)) < minute
    assert abs(found.sunset - datetime(2026, 6, 22, 0, 47, tzinfo=clock)) < minute


@pytest.mark.behaviour
def test_before_a_late_sunset_the_day_is_still_that_of_the_evening_before() -> None:
    clock = ZoneInfo("America/Anchorage")
    light = daylight_around(-147.72, 64.84, datetime(2026, 6, 22, 0, 20, tzinfo=clock), clock)
    assert light.sunset is not None
    assert light.sunset < datetime(2026, 6, 22, 1, 0, tzinfo=clock)
    dark = daylight_around(-147.72, 64.84, datetime(2026, 6, 22, 1, 30, tzinfo=clock), clock)
    assert dark.sunrise is not None
    assert dark.sunset is not None
    assert datetime(2026, 6, 22, 2, 0, tzinfo=clock) < dark.sunrise < dark.sunset


@pytest.mark.property
@given(
    st.floats(-75.0, 75.0),
    st.floats(-180.0, 180.0),
    st.datetimes(datetime(2024, 1, 1), datetime(2027, 1, 1)),  # noqa: DTZ001  the zone is put in below
    st.integers(-12, 12),
)
def test_by_day_the_daylight_is_that_round_the_moment_whatever_the_clock(
    lat: float, lon: float, when: datetime, zone_h: int
) -> None:
    """Where the sun is up, it rose before and sets after, within a day."""
    tz = timezone(timedelta(hours=zone_h))
    time = when.replace(tzinfo=UTC)
    height = float(sun_position(time, lon, lat)[0])
    found = daylight_around(lon, lat, time, tz)
    if height > -0.5 and found.sunset is not None:
        assert found.sunset >= time
        assert found.sunset - time <= timedelta(days=1)
        assert found.sunrise is None or found.sunrise <= time
    if found.sunrise is not None and found.sunset is not None:
        assert found.sunrise < found.sunset


@pytest.mark.property
@given(st.floats(-58.0, 58.0), st.integers(0, 364))
def test_the_sun_stands_at_the_horizon_when_it_sets(lat: float, day: int) -> None:
    found = daylight(10.0, lat, date(2026, 1, 1) + timedelta(days=day), timezone(timedelta(hours=1)))
    assert found.sunset is not None
    assert float(sun_position(found.sunset, 10.0, lat)[0]) == pytest.approx(-0.8333, abs=0.005)


@pytest.mark.behaviour
def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        sun_position(datetime(2026, 7, 1, 12), 0.0, 45.0)  # noqa: DTZ001  that is the point
