"""What practice says of drops, said by the tool from its own computation: check values without a source."""

from __future__ import annotations

import pytest

from app.asking_drop import answer_of, blown, spaced
from wetline.app.drop import DropAsk
from wetline.cli.tables import RENDER

pytestmark = pytest.mark.practice


@pytest.mark.parametrize(("kw_per_m", "code"), [(1000.0, 0), (2200.0, 0), (6000.0, 3)])
def test_a_massive_fire_refuses_water_and_names_retardant(kw_per_m: float, code: int) -> None:
    """Common practice, no source: direct water does little on a massive fire; retardant is laid ahead."""
    answer = answer_of(DropAsk(intensity_kw_per_m=kw_per_m), wind_mps=0.0)
    words = spaced(RENDER["drop"](answer))
    assert answer["exit_code"] == code
    assert ("retardant laid ahead is what is used instead" in words) == (kw_per_m > 2000.0)
    assert words.startswith("one load of water") == (code != 3) or "STOP: On an edge" in words
    laid = answer_of(DropAsk(intensity_kw_per_m=kw_per_m), "large_tanker", "retardant", wind_mps=0.0)
    assert laid["exit_code"] == 0


def test_water_at_such_speeds_hurts_and_the_answer_says_so() -> None:
    """Common practice, no source: it injures people, damages vehicles and brings down trees."""
    words = spaced(RENDER["drop"](answer_of(wind_mps=0.0)))
    assert "injures people, damages vehicles and brings down trees" in words
    low = answer_of(wind_mps=0.0, height_m=8.0)
    assert low["falls_vertically"] is False
    assert low["intact_pct"] > 10.0
    assert low["exit_code"] == 3
    assert RENDER["drop"](low).split("\n")[2].startswith("STOP: ")


def test_water_from_higher_up_is_partly_gone_and_drifts() -> None:
    """Common practice, no source: from higher up part of the water evaporates and small drops drift."""
    rows = blown(270.0, asked=DropAsk(heights="60,120,240"))["heights"]
    for key in ("evaporated_pct", "drift_right_m"):
        values = [row[key] for row in rows]
        assert values == sorted(values)
        assert values[-1] > values[0]
    lines = [row["line_m_by_level"]["2"] for row in rows]
    assert lines == sorted(lines, reverse=True)
