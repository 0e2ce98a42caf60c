"""Slope, aspect and shade: planes to the border, a general image library, and a hill by calculus."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import ndimage

from wetline.ground import shaded_relief, slope_aspect

CELL_M = 30.0


def _plane(falls_toward_deg: float, slope_tan: float, rows: int, cols: int) -> NDArray[np.float64]:
    row, col = np.mgrid[:rows, :cols]
    east, north = CELL_M * col, -CELL_M * row
    toward = np.radians(falls_toward_deg)
    return np.asarray(800.0 - slope_tan * (east * np.sin(toward) + north * np.cos(toward)), float)


@pytest.mark.derived
@given(toward=st.floats(0.0, 359.9), slope_tan=st.floats(0.01, 2.0), size=st.integers(2, 7))
def test_a_plane_has_its_own_slope_up_to_the_border(toward: float, slope_tan: float, size: int) -> None:
    slope, aspect = slope_aspect(_plane(toward, slope_tan, size, size + 1), CELL_M)
    np.testing.assert_allclose(slope, slope_tan, rtol=1e-4)
    off = (aspect - toward + 180.0) % 360.0 - 180.0
    assert np.abs(off).max() < 0.05


@pytest.mark.derived
def test_rough_ground_meets_a_general_image_library() -> None:
    """Horn's weights are those of scipy's Sobel filter, over eight cells."""
    z = ndimage.gaussian_filter(np.random.default_rng(4).normal(size=(60, 80)), 2.0) * 400.0
    east = ndimage.sobel(z, axis=1) / (8.0 * CELL_M)
    north = -ndimage.sobel(z, axis=0) / (8.0 * CELL_M)
    slope, aspect = slope_aspect(z, CELL_M)
    inner = (slice(1, -1), slice(1, -1))
    np.testing.assert_allclose(slope[inner], np.hypot(east, north)[inner], rtol=1e-5)
    off = (aspect - np.degrees(np.arctan2(-east, -north)) + 180.0) % 360.0 - 180.0
    assert np.abs(off[inner]).max() < 1e-3


@pytest.mark.derived
def test_a_round_hill_has_the_slope_of_its_formula() -> None:
    row, col = np.mgrid[:101, :101]
    east, north = CELL_M * (col - 50), -CELL_M * (row - 50)
    width_m = 600.0
    z = 300.0 * np.exp(-(east**2 + north**2) / width_m**2)
    slope, aspect = slope_aspect(z, CELL_M)
    exact = 2.0 * z * np.hypot(east, north) / width_m**2
    assert np.abs(slope - exact)[1:-1, 1:-1].max() < 0.01 * exact.max()
    steep = exact > 0.05
    off = (aspect - np.degrees(np.arctan2(east, north)) + 180.0) % 360.0 - 180.0
    assert np.abs(off[steep]).max() < 0.5


@pytest.mark.behaviour
def test_beside_a_hole_the_slope_is_unknown() -> None:
    z = _plane(90.0, 0.2, 7, 7)
    z[3, 3] = np.nan
    slope, _ = slope_aspect(z, CELL_M)
    unknown = np.isnan(slope)
    assert unknown[2:5, 2:5].sum() >= 8
    assert not unknown[[0, 1, 5, 6]].any()


@pytest.mark.derived
def test_ground_that_faces_the_light_is_fully_lit() -> None:
    """A plane of 45° falling to the northwest, light from the northwest at 45°."""
    shade = shaded_relief(_plane(315.0, 1.0, 5, 5), CELL_M)
    np.testing.assert_allclose(shade, 1.0, atol=1e-6)
    np.testing.assert_allclose(shaded_relief(_plane(135.0, 1.0, 5, 5), CELL_M), 0.0, atol=1e-6)
    np.testing.assert_allclose(shaded_relief(np.zeros((4, 4)), CELL_M), np.sin(np.radians(45.0)), atol=1e-6)
