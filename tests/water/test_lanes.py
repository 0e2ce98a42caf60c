"""Lanes of shapes that can be solved by hand: exact lengths, one entry a band, mended outlines."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from water.shores import area
from wetline.errors import InputError, OutsideRangeError
from wetline.water import Strip, lanes_in, longest_lane, mended

TOLERANCE_M = 1e-4


def lengths(strips: tuple[Strip, ...], heading_deg: float) -> list[float]:
    return [s.length_m for s in strips if s.heading_deg == heading_deg]


def longest_in_rectangle(a: float, b: float, width: float, angle_deg: float) -> float:
    """Longest rectangle of a given width, turned by an angle, in a rectangle a by b: both sides fit."""
    s, c = abs(math.sin(math.radians(angle_deg))), abs(math.cos(math.radians(angle_deg)))
    along_a = (a - width * s) / c if c > 1e-12 else math.inf
    along_b = (b - width * c) / s if s > 1e-12 else math.inf
    return min(along_a, along_b)


@pytest.mark.derived
def test_every_heading_of_a_rectangle_is_its_longest_turned_rectangle() -> None:
    """Bounding box of a turned rectangle: L|cos| + W|sin| ≤ a and L|sin| + W|cos| ≤ b."""
    strips = lanes_in(shapely.box(0.0, 0.0, 2000.0, 600.0), length_m=700.0, clear_m=50.0)
    for heading in np.arange(0.0, 180.0, 5.0):
        expected = longest_in_rectangle(2000.0, 600.0, 100.0, 90.0 - heading)
        found = lengths(strips, heading)
        if expected >= 700.0:
            assert found == [pytest.approx(expected, abs=TOLERANCE_M)], heading
        else:
            assert found == [], heading


@pytest.mark.derived
def test_the_lane_lies_in_the_middle_of_its_free_water() -> None:
    (lane,) = lanes_in(shapely.box(0.0, 0.0, 2000.0, 600.0), length_m=1999.0, clear_m=50.0, step_deg=90.0)
    assert lane.start == pytest.approx((0.0, 300.0), abs=1e-6)
    assert lane.end == pytest.approx((2000.0, 300.0), abs=1e-6)
    assert lane.width_m == pytest.approx(600.0, abs=1e-6)
    assert lane.clear_m == 50.0


@pytest.mark.derived
def test_both_arms_of_an_l_are_found() -> None:
    arms = shapely.Polygon([(0, 0), (2000, 0), (2000, 400), (400, 400), (400, 1800), (0, 1800)])
    strips = lanes_in(arms, length_m=1500.0, clear_m=50.0, step_deg=90.0)
    assert lengths(strips, 0.0) == [pytest.approx(1800.0, abs=TOLERANCE_M)]
    assert lengths(strips, 90.0) == [pytest.approx(2000.0, abs=TOLERANCE_M)]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("gap_m", "expected"), [(99.99, [2000.0]), (100.0, [2000.0] * 2), (100.01, [2000.0] * 2)]
)
def test_water_beside_an_island_counts_from_exactly_twice_the_half_width(
    gap_m: float, expected: list[float]
) -> None:
    """The island leaves 300 m in the north and `gap_m` in the south of a lake 600 m wide."""
    lake = area(shapely.box(0.0, 0.0, 2000.0, 600.0) - shapely.box(900.0, gap_m, 1100.0, 300.0))
    strips = lanes_in(lake, length_m=1200.0, clear_m=50.0, step_deg=90.0)
    assert lengths(strips, 90.0) == [pytest.approx(x, abs=TOLERANCE_M) for x in expected]


@pytest.mark.derived
def test_an_island_with_long_water_on_all_sides_gives_a_lane_on_each() -> None:
    """Offsets split at the island: north and south of it 2,000 m, west and east of it 900 m."""
    lake = area(shapely.box(0.0, 0.0, 2000.0, 600.0) - shapely.box(900.0, 250.0, 1100.0, 350.0))
    strips = lanes_in(lake, length_m=800.0, clear_m=50.0, step_deg=90.0)
    found = sorted((round(s.length_m, 6), round(s.start[0], 6), round(s.start[1], 6)) for s in strips)
    assert found == [(900.0, 0.0, 300.0), (900.0, 1100.0, 300.0), (2000.0, 0.0, 125.0), (2000.0, 0.0, 475.0)]


@pytest.mark.derived
def test_two_basins_joined_by_a_channel_give_two_bands() -> None:
    basins = shapely.union_all(
        [
            shapely.box(0.0, 0.0, 1600.0, 300.0),
            shapely.box(0.0, 800.0, 1700.0, 1100.0),
            shapely.box(700.0, 300.0, 900.0, 800.0),
        ]
    )
    strips = lanes_in(area(basins), length_m=1500.0, clear_m=50.0, step_deg=90.0)
    assert lengths(strips, 90.0) == pytest.approx([1700.0, 1600.0], abs=TOLERANCE_M)


@pytest.mark.derived
def test_parts_of_a_multipolygon_are_searched_together() -> None:
    two = shapely.MultiPolygon([shapely.box(0, 0, 1500, 200), shapely.box(3000, 0, 4600, 200)])
    assert lengths(lanes_in(two, length_m=1400.0, clear_m=50.0, step_deg=90.0), 90.0) == pytest.approx(
        [1600.0, 1500.0], abs=TOLERANCE_M
    )


@pytest.mark.derived
def test_a_triangle_along_its_height_peaks_between_shore_levels() -> None:
    """Base 800, height 2,000: a strip 100 wide on the axis reaches up to 2,000 (1 − 50/400) = 1,750."""
    strips = lanes_in(
        shapely.Polygon([(0, 0), (800, 0), (400, 2000)]), length_m=1000.0, clear_m=50.0, step_deg=180.0
    )
    assert lengths(strips, 0.0) == [pytest.approx(1750.0, abs=TOLERANCE_M)]
    assert strips[0].middle[0] == pytest.approx(400.0, abs=1e-3)


@pytest.mark.derived
def test_water_narrower_than_the_lane_gives_none() -> None:
    """A strip 99 m by 2,000 m: across it a lane of 100 m width is 99 m long, no heading does better.

    Turned by a from across, both 99 ≥ L cos a + 100 sin a: longest at a = 0.
    """
    strait = shapely.box(0.0, 0.0, 99.0, 2000.0)
    assert lanes_in(strait, length_m=1500.0, clear_m=50.0) == ()
    longest = longest_lane(strait, clear_m=50.0)
    assert longest is not None
    assert longest.heading_deg == 90.0
    assert longest.length_m == pytest.approx(99.0, abs=TOLERANCE_M)
    assert longest_lane(shapely.box(0.0, 0.0, 70.0, 70.0), clear_m=50.0) is None  # diagonal 98.99 m


@pytest.mark.derived
def test_a_strait_exactly_as_wide_as_the_lane_is_wide_enough() -> None:
    (lane,) = lanes_in(shapely.box(0.0, 0.0, 100.0, 2000.0), length_m=2000.0, clear_m=50.0, step_deg=180.0)
    assert lane.length_m == pytest.approx(2000.0, abs=TOLERANCE_M)


@pytest.mark.derived
def test_large_coordinates_lose_nothing() -> None:
    far = affinity.translate(shapely.box(0.0, 0.0, 2000.0, 600.0), 654_321.25, 7_654_321.5)
    strips = lanes_in(far, length_m=1500.0, clear_m=50.0, step_deg=10.0)
    assert lengths(strips, 100.0) == [
        pytest.approx(longest_in_rectangle(2000.0, 600.0, 100.0, 10.0), abs=TOLERANCE_M)
    ]


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(st.floats(1.0, 2.0), st.floats(10.0, 80.0), st.integers(1, 17))
def test_turning_the_water_turns_the_lane(stretch: float, clear_m: float, steps: int) -> None:
    lake = shapely.Polygon([(0, 0), (900 * stretch, 100), (1800, 700), (700, 900), (100, 600)])
    turned = affinity.rotate(lake, -10.0 * steps, origin=(0, 0))  # clockwise, as bearings turn
    one = lanes_in(lake, length_m=100.0, clear_m=clear_m, step_deg=10.0)
    other = lanes_in(turned, length_m=100.0, clear_m=clear_m, step_deg=10.0)
    assert lengths(one, 0.0) == pytest.approx(lengths(other, 10.0 * steps), abs=1e-3)


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(st.floats(20.0, 90.0), st.floats(1.0, 60.0))
def test_a_wider_lane_is_never_longer(clear_m: float, more_m: float) -> None:
    lake = shapely.Polygon([(0, 0), (2500, 300), (2600, 900), (1500, 650), (300, 1200)])
    narrow, wide = longest_lane(lake, clear_m=clear_m), longest_lane(lake, clear_m=clear_m + more_m)
    assert narrow is not None
    assert wide is None or wide.length_m <= narrow.length_m + TOLERANCE_M


@pytest.mark.property
def test_numbers_outside_their_range_are_refused() -> None:
    lake = shapely.box(0.0, 0.0, 2000.0, 600.0)
    for wrong in ({"length_m": 0.0}, {"clear_m": -50.0}, {"step_deg": 0.0}, {"length_m": math.nan}):
        with pytest.raises(OutsideRangeError):
            lanes_in(lake, **{"length_m": 1500.0, "clear_m": 50.0, **wrong})


@pytest.mark.property
def test_a_broken_outline_is_refused_until_it_is_mended() -> None:
    bow_tie = shapely.Polygon([(0, 0), (2000, 600), (2000, 0), (0, 600)])
    with pytest.raises(InputError, match="not valid"):
        lanes_in(bow_tie, length_m=100.0, clear_m=20.0)
    result = mended(bow_tie)
    assert result.note is not None
    assert "self-intersection" in result.note
    assert result.polygon is not None
    assert result.polygon.area == pytest.approx(2 * 0.5 * 600 * 1000)


@pytest.mark.derived
def test_an_island_drawn_across_the_shore_never_turns_land_to_water() -> None:
    """Half of the island lies outside the shore; that half is land, and stays so."""
    lake = shapely.Polygon(
        [(0, 0), (2000, 0), (2000, 600), (0, 600)],
        [[(900, 500), (1100, 500), (1100, 700), (900, 700)]],
    )
    result = mended(lake)
    assert result.note is not None
    assert result.polygon is not None
    assert result.polygon.area == pytest.approx(2000 * 600 - 200 * 100)


@pytest.mark.behaviour
def test_what_is_left_out_is_said() -> None:
    mixed = shapely.GeometryCollection([shapely.box(0, 0, 10, 10), shapely.Point(3, 3)])
    assert mended(mixed).note == "1 points or lines left out"
    assert mended(shapely.LineString([(0, 0), (1, 1)])).polygon is None
    assert mended(shapely.box(0, 0, 1, 1)).note is None


@pytest.mark.derived
@pytest.mark.parametrize("skew_m", [0.0, 1e-9, 1e-7, 1e-5, 1e-4, 1e-2])
def test_a_shore_all_but_along_the_heading_gives_its_lane_and_no_fault(skew_m: float) -> None:
    """A lake 2,800 by 1,000 m drawn a hair out of square, as any change of CRS leaves it: 2,800 m at 90°."""
    corners = np.array([(0.0, 0.0), (2800.0, 0.0), (2800.0, 1000.0), (0.0, 1000.0)])
    skew = np.array([(0.8, -4.0), (2.8, 4.6), (2.2, -5.4), (2.9, 0.5)]) * skew_m
    lake = shapely.Polygon(corners + skew + np.array([593_000.0, 5_225_300.0]))
    along = [s for s in lanes_in(lake, length_m=1500.0, clear_m=50.0, step_deg=3.0) if s.heading_deg == 90.0]
    assert along
    assert along[0].length_m == pytest.approx(2800.0, abs=0.01 + 3 * skew_m)
