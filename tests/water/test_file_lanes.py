"""Water files in longitude and latitude: true headings, geodesic lengths, nothing dropped in silence."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
import shapely

from water.shores import area
from wetline.errors import OutsideRangeError
from wetline.water import FileLane, lanes_of_file

GEOD = pyproj.Geod(ellps="WGS84")


def lake_at(lon: float, lat: float, heading_deg: float, length_m: float, width_m: float) -> shapely.Polygon:
    """A rectangle laid out by geodesics from its middle: along a true heading, then to either side."""
    corners = []
    for along, side in ((1, 1), (1, -1), (-1, -1), (-1, 1)):
        x, y, back = GEOD.fwd(lon, lat, heading_deg, along * length_m / 2)
        x, y, _ = GEOD.fwd(x, y, back + 180.0 + 90.0 * side, width_m / 2)
        corners.append((x, y))
    return shapely.Polygon(corners)


def bearing(lane: FileLane) -> float:
    azimuth, _, _ = GEOD.inv(*lane.start, *lane.end)
    return float(azimuth % 360.0)


@pytest.mark.derived
@pytest.mark.parametrize(("lon", "lat"), [(25.0, 60.2), (-70.0, -41.0), (179.999, 65.0), (10.0, 0.0)])
@pytest.mark.parametrize("heading_deg", [0.0, 35.0, 90.0, 160.0])
def test_a_lake_laid_out_by_geodesics_gives_its_own_axis(lon: float, lat: float, heading_deg: float) -> None:
    lake = lake_at(lon, lat, heading_deg, 2400.0, 110.0)
    found = lanes_of_file([("Ulm", lake)], length_m=2390.0, clear_m=54.0)
    assert [round(lane.heading_deg, 1) for lane in found.lanes] == [heading_deg]
    lane = found.lanes[0]
    assert lane.water == "Ulm"
    assert lane.length_m == pytest.approx(2400.0, abs=0.1)
    assert abs((bearing(lane) - heading_deg + 180) % 360 - 180) < 0.1
    assert lane.length_m == pytest.approx(GEOD.inv(*lane.start, *lane.end)[2], abs=1e-6)
    assert found.reason is None
    assert found.nearest_miss_m is None
    assert found.problems == ()


@pytest.mark.derived
def test_headings_are_true_at_the_lanes_own_middle() -> None:
    """Two basins 1.9° of longitude (90 km) apart at 65° N: there the frame's north is off by 0.95° · sin 65° = 0.86°."""
    west, east = lake_at(20.0, 65.0, 0.0, 3000.0, 150.0), lake_at(21.9, 65.0, 0.0, 3000.0, 150.0)
    both = area(shapely.union_all([west, east]))
    found = lanes_of_file([("Vid", both)], length_m=2000.0, clear_m=50.0, step_deg=1.0)
    assert found.lanes
    for lane in found.lanes:
        middle, _, _ = GEOD.inv(*lane.start, *lane.end)
        assert abs((lane.heading_deg - middle + 90) % 180 - 90) < 0.06
        assert 0.0 <= lane.heading_deg < 180.0
    off = [abs((lane.heading_deg + 0.5) % 1.0 - 0.5) for lane in found.lanes]
    assert max(off) > 0.1, "away from the middle a true heading is no whole degree of the frame"


@pytest.mark.derived
def test_water_cut_at_the_antimeridian_is_one_water() -> None:
    """A lake 3 km long over 180°, drawn as two parts that meet there, as GeoJSON asks."""
    lake = lake_at(180.0, 52.0, 90.0, 3000.0, 300.0)
    x = np.where(shapely.get_coordinates(lake)[:, 0] < 0, 360.0, 0.0) + shapely.get_coordinates(lake)[:, 0]
    whole = shapely.Polygon(np.column_stack([x, shapely.get_coordinates(lake)[:, 1]]))
    west = shapely.intersection(whole, shapely.box(170.0, 40.0, 180.0, 60.0))
    east = shapely.intersection(whole, shapely.box(180.0, 40.0, 190.0, 60.0))
    moved = shapely.transform(east, lambda p: p - [360.0, 0.0])
    parts = shapely.MultiPolygon([p for p in (west, moved) if isinstance(p, shapely.Polygon)])
    found = lanes_of_file([(0, parts)], length_m=2900.0, clear_m=50.0, step_deg=90.0)
    assert [lane.length_m for lane in found.lanes] == [pytest.approx(3000.0, abs=0.1)]
    for lon, _ in (found.lanes[0].start, found.lanes[0].end):
        assert -180.0 <= lon <= 180.0


@pytest.mark.derived
def test_the_nearest_miss_is_what_the_longest_lane_lacks() -> None:
    lakes = [("A", lake_at(25.0, 60.0, 90.0, 1200.0, 150.0)), ("B", lake_at(25.1, 60.0, 90.0, 900.0, 150.0))]
    found = lanes_of_file(lakes, length_m=1500.0, clear_m=50.0, step_deg=90.0)
    assert found.lanes == ()
    assert found.nearest_miss_m == pytest.approx(300.0, abs=0.1)
    assert found.reason == "the longest lane 100 m wide is 1200 m long, 1500 m are asked for"


@pytest.mark.derived
def test_lanes_of_all_features_are_sorted_by_length() -> None:
    lakes = [(0, lake_at(25.0, 60.0, 90.0, 1600.0, 150.0)), (1, lake_at(25.1, 60.0, 90.0, 1900.0, 150.0))]
    found = lanes_of_file(lakes, length_m=1500.0, clear_m=50.0)
    assert [lane.length_m for lane in found.lanes] == sorted((x.length_m for x in found.lanes), reverse=True)
    assert found.lanes[0].water == 1
    assert {lane.water for lane in found.lanes} == {0, 1}


@pytest.mark.behaviour
def test_no_water_and_no_room_are_told_apart() -> None:
    assert lanes_of_file([], length_m=1500.0, clear_m=50.0).reason == "no water to search"
    pond = lanes_of_file([("Pond", lake_at(25.0, 60.0, 0.0, 40.0, 40.0))], length_m=1500.0, clear_m=50.0)
    assert pond.reason == "no lane 100 m wide fits into this water"
    assert pond.nearest_miss_m == 1500.0


@pytest.mark.behaviour
def test_what_cannot_be_searched_is_named() -> None:
    bow_tie = shapely.Polygon([(25.0, 60.0), (25.05, 60.01), (25.05, 60.0), (25.0, 60.01)])
    found = lanes_of_file(
        [
            ("Bow", bow_tie),
            ("Line", shapely.LineString([(25, 60), (26, 60)])),
            (2, None),
            ("Mere", shapely.Polygon([(500000, 5000000), (501000, 5000000), (501000, 5001000)])),
            ("Strip", shapely.Polygon([(900.0, 10.0), (900.1, 10.0), (900.1, 10.1)])),
        ],
        length_m=500.0,
        clear_m=30.0,
        step_deg=30.0,
    )
    assert {lane.water for lane in found.lanes} == {"Bow"}
    words = [(p.row, p.level, p.message) for p in found.problems]
    assert [w[0] for w in words] == [0, 1, 2, 3, 4]
    assert "repaired" in words[0][2]
    assert "holds no water" in words[1][2]
    assert "has no geometry" in words[2][2]
    assert "no longitude and latitude" in words[3][2]
    assert "no longitude and latitude" in words[4][2]


@pytest.mark.property
def test_a_lane_of_a_file_is_never_shown_as_clear() -> None:
    found = lanes_of_file([(0, lake_at(25.0, 60.0, 0.0, 2000.0, 200.0))], length_m=1500.0, clear_m=50.0)
    assert {lane.level for lane in found.lanes} == {"unknown"}
    assert all(f.effect == "look" for lane in found.lanes for f in lane.findings)


@pytest.mark.property
def test_a_wrong_number_is_refused_even_without_water() -> None:
    with pytest.raises(OutsideRangeError):
        lanes_of_file([], length_m=-1.0, clear_m=50.0)
