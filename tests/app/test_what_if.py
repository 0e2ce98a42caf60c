"""The day beside other mixes of the invented incident: which way each number goes, and names that are not known."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING, Any

import pytest

from wetline.app.circuits import circuits_answer
from wetline.app.situation import look, plan_the_day, waters_for
from wetline.app.what_if import Asked, mixes
from wetline.cli.tables.circuits import circuits_table
from wetline.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.app.situation import Situation, Waters
    from wetline.circuits import Day

pytestmark = pytest.mark.behaviour
ASKED = Asked(
    with_=["twin_engine_scooper:2"],
    without=["gannet 7"],
    base_out=["Galfith Aerodrome"],
    source_out=["D1"],
)


@pytest.fixture(scope="module")
def answer(demo_folder: Path) -> dict[str, Any]:
    return circuits_answer(demo_folder, at=None, asked=ASKED)


@pytest.fixture(scope="module")
def the_day(demo_folder: Path) -> tuple[Situation, Waters, Day]:
    situation = look(demo_folder, None)
    waters = waters_for(situation, [a.class_id for a in situation.incident.fleet])
    return situation, waters, plan_the_day(situation, waters)


def test_each_mix_stands_beside_the_day_as_it_is(answer: dict[str, Any]) -> None:
    as_it_is, more, without, dry, dip, together = answer["comparison"]
    assert as_it_is["loads"] == answer["loads"] == len(answer["load_times"])
    assert as_it_is["litres"] == sum(row["litres"] for row in answer["day"])
    assert more["litres"] > as_it_is["litres"]
    assert without["litres"] < as_it_is["litres"]
    assert dry["litres"] < as_it_is["litres"]
    assert dip["what"] == "D1 out"
    assert together["what"] == "all of these together"
    assert "class's load; no rates given" in more["assumed"][0]
    assert [mix["cost"] for mix in answer["comparison"]] == [None] * 6


def test_hours_and_rows_add_up(answer: dict[str, Any]) -> None:
    litres = sum(load["litres"] for load in answer["load_times"])
    assert litres == answer["totals"]["litres"] == sum(hour["litres"] for hour in answer["hours"])
    assert answer["totals"]["loads_needing_look"] == sum(load["needs_look"] for load in answer["load_times"])


def test_a_water_closed_is_closed_to_a_class_that_is_added_with_it(
    the_day: tuple[Situation, Waters, Day],
) -> None:
    """The helicopter and the scooper that comes both fill from this water: its loss costs both of them."""
    whole, _, _ = the_day
    fleet = tuple(a for a in whole.incident.fleet if a.call_sign == "Plover 5")
    situation = replace(whole, incident=replace(whole.incident, fleet=fleet))
    waters = waters_for(situation, [a.class_id for a in fleet])
    asked = Asked(with_=["single_engine_scooper:1@Neldan Field"], source_out=["Stelven Water"])
    found = mixes(situation, waters, plan_the_day(situation, waters), asked)
    as_it_is, more, out, together = (mix.totals.litres for mix in found)
    assert more - together > as_it_is - out + 1000.0


def test_the_table_shows_every_mix_and_ranks_none_by_cost(answer: dict[str, Any]) -> None:
    text = circuits_table(answer)
    assert "Galfith Aerodrome out of agent" in text
    assert "no mix is ranked by its cost" in text
    assert "Cost: unknown" in text


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        (Asked(with_=["twin_engin_scooper:2"]), 'Did you mean "twin_engine_scooper"'),
        (Asked(with_=["twin_engine_scooper"]), "CLASS:N@BASE"),
        (Asked(with_=["twin_engine_scooper:0"]), "cannot be added"),
        (Asked(with_=["heavy_helicopter:1"]), "stands is not said"),
        (Asked(with_=["heavy_helicopter:1@Galfit Aerodrome"]), 'Did you mean "Galfith Aerodrome"'),
        (Asked(without=["Tern 9"]), 'Did you mean "Tern'),
        (Asked(base_out=["Nowhere"]), "base that loads"),
        (Asked(source_out=["Q7"]), "lane, dip site or water"),
    ],
)
def test_names_that_are_not_known_are_refused(
    the_day: tuple[Situation, Waters, Day], asked: Asked, word: str
) -> None:
    with pytest.raises(InputError) as caught:
        mixes(*the_day, asked)
    assert word in str(caught.value)


def test_the_incident_s_own_cut_off_ends_the_day_by_its_clock(the_day: tuple[Situation, Waters, Day]) -> None:
    """17:00 where the clock is an hour behind UTC; one after sunset changes nothing."""
    whole, waters, day = the_day
    early = replace(whole, incident=replace(whole.incident, cut_off=time(17, 0)))
    ended = plan_the_day(early, waters)
    assert ended.cut_off == datetime(2026, 8, 14, 18, 0, tzinfo=UTC)
    assert all(load.time <= ended.cut_off for load in ended.loads)
    late = replace(whole, incident=replace(whole.incident, cut_off=time(23, 0)))
    assert plan_the_day(late, waters).loads == day.loads
    past_midnight = replace(whole, incident=replace(whole.incident, cut_off=time(0, 30)))
    assert plan_the_day(past_midnight, waters).loads == day.loads
