"""`[fire]` with the Canadian system: what it needs, and what is said when something is missing."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from store.asking import edit, errors, the_error, warnings_of
from store.folder_maker import fuels, weather_csv, write_raster
from wetline.behaviour import CanadianSystem, fbp_fuel
from wetline.store import check_folder, read_incident
from wetline.store.fire_system import read_fire_system
from wetline.store.problems import Complaints
from wetline.weather import START_UP, Codes, DatedCodes

pytestmark = pytest.mark.behaviour

FIRE = """[fire]
system = "canadian"
codes_day = 2026-08-14
ffmc = 90.5
dmc = 48
dc = 320
foliar_moisture_pct = 105
cured_pct = 80

[fire.fuels]
1 = "C-2"
2 = { type = "M-1", conifer_pct = 60, coverage_model = 8 }
3 = { type = "O-1b", grass_load_kg_per_m2 = 0.4, coverage_model = 3 }
98 = "water"
"""


@pytest.fixture
def canadian(folder: Path) -> Path:
    edit(folder / "incident.toml", "[cover]", f"{FIRE}\n[cover]")
    return folder


def test_the_system_is_read_as_written(canadian: Path) -> None:
    system = read_incident(canadian).system
    assert isinstance(system, CanadianSystem)
    assert system.told == DatedCodes(codes=Codes(ffmc=90.5, dmc=48.0, dc=320.0), day=date(2026, 8, 14))
    assert system.stands == {
        1: fbp_fuel("C-2"),
        2: fbp_fuel("M-1", conifer_pct=60.0),
        3: fbp_fuel("O-1b", cured_pct=80.0, grass_load_kg_per_m2=0.4),
        98: None,
    }
    assert system.foliar_moisture_pct == 105.0
    assert system.drop_guide == {1: None, 2: 8, 3: 3}


def test_a_fuel_without_coverage_is_remarked(canadian: Path) -> None:
    (problem,) = [p for p in warnings_of(canadian, "incident.toml") if p.field == "fire.fuels"]
    assert problem.value == "C-2"
    assert "heaviest" in problem.message
    assert "coverage_model" in problem.mend


@pytest.mark.parametrize("code", ["ffmc = 90.5", "dmc = 48", "dc = 320", "codes_day = 2026-08-14"])
def test_a_missing_code_or_day_is_asked_for(canadian: Path, code: str) -> None:
    edit(canadian / "incident.toml", f"{code}\n", "")
    problem = the_error(canadian)
    assert problem.field == f"fire.{code.split(' ', maxsplit=1)[0]}"


def test_start_up_values_are_taken_only_where_they_are_asked_for(canadian: Path) -> None:
    edit(canadian / "incident.toml", "ffmc = 90.5\ndmc = 48\ndc = 320\n", "start_up = true\n")
    system = read_incident(canadian).system
    assert isinstance(system, CanadianSystem)
    assert system.told == DatedCodes(codes=START_UP, day=date(2026, 8, 14), start_up=True)
    edit(canadian / "incident.toml", "start_up = true\n", "start_up = true\nffmc = 90\n")
    assert the_error(canadian).field == "fire.start_up"


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("ffmc = 90.5", "ffmc = 105", "fire.ffmc"),
        ("cured_pct = 80\n", "", "fire.fuels.3.cured_pct"),
        ('1 = "C-2"', '1 = "C-9"', "fire.fuels.1.type"),
        ('1 = "C-2"', "1 = 5", "fire.fuels.1"),
        ('1 = "C-2"', 'one = "C-2"', "fire.fuels.one"),
        (", conifer_pct = 60", "", "fire.fuels.2.conifer_pct"),
        ("conifer_pct = 60", "dead_fir_pct = 60", "fire.fuels.2.dead_fir_pct"),
        ("coverage_model = 8", "coverage_model = 98", "fire.fuels.2.coverage_model"),
    ],
)
def test_what_makes_no_sense_is_named_with_its_place(canadian: Path, old: str, new: str, field: str) -> None:
    edit(canadian / "incident.toml", old, new)
    assert field in {p.field for p in errors(canadian)}
    assert all(p.mend for p in errors(canadian))


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("\ncured_pct = 80\n", "\ncured_pct = 0.8\n", "fire.cured_pct"),
        ("\ncured_pct = 80\n", "\ncured_pct = 1\n", "fire.cured_pct"),
        ('"O-1b", ', '"O-1b", cured_pct = 0.9, ', "fire.fuels.3.cured_pct"),
        ("conifer_pct = 60", "conifer_pct = 0.6", "fire.fuels.2.conifer_pct"),
        ('1 = "C-2"', '1 = { type = "M-3", dead_fir_pct = 0.4 }', "fire.fuels.1.dead_fir_pct"),
    ],
)
def test_a_fraction_where_percent_is_asked_for_is_refused(
    canadian: Path, old: str, new: str, field: str
) -> None:
    edit(canadian / "incident.toml", old, new)
    problem = the_error(canadian)
    assert problem.field == field
    assert "fraction" in problem.message
    assert not any("hardly any spread" in p.message for p in check_folder(canadian).problems)
    assert "Percent is asked for" in problem.mend


def test_grass_without_cured_share_and_a_wood_without_conifers_are_no_fractions(canadian: Path) -> None:
    edit(canadian / "incident.toml", "\ncured_pct = 80\n", "\ncured_pct = 0\n")
    edit(canadian / "incident.toml", "conifer_pct = 60", "conifer_pct = 1.5")
    assert errors(canadian) == []


@pytest.mark.parametrize("system", ["", 'system = "surface_models"\n'])
@pytest.mark.parametrize(
    "lines",
    ["ffmc = 90.5\ndmc = 48", "codes_day = 2026-08-14", "start_up = true", 'ffmc_holds = "hour"', "cured_pct = 80",
     '[fire.fuels]\n2 = "C-2"'],
)  # fmt: skip
def test_what_the_canadian_system_reads_is_refused_where_nobody_names_it(
    folder: Path, system: str, lines: str
) -> None:
    """Fuel numbers of one system are often fuel numbers of the other: read as those, the fire is another."""
    edit(folder / "incident.toml", "[cover]", f"[fire]\n{system}{lines}\n\n[cover]")
    problem = the_error(folder)
    assert problem.field == "fire.system"
    assert "which system is meant" in problem.message
    assert all(line.split(" =")[0] in problem.message for line in lines.splitlines() if line[0] not in "[2")
    assert 'system = "canadian"' in problem.mend


def test_a_system_that_nobody_knows_is_complained_of_once() -> None:
    complaints = Complaints("incident.toml")
    read_fire_system({"system": "kanadian", "ffmc": 90.5, "fuels": {"1": "C-2"}}, complaints)
    assert [p.field for p in complaints.found] == ["fire.system"]


def test_choices_of_the_surface_models_are_remarked_under_the_canadian_system(canadian: Path) -> None:
    lines = (
        'crown_fire = false\ncrown_rate = "cruz_2005"\ndead_moisture = "equilibrium"\nwind_limit = "none"\n'
    )
    edit(canadian / "incident.toml", 'system = "canadian"\n', f'system = "canadian"\n{lines}')
    found = {p.field: p for p in warnings_of(canadian, "incident.toml") if "no effect" in p.message}
    assert set(found) == {f"fire.{n}" for n in ("crown_fire", "crown_rate", "dead_moisture", "wind_limit")}
    assert all("is not read" not in p.message for p in warnings_of(canadian, "incident.toml"))


@pytest.mark.parametrize(("dmc", "bui"), [("0", "0.0"), ("1.5", "3.0")])
def test_duff_too_wet_for_the_formula_to_spread_is_remarked(canadian: Path, dmc: str, bui: str) -> None:
    # by hand, Van Wagner 1987 eq. 27 at DC 320: 0.8 · 1.5 · 320 / (1.5 + 128) = 2.97
    edit(canadian / "incident.toml", "dmc = 48", f"dmc = {dmc}")
    (problem,) = (p for p in warnings_of(canadian, "incident.toml") if p.field == "fire.dmc")
    assert "C-2, M-1" in problem.message
    assert f"index {bui}" in problem.message
    assert "smoulder" in problem.mend


def test_grass_too_green_to_carry_fire_is_remarked(canadian: Path) -> None:
    edit(canadian / "incident.toml", "\ncured_pct = 80\n", "\ncured_pct = 30\n")
    (problem,) = (p for p in warnings_of(canadian, "incident.toml") if p.field == "fire.fuels.3.cured_pct")
    assert problem.value == "30"
    assert "2.6 %" in problem.message  # 0.005 (e^1.83 − 1)


def test_numbers_are_judged_by_the_systems_own_list(canadian: Path) -> None:
    values = fuels()
    values[0, :5] = 165
    write_raster(canadian / "fuels.tif", values)
    problem = the_error(canadian)
    assert problem.file == "fuels.tif"
    assert problem.value == "165"
    assert problem.limit == "1, 2, 3, 98"
    assert "[fire.fuels]" in problem.message


def test_codes_older_than_the_table_can_carry_are_refused(canadian: Path) -> None:
    edit(canadian / "incident.toml", "codes_day = 2026-08-14", "codes_day = 2026-08-12")
    problem = the_error(canadian)
    assert problem.file == "weather.csv"
    assert "need the rain" in problem.message


def test_codes_of_a_later_day_are_refused(canadian: Path) -> None:
    edit(canadian / "incident.toml", "codes_day = 2026-08-14", "codes_day = 2026-08-16")
    problem = the_error(canadian)
    assert (problem.file, problem.field) == ("incident.toml", "fire.codes_day")


def test_rain_is_asked_for_where_the_codes_are_carried_on(canadian: Path) -> None:
    text = weather_csv(36)
    (canadian / "weather.csv").write_text(text)
    assert errors(canadian) == []
    (canadian / "weather.csv").write_text(text.replace(",15,0,20,", ",15,,20,"))
    assert the_error(canadian).field == "rain_mm"


def test_foliar_moisture_is_asked_for_away_from_canada(canadian: Path) -> None:
    edit(canadian / "incident.toml", "foliar_moisture_pct = 105\n", "")
    assert the_error(canadian).field == "fire.foliar_moisture_pct"


def test_without_a_fuel_table_nothing_is_guessed(canadian: Path) -> None:
    text = (canadian / "incident.toml").read_text()
    head, tail = text.index("[fire.fuels]"), text.index("[cover]")
    (canadian / "incident.toml").write_text(text[:head] + text[tail:])
    assert "fire.fuels" in {p.field for p in errors(canadian)}


def test_the_ground_keeps_the_declared_numbers(canadian: Path) -> None:
    values = fuels()
    values[10:20, 10:20] = 3
    write_raster(canadian / "fuels.tif", values)
    assert {2, 3, 98} == {int(n) for n in np.unique(read_incident(canadian).ground.fuel)}


def test_the_example_in_the_documentation_is_read_without_a_complaint() -> None:
    page = (Path(__file__).parents[2] / "docs" / "incident-folder.md").read_text(encoding="utf-8")
    (example,) = [b for b in page.split("```") if b.startswith("toml") and 'system = "canadian"' in b]
    complaints = Complaints("incident.toml")
    system = read_fire_system(tomllib.loads(example.removeprefix("toml"))["fire"], complaints)
    assert isinstance(system, CanadianSystem)
    assert len(system.stands) == 5
    assert [p.value for p in complaints.found] == ["C-2"]
