"""What a user's own drop tests change in lines, stacks and patterns, and what they leave."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drops.own_rows import release, row, table
from wetline.drops import LEVELS, Release, line_m, pattern, resolve, stack_for

if TYPE_CHECKING:
    from wetline.drops import DropTests

OWN = table(row(2.0, 90.0), row(4.0, 40.0))


@pytest.mark.property
def test_a_line_is_the_measured_one_where_tests_tell_it() -> None:
    assert line_m(release(drop_tests=OWN), 2.0).middle == 90.0
    assert line_m(release(drop_tests=OWN, agent="foam"), 2.0) == line_m(release(agent="foam"), 2.0)


@pytest.mark.property
def test_loads_on_one_place_ask_the_table_for_their_part_of_the_level() -> None:
    own = release(drop_tests=OWN)
    assert line_m(own, 4.0, loads=2) == line_m(own, 2.0)
    assert line_m(own, 8.0, loads=2) == line_m(own, 4.0)


@pytest.mark.property
def test_a_stack_is_told_by_the_table_with_its_reason() -> None:
    """40 m at level 4 are less of the track than is worth flying, 90 m at level 2 are not: two loads."""
    stack = stack_for(release(drop_tests=OWN), 4.0)
    assert stack is not None
    assert (stack.loads, stack.line_from, stack.line_m.middle) == (2, "table", 90.0)
    assert stack.notes[0].startswith("level 2: from own.csv")


@pytest.mark.property
def test_a_stack_whose_part_was_not_measured_is_physics_and_says_so() -> None:
    tests = table(row(4.0, 0.0), row(6.0, 0.0))
    stack = stack_for(release(drop_tests=tests), 4.0)
    assert stack is not None
    assert (stack.loads, stack.line_from) == (2, "physics")
    assert "level 2: physics, not own.csv: measured are levels 4 to 6" in stack.notes[0]


@pytest.mark.property
def test_without_tests_a_stack_says_nothing_of_them() -> None:
    stack = stack_for(release(), 4.0)
    assert stack is not None
    assert (stack.line_from, stack.notes) == ("physics", ())


@pytest.mark.property
@pytest.mark.parametrize("tests", [OWN, table(row(0.5, 60.0)), table(row(6.0, 150.0)), table(row(1.0, 0.0))])
def test_a_higher_level_never_takes_fewer_loads(tests: DropTests) -> None:
    """Whatever was measured: physics beside it is held to it."""
    own = release(drop_tests=tests)
    stacks = [stack_for(own, level, max_loads=4) for level in (0.5, 1, 2, 3, 4, 6, 8, 10)]
    counts = [5 if stack is None else stack.loads for stack in stacks]
    assert counts == sorted(counts)


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(level=st.sampled_from([0.5, 1.0, 2.0, 4.0, 6.0]), line=st.floats(0.0, 300.0))
def test_no_line_of_a_pattern_grows_with_the_level(level: float, line: float) -> None:
    result = pattern(release(drop_tests=table(row(level, line))))
    for lines in (result.line_m_by_level, result.line_m_low_by_level, result.line_m_high_by_level):
        values = [lines[name] for name in LEVELS]
        assert all(a >= b - 1e-9 for a, b in pairwise(values))
    for name in LEVELS:
        assert result.line_m_summed_by_level[name] >= result.line_m_by_level[name]


@pytest.mark.property
def test_a_pattern_says_which_lines_are_measured_and_changes_nothing_else() -> None:
    own, form = pattern(release(drop_tests=OWN)), pattern(release())
    assert {name for name, source in own.line_from.items() if source == "table"} == {"2", "3", "4"}
    assert own.line_m_by_level["2"] == 90.0
    assert own.line_notes
    assert own.method.startswith("Lines come from own.csv where line_from says table")
    assert (own.drift_right_m, own.evaporated_pct, own.pattern) == (
        form.drift_right_m,
        form.evaporated_pct,
        form.pattern,
    )
    assert (form.line_notes, set(form.line_from.values())) == ((), {"physics"})


@pytest.mark.property
def test_summed_tests_tell_all_pieces_and_bound_the_longest() -> None:
    """All pieces at level 1 were 50 m: the longest of them, which physics tells, is no longer."""
    result = pattern(release(drop_tests=table(row(1.0, 50.0, line_kind="summed"))))
    at = result.at(1.0)
    assert (at.line_summed_m.middle, at.line_summed_from, at.line_from) == (50.0, "table", "physics")
    assert at.line_m.middle <= 50.0


@pytest.mark.behaviour
def test_a_setting_that_was_tested_goes_before_one_that_was_not() -> None:
    """Physics may promise more of another setting; the crew chooses among those that were measured."""
    asked = Release(class_id="large_tanker", height_m=61.0, speed_mps=69.5)
    load_l = resolve(asked).load_l
    usual: dict[str, Any] = {
        "class_id": "large_tanker",
        "load_l": load_l,
        "height_m": 61.0,
        "speed_mps": 69.5,
        "system": "constant",
    }
    tests = table(row(4.0, 120.0, setting=4.0, **usual), row(4.0, 150.0, setting=6.0, **usual))
    alone, stack = stack_for(asked, 4.0), stack_for(replace(asked, drop_tests=tests), 4.0)
    assert alone is not None
    assert stack is not None
    assert alone.release.setting == 8.0
    assert (stack.release.setting, stack.line_m.middle, stack.line_from) == (6.0, 150.0, "table")
