"""incident.toml: name, place, clock, variation, working CRS, cover, frequencies."""

from __future__ import annotations

from datetime import date, time
from typing import TYPE_CHECKING

import pytest

from store.asking import edit, errors, the_error, warnings_of
from wetline.behaviour import SurfaceModels
from wetline.growth import Errors
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour


def test_the_settings_are_read(folder: Path) -> None:
    incident = read_incident(folder)
    assert incident.name == "Ketter Ridge"
    assert incident.place == "Sorrin, Vastmark"
    assert incident.exercise is True
    assert incident.time_zone == "Etc/GMT+1"
    assert incident.magnetic_variation_deg == -14.0
    assert incident.variation_date == date(2026, 1, 1)
    assert incident.units == "aviation"
    assert incident.frequencies == {"air_to_air": "129.250"}
    assert incident.ground.grid.projection.code == "EPSG:32625"


def test_a_cut_off_is_a_time_of_day_by_the_local_clock(folder: Path) -> None:
    assert read_incident(folder).cut_off is None
    edit(folder / "incident.toml", 'time_zone = "Etc/GMT+1"', 'time_zone = "Etc/GMT+1"\ncut_off = 20:30:00')
    assert read_incident(folder).cut_off == time(20, 30)


@pytest.mark.parametrize("value", ["2026-08-14T20:30:00-01:00", '"20:30"', "20", "2030-01-01"])
def test_a_cut_off_that_is_no_time_of_day_is_refused(folder: Path, value: str) -> None:
    edit(folder / "incident.toml", 'time_zone = "Etc/GMT+1"', f'time_zone = "Etc/GMT+1"\ncut_off = {value}')
    assert the_error(folder).field == "cut_off"


def test_without_a_variation_it_is_not_known(folder: Path) -> None:
    edit(folder / "incident.toml", "magnetic_variation_deg = -14.0\nvariation_date = 2026-01-01\n", "")
    assert read_incident(folder).magnetic_variation_deg is None


@pytest.mark.parametrize("name", ["name", "place", "time_zone"])
def test_what_every_sheet_needs_is_asked_for(folder: Path, name: str) -> None:
    path = folder / "incident.toml"
    path.write_text("\n".join(x for x in path.read_text().split("\n") if not x.startswith(f"{name} =")))
    problem = the_error(folder)
    assert problem.field == name
    assert "missing" in problem.message


@pytest.mark.parametrize("zone", ["Mars/Olympus", "../../etc/passwd", "Etc", "", "UTC+1"])
def test_a_clock_that_nobody_knows_is_named(folder: Path, zone: str) -> None:
    edit(folder / "incident.toml", "Etc/GMT+1", zone)
    assert the_error(folder).field == "time_zone"


@pytest.mark.parametrize(
    ("old", "new", "line", "hint"),
    [
        ("exercise = true", "exercise = yes", "3", "quotation marks"),
        ("magnetic_variation_deg = -14.0", "magnetic_variation_deg = -14,0", "5", "point"),
        ('name = "Ketter Ridge"', 'name = "Ketter Ridge', "1", "line 1"),
        ("[cover]", "[cover", "10", "line 10"),
    ],
)
def test_malformed_toml_is_named_with_its_line(
    folder: Path, old: str, new: str, line: str, hint: str
) -> None:
    edit(folder / "incident.toml", old, new)
    problem = the_error(folder)
    assert problem.field == f"line {line}"
    assert hint in problem.mend


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('name = "Ketter Ridge"', "name = 7", "name"),
        ("exercise = true", 'exercise = "true"', "exercise"),
        ("variation_deg = -14.0", 'variation_deg = "-14"', "magnetic_variation_deg"),
        ("variation_deg = -14.0", "variation_deg = -140", "magnetic_variation_deg"),
        ("variation_deg = -14.0", "variation_deg = nan", "magnetic_variation_deg"),
        ("variation_date = 2026-01-01", 'variation_date = "last year"', "variation_date"),
        ('units = "aviation"', 'units = "imperial"', "units"),
        ('crs = "EPSG:32625"', 'crs = "EPSG:999999"', "crs"),
        ('crs = "EPSG:32625"', 'crs = "EPSG:4326"', "crs"),
        ('crs = "EPSG:32625"', "crs = 32625", "crs"),
        ("hazards = 2026-06-02", 'hazards = "soon"', "cover.hazards"),
        ("hazards = 2026-06-02", "peple = 2026-06-02", "cover.peple"),
        ('air_to_air = "129.250"', "air_to_air = 129.250", "frequencies.air_to_air"),
    ],
)
def test_a_wrong_value_is_named_with_its_field(folder: Path, old: str, new: str, field: str) -> None:
    edit(folder / "incident.toml", old, new)
    problem = the_error(folder)
    assert problem.file == "incident.toml"
    assert problem.field == field


@pytest.mark.parametrize("crs", ["EPSG:3857", "EPSG:32629"])
def test_a_working_system_that_stretches_distances_is_refused(folder: Path, crs: str) -> None:
    """At 47° N web Mercator draws a kilometre 47 % too long: every lane would look long enough."""
    edit(folder / "incident.toml", "EPSG:32625", crs)
    problem = the_error(folder)
    assert problem.field == "crs"
    assert "stretches" in problem.message


def test_without_crs_the_utm_zone_of_the_terrain_is_used(folder: Path) -> None:
    edit(folder / "incident.toml", 'crs = "EPSG:32625"\n', "")
    assert read_incident(folder).ground.grid.projection.code == "EPSG:32625"


def test_an_unknown_name_is_remarked_with_what_may_be_meant(folder: Path) -> None:
    edit(folder / "incident.toml", 'units = "aviation"', 'unit = "aviation"')
    (problem,) = warnings_of(folder, "incident.toml")
    assert problem.field == "unit"
    assert '"units"' in problem.message


def test_a_time_on_another_clock_is_remarked(folder: Path) -> None:
    """Etc/GMT+1 is behind UTC; who reads it as +01:00 is two hours off at the cut-off."""
    edit(folder / "incident.toml", "Etc/GMT+1", "Etc/GMT-1")
    assert {p.field for p in warnings_of(folder, "fleet.toml")} == {"duty_start"}


def test_cover_for_a_layer_that_is_not_there_stays_unknown(folder: Path) -> None:
    (folder / "hazards.geojson").unlink()
    (problem,) = warnings_of(folder, "incident.toml")
    assert problem.field == "cover.hazards"
    assert read_incident(folder).ground.hazards.surveyed is None


def test_an_empty_file_is_named(folder: Path) -> None:
    (folder / "incident.toml").write_text(" \n")
    assert errors(folder)[0].message == "The file is empty."


def test_the_fire_table_chooses_the_wind_limit(folder: Path) -> None:
    edit(folder / "incident.toml", "[cover]", '[fire]\nwind_limit = "andrews_2013"\n\n[cover]')
    assert read_incident(folder).system == SurfaceModels(wind_limit="andrews_2013")


def test_a_fire_system_nobody_knows_is_refused_with_what_may_stand_there(folder: Path) -> None:
    edit(folder / "incident.toml", "[cover]", '[fire]\nsystem = "surface_model"\n\n[cover]')
    (problem,) = errors(folder)
    assert problem.field == "fire.system"
    assert '"surface_models"' in problem.message


def test_the_terrain_bends_the_fires_wind_only_where_asked(folder: Path) -> None:
    assert read_incident(folder).terrain_wind is False
    edit(folder / "incident.toml", "[cover]", '[fire]\nwind = "terrain"\n\n[cover]')
    assert read_incident(folder).terrain_wind is True
    assert warnings_of(folder, "incident.toml") == []
    edit(folder / "incident.toml", '"terrain"', '"table"')
    assert read_incident(folder).terrain_wind is False


def test_a_fire_wind_nobody_knows_is_refused(folder: Path) -> None:
    edit(folder / "incident.toml", "[cover]", '[fire]\nwind = "terain"\n\n[cover]')
    problem = the_error(folder)
    assert problem.field == "fire.wind"
    assert '"terrain"' in problem.message


def test_the_errors_of_the_futures_are_read_and_held_to_their_range(folder: Path) -> None:
    edit(folder / "incident.toml", "[cover]", "[fire.errors]\nwind_speed = 0.3\nspread = 0.1\n\n[cover]")
    assert read_incident(folder).errors == Errors(wind_speed=0.3, spread=0.1)
    edit(folder / "incident.toml", "wind_speed = 0.3", "wind_speed = 30")
    (problem,) = errors(folder)
    assert problem.field == "fire.errors.wind_speed"
    assert problem.limit == "0 to 0.4"
    edit(folder / "incident.toml", "wind_speed = 30", "wind_sped = 0.3")
    (warning,) = warnings_of(folder, "incident.toml")
    assert warning.field == "fire.errors.wind_sped"
