"""The one-way way round: geometry by hand, what must always hold, and the two anchors flown over a lane."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyproj
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from circuits.day_maker import make_class, make_ground, make_limits
from circuits.test_cycle import KT, NM, an_hour
from wetline.aircraft import Aircraft
from wetline.circuits import (
    Circuit,
    RaceTrack,
    Source,
    circuit,
    crossings,
    race_track,
    separation_findings,
    why_primary,
)
from wetline.circuits.joint import Word, joint
from wetline.circuits.pattern import pattern_of

WIDE = make_ground(cell_m=500.0, cells=400)
Line = NDArray[np.float64]


def ahead(deg: float) -> Line:
    return np.array([math.sin(math.radians(deg)), math.cos(math.radians(deg))])


def straights(away_m: float, bearing: float, lane_deg: float, run_deg: float) -> tuple[Line, Line]:
    """A lane with its straights, and a run over (0, 0)."""
    middle = away_m * ahead(bearing)
    lane = np.array([middle + k * ahead(lane_deg) for k in (-1350.0, -750.0, 750.0, 1350.0)])
    return lane, np.array([-1500.0 * ahead(run_deg), np.zeros(2), 540.0 * ahead(run_deg)])


def on_a_lane(
    away_m: float, *, lane_deg: float = 0.0, surface_m: float = 0.0, go_round_pct: float = 0.0, **more: Any
) -> Circuit:
    """A scooper on a lane south of the fire."""
    cls = make_class("twin_engine_scooper", **more.pop("values", {}))
    middle = np.array([0.0, -away_m])
    ends = [middle - 750.0 * ahead(lane_deg), middle + 750.0 * ahead(lane_deg)]
    source = Source(
        id="L", kind="lane", name="Lake", position=(0.0, -away_m), elevation_m=surface_m,
        strip=((float(ends[0][0]), float(ends[0][1])), (float(ends[1][0]), float(ends[1][1]))),
    )  # fmt: skip
    aircraft = Aircraft(call_sign="Tern 1", class_id=cls.id, base="Halm", load_l=more.pop("load_l", None))
    limits = make_limits(go_round_pct=go_round_pct)
    return circuit(aircraft, cls, source, (0.0, 0.0), more.pop("hour", None), WIDE, limits, **more)


@pytest.mark.derived
def test_a_lane_and_a_run_in_line_make_an_oval_by_hand() -> None:
    """Two half turns and two straights: out 10 km less half the lane and the approach, back all along it."""
    lane, run = straights(10_000.0, 180.0, 0.0, 0.0)
    way = race_track(lane, run, radius_m=515.0, apart_m=500.0)
    assert way is not None
    assert way.hand == "left"
    assert way.out.length_m == pytest.approx(10_000.0 - 1350.0 - 1500.0)
    assert way.back.straight_m == pytest.approx(10_000.0 + 540.0 + 1350.0)
    assert way.length_m == pytest.approx(2.0 * (10_000.0 + 540.0 + 1350.0) + 2.0 * math.pi * 515.0)
    assert way.apart_m == pytest.approx(2.0 * 515.0)


@pytest.mark.property
@settings(deadline=None, max_examples=60)
@given(
    x=st.floats(-5e3, 5e3), y=st.floats(-5e3, 5e3), start=st.floats(0, 360), end=st.floats(0, 360),
    word=st.sampled_from(["LSL", "RSR", "LSR", "RSL"]),
)  # fmt: skip
def test_a_joint_is_as_long_as_its_points_say_and_never_turns_tighter(
    x: float, y: float, start: float, end: float, word: Word
) -> None:
    """Turns drawn as chords of 12° at most are shorter than their arcs by 0.2 % at most."""
    found = joint((0.0, 0.0), start, (x, y), end, radius_m=500.0, word=word)
    if found is None:
        assert math.hypot(x, y) < 4 * 500.0
        return
    path = found.path()
    drawn_m = float(np.hypot(*np.diff(path, axis=0).T).sum())
    assert path[-1] == pytest.approx((x, y))
    assert drawn_m == pytest.approx(found.length_m, rel=2e-3, abs=1e-3)
    turned = (start + found.turned_deg - end + 180.0) % 360.0 - 180.0
    assert turned == pytest.approx(0.0, abs=1e-6)


def _holds(way: RaceTrack, lane: Line, run: Line) -> None:
    ring = shapely.LinearRing(way.path_xy)
    assert ring.is_simple
    assert ring.is_ccw == (way.hand == "left")
    for line in (lane, run):
        assert shapely.covers(ring.buffer(0.5), shapely.LineString(line))


@pytest.mark.property
@settings(deadline=None, max_examples=60)
@given(
    away_m=st.floats(6_000.0, 40_000.0), bearing=st.floats(0.0, 360.0),
    lane_deg=st.floats(0.0, 360.0), run_deg=st.floats(0.0, 360.0),
)  # fmt: skip
def test_from_three_miles_on_a_way_round_is_always_found_and_never_crosses_itself(
    away_m: float, bearing: float, lane_deg: float, run_deg: float
) -> None:
    lane, run = straights(away_m, bearing, lane_deg, run_deg)
    way = race_track(lane, run, radius_m=515.0, apart_m=500.0)
    assert way is not None
    _holds(way, lane, run)


@pytest.mark.behaviour
def test_a_lane_across_the_run_has_no_one_way_round() -> None:
    lane, run = straights(0.0, 0.0, 90.0, 0.0)
    assert race_track(lane, run, radius_m=515.0) is None


@pytest.mark.memory
@pytest.mark.parametrize("go_round_pct", [0.0, 10.0])
def test_nine_loads_an_hour_at_six_miles_by_its_parts(go_round_pct: float) -> None:
    """Second-hand: 9 drops an hour at 6 NM and 180 kt; a whole number, so half a load either way. The parts are
    the class's speeds and geometry, nothing is fitted to the anchor."""
    found = on_a_lane(6 * NM, go_round_pct=go_round_pct, values={"cruise_kt": 180.0})
    assert found.way is not None
    assert found.loads_per_hour.middle == pytest.approx(9.0, abs=0.5)


@pytest.mark.derived
def test_the_parts_of_the_plainest_circuit_by_hand() -> None:
    """No wind, level: fill, 600 m at 70 kt and at 80 kt, 2,040 m and two half turns of 515.3 m at 105 kt, less what
    the approach and exit save of the legs; then the legs over the whole distance at 170 kt."""
    cls = make_class("twin_engine_scooper")
    pattern = pattern_of(cls, make_limits(), density_altitude_m=0.0)
    assert pattern is not None
    speed, cruise = 105.0 * KT, 170.0 * KT
    exit_m = 10.0 * speed
    by_hand = pattern.water_s + 600.0 / (70.0 * KT) + 600.0 / (80.0 * KT) + (1500.0 + exit_m) / speed
    by_hand += 2.0 * math.pi * 515.34 / speed + (exit_m - 1500.0) / cruise
    assert pattern.overhead_s(cruise) == pytest.approx(by_hand, abs=0.01)
    found = on_a_lane(20_000.0)
    assert found.cycle_min.middle * 60.0 == pytest.approx(by_hand + 2.0 * 20_000.0 / cruise, abs=0.5)


@pytest.mark.memory
def test_the_fill_by_its_parts_is_near_what_the_trade_says() -> None:
    """Second-hand public copies: about 12 s on the step of some 1,500 m from 15 m to 15 m, at 70 to 80 kt: 37 to
    42 s in all at that speed, and somewhat more at the mean speed on the step."""
    pattern = pattern_of(make_class("twin_engine_scooper"), make_limits(), density_altitude_m=0.0)
    assert pattern is not None
    assert 36.0 <= pattern.water_s <= 46.0


@pytest.mark.property
@pytest.mark.parametrize("lane_deg", [0.0, 60.0, 120.0, 180.0, 240.0, 300.0])
def test_parts_sum_to_the_cycle_and_to_its_four_sums(lane_deg: float) -> None:
    found = on_a_lane(9_000.0, lane_deg=lane_deg, go_round_pct=10.0, hour=an_hour(7.0, 40.0))
    cycle_s = found.cycle_min.middle * 60.0
    assert sum(part.seconds for part in found.parts) == pytest.approx(cycle_s, abs=1e-6)
    sums = found.ground_s + found.source_s + found.target_s + sum(leg.time_s for leg in found.legs)
    assert sums == pytest.approx(cycle_s, abs=1e-6)
    assert all(part.seconds > 0.0 and part.because for part in found.parts)
    for part in found.parts:
        assert part.low is not None
        assert part.high is not None
        assert part.low <= part.seconds <= part.high


@pytest.mark.property
def test_a_lane_that_points_away_from_the_fire_costs_turns_and_time() -> None:
    toward, away = (on_a_lane(9_000.0, lane_deg=deg) for deg in (0.0, 180.0))
    assert toward.cycle_min.middle < away.cycle_min.middle


@pytest.mark.derived
def test_the_track_is_the_way_that_is_timed() -> None:
    """Seconds over length, part by part, from the track alone: it is closed, as long as the way, and its legs are
    those of the cycle. Heights: 15 m over the water, 500 ft over the highest ground on the legs."""
    found = on_a_lane(9_000.0, lane_deg=40.0, surface_m=0.0)
    assert found.way is not None
    xy = np.array([(p.x, p.y) for p in found.track])
    step_m = np.hypot(*np.diff(xy, axis=0).T)
    assert xy[0] == pytest.approx(xy[-1])
    assert step_m.sum() == pytest.approx(found.way.length_m, rel=2e-3)
    for leg in found.legs:
        flown_m = sum(m for m, p in zip(step_m, found.track[1:], strict=True) if p.phase == leg.name)
        assert flown_m == pytest.approx(leg.distance_m, abs=1e-6)
    filled = [m for m, p in zip(step_m, found.track[1:], strict=True) if p.phase == "fill"]
    assert sum(filled) == pytest.approx(1500.0)
    heights = {
        phase: [p.height_amsl_m for p in found.track if p.phase == phase] for phase in ("out", "back", "fill")
    }
    assert heights == {
        "out": [pytest.approx(152.4)],
        "back": [pytest.approx(152.4)],
        "fill": [pytest.approx(15.0)],
    }


@pytest.mark.derived
def test_a_run_into_the_wind_takes_longer_by_the_wind() -> None:
    """20 kt on the nose of a pass at 105 kt: 105/85 of its time in still air."""
    still, windy = (on_a_lane(9_000.0, hour=hour) for hour in (None, an_hour(20.0 * KT, 0.0)))
    times = [next(p.seconds for p in found.parts if p.name == "drop pass") for found in (still, windy)]
    assert times[1] / times[0] == pytest.approx(105.0 / 85.0, rel=1e-6)


@pytest.mark.behaviour
def test_why_a_source_wins_is_said_in_seconds() -> None:
    near, far = on_a_lane(7_000.0), on_a_lane(12_000.0)
    words = why_primary(near, far)
    assert "5.0 km nearer than L" in words
    assert "s less on the legs" in words
    assert "no source beside L fits" in why_primary(near, None)


@pytest.mark.derived
def test_tracks_cross_where_they_cross() -> None:
    cross = crossings(np.array([[-1.0, 0.0], [1.0, 0.0]]), np.array([[0.5, -1.0], [0.5, 1.0]]))
    assert [*cross[0]] == pytest.approx([0.5, 0.0])
    assert crossings(np.array([[-1.0, 0.0], [1.0, 0.0]]), np.array([[2.0, -1.0], [2.0, 1.0]])) == ()


@pytest.mark.derived
@pytest.mark.parametrize(
    ("distance_nm", "loads"),
    [(4, 11.3), (6, 8.9), (8, 7.4), (10, 6.3), (15, 4.6), (20, 3.6), (30, 2.5)],
)
def test_loads_an_hour_by_the_parts_stay_within_the_planning_table(distance_nm: int, loads: float) -> None:
    """The planning table (120 d/V and 2.5 min) is to be read as ±25 %: the parts on a lane in line keep it."""
    assert on_a_lane(distance_nm * NM).loads_per_hour.middle == pytest.approx(loads, rel=0.25)


@pytest.mark.derived
def test_distances_on_the_grid_are_those_on_the_ellipsoid() -> None:
    """The test ground lies 500 km west of its meridian, where UTM stretches by 0.9996 (1 + x²/2R²) = 1.00267;
    inside a zone it is within 0.1 %."""
    found = on_a_lane(20_000.0)
    lon, lat = WIDE.grid.projection.to_lonlat([x for x, _ in found.ends], [y for _, y in found.ends])
    geodesic_m = pyproj.Geod(ellps="WGS84").inv(lon[0], lat[0], lon[1], lat[1])[2]
    assert found.distance_m / geodesic_m == pytest.approx(1.00267, abs=1e-4)


@pytest.mark.behaviour
def test_circuits_that_cross_or_share_water_are_told_apart_once() -> None:
    tern = on_a_lane(9_000.0)
    heron = make_class("medium_helicopter")
    for at, name, told in (((3_000.0, -4_000.0), "Pond", False), ((0.0, -9_300.0), "Lake", True)):
        dip = Source(id="D1", kind="dip", name=name, position=at)
        bucket = circuit(
            Aircraft(call_sign="Plover 5", class_id=heron.id, base="Halm"), heron, dip, (-3_000.0, -4_000.0),
            None, WIDE, make_limits(),
        )  # fmt: skip
        found = separation_findings([tern, tern, bucket], make_limits())
        assert len(found) == 1
        assert found[0].level == "caution"
        assert ("load from Lake" in found[0].message) == told
    assert separation_findings([tern, tern], make_limits()) == ()
