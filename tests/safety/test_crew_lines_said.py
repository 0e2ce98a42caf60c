"""What is counted on is said; what nobody vouches for is unknown; people behind line are warned."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from shapely.geometry import LineString

from safety.run_maker import NOW
from wetline.model import CrewLine, shipped_limits
from wetline.safety import Reach, check_entrapment, check_lines, if_lines_fail, lines_notes

pytestmark = pytest.mark.practice

HOUR = timedelta(hours=1)
STROKE = LineString([(0.0, 0.0), (0.0, 500.0)])


def line(name: str = "East line", **how: Any) -> CrewLine:
    return CrewLine(name=name, time=NOW - HOUR, line=STROKE, **how)


def reach(name: str, minutes: float | None, kind: str = "crew") -> Reach:
    at = None if minutes is None else NOW + timedelta(minutes=minutes)
    return Reach(name=name, kind=kind, position=(1.0, 2.0), on_map=True, time=at, earliest=at)


def test_line_counted_on_is_a_caution() -> None:
    (finding,) = check_lines([line(holds=True)], NOW)
    assert (finding.level, finding.code) == ("caution", "entrapment")
    assert "East line" in finding.message


def test_whether_a_line_holds_of_which_nobody_says_so_is_unknown() -> None:
    (finding,) = check_lines([line()], NOW)
    assert (finding.level, finding.effect, finding.refers_to) == ("unknown", "noted", "East line")


def test_line_of_the_past_or_to_come_is_not_counted_on() -> None:
    past = line(until=NOW - timedelta(minutes=1))
    to_come = CrewLine(name="Next", time=NOW + HOUR, line=STROKE, holds=True)
    assert check_lines([past, to_come], NOW) == ()
    notes = lines_notes([past, to_come], NOW)
    assert len(notes) == 2
    assert all("stops nothing" in note for note in notes)


@pytest.mark.parametrize(
    ("with_line", "without", "warned"),
    [(None, 25.0, True), (90.0, 40.0, True), (50.0, 20.0, False), (None, 70.0, False), (None, None, False)],
)
def test_people_safe_only_behind_line_are_warned(
    with_line: float | None, without: float | None, warned: bool
) -> None:
    """Limit 60 min: common practice, no source."""
    found = if_lines_fail(
        [reach("Alder", with_line)], [reach("Alder", without)], now=NOW, limits=shipped_limits()
    )
    assert [f.level for f in found] == (["caution"] if warned else [])


def test_line_itself_is_no_person() -> None:
    at_line = reach("East line", 5.0, "line")
    assert check_entrapment([at_line], now=NOW, limits=shipped_limits(), people_layer=True) == ()
    assert if_lines_fail([], [at_line], now=NOW, limits=shipped_limits()) == ()
