"""The front itself: starts of every shape, contours, time, the edge of the map."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.affinity import translate
from shapely.geometry import MultiPolygon, Polygon, box

from growth.ellipses import CELL_M, ellipse, fields_of, square_grid
from wetline.errors import InputError, OutsideRangeError
from wetline.growth import Front

GRID = square_grid(80)
MIDDLE = (501_003.0, 5_238_993.0)
RATE_MPS = 0.2
EVEN = fields_of(GRID, RATE_MPS, 0.0, 1.0)


def disc(radius_m: float, dx: float = 0.0, dy: float = 0.0, hole_m: float = 0.0) -> Polygon:
    angle = np.linspace(0.0, 2.0 * np.pi, 360, endpoint=False)
    round_ = np.column_stack((np.cos(angle), np.sin(angle)))
    middle = np.array([MIDDLE[0] + dx, MIDDLE[1] + dy])
    return Polygon(middle + radius_m * round_, [middle + hole_m * round_] if hole_m else [])


def from_middle_m() -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    x, y = GRID.xy(*np.mgrid[:80, :80])
    return np.hypot(x - MIDDLE[0], y - MIDDLE[1])


@pytest.mark.derived
def test_unburnt_ground_within_the_perimeter_burns_from_its_own_edge() -> None:
    front = Front(EVEN, disc(600.0, hole_m=350.0), 100.0)
    front.advance(1500.0)
    r = from_middle_m()
    hole = r < 350.0 - 0.1 * CELL_M
    closing_s = 100.0 + (350.0 - r[hole]) / RATE_MPS
    reached = closing_s < 1490.0
    assert front.arrival_s[hole][reached] == pytest.approx(closing_s[reached], abs=0.05 * CELL_M / RATE_MPS)
    assert np.isinf(front.arrival_s[hole][closing_s > 1510.0]).all()


@pytest.mark.derived
def test_every_part_of_a_fire_burns_the_smallest_too() -> None:
    """The second part is a tenth of a cell wide and holds no cell's centre."""
    x, y = (float(v) for v in GRID.xy(20, 60))
    spot = box(x + 4.0, y + 5.0, x + 7.0, y + 8.0)
    front = Front(EVEN, MultiPolygon([disc(100.0), spot]), 0.0)
    assert len(front.trace()) == 2
    front.advance(1500.0)
    cx, cy = GRID.xy(*np.mgrid[:80, :80])
    nearest_m = np.asarray(shapely.distance(shapely.points(cx, cy), shapely.union_all([disc(100.0), spot])))
    reached = (nearest_m > 30.0) & (nearest_m < 290.0)
    assert front.arrival_s[reached] == pytest.approx(
        nearest_m[reached] / RATE_MPS, abs=0.2 * CELL_M / RATE_MPS
    )
    assert front.parts_lost == 0


@pytest.mark.behaviour
def test_a_part_on_ground_that_does_not_burn_is_counted() -> None:
    burnable = np.ones(GRID.shape, bool)
    burnable[:30] = False
    fields = fields_of(GRID, RATE_MPS, 0.0, 1.0, burnable=burnable)
    front = Front(fields, MultiPolygon([disc(60.0), disc(60.0, dy=800.0)]), 0.0)
    assert front.parts_lost == 1
    assert np.isinf(front.arrival_s[~burnable]).all()
    with pytest.raises(InputError, match="No ground within the perimeter is known to burn"):
        Front(fields, disc(60.0, dy=800.0), 0.0)


@pytest.mark.derived
def test_a_fire_stands_for_an_hour_that_allows_no_spread() -> None:
    """Hour by hour: 0.2 m/s, nothing, 0.1 m/s; the place within the cell is kept."""
    fields = fields_of(GRID, [RATE_MPS, 0.0, 0.1], 0.0, 1.0, edges_s=[0.0, 1000.0, 2000.0, 6000.0])
    front = Front(fields, disc(150.0), 0.0)
    front.advance(2000.0)
    area = sum(ring.area_m2 for ring in front.trace())
    assert area == pytest.approx(np.pi * 350.0**2, rel=0.01)
    assert not front.contained()
    front.advance(5000.0)
    r = from_middle_m()
    assert not np.any((front.arrival_s > 1000.0) & (front.arrival_s < 2000.0))
    later = (r > 352.0) & (r < 640.0)
    exact_s = 2000.0 + (r[later] - 350.0) / 0.1
    assert front.arrival_s[later] == pytest.approx(exact_s, abs=0.1 * CELL_M / 0.1)


@pytest.mark.derived
def test_fire_stands_where_its_fuel_does_not_burn_this_hour_and_goes_on_elsewhere() -> None:
    """The east half burns only in the second hour; the west half always."""
    rate = np.full((2, 80, 80), RATE_MPS)
    rate[0, :, 40:] = 0.0
    fields = fields_of(GRID, rate, 0.0, 1.0, edges_s=[0.0, 2000.0, 4000.0])
    front = Front(fields, box(500_500.0, 5_238_100.0, 500_800.0, 5_239_900.0), 0.0)
    front.advance(3900.0)
    x = GRID.west_m + (np.arange(80) + 0.5) * CELL_M
    row = front.arrival_s[40]
    assert row[33:40] == pytest.approx((x[33:40] - 500_800.0) / RATE_MPS, abs=5.0)
    exact_s = 2000.0 + (x[40:50] - 501_000.0) / RATE_MPS
    assert row[40:50] == pytest.approx(exact_s, abs=0.1 * CELL_M / RATE_MPS)


@pytest.mark.derived
@pytest.mark.parametrize("toward_deg", [0.0, 17.0, 200.0])
def test_the_contour_is_the_ellipse_walked_with_the_burnt_side_on_the_left(toward_deg: float) -> None:
    front = Front(
        fields_of(GRID, RATE_MPS, toward_deg, 2.0), ellipse(*MIDDLE, 1000.0, RATE_MPS, toward_deg, 2.0), 0.0
    )
    front.advance(2000.0)
    (ring,) = front.trace()
    exact = ellipse(*MIDDLE, 3000.0, RATE_MPS, toward_deg, 2.0)
    assert ring.area_m2 == pytest.approx(exact.area, rel=0.005)
    assert Polygon(ring.xy).hausdorff_distance(exact) < 0.15 * CELL_M
    assert ring.lengths_m.sum() == pytest.approx(exact.length, rel=0.005)
    assert np.isneginf(ring.held_until_s).all()
    assert not ring.touches_edge


@pytest.mark.derived
def test_an_island_is_walked_the_other_way() -> None:
    front = Front(EVEN, disc(600.0, hole_m=350.0), 0.0)
    outer, island = sorted(front.trace(), key=lambda ring: -ring.area_m2)
    assert outer.area_m2 == pytest.approx(np.pi * 600.0**2, rel=0.005)
    assert island.area_m2 == pytest.approx(-np.pi * 350.0**2, rel=0.005)


@pytest.mark.behaviour
def test_a_fire_at_the_edge_of_the_map_says_so_and_is_never_contained() -> None:
    assert not Front(EVEN, disc(100.0, dx=-850.0), 0.0).reached_edge
    front = Front(EVEN, disc(100.0, dx=-850.0), 0.0)
    front.advance(1000.0)
    assert front.reached_edge
    (ring,) = front.trace()
    assert ring.touches_edge
    west, south, east, north = Polygon(ring.xy).bounds
    assert west == pytest.approx(GRID.west_m)
    on_edge = np.isclose(ring.xy[:, 0], GRID.west_m)
    assert on_edge.sum() > 5
    assert np.isneginf(ring.held_until_s[on_edge]).all()
    front.hold(ring, 0, len(ring.xy) - 1, np.inf)
    assert not front.contained()
    assert (east - west, north - south) == pytest.approx((303.0 + 150.0, 600.0), abs=10.0)


@pytest.mark.behaviour
def test_a_perimeter_may_reach_over_the_edge_of_the_map() -> None:
    front = Front(EVEN, disc(300.0, dx=-1000.0), 0.0)
    assert front.reached_edge
    (ring,) = front.trace()
    assert ring.area_m2 == pytest.approx(0.5 * np.pi * 300.0**2, rel=0.03)


@pytest.mark.property
def test_a_copy_goes_its_own_way() -> None:
    front = Front(EVEN, disc(100.0), 0.0)
    front.advance(300.0)
    twin = front.copy()
    twin.hold(twin.trace()[0], 0, 10, np.inf)
    twin.advance(900.0)
    assert front.now_s == 300.0
    assert np.isneginf(front.trace()[0].held_until_s).all()
    front.advance(900.0)
    whole = Front(EVEN, disc(100.0), 0.0)
    whole.advance(900.0)
    known = np.isfinite(whole.arrival_s)
    assert np.array_equal(np.isfinite(front.arrival_s), known)
    assert front.arrival_s[known] == pytest.approx(whole.arrival_s[known], rel=1e-3)
    assert twin.burnt.sum() < front.burnt.sum()


@pytest.mark.behaviour
def test_times_outside_the_fields_and_before_now_are_refused() -> None:
    fields = fields_of(GRID, RATE_MPS, 0.0, 1.0, edges_s=[0.0, 3600.0])
    with pytest.raises(OutsideRangeError, match="at_s"):
        Front(fields, disc(100.0), -1.0)
    front = Front(fields, disc(100.0), 600.0)
    with pytest.raises(OutsideRangeError, match="until_s"):
        front.advance(599.0)
    with pytest.raises(OutsideRangeError, match="until_s"):
        front.advance(3601.0)
    with pytest.raises(OutsideRangeError, match="until_s"):
        front.advance(float("nan"))
    front.advance(3600.0)
    assert front.now_s == 3600.0


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "burnt",
    [Polygon(), Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), translate(disc(100.0), 50_000.0)],
    ids=["empty", "crosses itself", "off the map"],
)
def test_a_perimeter_that_is_none_is_refused(burnt: Polygon) -> None:
    with pytest.raises(InputError):
        Front(EVEN, burnt, 0.0)


@pytest.mark.behaviour
@pytest.mark.parametrize("bad", [np.nan, -0.1, np.inf])
def test_rates_that_are_no_numbers_are_refused_and_not_taken_for_rock(bad: float) -> None:
    rate = np.full((1, 80, 80), RATE_MPS)
    rate[0, 12, 13] = bad
    with pytest.raises(InputError, match="1 burnable cells"):
        Front(fields_of(GRID, rate, 0.0, 1.0), disc(100.0), 0.0)
