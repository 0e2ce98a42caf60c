"""Lanes across waters that are drawn in pieces."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour, make_lake, make_scooper
from wetline.model import shipped_limits
from wetline.water import lanes_for, why_no_lane

if TYPE_CHECKING:
    from wetline.ground import Water
    from wetline.water import Lane

LIMITS = shipped_limits()
X, Y = MIDDLE = (500_000.0, 5_000_000.0)
WEST = make_lake(X - 1000.0, Y - 75.0, X, Y + 75.0, "Upper Lomvatn")
EAST = make_lake(X, Y - 75.0, X + 1000.0, Y + 75.0, "Lower Lomvatn")


def lanes_on(*waters: Water) -> list[Lane]:
    ground = make_ground(make_grid(), waters)
    hour = make_hour(3.0, 90.0)
    return lanes_for(ground, make_scooper(), hour, LIMITS, near=MIDDLE, within_m=20_000.0, step_deg=90.0)


@pytest.mark.derived
def test_a_lane_lies_across_two_pieces_of_which_neither_holds_one() -> None:
    assert lanes_on(WEST) == []
    assert lanes_on(EAST) == []
    lanes = lanes_on(WEST, EAST)
    assert {lane.water for lane in lanes} == {"Upper Lomvatn + Lower Lomvatn"}
    assert lanes[0].length_m == pytest.approx(2000.0 / 0.9996, abs=0.1)  # a UTM grid on its meridian


@pytest.mark.derived
def test_a_gap_between_pieces_is_a_shore() -> None:
    apart = replace(EAST, polygon=shapely.box(X + 0.5, Y - 75.0, X + 1000.5, Y + 75.0))
    assert lanes_on(WEST, apart) == []
    ground = make_ground(make_grid(), (WEST, apart))
    _, short_m = why_no_lane(
        ground, make_scooper(), None, LIMITS, near=MIDDLE, within_m=20_000.0, step_deg=90.0
    )
    assert short_m == pytest.approx(1500.0 - 1000.0 / 0.9996, abs=0.1)


@pytest.mark.property
def test_a_lane_within_one_piece_is_not_told_twice() -> None:
    long = make_lake(X, Y - 75.0, X + 1900.0, Y + 75.0, "Lower Lomvatn")
    lanes = lanes_on(WEST, long)
    alone = [lane for lane in lanes if lane.water == "Lower Lomvatn"]
    assert alone
    assert all(lane.length_m > 2500.0 for lane in lanes if lane not in alone)


@pytest.mark.property
def test_of_a_lane_across_pieces_is_known_only_what_every_piece_tells() -> None:
    sounded = replace(WEST, depth_m=6.0, depth_date=date(2026, 6, 1))
    (unknown, *_) = lanes_on(sounded, replace(EAST, depth_m=None))
    assert unknown.depth_m is None
    assert any(f.code == "depth" and f.level == "unknown" for f in unknown.findings)
    (shallow, *_) = lanes_on(sounded, replace(EAST, depth_m=0.5, depth_date=date(2026, 7, 1)))
    assert shallow.depth_m == 0.5
    assert any(f.code == "depth" and f.level == "stop" for f in shallow.findings)


@pytest.mark.property
def test_a_closed_piece_joins_nobody() -> None:
    assert lanes_on(WEST, replace(EAST, closed="bird reserve")) == []


@pytest.mark.property
def test_a_look_at_one_piece_is_no_look_at_the_other() -> None:
    seen = make_hour(3.0, 90.0).time
    (half, *_) = lanes_on(replace(WEST, looked_at=seen), EAST)
    assert half.looked_at is None
    (whole, *_) = lanes_on(replace(WEST, looked_at=seen), replace(EAST, looked_at=seen))
    assert whole.looked_at == seen
