"""The day as events: minutes worked out by hand, and limits that no plan may pass."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from circuits.day_maker import make_base, make_class, make_ground, make_limits
from wetline.aircraft import Aircraft, AircraftClass, Rates, Relief, aircraft_classes
from wetline.circuits import Day, Source, plan_day, sources_from, totals_of
from wetline.model import Finding
from wetline.weather import Daylight, TerrainLight, Weather

NOW = datetime(2026, 8, 14, 14, 0, tzinfo=UTC)
SUNSET = NOW + timedelta(hours=5)
LIGHT = Daylight(
    civil_dawn=NOW - timedelta(hours=8.5),
    sunrise=NOW - timedelta(hours=8),
    sunset=SUNSET,
    civil_dusk=SUNSET + timedelta(minutes=30),
)
SKARN = make_base("Skarn", 8000.0, 0.0, "tanker_base", runway_m=2500.0, agents=("retardant",), pits=1)
GROUND = make_ground(bases=(make_base("Halm", -8000.0, 0.0), SKARN))
SOURCES = (
    Source(id="S1", kind="lane", name="Lake", position=(-3000.0, 0.0), length_m=2000.0, clear_m=60.0),
    Source(id="D1", kind="dip", name="Pond", position=(1000.0, 500.0)),
    *sources_from(bases=[SKARN]),
)
KT = 1852.0 / 3600.0


def tern(name: str = "Tern 1", **more: Any) -> Aircraft:
    given_by_hand = {
        "class_id": "twin_engine_scooper", "base": "Halm", "fuel_h": 3.8, "flown_h": 0.0,
        "duty_start": NOW - timedelta(hours=1), "load_l": 6000.0,
    }  # fmt: skip
    return Aircraft(call_sign=name, **{**given_by_hand, **more})


def tanker(name: str = "Rook 1", **more: Any) -> Aircraft:
    return tern(name, **{"class_id": "large_tanker", "base": "Skarn", "agent": "retardant"} | more)


def the_day(*fleet: Aircraft, classes: dict[str, AircraftClass] | None = None, **more: Any) -> Day:
    given_by_hand: dict[str, Any] = {
        "now": NOW, "ground": GROUND, "weather": None, "daylight": LIGHT, "limits": make_limits(),
    }  # fmt: skip
    known = {**aircraft_classes(), **(classes or {})}
    return plan_day(fleet, known, SOURCES, (0.0, 0.0), **{**given_by_hand, **more})


def levels(day: Day, call_sign: str) -> set[tuple[str, str, str | None]]:
    row = next(r for r in day.rows if r.aircraft == call_sign)
    return {(f.code, f.level, f.effect) for f in row.findings}


@pytest.mark.derived
def test_the_first_drop_of_a_scooper_by_hand() -> None:
    """15 min start-up, 5 km to the lake and 3 km back to the fire at 170 kt, and the overhead: 12 s of
    fill, 138 s beside it, and a ninth of those for passes without a drop."""
    day = the_day(tern())
    flight_s = 8000.0 / (170.0 * KT)
    expected_s = 15 * 60 + flight_s + 12 + 138 + 138 / 9
    assert day.rows[0].first_drop is not None
    assert (day.rows[0].first_drop - NOW).total_seconds() == pytest.approx(expected_s, abs=1e-3)


@pytest.mark.derived
def test_loads_follow_each_other_by_the_cycle() -> None:
    """6 km of flight at 170 kt, 2.5 min, and 138/9 s: the minutes of the loads are that far apart."""
    day = the_day(tern())
    times = [load.time.timestamp() for load in day.loads]
    cycle_s = 6000.0 / (170.0 * KT) + 150 + 138 / 9
    steps = np.diff(times)
    assert float(steps[0]) == pytest.approx(cycle_s, abs=1e-3)
    assert np.count_nonzero(np.abs(steps - cycle_s) > 0.01) == len(day.rows[0].leave_for_fuel)


@pytest.mark.derived
def test_the_first_drop_of_a_land_tanker_by_hand() -> None:
    """15 min start-up, 25 min on the ground, 8 min of air overhead and a ninth of it for passes without
    a drop, 8 km at 260 kt."""
    day = the_day(tanker())
    expected_s = (15 + 25 + 8 + 8 / 9) * 60 + 8000.0 / (260.0 * KT)
    assert (day.loads[0].time - NOW).total_seconds() == pytest.approx(expected_s, abs=1e-3)
    assert (day.loads[1].time - day.loads[0].time).total_seconds() == pytest.approx(
        (25 + 8 + 8 / 9) * 60 + 16000.0 / (260.0 * KT), abs=1e-3
    )


@pytest.mark.behaviour
def test_two_tankers_wait_for_one_pit_and_not_for_two() -> None:
    fleet = (tanker("Rook 1"), tanker("Rook 2"))
    one = the_day(*fleet)
    ground = replace(GROUND, bases=replace(GROUND.bases, features=(replace(SKARN, pits=2),)))
    two = plan_day(
        fleet,
        aircraft_classes(),
        sources_from(bases=ground.bases),
        (0.0, 0.0),
        now=NOW,
        ground=ground,
        weather=None,
        daylight=LIGHT,
        limits=make_limits(),
    )
    gap_one = (one.loads[1].time - one.loads[0].time).total_seconds()
    gap_two = (two.loads[1].time - two.loads[0].time).total_seconds()
    assert gap_one == pytest.approx(25 * 60)
    assert gap_two == pytest.approx(60)
    assert len(two.loads) > len(one.loads)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(
    count=st.integers(2, 6),
    fuel_h=st.floats(0.6, 4.0),
    flown_h=st.floats(0.0, 8.0),
    spacing_min=st.floats(0.5, 4.0),
    helicopters=st.integers(0, 2),
)
def test_no_plan_passes_a_limit(
    count: int, fuel_h: float, flown_h: float, spacing_min: float, helicopters: int
) -> None:
    fleet = [tern(f"Tern {i}", fuel_h=fuel_h, flown_h=flown_h) for i in range(count)]
    fleet += [tern(f"Heron {i}", class_id="light_helicopter", fuel_h=1.5) for i in range(helicopters)]
    day = the_day(*fleet, tanker(), limits=make_limits(spacing_min=spacing_min))
    times = [load.time for load in day.loads]
    assert times == sorted(times)
    if len(times) > 1:
        assert min(np.diff([t.timestamp() for t in times])) >= spacing_min * 60 - 1e-3
    for row in day.rows:
        assert row.land_by is not None
        if row.last_drop is not None:
            assert row.landed is not None
            assert row.last_scoop is not None
            assert row.last_drop_by is not None
            assert row.last_scoop < row.last_drop <= SUNSET
            assert row.last_drop <= row.last_drop_by
            assert row.last_drop < row.landed <= row.land_by
        assert row.loads == sum(load.aircraft == row.aircraft for load in day.loads)
    for aircraft, row in zip(fleet, day.rows, strict=False):
        assert aircraft.flown_h is not None
        assert row.flight_h <= 8.0 - aircraft.flown_h + 1e-9


@pytest.mark.behaviour
def test_the_same_day_twice_is_the_same_day() -> None:
    fleet = (tern("Tern 1"), tern("Tern 2"), tanker())
    assert the_day(*fleet) == the_day(*fleet)


@pytest.mark.derived
def test_fuel_sends_an_aircraft_home_above_its_reserve_and_it_comes_back() -> None:
    """1 h on board, 30 min reserve: 30 min of flight after the take-off at 14:15, landing at 14:45 at
    the latest; 30 min on the ground, and the next drop after 15:15 less the minutes not used."""
    day = the_day(tern(fuel_h=1.0))
    row = day.rows[0]
    leave = row.leave_for_fuel[0]
    home = timedelta(seconds=8000.0 / (170.0 * KT) + 5 * 60)
    assert leave + home <= NOW + timedelta(minutes=45)
    cycle = timedelta(seconds=6000.0 / (170.0 * KT) + 150 + 138 / 9)
    assert leave + cycle + home > NOW + timedelta(minutes=45)
    after = next(load.time for load in day.loads if load.time > leave)
    back = timedelta(seconds=8000.0 / (170.0 * KT) + 150 + 138 / 9)
    assert (after - (leave + home + timedelta(minutes=30) + back)).total_seconds() == pytest.approx(
        0, abs=1e-3
    )


@pytest.mark.behaviour
def test_fuel_ends_the_day_where_there_is_no_time_to_take_more() -> None:
    """Fuel for about 40 min of work, an hour before sunset: no time to land, refuel and drop again."""
    light = replace(LIGHT, sunset=NOW + timedelta(minutes=62))
    row = the_day(tern(fuel_h=1.2), daylight=light).rows[0]
    assert row.limited_by == "fuel"
    assert row.leave_for_fuel == ()
    assert row.last_drop is not None
    assert row.last_drop < NOW + timedelta(minutes=57)


@pytest.mark.behaviour
def test_too_little_fuel_is_taken_before_the_first_take_off() -> None:
    row = the_day(tern(fuel_h=0.5)).rows[0]
    assert row.first_drop is not None
    assert NOW + timedelta(minutes=45) < row.first_drop < NOW + timedelta(minutes=55)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("more", "limited_by"),
    [
        ({}, "cut_off"),
        ({"flown_h": 7.0}, "crew_hours"),
        ({"flown_h": 2.0, "flight_limit_h": 3.0}, "crew_hours"),
        ({"duty_start": NOW - timedelta(hours=11)}, "crew_hours"),
        ({"duty_start": NOW - timedelta(hours=6), "duty_limit_h": 9.0}, "crew_hours"),
    ],
)
def test_what_ends_the_day_is_named(more: dict[str, Any], limited_by: str) -> None:
    """8 h flight and 14 h duty a day, or the crew's own rule: 1 h of flight left, or 3 h of duty."""
    row = the_day(tern(**more)).rows[0]
    assert row.limited_by == limited_by
    assert row.landed is not None
    if "flown_h" in more:
        assert 0.85 < row.flight_h <= 1.0
    elif more:
        end = NOW + timedelta(hours=3)
        assert row.crew_hours_end == end
        assert row.land_by == end - timedelta(minutes=10)
        assert end - timedelta(minutes=20) < row.landed <= end - timedelta(minutes=10)


@pytest.mark.derived
def test_the_last_drop_counts_back_from_landing_through_the_flight_home() -> None:
    """Land by sunset itself: 8 km at 170 kt and 5 min to join and land before it."""
    row = the_day(tern(), limits=make_limits(land_after_sunset_min=0.0)).rows[0]
    latest = SUNSET - timedelta(seconds=8000.0 / (170.0 * KT) + 300)
    assert row.limited_by == "land_by"
    assert row.last_drop_by is not None
    assert abs((row.last_drop_by - latest).total_seconds()) < 1e-3
    assert row.last_drop is not None
    assert row.last_drop <= latest


@pytest.mark.behaviour
def test_crew_hours_that_nobody_gave_block_and_are_planned() -> None:
    day = the_day(tern(duty_start=None, flown_h=None, fuel_h=None))
    assert day.rows[0].loads > 20
    assert day.rows[0].crew_hours_end is None
    assert {("duty", "unknown", "blocks"), ("fuel", "unknown", "blocks")} <= levels(day, "Tern 1")
    blocking = [f.message for f in day.rows[0].findings if f.effect == "blocks"]
    assert len(blocking) == 3


@pytest.mark.behaviour
def test_no_fuel_and_no_endurance_known_means_no_load() -> None:
    cls = make_class("twin_engine_scooper")
    bare = replace(cls, quantities={k: q for k, q in cls.quantities.items() if k != "endurance_h"})
    row = the_day(tern(fuel_h=None), classes={bare.id: bare}).rows[0]
    assert (row.loads, row.limited_by) == (0, "fuel")


@pytest.mark.behaviour
def test_hours_used_up_stop() -> None:
    day = the_day(tern(flown_h=8.0, duty_start=NOW - timedelta(hours=15)))
    assert (day.rows[0].loads, day.rows[0].limited_by) == (0, "crew_hours")
    assert ("duty", "stop", None) in levels(day, "Tern 1")


@pytest.mark.behaviour
def test_no_sunset_known_plans_nothing_and_blocks() -> None:
    never = Daylight(civil_dawn=None, sunrise=None, sunset=None, civil_dusk=None)
    for light in (None, never):
        day = the_day(tern(), daylight=light)
        assert day.loads == ()
        assert (day.cut_off, day.land_by, day.rows[0].land_by) == (None, None, None)
        assert day.rows[0].limited_by == "no_daylight"
        assert [(f.code, f.level, f.effect) for f in day.findings] == [("daylight", "unknown", "blocks")]


@pytest.mark.behaviour
def test_a_cut_off_of_the_incident_stands_in_for_a_sunset_and_is_never_later_than_it() -> None:
    until = NOW + timedelta(hours=2)
    day = the_day(tern(), daylight=None, until=until)
    assert day.rows[0].landed is not None
    assert day.rows[0].landed <= until
    assert day.findings[0].level == "unknown"
    assert the_day(tern(), until=until).cut_off == until
    assert the_day(tern(), until=SUNSET + timedelta(hours=1)).cut_off == SUNSET


@pytest.mark.behaviour
def test_after_the_cut_off_nothing_falls() -> None:
    day = the_day(tern(), now=SUNSET + timedelta(minutes=1))
    assert (day.loads, day.rows[0].limited_by) == ((), "cut_off")
    assert day.findings[0].level == "stop"


@pytest.mark.published
def test_nobody_takes_off_before_half_an_hour_before_sunrise() -> None:
    """Interagency single-engine airtanker operations guide (public copy) p. 30: from 30 min before
    official sunrise."""
    sunrise = NOW + timedelta(hours=2)
    light = replace(LIGHT, sunrise=sunrise, sunset=NOW + timedelta(hours=14))
    row = the_day(tern(), daylight=light).rows[0]
    assert row.first_drop is not None
    assert sunrise - timedelta(minutes=30) < row.first_drop < sunrise - timedelta(minutes=20)


@pytest.mark.behaviour
def test_aircraft_start_when_they_are_available() -> None:
    late = NOW + timedelta(hours=2)
    row = the_day(tern(available_from=late)).rows[0]
    assert row.first_drop is not None
    assert late < row.first_drop < late + timedelta(minutes=10)


@pytest.mark.behaviour
def test_an_aircraft_in_the_air_is_counted_from_its_place_if_that_is_known() -> None:
    flying = tern(airborne=True, fuel_h=2.0)
    near = the_day(flying, places={"Tern 1": (-2500.0, 0.0)})
    unplaced = the_day(flying)
    assert near.loads[0].time < unplaced.loads[0].time < the_day(tern()).loads[0].time
    assert ("data_missing", "unknown", "noted") in levels(unplaced, "Tern 1")
    assert ("data_missing", "unknown", "noted") not in levels(near, "Tern 1")


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("aircraft", "limited_by"),
    [
        (tern(out_of_service="oil leak"), "out_of_service"),
        (tern(class_id="supervision"), "supervision"),
        (tern(base="Nowhere"), "no_base"),
        (tanker(agent="gel"), "no_source"),
    ],
)
def test_who_does_not_fly_has_a_row_with_the_reason(aircraft: Aircraft, limited_by: str) -> None:
    day = the_day(aircraft, tern("Tern 9"))
    assert (day.rows[0].loads, day.rows[0].limited_by, day.rows[0].first_drop) == (0, limited_by, None)
    assert day.rows[1].loads > 0


@pytest.mark.behaviour
def test_loads_from_water_that_waits_for_a_look_are_marked() -> None:
    look = Finding(
        code="waves", level="unknown", effect="look", message="Boats?", source="test", refers_to="S1"
    )
    sources = [replace(SOURCES[0], findings=(look,))]
    day = plan_day(
        [tern()],
        aircraft_classes(),
        sources,
        (0.0, 0.0),
        now=NOW,
        ground=GROUND,
        weather=None,
        daylight=LIGHT,
        limits=make_limits(),
    )
    assert day.loads
    assert all(load.look for load in day.loads)
    assert not any(load.look for load in the_day(tern()).loads)


def some_weather(wind_mps: list[float]) -> Weather:
    n = len(wind_mps)
    return Weather(
        time_s=np.array([NOW.timestamp() + 3600.0 * k for k in range(n)]),
        temperature_c=np.full(n, 25.0),
        humidity_pct=np.full(n, 40.0),
        wind_mps=np.array(wind_mps),
        wind_from_deg=np.full(n, 270.0),
        gust_mps=np.full(n, np.nan),
        rain_mm=np.zeros(n),
        cloud_pct=np.full(n, np.nan),
        visibility_m=np.full(n, np.nan),
    )


@pytest.mark.behaviour
def test_circuits_follow_the_hours_and_a_short_table_is_said() -> None:
    long, short = some_weather([0.0, 0.0, 25.0, 25.0, 25.0, 25.0]), some_weather([0.0, 0.0])
    slowed, held = the_day(tern(), weather=long), the_day(tern(), weather=short)
    assert slowed.rows[0].loads < held.rows[0].loads
    assert [f.code for f in held.findings if f.level == "unknown"] == ["data_missing"]
    assert [f.code for f in slowed.findings if f.level == "unknown"] == []


@pytest.mark.behaviour
def test_an_hour_that_cannot_be_flown_brings_everybody_home_before_it() -> None:
    row = the_day(tern(), weather=some_weather([0.0, 0.0, 95.0, 0.0, 0.0, 0.0])).rows[0]
    assert row.limited_by == "wind"
    assert row.landed is not None
    assert row.landed <= NOW + timedelta(hours=2)


@pytest.mark.behaviour
def test_a_tanker_far_from_its_loading_base_flies_there_first() -> None:
    """Stationed at Halm, loading at Skarn 16 km off: a flight, then the load."""
    visiting, at_home = the_day(tanker(base="Halm")), the_day(tanker())
    lag = (visiting.loads[0].time - at_home.loads[0].time).total_seconds()
    assert lag == pytest.approx(16000.0 / (260.0 * KT), abs=1e-3)


@pytest.mark.behaviour
def test_a_tanker_takes_fuel_after_a_reload_when_it_must() -> None:
    """0.8 h on board with 30 min kept: 18 min of flight, one sortie; then 25 + 30 min on the ground."""
    row = the_day(tanker(fuel_h=0.8)).rows[0]
    assert len(row.leave_for_fuel) == 1
    full = the_day(tanker(fuel_h=4.0)).rows[0]
    assert full.loads - row.loads in {0, 1}
    assert full.leave_for_fuel == ()


def relief(hours: float, **more: Any) -> Relief:
    usual: dict[str, Any] = {"available_from": NOW + timedelta(hours=hours), "flown_h": 0.0}
    return Relief(**usual | more)


@pytest.mark.property
@settings(max_examples=30, deadline=None)
@given(
    count=st.integers(1, 4), fuel_h=st.floats(0.7, 4.0), own_l=st.one_of(st.none(), st.floats(3000.0, 6100.0))
)
def test_the_day_adds_up_to_the_litre(count: int, fuel_h: float, own_l: float | None) -> None:
    fleet = [tern(f"Tern {i}", fuel_h=fuel_h, load_l=own_l) for i in range(count)]
    day = the_day(*fleet, tanker())
    totals = totals_of(day)
    assert all(load.litres == int(load.litres) > 0 for load in day.loads)
    assert sum(load.litres for load in day.loads) == sum(row.litres for row in day.rows) == totals.litres
    assert sum(hour.litres for hour in totals.hours) == totals.litres
    assert sum(hour.loads for hour in totals.hours) == totals.loads == len(day.loads)


@pytest.mark.behaviour
def test_relief_lets_a_day_go_on_past_the_hours_of_one_crew() -> None:
    one = the_day(tern(flown_h=6.5)).rows[0]
    two = the_day(tern(flown_h=6.5, relief=(relief(1.0, duty_start=NOW + timedelta(hours=1)),))).rows[0]
    assert (one.limited_by, two.limited_by) == ("crew_hours", "cut_off")
    assert two.loads > 2 * one.loads
    assert [stop.what for stop in two.stops if "relief" in stop.what] == [("fuel", "relief")]


@pytest.mark.behaviour
def test_a_relief_crew_whose_hours_nobody_gave_blocks_too() -> None:
    row = the_day(tern(relief=(relief(1.0, flown_h=None),))).rows[0]
    blocking = [f.message for f in row.findings if f.effect == "blocks"]
    assert len(blocking) == 2
    assert all("relief crew" in message for message in blocking)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("more", "left_h"),
    [({"flown_7d_h": 41.0}, 1.0), ({"flown_28d_h": 78.0}, 2.0), ({"flown_7d_h": 42.0}, 0.0)],
)
def test_rolling_hours_bound_the_day(more: dict[str, Any], left_h: float) -> None:
    """42 h in 7 days and 80 h in 28, as shipped."""
    row = the_day(tern(**more)).rows[0]
    assert row.flight_h <= left_h
    assert row.limited_by == "crew_hours"
    assert ("duty", "stop", None) in levels(the_day(tern(**more)), "Tern 1") or left_h > 0.0


@pytest.mark.published
def test_rest_under_ten_hours_stops() -> None:
    """PNWCG matrix 2007 (public copy): 10 h rest."""
    assert ("duty", "stop", None) in levels(the_day(tern(rested_h=9.5)), "Tern 1")
    assert ("duty", "stop", None) not in levels(the_day(tern(rested_h=10.0)), "Tern 1")


@pytest.mark.published
def test_terrain_brings_the_last_drop_and_the_landing_forward() -> None:
    """Interagency single-engine airtanker operations guide (public copy) p. 30: 30 min after sunset, adjusted for
    terrain: here 30 min after the sun leaves the place, never later than the rule by official sunset."""

    def shade(place: tuple[float, float]) -> TerrainLight:
        early_h = 2.0 if place == (0.0, 0.0) else 1.5 if place == (-8000.0, 0.0) else 0.0
        return TerrainLight(
            first=LIGHT.sunrise, last=SUNSET - timedelta(hours=early_h), first_known_m=4e4, last_known_m=4e4
        )

    day = the_day(tern(), shade=shade)
    row = day.rows[0]
    assert day.cut_off == SUNSET - timedelta(hours=1.5)
    assert row.land_by == SUNSET - timedelta(hours=1.0)
    assert row.last_drop is not None
    assert row.last_drop <= day.cut_off
    assert {c.what: c.because for c in row.cut_offs}["drop"] == "30 min after the sun leaves the fire"
    late = {c.what: c.time for c in row.cut_offs}
    assert late["launch"] < late["fill"] < late["drop"] < late["landing"]


@pytest.mark.behaviour
def test_cost_counts_what_is_given_and_names_what_is_not() -> None:
    rates = Rates(currency="EUR", source="test", per_flight_hour=1000.0, per_day=500.0)
    with_rates = the_day(tern(rates=rates), tanker(rates=replace(rates, currency="USD")), tern("Tern 2"))
    row = with_rates.rows[0]
    assert row.cost is not None
    assert row.cost.amount == pytest.approx(500.0 + 1000.0 * row.flight_h)
    assert row.cost.missing == ()
    assert with_rates.rows[2].cost is None
    by_currency = {cost.currency: cost for cost in totals_of(with_rates).costs}
    assert by_currency["EUR"].amount == row.cost.amount
    assert by_currency["EUR"].missing == ("Tern 2: all",)
    assert by_currency["USD"].missing == ("Rook 1: a litre of retardant", "Tern 2: all")


@pytest.mark.behaviour
def test_a_base_that_runs_dry_ends_the_day_of_its_tankers() -> None:
    dry = replace(SKARN, stock_l=40_000.0)
    ground = replace(GROUND, bases=replace(GROUND.bases, features=(*GROUND.bases.features[:1], dry)))
    day = plan_day(
        [tanker()],
        aircraft_classes(),
        sources_from(bases=[dry]),
        (0.0, 0.0),
        now=NOW,
        ground=ground,
        weather=None,
        daylight=LIGHT,
        limits=make_limits(),
    )
    row = day.rows[0]
    assert (row.loads, row.litres, row.limited_by) == (6, 36_000.0, "no_agent")
