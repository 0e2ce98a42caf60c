"""The way out of a lane: straight, by a turn, with the load dumped, or none; and what is not known.

A lake 200 m wide and 1,500 m long is flown east from (499,000, 5,000,000) by a class that climbs
10 % full and 16 % empty at 80 kt at sea level; the air is that of sea level.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour, make_lake, make_scooper, quantity
from wetline.aircraft import AircraftClass, Quantity
from wetline.ground import Hazard, Layer, Road
from wetline.model import shipped_limits
from wetline.units import KNOT
from wetline.water import lanes_for
from wetline.water.course import lay_course
from wetline.water.escape import turn_radius_m, turn_track
from wetline.water.flight import how_flown
from wetline.water.ways import check_class_climb, check_way, escape_from, way_out
from wetline.water.wires import check_crossings

if TYPE_CHECKING:
    from wetline.ground import Ground
    from wetline.model import Finding
    from wetline.water.course import Course
    from wetline.water.escape import Escape

LIMITS = shipped_limits()
START = (499_000.0, 5_000_000.0)
LIFT_M = 1125.0
LAKE = make_lake(START[0], START[1] - 100.0, START[0] + 1500.0, START[1] + 100.0)
CALM = make_hour(0.0, 90.0)
FPM_PER_PCT = 81.013  # 1 % at 80 kt: 0.01 x 80 x 1852 / 60 m/min, in feet (0.3048 m)


def a_class(full_pct: float = 10.0, empty_pct: float | None = 16.0, low_share: float = 1.0) -> AircraftClass:
    fpm = full_pct * FPM_PER_PCT
    known = {
        "climb_fpm": Quantity(fpm, "ft/min", "test", low=low_share * fpm, high=1.2 * fpm),
        "ceiling_ft": quantity(12000.0, "ft"),
        "liftoff_speed_kt": quantity(80.0, "kt"),
    }
    if empty_pct is not None:
        known["climb_empty_fpm"] = quantity(empty_pct * FPM_PER_PCT, "ft/min")
    cls = make_scooper()
    return replace(cls, quantities={**cls.quantities, **known})


def grown(top_m: float, where: np.ndarray) -> np.ndarray:
    z = np.full(make_grid().shape, 100.0, np.float32)
    z[where] = 100.0 + top_m
    return z


def offsets() -> tuple[np.ndarray, np.ndarray]:
    """East of the lift-off and north of the axis [m] of every cell."""
    grid = make_grid()
    x, y = grid.xy(*np.indices(grid.shape))
    return x - START[0] - LIFT_M, y - START[1]


def course_on(ground: Ground, cls: AircraftClass) -> Course:
    return lay_course(
        ground,
        LAKE.polygon,
        start=START,
        heading_deg=90.0,
        length_m=1500.0,
        clear_m=50.0,
        flight=how_flown(cls, 0.0, LIMITS),
        surface_m=100.0,
    )


def left(ground: Ground, cls: AircraftClass) -> tuple[Escape, Finding]:
    course = course_on(ground, cls)
    way = way_out(course, (), LIMITS)
    escape = escape_from(way, course, LAKE.polygon, ground, CALM, LIMITS)
    return escape, check_way(way, course, escape)


def wall_ahead(top_m: float, ahead_m: float = 1800.0) -> np.ndarray:
    east, _ = offsets()
    return grown(top_m, east > ahead_m)


def canyon(top_m: float) -> np.ndarray:
    """Walls on both sides 150 m from the axis, and one ahead."""
    east, north = offsets()
    return grown(top_m, (east > 1800.0) | (np.abs(north) > 150.0))


@pytest.mark.memory
def test_turn_radius_of_a_worked_example() -> None:
    """Common handbook example, from memory: 100 kt at 30° of bank turns in about 1,540 ft."""
    assert turn_radius_m(100.0 * KNOT, 30.0) / 0.3048 == pytest.approx(1533.0, abs=10.0)


@pytest.mark.derived
def test_turn_radius_is_speed_squared_over_g_tan_bank() -> None:
    """50 m/s at 45°: 2500 / 9.80665 = 254.93 m; twice the speed, four times the radius."""
    assert turn_radius_m(50.0, 45.0) == pytest.approx(254.93, abs=0.01)
    assert turn_radius_m(100.0, 45.0) == pytest.approx(4.0 * turn_radius_m(50.0, 45.0))


@pytest.mark.derived
@pytest.mark.parametrize(("side", "north"), [(-1.0, 600.0), (1.0, -600.0)])
def test_half_a_turn_comes_back_two_radii_aside(side: float, north: float) -> None:
    """Flown east in calm air with a radius of 300 m, a left turn comes back 600 m to the north."""
    course = course_on(make_ground(make_grid(), (LAKE,)), a_class())
    x, y, flown_m = turn_track(course, side, 180.0, 300.0, 41.0, CALM)
    after = flown_m > np.pi * 300.0
    assert y[after] - START[1] == pytest.approx(np.full(after.sum(), north), abs=1e-6)
    assert (np.diff(x[after]) < 0.0).all()


@pytest.mark.derived
def test_the_wind_carries_a_turn_along() -> None:
    """After d metres in the air at 41 m/s a wind of 5 m/s from the north has carried it 5 d/41 m south."""
    course = course_on(make_ground(make_grid(), (LAKE,)), a_class())
    calm = turn_track(course, -1.0, 90.0, 300.0, 41.0, CALM)
    windy = turn_track(course, -1.0, 90.0, 300.0, 41.0, make_hour(5.0, 0.0))
    assert calm[1] - windy[1] == pytest.approx(5.0 / 41.0 * calm[2], abs=1e-6)
    assert calm[0] == pytest.approx(windy[0], abs=1e-6)


@pytest.mark.derived
def test_low_ground_is_left_straight_ahead() -> None:
    escape, finding = left(make_ground(make_grid(), (LAKE,)), a_class())
    assert (escape.kind, finding.level) == ("straight", "clear")


@pytest.mark.derived
def test_a_wall_ahead_on_open_ground_is_left_by_a_turn_and_is_a_caution() -> None:
    """100 m, 1,800 m behind the lift-off: 5.6 % of 4 %; both sides are flat."""
    escape, finding = left(make_ground(make_grid(), (LAKE,), elevation_m=wall_ahead(100.0)), a_class())
    assert escape.kind in {"turn_left", "turn_right"}
    assert finding.level == "caution"
    assert "turn" in finding.message


@pytest.mark.derived
@pytest.mark.parametrize(("wall", "kind"), [(1.0, "turn_right"), (-1.0, "turn_left")])
def test_the_turn_goes_to_the_open_side(wall: float, kind: str) -> None:
    """A wall ahead and one to the north (1) or the south (−1) of the lane."""
    east, north = offsets()
    z = grown(150.0, (east > 1800.0) | (wall * north > 150.0))
    escape, _ = left(make_ground(make_grid(), (LAKE,), elevation_m=z), a_class())
    assert escape.kind == kind
    assert escape.track
    assert escape.gradient_needed is not None
    assert escape.gradient_available == pytest.approx(0.04)  # half of 10 % is more than the limit


@pytest.mark.derived
@pytest.mark.parametrize(("empty_pct", "kind"), [(16.0, "dump"), (6.0, "none"), (None, "unknown")])
def test_out_of_a_box_canyon_only_with_the_load_dumped(empty_pct: float | None, kind: str) -> None:
    """Walls of 150 m on three sides: 8.3 % ahead. It is a stop in every case: no load comes out."""
    ground = make_ground(make_grid(), (LAKE,), elevation_m=canyon(150.0))
    escape, finding = left(ground, a_class(empty_pct=empty_pct))
    assert (escape.kind, finding.level) == (kind, "stop")


@pytest.mark.property
def test_a_turn_over_ground_that_nobody_knows_is_not_a_way_out() -> None:
    east, north = offsets()
    z = wall_ahead(150.0)
    z[(np.abs(north) > 120.0) & (east <= 1800.0)] = np.nan
    escape, finding = left(make_ground(make_grid(), (LAKE,), elevation_m=z), a_class(empty_pct=6.0))
    assert (escape.kind, finding.level) == ("unknown", "stop")


@pytest.mark.derived
def test_the_turn_is_looked_at_across_its_width() -> None:
    """Knolls beside the track of every turn, not on it, bar it: rings of walls 60 m beside a left turn."""
    ground = make_ground(make_grid(), (LAKE,), elevation_m=wall_ahead(150.0))
    free, _ = left(ground, a_class())
    assert free.kind in {"turn_left", "turn_right"}
    line = shapely.LineString(free.track)
    x, y = make_grid().xy(*np.indices(make_grid().shape))
    away = shapely.distance(line, shapely.points(x, y))
    z = wall_ahead(150.0)
    z[(away > 60.0) & (away < 95.0) & (np.abs(y - START[1]) > 150.0)] = 250.0
    blocked, _ = left(make_ground(make_grid(), (LAKE,), elevation_m=z), a_class())
    assert (blocked.kind, blocked.turn_deg) != (free.kind, free.turn_deg)


@pytest.mark.property
def test_a_known_mast_bars_the_turn_that_passes_it() -> None:
    day = datetime(2026, 6, 2, tzinfo=UTC).date()
    ground = make_ground(make_grid(), (LAKE,), elevation_m=wall_ahead(100.0))
    free, _ = left(ground, a_class())
    mast = Hazard(name="Alder", kind="mast", shape=shapely.Point(free.track[20]), height_m=5.0)
    masted = replace(ground, hazards=Layer((mast,), present=True, surveyed=day))
    other, _ = left(masted, a_class())
    assert (other.kind, other.turn_deg) != (free.kind, free.turn_deg)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("full_pct", "low_share", "level"),
    [(10.0, 1.0, "clear"), (3.0, 0.8, "caution"), (2.4, 1.0, "stop")],
)
def test_the_climb_of_the_class_counts_where_it_is_less_than_the_limit(
    full_pct: float, low_share: float, level: str
) -> None:
    """A ramp asks for 2.5 %: 3 % with 2.4 % at the low end is a caution, 2.4 % in the middle a stop.

    Behind the wall of the sides only straight ahead is left.
    """
    east, north = offsets()
    z = grown(150.0, np.abs(north) > 150.0)
    ramp = (np.abs(north) <= 150.0) & (east > 375.0)
    z[ramp] = (100.0 + 0.025 * (east - 0.0))[ramp]
    course = course_on(make_ground(make_grid(), (LAKE,), elevation_m=z), a_class(full_pct, None, low_share))
    way = way_out(course, (), LIMITS)
    if full_pct >= 4.0:
        assert way.asked == pytest.approx(0.025, rel=0.01)
    escape = escape_from(
        way, course, LAKE.polygon, make_ground(make_grid(), (LAKE,), elevation_m=z), CALM, LIMITS
    )
    found = check_way(way, course, escape).level
    assert found == level
    assert bool(check_class_climb(way, course)) is (full_pct < 4.0)


@pytest.mark.property
def test_a_climb_that_nobody_knows_is_said() -> None:
    course = course_on(make_ground(make_grid(), (LAKE,)), make_scooper())
    (finding,) = check_class_climb(way_out(course, (), LIMITS), course)
    assert (finding.level, finding.effect) == ("unknown", "noted")


@pytest.mark.property
@pytest.mark.parametrize(("along_m", "levels"), [(700.0, ["stop"]), (1600.0, [])])
def test_a_bridge_over_the_run_is_a_stop(along_m: float, levels: list[str]) -> None:
    x = START[0] + along_m
    line = shapely.LineString([(x, START[1] - 500.0), (x, START[1] + 500.0)])
    ground = replace(
        make_ground(make_grid(), (LAKE,)), roads=Layer((Road(name="A 4", line=line),), present=True)
    )
    assert [f.level for f in check_crossings(course_on(ground, a_class()), ground)] == levels


@pytest.mark.property
@pytest.mark.parametrize("height_m", [5.0, 60.0, 400.0, None])
def test_nothing_is_passed_under_on_the_water(height_m: float | None) -> None:
    x = START[0] + 700.0
    wire = Hazard(
        name="Alder",
        kind="wire",
        shape=shapely.LineString([(x, START[1] - 500.0), (x, START[1] + 500.0)]),
        height_m=height_m,
    )
    day = datetime(2026, 6, 2, tzinfo=UTC).date()
    ground = make_ground(make_grid(), (LAKE,), hazards=Layer((wire,), present=True, surveyed=day))
    lanes = lanes_for(ground, a_class(), None, LIMITS, near=START, within_m=5000.0, step_deg=90.0)
    assert lanes
    assert all(
        any("nothing is passed under" in f.message and f.level == "stop" for f in lane.findings)
        for lane in lanes
    )
