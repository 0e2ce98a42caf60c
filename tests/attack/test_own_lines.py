"""Lines of the plan where the incident has drop tests of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from attack.attack_maker import START
from drops.own_rows import CLASS, LOAD_L, SPEED_MPS, row, table
from wetline.aircraft import aircraft_classes
from wetline.attack import PlannedLoad
from wetline.attack.lines import LineTable
from wetline.model import shipped_limits

if TYPE_CHECKING:
    from wetline.drops import DropTests

pytestmark = pytest.mark.property

LOAD = PlannedLoad(1, 60.0, "Tern 1", CLASS, "S1", "water", LOAD_L, False)
HEIGHT_M = 30.48  # the class's own 100 ft


def lines(tests: DropTests | None) -> LineTable:
    return LineTable(shipped_limits(), None, START, aircraft_classes(), drop_tests=tests)


def test_the_plan_counts_on_the_measured_line() -> None:
    """As the class flies it: 100 ft, 105 kt (54.02 m/s)."""
    tests = table(row(2.0, 90.0, height_m=HEIGHT_M, speed_mps=SPEED_MPS))
    stack = lines(tests).stack(LOAD, 2.0)
    assert stack is not None
    assert (stack.line_from, stack.line_m.middle, stack.loads) == ("table", 90.0, 1)
    assert stack.notes


def test_tests_of_another_class_leave_physics_and_say_so() -> None:
    own, form = (
        lines(table(row(2.0, 90.0, class_id="large_tanker"))).stack(LOAD, 2.0),
        lines(None).stack(LOAD, 2.0),
    )
    assert own is not None
    assert form is not None
    assert (own.line_from, own.line_m) == ("physics", form.line_m)
    assert own.notes == ("level 2: physics, not own.csv: no drop test of this class",)
    assert form.notes == ()
