"""Counting futures: chances, bands, and the word for the race."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, norm

from wetline.attack import Outcome, Sample, chance_band, futures, state_of
from wetline.attack.race import band_of, race_of


def outcome(number: int, *open_m: float, edge_m: float = 5000.0) -> Outcome:
    samples = [Sample(900.0 * i, edge_m, edge_m - o, 0.0, 0.0) for i, o in enumerate(open_m)]
    return Outcome(future=number, samples=samples)


@pytest.mark.derived
@given(st.integers(1, 200), st.data())
def test_the_band_of_a_chance_is_wilsons_interval(of: int, data: st.DataObject) -> None:
    """Wilson 1927, as scipy computes it."""
    count = data.draw(st.integers(0, of))
    expected = binomtest(count, of).proportion_ci(0.8, method="wilson")
    low, high = chance_band(count, of)
    assert low == pytest.approx(expected.low, abs=1e-9)
    assert high == pytest.approx(expected.high, abs=1e-9)


@pytest.mark.behaviour
def test_no_futures_give_no_band() -> None:
    assert chance_band(0, 0) == (None, None)


@pytest.mark.practice
@pytest.mark.parametrize(
    ("after_an_hour", "word"),
    [([300.0] * 6, "gaining"), ([900.0] * 6, "losing"), ([300.0, 900.0] * 3, "level")],
)
def test_gaining_and_losing_need_the_whole_band(after_an_hour: list[float], word: str) -> None:
    """Open edge now 600 m; the 80 % band of its change over the next hour decides (INTERFACE.md)."""
    played = [outcome(i, 600.0, 600.0, 600.0, 600.0, last) for i, last in enumerate(after_an_hour)]
    assert state_of(played) == word


@pytest.mark.practice
def test_closed_means_nothing_open_now_and_few_futures_tell_nothing() -> None:
    assert state_of([outcome(0, 0.0, 100.0)]) == "closed"
    assert state_of([outcome(0, 600.0, 600.0, 600.0, 600.0, 100.0)]) == "unknown"
    assert state_of([outcome(0)]) == "unknown"


@pytest.mark.property
@given(st.lists(st.floats(0, 1e4), min_size=5, max_size=40))
def test_a_band_holds_its_middle(values: list[float]) -> None:
    band = band_of(values[0], values)
    assert band.low is not None
    assert band.high is not None
    assert band.low <= band.middle <= band.high


@pytest.mark.property
def test_four_futures_give_no_band() -> None:
    assert band_of(1.0, [1.0, 2.0, 3.0, 4.0]).low is None


@pytest.mark.property
def test_the_race_is_the_middle_future_with_everybodys_band() -> None:
    played = [outcome(i, 500.0, 100.0 * i) for i in range(6)]
    first, second = race_of(played)
    assert (first.open.middle, second.open.middle) == (500.0, 0.0)
    assert second.open.high == pytest.approx(np.quantile([0, 100, 200, 300, 400, 500], 0.9))


@pytest.mark.property
@given(st.integers(0, 2**31), st.integers(1, 30))
def test_a_seed_gives_the_same_futures_however_many_are_asked_for(seed: int, members: int) -> None:
    """Common random numbers: member 3 of 5 is member 3 of 50."""
    few, many = futures(members, seed), futures(members + 7, seed)
    assert few == many[: members + 1]
    assert few[0].variation.wind_factor == 1.0
    assert few[0].arrives(50).all()


@pytest.mark.derived
def test_hold_times_spread_as_their_table_does() -> None:
    """Water 20 min (10 to 40), an 80 % band: half to twice, so sigma = ln 2 / z(0.9), by scipy."""
    factors = np.array([f.hold_factor for f in futures(4000, 3)[1:]])
    assert np.log(factors).std() == pytest.approx(np.log(2.0) / norm.ppf(0.9), rel=0.05)
    low, high = np.quantile(factors, [0.1, 0.9])
    assert (low, high) == (pytest.approx(0.5, rel=0.06), pytest.approx(2.0, rel=0.06))
