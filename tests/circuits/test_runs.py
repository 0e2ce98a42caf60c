"""Runs on made-up terrain: which way, how high, where released, how steep the way out."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from circuits.day_maker import make_class, make_ground, make_limits
from wetline.aircraft import aircraft_classes
from wetline.circuits import RunGeometry, build_run, turn_radius_m
from wetline.circuits.checks import run_exit_finding
from wetline.errors import InputError, OutsideRangeError
from wetline.model import shipped_limits
from wetline.units import KNOT
from wetline.weather import Hour

FLAT = make_ground(cell_m=25.0)
LINE = np.array([[0.0, 0.0], [0.0, 200.0]])
"""200 m long, laid toward grid north."""


def wind(speed_mps: float, from_deg: float) -> Hour:
    return Hour(
        time=datetime(2026, 8, 14, 14, tzinfo=UTC),
        temperature_c=28.0,
        humidity_pct=30.0,
        wind_mps=speed_mps,
        wind_from_deg=from_deg,
        gust_mps=None,
        rain_mm=0.0,
        cloud_pct=None,
        visibility_m=None,
    )


def run(ground: Any = FLAT, hour: Hour | None = None, line: Any = LINE, **more: Any) -> RunGeometry:
    cls = make_class(more.pop("class_id", "twin_engine_scooper"))
    return build_run(line, cls, ground, hour, **{"height_m": 35.0, **more})


def exit_levels(geometry: RunGeometry) -> list[str]:
    return [f.level for f in geometry.findings if f.code == "terrain_exit"]


@pytest.mark.derived
def test_turn_radius_by_hand() -> None:
    """r = v²/(g tan φ): 100 m/s at 45° is 10,000/9.80665 = 1,019.7 m; 105 kt at 30° is 515.3 m."""
    assert turn_radius_m(100.0, 45.0) == pytest.approx(1019.716, abs=0.001)
    assert turn_radius_m(105 * 1852 / 3600) == pytest.approx(515.34, abs=0.02)
    with pytest.raises(OutsideRangeError):
        turn_radius_m(50.0, 90.0)


@pytest.mark.practice
@pytest.mark.parametrize(("from_deg", "heading"), [(0.0, 0.0), (180.0, 180.0), (30.0, 0.0), (140.0, 180.0)])
def test_a_run_goes_into_wind(from_deg: float, heading: float) -> None:
    """Principles of retardant application (US Forest Service): drop into wind for accuracy."""
    geometry = run(hour=wind(8.0, from_deg))
    assert geometry.run_heading_deg == pytest.approx(heading)
    assert geometry.headwind_mps is not None
    assert geometry.headwind_mps > 0.0
    assert geometry.reversed_line == (heading == 180.0)
    assert np.allclose(geometry.line[0], [0.0, 200.0] if geometry.reversed_line else [0.0, 0.0])


@pytest.mark.practice
@pytest.mark.parametrize("hour", [None, wind(1.0, 180.0)])
def test_in_light_wind_a_run_goes_downhill(hour: Hour | None) -> None:
    """Principles of retardant application (US Forest Service): drop downhill. 3 % of slope falls to the
    north; a metre a second from the south does not outweigh it."""
    geometry = run(make_ground(lambda _x, y: -0.03 * y, cell_m=25.0), hour)
    assert geometry.run_heading_deg == pytest.approx(0.0)
    assert geometry.downhill_m == pytest.approx(6.0, abs=0.01)


@pytest.mark.behaviour
def test_wind_does_not_send_a_run_into_a_hillside() -> None:
    """Wind from the north, but a slope of 20 % begins north of the line: the run goes south."""
    wall = make_ground(lambda _x, y: 0.2 * np.maximum(y - 200.0, 0.0), cell_m=25.0)
    geometry = run(wall, wind(8.0, 0.0))
    assert geometry.run_heading_deg == pytest.approx(180.0)
    assert geometry.exit_gradient_needed == 0.0
    assert "stop" not in [f.level for f in geometry.findings if "Climb-out" in f.message]


@pytest.mark.derived
@pytest.mark.parametrize("slope", [0.03, 0.05, 0.10])
def test_the_climb_out_up_an_even_slope_is_that_slope(slope: float) -> None:
    """A straight valley floor rising at a slope, walls at its sides: straight out asks for the slope."""
    valley = make_ground(lambda x, y: slope * y + 0.5 * np.maximum(np.abs(x) - 200.0, 0.0), cell_m=25.0)
    geometry = run(valley, direction="as_given")
    assert geometry.turn == "straight"
    assert geometry.exit_gradient_needed == pytest.approx(slope, rel=0.01)
    # the class: 1,000 ft/min (700 to 1,400) at 105 kt climbs 9.4 % (6.6 %), from memory
    assert exit_levels(geometry)[0] == ("stop" if slope > 0.094 else "clear")


@pytest.mark.derived
def test_a_hill_ahead_asks_for_its_height_over_its_distance() -> None:
    """A wall of 120 m across the whole country 1,000 m beyond the line, turns included, asks for 12 %
    straight on; the first turn, 10 s and 515 m of radius on, stays short of 1,100 m and of the wall."""
    wall = make_ground(lambda _x, y: np.where(y >= 1200.0 + 200.0, 120.0, 0.0), cell_m=25.0)
    geometry = run(wall, direction="as_given")
    assert geometry.turn == "left"
    assert geometry.exit_gradient_needed == 0.0
    nearer = make_ground(lambda _x, y: np.where(y >= 1000.0, 120.0, 0.0), cell_m=25.0)
    needed = run(nearer, direction="as_given").exit_gradient_needed
    assert needed is not None
    assert 120.0 / 1500.0 < needed <= 120.0 / 760.0


@pytest.mark.behaviour
@pytest.mark.parametrize(("side", "turn"), [(1.0, "left"), (-1.0, "right")])
def test_the_way_out_turns_toward_lower_ground(side: float, turn: str) -> None:
    """Ground that rises to one side: out over the other."""
    tilted = make_ground(lambda x, _y: side * 0.05 * x, cell_m=25.0)
    geometry = run(tilted, direction="as_given")
    assert geometry.turn == turn
    assert np.sign(geometry.exit_path[-1, 0]) == -side


@pytest.mark.derived
@pytest.mark.parametrize(
    ("class_id", "length_m"), [("twin_engine_scooper", 1500.0), ("light_helicopter", 500.0)]
)
def test_the_approach_is_straight_and_ends_at_the_release(class_id: str, length_m: float) -> None:
    geometry = run(class_id=class_id, direction="as_given")
    assert np.allclose(geometry.approach, [[0.0, -length_m], [0.0, 0.0]])
    assert geometry.release_xy == (0.0, 0.0)


@pytest.mark.derived
def test_the_way_out_is_three_kilometres_of_straight_turn_and_straight() -> None:
    """At 105 kt: 540 m straight on, a quarter turn of 515 m radius, and the rest of 3 km across."""
    v = 105 * 1852 / 3600
    radius = v**2 / (9.80665 * np.tan(np.radians(30.0)))
    geometry = run(direction="as_given")
    length = np.hypot(*np.diff(geometry.exit_path, axis=0).T).sum()
    assert length == pytest.approx(3000.0, rel=2e-3)  # chords of the arc are a little shorter
    assert geometry.exit_path[-1] == pytest.approx(
        [-radius - (3000.0 - 10 * v - radius * np.pi / 2), 200.0 + 10 * v + radius], abs=1e-6
    )


@pytest.mark.derived
def test_release_goes_upwind_and_short_of_where_the_load_drifts() -> None:
    """The load falls 20 m to the right and 60 m on. Toward the north that is 20 m east, 60 m north, so
    the release lies 20 m west and 60 m south of the line's start; toward the south it is the other way."""
    north = run(direction="as_given", drift=(20.0, 60.0))
    assert north.release_xy == pytest.approx((-20.0, -60.0))
    assert north.approach[-1] == pytest.approx([-20.0, -60.0])
    assert north.approach[0] == pytest.approx([-20.0, -1560.0])
    assert north.exit_path[0] == pytest.approx([-20.0, 140.0])
    south = run(direction="reversed", drift=(20.0, 60.0))
    assert south.release_xy == pytest.approx((20.0, 260.0))


@pytest.mark.behaviour
def test_drift_may_depend_on_the_heading_that_is_chosen() -> None:
    """A wind from the west carries to the right of a run north and to the left of a run south."""
    for direction in ("as_given", "reversed"):
        geometry = run(direction=direction, drift=lambda h: (25.0 * np.cos(np.radians(h)), 0.0))
        assert geometry.release_xy[0] == pytest.approx(-25.0)


@pytest.mark.behaviour
def test_a_release_offset_is_taken_as_it_is() -> None:
    geometry = run(direction="as_given", release_offset=lambda _h: (5.0, -80.0))
    assert geometry.release_xy == pytest.approx((5.0, -80.0))
    assert (geometry.release_offset_right_m, geometry.release_offset_along_m) == (5.0, -80.0)


@pytest.mark.derived
def test_height_stands_on_the_highest_ground_and_trees_under_the_line() -> None:
    """Ground 300 to 304 m under the line, trees 18 m, tank 35 m above them: 357 m."""
    ground = make_ground(lambda _x, y: 300.0 + 0.02 * y, cell_m=25.0, canopy_m=18.0)
    geometry = run(ground)
    assert geometry.height_amsl_m == pytest.approx(300.0 + 4.0 + 18.0 + 35.0, abs=0.05)
    assert geometry.line_relief_m == pytest.approx(4.0, abs=0.05)
    assert geometry.height_above_canopy_m == 35.0


@pytest.mark.behaviour
def test_trees_that_nobody_gave_are_said() -> None:
    geometry = run(make_ground(cell_m=25.0, canopy_m=None))
    assert [(f.code, f.level, f.effect) for f in geometry.findings if f.code == "data_missing"] == [
        ("data_missing", "unknown", "noted")
    ]


@pytest.mark.behaviour
def test_unknown_ground_on_the_way_out_blocks() -> None:
    hole = make_ground(lambda _x, y: np.where(y > 600.0, np.nan, 0.0), cell_m=25.0)
    geometry = run(hole, direction="as_given")
    assert geometry.exit_gradient_needed is None
    finding = geometry.findings[0]
    assert (finding.code, finding.level, finding.effect) == ("terrain_exit", "unknown", "blocks")
    other_way = run(hole)  # the way out is known then, the approach is not
    assert other_way.run_heading_deg == pytest.approx(180.0)
    assert exit_levels(other_way) == ["clear", "unknown"]


@pytest.mark.behaviour
def test_unknown_ground_under_the_line_gives_no_height() -> None:
    hole = make_ground(lambda _x, y: np.where(np.abs(y - 100.0) < 60.0, np.nan, 0.0), cell_m=25.0)
    geometry = run(hole)
    assert geometry.height_amsl_m is None
    assert set(exit_levels(geometry)) == {"unknown"}


@pytest.mark.behaviour
def test_off_the_edge_of_the_terrain_is_unknown() -> None:
    geometry = run(make_ground(cell_m=25.0, cells=40))
    assert set(exit_levels(geometry)) == {"unknown"}


@pytest.mark.behaviour
def test_a_looser_limit_is_the_users_to_set() -> None:
    """A way in over ground that falls by 15 % along the run: 12 % are shipped."""
    falling = make_ground(lambda _x, y: -0.15 * y, cell_m=25.0)
    assert exit_levels(run(falling, direction="as_given"))[1] == "stop"
    loose = run(falling, direction="as_given", limits=make_limits(descent_gradient_available=0.3))
    assert exit_levels(loose)[1] == "clear"


@pytest.mark.derived
@pytest.mark.parametrize(("slope", "level"), [(0.06, "clear"), (0.08, "caution"), (0.10, "stop")])
def test_the_way_out_is_held_to_the_climb_of_the_class(slope: float, level: str) -> None:
    """1,000 ft/min, low end 700, at 105 kt: 9.4 and 6.6 %, by hand."""
    finding = run_exit_finding(
        slope,
        aircraft_classes()["twin_engine_scooper"],
        shipped_limits(),
        speed_mps=105 * KNOT,
        refers_to="R1",
    )
    assert finding.level == level


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "line", [[[0.0, 0.0]], [[0.0, 0.0], [0.5, 0.0]], [[0.0, 0.0], [np.nan, 50.0]], [0.0, 1.0, 2.0]]
)
def test_a_line_without_a_heading_is_an_error(line: Any) -> None:
    with pytest.raises(InputError):
        run(line=line)


@pytest.mark.behaviour
def test_a_height_at_or_under_the_trees_is_an_error() -> None:
    with pytest.raises(OutsideRangeError, match="height_m"):
        run(height_m=0.0)


@pytest.mark.property
@given(
    heading=st.floats(0.0, 359.0),
    length=st.floats(50.0, 400.0),
    right=st.floats(-50.0, 50.0),
    forward=st.floats(0.0, 80.0),
    from_deg=st.floats(0.0, 360.0),
)
def test_a_turned_run_is_the_same_run_turned(
    heading: float, length: float, right: float, forward: float, from_deg: float
) -> None:
    """On flat ground nothing depends on where north is: the release lies as far from the line."""
    along = np.array([np.sin(np.radians(heading)), np.cos(np.radians(heading))])
    geometry = run(
        line=np.vstack([[0.0, 0.0], length * along]), hour=wind(9.0, from_deg), drift=(right, forward)
    )
    offset = np.array(geometry.release_xy) - geometry.line[0]
    assert np.hypot(*offset) == pytest.approx(np.hypot(right, forward), abs=1e-6)
    ahead = (geometry.line[-1] - geometry.line[0]) / length
    assert float(offset @ ahead) == pytest.approx(-forward, abs=1e-6)
    assert geometry.headwind_mps is not None
    assert geometry.headwind_mps >= -3.0 * 1852 / 3600
    assert geometry.bend_m == pytest.approx(0.0, abs=1e-6)


@pytest.mark.derived
def test_a_bent_line_says_how_far_it_leaves_the_run() -> None:
    geometry = run(line=[[0.0, 0.0], [40.0, 100.0], [0.0, 200.0]], direction="as_given")
    assert geometry.bend_m == pytest.approx(40.0)
