"""Waters that are mapped in pieces: a cut is no shore, and a lane says whose water it crosses."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
import shapely
from shapely import affinity

from water.shores import area, ragged_lake
from wetline.water import joined, lanes_in, lanes_of_file, lanes_of_water, united

DEGREE_M = 111_000.0


def reach(west_m: float, south_m: float, east_m: float, north_m: float) -> shapely.Polygon:
    """A box about 10° E 0° N in degrees; a degree of longitude there is 111.3 km, of latitude 110.6."""
    return shapely.box(
        10.0 + west_m / DEGREE_M, south_m / DEGREE_M, 10.0 + east_m / DEGREE_M, north_m / DEGREE_M
    )


@pytest.mark.derived
def test_groups_are_what_union_leaves_in_one_piece() -> None:
    """The parts of shapely's union of 60 boxes, some of which touch at an edge or overlap."""
    g = np.random.default_rng(5)
    corners = g.integers(0, 30, (60, 2)).astype(float)
    boxes = [shapely.box(x, y, x + 2.0, y + 1.0) for x, y in corners]
    groups = joined(boxes)
    assert sorted(i for group in groups for i in group) == list(range(60))
    assert [group[0] for group in groups] == sorted(group[0] for group in groups)
    grown = shapely.get_parts(shapely.union_all([box.buffer(1e-6) for box in boxes]))
    of_part = {tuple(i for i, box in enumerate(boxes) if part.intersects(box)) for part in grown}
    assert set(groups) == of_part


@pytest.mark.derived
def test_a_lake_mapped_in_tiles_gives_the_lanes_of_the_whole_lake() -> None:
    lake = ragged_lake(2)
    west, south, east, north = lake.bounds
    xs, ys = np.linspace(west, east, 4), np.linspace(south, north, 3)
    pieces = [
        area(part)
        for i in range(3)
        for j in range(2)
        for part in shapely.get_parts(shapely.clip_by_rect(lake, xs[i], ys[j], xs[i + 1], ys[j + 1]))
    ]
    (group,) = joined(pieces)
    whole = united([pieces[i] for i in group])
    drawn = [s.length_m for s in lanes_in(lake, length_m=1000.0, clear_m=50.0, step_deg=15.0)]
    found = [s.length_m for s in lanes_in(whole, length_m=1000.0, clear_m=50.0, step_deg=15.0)]
    assert found == pytest.approx(drawn, abs=1e-3)


@pytest.mark.derived
def test_a_lane_across_two_reaches_bears_both_names_and_one_within_bears_its_own() -> None:
    """Two reaches of 1,500 m end to end: neither alone is 2,500 m long, together they are."""
    upper, lower = reach(0.0, 0.0, 1500.0, 200.0), reach(1500.0, 0.0, 3000.0, 200.0)
    found = lanes_of_file([("Lower", lower), ("Upper", upper)], length_m=2500.0, clear_m=50.0, step_deg=90.0)
    assert [lane.water for lane in found.lanes] == ["Lower + Upper"]
    assert found.lanes[0].length_m == pytest.approx(3000.0 * 111_319.5 / DEGREE_M, abs=1.0)
    assert {f.refers_to for lane in found.lanes for f in lane.findings} == {"Lower + Upper"}
    arm = reach(1400.0, -1500.0, 1500.0, 0.0)
    found = lanes_of_file(
        [("Upper", upper), ("Lower", lower), (2, arm)], length_m=1400.0, clear_m=40.0, step_deg=90.0
    )
    assert {lane.water for lane in found.lanes if lane.heading_deg == 0.0} == {"Upper + 2"}
    alone, problems = lanes_of_water(2, 0, arm, length_m=1400.0, clear_m=40.0, step_deg=90.0)
    assert {lane.water for lane in alone} == {2}
    assert problems == ()


@pytest.mark.derived
@pytest.mark.parametrize(("gap_m", "longest_m"), [(0.0, 3000.0), (1.0, 1500.0)])
def test_waters_a_metre_apart_are_two(gap_m: float, longest_m: float) -> None:
    pieces = [(0, reach(0.0, 0.0, 1500.0, 200.0)), (1, reach(1500.0 + gap_m, 0.0, 3000.0, 200.0))]
    found = lanes_of_file(pieces, length_m=1000.0, clear_m=50.0, step_deg=90.0)
    assert found.lanes[0].length_m == pytest.approx(longest_m * 111_319.5 / DEGREE_M, abs=1.0)


@pytest.mark.derived
def test_features_that_meet_at_the_antimeridian_are_one_water() -> None:
    """1,500 m on either side of 180° at the equator, each a feature of its own."""
    half = 1500.0 / 111_319.5
    pieces = [
        ("W", shapely.box(180.0 - half, 0.0, 180.0, 0.002)),
        ("E", shapely.box(-180.0, 0.0, -180.0 + half, 0.002)),
    ]
    found = lanes_of_file(pieces, length_m=2900.0, clear_m=50.0, step_deg=90.0)
    assert [lane.water for lane in found.lanes] == ["W + E"]
    assert found.lanes[0].length_m == pytest.approx(3000.0, abs=0.5)


@pytest.mark.derived
def test_wide_water_is_searched_in_tiles_with_lanes_on_both_sides_of_every_cut() -> None:
    """A strait 150 km by 400 m: headings of 90°, 10 km long, and together they leave no stretch out."""
    strait = affinity.scale(
        shapely.box(0.0, 0.0, 150_000.0, 400.0), 1 / DEGREE_M, 1 / DEGREE_M, origin=(0, 0)
    )
    lanes, problems = lanes_of_water("Sund", 0, strait, length_m=1500.0, clear_m=50.0, step_deg=90.0)
    assert problems == ()
    assert len(lanes) >= 4
    geod = pyproj.Geod(ellps="WGS84")
    shapely.prepare(strait)
    for lane in lanes:
        assert lane.heading_deg == pytest.approx(90.0, abs=0.06)
        assert lane.length_m == pytest.approx(10_000.0, abs=1.0)
        assert geod.inv(*lane.start, *lane.end)[2] == pytest.approx(lane.length_m, abs=1e-6)
        assert strait.covers(shapely.LineString([lane.start, lane.end]))
    middles = np.sort([(lane.start[0] + lane.end[0]) / 2 for lane in lanes])
    assert np.diff(middles).max() * DEGREE_M < 40_000.0


@pytest.mark.derived
def test_a_lane_of_a_bay_is_the_same_in_a_wide_sea_as_alone() -> None:
    """A bay 5 km by 400 m that opens into 140 km of water: across the cuts of the tiles it stays whole."""
    sea = shapely.box(0.0, 0.0, 140_000.0, 8_000.0)
    for x in (20_000.0, 47_000.0, 69_900.0, 111_000.0):
        bay = shapely.box(x, -5_000.0, x + 400.0, 0.0)
        water = affinity.scale(area(sea | bay), 1 / DEGREE_M, 1 / DEGREE_M, origin=(0, 0))
        lanes, _ = lanes_of_water(0, 0, water, length_m=1500.0, clear_m=150.0, step_deg=90.0)
        box = affinity.scale(bay, 1 / DEGREE_M, 1 / DEGREE_M, origin=(0, 0))
        down = [
            lane
            for lane in lanes
            if box.contains(shapely.Point(lane.start)) and lane.heading_deg == pytest.approx(0.0, abs=0.1)
        ]
        assert len(down) == 1
        assert down[0].length_m == pytest.approx(10_000.0, abs=1.0)


@pytest.mark.behaviour
def test_water_near_a_pole_is_said_not_to_be_searched_there() -> None:
    cap = shapely.box(-180.0, 87.9, 180.0, 90.0)
    _, problems = lanes_of_water("Cap", 3, cap, length_m=9_000.0, clear_m=4_000.0, step_deg=90.0)
    assert [(p.row, p.limit) for p in problems] == [(3, "88°")]


@pytest.mark.derived
def test_wide_water_goes_on_across_the_antimeridian() -> None:
    """A strait of 116 km over 180° at 60° N, cut there as GeoJSON asks: a lane crosses the cut."""
    west, east = (x / (111_320.0 * 0.5) for x in (41_000.0, 75_000.0))
    cut = shapely.MultiPolygon(
        [shapely.box(180.0 - west, 60.0, 180.0, 60.004), shapely.box(-180.0, 60.0, -180.0 + east, 60.004)]
    )
    lanes, _ = lanes_of_water(0, 0, cut, length_m=3_000.0, clear_m=50.0, step_deg=10.0)
    assert any(lane.start[0] > 170.0 and lane.end[0] < -170.0 for lane in lanes)


@pytest.mark.behaviour
def test_an_ocean_is_named_and_what_touches_it_is_searched_apart() -> None:
    ocean = shapely.box(-20.0, -10.0, 10.0, 0.0)
    lake = reach(0.0, 0.0, 3000.0, 200.0)
    found = lanes_of_file([("Ocean", ocean), ("Lake", lake)], length_m=2500.0, clear_m=50.0, step_deg=90.0)
    assert {lane.water for lane in found.lanes} == {"Lake"}
    assert [(p.row, p.limit) for p in found.problems] == [(0, "1500 km"), (0, "1500 km")]
    assert "searched one by one" in found.problems[0].message
    assert "was not searched" in found.problems[1].message
