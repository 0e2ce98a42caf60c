"""Chance and minutes of wetted line, and what is said about both."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.drops import hold
from wetline.errors import InputError, OutsideRangeError


@pytest.mark.memory
@pytest.mark.parametrize(
    ("agent", "minutes"), [("water", (20, 10, 40)), ("foam", (35, 15, 60)), ("gel", (60, 30, 120))]
)
def test_minutes_by_agent(agent: str, minutes: tuple[float, float, float]) -> None:
    band = hold(1.0, 500.0, 15.0, agent).minutes
    assert (band.middle, band.low, band.high) == minutes


@pytest.mark.published
def test_retardant_works_until_rain() -> None:
    """Long-term retardant works after its water is gone, the others only while wet (US Forest Service)."""
    assert hold(1.0, 500.0, 15.0, "retardant").minutes.low == math.inf
    assert hold(1.0, 500.0, 15.0, "gel").minutes.high != math.inf


@pytest.mark.derived
@pytest.mark.parametrize(("coverage", "intensity"), [(1.0, 2000.0), (3.0, 5000.0)])
def test_half_of_the_line_holds_where_the_prior_says(coverage: float, intensity: float) -> None:
    """c50 of 1 L/m² at 2 MW/m and 3 L/m² at 5 MW/m, the ends of the derived range."""
    assert hold(coverage, intensity, 20.0, "water").chance.middle == pytest.approx(0.5, abs=0.01)


@pytest.mark.property
@given(coverage=st.floats(0.0, 6.0), intensity=st.floats(0.0, 20_000.0))
def test_more_water_never_holds_worse_and_more_fire_never_better(coverage: float, intensity: float) -> None:
    here = hold(coverage, intensity, 20.0, "water").chance
    assert here.low is not None
    assert here.high is not None
    assert 0.0 <= here.low <= here.middle <= here.high <= 1.0
    assert hold(coverage + 0.5, intensity, 20.0, "water").chance.middle >= here.middle
    assert hold(coverage, intensity * 1.5, 20.0, "water").chance.middle <= here.middle


@pytest.mark.behaviour
def test_a_chance_is_never_called_calibrated() -> None:
    answer = hold(1.0, 500.0, 15.0, "water")
    assert answer.calibrated is False
    assert any("uncalibrated" in note for note in answer.notes)


@pytest.mark.published
def test_a_flame_longer_than_the_line_is_wide_breaches_it() -> None:
    """Wilson 1988 (abstract): a flame as long as a break is wide breaches it by contact."""
    answer = hold(2.0, 5000.0, 2.0, "water")
    assert answer.chance.middle == 0.0
    assert any("longer than the line is wide" in note for note in answer.notes)


@pytest.mark.published
@pytest.mark.parametrize(
    ("intensity", "word"), [(1700.0, None), (2000.0, "probably fails"), (4000.0, "ineffective")]
)
def test_the_published_classes_of_control_are_named(intensity: float, word: str | None) -> None:
    """500 and 1000 Btu/ft/s (Andrews & Rothermel 1982, INT-131)."""
    notes = " ".join(hold(1.0, intensity, 20.0, "water").notes)
    assert (word in notes) if word else ("Control at the head" not in notes)


@pytest.mark.behaviour
def test_what_is_not_known_is_refused() -> None:
    with pytest.raises(InputError):
        hold(1.0, 500.0, 15.0, "milk")
    with pytest.raises(OutsideRangeError):
        hold(math.nan, 500.0, 15.0, "water")
    with pytest.raises(OutsideRangeError):
        hold(1.0, -5.0, 15.0, "water")
