"""The coverage that a fuel and a fire ask for."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline import tables
from wetline.drops import AGENTS, above_canopy_l_per_m2, need, needed_level
from wetline.errors import InputError, OutsideRangeError


@pytest.mark.published
@pytest.mark.parametrize(("model", "level"), [(1, 1), (2, 2), (8, 2), (5, 3), (10, 4)])
def test_levels_read_in_the_drop_guides(model: int, level: float) -> None:
    """MTDC 0057-2802, Table 1: grass, conifer with grass, closed conifer, green brush, heavy litter."""
    assert needed_level(model, 300.0) == level
    assert need(model, 300.0).status == "published"


@pytest.mark.memory
@pytest.mark.parametrize(("model", "level"), [(9, 2), (3, 2), (11, 3), (6, 6), (12, 8), (13, 8)])
def test_levels_from_memory_say_so(model: int, level: float) -> None:
    asked = need(model, 300.0)
    assert asked.level == level
    assert any("from memory" in note for note in asked.notes)


@pytest.mark.practice
@pytest.mark.parametrize(("model", "cool", "hot"), [(1, 1, 2), (2, 2, 3), (5, 3, 4), (10, 4, 6), (13, 8, 10)])
def test_over_500_btu_a_hot_edge_asks_for_one_level_more(model: int, cool: float, hot: float) -> None:
    """Common practice, no source: one contour of the guides more above 1,730 kW/m."""
    assert needed_level(model, 1730.0) == cool
    assert needed_level(model, 1731.0) == hot
    assert need(model, 1731.0).raised


@pytest.mark.property
@pytest.mark.parametrize("unknown", [None, math.nan])
def test_an_unknown_intensity_never_asks_for_less(unknown: float | None) -> None:
    assert needed_level(5, unknown) == needed_level(5, 1e5)
    assert any("not known" in note for note in need(5, unknown).notes)


@pytest.mark.practice
@pytest.mark.parametrize(
    ("number", "nearest"), [(102, 1), (145, 4), (183, 8), (188, 9), (165, 10), (201, 11), (204, 13)]
)
def test_the_forty_take_the_nearest_of_the_thirteen_in_the_open(number: int, nearest: int) -> None:
    asked = need(number, 300.0)
    assert asked.fuel_model == nearest
    assert asked.base_level == need(nearest, 300.0).level
    assert any("nearest of the 13" in note for note in asked.notes)


@pytest.mark.property
def test_every_burnable_model_of_the_forty_has_one_row() -> None:
    shipped = tables.load("fuel/scott_burgan_2005")
    burnable = {int(n) for n in shipped["number"] if n > 100}
    mapped = {int(n) for n in tables.load("drop/need_40")["fuel_model"]}
    assert mapped == burnable
    codes = dict(zip(shipped["number"], shipped["code"], strict=True))
    for row in tables.load("drop/need_40").rows():
        assert codes[row["fuel_model"]] == row["code"]


@pytest.mark.memory
@pytest.mark.parametrize(("model", "band"), [(2, (2, 3)), (3, (2, 3)), (4, (4, 10)), (13, (8, 10))])
def test_the_band_holds_every_level_that_the_guides_print(model: int, band: tuple[float, float]) -> None:
    """Two of three rows printed for model 2; 4 or 6, and >6, for model 4: >6 ends with their last contour."""
    asked = need(model, 300.0)
    assert (asked.level_low, asked.level_high) == band
    assert asked.level_low <= asked.level <= asked.level_high


@pytest.mark.memory
@pytest.mark.parametrize(
    ("intensity", "level"), [(345.0, 3), (347.0, 3), (1730.0, 3), (1731.0, 4), (3459.0, 4), (3460.0, 4)]
)
def test_the_steps_are_those_of_the_hauling_chart(intensity: float, level: float) -> None:
    """346, 1730, 3459 kW/m from memory; one level more above the second is common practice, no source."""
    assert needed_level(5, intensity) == level


@pytest.mark.practice
def test_above_the_last_step_no_coverage_is_promised_to_hold() -> None:
    assert any("no coverage is known to hold a head" in note for note in need(5, 3460.0).notes)
    assert not any("no coverage" in note for note in need(5, 3459.0).notes)


@pytest.mark.property
@given(
    fuel=st.sampled_from([*range(1, 14), 101, 145, 165, 204]),
    cool=st.floats(0.0, 60_000.0),
    hot=st.floats(0.0, 60_000.0),
)
def test_need_never_falls_when_intensity_rises(fuel: int, cool: float, hot: float) -> None:
    less, more = need(fuel, min(cool, hot)), need(fuel, max(cool, hot))
    assert less.level <= more.level
    assert less.level_low <= more.level_low
    assert less.level_high <= more.level_high
    assert more.level_low <= more.level <= more.level_high
    unknown = need(fuel, None)
    assert unknown.level_low <= less.level_low
    assert more.level_high <= unknown.level_high


@pytest.mark.derived
def test_level_two_is_815_millilitres_a_square_metre() -> None:
    """1 US gal/100 ft² = 3.785412 L / 9.290304 m² = 0.4074583 L/m²."""
    assert need(2, 300.0).coverage_l_per_m2.middle == pytest.approx(0.8149, abs=5e-5)


@pytest.mark.practice
def test_every_agent_is_asked_for_the_same_level_and_it_says_so() -> None:
    levels = {need(5, 300.0, agent=agent).level for agent in AGENTS}
    assert len(levels) == 1
    assert any("no source read" in note for note in need(5, 300.0, agent="gel").notes)


@pytest.mark.derived
def test_a_crown_of_leaf_area_two_wants_a_share_more_above_it() -> None:
    """exp(0.25·2) = 1.649; k 0.25 (0.17 to 0.33) fitted to published spray-rig interception."""
    above = above_canopy_l_per_m2(1.0, 2.0)
    assert above.middle == pytest.approx(1.6487, abs=1e-4)
    assert above.low == pytest.approx(1.4049, abs=1e-4)
    assert above.high == pytest.approx(1.9348, abs=1e-4)


@pytest.mark.behaviour
def test_trees_of_unknown_leaf_area_leave_the_need_above_them_unknown() -> None:
    under = need(8, 300.0, canopy_m=20.0)
    assert under.above_canopy_l_per_m2 is None
    assert any("leaf area is not known" in note for note in under.notes)
    known = need(8, 300.0, canopy_m=20.0, leaf_area=2.0)
    assert known.above_canopy_l_per_m2 is not None
    assert known.above_canopy_l_per_m2.middle > known.coverage_l_per_m2.middle


@pytest.mark.behaviour
def test_a_leaf_area_or_intensity_that_cannot_be_is_refused() -> None:
    with pytest.raises(OutsideRangeError):
        need(8, 300.0, leaf_area=-1.0)
    with pytest.raises(OutsideRangeError):
        need(8, -1.0)
    with pytest.raises(InputError, match="unknown agent"):
        need(8, 300.0, agent="slurry")


@pytest.mark.behaviour
@pytest.mark.parametrize("number", [91, 92, 93, 98, 99])
def test_bare_ground_is_told_that_it_does_not_burn(number: int) -> None:
    with pytest.raises(InputError, match="does not burn"):
        need(number, 300.0)


@pytest.mark.behaviour
@pytest.mark.parametrize("number", [-1, 0, 14, 91, 98, 999])
def test_unknown_and_bare_ground_have_no_level(number: int) -> None:
    with pytest.raises(InputError, match="no coverage level"):
        need(number, 300.0)


@pytest.mark.practice
@pytest.mark.parametrize("intensity", [0.0, 300.0, 50_000.0, None])
def test_a_fuel_that_no_guide_names_is_given_the_heaviest_level_and_said(intensity: float | None) -> None:
    # unknown counts as the worst: common practice, no source
    asked = need(None, intensity)
    heaviest = max(needed_level(model, 50_000.0) for model in range(1, 14))
    assert asked.level == heaviest
    assert (asked.fuel_model, asked.status) == (None, "unknown")
    assert any("No drop guide" in note for note in asked.notes)
    beyond = any("no coverage is known to hold a head" in note for note in asked.notes)
    assert beyond == (intensity == 50_000.0)
