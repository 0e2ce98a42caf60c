"""Ground the model does not know, or does not reach, is said and never taken for safe."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest

from safety.run_maker import GRID
from wetline.safety.whole_plan import check_unknown_ground

if TYPE_CHECKING:
    from wetline.behaviour import FireFields


def said(unknown_cells: int, edge_m: float, *, left_map: bool) -> list[tuple[str | None, str]]:
    fields = cast("FireFields", SimpleNamespace(unknown_cells=unknown_cells, grid=GRID))
    found = check_unknown_ground(fields, edge_m, left_map=left_map)
    assert all(f.code == "data_missing" and f.level == "unknown" for f in found)
    return [(f.effect, f.refers_to) for f in found]


@pytest.mark.behaviour
def test_only_edge_against_unknown_ground_blocks() -> None:
    assert said(9, 0.0, left_map=False) == [("noted", "fuels")]
    assert said(9, 40.0, left_map=False) == [("blocks", "fuels")]


@pytest.mark.behaviour
def test_a_fire_that_leaves_the_model_is_said_and_does_not_block_by_itself() -> None:
    assert said(0, 0.0, left_map=False) == []
    assert said(0, 0.0, left_map=True) == [("noted", "terrain")]
    assert said(9, 40.0, left_map=True) == [("blocks", "fuels"), ("noted", "terrain")]
