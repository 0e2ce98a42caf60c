"""Lanes near a place: none missed and none beyond, flown into the wind, the best of each water first."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from water.atlas_maker import GEOD, lane_at, records_of, scattered
from water.shores import make_scooper
from wetline.aircraft import AircraftClass
from wetline.units import KNOT
from wetline.water import Wind, boxes_near, cell_of, cells_near, in_reach, judged, rank

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.water import AtlasLane, Ranked

PLACES = [
    (25.0, 62.0),
    (179.9, 65.0),
    (-179.95, -16.0),
    (10.0, 0.0),
    (40.0, 89.7),
    (-120.0, -89.9),
    (0.0, 90.0),
]
HERE = (25.0, 62.0)


def ranked_of(lanes: Sequence[AtlasLane], wind: Wind | None, *, most: int = 1000) -> Ranked:
    reach = in_reach(records_of(lanes), *HERE, 100_000.0)
    assert len(reach) == len(lanes)
    return rank(reach, 0, make_scooper(), wind, here=HERE, most=most)


@pytest.mark.derived
@pytest.mark.parametrize("here", PLACES)
@pytest.mark.parametrize("within_m", [500.0, 60_000.0, 400_000.0])
def test_lanes_in_reach_are_those_of_geodesics(here: tuple[float, float], within_m: float) -> None:
    """Brute force by pyproj; a third of the places lie within 1 % of the distance asked for."""
    lanes = scattered(*here, 300, farthest_m=2.0 * within_m)
    g = np.random.default_rng(1)
    for _ in range(150):
        lon, lat, _ = GEOD.fwd(*here, g.uniform(0.0, 360.0), within_m * g.uniform(0.99, 1.01))
        lanes.append(lane_at(lon, lat))
    records = records_of(lanes)
    inside = {i for i, a in enumerate(lanes, start=1) if GEOD.inv(*here, *a.middle)[2] <= within_m}
    assert 0 < len(inside) < len(lanes)
    assert set(in_reach(records, *here, within_m).records["id"].tolist()) == inside


@pytest.mark.property
@pytest.mark.parametrize("here", PLACES)
@pytest.mark.parametrize("within_m", [500.0, 60_000.0, 400_000.0])
def test_the_cells_and_boxes_of_a_place_hold_all_in_reach(here: tuple[float, float], within_m: float) -> None:
    records = records_of(scattered(*here, 400, farthest_m=within_m))
    cells = cell_of(records["lon"], records["lat"])
    runs = cells_near(*here, within_m)
    assert all(any(first <= cell <= last for first, last in runs) for cell in cells.tolist())
    boxes = boxes_near(*here, within_m)
    for lon, lat in records[["lon", "lat"]].tolist():
        assert any(west <= lon <= east and south <= lat <= north for west, south, east, north in boxes)
    assert all(-180.0 <= west <= east <= 180.0 for west, _, east, _ in boxes)


@pytest.mark.derived
def test_places_on_the_antimeridian_and_at_the_poles_have_a_cell_of_the_world() -> None:
    """720 rows of 1,440 cells a quarter of a degree wide, counted from 90° S and 180° W."""
    lon = np.array([-180.0, 180.0, 179.999, 0.0, 0.0])
    lat = np.array([-90.0, -90.0, -90.0, 90.0, 0.0])
    assert cell_of(lon, lat).tolist() == [0, 0, 1439, 719 * 1440 + 720, 360 * 1440 + 720]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("heading_deg", "flown_deg", "head_kt", "cross_kt"),
    [
        (0.0, 0.0, 8.66, 5.0),  # wind 10 kt from 030°: cos 30° and sin 30°, from the right
        (100.0, 100.0, 3.42, -9.40),  # cos 70°, sin 70°, from the left
        (130.0, 310.0, 1.74, 9.85),  # cos 100° < 0, so flown the other way: cos 80°, sin 80°, from the right
        (30.0, 30.0, 10.0, 0.0),
        (170.0, 350.0, 7.66, 6.43),  # cos 40°, sin 40°
    ],
)
def test_a_lane_is_flown_the_way_that_meets_the_wind(
    heading_deg: float, flown_deg: float, head_kt: float, cross_kt: float
) -> None:
    lane = lane_at(*HERE, heading_deg=heading_deg)
    (near,) = judged([lane], HERE, make_scooper(), Wind(10.0 * KNOT, 30.0))
    assert near.heading_deg == pytest.approx(flown_deg)
    assert near.headwind_mps == pytest.approx(head_kt * KNOT, abs=0.005 * KNOT)
    assert near.crosswind_mps == pytest.approx(cross_kt * KNOT, abs=0.005 * KNOT)
    bearing, _, _ = GEOD.inv(*near.start, *near.end)
    assert (bearing - flown_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.05)


@pytest.mark.derived
def test_the_other_way_stands_only_with_little_tailwind() -> None:
    """Limits 12 kt across and 5 kt from behind; 8 kt from 360°: on 060° 4.0 kt from behind, on 040° 6.1 kt."""
    wind = Wind(8.0 * KNOT, 0.0)
    near = judged([lane_at(*HERE, heading_deg=h) for h in (60.0, 40.0)], HERE, make_scooper(), wind)
    assert [n.other_way for n in near] == [True, False]


@pytest.mark.behaviour
def test_crosswind_beyond_the_class_stops_a_lane_and_puts_it_last() -> None:
    lanes = [
        lane_at(25.0, 62.01, row=1, heading_deg=90.0),
        lane_at(25.0, 62.3, row=2, heading_deg=0.0),
        lane_at(25.0, 62.2, row=3, heading_deg=20.0),
    ]
    wind = Wind(20.0 * KNOT, 0.0)
    ranked = ranked_of(lanes, wind)
    assert (ranked.lanes, ranked.waters, ranked.against_wind) == (3, 3, 1)
    assert ranked.chosen.tolist() == [2, 1, 0]
    near = judged([lanes[i] for i in ranked.chosen], HERE, make_scooper(), wind)
    assert [n.level for n in near] == ["unknown", "unknown", "stop"]
    assert [round(n.distance_m / 1000.0) for n in near] == [22, 33, 1]


@pytest.mark.property
@pytest.mark.parametrize("wind", [None, Wind(0.0, 0.0), Wind(4.0, 200.0)])
def test_no_lane_of_an_atlas_is_ever_clear(wind: Wind | None) -> None:
    """Only the shore was read, whatever the wind."""
    for near in judged(scattered(*HERE, 40, farthest_m=9000.0), HERE, make_scooper(), wind):
        assert near.level in {"unknown", "stop"}
        assert any(f.code == "data_missing" and f.effect == "look" for f in near.findings)
        if wind is None:
            assert near.headwind_mps is near.crosswind_mps is near.other_way is None
            assert any(f.code == "wind" and f.level == "unknown" for f in near.findings)


@pytest.mark.behaviour
def test_a_class_without_a_crosswind_limit_leaves_the_wind_unknown() -> None:
    scooper = make_scooper()
    known = {k: v for k, v in scooper.quantities.items() if k != "crosswind_limit_kt"}
    bare = AircraftClass(id=scooper.id, name=scooper.name, fills="scoop", quantities=known)
    (near,) = judged([lane_at(*HERE)], HERE, bare, Wind(30.0, 90.0))
    assert near.level == "unknown"
    assert any(f.code == "wind" and f.level == "unknown" for f in near.findings)


@pytest.mark.behaviour
def test_lanes_too_short_or_too_narrow_for_the_class_are_left_out() -> None:
    lanes = [
        lane_at(*HERE, row=1, length_m=1499.0),
        lane_at(*HERE, row=2, width_m=99.0),
        lane_at(*HERE, row=3, length_m=1500.0, width_m=100.0),
        lane_at(*HERE, row=4, ask=1),
    ]
    assert ranked_of(lanes, None).chosen.tolist() == [2]


@pytest.mark.behaviour
def test_a_lane_that_some_sources_find_short_says_so() -> None:
    near = judged([lane_at(*HERE, length_m=m) for m in (1600.0, 2000.1)], HERE, make_scooper(), None)
    assert [any(f.level == "caution" for f in n.findings) for n in near] == [True, False]


@pytest.mark.property
def test_a_water_gives_three_lanes_at_most_and_they_differ() -> None:
    lanes = scattered(*HERE, 400, farthest_m=1500.0)
    ranked = ranked_of(lanes, Wind(5.0, 250.0))
    assert ranked.waters == 100
    chosen = [lanes[i] for i in ranked.chosen]
    assert len({(a.row, a.heading_deg) for a in chosen}) == len(chosen)
    for row in {a.row for a in chosen}:
        mine = [a for a in chosen if a.row == row]
        assert 1 <= len(mine) <= 3
        for a, b in itertools.combinations(mine, 2):
            turn = abs((a.heading_deg - b.heading_deg + 90.0) % 180.0 - 90.0)
            apart_m = GEOD.inv(*a.middle, *b.middle)[2]
            assert turn >= 19.99 or apart_m >= 0.49 * min(a.length_m, b.length_m)


@pytest.mark.derived
def test_within_a_water_less_crosswind_is_better_and_so_is_spare_length() -> None:
    """Limit 12 kt, need 1,500 m. Wind 6 kt from 360°.

    090°: share 6/12 = 0.5, length 3,000 m spare 2: 0.5 − 2 = −1.5. 000°: 0 − 1,600/1,500 = −1.07.
    045°: 4.24/12 = 0.354, less 3,000/1,500 = 2: −1.65, the best.
    """
    lanes = [
        lane_at(*HERE, heading_deg=0.0, length_m=1600.0),
        lane_at(*HERE, heading_deg=90.0, length_m=3000.0),
        lane_at(*HERE, heading_deg=45.0, length_m=3000.0),
    ]
    wind = Wind(6.0 * KNOT, 0.0)
    assert ranked_of(lanes, wind).chosen.tolist() == [2, 1, 0]


@pytest.mark.behaviour
def test_nothing_in_reach_is_no_fault() -> None:
    ranked = ranked_of([], None)
    assert (ranked.lanes, ranked.waters, len(ranked.chosen)) == (0, 0, 0)


@pytest.mark.property
@pytest.mark.parametrize("most", [1, 7, 40])
def test_fewer_lanes_asked_for_are_the_first_of_all(most: int) -> None:
    """Of waters far apart each with one lane, so that none is cut in the midst."""
    lanes = [replace(a, row=i) for i, a in enumerate(scattered(*HERE, 300, farthest_m=90_000.0))]
    wind = Wind(9.0, 250.0)
    every, some = ranked_of(lanes, wind), ranked_of(lanes, wind, most=most)
    assert some.chosen.tolist() == every.chosen.tolist()[:most]
    assert (some.lanes, some.waters, some.against_wind) == (every.lanes, every.waters, every.against_wind)
