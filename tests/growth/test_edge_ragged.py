"""Ragged perimeters with planted truth: every finger found, the head in front, the contour covered once."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import MultiPolygon, Point, Polygon, box

from growth.ragged import (
    CELL_M,
    COLS,
    GRID,
    MIDDLE,
    ROWS,
    Planted,
    ellipse,
    even_fields,
    largest,
    planted_fire,
    ragged,
)
from wetline.growth.edge import EdgePiece, edge_by_direction, edge_length_m, edge_pieces, fastest_point

ATTACKED_IN = {
    "hand_tools",
    "machines_and_aircraft",
    "head_doubtful",
    "head_ineffective",
    "not_burning",
    "unknown",
}


def parts(pieces: list[EdgePiece]) -> list[str]:
    return [p.part for p in pieces]


def of(pieces: list[EdgePiece], part: str) -> list[EdgePiece]:
    return [p for p in pieces if p.part == part]


def pieces_of(fire: Planted) -> list[EdgePiece]:
    return edge_pieces(fire.burnt, even_fields(fire.toward_deg, 2.0), 0.0)


def apart(a_deg: float, b_deg: float) -> float:
    return abs((a_deg - b_deg + 180.0) % 360.0 - 180.0)


def covered_once(pieces: list[EdgePiece], fire: Polygon | MultiPolygon) -> None:
    """Lengths add up; the lines as drawn join end to end and hold the whole contour."""
    assert sum(p.length_m for p in pieces) == pytest.approx(edge_length_m(fire), rel=1e-9)
    rings = [r for p in shapely.get_parts(fire) for r in (p.exterior, *p.interiors)]
    drawn = sum(float(np.hypot(*np.diff(p.line, axis=0).T).sum()) for p in pieces)
    assert drawn == pytest.approx(sum(r.length for r in rings), rel=1e-9)
    begins = sorted(tuple(np.round(p.line[0], 6)) for p in pieces)
    assert begins == sorted(tuple(np.round(p.line[-1], 6)) for p in pieces)
    for piece in pieces:
        assert set(piece.attack_m) == ATTACKED_IN
        assert sum(piece.attack_m.values()) == pytest.approx(piece.length_m)


@pytest.mark.derived
@pytest.mark.parametrize("lattice_m", [0.0, 20.0, 30.0])
@pytest.mark.parametrize("fingers", [0, 1, 2, 4])
def test_planted_fingers_are_found_and_nothing_else(fingers: int, lattice_m: float) -> None:
    """Straight, bent, thin, stepped: count and place right in more than 95 of 100 fires."""
    seeds = range(20)
    right = 0
    for seed in seeds:
        fire = planted_fire(seed, fingers=fingers, lattice_m=lattice_m)
        found = of(pieces_of(fire), "finger")
        met = [
            [i for i, f in enumerate(found) if np.hypot(*(f.line - tip).T).min() < 45.0] for tip in fire.tips
        ]
        right += len(found) == fingers and sorted(met) == [[i] for i in range(fingers)]
    assert right / len(seeds) > 0.95


@pytest.mark.derived
@pytest.mark.parametrize("seed", range(12))
def test_the_head_lies_where_the_wind_drives_it_and_the_whole_contour_is_covered(seed: int) -> None:
    fire = planted_fire(seed, fingers=seed % 5, lattice_m=(0.0, 30.0)[seed % 2])
    pieces = pieces_of(fire)
    middle = np.array(fire.burnt.centroid.coords[0])
    for part, turn in (("head", 0.0), ("heel", 180.0)):
        away = np.vstack([p.xy for p in of(pieces, part)]).mean(axis=0) - middle
        assert apart(math.degrees(math.atan2(*away)), fire.toward_deg + turn) < 15.0
    covered_once(pieces, fire.burnt)
    assert len(of(pieces, "island")) == len(fire.islands)
    for hole in fire.islands:
        assert any(Polygon(p.line).contains(Point(hole)) for p in of(pieces, "island"))


@pytest.mark.property
@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 60), turn=st.floats(1.0, 359.0))
def test_turned_shifted_and_begun_elsewhere_a_fire_has_the_same_pieces(seed: int, turn: float) -> None:
    fire = planted_fire(seed, fingers=seed % 4)
    before = pieces_of(fire)
    moved = translate(rotate(fire.burnt, -turn, origin=MIDDLE), 137.0, -211.0)
    ring = np.roll(shapely.get_coordinates(moved.exterior)[:-1], 97, axis=0)[::-1]
    again = Polygon(ring, [np.asarray(hole.coords) for hole in moved.interiors])
    after = edge_pieces(again, even_fields(fire.toward_deg + turn, 2.0), 0.0)
    assert [p.id for p in before] == [p.id for p in after]
    for one, other in zip(before, after, strict=True):
        assert other.length_m == pytest.approx(one.length_m, abs=25.0)


@pytest.mark.property
@pytest.mark.parametrize("seed", range(6))
def test_more_points_on_the_same_line_change_nothing(seed: int) -> None:
    fire = planted_fire(seed, fingers=seed % 4)
    more = shapely.segmentize(fire.burnt, 3.0)
    fields = even_fields(fire.toward_deg, 2.0)
    one, other = edge_pieces(fire.burnt, fields, 0.0), edge_pieces(more, fields, 0.0)
    assert [p.id for p in one] == [p.id for p in other]
    assert [p.length_m for p in other] == pytest.approx([p.length_m for p in one], abs=25.0)


@pytest.mark.property
@pytest.mark.parametrize("seed", range(6))
def test_in_a_mirror_the_flanks_swap(seed: int) -> None:
    fire = planted_fire(seed, fingers=seed % 4)
    mirrored = shapely.transform(fire.burnt, lambda xy: np.column_stack([2 * MIDDLE[0] - xy[:, 0], xy[:, 1]]))
    after = edge_pieces(mirrored, even_fields(-fire.toward_deg % 360.0, 2.0), 0.0)
    swap = {"left_flank": "right_flank", "right_flank": "left_flank"}

    def total(pieces: list[EdgePiece], part: str) -> float:
        return sum(p.length_m for p in of(pieces, part))

    before = pieces_of(fire)
    assert sorted(swap.get(p, p) for p in parts(after)) == sorted(parts(before))
    for part in ("head", "left_flank", "right_flank", "heel", "finger"):
        assert total(after, swap.get(part, part)) == pytest.approx(total(before, part), abs=40.0)


@pytest.mark.practice
def test_a_sliver_between_a_finger_and_the_head_is_no_piece_of_its_own() -> None:
    """A finger some 100 m behind the head: that bit of flank helps nobody. Common practice, no source."""
    body = ellipse(2.0, 0.0)
    fire = largest(
        body.union(box(MIDDLE[0] + 100.0, MIDDLE[1] + 580.0, MIDDLE[0] + 700.0, MIDDLE[1] + 650.0))
    )
    fields = even_fields(0.0, 2.0)
    plain = edge_pieces(fire, fields, 0.0, least_m=0.0)
    merged = edge_pieces(fire, fields, 0.0)
    assert len(of(plain, "right_flank")) + len(of(plain, "head")) > 2
    assert parts(merged) == ["head", "left_flank", "right_flank", "heel", "finger"]
    covered_once(merged, fire)


@pytest.mark.behaviour
@pytest.mark.parametrize("seed", range(4))
def test_pieces_of_one_part_are_numbered_from_the_head_back(seed: int) -> None:
    fire = planted_fire(seed, fingers=4)
    a = math.radians(fire.toward_deg)
    ahead = np.array([math.sin(a), math.cos(a)])
    for part in ("left_flank", "right_flank", "finger"):
        pieces = of(pieces_of(fire), part)
        places = [float((p.xy @ ahead).mean()) for p in pieces]
        assert places == sorted(places, reverse=True)
        assert [p.id[1:] for p in pieces] == [str(i + 1) for i in range(len(pieces))]


@pytest.mark.practice
@pytest.mark.parametrize("least_m", [0.0, 200.0, 1e6])
def test_merging_never_takes_away_a_part(least_m: float) -> None:
    fire = planted_fire(3, fingers=4)
    found = edge_pieces(fire.burnt, even_fields(fire.toward_deg, 2.0), 0.0, least_m=least_m)
    assert {"head", "left_flank", "right_flank", "heel"} <= set(parts(found))
    assert len(of(found, "finger")) == 4
    covered_once(found, fire.burnt)


@pytest.mark.behaviour
def test_two_fires_that_have_met_have_a_neck_and_no_fingers() -> None:
    west = Point(MIDDLE[0] - 700.0, MIDDLE[1]).buffer(450.0)
    east = Point(MIDDLE[0] + 700.0, MIDDLE[1]).buffer(420.0)
    neck = box(MIDDLE[0] - 400.0, MIDDLE[1] - 25.0, MIDDLE[0] + 400.0, MIDDLE[1] + 25.0)
    fire = largest(shapely.union_all([west, east, neck]))
    pieces = edge_pieces(fire, even_fields(90.0, 2.0), 0.0)
    assert parts(pieces) == ["head", "left_flank", "right_flank", "heel"]
    assert pieces[0].line[:, 0].max() == pytest.approx(MIDDLE[0] + 1120.0, abs=1.0)
    covered_once(pieces, fire)


@pytest.mark.behaviour
def test_a_finger_with_a_broad_end_is_one_finger() -> None:
    stem = box(MIDDLE[0] + 300.0, MIDDLE[1] - 30.0, MIDDLE[0] + 1000.0, MIDDLE[1] + 30.0)
    bulb = Point(MIDDLE[0] + 1050.0, MIDDLE[1]).buffer(110.0)
    fire = largest(shapely.union_all([ellipse(2.0, 0.0), stem, bulb]))
    (finger,) = of(edge_pieces(fire, even_fields(0.0, 2.0), 0.0), "finger")
    assert finger.line[:, 0].max() == pytest.approx(MIDDLE[0] + 1160.0, abs=1.0)


@pytest.mark.behaviour
def test_a_finger_that_curls_back_along_the_fire_is_found() -> None:
    """It stays within 150 m of the flank all its length."""
    path = shapely.LineString(
        [
            (MIDDLE[0] + 400.0, MIDDLE[1]),
            (MIDDLE[0] + 560.0, MIDDLE[1]),
            (MIDDLE[0] + 560.0, MIDDLE[1] - 550.0),
        ]
    )
    fire = largest(shapely.union_all([ellipse(2.0, 0.0), path.buffer(32.0)]))
    (finger,) = of(edge_pieces(fire, even_fields(0.0, 2.0), 0.0), "finger")
    assert finger.line[:, 1].min() < MIDDLE[1] - 540.0


@pytest.mark.behaviour
def test_a_deep_bay_is_flank_and_no_finger() -> None:
    bay = box(MIDDLE[0] + 50.0, MIDDLE[1] - 40.0, MIDDLE[0] + 900.0, MIDDLE[1] + 40.0)
    pocket = Point(MIDDLE[0] + 50.0, MIDDLE[1]).buffer(120.0)
    fire = largest(shapely.difference(ellipse(2.0, 0.0), shapely.union_all([bay, pocket])))
    pieces = edge_pieces(fire, even_fields(0.0, 2.0), 0.0)
    assert parts(pieces) == ["head", "left_flank", "right_flank", "heel"]
    covered_once(pieces, fire)


@pytest.mark.behaviour
def test_many_parts_are_one_main_fire_and_its_spots() -> None:
    rng = np.random.default_rng(5)
    places = [
        (MIDDLE[0] + 1100.0 + 70.0 * (i % 10), MIDDLE[1] - 350.0 + 70.0 * (i // 10)) for i in range(100)
    ]
    spots = [Point(p).buffer(float(rng.uniform(5.0, 25.0))) for p in places]
    fire = MultiPolygon([ragged(ellipse(2.0, 0.0), 14.0, 1), *spots])
    pieces = edge_pieces(fire, even_fields(0.0, 2.0), 0.0)
    assert len(of(pieces, "spot")) == 100
    covered_once(pieces, fire)


@pytest.mark.behaviour
def test_ground_of_unknown_fuel_beside_the_edge_is_unknown_and_not_still() -> None:
    """East of the fire nobody knows the fuel: it stands as unburnable in the fields."""
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, _ = GRID.xy(row, col)
    unknown = x > MIDDLE[0] + 200.0
    rate = np.where(unknown, 0.0, 0.2)
    fire = box(MIDDLE[0] - 400.0, MIDDLE[1] - 400.0, MIDDLE[0] + 200.0 + CELL_M, MIDDLE[1] + 400.0)
    pieces = edge_pieces(fire, even_fields(0.0, 2.0, rate, unknown), 0.0)
    (right,) = of(pieces, "right_flank")
    assert right.attack_m["unknown"] > 700.0
    assert right.attack == "unknown"
    assert math.isnan(right.rate_mps)
    (left,) = of(pieces, "left_flank")
    assert left.attack_m["unknown"] == 0.0
    east = edge_by_direction(fire, even_fields(0.0, 2.0, rate, unknown), 0.0)[2]
    assert (east.toward_deg, east.attack) == (90.0, "unknown")


@pytest.mark.behaviour
def test_edge_beside_bare_ground_burns_nowhere_and_needs_no_tools() -> None:
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, _ = GRID.xy(row, col)
    fields = even_fields(0.0, 2.0, np.where(x > MIDDLE[0] + 200.0, 0.0, 0.2))
    fire = box(MIDDLE[0] - 400.0, MIDDLE[1] - 400.0, MIDDLE[0] + 200.0, MIDDLE[1] + 400.0)
    (right,) = of(edge_pieces(fire, fields, 0.0), "right_flank")
    assert right.attack == "not_burning"
    assert right.attack_m["not_burning"] == pytest.approx(right.length_m)


@pytest.mark.behaviour
def test_a_fire_over_the_edge_of_the_map_is_unknown_there() -> None:
    fire = box(-300.0, 2000.0, 700.0, 2900.0)
    pieces = edge_pieces(fire, even_fields(90.0, 2.0), 0.0)
    assert sum(p.attack_m["unknown"] for p in pieces) > 1300.0
    (heel,) = of(pieces, "heel")
    assert heel.attack == "unknown"


@pytest.mark.derived
@pytest.mark.parametrize("toward_deg", [0.0, 45.0, 270.0])
def test_the_compass_tells_the_ellipse_s_rates_by_the_direction_they_face(toward_deg: float) -> None:
    """Lit at the rear focus: head R, back R(1 − e)/(1 + e); a direction faces within 22.5°."""
    e = math.sqrt(1.0 - 1.0 / 4.0)
    sectors = edge_by_direction(ellipse(2.0, toward_deg), even_fields(toward_deg, 2.0), 0.0)
    assert [s.toward_deg for s in sectors] == [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0]
    by = {s.toward_deg: s for s in sectors}
    assert by[toward_deg].rate_mps == pytest.approx(0.2, rel=0.01)
    assert by[toward_deg].attack == "head_doubtful"  # 2,500 kW/m: 1,730 to 3,459
    back = by[(toward_deg + 180.0) % 360.0]
    assert 0.2 * (1.0 - e) / (1.0 + e) * 0.99 < back.mean_rate_mps < back.rate_mps < 0.02
    assert sum(s.length_m for s in sectors) == pytest.approx(edge_length_m(ellipse(2.0, toward_deg)))


@pytest.mark.behaviour
def test_sectors_are_of_the_north_asked_for() -> None:
    fire = box(MIDDLE[0] - 300.0, MIDDLE[1] - 300.0, MIDDLE[0] + 300.0, MIDDLE[1] + 300.0)
    plain = edge_by_direction(fire, even_fields(0.0, 2.0), 0.0)
    turned = edge_by_direction(fire, even_fields(0.0, 2.0), 0.0, north_deg=45.0)
    assert plain[0].length_m > 300.0
    assert turned[7].length_m == pytest.approx(plain[0].length_m)


@pytest.mark.behaviour
def test_the_fastest_run_is_never_one_into_an_island() -> None:
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, y = GRID.xy(row, col)
    fast = np.hypot(x - MIDDLE[0], y - MIDDLE[1]) < 150.0
    hole = Point(MIDDLE).buffer(120.0)
    fire = Polygon(ellipse(2.0, 0.0).exterior, [hole.exterior])
    point = fastest_point(fire, even_fields(0.0, 2.0, np.where(fast, 1.0, 0.2)), 0.0)
    assert point is not None
    assert math.dist(point.position, MIDDLE) > 400.0


@pytest.mark.practice
def test_the_fastest_run_is_never_one_across_a_pocket_of_the_fire() -> None:
    """Fast grass in a pocket with a narrow mouth: it burns out in minutes. Common practice, no source."""
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, y = GRID.xy(row, col)
    fast = np.hypot(x - MIDDLE[0], y - MIDDLE[1]) < 200.0
    mouth = box(MIDDLE[0], MIDDLE[1] + 90.0, MIDDLE[0] + 900.0, MIDDLE[1] + 105.0)
    pocket = shapely.union_all([Point(MIDDLE).buffer(120.0), mouth])
    fire = largest(shapely.difference(ellipse(2.0, 0.0), pocket))
    point = fastest_point(fire, even_fields(0.0, 2.0, np.where(fast, 1.0, 0.2)), 0.0)
    assert point is not None
    assert point.position[1] > MIDDLE[1] + 800.0
    assert point.rate_mps == pytest.approx(0.2, rel=0.02)
