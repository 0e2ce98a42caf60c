"""The working grid's own arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.grid import Grid, Projection, along, angle_between, bearing_deg

GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_240_000.0, 30.0, 40, 60)


@pytest.mark.derived
def test_the_first_cell_lies_in_the_north_west() -> None:
    x, y = GRID.xy(0, 0)
    assert (float(x), float(y)) == (500_015.0, 5_239_985.0)
    assert GRID.bounds == (500_000.0, 5_238_800.0, 501_800.0, 5_240_000.0)


@pytest.mark.property
@given(st.floats(500_000.5, 501_799.5), st.floats(5_238_800.5, 5_239_999.5))
def test_rows_and_columns_read_back(x: float, y: float) -> None:
    row, col = GRID.rowcol(x, y)
    back_x, back_y = GRID.xy(row, col)
    assert back_x == pytest.approx(x)
    assert back_y == pytest.approx(y)
    assert GRID.holds(x, y)


@pytest.mark.derived
def test_bilinear_sampling_is_exact_on_a_plane_and_nan_outside() -> None:
    rows, cols = np.mgrid[:40, :60]
    x, y = GRID.xy(rows, cols)
    plane = 3.0 + 0.01 * (x - 500_000) - 0.02 * (y - 5_239_000)
    assert GRID.sample(plane, 500_777.7, 5_239_123.4) == pytest.approx(3.0 + 7.777 - 2.468)
    assert np.isnan(GRID.sample(plane, 499_999.0, 5_239_000.0))


@pytest.mark.property
def test_a_window_keeps_cells_in_place() -> None:
    part, rows, cols = GRID.window(500_100.0, 5_239_100.0, 500_400.0, 5_239_500.0)
    x, y = part.xy(0, 0)
    assert (float(x), float(y)) == tuple(float(v) for v in GRID.xy(rows.start, cols.start))
    assert part.shape == (rows.stop - rows.start, cols.stop - cols.start)
    assert part.bounds[0] <= 500_100.0
    assert part.bounds[3] >= 5_239_500.0


@pytest.mark.derived
def test_bearings_run_clockwise_from_north() -> None:
    assert [float(bearing_deg(dx, dy)) for dx, dy in ((0, 1), (1, 0), (0, -1), (-1, 0))] == [0, 90, 180, 270]
    east, north = along(90.0)
    assert (float(east), float(north)) == pytest.approx((1.0, 0.0), abs=1e-12)
    assert float(angle_between(350.0, 20.0)) == pytest.approx(30.0)
