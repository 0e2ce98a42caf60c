"""Arrival times against the ellipse itself, for every way of computing them.

Errors count relative to the time since the fire began, beyond 20 cells from where it began.
"""

from __future__ import annotations

from itertools import cycle
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
import SimpleITK
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter
from shapely.affinity import rotate, translate
from shapely.geometry import Point, Polygon

from growth.ellipses import CELL_M, cost, ellipse, fields_of, normal_rates_mps, square_grid, time_from_point
from wetline.growth import Front, arrival

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from wetline.behaviour import FireFields

    Way = Callable[[FireFields, Polygon, float], NDArray[np.float64]]

RATE_MPS = 0.3
AGE_S = 8 * CELL_M / RATE_MPS


def at_once(fields: FireFields, burnt: Polygon, until_s: float) -> NDArray[np.float64]:
    return arrival(fields, burnt, at_s=0.0, until_s=until_s)


def in_strips(fields: FireFields, burnt: Polygon, until_s: float) -> NDArray[np.float64]:
    front = Front(fields, burnt, 0.0)
    for step_s in cycle((137.0, 61.0, 411.0, 29.0)):
        front.advance(min(front.now_s + step_s, until_s))
        if front.now_s == until_s:
            return front.arrival_s
    raise AssertionError


WAYS = pytest.mark.parametrize("way", [at_once, in_strips])


def errors(way: Way, length_to_width: float, toward_deg: float, cells: int = 120) -> NDArray[np.float64]:
    """Relative errors beyond 20 cells, up to when the exact fire touches the grid's edge."""
    grid = square_grid(cells)
    size_m = cells * CELL_M
    back_m = 0.42 * size_m if length_to_width > 1.2 else 0.0
    x = grid.west_m + 0.5 * size_m - back_m * np.sin(np.radians(toward_deg)) + 3.3
    y = grid.north_m - 0.5 * size_m - back_m * np.cos(np.radians(toward_deg)) - 7.1
    exact = time_from_point(grid, x, y, RATE_MPS, toward_deg, length_to_width)
    edge = np.ones(grid.shape, bool)
    edge[1:-1, 1:-1] = False
    until_s = float(exact[edge].min()) - AGE_S
    burnt = ellipse(x, y, AGE_S, RATE_MPS, toward_deg, length_to_width)
    got = way(fields_of(grid, RATE_MPS, toward_deg, length_to_width), burnt, until_s) + AGE_S
    cx, cy = grid.xy(*np.mgrid[:cells, :cells])
    far = (np.hypot(cx - x, cy - y) > 20 * CELL_M) & (exact < 0.999 * (until_s + AGE_S)) & (exact > AGE_S)
    assert far.sum() > 1000
    return np.asarray(np.abs(got[far] / exact[far] - 1.0))


@pytest.mark.derived
@WAYS
@pytest.mark.parametrize("toward_deg", [0.0, 17.0, 45.0, 200.0])
@pytest.mark.parametrize("length_to_width", [1.0, 1.5, 2.0, 3.0, 4.0, 6.0])
def test_a_fire_from_a_point_is_an_ellipse(way: Way, length_to_width: float, toward_deg: float) -> None:
    error = errors(way, length_to_width, toward_deg)
    assert error.max() < 0.01
    assert error.mean() < 0.001


@pytest.mark.property
@pytest.mark.parametrize("length_to_width", [1.0, 3.0, 6.0])
def test_strips_of_any_length_give_the_same_times(length_to_width: float) -> None:
    def both(fields: FireFields, burnt: Polygon, until_s: float) -> NDArray[np.float64]:
        whole = at_once(fields, burnt, until_s)
        parts = in_strips(fields, burnt, until_s)
        known = np.isfinite(whole) & (whole > 0)
        assert np.array_equal(np.isfinite(whole), np.isfinite(parts))
        assert np.max(np.abs(parts[known] / whole[known] - 1.0)) < 0.01
        assert np.mean(np.abs(parts[known] / whole[known] - 1.0)) < 0.001
        return whole

    errors(both, length_to_width, 17.0)


WIND = [
    (0.22, 30.0, 2.2),
    (0.3, 45.0, 2.8),
    (0.35, 75.0, 3.2),
    (0.3, 95.0, 2.5),
    (0.2, 60.0, 2.0),
    (0.12, 20.0, 1.5),
]
SWINGS = [(0.3, 45.0 + 40.0 * (-1) ** hour, 4.0) for hour in range(6)]


def exact_after_hours(
    dx: NDArray[np.float64], dy: NDArray[np.float64], hours: list[tuple[float, float, float]], age_s: float
) -> NDArray[np.float64]:
    """Time at which points are reached by a fire whose ellipses of each hour add up (Minkowski sum).

    A point lies within the sum when it lies below its support function in every direction.
    """
    bearing = np.arange(0.0, 360.0, 0.5)
    out = dx[:, None] * np.sin(np.radians(bearing)) + dy[:, None] * np.cos(np.radians(bearing))
    rates = np.array([normal_rates_mps(bearing, *hour) for hour in hours])
    low = np.full(len(dx), -age_s)
    high = np.full(len(dx), 3600.0 * len(hours))
    for _ in range(30):
        middle = 0.5 * (low + high)
        spent = np.clip(middle[:, None] - 3600.0 * np.arange(len(hours)), 0.0, 3600.0)
        reach = np.minimum(middle + age_s, age_s)[:, None] * rates[0] + spent @ rates
        within = np.all(out <= reach, axis=1)
        high = np.where(within, middle, high)
        low = np.where(within, low, middle)
    return np.asarray(0.5 * (low + high))


@pytest.mark.derived
@WAYS
@pytest.mark.parametrize(("hours", "minutes"), [(WIND, 0.1), (SWINGS, 0.5)])
def test_wind_that_changes_each_hour_adds_ellipses(
    way: Way, hours: list[tuple[float, float, float]], minutes: float
) -> None:
    grid = square_grid(180, 33.0)
    x, y, age_s = 501_200.0, 5_235_500.0, 1800.0
    rates, towards, ratios = zip(*hours, strict=True)
    fields = fields_of(grid, rates, towards, ratios, edges_s=[3600.0 * k for k in range(7)])
    got = way(fields, ellipse(x, y, age_s, *hours[0]), 6 * 3600.0)
    rows, cols = np.random.default_rng(1).integers(0, 180, (2, 1500))
    cx, cy = grid.xy(rows, cols)
    exact = exact_after_hours(cx - x, cy - y, hours, age_s)
    ours = got[rows, cols]
    reached = (exact > 60.0) & (exact < 6 * 3600.0 - 60.0)
    assert reached.sum() > 100
    assert np.isfinite(ours[reached]).all()
    assert np.mean(np.abs(ours[reached] - exact[reached])) < 60.0 * minutes
    assert abs(np.mean(np.isfinite(ours)) / np.mean(exact < 6 * 3600.0 - 1.0) - 1.0) < 0.007


def patchy(cells: int, seed: int = 3) -> NDArray[np.float64]:
    """A smooth random field, mean 0, deviation 1."""
    noise = gaussian_filter(np.random.default_rng(seed).normal(size=(cells, cells)), 8.0)
    return np.asarray(noise / noise.std())


@pytest.mark.derived
@WAYS
def test_isotropic_times_meet_a_general_fast_marching_library(way: Way) -> None:
    """SimpleITK's fast marching is of first order: it is given cells five times as fine."""
    grid, fine = square_grid(121), 605
    rate = 0.2 * np.exp(0.4 * patchy(121))
    x, y = (float(v) for v in grid.xy(60, 60))
    burnt = Point(x, y).buffer(4.0 * CELL_M, quad_segs=64)
    until_s = 6000.0
    got = way(fields_of(grid, rate[None], 0.0, 1.0), burnt, until_s)
    library: Any = SimpleITK  # it carries no types
    march = library.FastMarchingImageFilter()
    speed = np.kron(rate, np.ones((5, 5)))
    rows, cols = np.nonzero(np.hypot(*(np.mgrid[:fine, :fine] - 302.0)) <= 20.0)
    march.SetTrialPoints([(int(col), int(row)) for row, col in zip(rows, cols, strict=True)])
    march.SetStoppingValue(1e9)
    marched = (
        library.GetArrayFromImage(march.Execute(library.GetImageFromArray(speed)))[2::5, 2::5] * CELL_M / 5.0
    )
    far = (marched > 1500.0) & (marched < until_s - 500.0)
    assert far.sum() > 1000
    error = got[far] / marched[far] - 1.0
    assert np.mean(np.abs(error)) < 0.01


@pytest.mark.property
@WAYS
@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_quarter_turn_of_everything_turns_the_times(way: Way, turns: int) -> None:
    grid = square_grid(80)
    rate, toward, ratio = (
        0.2 * np.exp(0.4 * patchy(80)),
        30.0 + 20.0 * patchy(80, 4),
        2.0 + 0.3 * patchy(80, 5),
    )
    middle = (grid.west_m + 1000.0, grid.north_m - 1000.0)
    burnt = ellipse(middle[0] + 91.0, middle[1] - 203.0, 700.0, 0.2, 40.0, 2.0)
    got = way(fields_of(grid, rate[None], toward[None], ratio[None]), burnt, 3000.0)
    turned = way(
        fields_of(
            grid,
            np.rot90(rate, turns)[None],
            np.rot90(toward, turns)[None] - 90.0 * turns,
            np.rot90(ratio, turns)[None],
        ),
        rotate(burnt, 90.0 * turns, origin=middle),
        3000.0,
    )
    back = np.rot90(turned, -turns)
    assert np.array_equal(np.isfinite(back), np.isfinite(got))
    known = np.isfinite(got)
    assert back[known] == pytest.approx(got[known], rel=1e-3, abs=0.5)


@pytest.mark.property
@WAYS
@given(down=st.integers(-15, 15), right=st.integers(-15, 15))
@settings(max_examples=8, deadline=None)
def test_a_shift_by_whole_cells_shifts_the_times(way: Way, down: int, right: int) -> None:
    grid = square_grid(100)
    burnt = ellipse(501_203.0, 5_238_757.0, 600.0, 0.2, 200.0, 2.5)
    fields = fields_of(grid, 0.2, 200.0, 2.5)
    got = way(fields, burnt, 2000.0)
    moved = way(fields, translate(burnt, right * CELL_M, -down * CELL_M), 2000.0)
    back = np.roll(moved, (-down, -right), (0, 1))
    known = np.isfinite(got)
    assert np.array_equal(np.isfinite(back), known)
    assert back[known] == pytest.approx(got[known], rel=1e-3, abs=0.1)


@pytest.mark.property
@WAYS
def test_a_larger_start_arrives_nowhere_later(way: Way) -> None:
    grid = square_grid(80)
    fields = fields_of(grid, (0.2 * np.exp(0.4 * patchy(80)))[None], 30.0, 2.0)
    small = ellipse(500_900.0, 5_238_900.0, 600.0, 0.2, 30.0, 2.0)
    first, second = (way(fields, burnt, 3000.0) for burnt in (small, small.buffer(40.0)))
    assert np.all(second[np.isfinite(first)] <= first[np.isfinite(first)] + 1.0)


def from_perimeter(
    x: NDArray[np.float64], y: NDArray[np.float64], shape: Polygon, toward_deg: float, length_to_width: float
) -> NDArray[np.float64]:
    """Exact time at 0.2 m/s in a uniform field: the least straight time from any point of a perimeter."""
    edge = shapely.get_coordinates(shapely.segmentize(shape.exterior, 2.0))
    dx, dy = x[:, None] - edge[:, 0], y[:, None] - edge[:, 1]
    return np.asarray(cost(dx, dy, 0.2, toward_deg, length_to_width).min(axis=1))


@pytest.mark.derived
@WAYS
@pytest.mark.parametrize(("toward_deg", "length_to_width", "cells"), [(0.0, 1.0, 0.02), (200.0, 3.0, 0.15)])
def test_a_ragged_perimeter_counts_to_a_fraction_of_a_cell(
    way: Way, toward_deg: float, length_to_width: float, cells: float
) -> None:
    """Spikes one cell wide and five long; errors as distances [cells], by the exact slope of the time."""
    grid = square_grid(100)
    angle = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    radius = 300.0 + 120.0 * np.random.default_rng(2).random(90) + 90.0 * np.sin(3.0 * angle)
    shape = Polygon(
        np.column_stack((501_250.0 + radius * np.cos(angle), 5_238_750.0 + radius * np.sin(angle)))
    )
    got = way(fields_of(grid, 0.2, toward_deg, length_to_width), shape, 2400.0)
    rows, cols = np.mgrid[10:90:2, 10:90:2].reshape(2, -1)
    x, y = grid.xy(rows, cols)

    def exact_s(east: float, north: float) -> NDArray[np.float64]:
        return from_perimeter(x + east, y + north, shape, toward_deg, length_to_width)

    slope = np.hypot(exact_s(0.1, 0) - exact_s(-0.1, 0), exact_s(0, 0.1) - exact_s(0, -0.1)) / 0.2
    exact = exact_s(0.0, 0.0)
    inside = shapely.contains_xy(shape, x, y)
    outside = ~inside & (exact < 2300.0)
    error = np.abs(got[rows, cols] - exact)[outside] / slope[outside] / CELL_M
    assert outside.sum() > 100
    assert np.mean(error) < cells
    assert np.max(error) < 1.0
    assert np.all(got[rows, cols][inside] == 0.0)


@pytest.mark.derived
@WAYS
def test_fire_goes_round_a_barrier_and_not_through_its_corners(way: Way) -> None:
    """A diagonal row of cells that touch by their corners alone; the way round its end is two straights."""
    grid = square_grid(80)
    burnable = np.ones(grid.shape, bool)
    wall = np.arange(20, 61)
    burnable[wall, wall] = False
    x, y = (float(v) for v in grid.xy(55, 25))
    burnt = Point(x, y).buffer(3.0 * CELL_M, quad_segs=64)
    got = way(fields_of(grid, 0.2, 0.0, 1.0, burnable=burnable), burnt, 9000.0)
    assert np.isinf(got[~burnable]).all()
    for target in ((25, 55), (30, 50), (40, 60)):
        tx, ty = grid.xy(*target)
        ways = []
        for corner, out in ((20, -0.5), (60, 0.5)):
            ex, ey = grid.xy(corner + out, corner + out)
            ways.append(np.hypot(ex - x, ey - y) + np.hypot(tx - ex, ty - ey))
        exact_s = (min(ways) - 3.0 * CELL_M) / 0.2
        assert got[target] == pytest.approx(exact_s, rel=0.02)
