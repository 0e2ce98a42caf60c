"""Headings as the water asks for: nothing longer hides between them, and narrow reaches are met."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from scipy.optimize import minimize_scalar
from shapely import affinity

from water.shores import ragged_lake
from water.test_lanes_proof import rectangle, scan
from wetline.water import lanes_in, longest_lane


@pytest.mark.derived
@pytest.mark.parametrize("turn_deg", [0.0, 13.7, 61.2, 122.9])
def test_the_longest_lane_of_a_rectangle_is_within_half_a_percent_of_its_best_heading(
    turn_deg: float,
) -> None:
    """Turned by a in 3,000 by 900 m, 100 m wide: L cos a + 100 sin a ≤ 3000 and L sin a + 100 cos a ≤ 900."""

    def length(a: float) -> float:
        return min((3000.0 - 100.0 * math.sin(a)) / math.cos(a), (900.0 - 100.0 * math.cos(a)) / math.sin(a))

    best_m = -float(minimize_scalar(lambda a: -length(a), bounds=(0.1, 0.6), method="bounded").fun)
    lake = affinity.rotate(shapely.box(0.0, 0.0, 3000.0, 900.0), -turn_deg, origin=(0.0, 0.0))
    lane = longest_lane(lake, clear_m=50.0, step_deg=None)
    assert lane is not None
    assert best_m / 1.005 <= lane.length_m <= best_m + 1e-6


@pytest.mark.derived
@pytest.mark.parametrize("seed", [0, 4])
def test_no_scan_of_any_degree_finds_a_lane_more_than_half_a_percent_longer(seed: int) -> None:
    lake = ragged_lake(seed)
    lane = longest_lane(lake, clear_m=50.0, step_deg=None)
    assert lane is not None
    assert lake.covers(rectangle(lane, 1e-3))
    drawn_m = max(scan(lake, heading, 20.0) for heading in np.arange(0.5, 180.0, 1.0))
    assert drawn_m <= 1.005 * lane.length_m


@pytest.mark.derived
def test_a_reach_that_lies_between_two_headings_is_met() -> None:
    """A reach 112 by 1,600 m at 37.6°: turned by the 2.4° to the next step, 1,500 m need 162 m of width."""
    reach = affinity.rotate(shapely.box(-56.0, -800.0, 56.0, 800.0), -37.6, origin=(0.0, 0.0))
    assert lanes_in(reach, length_m=1500.0, clear_m=50.0) == ()
    found = lanes_in(reach, length_m=1500.0, clear_m=50.0, step_deg=None)
    assert found
    assert all(reach.buffer(1e-6).covers(rectangle(lane, 0.0)) for lane in found)
    assert found[0].heading_deg == pytest.approx(37.6, abs=0.5)
    assert found[0].length_m >= 1600.0 / 1.005


@pytest.mark.property
@pytest.mark.parametrize("seed", [1, 7])
def test_every_lane_with_a_tenth_more_room_has_one_that_passes_near_its_middle(seed: int) -> None:
    """At less than 5° and 100 m."""
    lake = ragged_lake(seed, corners=60)
    free = lanes_in(lake, length_m=1000.0, clear_m=50.0, step_deg=None)
    roomy = lanes_in(lake, length_m=1005.0, clear_m=55.0, step_deg=15.0)
    assert roomy
    lines = shapely.linestrings([[lane.start, lane.end] for lane in free])
    turns = np.array([lane.heading_deg for lane in free])
    for lane in roomy:
        alike = np.abs((turns - lane.heading_deg + 90.0) % 180.0 - 90.0) < 5.0
        near = shapely.distance(lines, shapely.Point(lane.middle)) < 100.0
        assert (alike & near).any(), lane


@pytest.mark.behaviour
def test_water_without_room_has_no_longest_lane() -> None:
    assert longest_lane(shapely.box(0.0, 0.0, 70.0, 70.0), clear_m=50.0, step_deg=None) is None
    assert lanes_in(shapely.box(0.0, 0.0, 70.0, 70.0), length_m=60.0, clear_m=50.0, step_deg=None) == ()
