"""The tables for people say what the JSON says, in words and rounded, and hide nothing."""

from __future__ import annotations

import copy
import re
from typing import TYPE_CHECKING, Any

import pytest

from cli.asking_commands import Said, ask
from wetline.cautions import CAUTIONS
from wetline.cli.tables import RENDER
from wetline.cli.tables.findings import finding_lines, standing
from wetline.cli.tables.sizeup_first import MOST_LINES
from wetline.cli.tables.words import band, bearing, clock, number
from wetline.cli.text import NO_BREAK, WIDTH, columns

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

pytestmark = pytest.mark.behaviour

COMMANDS = ("demo", "check", "sizeup", "water", "drop", "circuits", "plan", "brief")


@pytest.fixture(scope="module")
def tables(said: Mapping[str, Said]) -> Mapping[str, str]:
    return {name: RENDER[name](each.answer) for name, each in said.items()}


def spaced(text: str) -> str:
    """Text on one line with single spaces, so that wrapping does not matter."""
    return " ".join(text.split())


def nulled(value: Any, keep: Sequence[str]) -> Any:
    """A copy of an answer in which nobody knows any number any more."""
    if isinstance(value, dict):
        return {k: v if k in keep else nulled(v, keep) for k, v in value.items()}
    if isinstance(value, list):
        return (
            value if value and all(isinstance(v, float) for v in value) else [nulled(v, keep) for v in value]
        )
    return None if isinstance(value, float) else value


def test_every_command_has_its_table() -> None:
    assert tuple(RENDER) == (*COMMANDS, "atlas", "drop-tests")


@pytest.mark.parametrize("command", COMMANDS)
def test_no_line_is_wider_than_a_terminal(command: str, tables: Mapping[str, str]) -> None:
    assert [line for line in tables[command].splitlines() if len(line) > WIDTH] == []
    assert WIDTH == 100


@pytest.mark.parametrize("command", COMMANDS)
def test_a_table_ends_with_the_cautions(command: str, tables: Mapping[str, str]) -> None:
    tail = spaced(tables[command].rpartition("\nCautions\n")[2])
    assert tail == " ".join(f"! {caution}" for caution in CAUTIONS)
    assert tables[command].endswith("\n")


@pytest.mark.parametrize("command", COMMANDS)
def test_a_table_is_plain_text_in_words(command: str, tables: Mapping[str, str]) -> None:
    """Paths aside, and the one key of the JSON that the method of `drop` explains."""
    text = re.sub(r"\S*/\S*|release_offset_m", "", tables[command])
    assert not re.search(r"\bnan\b|\binf\b|None|null|\{|\}|[a-z]_[a-z]", text)
    assert "\x1b" not in text
    assert NO_BREAK not in text


@pytest.mark.parametrize("command", ["sizeup", "water", "circuits", "plan", "drop"])
def test_what_nobody_knows_is_said_to_be_unknown(command: str, said: Mapping[str, Said]) -> None:
    """Every decimal number taken away: the table stands, and says so, without a made-up figure."""
    answer = nulled(said[command].answer, keep=("cell_m", "inputs_from", "limit", "because"))
    text = RENDER[command](answer)
    assert "unknown" in text
    assert not re.search(r"\bnan\b|None", text)


@pytest.mark.parametrize("command", COMMANDS)
def test_rendering_leaves_the_answer_as_it_was(command: str, said: Mapping[str, Said]) -> None:
    answer = said[command].answer
    before = copy.deepcopy(answer)
    RENDER[command](answer)
    assert answer == before


@pytest.mark.parametrize("command", ["sizeup", "circuits", "plan", "water"])
def test_the_head_tells_now_and_the_local_clock(command: str, tables: Mapping[str, str]) -> None:
    """The valley's clock is one hour behind UTC."""
    assert "Now 14 Aug 2026 12:00Z = 11:00 local, UTC−1. Times are UTC (Z)." in tables[command]


def test_size_up_shows_its_pieces_fronts_and_whom_the_fire_reaches(
    said: Mapping[str, Said], tables: Mapping[str, str]
) -> None:
    answer, text = said["sizeup"].answer, tables["sizeup"]
    for piece in answer["edge"]:
        row = next(line for line in text.splitlines() if line.startswith(f"{piece['id']} "))
        assert f"{round(piece['length_m'], -1):,} m" in row
        assert f"{round(piece['flame_length_m'], 1)} m" in row
    for front in answer["fronts"]:
        assert f"\n{front['time'][11:16]}Z " in text
    for reach in answer["reaches"]:
        assert (reach["name"] in text) == (reach["earliest"] is not None or not reach["on_map"])
    silent = sum(r["on_map"] and r["earliest"] is None for r in answer["reaches"])
    assert (f"not reached by 14:00Z: {silent} other" in text) == (silent > 0)
    assert answer["looked_until"] == "2026-08-14T14:00:00Z"


def test_a_size_up_begins_with_one_screen_and_a_rule(tables: Mapping[str, str]) -> None:
    """Forty lines of a hundred columns, the head of the page included: common practice, no source."""
    screen, _, below = tables["sizeup"].partition("─" * WIDTH + "\nDetails\n")
    assert below
    assert len(screen.splitlines()) <= MOST_LINES == 40
    for label in (
        "Modelled to",
        "people looked for to",
        "People ",
        "Runs ",
        "Why ",
        "Grows ",
        "Attack ",
        "Facing ",
        "Unknown ",
    ):
        assert label in spaced(screen) + " "


def test_the_screen_stays_one_screen_however_much_there_is_to_say(said: Mapping[str, Said]) -> None:
    """Forty pieces, thirty places, twenty stops: every stop is still named, the rest is counted."""
    answer = copy.deepcopy(said["sizeup"].answer)
    answer["edge"] = [{**answer["edge"][0], "id": f"F{i}", "part": "finger"} for i in range(1, 41)]
    person = {"name": "x", "kind": "crew", "position": [-31.0, 47.0], "time": answer["time"],
              "time_low": None, "time_high": None, "earliest": answer["time"], "on_map": True,
              "reached_in": None, "reached_in_by_now": None, "futures": None}  # fmt: skip
    answer["reaches"] = [{**person, "name": f"Crew {i}"} for i in range(30)]
    stop = {"code": "entrapment", "level": "stop", "source": "a rule", "limit": "30 min"}
    answer["findings"] = [
        {**stop, "refers_to": f"Crew {i}", "message": f"Fire reaches Crew {i} in 5 min."} for i in range(20)
    ]
    screen = RENDER["sizeup"](answer).partition("─" * WIDTH)[0]
    assert len(screen.splitlines()) <= MOST_LINES
    assert all(f"Crew {i}" in screen for i in range(20))
    assert re.search(r"\d+ more pieces below", screen)
    assert re.search(r"\d+ more below", screen)


def test_weather_that_ends_too_soon_is_said_in_the_first_lines(said: Mapping[str, Said]) -> None:
    answer = {**said["sizeup"].answer, "good_until": "2026-08-14T13:00:00Z"}
    head = spaced("\n".join(RENDER["sizeup"](answer).splitlines()[:8]))
    assert "MODELLED ONLY TO 13:00Z" in head
    assert "unknown" in head


def test_unknown_edge_is_shown_beside_what_can_be_attacked(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    answer["edge"][0]["attack_m"] |= {"unknown": 120}
    answer["attack"]["unknown"] = {"length_m": 120, "length_m_low": 120, "length_m_high": 120}
    text = RENDER["sizeup"](answer)
    assert "unknown 120 m" in spaced(text)
    assert "120 m unknown" in spaced(text)


def test_edge_that_is_faster_than_the_fastest_in_the_open_is_told(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    assert "across pockets" not in RENDER["sizeup"](answer)
    answer["edge"][0]["rate_m_per_min"] = answer["fastest"]["rate_m_per_min"] + 12.0
    assert "across pockets of the fire" in spaced(RENDER["sizeup"](answer))


def test_of_many_pieces_those_with_unknown_edge_and_the_hottest_are_on_the_screen(
    said: Mapping[str, Said],
) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    one = {**answer["edge"][0], "intensity_kw_per_m": 100}
    answer["edge"] = [{**copy.deepcopy(one), "id": f"F{i}", "part": "finger"} for i in range(1, 31)]
    answer["edge"][20]["attack_m"]["unknown"] = 90
    answer["edge"][25]["intensity_kw_per_m"] = 9000
    answer["unknown_edge_m"] = 90
    screen = RENDER["sizeup"](answer).partition("─" * WIDTH)[0]
    assert re.search(r"(?m)^  F21 ", screen)
    assert re.search(r"(?m)^  F26 ", screen)
    assert "It may run farther, and elsewhere: 90 m of edge meets unknown ground." in screen


def test_a_run_that_ends_where_nothing_is_known_says_so(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    assert answer["fastest"]["run"] is not None
    for ends_at, words in (("map_edge", "beyond the map unknown"), ("unknown_ground", "unknown fuel")):
        answer["fastest"]["run"]["ends_at"] = ends_at
        assert words in spaced(RENDER["sizeup"](answer))


def test_a_fire_that_does_not_move_and_one_of_which_nothing_is_known_have_words(
    said: Mapping[str, Said],
) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    answer["fastest"]["run"] = None
    assert "Runs under 30 m in the next hour." in spaced(RENDER["sizeup"](answer))
    answer["held_by"] = ["East line"]
    assert "under 30 m in the next hour; held by crews' line East line" in spaced(RENDER["sizeup"](answer))
    answer["fastest"] = None
    assert answer["attack"]["unknown"]["length_m"] == 0
    assert "Runs no edge burns by the model." in spaced(RENDER["sizeup"](answer))
    answer["attack"]["unknown"]["length_m"] = 40
    assert "Runs unknown: nothing is known to burn at the edge." in spaced(RENDER["sizeup"](answer))


def test_spotting_and_crown_are_shown_once_they_are_computed(said: Mapping[str, Said]) -> None:
    answer = {
        **said["sizeup"].answer,
        "spotting_m": 400.0,
        "spotting_m_low": 200.0,
        "spotting_m_high": 900.0,
        "crown_edge_m": {"surface": 900.0, "passive": 120.0, "active": 0.0, "unknown": 40.0},
    }
    text = spaced(RENDER["sizeup"](answer))
    assert "up to 400 m (200–900)" in text
    assert "surface 900 m, passive 120 m, active 0 m, unknown 40 m" in text
    screen = text.partition("─" * WIDTH)[0]
    assert "crowns: passive 120 m, active 0 m, unknown 40 m of edge" in screen
    assert "low confidence" in screen
    assert "Unknown crown fire along 40 m of edge" in screen


def test_those_off_the_modelled_ground_are_unknown_by_name(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    answer["reaches"].append(
        {"name": "Farholm", "kind": "houses", "position": [-31.0, 47.0], "time": None, "time_low": None,
         "time_high": None, "earliest": None, "on_map": False, "reached_in": None, "futures": None}
    )  # fmt: skip
    assert "unknown, off the modelled ground: Farholm (houses)" in spaced(RENDER["sizeup"](answer))


def test_usable_water_comes_before_what_needs_a_look_before_the_rejected(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["water"].answer)
    first, second, third = copy.deepcopy(answer["lanes"][:3])
    first["findings"] = [{**first["findings"][0], "level": "stop", "message": "Too short by far."}]
    second["findings"] = [{**second["findings"][0], "level": "unknown", "effect": "look", "message": "Look."}]
    third["findings"] = [{**third["findings"][0], "level": "clear", "message": "Nothing."}]
    answer["lanes"] = [first, second, third]
    text = RENDER["water"](answer)
    assert "1 usable, 1 need a look first, 1 rejected." in text
    order = [
        text.index(mark) for mark in (f"\n{third['id']} ", f"\n{second['id']} ", f"rejected {first['id']} ")
    ]
    assert order == sorted(order)
    assert "Too short by far." in text


def test_many_lanes_are_cut_to_twelve_and_the_rest_counted(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["water"].answer)
    answer["lanes"] = [{**answer["lanes"][0], "id": f"S{i}"} for i in range(1, 21)]
    text = RENDER["water"](answer)
    assert "\nS12 " in text
    assert "\nS13 " not in text
    assert "… and 8 more, 0 rejected (use --json)" in text


def test_a_drop_shows_each_level_with_its_band(said: Mapping[str, Said], tables: Mapping[str, str]) -> None:
    answer, text = said["drop"].answer, tables["drop"]
    for level in answer["line_m_by_level"]:
        assert re.search(rf"(?m)^ *{re.escape(level)}  +\d+ m \(\d+–\d+\)", text)
    assert f"{answer['pattern']['peak_l_per_m2']:.1f} L/m²" in text
    assert re.search(r"given +wind +5 m/s", text)
    assert re.search(r"class +load +6,100 L", text)


def test_drift_to_the_right_is_released_to_the_left(
    said: Mapping[str, Said], tables: Mapping[str, str]
) -> None:
    """Wind from 250°, run toward 340°: from the left of the nose, so the load drifts right."""
    drift = round(said["drop"].answer["drift_right_m"])
    assert drift > 0
    assert f"drift as flown: {drift} m to the right" in tables["drop"]
    assert f"{drift} m to its left" in tables["drop"]


def test_without_a_wind_the_drift_is_unknown() -> None:
    assert "drift as flown: unknown" in ask("drop", "--class", "medium_helicopter").out


def test_circuits_show_each_aircraft_and_what_limits_it(
    said: Mapping[str, Said], tables: Mapping[str, str]
) -> None:
    answer, text = said["circuits"].answer, tables["circuits"]
    for row in answer["day"]:
        assert f"\n{row['aircraft']} " in text
    first = answer["first_drop"]
    assert f"First drop {first['time'][11:16]}Z by {first['aircraft']}. {answer['loads']} loads, " in spaced(
        text
    )
    assert f"until the cut-off {answer['cut_off'][11:16]}Z; " in spaced(text)


def test_an_aircraft_that_can_fill_nowhere_says_why(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["circuits"].answer)
    answer["day"][0] |= {
        "limited_by": "no_source",
        "refused": [{"source": "S9", "why": "stopped: too short."}],
    }
    assert f"{answer['day'][0]['aircraft']} cannot use S9: stopped: too short." in RENDER["circuits"](answer)


def test_a_plan_gives_its_three_answers_before_all_else(
    said: Mapping[str, Said], tables: Mapping[str, str]
) -> None:
    text, answers = spaced(tables["plan"]), said["plan"].answer["answers"]
    asked = (
        ("Where does the next load do most good?", "next_load"),
        ("Are we winning?", "winning_words"),
        ("Who could this hurt?", "hurt"),
    )
    places = [text.index(f"{question} {answers[key]}") for question, key in asked]
    assert places == sorted(places)
    assert places[-1] < text.index("The race")


def test_a_plan_shows_the_race_by_half_hours_and_the_next_drops(
    said: Mapping[str, Said], tables: Mapping[str, str]
) -> None:
    answer, text = said["plan"].answer, tables["plan"]
    for minute in ("12:00Z", "12:30Z", "13:00Z"):
        assert re.search(rf"(?m)^{minute} ", text)
    assert not re.search(r"(?m)^12:15Z ", text)
    for drop in answer["drops"][:6]:
        row = next(line for line in text.splitlines() if line.startswith(f"{drop['id']} "))
        assert drop["aircraft"] in row
        assert f"{round(drop['run_heading_deg']) % 360 or 360:03d}° T" in row
        assert "not confirmed" in row
    assert f"Next 6 drops of {len(answer['drops'])}" in text


def test_runs_held_back_are_counted_by_what_releases_them(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["plan"].answer)
    answer["held_back"] = [
        {"drop": "R1", "release": "when the crew has left", "line_m": 40},
        {"drop": "R2", "release": "when the crew has left", "line_m": None},
        {"drop": "R3", "release": "only another run", "line_m": 80},
    ]
    text = RENDER["plan"](answer)
    assert "Held back: 3 runs" in text
    assert "2 runs (R1, R2). Release: when the crew has left." in text
    assert "1 run (R3). Release: only another run." in text


def test_a_name_that_would_steer_the_terminal_is_written_flat(said: Mapping[str, Said]) -> None:
    answer = copy.deepcopy(said["sizeup"].answer)
    answer["incident"] = "Ridge\x1b[31m\nof fire"
    text = RENDER["sizeup"](answer)
    assert "\x1b" not in text
    assert text.startswith("Ridge [31m of fire: size-up")


def _finding(level: str, effect: str | None = None, message: str = "It is so.") -> dict[str, Any]:
    found = {"code": "wind", "level": level, "message": message, "source": "a rule", "refers_to": "R1"}
    return found if effect is None else {**found, "effect": effect}


@pytest.mark.parametrize(
    ("level", "effect", "word"),
    [
        ("stop", None, "stop"),
        ("unknown", "blocks", "blocks"),
        ("unknown", "look", "needs a look"),
        ("unknown", "noted", "noted"),
        ("unknown", None, "unknown"),
        ("caution", None, "caution"),
        ("clear", None, "none found"),
    ],
)
def test_a_finding_stands_in_a_trade_word(level: str, effect: str | None, word: str) -> None:
    assert standing(_finding(level, effect)) == word
    assert any(line.startswith(f"  {word}") for line in finding_lines([_finding(level, effect)]))


def test_stops_come_first_and_are_never_cut() -> None:
    findings = [_finding("caution", message=f"Care {i}.") for i in range(9)]
    findings += [_finding("stop", message=f"Stop {i}.") for i in range(9)]
    lines = finding_lines(findings)
    told = [line for line in lines if line.startswith("  stop: ")]
    assert len(told) == 9
    assert lines.index(told[-1]) < next(i for i, line in enumerate(lines) if line.startswith("  caution: "))
    assert "  caution: 3 more (use --json)" in lines


@pytest.mark.parametrize(
    ("value", "step", "unit", "text"),
    [
        (1934.0, 10.0, "m", "1,930 m"),
        (-14.4, 1.0, "°C", "−14 °C"),
        (-0.2, 1.0, "", "0"),
        (6.349, 0.1, "min", "6.3 min"),
        (0.0, 0.1, "%", "0.0 %"),
        (None, 1.0, "m", "unknown"),
    ],
)
def test_numbers_have_commas_a_true_minus_and_no_idle_digits(
    value: float | None, step: float, unit: str, text: str
) -> None:
    assert number(value, step, unit).replace(NO_BREAK, " ") == text


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "360° T"), (359.6, "360° T"), (8.4, "008° T"), (None, "unknown")]
)
def test_bearings_have_three_figures_and_north_is_360(value: float | None, text: str) -> None:
    assert bearing(value) == text


def test_a_band_stands_in_brackets_or_is_said_to_be_none() -> None:
    whole = {"line_m": 100.0, "line_m_low": 80.0, "line_m_high": 115.0}
    assert band(whole, "line_m", 5.0, "m").replace(NO_BREAK, " ") == "100 m (80–115)"
    assert band({**whole, "line_m_low": None}, "line_m", 5.0, "m").replace(NO_BREAK, " ") == "100 m (no band)"
    assert band({"line_m": None}, "line_m", 5.0, "m") == "unknown"


def test_a_time_is_cut_to_the_minute_and_tells_another_day() -> None:
    now = "2026-08-14T23:50:00Z"
    assert clock("2026-08-14T23:59:59Z", now) == "23:59Z"
    assert clock("2026-08-15T00:20:30Z", now) == "00:20Z 15 Aug"
    assert clock(None, now) == "unknown"


def test_columns_wrap_long_cells_and_lose_nothing() -> None:
    name = "Lake of the " + "very " * 40 + "long name"
    lines = columns(("id", "water", "note"), [("S1", name, "x" * 130), ("S2", "Mere", "")])
    assert max(len(line) for line in lines) <= WIDTH
    assert "".join(lines).count("very") == 40
    assert "".join(lines).count("x") == 130
