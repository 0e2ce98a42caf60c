"""The fire, the people round it, and what stands in the way."""

from __future__ import annotations

import csv
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from wetline.grid import angle_between, bearing_deg

if TYPE_CHECKING:
    from collections.abc import Callable

    from shapely.geometry.base import BaseGeometry

    from demo.written import Written

pytestmark = pytest.mark.behaviour

SEEDS = [1, 2, 3, 4, 5]


def _perimeters(demo: Written) -> tuple[BaseGeometry, BaseGeometry, BaseGeometry, datetime]:
    """Earlier, newest, spot, and the newest time."""
    fires = sorted(
        (datetime.fromisoformat(p["time"]), s) for s, p in demo.layer("fire") if p["kind"] == "fire"
    )
    (spot,) = [s for s, p in demo.layer("fire") if p["kind"] == "spot"]
    return fires[0][1], fires[-1][1], spot, fires[-1][0]


def _wind_toward_deg(demo: Written, time: datetime) -> float:
    """Grid bearing in which the wind blows in the hour of a time."""
    with (demo.folder / "weather.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    before = [row for row in rows if datetime.fromisoformat(row["time"]) <= time]
    return float(before[-1]["wind_from_deg"]) - float(demo.grid.convergence_deg) + 180.0


def _from_fire(demo: Written, point: BaseGeometry) -> tuple[float, float]:
    """Distance [m] and bearing [deg] of a shape from the fire's middle."""
    _, fire, _, _ = _perimeters(demo)
    dx, dy = point.centroid.x - fire.centroid.x, point.centroid.y - fire.centroid.y
    return float(np.hypot(dx, dy)), float(bearing_deg(dx, dy))


def _people(demo: Written, kind: str) -> list[tuple[BaseGeometry, dict[str, Any]]]:
    return [(s, p) for s, p in demo.layer("people") if p["kind"] == kind]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_fire_is_about_120_ha_with_an_earlier_perimeter_inside(
    written: Callable[[int], Written], seed: int
) -> None:
    earlier, newest, _, time = _perimeters(written(seed))
    assert 100e4 <= newest.area <= 140e4
    assert 30e4 <= earlier.area <= 90e4
    assert newest.buffer(1.0).contains(earlier)
    assert (time.hour, time.minute) == (13, 30)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_spot_lies_150_to_300_m_ahead_of_the_head(written: Callable[[int], Written], seed: int) -> None:
    demo = written(seed)
    _, newest, spot, time = _perimeters(demo)
    assert 150 <= newest.distance(spot) <= 300
    _, toward = _from_fire(demo, spot)
    assert angle_between(toward, _wind_toward_deg(demo, time)) < 25


@pytest.mark.parametrize("seed", SEEDS)
def test_fuels_burn_all_round_and_the_map_goes_on_downwind(
    written: Callable[[int], Written], seed: int
) -> None:
    demo = written(seed)
    _, newest, _, time = _perimeters(demo)
    ring = demo.inside([newest.buffer(1_000).difference(newest)])
    assert np.isin(demo.band("fuels")[ring], (91, 92, 93, 98, 99)).mean() < 0.03
    for turn in (0.0, 55.0):  # before and after the shift of the wind
        angle = np.radians(_wind_toward_deg(demo, time) + turn)
        x = newest.centroid.x + 7_000 * np.sin(angle)
        y = newest.centroid.y + 7_000 * np.cos(angle)
        assert demo.grid.holds(x, y)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_crew_works_at_the_edge_near_the_heel(written: Callable[[int], Written], seed: int) -> None:
    """Within 60 m of the edge in the rear third, so that a drop beside it must be held back."""
    demo = written(seed)
    _, newest, _, time = _perimeters(demo)
    angle = np.radians(_wind_toward_deg(demo, time))
    ahead = np.array([np.sin(angle), np.cos(angle)])
    edge = shapely.get_coordinates(newest) @ ahead
    rear = edge.min() + (edge.max() - edge.min()) / 3
    crews = _people(demo, "crew")
    close = [s for s, _ in crews if newest.distance(s) <= 60 and shapely.get_coordinates(s)[0] @ ahead < rear]
    assert close
    assert not any(newest.contains(s) for s, _ in crews)


def test_crews_are_counted_named_and_seen_within_half_an_hour(demo: Written) -> None:
    _, newest, _, time = _perimeters(demo)
    crews = _people(demo, "crew")
    assert 3 <= len(crews) <= 4
    assert sum(newest.distance(s) < 300 for s, _ in crews) >= 2
    assert {p["tools"] for _, p in crews} == {"hand", "engine"}
    for _, p in crews:
        assert p["count"] > 0
        assert timedelta(0) <= time - datetime.fromisoformat(p["seen"]) <= timedelta(minutes=30)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_village_lies_downwind_some_km_away(written: Callable[[int], Written], seed: int) -> None:
    demo = written(seed)
    _, _, _, time = _perimeters(demo)
    village, p = max(_people(demo, "houses"), key=lambda item: item[1]["count"])
    distance, toward = _from_fire(demo, village)
    assert 2_500 <= distance <= 8_000
    assert angle_between(toward, _wind_toward_deg(demo, time)) < 60
    assert p["count"] >= 15
    assert (demo.band("fuels")[demo.inside([village])] == 91).mean() > 0.9


def test_houses_and_a_camp_stand_about(demo: Written) -> None:
    assert len(_people(demo, "houses")) >= 6
    (camp,) = _people(demo, "camp")
    distance, _ = _from_fire(demo, camp[0])
    assert distance > 2_000


def test_hazards_have_heights_and_buffers_surround_every_water(demo: Written) -> None:
    kinds = [p["kind"] for _, p in demo.layer("hazards")]
    assert {"wire", "mast"} <= set(kinds)
    assert all(p["height_m"] > 0 for _, p in demo.layer("hazards"))
    buffers = [(s, p) for s, p in demo.layer("avoid") if p["kind"] == "waterway_buffer"]
    union = shapely.union_all([s for s, _ in buffers])
    for water, _ in demo.layer("water"):
        on_map = water.buffer(80).intersection(shapely.box(*demo.grid.bounds))
        assert union.buffer(1.0).covers(on_map)
    assert all(set(p["agents"]) == {"retardant", "gel", "foam"} for _, p in buffers)


def test_roads_lead_from_the_village_to_the_bases(demo: Written) -> None:
    roads = shapely.union_all([s for s, _ in demo.layer("roads")])
    for base, _ in demo.layer("bases"):
        assert roads.distance(base) < 200
    village, _ = max(_people(demo, "houses"), key=lambda item: item[1]["count"])
    assert roads.distance(village) < 200


def test_the_tanker_base_has_a_runway_and_retardant(demo: Written) -> None:
    bases = {p["kind"]: p for _, p in demo.layer("bases")}
    assert set(bases) == {"tanker_base", "helibase", "airfield"}
    assert bases["tanker_base"]["runway_m"] >= 1_800
    assert "retardant" in bases["tanker_base"]["agents"]
