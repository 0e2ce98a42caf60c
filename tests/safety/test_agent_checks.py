"""What may fall where, and who can carry it: agents against water, bases and classes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import shapely

from safety.run_maker import X0, Y0, a_context, a_ground, a_run, layer
from wetline.ground import Avoid, Base, Layer, Water
from wetline.safety import check_agent, check_avoid, check_run, check_waterway


def levels(findings: Any) -> list[tuple[str, str, str | None]]:
    return [(f.code, f.level, f.effect) for f in findings]


def base(*agents: str) -> Base:
    return Base(name="Skarn", kind="tanker_base", point=shapely.Point(X0, Y0 + 9000), agents=agents)


@pytest.mark.published
@pytest.mark.parametrize("agent", ["foam", "gel", "retardant"])
def test_each_agent_stops_in_its_buffer_and_is_none_found_beyond(agent: str) -> None:
    """300 ft (91 m): US Forest Service aerial delivery rule; single-engine tanker guide for gel (public copies)."""
    for metres, level in ((90.0, "stop"), (92.0, "clear")):
        shore = shapely.box(X0 - 2000, Y0 + 15 + metres, X0 + 2000, Y0 + 800)
        ground = a_ground(water=layer(Water(name="Lake Sorrin", kind="lake", polygon=shore)))
        assert levels(check_waterway(a_run(agent=agent), a_context(ground))) == [("waterway", level, None)]


@pytest.mark.practice
def test_an_agent_that_nobody_knows_is_unknown_near_water_and_aboard() -> None:
    shore = shapely.box(X0 - 2000, Y0 + 5000, X0 + 2000, Y0 + 5800)
    ground = a_ground(water=layer(Water(name="Lake Sorrin", kind="lake", polygon=shore)))
    run, context = a_run(agent="slurry"), a_context(ground)
    assert levels(check_waterway(run, context)) == [("waterway", "unknown", "look")]
    assert levels(check_agent(run, context)) == [("agent", "unknown", "look")]


@pytest.mark.practice
def test_far_water_in_a_layer_without_cover_is_unknown_not_clear() -> None:
    shore = shapely.box(X0 - 2000, Y0 + 5000, X0 + 2000, Y0 + 5800)
    lake = Water(name="Lake Sorrin", kind="lake", polygon=shore)
    context = a_context(a_ground(water=Layer((lake,), present=True)))
    assert levels(check_waterway(a_run(agent="foam"), context)) == [("waterway", "unknown", "look")]
    assert check_waterway(a_run(agent="water"), context) == ()


@pytest.mark.practice
@pytest.mark.parametrize(
    ("class_id", "agent", "found"),
    [
        ("twin_engine_scooper", "water", []),
        ("twin_engine_scooper", "foam", []),
        ("twin_engine_scooper", "gel", [("agent", "unknown", "look")]),
        ("twin_engine_scooper", "retardant", [("agent", "stop", None)]),
        ("medium_helicopter", "gel", []),
        ("medium_helicopter", "retardant", [("agent", "unknown", "look")]),
        ("large_tanker", "retardant", []),
        ("supervision", "water", [("agent", "unknown", "look")]),
        ("kite", "water", [("agent", "unknown", "look")]),
    ],
)
def test_a_class_carries_what_its_way_to_fill_allows(
    class_id: str, agent: str, found: list[tuple[str, str, str | None]]
) -> None:
    assert levels(check_agent(a_run(class_id=class_id, agent=agent), a_context())) == found


@pytest.mark.practice
def test_a_base_gives_only_the_agents_that_it_tells() -> None:
    run = a_run(class_id="large_tanker", agent="gel", source="Skarn")
    told = a_context(a_ground(bases=layer_of(base("retardant"))))
    (found,) = check_agent(run, told)
    assert (found.code, found.level) == ("agent", "stop")
    assert "Skarn has no gel" in found.message
    untold = a_context(a_ground(bases=layer_of(base())))
    assert check_agent(run, untold) == ()


@pytest.mark.practice
def test_an_aircraft_with_floats_that_loads_at_a_base_may_carry_retardant() -> None:
    run = a_run(agent="retardant", source="Skarn")
    assert check_agent(run, a_context(a_ground(bases=layer_of(base("retardant"))))) == ()


@pytest.mark.practice
@pytest.mark.parametrize("agent", ["gel", "retardant"])
def test_a_class_of_ones_own_that_scoops_carries_what_a_scooper_does(agent: str) -> None:
    """Whatever shipped class it drops like: that one loads at a base."""
    like_a_tanker = a_run(class_id="single_engine_tanker", fills="scoop", agent=agent)
    scooper = a_run(class_id="single_engine_scooper", agent=agent)
    assert levels(check_agent(like_a_tanker, a_context())) == levels(check_agent(scooper, a_context())) != []


@pytest.mark.practice
@pytest.mark.parametrize(
    ("shore_m", "level"), [(80.0, "stop"), (300.0, "unknown"), (391.0, "unknown"), (2000.0, "clear")]
)
def test_without_a_wind_nobody_says_that_the_drift_stays_clear_of_water(shore_m: float, level: str) -> None:
    shore = shapely.box(X0 - 2000, Y0 + 15 + shore_m, X0 + 2000, Y0 + 5000)
    ground = a_ground(water=layer(Water(name="Lake Sorrin", kind="lake", polygon=shore)))
    calm = a_run(agent="foam", drift_right_m=None, drift_along_m=None)
    assert [f.level for f in check_waterway(calm, a_context(ground))] == [level]


@pytest.mark.practice
@pytest.mark.parametrize(("north_m", "found"), [(0.0, ["stop"]), (200.0, ["unknown"]), (900.0, [])])
def test_without_a_wind_nobody_says_that_the_drift_stays_out_of_an_area(
    north_m: float, found: list[str]
) -> None:
    ground = a_ground(avoid=marsh(north_m, "retardant"))
    run = a_run(agent="retardant", drift_right_m=None, drift_along_m=None)
    assert [f.level for f in check_avoid(run, a_context(ground))] == found
    assert check_avoid(replace(run, agent="water"), a_context(ground)) == ()


@pytest.mark.practice
def test_an_agent_that_nobody_knows_falls_into_no_area_that_keeps_any_out() -> None:
    context = a_context(a_ground(avoid=marsh(0.0, "retardant")))
    assert levels(check_avoid(a_run(agent="Retardant"), context)) == [("waterway", "stop", None)]
    assert check_avoid(a_run(agent="water"), context) == ()


def marsh(north_m: float, *agents: str) -> Layer[Avoid]:
    """An area from so far north of the run's line on that keeps some agents out."""
    area = shapely.box(X0 - 2000, Y0 + north_m, X0 + 2000, Y0 + north_m + 500)
    marsh = Avoid(name="Gull marsh", kind="waterway_buffer", polygon=area, rule="none here", agents=agents)
    return Layer((marsh,), present=True)


@pytest.mark.behaviour
def test_a_whole_run_asks_for_its_agent() -> None:
    run = check_run(a_run(agent="retardant"), a_context())
    assert ("agent", "stop", None) in levels(run.findings)


def layer_of(*bases: Base) -> Layer[Base]:
    return Layer(tuple(bases), present=True)
