"""What is counted on is said; what nobody vouches for is unknown; people behind line are warned."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from shapely.geometry import LineString

from safety.run_maker import NOW, layer
from wetline.model import CrewLine, shipped_limits
from wetline.safety import Reach, check_entrapment, check_lines, if_lines_fail, lines_notes

pytestmark = pytest.mark.practice

HOUR = timedelta(hours=1)
DRAWN_AT = NOW - timedelta(seconds=30)
STROKE = LineString([(0.0, 0.0), (0.0, 500.0)])


def line(name: str = "East line", **how: Any) -> CrewLine:
    return CrewLine(name=name, time=NOW - HOUR, line=STROKE, **how)


def reach(name: str, minutes: float | None, kind: str = "crew") -> Reach:
    at = None if minutes is None else NOW + timedelta(minutes=minutes)
    return Reach(name=name, kind=kind, position=(1.0, 2.0), on_map=True, time=at, earliest=at)


def test_line_counted_on_is_a_caution() -> None:
    (finding,) = check_lines([line(holds=True)], start=DRAWN_AT, now=NOW)
    assert (finding.level, finding.code) == ("caution", "entrapment")
    assert "East line" in finding.message


def test_whether_a_line_holds_of_which_nobody_says_so_is_unknown() -> None:
    (finding,) = check_lines([line()], start=DRAWN_AT, now=NOW)
    assert (finding.level, finding.effect, finding.refers_to) == ("unknown", "noted", "East line")


def test_line_of_the_past_or_to_come_is_not_counted_on() -> None:
    past = line(until=NOW - timedelta(minutes=1))
    to_come = CrewLine(name="Next", time=NOW + HOUR, line=STROKE, holds=True)
    assert check_lines([past, to_come], start=DRAWN_AT, now=NOW) == ()
    notes = lines_notes([past, to_come], NOW)
    assert len(notes) == 2
    assert all("stops nothing" in note for note in notes)


@pytest.mark.parametrize(
    ("with_line", "without", "warned"),
    [
        (None, 25.0, "stop"),
        (90.0, 40.0, "caution"),
        (50.0, 20.0, "stop"),
        (25.0, 10.0, "stop"),
        (50.0, 45.0, "caution"),
        (None, 70.0, None),
        (None, None, None),
        (20.0, 20.0, None),
    ],
)
def test_people_to_whom_fire_comes_sooner_without_the_line_have_the_level_they_have_then(
    with_line: float | None, without: float | None, warned: str | None
) -> None:
    """A line that only delays the fire hides nobody. Limits 30 and 60 min: common practice, no source."""
    found = if_lines_fail(
        [reach("Alder", with_line)], [reach("Alder", without)], now=NOW, limits=shipped_limits()
    )
    assert [f.level for f in found] == ([warned] if warned else [])
    assert all("Nobody can guarantee the line" in f.message for f in found)


def test_line_that_has_run_out_since_the_fire_was_drawn_is_a_caution_still() -> None:
    past = line(until=NOW - timedelta(minutes=1))
    (finding,) = check_lines([past], start=NOW - 2 * HOUR, now=NOW)
    assert (finding.level, finding.code, finding.refers_to) == ("caution", "entrapment", "East line")
    assert past.counted_in(NOW - 2 * HOUR, NOW)
    assert not past.counted_in(NOW, NOW)


def test_line_itself_is_no_person() -> None:
    at_line = reach("East line", 5.0, "line")
    told = check_entrapment([at_line], now=NOW, limits=shipped_limits(), people=layer(), members=16)
    assert told == ()
    assert if_lines_fail([], [at_line], now=NOW, limits=shipped_limits()) == ()
