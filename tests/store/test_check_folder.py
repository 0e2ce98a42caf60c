"""The folder as a whole: what is there, what is not, and every problem at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from store.asking import edit, errors, the_error, warnings_of
from wetline.errors import InputError
from wetline.store import check_folder, read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour


def test_a_sound_folder_has_no_error(folder: Path) -> None:
    assert errors(folder) == []


def test_what_is_there_is_counted_and_what_is_not_is_named(folder: Path) -> None:
    result = check_folder(folder)
    assert result.present == {
        "incident": 1, "terrain": 166 * 200, "fuels": 166 * 200, "fire": 1, "weather": 12, "fleet": 2,
        "water": 1, "bases": 1, "hazards": 1, "people": 1,
    }  # fmt: skip
    assert set(result.absent) == {
        "canopy_cover", "canopy_height", "canopy_base", "canopy_bulk", "dips", "avoid", "roads",
        "drop_tests",
    }  # fmt: skip


def test_a_folder_without_water_is_read_and_water_is_absent(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    incident = read_incident(folder)
    assert "water" in incident.absent
    assert not incident.ground.water.present


def test_a_folder_without_weather_and_fleet_is_read(folder: Path) -> None:
    (folder / "weather.csv").unlink()
    (folder / "fleet.toml").unlink()
    incident = read_incident(folder)
    assert incident.weather is None
    assert incident.fleet == ()


@pytest.mark.parametrize("name", ["incident.toml", "terrain.tif", "fuels.tif", "fire.geojson"])
def test_a_needed_file_that_is_missing_is_named(folder: Path, name: str) -> None:
    (folder / name).unlink()
    problem = the_error(folder)
    assert problem.file == name
    assert "missing" in problem.message


def test_a_path_that_does_not_exist_is_named(tmp_path: Path) -> None:
    assert "no such folder" in the_error(tmp_path / "nowhere").message.lower()


def test_a_file_is_no_folder(folder: Path) -> None:
    assert "not an incident folder" in the_error(folder / "incident.toml").message


def test_an_empty_folder_is_named(tmp_path: Path) -> None:
    problem = the_error(tmp_path)
    assert "no file of an incident" in problem.message
    assert "incident.toml" in problem.mend


def test_every_problem_is_named_at_once(folder: Path) -> None:
    """Mending one thing at a time while a fire runs would cost the first drop."""
    edit(folder / "incident.toml", 'time_zone = "Etc/GMT+1"', 'time_zone = "Nowhere/Town"')
    edit(folder / "fleet.toml", 'call_sign = "Tern 2"', 'call_sign = "Tern 1"')
    edit(folder / "weather.csv", "T13:00:00Z,30,30,10,270", "T13:00:00Z,30,140,-5,400")
    (folder / "fuels.tif").write_bytes(b"no raster")
    (folder / "fire.geojson").write_text("{")
    found = {(p.file, p.field) for p in errors(folder)}
    assert found == {
        ("incident.toml", "time_zone"),
        ("fleet.toml", "call_sign"),
        ("weather.csv", "humidity_pct"),
        ("weather.csv", "wind_kt"),
        ("weather.csv", "wind_from_deg"),
        ("fuels.tif", None),
        ("fire.geojson", "line 1"),
    }


def test_the_error_carries_warnings_too_and_heads_with_an_error(folder: Path) -> None:
    (folder / "fuels.tif").unlink()
    with pytest.raises(InputError) as caught:
        read_incident(folder)
    assert (caught.value.kind, caught.value.exit_code) == ("input", 2)
    levels = [p.level for p in caught.value.problems]
    assert levels[0] == "error"
    assert levels == sorted(levels)
    assert "fuels.tif" in str(caught.value)


@pytest.mark.parametrize("name", ["water.dxf", "Water.csv", "water.txt"])
def test_a_layer_in_another_format_is_not_passed_over(folder: Path, name: str) -> None:
    (folder / "water.geojson").rename(folder / name)
    (problem,) = warnings_of(folder, str(folder))
    assert problem.value == name
    assert "not read" in problem.message


@pytest.mark.parametrize("name", ["incident.toml", "fire.geojson", "weather.csv", "fleet.toml"])
def test_a_byte_order_mark_and_windows_line_ends_are_read(folder: Path, name: str) -> None:
    path = folder / name
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert errors(folder) == []


@pytest.mark.parametrize("name", ["incident.toml", "fire.geojson", "weather.csv", "fleet.toml"])
def test_utf_16_is_named(folder: Path, name: str) -> None:
    path = folder / name
    path.write_bytes(path.read_text().encode("utf-16"))
    found = [p for p in errors(folder) if p.file == name]
    assert ["UTF-16" in p.message for p in found] == [True]


def test_a_byte_that_is_no_utf_8_is_named_with_its_line(folder: Path) -> None:
    path = folder / "incident.toml"
    path.write_bytes(path.read_bytes().replace(b"Sorrin, Vastmark", b"Sorr\xedn, Vastmark"))
    problem = the_error(folder)
    assert problem.value == "line 2"
    assert "UTF-8" in problem.mend
