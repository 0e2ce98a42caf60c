"""Shores that put points on one level or on each other: grids of cells, islands that touch the shore."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from water.shores import area
from water.test_lanes_proof import rectangle
from wetline.water import Strip, lanes_in, mended


def longest_run(cells: np.ndarray) -> int:
    """Most cells of water one after another in a column."""
    best = 0
    for column in cells.T:
        run = 0
        for wet in column:
            run = run + 1 if wet else 0
            best = max(best, run)
    return best


@pytest.mark.derived
@pytest.mark.parametrize("seed", range(10))
def test_a_grid_of_cells_gives_its_longest_row_and_column(seed: int) -> None:
    """Cells of 100 m, lanes 100 m wide: along the grid a lane is a run of cells, counted one by one."""
    g = np.random.default_rng(seed)
    cells = g.random((14, 11)) < 0.7
    boxes = [
        shapely.box(100.0 * c, 100.0 * r, 100.0 * c + 100.0, 100.0 * r + 100.0) for r, c in np.argwhere(cells)
    ]
    lake = mended(shapely.union_all(boxes)).polygon
    assert lake is not None
    for turn_deg in (0.0, 33.0):
        water = affinity.rotate(lake, -turn_deg, origin=(0.0, 0.0))
        strips = lanes_in(water, length_m=100.0, clear_m=50.0, step_deg=1.0)
        along = _longest(strips, turn_deg)
        across = _longest(strips, turn_deg + 90.0)
        assert along == pytest.approx(100.0 * longest_run(cells), abs=2e-3)
        assert across == pytest.approx(100.0 * longest_run(cells.T), abs=2e-3)


def _longest(strips: tuple[Strip, ...], heading_deg: float) -> float:
    return max(s.length_m for s in strips if s.heading_deg == heading_deg)


@pytest.mark.derived
@pytest.mark.parametrize("turn_deg", [0.0, 5.0, 17.3, 45.0, 90.0, 111.1])
@pytest.mark.parametrize("tip", [(700.0, 0.0), (0.0, 0.0), (1000.0, 600.0)])
def test_an_island_that_touches_the_shore_parts_the_water_as_one_a_hair_off(
    turn_deg: float, tip: tuple[float, float]
) -> None:
    """Tip on the middle of a shore edge, on a corner, on a headland: 0.1 mm off changes lanes by as much."""
    lake = shapely.Polygon([(0, 0), (2000, 0), (2000, 900), (1400, 900), (1000, 600), (600, 900), (0, 900)])
    sign = -1.0 if tip[1] else 1.0
    x, y = tip
    island = shapely.Polygon([tip, (x + 180.0, y + sign * 260.0), (x + 320.0, y + sign * 180.0)])
    touching = area(affinity.rotate(lake - island, turn_deg, origin=(0.0, 0.0)))
    off = affinity.translate(island, 1e-4, sign * 1e-4)
    apart = area(affinity.rotate(lake - off, turn_deg, origin=(0.0, 0.0)))
    assert touching.is_valid
    one = lanes_in(touching, length_m=400.0, clear_m=40.0, step_deg=15.0)
    two = lanes_in(apart, length_m=400.0, clear_m=40.0, step_deg=15.0)
    for heading in np.arange(0.0, 180.0, 15.0):
        of_one = [s.length_m for s in one if s.heading_deg == heading]
        of_two = [s.length_m for s in two if s.heading_deg == heading]
        assert bool(of_one) == bool(of_two)
        if of_one:
            assert max(of_one) == pytest.approx(max(of_two), abs=0.01)
    shapely.prepare(touching)
    assert all(touching.covers(rectangle(s, 1e-3)) for s in one)
