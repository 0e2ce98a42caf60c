"""The rows of a drop run: what is known with its band, what is not in words."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from briefing import paper
from wetline.briefing.format import Style
from wetline.briefing.sheet_run import aim_words, drift_words, run_rows
from wetline.model import Band

if TYPE_CHECKING:
    from wetline.briefing import Units

pytestmark = pytest.mark.behaviour


def style(units: Units = "aviation") -> Style:
    return Style(
        units=units, zone=paper.ZONE, made=paper.at(13), projection=paper.PROJECTION, variation_deg=-14.0
    )


def rows(units: Units = "aviation", **changes: Any) -> dict[str, str]:
    return dict(run_rows(replace(paper.run(), **changes), style(units)))


@pytest.mark.parametrize(
    ("right", "along", "words"),
    [
        (Band(12.0, 5.0, 20.0), Band(-3.0, -8.0, -1.0), "12 m right (5–20), 3 m short (1–8)"),
        (Band(-2.0, -9.0, 6.0), Band(7.0, 2.0, 9.0), "2 m left (9 left to 6 right), 7 m long (2–9)"),
        (Band(-12.0), Band(4.0), "12 m left, 4 m long (no band)"),
        (Band(0.0), Band(0.0, 0.0, 0.0), "none sideways (band not known), none along"),
        (Band(0.2, -4.0, 4.0), Band(0.0, 0.0, 0.0), "none sideways (4 left to 4 right), none along"),
        (Band(-4.0, -11.0, 0.0), Band(1.0, 0.0, 3.0), "4 m left (0–11), 1 m long (0–3)"),
    ],
)
def test_drift_is_said_with_its_side_and_its_band(right: Band, along: Band, words: str) -> None:
    run = replace(paper.run(), drift_right_m=right, drift_along_m=along)
    assert drift_words(run, style()) == words


def test_the_release_says_early_or_late_and_which_side_of_the_line() -> None:
    run = replace(
        paper.run(), release_early_m=Band(-10.0, -25.0, 4.0), release_right_m=Band(-12.0, -20.0, -6.0)
    )
    assert aim_words(run, style()) == "10 m late (25 late to 4 early), 12 m left (6–20)"
    assert aim_words(replace(run, release_right_m=None), style()).endswith(
        "wind not known: drift not corrected"
    )
    assert aim_words(replace(run, release_early_m=None), style()) == "not corrected for throw or drift"


def test_feet_are_feet_in_us_units() -> None:
    """10 m is 32.8 ft."""
    assert rows("us", drift_right_m=Band(10.0, 5.0, 20.0))["Drift"].startswith("33 ft right (16–66)")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"vertical_from_m": None}, "vertical from a height not known: it may strike"),
        ({"vertical_from_m": 56.4}, "vertical only from 190 ft: here it strikes"),
        (
            {"vertical_from_m": 56.4, "intact_share": Band(0.12, 0.0, 0.3)},
            "vertical only from 190 ft: here it strikes, 12 % in one body",
        ),
        ({"vertical_from_m": 40.0}, "vertical from 140 ft up; still keep clear"),
    ],
)
def test_a_load_strikes_unless_it_is_known_to_fall_vertically(changes: dict[str, Any], words: str) -> None:
    assert rows(**changes)["Load falls"] == words


def test_loads_that_stack_say_so_and_the_last_one_says_how_to_join() -> None:
    first, last = rows(coat=1, coats=3), rows(coat=3, coats=3)
    assert first["Line"].endswith("load 1 of 3")
    assert first["Next drop"] == "on the same line, load 2 of 3"
    assert last["Next drop"] == "begins 25 m inside the wet end seen"  # the far end of its band, 24 m
    assert "Next drop" not in rows(join_m=None)


@pytest.mark.parametrize(("here_m", "told"), [(115.0, False), (124.0, False), (100.0, True), (150.0, True)])
def test_the_line_on_this_heading_is_told_where_it_is_another(here_m: float, told: bool) -> None:
    line = rows(line_here_m=Band(here_m, here_m - 20.0, here_m + 20.0))["Line"]
    assert ("on this heading" in line) == told


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (Band(math.inf, math.inf, math.inf), "until rain washes it off"),
        (Band(math.inf, 79.0, math.inf), "until rain washes it off, at worst after 79 min"),
        (Band(108.0, 79.0, math.inf), "108 min (79 or more), then rain washes it off"),
        (Band(75.0, 68.0, 87.0), "75 min (68–87), then rain washes it off"),
    ],
)
def test_retardant_ends_with_the_rain_and_never_with_drying(minutes: Band, words: str) -> None:
    assert rows(hold_min=minutes, until_rain=True)["Holds"] == words


def test_hold_stand_clear_and_panel() -> None:
    assert rows(hold_min=Band(math.inf, math.inf, math.inf))["Holds"] == "until rain washes it off"
    assert rows(hold_min=Band(20.0, 10.0, 40.0))["Holds"] == "20 min (10–40), then it is dry"
    assert rows()["Stand clear"] == "60 m each side, 95 ahead, 60 behind"
    assert rows(drift_right_m=None)["Stand clear"].endswith("60 behind; and the drift, not known")
    assert rows(panel="coverage level 4")["Panel"] == "set coverage level 4"
    bare = rows(hold_min=None, stand_clear=None)
    assert not {"Holds", "Stand clear", "Panel"} & set(bare)
