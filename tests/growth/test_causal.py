"""Fire comes from burning ground beside it, however rough the fuels: it never leaps ahead of itself."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy import ndimage

from growth.ellipses import CELL_M, fields_of, square_grid
from wetline.growth import Front

pytestmark = pytest.mark.property

CELLS = 90
GRID = square_grid(CELLS)
WEST, SOUTH, EAST, NORTH = GRID.bounds
BURNT = shapely.Point((WEST + EAST) / 2 - 7.0, (SOUTH + NORTH) / 2 + 4.0).buffer(8.0 * CELL_M)
FAST_MPS = 0.3
SIDES = np.array([[1, 1, 1], [1, 0, 1], [1, 1, 1]], bool)


@pytest.mark.parametrize("hours", [1, 5])
@pytest.mark.parametrize("length_to_width", [1.2, 2.3, 4.1])
@pytest.mark.parametrize("slower", [3.0, 30.0, 300.0])
@pytest.mark.parametrize("patch_cells", [1, 5])
def test_no_cell_burns_before_every_neighbour_and_none_sooner_than_the_head_runs(
    patch_cells: int, slower: float, length_to_width: float, hours: int
) -> None:
    """Patches of fast and slow fuel in one wind, and in one that turns at each change of weather."""
    rng = np.random.default_rng(3)
    patches = rng.random((CELLS // patch_cells + 1,) * 2) < 0.5
    fast = np.kron(patches, np.ones((patch_cells, patch_cells), bool))[:CELLS, :CELLS]
    rate = np.where(fast, FAST_MPS, FAST_MPS / slower)
    edges_s = [*(700.0 * np.arange(hours)).tolist(), 1e5]
    toward = 66.0 + 35.0 * np.arange(hours)
    front = Front(fields_of(GRID, rate, toward, length_to_width, edges_s=edges_s), BURNT, 0.0)
    front.advance(3500.0)
    arrival = front.arrival_s
    row, col = np.nonzero(np.isfinite(arrival))
    away_m = shapely.distance(BURNT, shapely.points(*GRID.xy(row, col)))
    before = ndimage.minimum_filter(arrival, footprint=SIDES, mode="constant", cval=np.inf)
    beyond = away_m > 2.0 * CELL_M
    assert beyond.sum() > 20
    assert (before < arrival)[row, col][beyond].all()
    assert (away_m <= FAST_MPS * np.maximum(arrival[row, col], 0.0) + 2.0 * CELL_M).all()


@pytest.mark.parametrize("seed", range(6))
def test_what_has_not_burnt_by_now_is_never_told_later_to_have_burnt_before(seed: int) -> None:
    """Rates that differ by tens from cell to cell, the wind by up to 25°, looked at in many steps."""
    rng = np.random.default_rng(seed)
    rate = FAST_MPS * np.exp(rng.normal(-1.0, 1.2, (CELLS, CELLS)))
    toward = 70.0 + rng.uniform(-25.0, 25.0, (CELLS, CELLS))
    front = Front(fields_of(GRID, rate, toward[None], 5.0), BURNT, 0.0)
    seen = front.arrival_s
    for t_s in np.arange(1, 60) * 90.0:
        before_s = front.now_s
        front.advance(float(t_s))
        now = front.arrival_s
        fresh = np.isfinite(now) & ~np.isfinite(seen)
        assert (now[fresh] >= before_s).all()
        assert np.array_equal(now[np.isfinite(seen)], seen[np.isfinite(seen)])
        seen = now
