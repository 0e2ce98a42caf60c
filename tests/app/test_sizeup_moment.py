"""The size-up at the edge of what it knows: later than the drawing, at night, at the map's edge, with nobody given."""

from __future__ import annotations

import json
import math
import shutil
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from wetline.app.answer import Outside
from wetline.app.sizeup import size_up
from wetline.app.sizeup_findings import cut_short
from wetline.app.sizeup_runs import Runs, directions_of
from wetline.app.sizeup_runs import _Hour as Hour
from wetline.errors import OutsideRangeError
from wetline.growth import RunPath
from wetline.store import read_incident

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

pytestmark = pytest.mark.behaviour


@pytest.fixture
def copied(demo_folder: Path, tmp_path: Path) -> Callable[[], Path]:
    def copy() -> Path:
        folder = tmp_path / "incident"
        shutil.copytree(demo_folder, folder)
        return folder

    return copy


@pytest.fixture(scope="module")
def later(demo_folder: Path) -> dict[str, Any]:
    return size_up(demo_folder, at="2026-08-14T20:30:00Z", hours=1.0, members=4, seed=1)


def test_fire_modelled_since_it_was_drawn_has_a_band_and_is_said_to_be_modelled(
    later: dict[str, Any],
) -> None:
    assert later["modelled"]
    assert later["drawn"]["age_min"] == 360
    assert later["drawn"]["area_ha"] < later["area_ha_low"] <= later["area_ha"] <= later["area_ha_high"]
    assert later["perimeter_m_low"] <= later["perimeter_m"] <= later["perimeter_m_high"]
    (old,) = (f for f in later["findings"] if f["refers_to"] == "fire")
    assert (old["level"], old["effect"]) == ("unknown", "noted")


def test_nobody_is_reported_inside_a_fire_that_is_only_modelled(later: dict[str, Any]) -> None:
    stops = [f["message"] for f in later["findings"] if f["level"] == "stop"]
    assert stops
    assert not any("is reported inside" in text for text in stops)
    assert any(
        text.startswith("Fire may have reached Crew Alder (4 of 4 futures, soonest 14:") for text in stops
    )
    alder = next(r for r in later["reaches"] if r["name"] == "Crew Alder")
    assert alder["reached_in_by_now"] == 4


def test_a_fire_as_drawn_has_no_band_of_its_own_size(demo_folder: Path) -> None:
    seen = size_up(demo_folder, at=None, hours=0.5, members=4, seed=1)
    assert not seen["modelled"]
    assert seen["area_ha_low"] is seen["perimeter_m_high"] is None
    assert not seen["light"]["sun_down"]


def test_after_sunset_it_is_dark_and_first_light_is_the_next_day_s(demo_folder: Path) -> None:
    """22:30 local in August at 47° N is night; the first take-off is that of the coming morning."""
    seen = size_up(demo_folder, at="2026-08-14T23:30:00Z", hours=0.5, members=0, seed=1)
    assert seen["light"]["sun_down"]
    assert seen["light"]["first_light"].startswith("2026-08-15T06:")


def test_an_empty_people_layer_without_cover_blocks(copied: Callable[[], Path]) -> None:
    folder = copied()
    (folder / "people.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    declared = (folder / "incident.toml").read_text()
    assert "\npeople = 2026-08-14\n" in declared
    (folder / "incident.toml").write_text(declared.replace("\npeople = 2026-08-14\n", "\n"))
    seen = size_up(folder, at=None, hours=0.5, members=4, seed=1)
    blocks = [f for f in seen["findings"] if f.get("effect") == "blocks"]
    assert [(f["code"], f["level"]) for f in blocks] == [("entrapment", "unknown")]


def test_a_head_at_the_map_s_edge_makes_people_unknown(copied: Callable[[], Path]) -> None:
    """A fire of 400 m, 100 m from the east side of the map, under a west wind."""
    folder = copied()
    grid = read_incident(folder).ground.grid
    _, south, east, north = grid.bounds
    ring = shapely.box(east - 500.0, (south + north) / 2 - 200.0, east - 100.0, (south + north) / 2 + 200.0)
    fire = json.loads((folder / "fire.geojson").read_text())
    fire["features"] = fire["features"][:1]
    fire["features"][0]["geometry"] = {
        "type": "Polygon",
        "coordinates": [[list(map(float, grid.projection.to_lonlat(x, y))) for x, y in ring.exterior.coords]],
    }
    (folder / "fire.geojson").write_text(json.dumps(fire))
    seen = size_up(folder, at=None, hours=2.0, members=4, seed=1)
    assert seen["leaves_map"]["time"] < seen["warned_until"]
    assert 1 <= seen["leaves_map"]["in"] <= seen["leaves_map"]["of"] == 4
    blocks = [f for f in seen["findings"] if f["code"] == "entrapment" and f.get("effect") == "blocks"]
    assert len(blocks) == 1
    assert "leave the modelled ground" in blocks[0]["message"]


def run(toward_deg: float, length_m: float) -> Hour:
    """A straight run from the middle of the invented grid."""
    x0, y0, turn = 600_000.0, 5_224_000.0, math.radians(toward_deg)
    end = (x0 + length_m * math.sin(turn), y0 + length_m * math.cos(turn))
    return Hour(RunPath(line=np.array([(x0, y0), end]), seconds=3600.0), 1e6, 4e3)


def test_runs_are_counted_by_their_bearing(demo_folder: Path) -> None:
    """Three within 45° of the middle one's 90°, two north, one that does not move."""
    grid = read_incident(demo_folder).ground.grid
    still = Hour(None, 1e6, 4e3)
    hours = (run(90, 500), run(80, 400), run(130, 300), run(92, 600), run(5, 200), run(355, 100), still)
    told = directions_of(Runs(hours, 3600.0), Outside(grid))
    assert told is not None
    assert (told["of"], told["still"], told["with_middle"]["in"]) == (6, 1, 3)
    spread = told["with_middle"]["toward_high_deg"] - told["with_middle"]["toward_low_deg"]
    assert spread == pytest.approx(50.0, abs=0.2)
    assert [(group["in"], group["longest_m"]) for group in told["others"]] == [(2, 200)]
    assert directions_of(Runs(hours[:1], 3600.0), Outside(grid)) is None


def test_everybody_within_the_farthest_throw_is_told(demo_folder: Path) -> None:
    seen = size_up(demo_folder, at=None, hours=0.5, members=0, seed=1)
    near = seen["spotting"]["people"]
    assert near
    assert all(person["distance_m"] <= seen["spotting_m_high"] for person in near)
    (caution,) = (f for f in seen["findings"] if f["refers_to"] == "thrown fire")
    assert all(person["name"] in caution["message"] for person in near)


@pytest.mark.parametrize(("until", "holds"), [("2026-08-14T15:00:00Z", None), (None, True)])
def test_people_whom_a_line_only_delays_are_a_stop_without_it(
    copied: Callable[[], Path], until: str | None, holds: bool | None
) -> None:
    """A ring of line 25 m outside the fire that is counted on till 15:00Z, or for good."""
    folder = copied()
    incident = read_incident(folder)
    ring = incident.fire.burnt_at(incident.now).convex_hull.buffer(25.0).exterior
    fire = json.loads((folder / "fire.geojson").read_text())
    told = {
        "kind": "line",
        "name": "Ring line",
        "time": "2026-08-14T14:00:00Z",
        "until": until,
        "holds": holds,
    }
    fire["features"].append(
        {
            "type": "Feature",
            "properties": {key: value for key, value in told.items() if value is not None},
            "geometry": {
                "type": "LineString",
                "coordinates": [
                    list(map(float, incident.ground.grid.projection.to_lonlat(x, y))) for x, y in ring.coords
                ],
            },
        }
    )
    (folder / "fire.geojson").write_text(json.dumps(fire))
    seen = size_up(folder, at=None, hours=1.0, members=0, seed=1)
    without = [f for f in seen["findings"] if f["message"].startswith("If crews' line does not hold")]
    assert "stop" in [f["level"] for f in without]
    assert seen["exit_code"] == 3
    assert seen["held_by"] == ["Ring line"]
    later = size_up(folder, at="2026-08-14T15:10:00Z", hours=0.5, members=0, seed=1)
    rests = [f for f in later["findings"] if f["refers_to"] == "Ring line" and f["level"] == "caution"]
    assert len(rests) == 1
    assert any(f["message"].startswith("If crews' line does not hold") for f in later["findings"])


def test_hours_are_above_none_and_the_error_says_so(demo_folder: Path) -> None:
    with pytest.raises(OutsideRangeError, match=r"0 h is outside above 0 to 48 h\. Give hours above 0"):
        size_up(demo_folder, at=None, hours=0.0, members=0, seed=1)


@pytest.mark.parametrize(
    ("end", "words"),
    [
        (datetime(2026, 8, 14, 17, tzinfo=UTC), "ends at 17:00Z, before 20:30Z"),
        (datetime(2026, 8, 14, 23, tzinfo=UTC), "ends at 23:00Z 14 Aug, before 03:00Z 15 Aug"),
    ],
)
def test_weather_that_ends_on_another_day_is_told_with_its_date(end: datetime, words: str) -> None:
    asked = (
        datetime(2026, 8, 14, 20, 30, tzinfo=UTC) if end.hour == 17 else datetime(2026, 8, 15, 3, tzinfo=UTC)
    )
    (finding,) = cut_short(asked, end)
    assert words in finding.message
    assert cut_short(end, end) == ()
