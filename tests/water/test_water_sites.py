"""Lanes of an incident: into the wind, best first, in reach, never clear unasked."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour, make_lake, make_scooper, ragged_lake
from wetline.errors import InputError
from wetline.model import shipped_limits, worst
from wetline.water import lanes_for, why_no_lane

if TYPE_CHECKING:
    from wetline.ground import Water

LIMITS = shipped_limits()
MIDDLE = (500_000.0, 5_000_000.0)
FAR_M = 40_000.0


def narrow(name: str, x: float, y: float, length_m: float = 1800.0) -> Water:
    """An east-west lake 150 m wide with its middle at (x, y)."""
    return make_lake(x - length_m / 2, y - 75.0, x + length_m / 2, y + 75.0, name)


@pytest.mark.derived
@pytest.mark.parametrize(("from_deg", "heading_deg"), [(100.0, 90.0), (280.0, 270.0)])
def test_a_lane_is_flown_into_the_wind(from_deg: float, heading_deg: float) -> None:
    ground = make_ground(make_grid(), (narrow("Lomvatn", *MIDDLE),))
    lanes = lanes_for(ground, make_scooper(), make_hour(6.0, from_deg), LIMITS, near=MIDDLE, within_m=FAR_M)
    best = lanes[0]
    assert best.id == "S1"
    assert abs(best.heading_deg - heading_deg) <= 3.0
    assert best.headwind_mps is not None
    assert best.headwind_mps > 5.8
    toward = np.degrees(np.arctan2(best.end[0] - best.start[0], best.end[1] - best.start[1])) % 360
    assert toward == pytest.approx(best.heading_deg, abs=1e-6)


@pytest.mark.derived
def test_a_ridge_in_the_way_out_turns_the_lane_round() -> None:
    """Light wind from the east; a ridge of 150 m stands 1.5 km east of the lake: west is the way."""
    grid = make_grid()
    z = np.full(grid.shape, 100.0, np.float32)
    x, _ = grid.xy(0, np.arange(grid.cols))
    z[:, (x > MIDDLE[0] + 2400.0) & (x < MIDDLE[0] + 2700.0)] = 250.0
    ground = make_ground(grid, (narrow("Lomvatn", *MIDDLE),), elevation_m=z)
    lanes = lanes_for(ground, make_scooper(), make_hour(1.0, 90.0), LIMITS, near=MIDDLE, within_m=FAR_M)
    assert 180.0 < lanes[0].heading_deg < 360.0
    assert not any(f.level == "stop" for f in lanes[0].findings)
    eastward = [lane for lane in lanes if lane.heading_deg < 180.0]
    assert eastward
    assert all(lane.level == "stop" for lane in eastward)
    assert lanes.index(eastward[0]) > 0


@pytest.mark.derived
@pytest.mark.parametrize(("grid_m", "found"), [(1499.7, True), (1499.1, False)])
def test_length_is_measured_on_the_ground(grid_m: float, found: bool) -> None:
    """On the central meridian a UTM grid is 0.9996 of the ground: 1,499.4 m of it are 1,500 m."""
    ground = make_ground(make_grid(), (narrow("Lomvatn", *MIDDLE, length_m=grid_m),))
    lanes = lanes_for(ground, make_scooper(), None, LIMITS, near=MIDDLE, within_m=FAR_M, step_deg=90.0)
    assert bool(lanes) is found
    for lane in lanes:
        assert lane.length_m == pytest.approx(grid_m / 0.9996, abs=0.05)


@pytest.mark.property
def test_nothing_is_clear_before_somebody_has_looked() -> None:
    ground = make_ground(make_grid(), (narrow("Lomvatn", *MIDDLE), narrow("Ulmvatn", 498_000.0, 5_002_000.0)))
    hour = make_hour(3.0, 90.0)
    lanes = lanes_for(ground, make_scooper(), hour, LIMITS, near=MIDDLE, within_m=FAR_M)
    for thing in lanes:
        assert thing.level == worst(thing.findings) != "clear"
        assert any(f.code == "waves" and f.effect == "look" for f in thing.findings)
        assert {f.refers_to for f in thing.findings} == {thing.id}
    looked = {"Ulmvatn": datetime(2026, 8, 14, 13, 30, tzinfo=UTC)}
    after = lanes_for(ground, make_scooper(), hour, LIMITS, near=MIDDLE, within_m=FAR_M, looked=looked)
    assert after[0].water == "Ulmvatn", "water that was looked at comes before nearer water that was not"


@pytest.mark.property
def test_stopped_lanes_come_last_and_are_kept() -> None:
    shut = replace(narrow("Near", *MIDDLE), closed="bird reserve")
    ground = make_ground(make_grid(), (shut, narrow("Other", 498_500.0, 5_003_000.0)))
    lanes = lanes_for(ground, make_scooper(), make_hour(2.0, 90.0), LIMITS, near=MIDDLE, within_m=FAR_M)
    names = [lane.water for lane in lanes]
    assert names == sorted(names, reverse=True)
    assert {lane.level for lane in lanes if lane.water == "Near"} == {"stop"}
    assert [lane.id for lane in lanes] == [f"S{i + 1}" for i in range(len(lanes))]


@pytest.mark.property
def test_only_water_in_reach_is_searched() -> None:
    ground = make_ground(make_grid(), (narrow("Lomvatn", *MIDDLE), narrow("Far", 498_000.0, 5_006_000.0)))
    lanes = lanes_for(ground, make_scooper(), make_hour(3.0, 90.0), LIMITS, near=MIDDLE, within_m=3000.0)
    assert {lane.water for lane in lanes} == {"Lomvatn"}


@pytest.mark.property
def test_the_same_question_gets_the_same_answer() -> None:
    lake = shapely.transform(ragged_lake(5), lambda p: p + np.array(MIDDLE))
    ground = make_ground(make_grid(), (replace(narrow("Lomvatn", *MIDDLE), polygon=lake),))
    args = (ground, make_scooper(), make_hour(4.0, 200.0), LIMITS)
    one = lanes_for(*args, near=MIDDLE, within_m=FAR_M)
    assert one == lanes_for(*args, near=MIDDLE, within_m=FAR_M)
    assert 1 <= len(one) <= 3


@pytest.mark.behaviour
def test_without_weather_the_wind_is_unknown() -> None:
    ground = make_ground(make_grid(), (narrow("Lomvatn", *MIDDLE),))
    lanes = lanes_for(ground, make_scooper(), None, LIMITS, near=MIDDLE, within_m=FAR_M)
    assert lanes
    assert all(lane.headwind_mps is None for lane in lanes)
    assert all(any(f.code == "wind" and f.level == "unknown" for f in lane.findings) for lane in lanes)


@pytest.mark.derived
def test_why_there_is_no_lane() -> None:
    """A lake 1,000 m by 150 m on the ground: along it 1,000/0.9996 m; turned by 3° already shorter."""
    cls = make_scooper()
    ground = make_ground(make_grid(), (narrow("Lomvatn", *MIDDLE, length_m=1000.0),))
    assert lanes_for(ground, cls, None, LIMITS, near=MIDDLE, within_m=FAR_M) == []
    reason, miss_m = why_no_lane(ground, cls, None, LIMITS, near=MIDDLE, within_m=FAR_M, step_deg=90.0)
    assert miss_m == pytest.approx(1500.0 - 1000.0 / 0.9996, abs=0.1)
    assert reason == "the longest lane 100 m wide is 1000 m long, 1500 m are needed"
    assert why_no_lane(ground, cls, None, LIMITS, near=(510_000.0, 5_000_000.0), within_m=2000.0) == (
        "no water lies within 2 km",
        None,
    )


@pytest.mark.behaviour
def test_a_class_that_does_not_scoop_is_refused() -> None:
    ground = make_ground(make_grid(), ())
    with pytest.raises(InputError, match="does not scoop"):
        lanes_for(ground, replace(make_scooper(), fills="dip"), None, LIMITS, near=MIDDLE, within_m=FAR_M)
    with pytest.raises(InputError, match="lane_needed_m"):
        lanes_for(ground, replace(make_scooper(), quantities={}), None, LIMITS, near=MIDDLE, within_m=FAR_M)


@pytest.mark.property
def test_a_broken_outline_is_repaired_and_said() -> None:
    x, y = MIDDLE
    broken = shapely.Polygon([(x - 2000, y), (x, y + 300), (x + 2000, y), (x, y - 300), (x - 2000, y), (x - 2500, y + 10), (x - 2500, y - 10)])  # fmt: skip
    assert not broken.is_valid
    ground = make_ground(make_grid(), (replace(narrow("Lomvatn", x, y), polygon=broken),))
    lanes = lanes_for(ground, make_scooper(), None, LIMITS, near=MIDDLE, within_m=FAR_M)
    assert lanes
    assert all(any("repaired" in f.message for f in lane.findings) for lane in lanes)
