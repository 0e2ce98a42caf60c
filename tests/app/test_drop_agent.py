"""The answer of `drop` on its agent and on how the load arrives."""

from __future__ import annotations

from typing import Any

import pytest

from wetline.app.drop import DropAsk, drop_answer


def asked(class_id: str = "twin_engine_scooper", agent: str | None = None, **given: float) -> dict[str, Any]:
    return drop_answer(class_id, agent=agent, given=given, asked=DropAsk())


@pytest.mark.derived
def test_foam_asks_for_concentrate_by_its_mix() -> None:
    """0.1 to 1.0 % of 6,000 L (range from memory): 6 to 60 L."""
    agent = asked(agent="foam", load_l=6000.0)["agent"]
    assert (agent["concentrate_l_low"], agent["concentrate_l_high"]) == (6.0, 60.0)
    assert asked(agent="foam", load_l=6000.0, let_go_l=1500.0)["agent"]["concentrate_l_high"] == 60.0
    assert agent["near_water"] == "buffer"
    assert {row["status"] for row in agent["known"]} <= {"published", "memory", "practice", "derived"}


@pytest.mark.practice
@pytest.mark.parametrize(
    ("class_id", "agent", "said"),
    [
        ("twin_engine_scooper", "retardant", True),
        ("twin_engine_scooper", "gel", True),
        ("twin_engine_scooper", "foam", False),
        ("large_tanker", "retardant", False),
        ("medium_helicopter", "gel", False),
    ],
)
def test_a_class_that_may_not_carry_the_agent_is_told(class_id: str, agent: str, said: bool) -> None:
    found = [
        f for f in asked(class_id, agent)["findings"] if f["code"] == "agent" and f["level"] == "unknown"
    ]
    assert len(found) == said


@pytest.mark.published
def test_the_height_to_keep_names_what_it_rests_on() -> None:
    """MTDC 0057-2317 was not made for constant flow: no published height there, never a guess in its place."""
    scooper, tanker = asked(), asked("large_tanker")
    assert scooper["published_height_m"] == pytest.approx(56.5, abs=0.1)
    assert scooper["safe_height_m"] >= scooper["published_height_m"]
    assert (tanker["published_height_m"], tanker["safe_height_from"]) == (None, "own")
    assert tanker["safe_height_m"] >= tanker["vertical_fall_m"]


@pytest.mark.behaviour
def test_who_stands_clear_is_told_about_trees_wake_and_what_to_do_if_caught() -> None:
    answer = asked()
    words = " ".join(answer["stand_clear"]["notes"])
    for part in ("Trees", "wake", "downhill", "approach"):
        assert part in words
    assert "No wind is told" in words
    assert "No wind is told" not in " ".join(asked(wind_mps=0.0)["stand_clear"]["notes"])
    assert "face" in answer["if_caught"][0]
    assert answer["shower_pa"] > 0.0
