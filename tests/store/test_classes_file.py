"""An incident's own aircraft classes: taken over, refused, or standing as a caution."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from store.asking import edit, errors, the_error, warnings_of
from wetline.aircraft import aircraft_classes
from wetline.store import check_folder, read_incident

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.errors import Problem

pytestmark = pytest.mark.behaviour

STRICTER = """based_on = "twin_engine_scooper"

[quantities]
lane_needed_m = { value = 1700, low = 1500, high = 2000, unit = "m", source = "Sorrin air base order 4", date = 2026-05-01 }
"""
TRUCK = """name = "Two-place hopper"
fills = "base"
drops_like = "single_engine_tanker"

[quantities]
tank_volume_l = { value = 2000, unit = "L", source = "Sorrin air base order 4" }
cruise_kt = { value = 120, unit = "kt", source = "Sorrin air base order 4" }
drop_speed_kt = { value = 100, unit = "kt", source = "Sorrin air base order 4" }
drop_height_ft = { value = 80, unit = "ft", source = "Sorrin air base order 4" }
ground_time_min = { value = 12, unit = "min", source = "Sorrin air base order 4" }
air_overhead_min = { value = 5, unit = "min", source = "Sorrin air base order 4" }
"""


def put(folder: Path, class_id: str, text: str) -> None:
    (folder / "classes").mkdir(exist_ok=True)
    (folder / "classes" / f"{class_id}.toml").write_text(text)


def row(name: str, value: float, unit: str, more: str = "") -> str:
    return f'{name} = {{ value = {value}, unit = "{unit}", source = "Sorrin air base order 4"{more} }}\n'


def changed(folder: Path, base: str, *rows: str, top: str = "", class_id: str | None = None) -> None:
    put(folder, class_id or base, f'based_on = "{base}"\n{top}\n[quantities]\n' + "".join(rows))


def test_without_the_folder_the_classes_are_those_shipped(folder: Path) -> None:
    assert read_incident(folder).classes == aircraft_classes()
    assert "classes" not in check_folder(folder).present


def test_a_changed_number_lies_over_the_shipped_class_with_its_source(folder: Path) -> None:
    put(folder, "twin_engine_scooper", STRICTER)
    incident = read_incident(folder)
    own, shipped = incident.classes["twin_engine_scooper"], aircraft_classes()["twin_engine_scooper"]
    assert own.value("lane_needed_m") == 1700
    assert own.quantities["lane_needed_m"].source == "Sorrin air base order 4, 2026-05-01"
    assert own.name == shipped.name
    assert {n for n in shipped.quantities if own.quantities[n] != shipped.quantities[n]} == {"lane_needed_m"}
    assert incident.limit_findings == ()
    assert check_folder(folder).present["classes"] == 1
    assert incident.classes["light_helicopter"] == aircraft_classes()["light_helicopter"]


def test_a_class_of_its_own_may_fly_in_the_fleet(folder: Path) -> None:
    put(folder, "long_twin", 'name = "Long-lane scooper"\n' + STRICTER)
    text = (folder / "fleet.toml").read_text()
    (folder / "fleet.toml").write_text(text.replace('"twin_engine_scooper"', '"long_twin"'))
    incident = read_incident(folder)
    cls = incident.classes["long_twin"]
    assert {a.class_id for a in incident.fleet} == {"long_twin"}
    assert (cls.name, cls.fills, cls.drops_as) == ("Long-lane scooper", "scoop", "twin_engine_scooper")
    assert incident.classes["twin_engine_scooper"].value("lane_needed_m") == 1500


def test_a_class_based_on_none_says_itself_how_it_fills_and_drops(folder: Path) -> None:
    put(folder, "small_hopper", TRUCK)
    cls = read_incident(folder).classes["small_hopper"]
    assert (cls.fills, cls.drops_as, cls.value("tank_volume_l")) == ("base", "single_engine_tanker", 2000)
    assert cls.get("climb_fpm") is None


@pytest.mark.parametrize(
    ("base", "name", "value", "unit", "limit"),
    [
        ("twin_engine_scooper", "crosswind_limit_kt", 15, "kt", "12 kt"),
        ("twin_engine_scooper", "lane_needed_m", 1300, "m", "1500 m"),
        ("twin_engine_scooper", "wave_limit_m", 1.2, "m", "1 m"),
        ("light_helicopter", "depth_needed_m", 1.0, "m", "2 m"),
        ("light_helicopter", "full_load_to_ft", 6000, "ft", "4000 ft"),
        ("large_tanker", "runway_needed_m", 1500, "m", "1800 m"),
        ("large_tanker", "drop_height_min_ft", 150, "ft", "200 ft"),
    ],
)
def test_a_number_looser_than_shipped_is_used_and_stands_as_a_caution(
    folder: Path, base: str, name: str, value: float, unit: str, limit: str
) -> None:
    changed(folder, base, row(name, value, unit))
    incident = read_incident(folder)
    (finding,) = incident.limit_findings
    assert (finding.code, finding.level) == ("limit_changed", "caution")
    assert finding.refers_to == f"{base}.{name}"
    assert (finding.value, finding.limit) == (f"{value:g} {unit}", limit)
    assert finding.source == "Sorrin air base order 4"
    assert incident.classes[base].value(name) == value


def test_the_snorkel_may_be_changed_alone_or_made_the_only_way(folder: Path) -> None:
    put(
        folder,
        "light_helicopter",
        'based_on = "light_helicopter"\n[ways.snorkel]\n' + row("depth_needed_m", 0.8, "m"),
    )
    put(folder, "tank_heavy", 'name = "Heavy with a tank"\nbased_on = "heavy_helicopter"\nway = "snorkel"\n')
    classes = read_incident(folder).classes
    light = classes["light_helicopter"]
    assert light.value("depth_needed_m") == 2.0
    assert light.filling_by("snorkel").value("depth_needed_m") == 0.8
    assert light.filling_by("snorkel").value("fill_time_s") == 30
    assert classes["tank_heavy"].ways == ("snorkel",)
    assert classes["tank_heavy"].value("depth_needed_m") == 0.5


def test_a_looser_snorkel_is_a_caution_too(folder: Path) -> None:
    put(
        folder,
        "light_helicopter",
        'based_on = "light_helicopter"\n[ways.snorkel]\n' + row("depth_needed_m", 0.3, "m"),
    )
    assert [f.limit for f in read_incident(folder).limit_findings] == ["0.5 m"]


def test_a_number_of_the_shipped_class_may_be_told_not_to_hold(folder: Path) -> None:
    changed(folder, "large_tanker", top='without = ["climb_fpm"]')
    assert read_incident(folder).classes["large_tanker"].get("climb_fpm") is None


@pytest.mark.parametrize(
    ("base", "rows", "field", "words"),
    [
        (
            "twin_engine_scooper",
            [row("lane_needed_m", 1500, "m", ", low = 1600")],
            "lane_needed_m",
            "low ≤ value",
        ),
        ("twin_engine_scooper", [row("lane_needed_m", 400, "m")], "fill_run_m", "part of the lane"),
        ("light_helicopter", [row("cruise_loaded_kt", 120, "kt")], "cruise_loaded_kt", "1.2 times"),
        (
            "twin_engine_scooper",
            [row("cruise_kt", 75, "kt"), row("drop_speed_kt", 70, "kt")],
            "liftoff_speed_kt",
            "slower than it cruises",
        ),
        (
            "twin_engine_scooper",
            [row("touchdown_speed_kt", 90, "kt")],
            "touchdown_speed_kt",
            "lifts off heavier",
        ),
        ("large_tanker", [row("drop_speed_kt", 270, "kt")], "drop_speed_kt", "slower than it cruises"),
        ("large_tanker", [row("drop_height_ft", 150, "ft")], "drop_height_min_ft", "no lower than"),
        ("twin_engine_scooper", [row("fill_time_s", 30, "s")], "fill_run_m", "1158 m in fill_time_s"),
        ("twin_engine_scooper", [row("tank_volume_l", 61000, "L")], "tank_volume_l", "of its like"),
        (
            "twin_engine_scooper",
            [row("tank_volume_l", 1600, "L"), row("load_full_fuel_l", 1200, "L")],
            "tank_volume_l",
            "of its like",
        ),
        ("light_helicopter", [row("load_full_fuel_l", 700, "L")], "load_full_fuel_l", "full tank"),
        ("light_helicopter", [row("runway_needed_m", 300, "m")], "runway_needed_m", "not go with a helicop"),
        ("large_tanker", [row("lane_needed_m", 1500, "m")], "lane_needed_m", "not go with a land tanker"),
        ("large_tanker", [row("climb_empty_fpm", 1100, "ft/min")], "climb_fpm", "no worse"),
        ("large_tanker", [row("reload_time_min", 26, "min")], "reload_time_min", "part of the time"),
        ("twin_engine_scooper", [row("crosswind_limit_kt", 6, "m/s")], "crosswind_limit_kt.unit", "in kt"),
        ("twin_engine_scooper", [row("lane_needed", 1500, "m")], "lane_needed", "lane_needed_m"),
        ("twin_engine_scooper", ["lane_needed_m = 1500\n"], "lane_needed_m", "value, unit and source"),
        ("twin_engine_scooper", [row("lane_needed_m", 0, "m")], "lane_needed_m.value", "outside"),
        (
            "twin_engine_scooper",
            ['lane_needed_m = { value = 1500, unit = "m" }\n'],
            "lane_needed_m.source",
            "missing",
        ),
        (
            "twin_engine_scooper",
            ['lane_needed_m = { value = "1500", unit = "m", source = "x" }\n'],
            "lane_needed_m.value",
            "text",
        ),
    ],
)
def test_numbers_that_cannot_all_be_true_are_refused(
    folder: Path, base: str, rows: list[str], field: str, words: str
) -> None:
    changed(folder, base, *rows)
    found = _only_one(folder)
    assert found.file == f"classes/{base}.toml"
    assert found.layer == "classes"
    assert found.field == f"quantities.{field}"
    assert words in found.message


def _only_one(folder: Path) -> Problem:
    problem = the_error(folder)
    assert problem.mend
    return problem


@pytest.mark.parametrize(
    ("class_id", "text", "field", "words"),
    [
        ("twin_engine_scooper", TRUCK, "based_on", "is a shipped class"),
        ("large_tanker", 'name = "A"\n' + STRICTER, "based_on", "is a shipped class"),
        ("Own-Class", 'name = "A"\n' + STRICTER, "id", "no name of a class"),
        ("own", 'name = "A"\nid = "other"\n' + STRICTER, "id", "not the name of the file"),
        ("own", STRICTER, "name", "missing"),
        ("own", 'name = "A"\nfills = "dip"\n' + STRICTER, "fills", "fills otherwise"),
        ("own", TRUCK.replace('"base"', '"hose"'), "fills", "no fills that is known"),
        ("own", TRUCK.replace('fills = "base"\n', ""), "fills", "missing"),
        ("own", TRUCK.replace('drops_like = "single_engine_tanker"\n', ""), "drops_like", "stand off"),
        ("own", 'name = "A"\nbased_on = "supervision"\n', "fills", "Only the class supervision"),
        ("own", 'name = "A"\nway = "snorkel"\n' + STRICTER, "way", "Only what dips"),
        ("own", 'name = "A"\nbased_on = "twin_scooper"\n', "based_on", "twin_engine_scooper"),
        ("own", TRUCK.replace("cruise_kt", "climb_kt"), "quantities.climb_kt", "no quantity"),
        ("own", TRUCK.replace("2000", "20000"), "quantities.tank_volume_l", "of its like"),
        ("own", 'name = "A"\nbased_on = "light_helicopter"\n[ways.hose]\n', "ways", "bucket or snorkel"),
        ("own", "name = \n", "line 1", "not TOML"),
    ],
)
def test_a_class_that_does_not_say_what_it_is_is_refused(
    folder: Path, class_id: str, text: str, field: str, words: str
) -> None:
    put(folder, class_id, text)
    found = _only_one(folder)
    assert found.file == f"classes/{class_id}.toml"
    assert found.field == field
    assert words in found.message


@pytest.mark.parametrize(
    "name", ["lane_needed_m", "lane_half_width_m", "tank_volume_l", "circuit_overhead_min"]
)
def test_a_scooper_without_what_a_plan_needs_is_refused(folder: Path, name: str) -> None:
    changed(folder, "twin_engine_scooper", top=f'without = ["{name}"]')
    found = _only_one(folder)
    assert found.field == f"quantities.{name}"
    assert "a scooper cannot be planned without it" in found.message


def test_a_refused_class_keeps_everything_from_being_computed(folder: Path) -> None:
    changed(folder, "twin_engine_scooper", row("lane_needed_m", 300, "m"))
    assert len(errors(folder)) == 1
    assert check_folder(folder).blocked


def test_what_is_not_read_beside_the_classes_is_remarked(folder: Path) -> None:
    put(folder, "twin_engine_scooper", STRICTER + "\n[quantity]\nlane_needed_m = 2\n")
    (folder / "classes" / "notes.txt").write_text("by hand\n")
    (folder / "Class").mkdir()
    remarks = [p for p in read_incident(folder).warnings if p.layer == "classes"]
    assert [(p.file, p.field or p.value) for p in remarks] == [
        ("classes", "Class"),
        ("classes/notes.txt", None),
        ("classes/twin_engine_scooper.toml", "quantity"),
    ]


def test_a_file_in_place_of_the_folder_is_refused(folder: Path) -> None:
    (folder / "classes").write_text("twin\n")
    assert the_error(folder).file == "classes"


def test_the_fleet_s_own_load_is_judged_by_the_incidents_class(folder: Path) -> None:
    changed(
        folder, "twin_engine_scooper", row("tank_volume_l", 2500, "L"), row("load_full_fuel_l", 2000, "L")
    )
    assert the_error(folder).field == "load_l"
    edit(folder / "fleet.toml", "load_l = 5600", "load_l = 2400")
    assert errors(folder) == []
    assert [p.field for p in warnings_of(folder, "fleet.toml")] == []


def test_a_class_may_drop_by_some_systems_of_its_like(folder: Path) -> None:
    put(
        folder,
        "gate_hopper",
        'name = "Hopper"\nbased_on = "single_engine_tanker"\nsystems = ["gate", "salvo"]\n',
    )
    assert read_incident(folder).classes["gate_hopper"].systems == ("gate", "salvo")


@pytest.mark.parametrize(
    ("base", "systems", "words"),
    [
        ("single_engine_tanker", '["trail"]', "numbers of trail"),
        ("light_helicopter", '["bucket"]', "by what it fills"),
        ("large_tanker", '["sluice"]', "not known in systems"),
    ],
)
def test_systems_that_nobody_has_numbers_for_are_refused(
    folder: Path, base: str, systems: str, words: str
) -> None:
    put(folder, "odd", f'name = "Odd"\nbased_on = "{base}"\nsystems = {systems}\n')
    assert any(words in problem.message for problem in check_folder(folder).problems)
