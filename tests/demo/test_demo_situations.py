"""The situations that the demo must hold, as the project's own rooms see them."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from wetline.aircraft import aircraft_classes
from wetline.behaviour import fire_fields
from wetline.growth import arrival
from wetline.store import check_folder, read_incident
from wetline.water import lanes_for

if TYPE_CHECKING:
    from demo.written import Written
    from wetline.store import Incident
    from wetline.water import Lane

pytestmark = pytest.mark.behaviour


@pytest.fixture(scope="module")
def incident(demo: Written) -> Incident:
    return read_incident(demo.folder)


@pytest.fixture(scope="module")
def lanes(incident: Incident) -> list[Lane]:
    fire = incident.fire.burnt_at(incident.fire.newest).centroid
    assert incident.weather is not None
    return lanes_for(
        incident.ground,
        aircraft_classes()["twin_engine_scooper"],
        incident.weather.at(incident.fire.newest),
        incident.limits,
        near=(fire.x, fire.y),
        within_m=20_000.0,
    )


def _middle(lane: Lane) -> tuple[float, float]:
    return (lane.start[0] + lane.end[0]) / 2, (lane.start[1] + lane.end[1]) / 2


def _far_m(incident: Incident, lane: Lane) -> float:
    fire = incident.fire.burnt_at(incident.fire.newest).centroid
    x, y = _middle(lane)
    return float(np.hypot(x - fire.x, y - fire.y))


def test_the_folder_reads_without_a_complaint(demo: Written) -> None:
    assert check_folder(demo.folder).problems == ()


def test_two_lakes_at_6_to_15_km_have_a_lane_without_a_stop(incident: Incident, lanes: list[Lane]) -> None:
    waters = {
        lane.water for lane in lanes if lane.level != "stop" and 6_000 <= _far_m(incident, lane) <= 15_000
    }
    assert len(waters) >= 2
    assert sum(lane.length_m >= 1_200 for lane in lanes if lane.level != "stop") >= 4


def test_a_lake_is_walled_in_so_that_terrain_rejects_its_lanes(lanes: list[Lane]) -> None:
    stopped = {
        lane.water: True
        for lane in lanes
        if any(f.code == "terrain_exit" and f.level == "stop" for f in lane.findings)
    }
    usable = {lane.water for lane in lanes if lane.level != "stop"}
    assert set(stopped) - usable


def test_a_usable_lane_lies_on_water_of_unknown_depth(lanes: list[Lane]) -> None:
    unknown = [
        lane for lane in lanes if any(f.code == "depth" and f.level == "unknown" for f in lane.findings)
    ]
    assert unknown
    assert any(lane.level != "stop" for lane in unknown)


def test_a_wire_crosses_the_way_from_the_nearest_lake_to_the_fire(
    incident: Incident, lanes: list[Lane]
) -> None:
    fire = incident.fire.burnt_at(incident.fire.newest).centroid
    good = [lane for lane in lanes if lane.level != "stop"]
    nearest = min(good, key=lambda lane: _far_m(incident, lane))
    way = shapely.LineString([_middle(nearest), (fire.x, fire.y)])
    wires = [h for h in incident.ground.hazards if h.kind == "wire"]
    assert any(way.intersects(wire.shape) for wire in wires)


def test_the_fire_comes_to_the_village_in_hours_if_nothing_stops_it(incident: Incident) -> None:
    assert incident.weather is not None
    start = incident.fire.newest
    burnt = incident.fire.burnt_at(start)
    west, south, east, north = burnt.bounds
    window, _, _ = incident.ground.grid.window(west - 2_000, south - 5_000, east + 6_000, north + 4_000)
    until = start + timedelta(hours=7)
    fields = fire_fields(incident.ground, incident.weather, start=start, until=until, grid=window)
    arrival_s = arrival(fields, burnt, at_s=0.0, until_s=7 * 3_600.0)
    village = max(
        (p for p in incident.ground.people if p.kind == "houses"), key=lambda place: place.count or 0
    )
    x, y = window.xy(*np.mgrid[0 : window.rows, 0 : window.cols])
    beside = shapely.contains_xy(village.shape.buffer(45.0), x, y)
    assert 1.5 <= arrival_s[beside].min() / 3_600.0 <= 7.0
