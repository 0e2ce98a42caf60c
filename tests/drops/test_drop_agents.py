"""Agents: mix, how long they work, near water, who carries them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline import tables
from wetline.aircraft import FILLS
from wetline.drops import AGENTS, agent_facts, between_waters, carries, concentrate_l, liquid, viscosity_class
from wetline.errors import InputError, OutsideRangeError
from wetline.units import POUND, US_GALLON_L


@pytest.mark.published
def test_only_retardant_works_after_its_water_is_gone() -> None:
    """US Forest Service, general information and definitions of fire chemicals (public copy)."""
    assert [a for a in AGENTS if agent_facts(a).lasts == "until_rain"] == ["retardant"]


@pytest.mark.published
def test_retardant_gel_and_foam_keep_a_buffer_to_water() -> None:
    """US Forest Service aerial delivery rule; interagency single-engine tanker guide, p. 82 (public copies)."""
    assert [a for a in AGENTS if agent_facts(a).near_water == "buffer"] == ["foam", "gel", "retardant"]


@pytest.mark.memory
def test_class_a_foam_is_a_tenth_to_one_percent() -> None:
    mix = agent_facts("foam").mix_pct
    assert (mix.low, mix.high) == (0.1, 1.0)


@pytest.mark.derived
def test_foam_at_three_tenths_of_a_percent_takes_18_litres_for_six_thousand() -> None:
    assert concentrate_l("foam", 6000.0, 0.3).middle == pytest.approx(18.0)
    assert concentrate_l("water", 6000.0).high == 0.0


@pytest.mark.property
@given(load_l=st.floats(50.0, 70_000.0), agent=st.sampled_from(AGENTS))
def test_concentrate_is_part_of_the_load_and_the_usual_mix_lies_in_its_range(
    load_l: float, agent: str
) -> None:
    litres = concentrate_l(agent, load_l)
    assert 0.0 <= (litres.low or 0.0) <= litres.middle <= (litres.high or 0.0) < load_l


@pytest.mark.behaviour
@pytest.mark.parametrize(("load_l", "mix_pct"), [(6000.0, 2.0), (6000.0, 0.01), (0.0, 0.3), (-1.0, None)])
def test_a_mix_or_load_out_of_range_is_refused(load_l: float, mix_pct: float | None) -> None:
    with pytest.raises(OutsideRangeError):
        concentrate_l("foam", load_l, mix_pct)


@pytest.mark.behaviour
def test_an_unknown_agent_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="unknown agent 'slurry'"):
        agent_facts("slurry")


@pytest.mark.memory
@pytest.mark.parametrize(
    ("viscosity", "name"),
    [(1.0, "thin"), (101.0, "low"), (400.0, "low"), (401.0, "medium"), (800.0, "medium"), (1500.0, "high")],
)
def test_viscosity_classes_of_mixed_retardant(viscosity: float, name: str) -> None:
    """Low 101 to 400, medium 401 to 800, high 801 to 1500 cP: from memory."""
    assert viscosity_class(viscosity) == name


@pytest.mark.published
@pytest.mark.parametrize("viscosity", [1600.0, 1850.0])
def test_loads_thicker_than_the_classes_were_dropped_in_tests(viscosity: float) -> None:
    """Suter 2003: gum-thickened loads of 1600 and 1850 cP, above the highest class."""
    assert viscosity_class(viscosity) is None


@pytest.mark.memory
def test_retardant_weighs_about_nine_pounds_a_gallon() -> None:
    """9 lb/US gal, second-hand public copy; 1.07 to 1.10 kg/L from memory."""
    density = liquid("retardant").density_kg_per_m3
    assert density == pytest.approx(9.0 * POUND / US_GALLON_L * 1000.0, rel=0.005)
    assert 1070.0 <= density <= 1100.0


@pytest.mark.published
def test_foam_goes_with_scoopers_and_helicopters_and_gel_with_buckets() -> None:
    """Older interagency handbook (public copy): foam from helicopters, single-engine tankers, some scoopers."""
    for fills, agent in (("scoop", "foam"), ("dip", "foam"), ("base", "foam"), ("dip", "gel")):
        held = carries(fills, agent)
        assert held is not None
        assert held.answer == "yes"


@pytest.mark.practice
def test_what_fills_from_a_lake_carries_no_retardant() -> None:
    held = carries("scoop", "retardant")
    assert held is not None
    assert held.answer == "no"


@pytest.mark.behaviour
def test_every_way_to_fill_knows_every_agent_and_what_is_not_known_is_none() -> None:
    for fills in FILLS:
        for agent in AGENTS:
            assert (carries(fills, agent) is None) is (fills == "none")
    assert carries("scoop", "slurry") is None


@pytest.mark.published
def test_what_takes_natural_water_is_cleaned_between_basins() -> None:
    """Agency guides of Montana and Wyoming (public copies): drain and decontaminate tank, snorkel, bucket."""
    for fills in ("scoop", "dip"):
        assert any("another basin" in words for words in between_waters(fills))
    assert between_waters("base") == ()


@pytest.mark.behaviour
@pytest.mark.parametrize("table", ["drop/agents", "drop/fill_agents", "drop/need_steps"])
def test_every_row_says_how_it_is_known(table: str) -> None:
    for row in tables.load(table).rows():
        assert row["status"] in {"published", "memory", "practice", "derived"}
        assert ("no source" in row["source"]) or row["status"] != "practice"
        assert row["source"]
