"""Aircraft that share a source and a target, against closed forms of queues and a small simulation."""

from __future__ import annotations

import heapq
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.circuits import repair_shop_rate, share
from wetline.errors import OutsideRangeError


def simulated_rate(cycle_s: float, service_s: float, aircraft: int, *, loads: int = 4000) -> float:
    """Loads per second of aircraft that keep their cycle, at one server: first come, first served."""
    due = [(float(i), i) for i in range(aircraft)]
    heapq.heapify(due)
    free_s = 0.0
    served: list[float] = []
    for _ in range(loads):
        arrive_s, who = heapq.heappop(due)
        free_s = max(free_s, arrive_s) + service_s
        served.append(free_s)
        heapq.heappush(due, (free_s + cycle_s - service_s, who))
    half = loads // 2
    return (loads - 1 - half) / (served[-1] - served[half])


def drawn_rate(away_s: float, service_s: float, aircraft: int, *, loads: int = 40_000) -> float:
    """The same with exponential times."""
    rng = np.random.default_rng(7)
    due = [float(t) for t in rng.exponential(away_s, aircraft)]
    heapq.heapify(due)
    free_s = 0.0
    for _ in range(loads):
        free_s = max(free_s, heapq.heappop(due)) + rng.exponential(service_s)
        heapq.heappush(due, free_s + rng.exponential(away_s))
    return loads / free_s


@pytest.mark.derived
@pytest.mark.parametrize("aircraft", [1, 2, 4, 6, 7, 12])
def test_regular_aircraft_fill_the_source_or_fly_their_cycle(aircraft: int) -> None:
    """The machine-repair problem without chance: N/cycle up to the server's 1/service. 400 s at 60 s: 6 2/3 fit."""
    found = share([400.0] * aircraft, source_spacing_s=60.0, target_spacing_s=0.0)
    assert found.loads_per_s == pytest.approx(min(aircraft / 400.0, 1.0 / 60.0))
    assert found.loads_per_s == pytest.approx(simulated_rate(400.0, 60.0, aircraft), rel=2e-3)
    assert found.bound == ("aircraft" if aircraft <= 6 else "source")


@pytest.mark.derived
def test_who_waits_and_how_long_by_hand() -> None:
    """Ten aircraft of 400 s at one a minute: each is back after 600 s, so waits 200 s; drops every 60 s."""
    found = share([400.0] * 10, source_spacing_s=60.0, target_spacing_s=30.0)
    assert (found.wait_s, found.offset_s, found.slack_s) == pytest.approx((200.0, 60.0, 0.0))
    pair = share([400.0, 400.0], source_spacing_s=60.0, target_spacing_s=60.0)
    assert (pair.wait_s, pair.offset_s, pair.slack_s) == pytest.approx((0.0, 200.0, 140.0))


@pytest.mark.derived
def test_pits_bound_a_base() -> None:
    """Two pits held for 20 min each give six loads an hour."""
    found = share([2400.0] * 5, source_spacing_s=0.0, target_spacing_s=60.0, pits=2, ground_s=1200.0)
    assert found.bound == "pits"
    assert found.loads_per_s * 3600.0 == pytest.approx(6.0)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("aircraft", "away_s", "service_s"), [(1, 340.0, 60.0), (4, 340.0, 60.0), (9, 340.0, 60.0)]
)
def test_exponential_times_follow_the_finite_source_queue(
    aircraft: int, away_s: float, service_s: float
) -> None:
    assert repair_shop_rate(aircraft, away_s, service_s) == pytest.approx(
        drawn_rate(away_s, service_s, aircraft), rel=0.02
    )


@pytest.mark.derived
def test_two_machines_by_hand() -> None:
    """N = 2, service over away r = 1/2: weights 1, 1, 1/2; busy 1.5 of 2.5."""
    assert repair_shop_rate(2, 120.0, 60.0) == pytest.approx(0.6 / 60.0)


@pytest.mark.property
@given(aircraft=st.integers(1, 20), away_s=st.floats(60.0, 3000.0), service_s=st.floats(10.0, 300.0))
def test_chance_never_carries_more_than_regular_aircraft(
    aircraft: int, away_s: float, service_s: float
) -> None:
    regular = share([away_s + service_s] * aircraft, source_spacing_s=service_s, target_spacing_s=0.0)
    assert repair_shop_rate(aircraft, away_s, service_s) <= regular.loads_per_s * (1.0 + 1e-9)


@pytest.mark.property
@given(cycles=st.lists(st.floats(100.0, 4000.0), min_size=1, max_size=8), more=st.floats(100.0, 4000.0))
def test_one_more_aircraft_never_carries_less(cycles: list[float], more: float) -> None:
    few = share(cycles, source_spacing_s=60.0, target_spacing_s=60.0)
    many = share([*cycles, more], source_spacing_s=60.0, target_spacing_s=60.0)
    assert many.loads_per_s >= few.loads_per_s - 1e-12
    assert many.wait_s >= -1e-6


@pytest.mark.behaviour
@pytest.mark.parametrize("cycles", [[], [0.0], [-1.0]])
def test_no_cycle_is_an_error(cycles: list[float]) -> None:
    with pytest.raises(OutsideRangeError, match="cycle"):
        share(cycles, source_spacing_s=60.0, target_spacing_s=60.0)


@pytest.mark.behaviour
def test_no_pit_and_no_spacing_are_errors() -> None:
    with pytest.raises(OutsideRangeError, match="pits"):
        share([400.0], source_spacing_s=60.0, target_spacing_s=60.0, pits=0)
    with pytest.raises(OutsideRangeError, match="spacing"):
        share([400.0], source_spacing_s=math.nan, target_spacing_s=60.0)
    with pytest.raises(OutsideRangeError, match="aircraft"):
        repair_shop_rate(0, 60.0, 60.0)
