"""Shares of measured conditions, against scipy's own interpolators."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator, RegularGridInterpolator

from wetline.drops.between import shares

GRID_X, GRID_Y = np.array([10.0, 17.0, 30.0]), np.array([18.0, 22.0, 30.0, 31.0])
SCATTERED = ((10.0, 20.0), (14.0, 31.0), (22.0, 17.0), (25.0, 26.0), (31.0, 33.0), (17.0, 24.0))


def value(
    points: tuple[tuple[float, float], ...], values: list[float], at: tuple[float, float]
) -> float | None:
    share = shares(points, at, reach=1.0)
    return None if share is None else float(share @ np.array(values))


@pytest.mark.derived
@settings(max_examples=40, deadline=None)
@given(x=st.floats(10.0, 30.0), y=st.floats(18.0, 31.0))
def test_a_grid_is_bilinear(x: float, y: float) -> None:
    """Against scipy.interpolate.RegularGridInterpolator, linear."""
    points = tuple((float(a), float(b)) for a in GRID_X for b in GRID_Y)
    values = [100.0 - 2.0 * a + 0.1 * a * b + (b - 25.0) ** 2 for a, b in points]
    table = np.array(values).reshape(GRID_X.size, GRID_Y.size)
    expected = RegularGridInterpolator((GRID_X, GRID_Y), table)([[x, y]])[0]
    assert value(points, values, (x, y)) == pytest.approx(float(expected))


@pytest.mark.derived
@settings(max_examples=60, deadline=None)
@given(x=st.floats(10.0, 31.0), y=st.floats(17.0, 33.0))
def test_scattered_tests_are_linear_in_triangles(x: float, y: float) -> None:
    """Against scipy.interpolate.LinearNDInterpolator, which says nan outside the hull."""
    values = [120.0, 80.0, 140.0, 95.0, 60.0, 110.0]
    expected = float(LinearNDInterpolator(np.array(SCATTERED), values)(np.array([[x, y]]))[0])
    found = value(SCATTERED, values, (x, y))
    if np.isfinite(expected):
        assert found == pytest.approx(expected)
    elif found is not None:  # within reach of the hull: the nearest place on it
        assert min(values) <= found <= max(values)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(
    points=st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=1, max_size=9, unique=True),
    at=st.tuples(st.floats(-3, 15), st.floats(-3, 15)),
)
def test_shares_sum_to_one_and_lead_back_to_the_place(
    points: list[tuple[int, int]], at: tuple[float, float]
) -> None:
    """Whatever lies where: a mean of neighbours, never beyond them, at most a reach away from the place."""
    share = shares(tuple((float(x), float(y)) for x, y in points), at, reach=1.0)
    if share is None:
        return
    assert share.sum() == pytest.approx(1.0)
    assert share.min() >= -1e-12
    assert float(np.hypot(*(share @ np.array(points, float) - np.array(at)))) <= 1.0 + 1e-9


@pytest.mark.property
def test_one_test_serves_within_reach_of_it() -> None:
    assert shares(((10.0, 20.0),), (10.6, 20.7), reach=1.0) == pytest.approx(np.array([1.0]))
    assert shares(((10.0, 20.0),), (10.8, 20.8), reach=1.0) is None


@pytest.mark.derived
def test_tests_on_one_line_are_linear_along_it() -> None:
    """Half way between the second and the third, though the first and the third span it too."""
    points = ((0.0, 5.0), (4.0, 5.0), (8.0, 5.0))
    assert shares(points, (6.0, 5.5), reach=1.0) == pytest.approx(np.array([0.0, 0.5, 0.5]))
    assert shares(points, (9.5, 5.0), reach=1.0) is None


@pytest.mark.property
def test_a_hull_is_left_by_no_more_than_the_reach() -> None:
    square = ((0.0, 0.0), (4.0, 0.0), (0.0, 4.0), (4.0, 4.0))
    assert shares(square, (4.9, 2.0), reach=1.0) == pytest.approx(np.array([0.0, 0.5, 0.0, 0.5]))
    assert shares(square, (5.1, 2.0), reach=1.0) is None
