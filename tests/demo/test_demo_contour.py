"""Contours at sub-cell resolution, against shapes whose measures are known."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from wetline.demo.contour import regions_below


def _rings(rows: int = 101) -> tuple[np.ndarray, np.ndarray]:
    row, col = np.mgrid[0:rows, 0:rows].astype(float)
    return np.hypot(row - 50.0, col - 50.0), col


@pytest.mark.derived
def test_a_cone_cut_at_a_level_gives_a_circle() -> None:
    """Area π r², perimeter 2 π r: a stair-stepped shore would be 27 % too long."""
    distance, _ = _rings()
    (disc,) = regions_below(distance, 30.3, west_m=0, north_m=0, step_m=2.0)
    assert disc.area == pytest.approx(np.pi * 60.6**2, rel=2e-3)
    assert disc.length == pytest.approx(2 * np.pi * 60.6, rel=2e-3)
    assert disc.centroid.coords[0] == pytest.approx((100.0, -100.0), abs=1e-6)
    assert disc.exterior.is_ccw


@pytest.mark.derived
def test_high_ground_in_the_middle_is_an_island() -> None:
    distance, _ = _rings()
    (ring,) = regions_below(np.abs(distance - 25.0), 10.0, west_m=0, north_m=0, step_m=1.0)
    assert len(ring.interiors) == 1
    assert ring.area == pytest.approx(np.pi * (35.0**2 - 15.0**2), rel=3e-3)


@pytest.mark.derived
def test_low_ground_at_the_frame_is_closed_along_it() -> None:
    _, col = _rings()
    (half,) = regions_below(col, 40.5, west_m=0, north_m=0, step_m=1.0)
    west, south, east, north = half.bounds
    assert (east, south, north) == pytest.approx((40.5, -101.0, 1.0), abs=1.0)
    assert west == pytest.approx(-1.0, abs=1.0)


@pytest.mark.derived
@pytest.mark.parametrize(("middle", "pieces"), [(0.9, 1), (1.1, 2)])
def test_a_saddle_joins_or_parts_by_its_middle(middle: float, pieces: int) -> None:
    """Two low corners across a square: one region if the mean of the four lies below the level."""
    high = 2 * middle
    z = np.full((4, 4), 5.0)
    z[1, 1] = z[2, 2] = 0.0
    z[1, 2] = z[2, 1] = high
    assert len(regions_below(z, 1.0, west_m=0, north_m=0, step_m=1.0)) == pieces


@pytest.mark.property
def test_regions_are_sound_and_hold_exactly_the_low_values() -> None:
    rng = np.random.default_rng(4)
    z = rng.standard_normal((40, 60))
    regions = regions_below(z, 0.2, west_m=0, north_m=0, step_m=1.0)
    assert all(region.is_valid for region in regions)
    row, col = np.mgrid[0:40, 0:60]
    held = shapely.contains_xy(shapely.union_all(regions), col.ravel(), -row.ravel()).reshape(z.shape)
    assert (held == (z < 0.2)).all()
