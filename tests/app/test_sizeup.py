"""The size-up of the invented incident: what it says of the run, the edge, the weather, the crews' line."""

from __future__ import annotations

import json
import math
import shutil
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from growth.ragged import GRID, even_fields
from wetline.app.sizeup import size_up
from wetline.app.sizeup_edge import by_code_m
from wetline.errors import InputError
from wetline.grid import Grid, Projection
from wetline.growth.edge import edge_pieces
from wetline.model import shipped_limits
from wetline.store import read_incident

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

MEMBERS = 4


@pytest.fixture(scope="module")
def seen(demo_folder: Path) -> dict[str, Any]:
    return size_up(demo_folder, at=None, hours=2.0, members=MEMBERS, seed=1)


@pytest.fixture
def changed(demo_folder: Path, tmp_path: Path) -> Callable[..., Path]:
    """The incident with less weather, or with crews' line."""

    def change(hours: int | None = None, lines: list[dict[str, Any]] | None = None) -> Path:
        folder = tmp_path / "incident"
        shutil.copytree(demo_folder, folder)
        if hours is not None:
            rows = (folder / "weather.csv").read_text().splitlines()
            now = next(i for i, row in enumerate(rows) if row.startswith("2026-08-14T13:00"))
            (folder / "weather.csv").write_text("\n".join(rows[: now + hours]) + "\n")
        if lines is not None:
            fire = json.loads((folder / "fire.geojson").read_text())
            fire["features"] += lines
            (folder / "fire.geojson").write_text(json.dumps(fire))
        return folder

    return change


def banded(of: dict[str, Any], key: str) -> None:
    assert of[f"{key}_low"] <= of[key] <= of[f"{key}_high"]


@pytest.mark.property
def test_every_estimate_of_the_run_lies_in_its_band(seen: dict[str, Any]) -> None:
    fastest = seen["fastest"]
    banded(fastest, "rate_m_per_min")
    banded(fastest, "intensity_kw_per_m")
    banded(fastest["run"], "length_m")
    banded(fastest["run"], "mean_rate_m_per_min")
    for piece in (*seen["edge"], *seen["by_direction"]):
        for key in ("rate_m_per_min", "flame_length_m", "intensity_kw_per_m"):
            banded(piece, key)
    for part in seen["attack"].values():
        banded(part, "length_m")


@pytest.mark.property
def test_the_run_begins_on_the_edge_and_goes_on_from_there(seen: dict[str, Any], demo_folder: Path) -> None:
    run = seen["fastest"]["run"]
    incident = read_incident(demo_folder)
    burnt = incident.fire.burnt_at(incident.now)
    projection = incident.ground.grid.projection
    line = np.array([projection.from_lonlat(*position) for position in run["line"]])
    assert burnt.boundary.distance(shapely.Point(line[0])) < 1.0
    assert not burnt.contains(shapely.Point(line[-1]))
    drawn = float(np.hypot(*np.diff(line, axis=0).T).sum())
    assert drawn == pytest.approx(run["length_m"], abs=2.0)
    assert run["mean_rate_m_per_min"] * 60.0 == pytest.approx(run["length_m"], rel=0.1)
    assert sum(f["share"] for f in run["fuels"]) == pytest.approx(1.0, abs=0.01)


@pytest.mark.property
def test_the_shares_of_what_drives_it_add_up_to_one(seen: dict[str, Any]) -> None:
    for driven in (seen["fastest"]["run"]["drivers"], seen["fastest"]["because"]["drivers"]):
        whole = sum(driven[name] for name in ("wind", "slope", "fuel", "dryness", "rest"))
        assert whole == pytest.approx(1.0, abs=0.003)
        assert driven["typical_fuel"]


@pytest.mark.property
def test_what_can_attack_the_edge_adds_up_to_the_edge(seen: dict[str, Any]) -> None:
    for of in (*seen["edge"], *seen["by_direction"]):
        assert sum(of["attack_m"].values()) == pytest.approx(of["length_m"], abs=4.0)
    whole = sum(part["length_m"] for part in seen["attack"].values())
    assert whole == pytest.approx(seen["perimeter_m"], abs=5.0)
    assert sum(p["length_m"] for p in seen["edge"]) == pytest.approx(seen["perimeter_m"], abs=5.0)


@pytest.mark.published
def test_the_hottest_class_is_that_of_its_intensity(seen: dict[str, Any]) -> None:
    """346 and 1,730 kW/m: Andrews and Rothermel 1982, INT-131; Fireline Handbook, appendix B."""
    for piece in seen["edge"]:
        heat = piece["intensity_kw_per_m"]
        if piece["attack"] == "hand_tools":
            assert heat < 346.5
        if piece["attack"] == "machines_and_aircraft":
            assert 345.5 < heat < 1730.5


@pytest.mark.practice
def test_no_piece_between_fingers_is_shorter_than_the_setting(seen: dict[str, Any]) -> None:
    """200 m: common practice, no source."""
    for part in ("left_flank", "right_flank"):
        pieces = [p for p in seen["edge"] if p["part"] == part]
        assert len(pieces) == 1 or min(p["length_m"] for p in pieces) >= 195
    assert shipped_limits().value("edge_piece_least_m") == 200.0


@pytest.mark.behaviour
def test_chances_are_counted_futures(seen: dict[str, Any]) -> None:
    on_map = [r for r in seen["reaches"] if r["on_map"]]
    assert on_map
    for reach in on_map:
        assert reach["futures"] == MEMBERS
        assert 0 <= reach["reached_in"] <= MEMBERS
        assert reach["reached_in"] == 0 or reach["earliest"] is not None


@pytest.mark.behaviour
def test_without_varied_futures_nothing_has_a_band(demo_folder: Path) -> None:
    seen = size_up(demo_folder, at=None, hours=0.5, members=0, seed=1)
    assert seen["fastest"]["run"]["length_m_low"] is None
    assert seen["edge"][0]["rate_m_per_min_low"] is None
    assert all(reach["futures"] is None for reach in seen["reaches"])
    assert seen["good_until"] == seen["asked_until"] == "2026-08-14T15:00:00Z"
    assert [front["time"] for front in seen["fronts"]] == ["2026-08-14T15:00:00Z"]


@pytest.mark.behaviour
def test_short_weather_answers_until_it_ends_and_says_so(changed: Callable[..., Path]) -> None:
    """The last hour of the table begins at 15:00 local, 16:00Z: it ends at 17:00Z."""
    seen = size_up(changed(hours=3), at=None, hours=6.0, members=0, seed=1)
    assert (seen["good_until"], seen["asked_until"]) == ("2026-08-14T17:00:00Z", "2026-08-14T20:30:00Z")
    assert [f["time"] for f in seen["fronts"]] == [f"2026-08-14T{t}:00Z" for t in ("15:30", "16:30", "17:00")]
    told = [f for f in seen["findings"] if f["refers_to"] == "weather"]
    assert [(f["level"], f["effect"]) for f in told] == [("unknown", "noted")]
    assert not any(f["effect"] == "blocks" for f in seen["findings"] if f["level"] == "unknown")


@pytest.mark.practice
def test_people_ahead_of_the_weather_s_end_are_unknown_and_never_clear(changed: Callable[..., Path]) -> None:
    """Thirty minutes of weather left, under the caution limit of 60: common practice, no source."""
    seen = size_up(changed(hours=1), at=None, hours=6.0, members=0, seed=1)
    assert seen["good_until"] == seen["looked_until"] == "2026-08-14T15:00:00Z"
    (blocks,) = (f for f in seen["findings"] if f["level"] == "unknown" and f["effect"] == "blocks")
    assert blocks["code"] == "entrapment"
    assert "15:00Z" in blocks["message"]


@pytest.mark.behaviour
def test_weather_that_has_ended_is_refused(changed: Callable[..., Path]) -> None:
    with pytest.raises(InputError, match="weather"):
        size_up(changed(hours=1), at="2026-08-14T15:00:00Z", hours=1.0, members=0, seed=1)


def crews_line(folder: Path, **properties: Any) -> dict[str, Any]:
    """A line 25 m outside the whole fire: nothing gets out while it holds."""
    incident = read_incident(folder)
    burnt = incident.fire.burnt_at(incident.now)
    ring = shapely.union_all([burnt]).convex_hull.buffer(25.0).exterior
    lonlat = [list(map(float, incident.ground.grid.projection.to_lonlat(x, y))) for x, y in ring.coords]
    return {
        "type": "Feature",
        "properties": {"kind": "line", "name": "Ring line", "time": "2026-08-14T14:00:00Z", **properties},
        "geometry": {"type": "LineString", "coordinates": lonlat},
    }


@pytest.mark.behaviour
def test_line_counted_on_stops_the_fire_and_is_a_caution_for_those_behind_it(
    demo_folder: Path, changed: Callable[..., Path], seen: dict[str, Any]
) -> None:
    folder = changed(lines=[crews_line(demo_folder, holds=True)])
    held = size_up(folder, at=None, hours=2.0, members=0, seed=1)
    assert held["fronts"][-1]["area_ha"] < 0.9 * seen["fronts"][-1]["area_ha"]
    line = next(r for r in held["reaches"] if r["kind"] == "line")
    assert line["name"] == "Ring line"
    assert line["time"] is not None
    cautions = [f["message"] for f in held["findings"] if f["level"] == "caution"]
    assert any("Counted on to hold: crews' line Ring line" in text for text in cautions)
    freed = {r["name"] for r in held["reaches"] if r["time"] is None}
    warned = {f["refers_to"] for f in seen["findings"] if f["level"] in {"stop", "caution"}}
    behind = freed & warned
    assert behind
    for name in behind:
        assert any(f"If crews' line does not hold, fire reaches {name}" in text for text in cautions)


@pytest.mark.behaviour
def test_line_of_which_nobody_says_that_it_holds_changes_no_number(
    demo_folder: Path, changed: Callable[..., Path]
) -> None:
    plain = size_up(demo_folder, at=None, hours=1.0, members=0, seed=1)
    drawn = size_up(changed(lines=[crews_line(demo_folder)]), at=None, hours=1.0, members=0, seed=1)
    assert drawn["fronts"] == plain["fronts"]
    unsaid = [f for f in drawn["findings"] if f["refers_to"] == "Ring line"]
    assert [(f["level"], f["effect"]) for f in unsaid] == [("unknown", "noted")]
    assert any("Ring line" in note and "stops nothing" in note for note in drawn["notes"])


@pytest.mark.derived
def test_edge_is_shared_out_by_the_codes_beside_it() -> None:
    """A square of 400 m: code 2 east of it, 0 elsewhere, an unnamed code to the south."""
    x, y = GRID.xy(*np.mgrid[: GRID.rows, : GRID.cols])
    codes = np.where(x > 3400.0, 2, np.where(y < 3000.0, 9, 0)).astype(np.uint8)
    square = shapely.box(3000.0, 3000.0, 3400.0, 3400.0)
    pieces = edge_pieces(square, even_fields(0.0, 2.0), 0.0)
    found = by_code_m(pieces, codes, GRID, {0: "surface", 2: "active"})
    assert sum(found.values()) == pytest.approx(1600.0)
    assert found["active"] == pytest.approx(400.0, abs=60.0)
    assert found["unknown"] == pytest.approx(400.0, abs=60.0)
    far = Grid(Projection("EPSG:32625"), 9e5, 9e5, 20.0, 4, 4)
    assert by_code_m(pieces, np.zeros((4, 4), np.uint8), far, {0: "surface"})["unknown"] == pytest.approx(
        1600.0
    )
    assert math.isclose(by_code_m([], codes, GRID, {0: "surface"})["surface"], 0.0)


@pytest.mark.behaviour
def test_crown_fire_and_thrown_fire_are_told_or_named_as_unknown(seen: dict[str, Any]) -> None:
    """The invented trees have crowns: each metre of edge is told, and thrown fire has its span and its doubt."""
    assert sum(seen["crown_edge_m"].values()) == pytest.approx(seen["perimeter_m"], abs=5.0)
    assert seen["spotting_m_low"] <= seen["spotting_m"] <= seen["spotting_m_high"]
    assert any("low confidence" in note for note in seen["notes"])
    assert {"spotting_m", "crown_fire"}.isdisjoint(entry["key"] for entry in seen["not_yet"])


@pytest.mark.behaviour
def test_without_the_height_of_trees_thrown_fire_is_unknown(changed: Callable[..., Path]) -> None:
    folder = changed()
    for layer in folder.glob("canopy_*.tif"):
        layer.unlink()
    seen = size_up(folder, at=None, hours=0.5, members=0, seed=1)
    assert seen["spotting_m"] is None
    assert {"spotting_m", "crown_fire"} <= {entry["key"] for entry in seen["not_yet"]}
