"""drop_tests.csv: every cell checked, every problem named at once, whatever the spreadsheet does to it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from store.asking import the_error
from wetline.aircraft import aircraft_classes
from wetline.errors import InputError
from wetline.store import check_folder, drop_tests_template, read_drop_tests, read_incident

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.drops import DropTest
    from wetline.errors import Problem

pytestmark = pytest.mark.behaviour

HEAD = (
    "class,liquid,load_l,height_m,height_above,speed_mps,speed_kind,wind_mps,level_gpc,line_m,line_kind,"
    "drops,line_low_m,line_high_m,setting,source,date"
)
ONE = "twin_engine_scooper,water,6000,30,ground,55,air,1.5,1,150,unbroken,3,120,180,,Sorrin trials,2025-05-01"
TWO = "twin_engine_scooper,water,6000,30,ground,55,air,1.5,2,100,unbroken,3,80,120,,Sorrin trials,2025-05-01"


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "drop_tests.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def rows_of(tmp_path: Path, text: str | bytes) -> tuple[DropTest, ...]:
    return read_drop_tests(written(tmp_path, text))[0].rows


def problems(tmp_path: Path, text: str | bytes) -> list[Problem]:
    with pytest.raises(InputError) as caught:
        read_drop_tests(written(tmp_path, text))
    return [p for p in caught.value.problems if p.level == "error"]


def changed(row: str, **cells: str) -> str:
    """A row with some of its cells changed, by their names."""
    names, values = HEAD.split(","), row.split(",")
    return ",".join(cells.get(name, value) for name, value in zip(names, values, strict=True))


def remarks(tmp_path: Path, text: str) -> list[Problem]:
    return list(read_drop_tests(written(tmp_path, text))[1])


def test_a_sound_table_is_read(tmp_path: Path) -> None:
    first, second = rows_of(tmp_path, f"{HEAD}\n{ONE}\n{TWO}\n")
    assert (first.class_id, first.liquid, first.load_l, first.height_m) == (
        "twin_engine_scooper",
        "water",
        6000,
        30,
    )
    assert (first.height_above, first.speed_mps, first.speed_kind) == ("ground", 55, "air")
    assert (first.level, first.line_m, first.line_kind, first.drops) == (1, 150, "unbroken", 3)
    assert (first.line_low_m, first.line_high_m, first.wind_mps, first.setting) == (120, 180, 1.5, None)
    assert (first.source, first.date, first.row, second.row) == ("Sorrin trials", date(2025, 5, 1), 0, 1)


def test_units_are_told_by_the_header(tmp_path: Path) -> None:
    """100 ft is 30.48 m, 110 kt 56.589 m/s, 1600 US gal 6056.66 L, 500 ft 152.4 m; 1.2223749 L/m² is level 3
    (1 ft = 0.3048 m, 1 kt = 1852 m/h, 1 US gal = 231 in³, all exact)."""
    head = (
        HEAD.replace("load_l", "load_gal").replace("height_m", "height_ft").replace("speed_mps", "speed_kt")
    )
    head = (
        head.replace("line_m", "line_ft")
        .replace("level_gpc", "coverage_l_per_m2")
        .replace("wind_mps", "wind_kt")
    )
    row = (
        "twin_engine_scooper,water,1600,100,ground,110,air,4,1.2223749,500,unbroken,3,120,180,,Sorrin trials,"
    )
    (read,) = rows_of(tmp_path, f"{head}\n{row}\n")
    assert (read.height_m, read.line_m) == pytest.approx((30.48, 152.4))
    assert read.speed_mps == pytest.approx(56.58889, abs=1e-5)
    assert read.load_l == pytest.approx(6056.66, abs=0.01)
    assert read.level == pytest.approx(3.0, abs=1e-6)
    assert read.wind_mps == pytest.approx(2.0578, abs=1e-4)
    assert read.date is None


SPREADSHEETS = {
    "byte-order mark and Windows line ends": f"\ufeff{HEAD}\r\n{ONE}\r\n{TWO}\r\n",
    "old line ends": f"{HEAD}\r{ONE}\r{TWO}\r",
    "spaces round the cells": f"{HEAD}\n{ONE}\n{TWO}\n".replace(",", " , "),
    "capitals in the header": f"{HEAD.upper()}\n{ONE}\n{TWO}\n",
    "empty rows and rows of empty cells": f"\n{HEAD}\n\n{ONE}\n{',' * 16}\n\n{TWO}\n,,\n",
    "empty columns behind the last": f"{HEAD},,,\n{ONE},,,\n{TWO},,\n",
    "remarks": f"# measured in calm, mostly\n{HEAD}\n{ONE}\n#\n# the second drop\n{TWO}\n",
    "quoted remarks": f'"# measured, mostly",,,\n{HEAD}\n{ONE}\n{TWO}\n',
    "quotation marks": f"{HEAD}\n{ONE}\n{TWO}\n".replace("Sorrin trials", '"Sorrin trials"'),
    "semicolons": f"{HEAD}\n{ONE}\n{TWO}\n".replace(",", ";"),
    "semicolons and decimal commas": f"{HEAD}\n{ONE}\n{TWO}\n".replace(",", ";").replace("1.5", "1,5"),
    "tabs": f"{HEAD}\n{ONE}\n{TWO}\n".replace(",", "\t"),
    "a line that names the separator": "sep=;\n" + f"{HEAD}\n{ONE}\n{TWO}\n".replace(",", ";"),
    "no-break spaces": f"{HEAD}\n{ONE}\n{TWO}\n".replace(",6000,", ",\u00a06000\u00a0,"),
}


@pytest.mark.parametrize("text", SPREADSHEETS.values(), ids=SPREADSHEETS)
def test_spreadsheets_are_read_alike(tmp_path: Path, text: str) -> None:
    assert rows_of(tmp_path, text) == rows_of(tmp_path, f"{HEAD}\n{ONE}\n{TWO}\n")


BROKEN = {
    "empty": ("", None, "empty"),
    "no rows": (f"{HEAD}\n", None, "no drop"),
    "another encoding": (f"{HEAD}\n{ONE}\n".encode("utf-16"), None, "UTF-16"),
    "damaged": (f"{HEAD}\n{ONE}\n".encode() + b"\xff\xfe\x00", None, "not UTF-8"),
    "open quotation mark": (f'{HEAD}\n"{ONE}\n', None, "no table"),
    "a short row": (f"{HEAD}\n{ONE.removesuffix(',2025-05-01')}\n", None, "16 cells"),
    "a decimal comma between commas": (f"{HEAD}\n{ONE.replace('1.5', '1,5')}\n", None, "18 cells"),
    "a quoted decimal comma": (f"{HEAD}\n{ONE.replace('1.5', chr(34) + '1,5' + chr(34))}\n", "wind_mps", "text"),
    "a thousands mark": (
        f"{HEAD}\n{ONE}\n".replace(",", ";").replace("1.5", "1,5").replace("6000", "6,000"), "load_l", "thousands",
    ),
    "points and decimal commas": (
        f"{HEAD}\n{ONE}\n{TWO}\n".replace(",", ";").replace("1.5", "1,5", 1), "wind_mps", "decimal commas",
    ),
    "a column twice": (f"{HEAD},line_m\n{ONE},150\n", "line_m", "twice"),
    "two units": (f"{HEAD},line_ft\n{ONE},500\n", "line_m", "2 units"),
    "a column without a name": (f"{HEAD.replace(',drops,', ',,')}\n{ONE}\n", "header", "no name"),
    "a formula that failed": (f"{HEAD}\n{changed(ONE, line_m='#N/A')}\n", "line_m", "text where"),
    "the example of the template": (f"{HEAD}\n{changed(ONE, source='Invented example')}\n", "source", "example"),
    "no source": (f"{HEAD}\n{changed(ONE, source='')}\n", "source", "missing"),
    "an unknown class": (f"{HEAD}\n{changed(ONE, **{'class': 'twin_scooper'})}\n", "class", "no class"),
    "a class that drops nothing": (f"{HEAD}\n{changed(ONE, **{'class': 'supervision'})}\n", "class", "no class"),
    "an unknown liquid": (f"{HEAD}\n{changed(ONE, liquid='slurry')}\n", "liquid", "no liquid"),
    "a height above nothing": (f"{HEAD}\n{changed(ONE, height_above='')}\n", "height_above", "missing"),
    "an untold speed": (f"{HEAD}\n{changed(ONE, speed_kind='indicated')}\n", "speed_kind", "no speed_kind"),
    "an untold line": (f"{HEAD}\n{changed(ONE, line_kind='')}\n", "line_kind", "missing"),
    "a negative line": (f"{HEAD}\n{changed(ONE, line_m='-5')}\n", "line_m", "outside 0 to 3000"),
    "a line of text": (f"{HEAD}\n{changed(ONE, line_m='150 m')}\n", "line_m", "text"),
    "an infinite line": (f"{HEAD}\n{changed(ONE, line_m='inf')}\n", "line_m", "text"),
    "no height": (f"{HEAD}\n{changed(ONE, height_m='')}\n", "height_m", "missing"),
    "a height of a cruise": (f"{HEAD}\n{changed(ONE, height_m='1500')}\n", "height_m", "outside 3 to 400"),
    "a speed in knots": (f"{HEAD}\n{changed(ONE, speed_mps='110')}\n", "speed_mps", "outside 0 to 100"),
    "a level of zero": (f"{HEAD}\n{changed(ONE, level_gpc='0')}\n", "level_gpc", "outside"),
    "no drops": (f"{HEAD}\n{changed(ONE, drops='0')}\n", "drops", "no drop"),
    "half a drop": (f"{HEAD}\n{changed(ONE, drops='2.5')}\n", "drops", "whole"),
    "one end": (f"{HEAD}\n{changed(ONE, line_low_m='')}\n", "line_low_m", "one end"),
    "ends that do not hold the line": (f"{HEAD}\n{changed(ONE, line_high_m='140')}\n", "line_m", "outside its own"),
    "a setting of a class without": (f"{HEAD}\n{changed(ONE, setting='4')}\n", "setting", "takes no setting"),
    "a day of a spreadsheet": (f"{HEAD}\n{changed(ONE, date='01/05/2025')}\n", "date", "not a day"),
    "a line that grows with the level": (f"{HEAD}\n{ONE}\n{changed(TWO, line_m='170', line_high_m='200')}\n", "line_m", "grows"),
    "more than the load": (f"{HEAD}\n{changed(ONE, load_l='60', line_m='170')}\n", "line_m", "more than the load"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "field", "says"), BROKEN.values(), ids=BROKEN)
def test_a_broken_table_is_refused_with_its_place_and_mend(
    tmp_path: Path, text: str | bytes, field: str | None, says: str
) -> None:
    (problem,) = problems(tmp_path, text)
    assert problem.field == field
    assert says in problem.message
    assert problem.mend
    assert problem.file == "drop_tests.csv"


@pytest.mark.parametrize(
    "name", ["class", "liquid", "load_l", "height_above", "level_gpc", "line_kind", "source"]
)
def test_a_missing_column_is_named(tmp_path: Path, name: str) -> None:
    keep = [i for i, column in enumerate(HEAD.split(",")) if column != name]
    text = "".join(",".join(line.split(",")[i] for i in keep) + "\n" for line in (HEAD, ONE))
    (problem,) = problems(tmp_path, text)
    assert problem.field == name
    assert "missing" in problem.message


def test_all_problems_are_named_at_once(tmp_path: Path) -> None:
    text = f"{HEAD}\n{changed(ONE, liquid='slurry', line_m='-5')}\n{changed(TWO, height_m='', source='')}\n"
    found = {(p.row, p.field) for p in problems(tmp_path, text)}
    assert found == {(0, "liquid"), (0, "line_m"), (1, "height_m"), (1, "source")}


def test_a_flow_setting_is_needed_where_the_panel_has_one(tmp_path: Path) -> None:
    tanker = changed(ONE, **{"class": "single_engine_tanker", "load_l": "3000", "height_m": "25"})
    (problem,) = problems(tmp_path, f"{HEAD}\n{tanker}\n")
    assert (problem.field, problem.limit) == ("setting", "0.5, 1, 2, 3, 4")
    told = tanker.replace(",180,,", ",180,4,")
    assert rows_of(tmp_path, f"{HEAD}\n{told}\n")[0].setting == 4


@pytest.mark.parametrize(
    ("cells", "field", "unit"),
    [({"height_m": "100"}, "height_m", "height_ft"), ({"load_l": "1600"}, "load_l", "load_gal")],
)
def test_a_likely_slip_of_unit_is_remarked(
    tmp_path: Path, cells: dict[str, str], field: str, unit: str
) -> None:
    """100 m and 1600 L are like no twin-engine scooper; 100 ft and 1600 US gal are."""
    (problem,) = remarks(tmp_path, f"{HEAD}\n{changed(ONE, **cells)}\n")
    assert (problem.level, problem.field) == ("warning", field)
    assert unit in problem.mend


def test_metres_under_feet_are_remarked_too(tmp_path: Path) -> None:
    (problem,) = remarks(tmp_path, f"{HEAD.replace('height_m', 'height_ft')}\n{ONE}\n")
    assert problem.field == "height_ft"
    assert "height_m" in problem.mend


def test_a_row_written_twice_counts_once_and_is_remarked(tmp_path: Path) -> None:
    text = f"{HEAD}\n{ONE}\n{TWO}\n{TWO}\n"
    assert len(rows_of(tmp_path, text)) == 2
    (problem,) = remarks(tmp_path, text)
    assert problem.row == 2
    assert "row 1" in problem.message


def test_lines_told_by_several_rows_are_remarked(tmp_path: Path) -> None:
    text = f"{HEAD}\n{ONE}\n{changed(ONE, line_m='160', source='Sorrin trials, drop 4')}\n"
    text = text.replace(",Sorrin trials, drop 4,", ',"Sorrin trials, drop 4",')
    (problem,) = remarks(tmp_path, text)
    assert "averaged, the first by rows 0, 1" in problem.message


def test_an_unknown_column_is_remarked_with_a_likely_name(tmp_path: Path) -> None:
    (problem,) = remarks(tmp_path, f"{HEAD.replace(',drops,', ',drop,')}\n{ONE}\n")
    assert problem.field == "drop"
    assert 'Did you mean "drops"' in problem.message


@pytest.mark.parametrize("class_id", [c for c in aircraft_classes() if c != "supervision"])
def test_the_template_is_refused_for_its_example_alone(tmp_path: Path, class_id: str) -> None:
    text = drop_tests_template(aircraft_classes()[class_id])
    (problem,) = problems(tmp_path, text)
    assert problem.field == "source"
    example = text.splitlines()[-1]
    real = example.replace("INVENTED EXAMPLE: delete this row", "Sorrin trials")
    (read,) = rows_of(tmp_path, text.replace(example, real))
    assert read.class_id == class_id


def test_the_folder_holds_drop_tests(folder: Path) -> None:
    written(folder, f"{HEAD}\n{ONE}\n{TWO}\n")
    incident = read_incident(folder)
    assert incident.drop_tests is not None
    assert len(incident.drop_tests.rows) == 2
    assert incident.present["drop_tests"] == 2
    assert incident.drop_tests.file == "drop_tests.csv"


def test_a_folder_without_drop_tests_has_none(folder: Path) -> None:
    assert read_incident(folder).drop_tests is None
    assert "drop_tests" in check_folder(folder).absent


def test_broken_drop_tests_block_the_folder(folder: Path) -> None:
    written(folder, f"{HEAD}\n{changed(ONE, liquid='slurry')}\n")
    problem = the_error(folder)
    assert (problem.file, problem.layer, problem.row, problem.field) == (
        "drop_tests.csv",
        "drop_tests",
        0,
        "liquid",
    )


def test_classes_of_the_folders_own_may_have_tests(folder: Path) -> None:
    (folder / "classes").mkdir()
    (folder / "classes" / "marsh_scooper.toml").write_text(
        'based_on = "twin_engine_scooper"\nname = "Marsh scooper"\n', encoding="utf-8"
    )
    written(folder, f"{HEAD}\n{changed(ONE, **{'class': 'marsh_scooper'})}\n")
    incident = read_incident(folder)
    assert incident.drop_tests is not None
    assert incident.drop_tests.rows[0].class_id == "marsh_scooper"


def test_tests_of_another_ending_are_named(folder: Path) -> None:
    (folder / "drop_tests.xlsx").write_bytes(b"PK")
    assert any("drop_tests.xlsx is not read" in p.message for p in check_folder(folder).problems)


@pytest.mark.parametrize(
    ("class_id", "cells", "field"),
    [
        ("twin_engine_scooper", {"system": "bucket"}, "system"),
        ("twin_engine_scooper", {"opening": "0.5"}, "opening"),
        ("twin_engine_scooper", {"system": "salvo", "interval_s": "1"}, "interval_s"),
        ("medium_helicopter", {"system": "bucket", "doors": "2"}, "doors"),
        ("medium_helicopter", {"system": ""}, "system"),
        ("single_engine_tanker", {"system": "salvo", "setting": "4"}, "setting"),
    ],
)
def test_a_way_of_letting_go_that_the_class_has_not_is_refused(
    tmp_path: Path, class_id: str, cells: dict[str, str], field: str
) -> None:
    load = {"medium_helicopter": "1200", "single_engine_tanker": "3000"}.get(class_id, "6000")
    row = changed(ONE, **{"class": class_id, "load_l": load, "setting": cells.get("setting", "")})
    more = {name: cell for name, cell in cells.items() if name != "setting"}
    text = ",".join([HEAD, *more]) + "\n" + ",".join([row, *more.values()]) + "\n"
    (problem,) = problems(tmp_path, text)
    assert problem.field == field


def test_a_row_that_names_no_system_is_of_the_first_that_the_class_has(tmp_path: Path) -> None:
    (read,) = rows_of(tmp_path, f"{HEAD}\n{ONE}\n")
    assert read.system == "salvo"


def test_a_trail_of_doors_is_read(tmp_path: Path) -> None:
    text = f"{HEAD},system,doors,interval_s\n{ONE},trail,4,0.5\n"
    (read,) = rows_of(tmp_path, text)
    assert (read.system, read.doors, read.interval_s) == ("trail", 4, 0.5)
