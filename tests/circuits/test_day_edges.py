"""Where a day begins and ends: waiting for duty and light, the latest take-off, the flight home."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from circuits.day_maker import make_base, make_ground, make_limits
from wetline.aircraft import Aircraft, Rates, Relief, aircraft_classes
from wetline.circuits import AircraftDay, Source, plan_day, sources_from
from wetline.weather import Daylight, TerrainLight, Weather

NOW = datetime(2026, 6, 20, 3, 0, tzinfo=UTC)
SUNRISE = NOW + timedelta(hours=2)
SUNSET = NOW + timedelta(hours=16)
LIGHT = Daylight(civil_dawn=NOW, sunrise=SUNRISE, sunset=SUNSET, civil_dusk=SUNSET)
HALM = make_base("Halm", 5000.0, 0.0)
SKARN = make_base("Skarn", 40_000.0, 0.0, "tanker_base", runway_m=3500.0, agents=("retardant",), pits=1)
SOURCES = (Source(id="D1", kind="dip", name="Pond", position=(2000.0, 0.0)), *sources_from(bases=[SKARN]))


def plover(**more: Any) -> Aircraft:
    given: dict[str, Any] = {
        "call_sign": "Plover 1", "class_id": "medium_helicopter", "base": "Halm", "fuel_h": 1.0,
        "duty_start": NOW - timedelta(hours=1), "flown_h": 0.0, "load_l": 1000.0,
    }  # fmt: skip
    return Aircraft(**{**given, **more})


def gannet(**more: Any) -> Aircraft:
    tanker: dict[str, Any] = {
        "class_id": "large_tanker",
        "base": "Skarn",
        "agent": "retardant",
        "fuel_h": 4.0,
    }
    return plover(**{**tanker, "load_l": None, **more})


def the_row(aircraft: Aircraft, **more: Any) -> AircraftDay:
    given: dict[str, Any] = {
        "now": NOW, "ground": make_ground(bases=(HALM, SKARN), cell_m=500.0), "weather": None,
        "daylight": LIGHT, "limits": make_limits(),
    }  # fmt: skip
    return plan_day([aircraft], aircraft_classes(), SOURCES, (0.0, 0.0), **{**given, **more}).rows[0]


def windy(*, to_s: float, speed_mps: float, then_mps: float, from_h: float = -1.0) -> Weather:
    """Hours with wind along the flight home, another speed from `to_s` after now on."""
    at_s = NOW.timestamp() + 3600.0 * np.arange(from_h, 30.0, dtype=np.float64)
    speed = np.where(at_s < NOW.timestamp() + to_s, speed_mps, then_mps)
    n = at_s.size
    return Weather(
        time_s=at_s,
        temperature_c=np.full(n, 15.0),
        humidity_pct=np.full(n, 50.0),
        wind_mps=speed,
        wind_from_deg=np.full(n, 90.0),
        gust_mps=np.full(n, np.nan),
        rain_mm=np.zeros(n),
        cloud_pct=np.full(n, np.nan),
        visibility_m=np.full(n, np.nan),
    )


@pytest.mark.behaviour
def test_nobody_takes_off_before_the_duty_of_the_crew() -> None:
    begins = NOW + timedelta(hours=6)
    row = the_row(plover(duty_start=begins))
    assert row.first_drop is not None
    assert begins < row.first_drop < begins + timedelta(minutes=15)


@pytest.mark.behaviour
def test_one_in_the_air_that_waits_for_light_lands_and_has_flown() -> None:
    """The flight home and 5 min of landing count for its crew: of half an hour less is left for loads."""
    row = the_row(plover(airborne=True), limits=make_limits(flight_day_h=0.5))
    assert row.first_drop is not None
    assert row.first_drop > SUNRISE - timedelta(minutes=30)
    on_ground = the_row(plover(), limits=make_limits(flight_day_h=0.5))
    assert row.loads < on_ground.loads


@pytest.mark.behaviour
def test_one_in_the_air_that_holds_for_a_few_minutes_burns_fuel_meanwhile() -> None:
    """The sun allows the first drop 4 min later than it could be: and it leaves for fuel no later."""
    now = SUNRISE + timedelta(hours=1)
    free = the_row(plover(airborne=True), now=now)
    assert free.first_drop is not None
    first = free.first_drop + timedelta(minutes=30 + 4)
    sun = TerrainLight(first=first, last=SUNSET, first_known_m=1e5, last_known_m=1e5)
    late = the_row(plover(airborne=True), now=now, shade=lambda _: sun)
    assert late.first_drop is not None
    assert late.first_drop - free.first_drop == timedelta(minutes=4)
    at_least_a_cycle_s = aircraft_classes()["medium_helicopter"].si("circuit_overhead_min")
    assert (late.leave_for_fuel[0] - free.leave_for_fuel[0]).total_seconds() < at_least_a_cycle_s


@pytest.mark.behaviour
@pytest.mark.parametrize("aircraft", [plover(), gannet()])
def test_the_latest_take_off_leads_to_the_latest_drop(aircraft: Aircraft) -> None:
    """One who is ready at the latest take-off makes one drop by the cut-off; a minute later, none."""
    loads = []
    day = the_row(replace(aircraft, duty_start=NOW + timedelta(hours=8)))
    latest = {cut.what: cut.time for cut in day.cut_offs}
    reload = timedelta(minutes=25 if aircraft.class_id == "large_tanker" else 0)
    for late in (timedelta(seconds=-1), timedelta(minutes=1)):
        now = latest["launch"] + late - reload
        fresh = replace(aircraft, duty_start=now, available_from=now)
        loads.append(the_row(fresh, now=now, limits=make_limits(start_up_min=0.0)).loads)
    assert loads == [1, 0]


@pytest.mark.derived
def test_the_latest_drop_counts_the_flight_home_in_the_wind_before_it() -> None:
    """40 km against 15 m/s that dies down on the hour, 5 min before the last landing: the drop lies before that hour."""
    row = the_row(
        gannet(duty_start=NOW + timedelta(hours=8)),
        weather=windy(to_s=16.0 * 3600.0, speed_mps=15.0, then_mps=0.0),
        limits=make_limits(cut_off_after_sunset_min=30.0, land_after_sunset_min=5.0),
    )
    home_s = 40_000.0 / (aircraft_classes()["large_tanker"].si("cruise_kt") - 15.0) + 5 * 60.0
    assert row.last_drop_by is not None
    assert row.land_by is not None
    assert (row.land_by - row.last_drop_by).total_seconds() >= home_s - 1e-3


@pytest.mark.behaviour
def test_duty_that_nobody_gave_bounds_the_latest_times_as_it_bounds_the_plan() -> None:
    row = the_row(plover(duty_start=None), now=SUNRISE, limits=make_limits(duty_day_h=4.0))
    assert row.crew_hours_end is None
    assert row.land_by == SUNRISE + timedelta(hours=4, minutes=-10)
    assert "taken to begin" in next(cut.because for cut in row.cut_offs if cut.what == "landing")


@pytest.mark.derived
def test_a_ferry_from_high_ground_takes_its_descent() -> None:
    """A base 1,500 m above its water, 4 km away: at 500 ft/min the way down takes 9.8 min, the flight alone 1.4 at 90 kt."""
    ground = make_ground(
        lambda x, _: np.where(x > 5500.0, 1500.0, 0.0), bases=(make_base("Halm", 6000.0, 0.0),)
    )
    low = make_ground(bases=(make_base("Halm", 6000.0, 0.0),))
    limits = make_limits(descent_rate_fpm=500.0)
    high_row = the_row(plover(), now=SUNRISE, ground=ground, limits=limits)
    low_row = the_row(plover(), now=SUNRISE, ground=low, limits=limits)
    assert high_row.first_drop is not None
    assert low_row.first_drop is not None
    later_min = (high_row.first_drop - low_row.first_drop).total_seconds() / 60.0
    assert later_min == pytest.approx(1500.0 / 0.3048 / 500.0 - 4000.0 / 1852.0 / 90.0 * 60.0, abs=0.6)


@pytest.mark.behaviour
def test_flight_hours_of_one_who_oversees_are_missing_in_its_cost() -> None:
    """500 for the day is the least it costs: nobody planned the hours that it flies."""
    rates = Rates(currency="EUR", source="test", per_flight_hour=1000.0, per_day=500.0)
    row = the_row(plover(class_id="supervision", airborne=True, load_l=None, rates=rates))
    assert row.cost is not None
    assert row.cost.amount == 500.0
    assert "flight hours" in row.cost.missing[0]


@pytest.mark.behaviour
def test_weather_that_begins_later_is_used_from_then_on() -> None:
    weather = windy(to_s=0.0, speed_mps=0.0, then_mps=15.0)
    later = windy(from_h=7.0, to_s=0.0, speed_mps=0.0, then_mps=15.0)
    now = SUNRISE + timedelta(hours=1)
    given: dict[str, Any] = {
        "ground": make_ground(bases=(HALM, SKARN), cell_m=500.0), "daylight": LIGHT, "limits": make_limits(),
    }  # fmt: skip
    fleet = [plover(duty_start=now)]
    calm, wind, half = (
        plan_day(fleet, aircraft_classes(), SOURCES, (0.0, 0.0), now=now, weather=hours, **given)
        for hours in (None, weather, later)
    )
    assert wind.rows[0].loads < half.rows[0].loads < calm.rows[0].loads
    assert any("Weather begins at" in finding.message for finding in half.findings)


@pytest.mark.behaviour
def test_ground_not_known_on_the_way_from_the_base_is_said() -> None:
    far = make_base("Halm", 60_000.0, 0.0)
    ground = make_ground(bases=(far,), cell_m=100.0, cells=200)
    row = the_row(plover(fuel_h=2.5), now=SUNRISE, ground=ground)
    assert any("heights between Halm and its work" in finding.message for finding in row.findings)
    near = the_row(plover(), now=SUNRISE)
    assert not any("heights between" in finding.message for finding in near.findings)


def relief(at: datetime, flown_h: float) -> Relief:
    return Relief(available_from=at, duty_start=at, flown_h=flown_h)


@pytest.mark.behaviour
def test_a_relief_crew_without_hours_ends_nobody_s_day() -> None:
    """The crew on board flies on, and one that comes later takes over, as if the tired one had not come."""
    now = SUNRISE
    tired = relief(now + timedelta(hours=1), 8.0)
    fresh = relief(now + timedelta(hours=9), 0.0)
    for crews in ((), (fresh,)):
        rested = the_row(plover(flown_h=2.0, relief=crews), now=now)
        with_tired = the_row(plover(flown_h=2.0, relief=(tired, *crews)), now=now)
        assert with_tired.loads == rested.loads
        assert with_tired.land_by == rested.land_by


@pytest.mark.behaviour
def test_the_landing_goes_by_the_duty_of_a_crew_that_flies() -> None:
    """One that relieves after dark puts off nobody's landing: 14 h of duty less 10 min of shutdown."""
    began = SUNRISE - timedelta(hours=2)
    row = the_row(plover(duty_start=began, relief=(relief(SUNSET + timedelta(hours=2), 0.0),)), now=SUNRISE)
    assert row.land_by == began + timedelta(hours=14, minutes=-10)


@pytest.mark.behaviour
def test_a_bucket_and_a_snorkel_of_one_class_keep_their_own_circuits() -> None:
    given: dict[str, Any] = {
        "now": SUNRISE, "ground": make_ground(bases=(HALM, SKARN), cell_m=500.0), "weather": None,
        "daylight": LIGHT, "limits": make_limits(spacing_min=0.0),
    }  # fmt: skip
    both = [plover(call_sign=way, fill=way) for way in ("bucket", "snorkel")]
    together = plan_day(both, aircraft_classes(), SOURCES, (0.0, 0.0), **given)
    for own, circuit in zip(both, together.circuits, strict=True):
        alone = plan_day([own], aircraft_classes(), SOURCES, (0.0, 0.0), **given)
        assert circuit.cycle_min == alone.circuits[0].cycle_min
        row = next(row for row in together.rows if row.aircraft == own.call_sign)
        assert (row.loads, row.first_drop) == (alone.rows[0].loads, alone.rows[0].first_drop)
    assert together.circuits[0].cycle_min != together.circuits[1].cycle_min
    assert {(load.aircraft, load.fill) for load in together.loads} == {
        ("bucket", "bucket"),
        ("snorkel", "snorkel"),
    }
