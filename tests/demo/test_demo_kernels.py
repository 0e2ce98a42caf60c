"""Water runs down: flooding, gathering and carving on small lattices."""

from __future__ import annotations

import numpy as np
import pytest

from wetline.demo import _kernels
from wetline.demo.terrain import border, drain


def _random_heights(seed: int) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 400, (30, 41)).astype(np.int32)


@pytest.mark.derived
def test_a_bowl_fills_to_its_lowest_rim() -> None:
    """A bowl with rim 9 and one gap at 6 holds water to 6."""
    z = np.full((7, 7), 9, np.int32)
    z[2:5, 2:5] = 1
    z[3, 5], z[3, 6] = 6, 4
    filled = drain(z, border(z.shape), rise_dm=0).filled_dm
    assert (filled[2:5, 2:5] == 6).all()
    assert filled[1, 1] == 9


@pytest.mark.property
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_cell_stands_above_the_one_it_drains_into(seed: int) -> None:
    z = _random_heights(seed)
    water = drain(z, border(z.shape), rise_dm=1)
    flat, cell = water.filled_dm.ravel(), np.arange(z.size)
    inner = water.parent != cell
    assert (flat[inner] > flat[water.parent[inner]]).all()
    assert (water.filled_dm >= z).all()
    assert sorted(water.order.tolist()) == cell.tolist()


@pytest.mark.property
def test_all_cells_leave_through_the_outlets() -> None:
    z = _random_heights(5)
    water = drain(z, border(z.shape), rise_dm=0)
    assert water.cells[border(z.shape) == 1].sum() == z.size
    assert water.cells.min() == 1


@pytest.mark.property
def test_carving_lowers_and_never_turns_a_slope_round() -> None:
    z = _random_heights(6).astype(float)
    water = drain(z.astype(np.int32), border(z.shape), rise_dm=0)
    before = np.ascontiguousarray(water.filled_dm.astype(float).ravel())
    after = before.copy()
    _kernels.carve(after, water.parent, water.order, water.cells.ravel(), z.shape[1], 0.3, 0.45)
    assert (after <= before + 1e-9).all()
    assert after.min() >= before.min()
    assert (after >= after[water.parent] - 1e-9).all()
