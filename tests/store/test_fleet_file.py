"""fleet.toml: known classes, real bases, loads that fit, times with a zone."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from store.asking import edit, errors, the_error, warnings_of
from store.folder_maker import FLEET
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

CLASSES = (
    "single_engine_scooper", "twin_engine_scooper", "light_helicopter", "medium_helicopter", "heavy_helicopter",
    "single_engine_tanker", "medium_tanker", "large_tanker", "very_large_tanker", "supervision",
)  # fmt: skip


def add(folder: Path, lines: str) -> None:
    """Add lines to the last aircraft, Tern 2."""
    (folder / "fleet.toml").write_text(FLEET + lines + "\n")


def test_the_fleet_is_read(folder: Path) -> None:
    add(
        folder,
        'available_from = 2026-08-14T12:30:00-01:00\nairborne = true\nagent = "foam"\nflight_limit_h = 7',
    )
    one, two = read_incident(folder).fleet
    assert (one.call_sign, one.class_id, one.base, one.pair) == (
        "Tern 1",
        "twin_engine_scooper",
        "Halm Field",
        "Tern",
    )
    assert (one.load_l, one.fuel_h, one.flown_h, one.agent, one.airborne) == (5600, 3.8, 2.5, "water", False)
    assert one.duty_start == datetime(2026, 8, 14, 7, 0, tzinfo=UTC)
    assert (two.load_l, two.fuel_h, two.agent, two.airborne, two.flight_limit_h) == (
        None,
        None,
        "foam",
        True,
        7,
    )
    assert two.available_from == datetime(2026, 8, 14, 13, 30, tzinfo=UTC)


@pytest.mark.parametrize("name", CLASSES)
def test_every_class_of_the_interface_is_known(folder: Path, name: str) -> None:
    edit(
        folder / "fleet.toml",
        'class = "twin_engine_scooper"\nbase = "Halm Field"\nload_l = 5600',
        f'class = "{name}"\nbase = "Halm Field"',
    )
    assert errors(folder) == []


def test_an_unknown_class_is_named_with_all_that_are_known(folder: Path) -> None:
    edit(
        folder / "fleet.toml",
        'class = "twin_engine_scooper"\nbase = "Halm Field"\nload_l',
        'class = "twin_scooper"\nbase = "Halm Field"\nload_l',
    )
    problem = the_error(folder)
    assert (problem.file, problem.row, problem.field, problem.value) == (
        "fleet.toml",
        0,
        "class",
        "twin_scooper",
    )
    for name in CLASSES:
        assert name in problem.mend


@pytest.mark.parametrize(
    ("lines", "field"),
    [
        ("load_l = -5600", "load_l"),
        ("load_l = 0", "load_l"),
        ('load_l = "5600"', "load_l"),
        ("load_l = 56000", "load_l"),
        ("load_l = nan", "load_l"),
        ("fuel_h = 228", "fuel_h"),
        ("fuel_h = -1", "fuel_h"),
        ("flown_h = true", "flown_h"),
        ("airborne = 1", "airborne"),
        ('agent = "mud"', "agent"),
        ("out_of_service = true", "out_of_service"),
        ("available_from = 2026-08-14T12:30:00", "available_from"),
        ("available_from = 2026-08-14", "available_from"),
        ("available_from = 12:30:00", "available_from"),
        ('available_from = "12:30"', "available_from"),
        ("pair = 2\npair2 = 1", None),
    ],
)
def test_a_wrong_value_is_named_with_row_and_field(folder: Path, lines: str, field: str | None) -> None:
    add(folder, lines)
    problem = the_error(folder)
    assert problem.file == "fleet.toml"
    if field is None:
        assert problem.row is None
        assert problem.field
        assert problem.field.startswith("line")
    else:
        assert (problem.row, problem.field) == (1, field)
        assert problem.value is not None


@pytest.mark.parametrize("field", ["call_sign", "class", "base"])
def test_what_every_aircraft_needs_is_asked_for(folder: Path, field: str) -> None:
    lines = FLEET.split("\n")
    first = next(i for i, line in enumerate(lines) if line.startswith(f"{field} ="))
    (folder / "fleet.toml").write_text("\n".join(lines[:first] + lines[first + 1 :]))
    problem = the_error(folder)
    assert (problem.row, problem.field) == (0, field)


def test_a_start_of_duty_without_zone_is_named(folder: Path) -> None:
    path = folder / "fleet.toml"
    path.write_text(path.read_text().replace("06:00:00-01:00", "06:00:00"))
    assert [(p.row, p.field) for p in errors(folder)] == [(0, "duty_start"), (1, "duty_start")]


@pytest.mark.parametrize("sign", ["Tern 1", "tern 1", " TERN  1 "])
def test_two_aircraft_of_one_call_sign_are_refused(folder: Path, sign: str) -> None:
    edit(folder / "fleet.toml", '"Tern 2"', f'"{sign}"')
    problem = the_error(folder)
    assert (problem.row, problem.field) == (1, "call_sign")
    assert "row 0" in problem.message


def test_a_base_that_is_not_in_bases_is_named_with_those_that_are(folder: Path) -> None:
    path = folder / "fleet.toml"
    path.write_text(path.read_text().replace('base = "Halm Field"\npair', 'base = "Halm Feild"\npair'))
    problem = the_error(folder)
    assert (problem.row, problem.field, problem.limit) == (1, "base", "Halm Field")
    assert "Did you mean" in problem.message


def test_without_bases_the_place_of_a_base_is_unknown_and_that_is_said(folder: Path) -> None:
    (folder / "bases.geojson").unlink()
    assert {p.field for p in warnings_of(folder, "fleet.toml")} == {"base"}


@pytest.mark.parametrize(("load_l", "level"), [(5600, None), (6150, None), (1500, "warning")])
def test_a_load_is_compared_with_its_class(folder: Path, load_l: int, level: str | None) -> None:
    """1500 is the load of this class in US gallons: read as litres it would plan four times the drops."""
    edit(folder / "fleet.toml", "load_l = 5600", f"load_l = {load_l}")
    found = [p for p in warnings_of(folder, "fleet.toml") if p.field == "load_l"]
    assert [p.level for p in found] == ([] if level is None else [level])


def test_a_load_that_no_tank_of_its_class_holds_is_refused(folder: Path) -> None:
    edit(folder / "fleet.toml", "load_l = 5600", "load_l = 7000")
    problem = the_error(folder)
    assert (problem.field, problem.limit) == ("load_l", "5300 to 6150 L")


def test_a_crew_rule_looser_than_the_limit_is_remarked(folder: Path) -> None:
    add(folder, "duty_limit_h = 16")
    assert [p.limit for p in warnings_of(folder, "fleet.toml")] == ["14 h"]


def test_yesterdays_duty_is_remarked(folder: Path) -> None:
    path = folder / "fleet.toml"
    path.write_text(path.read_text().replace("duty_start = 2026-08-14", "duty_start = 2026-08-13"))
    assert [(p.row, p.field) for p in warnings_of(folder, "fleet.toml")] == [
        (0, "duty_start"),
        (1, "duty_start"),
    ]


def test_a_pair_of_one_is_remarked(folder: Path) -> None:
    path = folder / "fleet.toml"
    path.write_text(path.read_text().replace('pair = "Tern"\nfuel', 'pair = "Turn"\nfuel'))
    assert [p.field for p in warnings_of(folder, "fleet.toml")] == ["pair", "pair"]


def test_an_unknown_field_is_remarked(folder: Path) -> None:
    add(folder, "fuel_hours = 3")
    (problem,) = warnings_of(folder, "fleet.toml")
    assert '"fuel_h"' in problem.message


@pytest.mark.parametrize("text", ["# nobody\n", "aircraft = []\n"])
def test_a_fleet_of_none_is_remarked(folder: Path, text: str) -> None:
    (folder / "fleet.toml").write_text(text)
    assert [p.field for p in warnings_of(folder, "fleet.toml")] == ["aircraft"]


@pytest.mark.parametrize("text", ["[aircraft]\ncall_sign = 'Tern 1'", "aircraft = 3", "aircraft = [1, 2]"])
def test_aircraft_that_are_no_list_of_tables_are_refused(folder: Path, text: str) -> None:
    (folder / "fleet.toml").write_text(text)
    assert the_error(folder).field == "aircraft"


def test_malformed_toml_is_named_with_its_line(folder: Path) -> None:
    edit(folder / "fleet.toml", "fuel_h = 3.8", "fuel_h = 3,8")
    problem = the_error(folder)
    assert problem.field == "line 7"
    assert "3.8, not 3,8" in problem.mend


def test_relief_hours_and_rates_are_read(folder: Path) -> None:
    add(
        folder,
        "flown_7d_h = 30\nflown_28d_h = 60\nrested_h = 11\n"
        "[[aircraft.relief]]\nfrom = 2026-08-14T15:00:00Z\nduty_start = 2026-08-14T14:00:00Z\nflown_h = 0\n"
        '[aircraft.rates]\ncurrency = "eur"\nsource = "contract"\nper_day = 0',
    )
    two = read_incident(folder).fleet[1]
    assert (two.flown_7d_h, two.flown_28d_h, two.rested_h) == (30, 60, 11)
    assert two.relief[0].available_from == datetime(2026, 8, 14, 15, 0, tzinfo=UTC)
    assert two.relief[0].flown_h == 0
    assert two.rates is not None
    assert (two.rates.currency, two.rates.per_day, two.rates.per_flight_hour) == ("EUR", 0, None)


@pytest.mark.parametrize(
    ("lines", "field"),
    [
        ("flown_h = 5\nflown_7d_h = 4", "flown_7d_h"),
        ("flown_7d_h = 40\nflown_28d_h = 30", "flown_28d_h"),
        ("[[aircraft.relief]]\nflown_h = 0", "relief[0].from"),
        (
            "[[aircraft.relief]]\nfrom = 2026-08-14T12:00:00Z\nduty_start = 2026-08-14T13:00:00Z",
            "relief[0].duty_start",
        ),
        (
            "[[aircraft.relief]]\nfrom = 2026-08-14T15:00:00Z\n[[aircraft.relief]]\nfrom = 2026-08-14T14:00:00Z",
            "relief[1].from",
        ),
        ("relief = 3", "relief"),
        ("[aircraft.rates]\nper_day = 100", "rates.currency"),
        ('[aircraft.rates]\nper_day = 100\ncurrency = "euros"', "rates.currency"),
        ('[aircraft.rates]\nper_day = -1\ncurrency = "EUR"\nsource = "x"', "rates.per_day"),
    ],
)
def test_hours_and_rates_that_contradict_are_errors(folder: Path, lines: str, field: str) -> None:
    add(folder, lines)
    assert the_error(folder).field == field


def test_with_what_a_helicopter_dips_is_read_and_refused_where_its_class_does_not(folder: Path) -> None:
    path, scooper = folder / "fleet.toml", 'class = "twin_engine_scooper"\nbase = "Halm Field"\nload_l = 5600'
    edit(path, scooper, 'class = "medium_helicopter"\nbase = "Halm Field"\nfill = "snorkel"')
    assert [a.fill for a in read_incident(folder).fleet] == ["snorkel", None]
    edit(path, "medium_helicopter", "twin_engine_scooper")
    problem = the_error(folder)
    assert (problem.field, "does not fill by" in problem.message) == ("fill", True)
