"""Swell and waves on a lane: height, age, direction against the run, and the wind's waves by estimate."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour, make_lake, make_scooper, quantity
from wetline.model import shipped_limits
from wetline.water import lanes_for
from wetline.water.circumstances import Circumstances
from wetline.water.course import lay_course
from wetline.water.flight import how_flown
from wetline.water.swell import check_swell, fetch_m, sea_state, swell_angle_deg, wind_wave_m

if TYPE_CHECKING:
    from wetline.ground import Water
    from wetline.model import Finding
    from wetline.water.course import Course

LIMITS = shipped_limits()
NOW = datetime(2026, 8, 14, 14, tzinfo=UTC)
START = (499_000.0, 5_000_000.0)
LAKE = make_lake(START[0], START[1] - 100.0, START[0] + 1500.0, START[1] + 100.0, "Sund")
CLS = replace(make_scooper(), quantities={**make_scooper().quantities, "wave_limit_m": quantity(1.0, "m")})


def sea(height_m: float | None = None, from_deg: float | None = 90.0, age_min: float | None = 0.0) -> Water:
    at = None if age_min is None else NOW - timedelta(minutes=age_min)
    return replace(LAKE, kind="sea", salt=True, swell_m=height_m, swell_from_deg=from_deg, swell_at=at)


def course(heading_deg: float = 90.0) -> Course:
    return lay_course(
        make_ground(make_grid(), (LAKE,)),
        LAKE.polygon,
        start=START,
        heading_deg=heading_deg,
        length_m=1500.0,
        clear_m=50.0,
        flight=how_flown(CLS, None, LIMITS),
        surface_m=100.0,
    )


def said(water: Water, heading_deg: float = 90.0, waves_m: float | None = None) -> list[Finding]:
    around = Circumstances(ground=make_ground(make_grid(), (water,)), limits=LIMITS, at=NOW)
    return list(check_swell(water, course(heading_deg), CLS, around, waves_m))


@pytest.mark.derived
@pytest.mark.parametrize(
    ("from_deg", "angle_deg"),
    [
        (0.0, 90.0),
        (45.0, 45.0),
        (90.0, 0.0),
        (135.0, 45.0),
        (180.0, 90.0),
        (225.0, 45.0),
        (270.0, 0.0),
        (315.0, 45.0),
    ],
)
def test_the_angle_to_the_swell_in_eight_directions(from_deg: float, angle_deg: float) -> None:
    """Flown east: swell from east or west is met head on or from behind, from north or south along its crests."""
    assert swell_angle_deg(90.0, from_deg) == pytest.approx(angle_deg)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("height_m", "levels"),
    [
        (0.4, ["clear", "clear"]),
        (0.6, ["clear", "caution"]),
        (0.8, ["caution", "caution"]),
        (1.1, ["stop", "caution"]),
    ],
)
def test_height_against_the_class_and_a_run_into_high_swell(height_m: float, levels: list[str]) -> None:
    """Limit 1 m: near it from 0.75 m, high from half of it."""
    assert [f.level for f in said(sea(height_m))] == levels
    assert said(sea(height_m), heading_deg=0.0)[1].level == "clear", "along the crests"


@pytest.mark.property
@pytest.mark.parametrize(
    ("age_min", "known"), [(0.0, True), (180.0, True), (181.0, False), (-1.0, False), (None, False)]
)
def test_a_told_swell_ages(age_min: float | None, known: bool) -> None:
    first = said(sea(0.4, age_min=age_min))[0]
    assert (first.level == "unknown") is not known
    assert (first.effect == "look") is not known


@pytest.mark.property
def test_a_sea_whose_swell_nobody_told_asks_for_a_look() -> None:
    (finding,) = said(sea(None, age_min=None))
    assert (finding.level, finding.effect) == ("unknown", "look")
    looked = replace(sea(None, age_min=None), looked_at=NOW)
    assert [f.level for f in said(looked)] == ["caution"]
    assert said(LAKE) == []


@pytest.mark.property
def test_a_swell_without_direction_is_said() -> None:
    assert [(f.level, f.effect) for f in said(sea(0.4, from_deg=None))] == [
        ("clear", None),
        ("unknown", "noted"),
    ]


@pytest.mark.memory
@pytest.mark.parametrize(
    ("wind_mps", "fetch", "height_m"),
    [(10.0, 10_000.0, 0.616), (10.0, 40_000.0, 1.233), (5.0, 10_000.0, 0.263), (10.0, 1.0e7, 3.606)],
)
def test_waves_of_the_wind(wind_mps: float, fetch: float, height_m: float) -> None:
    """Worked in the manual's simplified metric form, H = 5.112e-4 U_A √F and 2.482e-2 U_A² when grown.

    Shore Protection Manual 1984, from memory; U_A = 0.71 U^1.23: 12.06 m/s at 10 m/s, 5.14 at 5 m/s.
    """
    assert wind_wave_m(wind_mps, fetch) == pytest.approx(height_m, rel=0.005)


@pytest.mark.property
def test_waves_by_estimate_hold_back_and_never_clear() -> None:
    assert said(LAKE, waves_m=0.5) == []
    assert [f.level for f in said(LAKE, waves_m=0.8)] == ["caution"]
    assert [(f.level, f.effect) for f in said(LAKE, waves_m=1.2)] == [("unknown", "look")]
    assert [f.level for f in said(replace(LAKE, looked_at=NOW), waves_m=1.2)] == ["caution"]


@pytest.mark.derived
@pytest.mark.parametrize(("from_deg", "fetch"), [(90.0, 1470.0), (270.0, 1470.0), (0.0, 100.0)])
def test_fetch_is_the_open_water_up_the_wind(from_deg: float, fetch: float) -> None:
    """A lake of 1,500 m by 200 m; the lane is looked at 2 % from each end."""
    assert fetch_m(course(), LAKE.polygon, make_hour(5.0, from_deg)) == pytest.approx(fetch, abs=0.1)


@pytest.mark.derived
def test_an_island_breaks_the_fetch() -> None:
    water = LAKE.polygon - shapely.box(START[0] + 1000.0, START[1] - 50.0, START[0] + 1200.0, START[1] + 50.0)
    assert isinstance(water, shapely.Polygon)
    assert fetch_m(course(), water, make_hour(5.0, 90.0)) == pytest.approx(970.0, abs=0.1)


@pytest.mark.published
def test_sea_state_three() -> None:
    """Douglas scale: 0.5 to 1.25 m is state 3 (public copy of a national weather service's page)."""
    assert sea_state(0.51) == sea_state(1.25) == "state 3, slight"
    assert sea_state(0.49) != sea_state(0.51) != sea_state(1.26)


@pytest.mark.memory
def test_sea_states_beyond_the_table_s_middle() -> None:
    """WMO code table 3700, from memory."""
    assert [sea_state(h) for h in (0.0, 0.05, 3.0, 20.0)] == [
        "state 0, calm", "state 1, rippled", "state 5, rough", "state 9, phenomenal",
    ]  # fmt: skip


@pytest.mark.property
@pytest.mark.parametrize("from_deg", [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0])
def test_the_best_lane_lies_along_the_crests(from_deg: float) -> None:
    """A round bay without wind limits passed: in light wind the swell of 0.7 m decides."""
    bay = shapely.Point(500_000.0, 5_000_000.0).buffer(2000.0)
    water = replace(sea(0.7, from_deg), polygon=bay)
    ground = make_ground(make_grid(), (water,))
    lanes = lanes_for(
        ground,
        CLS,
        make_hour(0.2, 30.0),
        LIMITS,
        near=(500_000.0, 5_000_000.0),
        within_m=9000.0,
        step_deg=15.0,
    )
    assert swell_angle_deg(lanes[0].heading_deg, from_deg) > 60.0
    assert lanes[0].swell_angle_deg == pytest.approx(swell_angle_deg(lanes[0].heading_deg, from_deg))
