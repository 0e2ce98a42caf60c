"""The edge in pieces: analytic ellipses, turned and ragged perimeters, spots, islands, calm."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Point, Polygon, box

from growth.ragged import COLS, GRID, INTENSITY, MIDDLE, RATE_MPS, ROWS, ellipse, even_fields, ragged
from wetline.errors import InputError
from wetline.growth.edge import EdgePiece, edge_length_m, edge_pieces, fastest_point, head_direction


def _joined(one: Polygon, other: Polygon) -> Polygon:
    both = one.union(other)
    assert isinstance(both, Polygon)
    return both


def _parts(pieces: list[EdgePiece]) -> list[str]:
    return [p.part for p in pieces]


def _by(pieces: list[EdgePiece]) -> dict[str, EdgePiece]:
    return {p.id: p for p in pieces}


@pytest.mark.derived
@pytest.mark.parametrize("length_to_width", [1.2, 2.0, 4.0])
@pytest.mark.parametrize("toward_deg", [0.0, 37.0, 90.0, 225.0])
def test_an_ellipse_has_its_head_in_front_and_its_heel_behind(
    length_to_width: float, toward_deg: float
) -> None:
    """Geometry: where the outward normal lies within 45° of the long axis, from x = ±a²/√(a² + b²)."""
    a, b = 900.0, 900.0 / length_to_width
    pieces = edge_pieces(ellipse(length_to_width, toward_deg), even_fields(toward_deg, length_to_width), 0.0)
    assert _parts(pieces) == ["head", "left_flank", "right_flank", "heel"]
    assert [p.id for p in pieces] == ["H1", "L1", "R1", "B1"]
    bearing = math.radians(toward_deg)
    along = np.array([math.sin(bearing), math.cos(bearing)])
    right = np.array([math.cos(bearing), -math.sin(bearing)])
    edge = a**2 / math.hypot(a, b)
    for piece in pieces:
        ahead, beside = (piece.line - MIDDLE) @ along, (piece.line - MIDDLE) @ right
        if piece.part == "head":
            assert ahead.min() == pytest.approx(edge, abs=40.0)
        elif piece.part == "heel":
            assert ahead.max() == pytest.approx(-edge, abs=40.0)
        else:
            inside = beside[1:-1] if piece.part == "right_flank" else -beside[1:-1]
            assert inside.min() > 0.0


@pytest.mark.derived
@pytest.mark.parametrize("length_to_width", [1.5, 3.0])
def test_head_heel_and_flank_rates_are_those_of_theellipse(length_to_width: float) -> None:
    """Lit at the rear focus: back = R(1 − e)/(1 + e), flank = (R + back)/(2 L/W); e = √(1 − (W/L)²)."""
    e = math.sqrt(1.0 - 1.0 / length_to_width**2)
    back = RATE_MPS * (1.0 - e) / (1.0 + e)
    by = _by(edge_pieces(ellipse(length_to_width, 60.0), even_fields(60.0, length_to_width), 0.0))
    assert by["H1"].rate_mps == pytest.approx(RATE_MPS, rel=0.01)
    assert by["H1"].intensity_kw_per_m == pytest.approx(INTENSITY, rel=0.01)
    assert by["B1"].mean_rate_mps == pytest.approx(back, rel=0.25)
    flank = (RATE_MPS + back) / (2.0 * length_to_width)
    assert by["L1"].mean_rate_mps == pytest.approx(flank, rel=0.4)
    assert by["L1"].mean_rate_mps < by["L1"].rate_mps < by["H1"].rate_mps


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(toward=st.floats(0.0, 360.0), length_to_width=st.floats(1.1, 5.0))
def test_flanks_of_an_ellipse_are_mirror_images(toward: float, length_to_width: float) -> None:
    by = _by(edge_pieces(ellipse(length_to_width, toward), even_fields(toward, length_to_width), 0.0))
    assert by["L1"].length_m == pytest.approx(by["R1"].length_m, abs=45.0)
    assert by["L1"].rate_mps == pytest.approx(by["R1"].rate_mps, rel=0.08)


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(turn=st.floats(1.0, 359.0), seed=st.integers(0, 5))
def test_turning_the_fire_and_its_wind_turns_the_pieces(turn: float, seed: int) -> None:
    """37° and any other turn: the same parts, lengths within a few sampling steps."""
    fire = ragged(ellipse(2.0, 0.0), 25.0, seed)
    turned = shapely.affinity.rotate(fire, -turn, origin=MIDDLE)
    before, after = (
        edge_pieces(fire, even_fields(0.0, 2.0), 0.0),
        edge_pieces(turned, even_fields(turn, 2.0), 0.0),
    )
    assert _parts(before) == _parts(after)
    for one, other in zip(before, after, strict=True):
        assert other.length_m == pytest.approx(one.length_m, abs=80.0)


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 200), toward=st.floats(0.0, 360.0), amplitude=st.floats(5.0, 60.0))
def test_a_ragged_edge_keeps_one_head_two_flanks_and_one_heel(
    seed: int, toward: float, amplitude: float
) -> None:
    fire = ragged(ellipse(2.5, toward), amplitude, seed)
    pieces = edge_pieces(fire, even_fields(toward, 2.5), 0.0)
    parts = _parts(pieces)
    assert parts.count("head") >= 1
    assert parts.count("heel") >= 1
    if "finger" not in parts:
        assert parts == ["head", "left_flank", "right_flank", "heel"]
    head, heel = (next(p for p in pieces if p.part == part) for part in ("head", "heel"))
    bearing = math.radians(toward)
    ahead = np.array([math.sin(bearing), math.cos(bearing)])
    assert (head.line @ ahead).mean() > (heel.line @ ahead).mean() + 600.0


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 200), amplitude=st.floats(0.0, 60.0))
def test_pieces_join_into_the_whole_contour_without_gap(seed: int, amplitude: float) -> None:
    fire = ragged(ellipse(2.0, 130.0), amplitude + 0.1, seed)
    pieces = edge_pieces(fire, even_fields(130.0, 2.0), 0.0)
    assert sum(p.length_m for p in pieces) == pytest.approx(edge_length_m(fire), rel=1e-9)
    drawn = sum(float(np.hypot(*np.diff(p.line, axis=0).T).sum()) for p in pieces)
    assert drawn == pytest.approx(fire.exterior.length, rel=1e-9)
    ends = {tuple(np.round(p.line[0], 6)) for p in pieces}
    assert ends == {tuple(np.round(p.line[-1], 6)) for p in pieces}


@pytest.mark.property
def test_burnt_ground_lies_left_of_every_piece() -> None:
    fire = MultiPolygon(
        [
            Polygon(ellipse(2.0, 10.0).exterior, [Point(MIDDLE).buffer(90.0).exterior]),
            Point(MIDDLE[0] + 1500.0, MIDDLE[1]).buffer(80.0),
        ]
    )
    for piece in edge_pieces(fire, even_fields(10.0, 2.0), 0.0):
        for p, q in itertools.pairwise(piece.line):
            step = q - p
            left = (p + q) / 2 + np.array([-step[1], step[0]]) / np.hypot(*step) * 0.5
            assert fire.contains(Point(left))


@pytest.mark.derived
def test_edge_length_is_that_of_outer_contours_and_islands_from_a_hectare() -> None:
    outer = box(1000.0, 1000.0, 2000.0, 2000.0)
    big, small = box(1200.0, 1200.0, 1320.0, 1320.0), box(1500.0, 1500.0, 1560.0, 1560.0)
    spot = box(2500.0, 1000.0, 2600.0, 1100.0)
    fire = MultiPolygon([Polygon(outer.exterior, [big.exterior, small.exterior]), spot])
    assert edge_length_m(fire) == pytest.approx(4000.0 + 480.0 + 400.0)


@pytest.mark.derived
def test_a_lattice_edge_is_not_measured_along_its_steps() -> None:
    """A diagonal staircase of 20 m steps is √2 longer than the line through it; not on the simplified one."""
    k = np.arange(60)
    steps = np.column_stack([np.repeat(k, 2)[1:], np.repeat(k, 2)[:-1]]) * 20.0 + 2000.0
    stairs = Polygon([*steps, (2000.0, steps[-1, 1])])
    straight = math.hypot(*(steps[-1] - steps[0]))
    rest = edge_length_m(stairs) - (steps[-1, 1] - 2000.0) - (steps[-1, 0] - 2000.0)
    assert rest == pytest.approx(straight, rel=0.03)


@pytest.mark.behaviour
def test_smaller_parts_are_spots_and_holes_from_a_hectare_islands() -> None:
    holes = [Point(MIDDLE).buffer(90.0).exterior, Point(MIDDLE[0], MIDDLE[1] + 300).buffer(20.0).exterior]
    spots = [
        Point(MIDDLE[0] + 1500, MIDDLE[1]).buffer(60.0),
        Point(MIDDLE[0] + 1500, MIDDLE[1] + 400).buffer(90.0),
    ]
    fire = MultiPolygon([Polygon(ellipse(2.0, 0.0).exterior, holes), *spots])
    pieces = edge_pieces(fire, even_fields(0.0, 2.0), 0.0)
    assert [p.id for p in pieces] == ["H1", "L1", "R1", "B1", "S1", "S2", "I1"]
    by = _by(pieces)
    assert by["S1"].length_m == pytest.approx(2 * math.pi * 90.0, rel=0.05)
    assert by["S1"].length_m > by["S2"].length_m
    assert np.array_equal(by["I1"].line[0], by["I1"].line[-1])
    assert by["S1"].rate_mps == pytest.approx(RATE_MPS, rel=0.03)
    assert sum(p.length_m for p in pieces) == pytest.approx(edge_length_m(fire), rel=1e-9)


@pytest.mark.behaviour
def test_a_fire_in_calm_air_claims_no_head_and_no_heel() -> None:
    pieces = edge_pieces(Point(MIDDLE).buffer(400.0), even_fields(123.0, 1.0), 0.0)
    assert _parts(pieces) == ["left_flank", "right_flank"]
    assert not any(p.directed for p in pieces)
    assert pieces[0].line[1:-1, 0].max() < MIDDLE[0] + 15.0
    assert head_direction(Point(MIDDLE).buffer(400.0), even_fields(123.0, 1.0), 0.0) is None


@pytest.mark.behaviour
def test_heads_that_run_up_a_hill_from_all_sides_give_no_single_head() -> None:
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, y = GRID.xy(row, col)
    outward = np.degrees(np.arctan2(x - MIDDLE[0], y - MIDDLE[1])) % 360.0
    assert head_direction(Point(MIDDLE).buffer(400.0), even_fields(outward, 3.0), 0.0) is None


@pytest.mark.behaviour
def test_edge_that_cannot_burn_does_not_turn_the_head() -> None:
    """East of the fire is bare; the rest runs north."""
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, _ = GRID.xy(row, col)
    east = x > MIDDLE[0] + 300.0
    toward = np.where(east, 90.0, 0.0)
    fields = even_fields(toward, 2.0, np.where(east, 0.0, RATE_MPS))
    fire = Point(MIDDLE).buffer(400.0)
    assert head_direction(fire, fields, 0.0) == pytest.approx(0.0, abs=1e-6)
    right = next(p for p in edge_pieces(fire, fields, 0.0) if p.part == "right_flank")
    assert right.mean_rate_mps < RATE_MPS


@pytest.mark.behaviour
def test_a_narrow_tongue_is_a_finger_and_a_broad_one_is_not() -> None:
    body = ellipse(1.5, 0.0)
    narrow = box(MIDDLE[0] + 300.0, MIDDLE[1] - 30.0, MIDDLE[0] + 1100.0, MIDDLE[1] + 30.0)
    broad = box(MIDDLE[0] + 300.0, MIDDLE[1] - 300.0, MIDDLE[0] + 1100.0, MIDDLE[1] + 300.0)
    fields = even_fields(0.0, 1.5)
    with_finger = edge_pieces(_joined(body, narrow), fields, 0.0)
    assert _parts(with_finger).count("finger") == 1
    assert [p.id for p in with_finger if p.part == "right_flank"] == ["R1", "R2"]
    finger = next(p for p in with_finger if p.part == "finger")
    assert finger.line[:, 0].max() == pytest.approx(MIDDLE[0] + 1100.0)
    assert finger.line[:, 0].min() > MIDDLE[0] + 500.0
    assert "finger" not in _parts(edge_pieces(_joined(body, broad), fields, 0.0))


@pytest.mark.behaviour
def test_a_narrow_run_ahead_is_the_head_and_not_a_finger() -> None:
    run = box(MIDDLE[0] - 30.0, MIDDLE[1], MIDDLE[0] + 30.0, MIDDLE[1] + 1500.0)
    pieces = edge_pieces(_joined(ellipse(1.5, 0.0), run), even_fields(0.0, 1.5), 0.0)
    assert _parts(pieces) == ["head", "left_flank", "right_flank", "heel"]
    assert pieces[0].line[:, 1].max() == pytest.approx(MIDDLE[1] + 1500.0)


@pytest.mark.derived
@pytest.mark.parametrize("toward_deg", [0.0, 37.0, 200.0])
def test_the_fastest_point_is_the_tip_of_theellipse(toward_deg: float) -> None:
    point = fastest_point(ellipse(2.0, toward_deg), even_fields(toward_deg, 2.0), 0.0)
    assert point is not None
    bearing = math.radians(toward_deg)
    tip = (MIDDLE[0] + 900.0 * math.sin(bearing), MIDDLE[1] + 900.0 * math.cos(bearing))
    assert math.dist(point.position, tip) < 60.0
    assert point.toward_deg == pytest.approx(toward_deg, abs=1e-3)
    assert point.rate_mps == pytest.approx(RATE_MPS, rel=0.01)


@pytest.mark.behaviour
def test_the_fastest_point_may_lie_on_a_spot() -> None:
    row, col = np.mgrid[0:ROWS, 0:COLS]
    x, _ = GRID.xy(row, col)
    fields = even_fields(0.0, 2.0, np.where(x > MIDDLE[0] + 1200.0, 3 * RATE_MPS, RATE_MPS))
    spot = Point(MIDDLE[0] + 1500.0, MIDDLE[1]).buffer(60.0)
    point = fastest_point(MultiPolygon([ellipse(2.0, 0.0), spot]), fields, 0.0)
    assert point is not None
    assert point.position[0] > MIDDLE[0] + 1200.0


@pytest.mark.behaviour
def test_what_lies_off_the_fields_is_unknown_and_not_still() -> None:
    off = Point(-3000.0, MIDDLE[1]).buffer(80.0)
    pieces = _by(edge_pieces(MultiPolygon([ellipse(2.0, 0.0), off]), even_fields(0.0, 2.0), 0.0))
    assert math.isnan(pieces["S1"].rate_mps)
    assert pieces["S1"].attack == "unknown"
    assert fastest_point(off, even_fields(0.0, 2.0), 0.0) is None


@pytest.mark.behaviour
def test_the_same_fire_gives_the_same_pieces() -> None:
    fire = ragged(ellipse(2.0, 80.0), 30.0, 3)
    one, two = (edge_pieces(fire, even_fields(80.0, 2.0), 0.0) for _ in range(2))
    assert [p.id for p in one] == [p.id for p in two]
    assert all(np.array_equal(a.line, b.line) for a, b in zip(one, two, strict=True))


@pytest.mark.behaviour
def test_no_area_and_times_without_fields_are_refused() -> None:
    with pytest.raises(InputError, match="no burnt area"):
        edge_pieces(Polygon(), even_fields(0.0, 2.0), 0.0)
    with pytest.raises(LookupError):
        edge_pieces(ellipse(2.0, 0.0), even_fields(0.0, 2.0), 7200.0)


@pytest.mark.practice
def test_bits_of_edge_between_fingers_are_no_pieces_of_their_own() -> None:
    """A comb of tongues 40 m wide and 200 m long, 20 m apart; bits under 60 m are none: common practice, no source."""
    x0, y0 = MIDDLE
    body = shapely.box(x0 - 600.0, y0 - 300.0, x0 + 600.0, y0)
    tongues = [
        shapely.box(x0 - 580.0 + 60.0 * k, y0 - 1.0, x0 - 540.0 + 60.0 * k, y0 + 200.0) for k in range(19)
    ]
    comb = shapely.union_all([body, *tongues])
    assert isinstance(comb, Polygon)
    pieces = edge_pieces(comb, even_fields(180.0, 2.0), 0.0)
    assert min(piece.length_m for piece in pieces) >= 60.0
    assert sum(piece.length_m for piece in pieces) == pytest.approx(edge_length_m(comb), abs=1.0)
