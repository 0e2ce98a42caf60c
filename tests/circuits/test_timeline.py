"""The event loop: closed forms, staggered fuel, relief, stock, and a small loop of its own to compare with."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.aircraft import LoadRule
from wetline.circuits.flights import Crew, Flown, Job, Parts, Times, Way
from wetline.circuits.stock import Stock
from wetline.circuits.timeline import fly

HOUR = 3600.0
RULE = LoadRule(
    most_l=6000.0, full_fuel_l=6000.0, full_fuel_s=4 * HOUR, gain_l_per_s=0.0, limited_by="the tank"
)
PARTS = Parts(
    ground_s=0.0, source_s=60.0, out_s=120.0, target_s=60.0, back_s=120.0, ferry_s=600.0, home_s=900.0,
    off_s=800.0, load=RULE,
)  # fmt: skip
CYCLE_S = 360.0
FRESH = Crew(flight_left_s=math.inf, duty_land_s=math.inf)


def way(name: str = "lane", parts: Parts = PARTS, **more: Any) -> Way:
    usual: dict[str, Any] = {"source": name, "pits": 1, "first_s": 600.0, "times": Times([0.0], [parts])}
    return Way(**usual | more)


def scooper(**more: Any) -> Job:
    usual: dict[str, Any] = {
        "ways": (way(),), "base_fed": False, "ready_s": 0.0, "airborne": False, "fuel_s": 4 * HOUR,
        "full_s": 4 * HOUR, "reserve_s": 1800.0, "refuel_s": 1800.0, "crews": (FRESH,),
    }  # fmt: skip
    return Job(**usual | more)


def tanker(**more: Any) -> Job:
    parts = replace(PARTS, ground_s=1500.0, ferry_s=0.0, home_s=120.0, off_s=0.0)
    return scooper(base_fed=True, ways=(way("base", parts, first_s=0.0, at_home=True),), **more)


def the_day(*jobs: Job, hours: float = 8.0, spacing_s: float = 1.0, **more: Any) -> list[Flown]:
    return fly(jobs, cut_off_s=hours * HOUR, land_s=(hours + 0.5) * HOUR, spacing_s=spacing_s, **more)


def times(flown: Flown) -> list[float]:
    return [drop.time_s for drop in flown.drops]


@pytest.mark.derived
@pytest.mark.parametrize(("count", "spacing_s"), [(1, 60.0), (3, 60.0), (6, 60.0), (9, 60.0), (12, 60.0)])
def test_throughput_of_one_lane_is_the_lesser_of_cycles_and_spacing(count: int, spacing_s: float) -> None:
    """N machines that always take as long, one server: min(N / cycle, 1 / spacing)."""
    job = scooper(fuel_s=math.inf, full_s=None)
    flown = the_day(*[job] * count, hours=10.0, spacing_s=spacing_s)
    drops = sum(2 * HOUR < t <= 8 * HOUR for one in flown for t in times(one))
    assert drops == pytest.approx(6 * HOUR * min(count / CYCLE_S, 1.0 / spacing_s), abs=count)


@pytest.mark.derived
@pytest.mark.parametrize("pits", [1, 2])
def test_throughput_of_pits_is_that_of_the_ground_time(pits: int) -> None:
    """Six tankers, cycle 1,860 s, 1,500 s at the pit: min(6 / 1860, pits / 1500)."""
    job = tanker(fuel_s=math.inf, full_s=None)
    job = replace(job, ways=(replace(job.ways[0], pits=pits),))
    drops = sum(HOUR < t <= 9 * HOUR for one in the_day(*[job] * 6, hours=10.0) for t in times(one))
    assert drops == pytest.approx(8 * HOUR * min(6 / 1860.0, pits / 1500.0), abs=3)


@pytest.mark.derived
def test_fuel_is_counted_to_the_second_on_both_sides() -> None:
    """600 s out, 240 s to the drop, 900 s home, 1,800 s kept: 3,540 s of fuel is one load, one less none."""
    enough, short = (the_day(scooper(fuel_s=fuel_s, full_s=None))[0] for fuel_s in (3540.0, 3540.0 - 1e-3))
    assert (len(enough.drops), enough.limited_by) == (1, "fuel")
    assert (len(short.drops), short.flights_s) == (0, [])


@pytest.mark.derived
@pytest.mark.parametrize(("slack_s", "loads"), [(0.0, 1), (-1e-3, 0)])
def test_duty_and_flight_hours_are_counted_to_the_second_on_both_sides(slack_s: float, loads: int) -> None:
    """600 + 240 + 900 s: the landing of one load."""
    for crew in (
        Crew(flight_left_s=1740.0 + slack_s, duty_land_s=math.inf),
        Crew(flight_left_s=math.inf, duty_land_s=1740.0 + slack_s),
    ):
        flown = the_day(scooper(crews=(crew,)))[0]
        assert (len(flown.drops), flown.limited_by) == (loads, "crew_hours")


def away(flown: Flown) -> list[tuple[float, float]]:
    return [(stay.leave_s, stay.back_s) for stay in flown.stays]


@pytest.mark.behaviour
def test_two_of_a_pair_never_leave_the_line_alone_where_fuel_allows() -> None:
    pair = [scooper(group="Tern"), scooper(group="Tern")]
    one, two = the_day(*pair, hours=14.0)
    assert len(one.stays) >= 3
    assert not any(a < d and c < b for a, b in away(one) for c, d in away(two))
    alone_one, alone_two = the_day(*(replace(job, group=None) for job in pair), hours=14.0)
    assert any(a < d and c < b for a, b in away(alone_one) for c, d in away(alone_two))

    def gap_s(*both: Flown) -> float:
        drops = sorted(t for flown in both for t in times(flown))
        return max(b - a for a, b in pairwise(drops))

    assert gap_s(one, two) <= CYCLE_S + 1.0
    assert gap_s(alone_one, alone_two) > 2000.0


@pytest.mark.behaviour
def test_nobody_leaves_early_if_the_fuel_lasts_to_the_end() -> None:
    one, two = the_day(scooper(group="Tern"), scooper(group="Tern"), hours=3.0)
    assert (one.stays, two.stays) == ([], [])


@pytest.mark.behaviour
def test_a_relief_crew_flies_on_and_keeps_its_own_hours() -> None:
    first = Crew(flight_left_s=2 * HOUR, duty_land_s=math.inf)
    second = Crew(from_s=3 * HOUR, flight_left_s=3 * HOUR, duty_land_s=9 * HOUR)
    flown = the_day(scooper(crews=(first, second), swap_s=1200.0), hours=10.0)[0]
    assert [stay.what for stay in flown.stays if "relief" in stay.what] == [("fuel", "relief")]
    relieved = next(stay for stay in flown.stays if "relief" in stay.what)
    assert relieved.takeoff_s == 3 * HOUR + 1200.0  # it waits for the crew, then changes
    hours = [sum(end - start for start, end, _, crew in flown.flights_s if crew == k) for k in (0, 1)]
    assert hours[0] <= 2 * HOUR
    assert 2.5 * HOUR < hours[1] <= 3 * HOUR
    assert flown.limited_by == "crew_hours"


@pytest.mark.behaviour
def test_a_crew_that_has_reported_takes_over_at_the_next_stop_for_fuel() -> None:
    second = Crew(from_s=HOUR, flight_left_s=math.inf, duty_land_s=math.inf)
    flown = the_day(scooper(crews=(FRESH, second)))[0]
    assert flown.stays[0].what == ("fuel", "relief")
    assert flown.stays[0].leave_s > 2.5 * HOUR


@pytest.mark.derived
def test_a_stretch_of_flying_ends_with_a_break() -> None:
    """2 h at most, 40 min of break: stops no more than 2 h after each take-off."""
    flown = the_day(scooper(flying_s=2 * HOUR, rest_s=2400.0), hours=9.0)[0]
    assert all(end - start <= 2 * HOUR for start, end, _, _ in flown.flights_s)
    assert len(flown.stays) == 3
    assert {stay.takeoff_s - stay.landed_s for stay in flown.stays} == {2400.0}


@pytest.mark.derived
def test_stock_runs_out_and_is_mixed_again() -> None:
    """20,000 L are three loads of 6,000; with 6,000 L mixed an hour, one more each hour from then on."""
    dry = the_day(tanker(), stocks={"base": Stock(20_000.0)})[0]
    assert (len(dry.drops), dry.limited_by) == (3, "no_agent")
    mixed = the_day(tanker(), stocks={"base": Stock(20_000.0, 6_000.0 / HOUR, most_l=20_000.0)}, hours=8.0)[0]
    taken_l, last_s = 6_000.0 * len(mixed.drops), mixed.drops[-1].filled_s - 1500.0
    assert taken_l <= 20_000.0 + 6_000.0 * last_s / HOUR + 1.0
    assert (
        len(mixed.drops) == 10
    )  # (20,000 + 6,000 · t) / 6,000 loads begin by t = 7.6 h, less the tank kept full


@pytest.mark.behaviour
def test_an_aircraft_moves_to_the_alternate_when_a_base_is_dry_or_the_queue_costs_more() -> None:
    near = tanker().ways[0]
    far = way("far", replace(near.times.parts[0], out_s=300.0, back_s=300.0), first_s=500.0)
    both = replace(tanker(), ways=(near, far), hops_s=((0.0, 700.0), (700.0, 0.0)))
    dry = the_day(both, stocks={"base": Stock(13_000.0)})[0]
    assert [drop.way for drop in dry.drops][:4] == [0, 0, 1, 1]
    crowd = the_day(*[both] * 4)
    assert {drop.way for flown in crowd for drop in flown.drops} == {0, 1}
    assert {drop.way for drop in the_day(both)[0].drops} == {0}


@pytest.mark.derived
def test_litres_grow_as_fuel_is_burnt() -> None:
    """5,000 L with 4 h on board and 0.1 L more a second: at the fill 600 + 60 s after take-off 5,066 L."""
    rule = replace(RULE, full_fuel_l=5000.0, gain_l_per_s=0.1)
    flown = the_day(scooper(ways=(way(parts=replace(PARTS, load=rule)),)))[0]
    assert flown.drops[0].litres == 5066.0
    assert flown.drops[1].litres == 5102.0  # one cycle of 360 s later
    assert max(drop.litres for drop in flown.drops) == 6000.0


def plain_step(now: int, until_s: float, lands_s: float, cut_off_s: float) -> tuple[str, float]:
    """After a drop: back to the lane, home for fuel, or home for good; `lands_s`: landed by for fuel."""
    if until_s > cut_off_s:
        return "home", math.inf
    return ("base", now + 900.0 + 1800.0) if until_s + 900.0 > lands_s else ("out", now + 120.0)


def plain_day(count: int, fuel_s: float, spacing_s: float, cut_off_s: float) -> list[list[float]]:
    """The same scoopers by a loop in steps of one second, each a state and the second it ends."""
    lane = target = -1e9
    drops: list[list[float]] = [[] for _ in range(count)]
    state = [("out", 600.0)] * count
    lands_s = [fuel_s - 1800.0] * count
    for now in range(int(cut_off_s) + 1):
        for k, (what, until) in enumerate(state):
            if now < until:
                continue
            if what == "base":
                lands_s[k] = now + 4 * HOUR - 1800.0
                state[k] = ("out", now + 600.0)
            elif what == "out" and now >= lane + spacing_s:
                lane = now
                state[k] = ("fire", now + 240.0)
            elif what == "fire" and now >= target + spacing_s:
                target = now
                drops[k].append(float(now))
                state[k] = plain_step(now, now + 360.0, lands_s[k], cut_off_s)
    return drops


@pytest.mark.derived
@pytest.mark.parametrize(("count", "fuel_h"), [(1, 1.5), (2, 4.0), (4, 2.25)])
def test_the_loop_agrees_with_a_plain_one_second_by_second(count: int, fuel_h: float) -> None:
    flown = the_day(*[scooper(fuel_s=fuel_h * HOUR)] * count, hours=7.0, spacing_s=60.0)
    plain = plain_day(count, fuel_h * HOUR, 60.0, 7 * HOUR)
    for one, other in zip(flown, plain, strict=True):
        assert times(one) == pytest.approx(other, abs=2.0)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(
    fuels_h=st.lists(st.floats(0.5, 4.0), min_size=1, max_size=4),
    flight_h=st.floats(0.5, 8.0),
    duty_h=st.floats(1.0, 12.0),
    relief_h=st.floats(0.5, 10.0),
    stretch_h=st.sampled_from([1.0, 2.0, math.inf]),
    hours=st.floats(1.0, 12.0),
    stock_l=st.floats(0.0, 80_000.0),
    tankers=st.integers(0, 2),
)
def test_nobody_flies_past_a_limit(
    fuels_h: list[float],
    flight_h: float,
    duty_h: float,
    relief_h: float,
    stretch_h: float,
    hours: float,
    stock_l: float,
    tankers: int,
) -> None:
    crews = (
        Crew(flight_left_s=flight_h * HOUR, duty_land_s=duty_h * HOUR),
        Crew(from_s=relief_h * HOUR, flight_left_s=flight_h * HOUR, duty_land_s=(relief_h + duty_h) * HOUR),
    )
    more: dict[str, Any] = {"crews": crews, "flying_s": stretch_h * HOUR, "rest_s": 1800.0, "swap_s": 1200.0}
    jobs = [scooper(fuel_s=h * HOUR, group="Tern", **more) for h in fuels_h]
    jobs += [tanker(**more) for _ in range(tankers)]
    for job, flown in zip(jobs, the_day(*jobs, hours=hours, stocks={"base": Stock(stock_l)}), strict=True):
        assert flown.limited_by is not None
        spent = [0.0, 0.0]
        for start, end, fuel_s, crew in flown.flights_s:
            assert end - start <= fuel_s - job.reserve_s + 1e-6
            assert end <= (hours + 0.5) * HOUR + 1e-6
            assert end <= job.crews[crew].duty_land_s + 1e-6
            assert end - start <= stretch_h * HOUR + 1e-6
            spent[crew] += end - start
        assert max(spent) <= flight_h * HOUR + 1e-6
        assert all(t <= hours * HOUR for t in times(flown))
        assert all(a[1] <= b[0] + 1e-6 for a, b in pairwise(flown.flights_s))
