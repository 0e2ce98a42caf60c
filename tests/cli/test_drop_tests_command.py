"""`wetline drop-tests`: a template that must be filled, and what a filled table covers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from cli.asking_commands import ask
from wetline.drops import Release, pattern
from wetline.drops.picture import picture_svg
from wetline.store import read_drop_tests

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

TABLE = """class,liquid,load_l,height_m,height_above,speed_kt,speed_kind,level_gpc,line_m,line_kind,source
twin_engine_scooper,water,6100,25,ground,100,air,1,120,unbroken,Ketter trials
twin_engine_scooper,water,6100,25,ground,100,air,2,95,unbroken,Ketter trials
twin_engine_scooper,water,6100,40,ground,115,air,1,110,unbroken,Ketter trials
twin_engine_scooper,water,6100,40,ground,115,air,2,12,unbroken,Ketter trials
"""


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "mine.csv"
    path.write_text(TABLE)
    return path


def test_the_answer_says_what_is_covered(table: Path) -> None:
    said = ask("drop-tests", table, "--json")
    assert said.code == 0
    (only,) = said.answer["sets"]
    assert (only["class"], only["liquid"], only["line_kind"]) == ("twin_engine_scooper", "water", "unbroken")
    assert only["heights_m"] == [25, 40]
    assert only["levels"] == [1, 2]
    assert only["drops"] == 2
    assert only["wind_not_measured"] == 4
    assert only["usual"]["1"] == "table"
    assert "measured are levels 1 to 2" in only["usual"]["6"]


def test_a_line_far_from_physics_is_named(table: Path) -> None:
    """12 m at level 2 after 95 m from lower: whatever the form says of 6100 L, it is more than 24 m."""
    (only,) = ask("drop-tests", table, "--json").answer["sets"]
    assert [each["row"] for each in only["far_from_physics"]] == [3]
    assert only["far_from_physics"][0]["physics_m"] > 24.0


def test_people_read_the_same(table: Path) -> None:
    said = ask("drop-tests", table)
    assert said.code == 0
    for words in (
        "25, 40 m",
        "your tests",
        "physics: measured are levels 1 to 2",
        "More than 50 % from physics",
    ):
        assert words in said.out
    assert max(len(line) for line in said.out.splitlines()) <= 100


def test_a_template_is_written_once_and_must_be_filled(tmp_path: Path) -> None:
    path = tmp_path / "new.csv"
    said = ask("drop-tests", path, "--template", "--class", "medium_helicopter", "--json")
    assert said.code == 0
    assert said.answer["files"] == [{"kind": "drop_tests_template", "path": str(path)}]
    text = path.read_text()
    assert "medium_helicopter" in text
    again = ask("drop-tests", path, "--template", "--class", "medium_helicopter", "--json")
    assert again.code == 2
    assert path.read_text() == text
    refused = ask("drop-tests", path, "--json")
    assert refused.code == 2
    assert [p["field"] for p in refused.answer["error"]["problems"]] == ["source"]


@pytest.mark.parametrize(
    "words",
    [
        ("--template",),
        ("--template", "--class", "supervision"),
        ("--template", "--class", "canoe"),
        ("--class", "large_tanker"),
    ],
)
def test_what_cannot_be_asked_is_refused(tmp_path: Path, words: tuple[str, ...]) -> None:
    said = ask("drop-tests", tmp_path / "new.csv", *words, "--json")
    assert said.code == 2
    (problem,) = said.answer["error"]["problems"]
    assert problem["field"] == "class"
    assert problem["mend"]
    assert not (tmp_path / "new.csv").exists()


def test_all_problems_of_a_table_are_named_at_once(table: Path) -> None:
    table.write_text(TABLE.replace("water,6100,25", "slurry,6100,25").replace(",12,", ",-12,"))
    said = ask("drop-tests", table, "--json")
    assert said.code == 2
    assert [(p["row"], p["field"]) for p in said.answer["error"]["problems"]] == [
        (0, "liquid"),
        (1, "liquid"),
        (3, "line_m"),
    ]


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    said = ask("drop-tests", tmp_path / "none.csv", "--json")
    assert said.code == 2
    assert said.answer["error"]["problems"][0]["file"] == "none.csv"


def test_a_drop_takes_its_lines_from_the_table_and_says_so(table: Path) -> None:
    words = ("drop", "--class", "twin_engine_scooper", "--level", 1)
    plain, own = ask(*words, "--json").answer, ask(*words, "--drop-tests", table, "--json").answer
    assert own["line_from"] == {
        "0.5": "physics",
        "1": "table",
        "2": "table",
        "3": "physics",
        "4": "physics",
        "6": "physics",
    }
    assert 110 <= own["line_m_by_level"]["1"] <= 120
    assert own["line_m"] == own["line_m_by_level"]["1"]
    assert own["stack_line_from"] == "table"
    assert any("level 1: from mine.csv, not physics" in note for note in own["line_notes"])
    assert own["drop_tests"] == {"file": "mine.csv", "problems": []}
    assert own["method"].startswith("Lines come from mine.csv")
    assert own["pattern"] == plain["pattern"]
    assert set(plain["line_from"].values()) == {"physics"}
    assert plain["line_notes"] == []
    assert "drop_tests" not in plain
    assert "user_table" not in [entry["key"] for entry in own["not_yet"]]


def test_the_table_for_people_says_whose_line_it_is(table: Path) -> None:
    said = ask("drop", "--class", "twin_engine_scooper", "--drop-tests", table)
    assert said.code in {0, 3}
    assert "mine.csv tells the line at level 1, 2." in said.out
    assert "level 6: physics, not mine.csv: measured are levels 1 to 2" in said.out
    other = ask("drop", "--class", "large_tanker", "--drop-tests", table)
    assert "mine.csv tells no line: physics throughout." in other.out
    assert "no drop test of this class" in other.out


def test_a_broken_table_stops_the_drop(table: Path) -> None:
    table.write_text(TABLE.replace(",12,", ",-12,"))
    said = ask("drop", "--class", "twin_engine_scooper", "--drop-tests", table, "--json")
    assert said.code == 2
    assert said.answer["error"]["problems"][0]["field"] == "line_m"


def test_the_picture_says_whose_line_it_is(table: Path) -> None:
    tests, _ = read_drop_tests(table)
    own = pattern(Release(class_id="twin_engine_scooper", drop_tests=tests))
    foreign = pattern(Release(class_id="large_tanker", drop_tests=tests))
    assert "Lines at level 1, 2: your own drop tests." in picture_svg(own)
    assert "Your drop tests tell no line of this drop." in picture_svg(foreign)
    assert "drop tests" not in picture_svg(pattern(Release(class_id="large_tanker"))).replace(
        "not calibrated on drop tests", ""
    )


def test_every_row_of_the_ladders_says_what_tells_its_line(table: Path) -> None:
    asked = (
        "--class",
        "twin_engine_scooper",
        "--drop-tests",
        str(table),
        "--heights",
        "25,90",
        "--speed-mps",
        "51.4",
    )
    for level in ((), ("--level", "2")):
        said = ask("drop", *asked, "--height-m", "25", *level)
        ladder = said.out.partition("From other heights")[2].partition("At other airspeeds")[0]
        assert "your tests" in ladder
        assert "physics" in ladder
