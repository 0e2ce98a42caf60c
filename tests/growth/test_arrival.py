"""Arrival times against the ellipse itself, for every way of computing them.

Errors count relative to the time since the fire began, beyond 20 cells from where it began.
"""

from __future__ import annotations

from itertools import cycle
from typing import TYPE_CHECKING

import numpy as np
import pytest

from growth.ellipses import CELL_M, ellipse, fields_of, square_grid, time_from_point
from wetline.growth import Front, arrival

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely.geometry import Polygon

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
