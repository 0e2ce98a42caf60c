"""`water --file` on lakes whose lanes can be worked out with a pencil."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pyproj
import pytest

from cli.asking_commands import ask
from store.folder_maker import feature, write_features

if TYPE_CHECKING:
    from pathlib import Path

GEOD = pyproj.Geod(ellps="WGS84")
LON, LAT = -31.8, 47.2


def oblong(east_m: float, north_m: float, *, lon: float = LON, lat: float = LAT) -> list[list[float]]:
    """A rectangle round a place, sides east-west and north-south, by geodesics on the ellipsoid."""
    out = []
    for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)):
        _, north_lat, _ = GEOD.fwd(lon, lat, 0.0, y * north_m / 2.0)
        there, _, _ = GEOD.fwd(lon, north_lat, 90.0, x * east_m / 2.0)
        out.append([there, north_lat])
    return out


def lake_file(folder: Path, *lakes: list[list[float]]) -> Path:
    path = folder / "lakes.geojson"
    write_features(path, *(feature("Polygon", [ring], name=f"Lake {i}") for i, ring in enumerate(lakes)))
    return path


@pytest.mark.derived
def test_lanes_of_an_oblong_lake_are_those_worked_out_by_hand(tmp_path: Path) -> None:
    """A lane of length L and width 2c at an angle a to the long side of a lake A by B fits if

    L cos a + 2c sin a ≤ A  and  L sin a + 2c cos a ≤ B.  With A = 2000 m, B = 300 m, c = 50 m:
    0°: 2000; 5°: min(1998.9, 2298.8); 10°: min(2013.2, 1160.5); 15°: 785.9, too short for 1000 m.
    """
    path = lake_file(tmp_path, oblong(2000.0, 300.0))
    said = ask("water", "--file", path, "--length-m", "1000", "--clear-m", "50", "--json")
    assert said.code == 0
    found = {lane["heading_deg"]: lane["length_m"] for lane in said.answer["lanes"]}

    def by_hand(turn_deg: float) -> float:
        s, c = math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg))
        return min((2000.0 - 100.0 * s) / c, (300.0 - 100.0 * c) / s if s > 0 else math.inf)

    assert sorted(found) == [80.0, 85.0, 90.0, 95.0, 100.0]
    for heading, length in found.items():
        # 0.2 %: a rectangle on the ellipsoid is no exact plane rectangle, and meridians converge
        assert length == pytest.approx(by_hand(abs(heading - 90.0)), rel=2e-3)


@pytest.mark.derived
def test_start_and_end_of_a_lane_are_as_far_apart_as_it_is_long(tmp_path: Path) -> None:
    path = lake_file(tmp_path, oblong(2000.0, 300.0))
    answer = ask("water", "--file", path, "--length-m", "1000", "--clear-m", "50", "--json").answer
    for lane in answer["lanes"]:
        bearing, _, apart_m = GEOD.inv(*lane["start"], *lane["end"])
        assert apart_m == pytest.approx(lane["length_m"], abs=0.2)
        assert min((bearing - lane["heading_deg"]) % 180.0, (lane["heading_deg"] - bearing) % 180.0) < 0.1


@pytest.mark.derived
def test_a_lake_without_a_long_enough_lane_tells_by_how_much(tmp_path: Path) -> None:
    """The longest lane 100 m wide in 2000 by 300 m lies along the side: 2000 m, 1000 m less than asked for."""
    path = lake_file(tmp_path, oblong(2000.0, 300.0))
    said = ask("water", "--file", path, "--length-m", "3000", "--clear-m", "50", "--json")
    assert said.code == 0
    assert said.answer["lanes"] == []
    assert said.answer["reason"]
    assert said.answer["nearest_miss_m"] == pytest.approx(1000.0, abs=2.0)


@pytest.mark.behaviour
def test_lanes_of_several_lakes_come_longest_first_with_their_names(tmp_path: Path) -> None:
    path = lake_file(tmp_path, oblong(1500.0, 300.0), oblong(300.0, 2500.0, lat=LAT + 0.1))
    answer = ask("water", "--file", path, "--length-m", "1000", "--clear-m", "50", "--json").answer
    lengths = [lane["length_m"] for lane in answer["lanes"]]
    assert lengths == sorted(lengths, reverse=True)
    assert (answer["lanes"][0]["water"], answer["lanes"][0]["heading_deg"]) == ("Lake 1", 0.0)
    assert {lane["water"] for lane in answer["lanes"]} == {"Lake 0", "Lake 1"}
    assert all(0 <= lane["heading_deg"] < 180 for lane in answer["lanes"])


@pytest.mark.behaviour
def test_a_lake_without_a_name_goes_by_its_place_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "lakes.geojson"
    write_features(
        path,
        feature("Polygon", [oblong(50.0, 50.0)], name="Puddle"),
        feature("Polygon", [oblong(2000.0, 300.0, lat=LAT + 0.1)]),
    )
    answer = ask("water", "--file", path, "--length-m", "1500", "--clear-m", "50", "--json").answer
    assert {lane["water"] for lane in answer["lanes"]} == {1}


@pytest.mark.behaviour
def test_only_its_shores_are_known_of_a_water_file(tmp_path: Path) -> None:
    path = lake_file(tmp_path, oblong(2000.0, 300.0))
    answer = ask("water", "--file", path, "--length-m", "1500", "--clear-m", "50", "--json").answer
    assert answer["incident"] is None
    assert answer["lanes"]
    for lane in answer["lanes"]:
        assert lane["level"] == "unknown"
        assert lane["depth_m"] is None
        assert any(f["level"] == "unknown" for f in lane["findings"])
