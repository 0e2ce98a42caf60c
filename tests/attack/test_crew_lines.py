"""Crews' line in the scene: it stops the fire while somebody counts on it, and never by itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point

from wetline.attack import Scene, outlook, scene_round
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.model import CrewLine, Fire, Perimeter
from wetline.weather import Weather

START = datetime(2026, 7, 14, 12, tzinfo=UTC)
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_240_000.0, 30.0, 260, 260)
X, Y = 503_905.0, 5_236_095.0
FIRE = Point(X, Y).buffer(300.0)
HOUR = timedelta(hours=1)
AHEAD = LineString([(X + 500.0, Y - 3000.0), (X + 500.0, Y + 3000.0)])


def scene(*lines: CrewLine, now: datetime = START, hours: int = 6) -> Scene:
    """Hardwood litter under a fresh west wind."""
    n = 8
    blank = np.full(n, np.nan)
    air = Weather(
        time_s=START.timestamp() + 3600.0 * np.arange(n, dtype=np.float64),
        temperature_c=np.full(n, 26.0), humidity_pct=np.full(n, 35.0), wind_mps=np.full(n, 7.5),
        wind_from_deg=np.full(n, 270.0), gust_mps=blank, rain_mm=np.zeros(n), cloud_pct=np.full(n, 20.0),
        visibility_m=blank, live_herb_pct=60.0, live_woody_pct=90.0,
    )  # fmt: skip
    ground = Ground(grid=GRID, elevation_m=np.full(GRID.shape, 300.0, np.float32),
                    fuel=np.full(GRID.shape, 9, np.int16))  # fmt: skip
    fire = Fire((Perimeter("fire", "fire", START, FIRE),), lines)
    end = START + hours * HOUR
    return scene_round(ground, air, fire, now=now, look_until=end, keep_until=end)


def line(**how: Any) -> CrewLine:
    whole = CrewLine(name="East line", time=START - HOUR, line=AHEAD)
    return replace(whole, **how)


def farthest_east(where: Scene, hours: float) -> float:
    (middle,) = outlook(where, 0, 1, [where.now_s + 3600.0 * hours]).played
    return float(max(xy[:, 0].max() for xy in middle.lines_xy[0]) - X)


@pytest.fixture(scope="module")
def free_m() -> float:
    out = farthest_east(scene(), 6.0)
    assert out > 700.0  # or the line would tell nothing
    return out


@pytest.mark.behaviour
def test_a_line_counted_on_for_good_stops_the_fire() -> None:
    assert farthest_east(scene(line(holds=True)), 6.0) == pytest.approx(500.0, abs=15.0)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "how",
    [
        {},
        {"time": START + HOUR, "holds": True},
        {"until": START},
        {"until": START - timedelta(minutes=5)},
    ],
    ids=["nobody says that it holds", "not built yet", "ended at the perimeter's time", "ended before"],
)
def test_a_line_that_nobody_counts_on_now_stops_nothing(how: dict[str, Any], free_m: float) -> None:
    assert farthest_east(scene(line(**how)), 6.0) == pytest.approx(free_m, abs=1e-6)


@pytest.mark.behaviour
def test_a_line_until_a_time_stops_the_fire_until_then(free_m: float) -> None:
    where = scene(line(until=START + 5 * HOUR))
    assert farthest_east(where, 4.9) == pytest.approx(500.0, abs=15.0)
    assert 510.0 < farthest_east(where, 6.0) < free_m


@pytest.mark.behaviour
def test_a_line_built_after_the_perimeter_and_before_now_stops_from_then() -> None:
    later = line(time=START + timedelta(minutes=30), holds=True)
    assert farthest_east(scene(later, now=START + HOUR), 5.0) == pytest.approx(500.0, abs=15.0)


@pytest.mark.behaviour
@pytest.mark.parametrize(("off_m", "holds"), [(0.0, True), (-6.0, True), (-40.0, False)])
def test_a_line_along_the_edge_holds_it_though_it_is_drawn_a_little_inside(off_m: float, holds: bool) -> None:
    """Common practice, no source: 10 m of error in drawing. Farther inside, the fire is past it."""
    arc = np.asarray(FIRE.buffer(off_m).exterior.coords)
    east = arc[arc[:, 0] > X + 60.0]
    order = np.argsort(np.arctan2(east[:, 1] - Y, east[:, 0] - X))
    held = farthest_east(scene(line(line=LineString(east[order]), holds=True)), 1.0) < 330.0
    free = farthest_east(scene(), 1.0)
    assert free > 345.0
    assert held == holds


@pytest.mark.behaviour
def test_the_time_at_which_the_fire_comes_to_each_line_is_told_with_its_count() -> None:
    far = replace(line(holds=True), name="Far line", line=shapely.affinity.translate(AHEAD, 2500.0, 0.0))
    found = {r.name: r for r in outlook(scene(line(holds=True), far), 4, 1, [3600.0 * 5]).reached}
    east = found["East line"]
    assert (east.kind, east.of) == ("line", 4)
    assert east.time is not None
    assert east.time > START
    assert east.count == 4
    assert found["Far line"].time is None
    assert found["Far line"].count == 0


@pytest.mark.behaviour
def test_an_edge_that_waits_longer_than_it_can_burn_does_not_go_on_when_the_line_ends() -> None:
    """A ring close round the fire, counted on for three hours: as shipped the fire goes on then."""
    ring = LineString(Point(X, Y).buffer(330.0).exterior.coords)
    held = scene(line(line=ring, until=START + 3 * HOUR))
    assert farthest_east(held, 5.0) > 400.0
    assert farthest_east(replace(held, burn_out_s=3600.0), 5.0) == pytest.approx(330.0, abs=15.0)


@pytest.mark.property
@pytest.mark.parametrize("out_m", [-8.0, 0.0, 2.0, 12.0])
def test_a_closed_line_along_a_ragged_edge_does_not_leak(out_m: float) -> None:
    """A pen follows the edge to a few metres; the edge of cells crosses it to and fro."""
    rng = np.random.default_rng(7)
    bearing = np.linspace(0.0, 2.0 * np.pi, 240, endpoint=False)
    radius = 320.0 + rng.normal(0.0, 9.0, bearing.size)
    ragged = shapely.Polygon(np.column_stack((X + radius * np.cos(bearing), Y + radius * np.sin(bearing))))
    ring = LineString(ragged.buffer(out_m).exterior.coords)
    held = replace(scene(line(line=ring, holds=True)), burnt=ragged)
    (middle,) = outlook(held, 0, 1, [7200.0, 14400.0]).played
    first, second = middle.area_m2
    assert first < ragged.buffer(45.0).area
    assert second == pytest.approx(first, rel=0.01)
