"""Other classes near one target: split by place or by 500 ft, never by seconds (common practice)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from safety.run_maker import a_run
from wetline.safety.separation import NEAR_M, check_separation

if TYPE_CHECKING:
    from wetline.model import DropRun

pytestmark = pytest.mark.practice


def _moved(north_m: float, class_id: str = "medium_helicopter") -> DropRun:
    run = a_run()
    step = np.array([0.0, north_m])
    return a_run(
        id="R2",
        aircraft="Wick 3",
        class_id=class_id,
        approach=run.approach + step,
        line=run.line + step,
        exit_path=run.exit_path + step,
    )


def test_another_class_near_the_target_blocks_both_runs() -> None:
    found = check_separation([a_run(), _moved(NEAR_M - 1.0)])
    assert [(f.refers_to, f.level, f.effect) for f in found] == [
        ("R1", "unknown", "blocks"),
        ("R2", "unknown", "blocks"),
    ]
    assert "Wick 3 flies near it" in found[0].message


def test_the_same_class_or_another_place_needs_no_split() -> None:
    assert check_separation([a_run(), _moved(0.0, "twin_engine_scooper")]) == ()
    assert check_separation([a_run(), _moved(NEAR_M + 1.0)]) == ()
