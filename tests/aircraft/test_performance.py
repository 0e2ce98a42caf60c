"""Runs, climb, runway and load in thin air."""

import pytest

from wetline.aircraft import aircraft_classes, climb_gradient, phases, runway_needed_m

TWIN = aircraft_classes()["twin_engine_scooper"]


@pytest.mark.derived
def test_at_sea_level_the_parts_add_up_to_the_length_of_the_table() -> None:
    found = phases(TWIN, 0.0, approach_slope=0.1, climb_slope=0.04)
    assert found is not None
    parts = (found.descent_m, found.settle_m, found.fill_m, found.lift_m, found.climb_m)
    assert sum(parts) == pytest.approx(1500.0)
    assert (found.descent_m, found.climb_m, found.fill_m) == pytest.approx((150.0, 375.0, 410.0))


@pytest.mark.property
@pytest.mark.parametrize("class_id", ["large_tanker", "twin_engine_scooper"])
def test_thin_air_asks_for_more_length_and_gives_less_climb(class_id: str) -> None:
    cls = aircraft_classes()[class_id]
    low, high = (climb_gradient(cls, h, speed_kt=100.0) for h in (0.0, 2000.0))
    assert low is not None
    assert high is not None
    assert high.middle < low.middle
    if (runway := runway_needed_m(cls, 2000.0)) is not None:
        assert runway.middle > cls.value("runway_needed_m")
