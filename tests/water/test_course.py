"""Ways in and out of a lane, and obstacles beside them, on ground laid out by hand.

A lake 200 m wide lies from x = 499,000 m eastward and is flown east. The class needs 1,500 m from
15 m to 15 m; at slopes of 10 % and 4 % that is 150 m to the touch and 375 m from the lift-off:
with nothing to spare the aircraft is on the water from 150 m to 1,125 m.
"""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
import shapely

from water.shores import make_grid, make_ground, make_lake, make_scooper
from wetline.ground import Ground, Hazard, Layer
from wetline.model import Finding, shipped_limits
from wetline.water.checks import check_surface
from wetline.water.circumstances import Circumstances
from wetline.water.course import Course, lay_course
from wetline.water.flight import how_flown
from wetline.water.ways import check_trees, check_way, way_in, way_out
from wetline.water.wires import check_wires, check_wires_at, obstacles_near

LIMITS = shipped_limits()
START = (499_000.0, 5_000_000.0)
TOUCH_M, LIFT_M = 150.0, 1125.0
DAY = datetime(2026, 6, 2, tzinfo=UTC).date()
SLOPE = pytest.approx  # the ground is read every 10 m


def course_on(ground: Ground, length_m: float = 1500.0, surface_m: float | None = 100.0) -> Course:
    lake = make_lake(START[0], START[1] - 100.0, START[0] + length_m, START[1] + 100.0)
    return lay_course(
        ground,
        lake.polygon,
        start=START,
        heading_deg=90.0,
        length_m=length_m,
        clear_m=50.0,
        flight=how_flown(make_scooper(), None, LIMITS),
        surface_m=surface_m,
    )


def terrain(top_m: float, west: float, east: float) -> np.ndarray:
    """Flat at 100 m with a ridge across the grid, `top_m` high, between two easts [m from START]."""
    grid = make_grid()
    x, _ = grid.xy(np.zeros(grid.cols), np.arange(grid.cols))
    z = np.full(grid.shape, 100.0, np.float32)
    z[:, (x >= START[0] + west) & (x <= START[0] + east)] = 100.0 + top_m
    return z


def ways(course: Course, ground: Ground) -> dict[str, Finding]:
    obstacles = obstacles_near(course, ground, LIMITS)
    both = (way_in(course, obstacles, LIMITS), way_out(course, obstacles, LIMITS))
    return {way.name: check_way(way, course) for way in both}


@pytest.mark.derived
@pytest.mark.parametrize(("top_m", "level"), [(50.0, "clear"), (70.0, "caution"), (90.0, "stop")])
def test_climb_out_slope_is_height_over_distance_from_lift_off(top_m: float, level: str) -> None:
    """A ridge 2,000 m behind the lift-off: 2.5, 3.5 and 4.5 % against a limit of 4 %."""
    ground = make_ground(make_grid(), (), elevation_m=terrain(top_m, LIFT_M + 2000.0, LIFT_M + 2200.0))
    course = course_on(ground)
    assert (course.touch_m, course.lift_m) == (TOUCH_M, LIFT_M)
    assert course.climb.asked == SLOPE(top_m / 2000.0, rel=0.012)
    finding = ways(course, ground)["Climb-out"]
    assert finding.level == level
    assert finding.limit == "4 %"
    assert finding.distance_m == pytest.approx(2000.0, abs=25.0)
    assert finding.position == pytest.approx((START[0] + LIFT_M + 2000.0, START[1]), abs=25.0)
    assert ways(course, ground)["Approach"].level == "clear"


@pytest.mark.derived
def test_approach_slope_counts_back_from_the_touch() -> None:
    """A ridge 60 m high that ends 350 m before the start, 500 m before the touch: 12 %."""
    ground = make_ground(make_grid(), (), elevation_m=terrain(60.0, -700.0, -350.0))
    course = course_on(ground)
    assert course.approach.asked == SLOPE(0.12, rel=0.03)
    assert ways(course, ground)["Approach"].level == "stop"
    assert ways(course, ground)["Climb-out"].level == "clear"


@pytest.mark.derived
def test_ground_beside_the_axis_counts_within_the_lanes_width() -> None:
    """A knoll 30 to 50 m left of the axis counts; one 100 m left of it does not."""
    grid = make_grid()
    x, y = grid.xy(*np.indices(grid.shape))
    ahead = np.abs(x - (START[0] + LIFT_M + 1000.0)) < 30.0
    for across_m, asked in ((40.0, 0.08), (110.0, 0.0)):
        z = np.full(grid.shape, 100.0, np.float32)
        z[ahead & (np.abs(y - START[1] - across_m) < 25.0)] = 180.0
        course = course_on(make_ground(grid, (), elevation_m=z))
        assert course.climb.asked == SLOPE(asked, rel=0.05)


@pytest.mark.derived
def test_trees_stand_on_the_ground() -> None:
    """Trees of 25 m from the end of the lake, 375 m behind the lift-off: 6.7 %."""
    grid = make_grid()
    trees = np.full(grid.shape, 25.0, np.float32)
    ground = make_ground(grid, (), canopy_height_m=trees)
    course = course_on(ground)
    assert course.climb.asked == SLOPE(25.0 / 375.0, rel=0.03)
    assert way_out(course, (), LIMITS).needed == course.climb.asked
    assert ways(course, ground)["Climb-out"].level == "stop"


@pytest.mark.derived
def test_spare_water_is_used_where_both_ways_are_easiest() -> None:
    """500 m to spare between trees of 25 m: the run from 125 m asks 25/275 of 10 % and 25/750 of 4 %.

    From 0 m the approach asks 25/150, from 250 m the climb-out 25/625: both shares are larger.
    """
    grid = make_grid()
    ground = make_ground(grid, (), canopy_height_m=np.full(grid.shape, 25.0, np.float32))
    course = course_on(ground, length_m=2000.0)
    assert course.run_from_m == 125.0
    assert course.approach.asked == SLOPE(25.0 / 275.0, rel=0.04)
    assert course.climb.asked == SLOPE(25.0 / 750.0, rel=0.02)
    assert ways(course, ground)["Approach"].level == "caution"


@pytest.mark.property
def test_missing_terrain_blocks_and_gives_no_slope() -> None:
    z = terrain(0.0, 0.0, 0.0)
    grid = make_grid()
    x, _ = grid.xy(0, np.arange(grid.cols))
    z[:, x > START[0] + LIFT_M + 1500.0] = np.nan
    ground = make_ground(grid, (), elevation_m=z)
    course = course_on(ground)
    finding = ways(course, ground)["Climb-out"]
    assert (finding.level, finding.effect) == ("unknown", "blocks")
    assert finding.distance_m == pytest.approx(1500.0, abs=30.0)
    assert way_out(course, (), LIMITS).needed is None
    assert way_in(course, (), LIMITS).needed == 0.0


@pytest.mark.property
def test_a_known_ridge_stops_even_where_terrain_is_missing_behind_it() -> None:
    z = terrain(90.0, LIFT_M + 900.0, LIFT_M + 1000.0)
    grid = make_grid()
    x, _ = grid.xy(0, np.arange(grid.cols))
    z[:, x > START[0] + LIFT_M + 1500.0] = np.nan
    ground = make_ground(grid, (), elevation_m=z)
    assert ways(course_on(ground), ground)["Climb-out"].level == "stop"


@pytest.mark.property
def test_no_terrain_at_all_and_no_surface_is_unknown() -> None:
    grid = make_grid()
    ground = make_ground(grid, (), elevation_m=np.full(grid.shape, np.nan, np.float32))
    course = course_on(ground, surface_m=None)
    assert course.surface_m is None
    assert {f.level for f in ways(course, ground).values()} == {"unknown"}


@pytest.mark.property
def test_unknown_trees_are_said() -> None:
    ground = make_ground(make_grid(), ())
    assert [(f.level, f.effect) for f in check_trees(course_on(ground))] == [("unknown", "noted")]


@pytest.mark.derived
def test_the_surface_is_read_from_the_terrain_where_the_layer_does_not_give_it() -> None:
    ground = make_ground(make_grid(), ())
    assert course_on(ground, surface_m=None).surface_m == 100.0
    assert check_surface(course_on(ground, surface_m=95.0)) == ()
    (finding,) = check_surface(course_on(ground, surface_m=70.0))
    assert (finding.level, finding.value) == ("caution", "-30 m")


def with_hazard(shape: shapely.Point | shapely.LineString, height_m: float | None) -> Ground:
    hazard = Hazard(name="Alder", kind="wire", shape=shape, height_m=height_m)
    return make_ground(make_grid(), (), hazards=Layer((hazard,), present=True, surveyed=DAY))


def across_at(along_m: float) -> shapely.LineString:
    x = START[0] + along_m
    return shapely.LineString([(x, START[1] - 3000.0), (x, START[1] + 3000.0)])


def wires(ground: Ground) -> list[Finding]:
    course = course_on(ground)
    lake = make_lake(START[0], START[1] - 100.0, START[0] + 1500.0, START[1] + 100.0)
    circumstances = Circumstances(ground=ground, limits=LIMITS)
    return list(check_wires(course, obstacles_near(course, ground, LIMITS), lake, circumstances))


@pytest.mark.derived
@pytest.mark.parametrize(
    ("away_m", "height_m", "distance_m", "level"),
    [
        (1000.0, 30.0, 10.0, "stop"),  # the path is 40 m up
        (2500.0, 30.0, 70.0, "caution"),  # 100 m up
        (2500.0, None, 0.0, "stop"),  # of unknown height: counts as reaching the path
        (500.0, 45.0, 0.0, "stop"),  # the path lies below its top
    ],
)
def test_a_wire_across_the_climb_out_is_measured_to_the_path_flown(
    away_m: float, height_m: float | None, distance_m: float, level: str
) -> None:
    (finding,) = wires(with_hazard(across_at(LIFT_M + away_m), height_m))
    assert finding.level == level
    assert finding.distance_m == pytest.approx(distance_m, abs=0.5)
    assert finding.limit == ("60 m" if level == "stop" else "150 m")
    assert "climb-out" in finding.message


@pytest.mark.derived
def test_a_wire_asks_for_a_slope_too() -> None:
    """45 m high, 500 m behind the lift-off: 9 %."""
    ground = with_hazard(across_at(LIFT_M + 500.0), 45.0)
    course = course_on(ground)
    obstacles = obstacles_near(course, ground, LIMITS)
    assert way_out(course, obstacles, LIMITS).needed == pytest.approx(0.09, rel=1e-3)
    assert ways(course, ground)["Climb-out"].level == "stop"
    assert "Alder" in ways(course, ground)["Climb-out"].message


@pytest.mark.derived
@pytest.mark.parametrize(("beside_m", "levels"), [(40.0, ["stop"]), (100.0, ["caution"]), (160.0, ["clear"])])
def test_a_mast_beside_the_lane(beside_m: float, levels: list[str]) -> None:
    mast = shapely.Point(START[0] + 600.0, START[1] + beside_m)
    findings = wires(with_hazard(mast, 20.0))
    assert [f.level for f in findings] == levels
    if levels == ["clear"]:
        assert findings[0].message == "None known in the layer of 2026-06-02; look."


@pytest.mark.property
@pytest.mark.parametrize("layer", [Layer(), Layer((), present=True)])
def test_a_layer_that_nobody_vouches_for_is_unknown(layer: Layer[Hazard]) -> None:
    ground = make_ground(make_grid(), (), hazards=layer)
    (finding,) = wires(ground)
    assert (finding.level, finding.effect) == ("unknown", "look")
    lake = make_lake(START[0], START[1] - 100.0, START[0] + 1500.0, START[1] + 100.0)
    (at_site,) = check_wires_at(START, lake, Circumstances(ground=ground, limits=LIMITS))
    assert (at_site.level, at_site.effect) == ("unknown", "look")
