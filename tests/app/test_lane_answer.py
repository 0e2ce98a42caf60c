"""What `water` says of a lane: its parts, its way out, its look, and what each number stands on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from app.brief_folder import LAKE, make_brief_folder
from store import folder_maker as fm
from wetline.app.water import water_of_incident
from wetline.cli.tables.water import water_table

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

LOOKED, EXPIRES = "2026-08-14T18:30:00Z", "2026-08-14T20:30:00Z"


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder: Path = make_brief_folder(tmp_path_factory.mktemp("lanes") / "folder")
    lake = fm.feature(
        "Polygon", [fm.ring(list(LAKE))], name="Skell Mere", kind="lake", depth_m=6, looked_at=LOOKED,
        swell_m=0.1, swell_from_deg=180, swell_at=LOOKED,
    )  # fmt: skip
    fm.write_features(folder / "water.geojson", lake)
    return water_of_incident(folder, class_id="twin_engine_scooper", at=None)


def test_the_parts_of_the_run_stand_along_the_lane(answer: dict[str, Any]) -> None:
    for lane in answer["lanes"]:
        parts = lane["phases"]
        assert [part["phase"] for part in parts] == ["descent", "settle", "fill", "lift_off", "climb"]
        assert parts[-1]["to_m"] - parts[0]["from_m"] == pytest.approx(lane["needed_m"], abs=1.0)
        assert parts[-1]["to_m"] <= lane["length_m"] + 1
        lons = sorted((lane["start"][0], lane["end"][0]))
        assert all(lons[0] - 1e-6 <= part["position"][0] <= lons[1] + 1e-6 for part in parts)


def test_a_lane_says_what_its_numbers_stand_on(answer: dict[str, Any]) -> None:
    lane = answer["lanes"][0]
    given = {key for key in lane["because"] if lane[key] is not None}
    assert given >= {
        "length_m",
        "needed_m",
        "headwind_kt",
        "climb_gradient_available",
        "depth_m",
        "surface_m",
    }
    assert set(lane["because"]) <= set(lane)
    assert all(finding["source"] for finding in lane["findings"])
    assert lane["needed_m_low"] < lane["needed_m"] < lane["needed_m_high"]
    assert lane["class_climb_gradient_low"] < lane["class_climb_gradient"]


def test_a_look_told_in_the_layer_holds_and_expires(answer: dict[str, Any]) -> None:
    lane = answer["lanes"][0]
    assert (lane["looked_at"], lane["look_expires"]) == (LOOKED, EXPIRES)
    (look,) = [f for f in lane["findings"] if f["message"].startswith("Boats, waves and debris")]
    assert look["level"] == "clear"
    assert "30 min ago" in look["message"]


def test_the_swell_is_stated_with_its_angle_to_the_run(answer: dict[str, Any]) -> None:
    lane = answer["lanes"][0]
    assert lane["swell_m"] == 0.1
    between = abs((lane["heading_deg"] - 180.0 + 90.0) % 180.0 - 90.0)
    assert lane["swell_angle_deg"] == pytest.approx(between, abs=1.0)


def test_the_way_out_is_stated(answer: dict[str, Any]) -> None:
    kinds = {lane["escape"]["kind"] for lane in answer["lanes"]}
    assert kinds <= {"straight", "turn_left", "turn_right", "dump", "none", "unknown"}
    assert all(lane["escape"]["because"] for lane in answer["lanes"])


def test_the_table_shows_where_the_fill_begins_and_ends(answer: dict[str, Any]) -> None:
    assert "fill, m" in water_table(answer)
