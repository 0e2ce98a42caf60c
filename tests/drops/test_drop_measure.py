"""Length, width and area on a raster, against figures worked out by hand and the closed form."""

from __future__ import annotations

import numpy as np
import pytest

from wetline.drops import PatternRaster, Release, pattern
from wetline.drops.measure import centre_line, measured, middle_m
from wetline.units import COVERAGE_LEVEL


def _raster(coverage: list[list[float]], cell_m: float = 2.0) -> PatternRaster:
    c = np.array(coverage, float)
    along, right = (np.asarray((np.arange(n) + 0.5) * cell_m, float) for n in c.shape)
    return PatternRaster(along, right, c)


@pytest.mark.derived
def test_a_block_is_as_long_wide_and_large_as_its_cells() -> None:
    """Three cells along and two across of 2 m, in a field of nothing: an edge half-way to each neighbour."""
    c = np.zeros((7, 6))
    c[2:5, 2:4] = 2.0
    found = measured(_raster(c.tolist()), 1.0, 6.0)
    assert found.line_m == found.line_summed_m == pytest.approx(3 * 2.0)
    assert found.width_m == found.width_summed_m == pytest.approx(2 * 2.0)
    assert found.area_m2 == found.area_summed_m2 == pytest.approx(6 * 4.0)


@pytest.mark.derived
def test_a_gap_parts_what_is_unbroken_from_what_is_summed() -> None:
    """Blocks of 3 and 2 cells along with one dry cell between, 2 m each."""
    c = np.zeros((9, 5))
    c[1:4, 1:4] = 2.0
    c[5:7, 1:4] = 2.0
    found = measured(_raster(c.tolist()), 1.0, 5.0)
    assert (found.line_m, found.line_summed_m) == pytest.approx((6.0, 10.0))
    assert (found.area_m2, found.area_summed_m2) == pytest.approx((36.0, 60.0))
    assert found.width_m == pytest.approx(6.0)


@pytest.mark.behaviour
def test_nothing_reaches_a_level_above_the_peak() -> None:
    found = measured(_raster([[0.0, 1.0], [1.0, 0.0]]), 5.0, 2.0)
    assert found.line_m == found.width_m == found.area_m2 == found.area_summed_m2 == 0.0


@pytest.mark.property
@pytest.mark.parametrize("class_id", ["twin_engine_scooper", "medium_helicopter", "large_tanker"])
@pytest.mark.parametrize("level", ["0.5", "1", "2"])
def test_the_raster_and_the_closed_form_agree(class_id: str, level: str) -> None:
    """Two ways to the same sizes: cells of 2 m against σ √(2 ln(c/level)) and its integral."""
    result = pattern(Release(class_id=class_id, heading_deg=20.0, wind_mps=4.0, wind_from_deg=300.0))
    at = result.fall.levels[level]
    found = measured(result.raster, float(level) * COVERAGE_LEVEL, -result.release_offset_m["right"])
    assert found.line_m == pytest.approx(at.line_m.middle, abs=1.0)
    assert found.width_m == pytest.approx(at.width_m.middle, abs=1.0)
    assert found.area_m2 == pytest.approx(at.area_m2.middle, rel=0.02, abs=20.0)


@pytest.mark.property
def test_the_middle_of_the_raster_is_where_the_release_aims() -> None:
    result = pattern(
        Release(class_id="twin_engine_scooper", heading_deg=20.0, wind_mps=4.0, wind_from_deg=300.0)
    )
    along, right = middle_m(result.raster)
    assert along == pytest.approx(-result.release_offset_m["along"], abs=0.5)
    assert right == pytest.approx(-result.release_offset_m["right"], abs=0.5)
    assert centre_line(result.raster, right).max() == pytest.approx(result.pattern.peak_l_per_m2, rel=0.02)
