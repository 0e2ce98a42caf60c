"""What is asked wrongly is refused with its mend: exit code 2, one error shape, never a guess."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING, Any

import pytest

from cli.asking_commands import Said, ask
from cli.valley_maker import make_valley
from wetline.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

pytestmark = pytest.mark.behaviour

FIELDS = set(Problem.__dataclass_fields__)


def refused(*words: object) -> dict[str, Any]:
    """The error that a command answers; its shape is checked here for all."""
    said = ask(*words, "--json")
    assert said.code == 2, said
    assert said.out.count("\n") == 1
    assert set(said.answer) == {"error"}
    error: dict[str, Any] = said.answer["error"]
    assert set(error) == {"kind", "message", "problems"}
    assert error["message"]
    assert error["problems"]
    for problem in error["problems"]:
        assert {"level", "message", "mend"} <= set(problem) <= FIELDS
    return error


def told(*words: object) -> Said:
    """The same for people: nothing on stdout, one line a problem on stderr."""
    said = ask(*words)
    assert said.code == 2
    assert said.out == ""
    assert all(line.startswith(("error: ", "warning: ")) for line in said.err.splitlines())
    return said


@pytest.mark.parametrize(
    ("words", "speaks_of"),
    [
        (["quench"], "quench"),
        (["sizeup"], "incident"),
        (["drop"], "class"),
        (["sizeup", "FOLDER", "--glow"], "--glow"),
        (["sizeup", "FOLDER", "--members", "-1"], "-1"),
        (["sizeup", "FOLDER", "--members", "1001"], "1001"),
        (["sizeup", "FOLDER", "--members", "2.5"], "--members"),
        (["plan", "FOLDER", "--members", "-1"], "-1"),
        (["sizeup", "FOLDER", "--seed", "-1"], "--seed"),
        (["sizeup", "FOLDER", "--hours", "0"], "hours"),
        (["sizeup", "FOLDER", "--hours", "-3"], "hours"),
        (["sizeup", "FOLDER", "--hours", "nan"], "hours"),
        (["sizeup", "FOLDER", "--hours", "many"], "--hours"),
        (["sizeup", "FOLDER", "--at", "2026-08-20T12:00:00Z"], "weather"),
        (["sizeup", "FOLDER", "--at", "2026-08-14T15:00"], "at"),
        (["sizeup", "FOLDER", "--at", "now"], "at"),
        (["sizeup", "FOLDER", "--at", "0001-01-01T00:00:00+14:00"], "at"),
        (["sizeup", "FOLDER", "--at", "2026-08-14T11:00:00Z"], "newest perimeter"),
        (["circuits", "FOLDER", "--at", "2026-08-14T11:00:00Z"], "newest perimeter"),
        (["water", "FOLDER", "--class", "kite"], "kite"),
        (["water"], "Neither"),
        (["water", "FOLDER", "--length-m", "900"], "length_m"),
        (["water", "FOLDER", "--step-deg", "5"], "step_deg"),
        (["water", "FOLDER", "--file", "FOLDER/water.geojson"], "incident"),
        (["water", "--file", "FOLDER/water.geojson"], "length_m"),
        (["water", "--file", "FOLDER/water.geojson", "--length-m", "900", "--clear-m", "0"], "clear_m"),
        (["water", "--file", "FOLDER/water.geojson", "--length-m", "900", "--clear-m", "50", "--step-deg", "0"],
         "step_deg"),
        (["water", "--file", "FOLDER/none.geojson", "--length-m", "900", "--clear-m", "50"], "none.geojson"),
        (["water", "--file", "FOLDER/fleet.toml", "--length-m", "900", "--clear-m", "50"], "fleet.toml"),
        (["drop", "--class", "kite"], "kite"),
        (["drop", "--class", "supervision"], "supervision"),
        (["drop", "--class", "large_tanker", "--agent", "tea"], "tea"),
        (["drop", "--class", "large_tanker", "--height-m", "-5"], "height"),
        (["drop", "--class", "large_tanker", "--humidity-pct", "140"], "humidity"),
        (["drop", "--class", "large_tanker", "--wind-mps", "5"], "wind"),
        (["drop", "--class", "large_tanker", "--load-l", "inf"], "load"),
        (["brief", "FOLDER", "--units", "furlongs"], "furlongs"),
        (["plan", "FOLDER", "--out", "FOLDER/fleet.toml"], "fleet.toml"),
        (["drop", "--class", "large_tanker", "--picture", "FOLDER"], "folder"),
        (["demo", "FOLDER"], "--force"),
    ],
)  # fmt: skip
def test_a_wrong_word_is_refused_by_name(words: Sequence[str], speaks_of: str, valley: Path) -> None:
    asked = [word.replace("FOLDER", str(valley)) for word in words]
    assert speaks_of in json.dumps(refused(*asked)["problems"])
    assert speaks_of in told(*asked).err


@pytest.mark.parametrize("command", ["sizeup", "water", "circuits", "plan", "brief"])
@pytest.mark.parametrize("kind", ["missing", "empty", "file"])
def test_what_is_no_incident_folder_is_refused(command: str, kind: str, tmp_path: Path) -> None:
    path = tmp_path / "incident"
    if kind == "empty":
        path.mkdir()
    elif kind == "file":
        path.write_text("a note")
    problems = refused(command, path)["problems"]
    assert len(problems) == 1
    assert problems[0]["file"] == str(path)


@pytest.mark.parametrize("kind", ["missing", "empty", "file"])
def test_check_names_what_is_no_incident_folder(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "incident"
    if kind == "empty":
        path.mkdir()
    elif kind == "file":
        path.write_text("a note")
    said = ask("check", path, "--json")
    assert said.code == 2
    assert [p["level"] for p in said.answer["problems"]] == ["error"]
    assert said.answer["present"] == {}
    assert "fire" in said.answer["absent"]


def test_a_broken_folder_is_told_whole_with_file_row_field_and_mend(tmp_path: Path) -> None:
    folder = make_valley(tmp_path / "incident")
    (folder / "weather.csv").write_text("time,wind_kt\nyesterday,10\n")
    fleet = (folder / "fleet.toml").read_text()
    (folder / "fleet.toml").write_text(fleet.replace("medium_helicopter", "kite"))
    error = refused("plan", folder)
    blocking = [p for p in error["problems"] if p["level"] == "error"]
    assert {p["file"] for p in blocking} == {"weather.csv", "fleet.toml"}
    kite = next(p for p in blocking if p.get("value") == "kite")
    assert (kite["row"], kite["field"]) == (1, "class")
    said = ask("check", folder, "--json")
    assert said.code == 2
    assert [p for p in said.answer["problems"] if p["level"] == "error"] == blocking


def test_a_fire_without_weather_has_no_size_up_but_water(tmp_path: Path) -> None:
    folder = make_valley(tmp_path / "incident")
    (folder / "weather.csv").unlink()
    assert "weather.csv" in json.dumps(refused("sizeup", folder)["problems"])
    answer = ask("water", folder, "--json").answer
    assert answer["lanes"]
    assert all(lane["headwind_kt"] is None for lane in answer["lanes"])


def test_a_plan_without_weather_says_unknown_and_why(tmp_path: Path) -> None:
    folder = make_valley(tmp_path / "incident")
    (folder / "weather.csv").unlink()
    answer = ask("plan", folder, "--json").answer
    assert answer["answers"]["winning"] == "unknown"
    assert "weather" in answer["why_unknown"]
    assert answer["chance_of_holding"] is None


def test_without_a_people_layer_nobody_is_said_to_be_out_of_the_way(tmp_path: Path) -> None:
    folder = make_valley(tmp_path / "incident")
    (folder / "people.geojson").unlink()
    findings = ask("sizeup", folder, "--hours", "1", "--members", "4", "--json").answer["findings"]
    assert [(f["code"], f["level"], f["effect"]) for f in findings] == [("entrapment", "unknown", "blocks")]


def test_the_demo_never_overwrites_what_it_did_not_write(tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    refused("demo", folder)
    assert [p.name for p in folder.iterdir()] == ["notes.txt"]


def test_a_refused_plan_leaves_nothing_behind(tmp_path: Path, valley: Path) -> None:
    folder = tmp_path / "incident"
    shutil.copytree(valley, folder)
    (folder / "fire.geojson").write_text("{")
    before = sorted(p.name for p in folder.iterdir())
    refused("plan", folder)
    refused("brief", folder)
    assert sorted(p.name for p in folder.iterdir()) == before


def test_control_characters_of_a_folder_do_not_reach_the_terminal(tmp_path: Path) -> None:
    folder = make_valley(tmp_path / "incident")
    fleet = (folder / "fleet.toml").read_text()
    (folder / "fleet.toml").write_text(fleet.replace("medium_helicopter", "ki\\u001b[2Jte"))
    said = told("plan", folder)
    assert "\x1b" not in said.err
    assert "kite" not in said.err
    assert "\x1b" not in ask("check", folder).out
