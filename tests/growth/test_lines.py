"""Line: fire waits at it, goes round it, goes on from it, and never through it."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate
from shapely.geometry import Polygon, box

from growth.ellipses import CELL_M, ellipse, fields_of, square_grid
from wetline.errors import InputError, OutsideRangeError
from wetline.growth import Front, advance, arrival

GRID = square_grid(80)
MIDDLE = np.array([501_003.0, 5_238_993.0])
RATE_MPS = 0.2
CELL_S = CELL_M / RATE_MPS
EVEN = fields_of(GRID, RATE_MPS, 0.0, 1.0)
CX, CY = GRID.xy(*np.mgrid[:80, :80])
FROM_MIDDLE_M = np.hypot(CX - MIDDLE[0], CY - MIDDLE[1])


def disc(radius_m: float) -> Polygon:
    angle = np.linspace(0.0, 2.0 * np.pi, 360, endpoint=False)
    return Polygon(MIDDLE + radius_m * np.column_stack((np.cos(angle), np.sin(angle))))


def points(shape: Polygon) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return shapely.get_coordinates(shape.exterior)


def hold_all(front: Front, until_s: float) -> int:
    (ring,) = front.trace()
    return front.hold(ring, 0, len(ring.xy) - 1, until_s)


@pytest.mark.derived
def test_fire_waits_at_a_wet_line_until_it_dries_then_goes_on() -> None:
    """A long straight line 300 m ahead of a long straight edge: it dries at 3,000 s.

    By hand: what lies within 300 m burns at distance / rate; beyond, at 3,000 s + (distance − 300 m) /
    rate.
    """
    x0 = 500_600.0
    start = box(500_300.0, GRID.north_m - 2100.0, x0, GRID.north_m + 100.0)
    line = [(x0 + 300.0, GRID.north_m + 50.0), (x0 + 300.0, GRID.north_m - 2050.0)]
    got = arrival(EVEN, start, at_s=0.0, until_s=6000.0, lines=[(line, 3000.0)])
    distance = CX - x0
    before = (distance > 0) & (distance < 299.0)
    beyond = (distance > 301.0) & (distance < 850.0)
    assert got[before] == pytest.approx(distance[before] / RATE_MPS, abs=0.02 * CELL_S)
    assert got[beyond] == pytest.approx(3000.0 + (distance[beyond] - 300.0) / RATE_MPS, abs=0.02 * CELL_S)


@pytest.mark.derived
def test_a_line_that_dries_before_the_fire_comes_costs_no_time() -> None:
    ring = points(disc(300.0))
    got = arrival(EVEN, disc(100.0), at_s=0.0, until_s=2000.0, lines=[(ring, 900.0)])
    free = arrival(EVEN, disc(100.0), at_s=0.0, until_s=2000.0)
    assert np.array_equal(np.isfinite(got), np.isfinite(free))
    assert got[np.isfinite(free)] == pytest.approx(free[np.isfinite(free)], rel=1e-3)


@pytest.mark.property
@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 45.0, 63.0])
@pytest.mark.parametrize(("toward_deg", "length_to_width"), [(0.0, 1.0), (62.0, 4.0)])
def test_a_closed_line_without_width_does_not_leak(
    turn_deg: float, toward_deg: float, length_to_width: float
) -> None:
    square = rotate(box(500_700.0, 5_238_700.0, 501_310.0, 5_239_330.0), turn_deg)
    fields = fields_of(GRID, RATE_MPS, toward_deg, length_to_width, edges_s=[0.0, 1e6])
    front = Front(fields, disc(60.0), 0.0)
    front.hold_line(points(square), np.inf)
    front.advance(1e6)
    within = shapely.contains_xy(square, CX, CY)
    assert np.array_equal(front.burnt, within)
    assert front.contained()
    assert np.isposinf(front.trace()[0].held_until_s).all()


@pytest.mark.derived
@pytest.mark.parametrize("shift_m", [0.0, 6.0, 12.0, 19.0])
def test_the_open_end_of_a_line_is_outflanked(shift_m: float) -> None:
    """Behind a line the fire arrives by the shorter way round one of its ends: two straights."""
    ends = MIDDLE + np.array([[200.0, 411.0 + shift_m], [200.0, -303.0 - shift_m]])
    front = Front(EVEN, disc(100.0), 0.0)
    advance(front, 8000.0, blocked=[(ends, np.inf)])
    ways_m = [np.hypot(*(end - MIDDLE)) - 100.0 + np.hypot(CX - end[0], CY - end[1]) for end in ends]
    behind = (ends[0, 0] + 30.0 < CX) & (ends[0, 0] + 300.0 > CX)
    behind &= (
        np.abs((CY - MIDDLE[1]) / (CX - MIDDLE[0])) < 250.0 / 200.0
    )  # the way straight is across the line
    late = (front.arrival_s - np.minimum(*ways_m) / RATE_MPS)[behind] / CELL_S
    assert behind.sum() > 100
    assert np.mean(np.abs(late)) < 0.2
    assert np.all(np.abs(late) < 0.35)
    assert not front.contained()


@pytest.mark.property
@pytest.mark.parametrize("gap_m", [0.0, 11.0])
@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 45.0])
def test_lines_laid_end_to_end_are_joined(turn_deg: float, gap_m: float) -> None:
    """The sides of a square, laid one by one and up to half a cell apart at the corners, hold it."""
    square = rotate(box(500_700.0, 5_238_700.0, 501_310.0, 5_239_330.0), turn_deg)
    front = Front(fields_of(GRID, RATE_MPS, 62.0, 2.0, edges_s=[0.0, 1e6]), disc(60.0), 0.0)
    corners = points(square)
    for a, b in itertools.pairwise(corners):
        short = 0.5 * gap_m / np.hypot(*(b - a))
        front.hold_line([a + short * (b - a), b - short * (b - a)], np.inf)
    front.advance(1e6)
    assert not front.burnt[~shapely.contains_xy(square, CX, CY)].any()
    assert front.contained()


@pytest.mark.property
def test_line_tied_to_rock_at_both_ends_is_not_gone_round() -> None:
    burnable = np.ones(GRID.shape, bool)
    burnable[:20] = burnable[60:] = False
    fields = fields_of(GRID, RATE_MPS, 0.0, 1.0, burnable=burnable, edges_s=[0.0, 1e6])
    south, north = GRID.north_m - 60 * CELL_M, GRID.north_m - 20 * CELL_M
    front = Front(fields, disc(60.0), 0.0)
    front.hold_line([(MIDDLE[0] + 211.0, south + 9.0), (MIDDLE[0] + 240.0, north - 8.0)], np.inf)
    front.advance(20_000.0)
    assert np.isinf(front.arrival_s[MIDDLE[0] + 245.0 < CX]).all()


@pytest.mark.derived
def test_an_edge_held_until_it_dries_stays_and_then_grows_as_before() -> None:
    front = Front(EVEN, disc(150.0), 0.0)
    front.advance(600.0)
    area = front.trace()[0].area_m2
    hold_all(front, 2000.0)
    assert front.trace()[0].area_m2 == pytest.approx(area, rel=1e-6)
    assert front.trace()[0].held_until_s == pytest.approx(2000.0)
    front.advance(1999.0)
    assert front.trace()[0].area_m2 == pytest.approx(area, rel=1e-6)
    assert not front.contained()
    front.advance(3500.0)
    later = (FROM_MIDDLE_M > 290.0) & (FROM_MIDDLE_M < 560.0)
    exact_s = 2000.0 + (FROM_MIDDLE_M[later] - 270.0) / RATE_MPS
    assert front.arrival_s[later] == pytest.approx(exact_s, abs=0.2 * CELL_S)
    assert np.mean(np.abs(front.arrival_s[later] - exact_s)) < 0.05 * CELL_S


@pytest.mark.derived
def test_held_edge_stays_held_through_a_change_to_more_wind() -> None:
    """Times restated for the new hour must not make fire that waits look as if it were past."""
    hours = fields_of(
        GRID, [0.05, 0.6, 0.6], [0.0, 90.0, 200.0], [1.5, 3.0, 4.0], edges_s=[0.0, 1500.0, 2500.0, 9000.0]
    )
    front = Front(hours, disc(150.0), 0.0)
    front.advance(700.0)
    burnt = front.burnt
    piece = hold_all(front, np.inf)
    front.advance(6000.0)
    assert np.array_equal(front.burnt, burnt)
    assert front.contained()
    front.release(piece, 6000.0)
    assert not front.contained()
    front.advance(6100.0)
    assert front.burnt.sum() > burnt.sum()


@pytest.mark.derived
def test_progress_beyond_a_dried_line_is_kept_when_the_weather_changes() -> None:
    """Held until 1,000 s, then 0.02 m/s for 500 s: 10 m, less than a cell; then 0.2 m/s."""
    hours = fields_of(GRID, [0.2, 0.02, 0.2], 0.0, 1.0, edges_s=[0.0, 1000.0, 1500.0, 9000.0])
    front = Front(hours, disc(200.0), 0.0)
    hold_all(front, 1000.0)
    front.advance(3000.0)
    later = (FROM_MIDDLE_M > 240.0) & (FROM_MIDDLE_M < 480.0)
    exact_s = 1500.0 + (FROM_MIDDLE_M[later] - 210.0) / RATE_MPS
    assert np.mean(np.abs(front.arrival_s[later] - exact_s)) < 0.1 * CELL_S
    assert front.arrival_s[later] == pytest.approx(exact_s, abs=0.3 * CELL_S)


@pytest.mark.behaviour
def test_only_the_parts_named_are_held_and_ring_parts_wrap() -> None:
    front = Front(EVEN, disc(200.0), 0.0)
    (ring,) = front.trace()
    n = len(ring.xy)
    front.hold(ring, n - 5, 6, 4000.0)
    (held,) = front.trace()
    expected = np.full(n, -np.inf)
    expected[:7] = expected[n - 5 :] = 4000.0
    assert np.array_equal(held.held_until_s, expected)
    assert np.allclose(held.xy, ring.xy, atol=0.05)


@pytest.mark.behaviour
def test_a_longer_hold_overrides_a_shorter_one_and_not_the_reverse() -> None:
    front = Front(EVEN, disc(200.0), 0.0)
    hold_all(front, 3000.0)
    hold_all(front, 1000.0)
    assert np.all(front.trace()[0].held_until_s == 3000.0)
    hold_all(front, 5000.0)
    assert np.all(front.trace()[0].held_until_s == 5000.0)


@pytest.mark.derived
def test_line_laid_behind_the_edge_stops_nothing() -> None:
    front, free = Front(EVEN, disc(100.0), 0.0), Front(EVEN, disc(100.0), 0.0)
    front.advance(900.0)
    front.hold_line(points(disc(230.0)), np.inf)
    front.advance(2000.0)
    free.advance(2000.0)
    assert np.array_equal(front.burnt, free.burnt)


@pytest.mark.derived
def test_a_piece_can_be_secured_wetted_again_or_fail() -> None:
    front = Front(EVEN, disc(200.0), 0.0)
    piece = hold_all(front, 1000.0)
    front.advance(900.0)
    front.release(piece, 1800.0)
    assert front.piece_end_s(piece) == 1800.0
    front.advance(1700.0)
    start = front.burnt
    assert np.all(front.arrival_s[start] == 0.0)
    secured, failed = front.copy(), front.copy()
    secured.release(piece, np.inf)
    assert secured.contained()
    secured.advance(9000.0)
    assert np.array_equal(secured.burnt, start)
    failed.release(piece, 1700.0)
    failed.advance(3000.0)
    later = (FROM_MIDDLE_M > 225.0) & (FROM_MIDDLE_M < 450.0)
    exact_s = 1700.0 + (FROM_MIDDLE_M[later] - 200.0) / RATE_MPS
    assert failed.arrival_s[later] == pytest.approx(exact_s, abs=0.2 * CELL_S)


@pytest.mark.derived
def test_new_water_on_a_line_that_the_fire_has_crossed_does_not_call_it_back() -> None:
    front, free = Front(EVEN, disc(200.0), 0.0), Front(EVEN, disc(200.0), 0.0)
    piece = hold_all(front, 1000.0)
    hold_all(free, 1000.0)
    front.advance(1060.0)
    front.release(piece, np.inf)
    front.advance(2500.0)
    free.advance(2500.0)
    assert np.array_equal(np.isfinite(front.arrival_s), np.isfinite(free.arrival_s))
    known = np.isfinite(free.arrival_s)
    assert front.arrival_s[known] == pytest.approx(free.arrival_s[known], abs=0.1 * CELL_S)


@pytest.mark.behaviour
def test_ground_that_never_burns_holds_an_edge_for_good_and_counts_as_contained() -> None:
    burnable = np.zeros(GRID.shape, bool)
    burnable[30:50, 30:50] = True
    burnable[32, 45] = False
    front = Front(fields_of(GRID, RATE_MPS, 0.0, 1.0, burnable=burnable), disc(100.0), 0.0)
    assert not front.contained()
    front.advance(9000.0)
    assert front.contained()
    outer, hole = sorted(front.trace(), key=lambda ring: -ring.area_m2)
    assert outer.area_m2 == pytest.approx((20 * CELL_M) ** 2, rel=0.01)
    assert np.isposinf(outer.held_until_s).all()
    assert np.isposinf(hole.held_until_s).all()


@pytest.mark.property
def test_a_line_with_an_end_never_brings_the_fire_earlier() -> None:
    fields = fields_of(GRID, RATE_MPS, 40.0, 2.0)
    burnt = ellipse(MIDDLE[0], MIDDLE[1], 800.0, RATE_MPS, 40.0, 2.0)
    free = arrival(fields, burnt, at_s=0.0, until_s=3200.0)
    rng = np.random.default_rng(5)
    lines = [
        (MIDDLE + rng.uniform(-600.0, 600.0, (3, 2)), float(rng.uniform(500.0, 4000.0))) for _ in range(8)
    ]
    got = arrival(fields, burnt, at_s=0.0, until_s=3000.0, lines=lines)
    known = np.isfinite(got) & np.isfinite(free)
    assert np.array_equal(known, np.isfinite(got))
    assert known.sum() < np.sum(free < 3000.0)
    gain = free[known] - got[known]
    assert np.max(gain) < 0.5 * CELL_S
    assert np.mean(np.maximum(gain, 0.0)) < 0.02 * CELL_S


@pytest.mark.behaviour
def test_lines_and_pieces_that_are_none_are_refused() -> None:
    front = Front(EVEN, disc(200.0), 0.0)
    (ring,) = front.trace()
    with pytest.raises(OutsideRangeError, match="last"):
        front.hold(ring, 0, len(ring.xy), 200.0)
    front.advance(100.0)
    with pytest.raises(OutsideRangeError, match=r"ring\.at_s"):
        front.hold(ring, 0, 3, 200.0)
    with pytest.raises(InputError, match="xy"):
        front.hold_line([(0.0, 0.0)], 200.0)
    with pytest.raises(OutsideRangeError, match="until_s"):
        front.hold_line([(0.0, 0.0), (1.0, 1.0)], 99.0)
    with pytest.raises(OutsideRangeError, match="piece"):
        front.release(7, 200.0)


@pytest.mark.derived
@pytest.mark.parametrize("line_m", [200.0, 207.0, 219.0])
@pytest.mark.parametrize("past_s", [5.0, 55.0])
def test_new_water_on_a_line_that_dried_before_the_fire_came_does_not_call_it_back(
    line_m: float, past_s: float
) -> None:
    """The fire is past the line, and not yet at the next cell's middle."""
    x0 = GRID.west_m + 512.5
    start = box(x0 - 200.0, GRID.north_m - 1990.0, x0, GRID.north_m - 10.0)
    line = [(x0 + line_m, GRID.north_m - 1990.0), (x0 + line_m, GRID.north_m - 10.0)]
    front = Front(EVEN, start, 0.0)
    piece = front.hold_line(line, line_m / RATE_MPS - 100.0)
    front.advance(line_m / RATE_MPS + past_s)
    front.release(piece, np.inf)
    front.advance(3000.0)
    middle = np.abs(CY - GRID.north_m + 1000.0) < 300.0
    beyond = middle & (x0 + line_m < CX) & (x0 + 550.0 > CX)
    np.testing.assert_allclose(front.arrival_s[beyond], (CX[beyond] - x0) / RATE_MPS, atol=0.05 * CELL_S)


@pytest.mark.derived
@pytest.mark.parametrize("slower", [0.1, 0.0])
@pytest.mark.parametrize("past_s", [10.0, 65.0])
def test_a_line_that_has_dried_does_not_hold_the_fire_at_a_change_of_weather(
    slower: float, past_s: float
) -> None:
    change_s = 207.0 / RATE_MPS + past_s
    rates = [RATE_MPS, slower * RATE_MPS, RATE_MPS]
    fields = fields_of(GRID, rates, 0.0, 1.0, edges_s=[0.0, change_s, change_s + 3600.0, 2e4])
    x0 = GRID.west_m + 512.5
    start = box(x0 - 200.0, GRID.north_m - 1990.0, x0, GRID.north_m - 10.0)
    line = [(x0 + 207.0, GRID.north_m - 1990.0), (x0 + 207.0, GRID.north_m - 10.0)]
    dried, free = Front(fields, start, 0.0), Front(fields, start, 0.0)
    dried.hold_line(line, 935.0)
    for front in (dried, free):
        front.advance(6000.0)
    middle = np.abs(CY - GRID.north_m + 1000.0) < 300.0
    np.testing.assert_allclose(dried.arrival_s[middle], free.arrival_s[middle], atol=0.05 * CELL_S)
