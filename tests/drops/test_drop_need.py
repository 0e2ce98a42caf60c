"""The coverage that a fuel and a fire ask for."""

from __future__ import annotations

import math

import pytest

from wetline import tables
from wetline.drops import need, needed_level
from wetline.errors import InputError


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
