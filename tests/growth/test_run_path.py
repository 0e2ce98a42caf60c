"""The path of a run: straight and at the ellipse's own rate in an even field, round what does not burn."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, box

from growth.ellipses import CELL_M, ellipse, fields_of, square_grid
from wetline.growth import Front, RunPath, farthest_ahead, trace_back

GRID = square_grid(200)
X0, Y0 = 502_000.0, 5_238_000.0
RATE_MPS = 0.2
HOUR_S = 3600.0


def bearing(place: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
    return math.degrees(math.atan2(place[0] - X0, place[1] - Y0)) % 360.0


def apart(a: float, b: float) -> float:
    return abs((a - b + 180.0) % 360.0 - 180.0)


@pytest.mark.derived
@pytest.mark.parametrize("toward_deg", [0.0, 17.0, 45.0, 200.0])
@pytest.mark.parametrize("length_to_width", [1.0, 2.0, 4.0])
def test_the_farthest_run_of_an_ellipse_is_its_head_s_straight_ray(
    toward_deg: float, length_to_width: float
) -> None:
    """Lit at the rear focus the head runs straight from the ignition, at the head rate."""
    fields = fields_of(GRID, RATE_MPS, toward_deg, length_to_width)
    burnt = ellipse(X0, Y0, 4000.0, RATE_MPS, toward_deg, length_to_width)
    front = Front(fields, burnt, 0.0)
    front.advance(HOUR_S)
    found = farthest_ahead([ring.xy for ring in front.trace()], burnt)
    assert found is not None
    end, away = found
    assert away == pytest.approx(RATE_MPS * HOUR_S, rel=0.01)
    run = trace_back(front.arrival_s, fields, burnt, end, since_s=0.0, by_s=HOUR_S)
    assert run is not None
    assert run.length_m == pytest.approx(RATE_MPS * HOUR_S, rel=0.02)
    assert run.mean_rate_mps == pytest.approx(RATE_MPS, rel=0.02)
    assert apart(bearing(run.line[0]), bearing(run.line[-1])) < 2.0
    assert Point(run.line[0]).distance(burnt.boundary) < 1e-6
    if length_to_width > 1.0:
        assert apart(run.toward_deg, toward_deg) < 3.0


@pytest.mark.derived
def test_a_path_goes_round_ground_that_does_not_burn() -> None:
    """A wall 600 m wide across the way: the least way passes one of its ends, two straights."""
    burns = np.ones(GRID.shape, bool)
    cx, cy = GRID.xy(*np.mgrid[: GRID.rows, : GRID.cols])
    burns[(abs(cy - Y0 - 600.0) < 50.0) & (abs(cx - X0) < 300.0)] = False
    fields = fields_of(GRID, RATE_MPS, 0.0, 1.0, burnable=burns)
    burnt = box(X0 - 50.0, Y0 - 100.0, X0 + 50.0, Y0 + 100.0)
    end = (X0 + 40.0, Y0 + 1000.0)
    front = Front(fields, burnt, 0.0)
    front.advance(9000.0)
    run = trace_back(front.arrival_s, fields, burnt, end, since_s=0.0, by_s=9000.0)
    assert run is not None
    corner = np.array([X0 + 300.0, Y0 + 600.0])
    up = np.array([0.0, 50.0])
    least = math.dist((X0 + 50.0, Y0 + 100.0), corner - up) + 100.0 + math.dist(corner + up, end)
    assert run.length_m == pytest.approx(least, rel=0.06)
    assert np.hypot(*(run.line - corner).T).min() < 100.0
    wall = box(X0 - 300.0, Y0 + 550.0, X0 + 300.0, Y0 + 650.0).buffer(-CELL_M)
    assert not shapely.LineString(run.line).intersects(wall)


@pytest.mark.derived
def test_where_fire_waited_at_line_the_wait_belongs_to_the_run() -> None:
    """A long line 300 m ahead that holds until 3,000 s: 750 m take 3,000 + 450/0.2 s."""
    fields = fields_of(GRID, RATE_MPS, 90.0, 1.0)
    burnt = box(X0 - 400.0, Y0 - 2000.0, X0, Y0 + 1900.0)
    front = Front(fields, burnt, 0.0)
    front.hold_line([(X0 + 300.0, Y0 - 2400.0), (X0 + 300.0, Y0 + 2400.0)], 3000.0)
    front.advance(6000.0)
    run = trace_back(front.arrival_s, fields, burnt, (X0 + 750.0, Y0), since_s=0.0, by_s=6000.0)
    assert run is not None
    assert run.seconds == pytest.approx(3000.0 + 450.0 / RATE_MPS, abs=CELL_M / RATE_MPS)
    assert 749.0 < run.length_m < 900.0


@pytest.mark.derived
def test_through_a_change_of_wind_the_path_bends() -> None:
    """An hour toward the east, an hour toward the north, 720 m each: the corner lies between."""
    fields = fields_of(GRID, RATE_MPS, [90.0, 0.0], [4.0, 4.0], edges_s=[0.0, HOUR_S, 2 * HOUR_S])
    burnt = ellipse(X0, Y0, 600.0, RATE_MPS, 90.0, 4.0)
    front = Front(fields, burnt, 0.0)
    front.advance(2 * HOUR_S)
    end = (X0 + 120.0 + 720.0, Y0 + 715.0)
    run = trace_back(front.arrival_s, fields, burnt, end, since_s=0.0, by_s=2 * HOUR_S)
    assert run is not None
    assert np.hypot(*(run.line - [X0 + 840.0, Y0]).T).min() < 120.0
    assert 1250.0 < run.length_m < 1600.0


@pytest.mark.behaviour
def test_where_no_fire_has_come_there_is_no_path() -> None:
    fields = fields_of(GRID, RATE_MPS, 0.0, 2.0)
    burnt = ellipse(X0, Y0, 600.0, RATE_MPS, 0.0, 2.0)
    front = Front(fields, burnt, 0.0)
    front.advance(600.0)
    for end in ((X0, Y0 + 1500.0), (X0 - 1e6, Y0)):
        assert trace_back(front.arrival_s, fields, burnt, end, since_s=0.0, by_s=600.0) is None
    assert farthest_ahead([], burnt) is None


@pytest.mark.property
def test_points_share_the_length_evenly() -> None:
    run = RunPath(line=np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 400.0]]), seconds=70.0)
    points = run.points(100.0)
    assert len(points) == 7
    assert points[0].tolist() == [50.0, 0.0]
    assert run.mean_rate_mps == pytest.approx(10.0)
    assert run.toward_deg == pytest.approx(math.degrees(math.atan2(300.0, 400.0)))
    assert math.isnan(RunPath(line=np.zeros((2, 2)), seconds=0.0).mean_rate_mps)
