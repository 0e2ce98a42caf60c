"""An incident's own classes reach water and circuits, and their cautions every sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from store.folder_maker import make_folder
from wetline.app.check import check_incident
from wetline.app.circuits import circuits_answer
from wetline.app.water import water_of_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

SOURCE = 'source = "Sorrin air base order 4" }\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sound folder whose scoopers are of a class of the incident's own."""
    folder = make_folder(tmp_path / "incident")
    fleet = folder / "fleet.toml"
    fleet.write_text(fleet.read_text().replace('"twin_engine_scooper"', '"short_twin"'))
    (folder / "classes").mkdir()
    return folder


def own_class(folder: Path, lane_m: int) -> None:
    text = 'name = "Short-lane scooper"\nbased_on = "twin_engine_scooper"\n[quantities]\n'
    text += f'lane_needed_m = {{ value = {lane_m}, unit = "m", {SOURCE}'
    text += f'fill_run_m = {{ value = 400, unit = "m", {SOURCE}'
    (folder / "classes" / "short_twin.toml").write_text(text)


def test_its_lane_is_what_is_looked_for(folder: Path) -> None:
    own_class(folder, 900)
    short = water_of_incident(folder, class_id="short_twin", at=None)
    assert {lane["class"] for lane in short["lanes"]} == {"short_twin"}
    assert water_of_incident(folder, class_id="single_engine_scooper", at=None)["lanes"]
    own_class(folder, 5000)
    assert water_of_incident(folder, class_id="short_twin", at=None)["lanes"] == []


def test_it_flies_circuits(folder: Path) -> None:
    own_class(folder, 900)
    answer = circuits_answer(folder, at=None)
    assert {row["class"] for row in answer["day"]} == {"short_twin"}


def test_check_counts_it(folder: Path) -> None:
    own_class(folder, 1500)
    answer = check_incident(folder)
    assert answer["present"]["classes"] == 1
    assert answer["exit_code"] == 0
