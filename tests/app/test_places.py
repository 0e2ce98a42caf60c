"""Dip sites and bases of the invented incident, as an answer."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
import shapely.geometry

from wetline.app.circuits import circuits_answer
from wetline.app.water import water_of_incident
from wetline.cli.tables.water import water_table

pytestmark = pytest.mark.behaviour

RANK = {"clear": 0, "caution": 1, "unknown": 2, "stop": 3}


@pytest.fixture(scope="module")
def answer(demo_folder: Path) -> dict[str, Any]:
    return water_of_incident(demo_folder, class_id=None, at=None)


def worst(findings: list[dict[str, Any]]) -> str:
    return max((f["level"] for f in findings), key=RANK.__getitem__, default="clear")


def test_every_dip_site_says_why_it_stands_as_it_does(answer: dict[str, Any]) -> None:
    sites = answer["dip_sites"]
    assert [s["id"] for s in sites] == [f"D{i}" for i in range(1, len(sites) + 1)]
    for site in sites:
        assert site["level"] == worst(site["findings"])
        assert {f["refers_to"] for f in site["findings"]} == {site["id"]}
        assert site["class"] == "medium_helicopter"
        if site["departure_heading_deg"] is not None:
            assert site["climb_gradient_available_low"] <= site["climb_gradient_available"]
            assert site["vertical_climb_m"] <= site["vertical_climb_m_high"]
        if site["level"] != "stop":
            assert 0 < site["load_l_full_fuel"] <= site["load_l_at_reserve"]


def test_the_demo_holds_a_tank_to_use_one_to_refuse_and_a_known_place(answer: dict[str, Any]) -> None:
    known = {s["place"].split()[-1]: s for s in answer["dip_sites"] if s["place"]}
    assert known["tank"]["level"] in {"clear", "caution"}
    assert known["tank"]["looked_at"] < answer["time"] < known["tank"]["look_expires"]
    assert known["cistern"]["level"] == "stop"
    assert known["cistern"]["load_limited_by"] == "what the tank or pond holds"
    assert known["buoy"]["water"] != known["buoy"]["place"]
    assert any(f["code"] == "separation" for f in known["buoy"]["findings"])
    assert known["buoy"]["deep_enough_for"] == ["bucket", "snorkel"]


def test_lanes_know_of_the_dip_sites_beside_them(answer: dict[str, Any]) -> None:
    """A caution of one on the other goes both ways, unless a nearer neighbour is named."""
    named = {
        f["refers_to"] for lane in answer["lanes"] for f in lane["findings"] if f["code"] == "separation"
    }
    assert named
    assert all(name.startswith("S") for name in named)


def test_bases_are_judged_for_those_who_use_them(answer: dict[str, Any]) -> None:
    by_kind = {base["kind"]: base for base in answer["bases"]}
    assert {c["class"] for c in by_kind["tanker_base"]["classes"]} == {"single_engine_tanker", "large_tanker"}
    assert {c["class"] for c in by_kind["helibase"]["classes"]} == {"medium_helicopter"}
    for base in answer["bases"]:
        assert base["level"] == worst(base["findings"])
        for at in base["classes"]:
            assert at["level"] == worst([*base["findings"], *at["findings"]])
    large = next(c for c in by_kind["tanker_base"]["classes"] if c["class"] == "large_tanker")
    assert large["runway_needed_m_low"] < large["runway_needed_m"] < large["runway_needed_m_high"]
    assert large["loads_in_stock"] == pytest.approx(by_kind["tanker_base"]["stock_l"] / 13_300.0, abs=0.05)


def test_one_class_alone_is_judged_when_asked_for(demo_folder: Path) -> None:
    answer = water_of_incident(demo_folder, class_id="heavy_helicopter", at=None)
    assert {s["class"] for s in answer["dip_sites"]} == {"heavy_helicopter"}
    assert all(base["classes"] == [] for base in answer["bases"])


def test_a_class_that_finds_no_water_is_told_so_beside_one_that_does(
    demo_folder: Path, tmp_path: Path
) -> None:
    """Left with its smallest water, the incident has a dip site and no lane; without any, neither."""
    folder = Path(shutil.copytree(demo_folder, tmp_path / "incident"))
    path = folder / "water.geojson"
    layer = json.loads(path.read_text())
    least = min(layer["features"], key=lambda f: shapely.geometry.shape(f["geometry"]).area)
    path.write_text(json.dumps({**layer, "features": [least]}))
    answer = water_of_incident(folder, class_id=None, at=None)
    assert (answer["lanes"], "reason" in answer) == ([], False)
    scoopers = {"twin_engine_scooper", "single_engine_scooper"}
    assert {none["class"] for none in answer["none_found"]} == scoopers
    assert all(none["nearest_miss_m"] > 0 for none in answer["none_found"])
    path.write_text(json.dumps({**layer, "features": []}))
    (folder / "dips.geojson").unlink()
    dry = water_of_incident(folder, class_id="medium_helicopter", at=None)
    assert [none["class"] for none in dry["none_found"]] == ["medium_helicopter"]
    assert dry["reason"].startswith("no water within 40 km has 30 m of room")
    assert "No water for a medium helicopter" in water_table(dry)


def test_each_way_in_which_the_fleet_dips_has_sites_of_its_own(demo_folder: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(demo_folder, tmp_path / "incident"))
    path = folder / "fleet.toml"
    second = '[[aircraft]]\ncall_sign = "Wren 9"\nclass = "medium_helicopter"\nbase = "Grabban Meadow"\n'
    fleet = f'{path.read_text()}\n{second}fill = "snorkel"\nfuel_h = 1.5\n'
    path.write_text(fleet)
    answer = water_of_incident(folder, class_id="medium_helicopter", at=None)
    by_fill = {fill: [s for s in answer["dip_sites"] if s["fill"] == fill] for fill in ("bucket", "snorkel")}
    needs = {fill: {s["depth_needed_m"] for s in sites} for fill, sites in by_fill.items()}
    assert needs == {"bucket": {2.0}, "snorkel": {0.5}}
    assert "Dip sites for a medium helicopter with a snorkel" in water_table(answer)
    day = circuits_answer(folder, at=None)
    names = {s["id"]: s["fill"] for s in answer["dip_sites"]}
    flown = {row["aircraft"]: row["primary"] for row in day["day"] if row["class"] == "medium_helicopter"}
    assert {names[source] for source in flown.values()} == {"bucket", "snorkel"}
