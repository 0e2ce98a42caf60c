"""What only water knows: wind on it, depth, looks, closures, thin air."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour, make_lake, make_scooper
from wetline.aircraft import aircraft_classes
from wetline.ground import Avoid, Layer
from wetline.model import shipped_limits
from wetline.units import KNOT
from wetline.water import checks
from wetline.water.circumstances import Circumstances
from wetline.water.flight import how_flown

if TYPE_CHECKING:
    from wetline.ground import Water

LIMITS = shipped_limits()
NOW = datetime(2026, 8, 14, 14, tzinfo=UTC)
HERE = (500_000.0, 5_000_000.0)
LAKE = make_lake(499_000.0, 4_999_900.0, 501_000.0, 5_000_100.0)


def circumstances(**changes: object) -> Circumstances:
    base = Circumstances(ground=make_ground(make_grid(), (LAKE,)), limits=LIMITS, at=NOW)
    return replace(base, **changes)  # type: ignore[arg-type]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("from_deg", "head", "cross"),
    [(90.0, 10.0, 0.0), (270.0, -10.0, 0.0), (180.0, 0.0, 10.0), (0.0, 0.0, -10.0), (120.0, 8.660254, 5.0)],
)
def test_headwind_and_crosswind_flying_east(from_deg: float, head: float, cross: float) -> None:
    """Flying east the right hand is south: wind from the south comes from the right."""
    assert checks.wind_on(90.0, make_hour(10.0, from_deg)) == pytest.approx((head, cross), abs=1e-6)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("cross_kt", "gust_kt", "level"), [(11.9, None, "clear"), (12.1, None, "stop"), (10.0, 13.0, "caution")]
)
def test_crosswind_against_the_class(cross_kt: float, gust_kt: float | None, level: str) -> None:
    hour = make_hour(cross_kt * KNOT, 180.0, None if gust_kt is None else gust_kt * KNOT)
    (finding,) = checks.check_wind(90.0, hour, make_scooper())
    assert (finding.code, finding.level, finding.limit) == ("wind", level, "12 kt")


@pytest.mark.derived
@pytest.mark.parametrize(("tail_kt", "level"), [(4.9, "clear"), (5.1, "stop")])
def test_tailwind_against_the_class(tail_kt: float, level: str) -> None:
    cross, tail = checks.check_wind(90.0, make_hour(tail_kt * KNOT, 270.0), make_scooper())
    assert cross.level == "clear"
    assert (tail.level, tail.limit) == (level, "5 kt")


@pytest.mark.derived
@pytest.mark.parametrize(("gust_kt", "level"), [(4.9, "clear"), (5.1, "caution")])
def test_gusts_in_a_calm_count_as_the_worse_of_cross_and_tail(gust_kt: float, level: str) -> None:
    """The class stands 12 kt across and 5 kt from behind."""
    (finding,) = checks.check_wind(90.0, make_hour(0.0, 0.0, gust_kt * KNOT), make_scooper())
    assert (finding.level, finding.limit) == (level, "5 kt")
    blank = replace(make_scooper(), quantities={})
    (unknown,) = checks.check_wind(90.0, make_hour(0.0, 0.0, gust_kt * KNOT), blank)
    assert (unknown.level, unknown.effect) == ("unknown", "look")


@pytest.mark.property
def test_wind_that_nobody_knows_is_unknown() -> None:
    (finding,) = checks.check_wind(90.0, None, make_scooper())
    assert (finding.level, finding.effect) == ("unknown", "look")
    cls = make_scooper()
    blank = replace(cls, quantities={k: v for k, v in cls.quantities.items() if "limit" not in k})
    levels = [f.level for f in checks.check_wind(90.0, make_hour(3.0, 225.0), blank)]
    assert levels == ["unknown", "unknown"]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("depth_m", "dated", "level", "effect"),
    [
        (None, True, "unknown", "look"),
        (1.9, True, "stop", None),
        (2.0, True, "clear", None),
        (2.0, False, "caution", None),
    ],
)
def test_depth(depth_m: float | None, dated: bool, level: str, effect: str | None) -> None:
    lake = replace(LAKE, depth_m=depth_m, depth_date=LAKE.depth_date if dated else None)
    finding = checks.check_depth(lake, 2.0, "test", circumstances(), HERE)
    assert (finding.code, finding.level, finding.effect) == ("depth", level, effect)
    assert finding.limit == "2 m"
    assert finding.position == HERE


@pytest.mark.property
def test_a_depth_that_the_class_does_not_state_is_unknown() -> None:
    finding = checks.check_depth(LAKE, None, "test", circumstances(), HERE)
    assert (finding.level, finding.effect) == ("unknown", "look")


@pytest.mark.property
@pytest.mark.parametrize(
    ("age_min", "level"),
    [(None, "unknown"), (0.0, "clear"), (120.0, "clear"), (121.0, "unknown"), (-1.0, "unknown")],
)
def test_boats_and_waves_are_unknown_until_a_look_holds(age_min: float | None, level: str) -> None:
    looked = {} if age_min is None else {"Lomvatn": NOW - timedelta(minutes=age_min)}
    finding = checks.check_waves(LAKE, circumstances(looked=looked), HERE)
    assert finding.level == level
    assert finding.effect == (None if level == "clear" else "look")
    if age_min is None:
        assert finding.message == "Boats, waves and debris: nobody has looked today."


@pytest.mark.property
def test_a_look_at_another_water_says_nothing_of_this_one() -> None:
    finding = checks.check_waves(LAKE, circumstances(looked={"Ulmvatn": NOW}), HERE)
    assert finding.level == "unknown"


@pytest.mark.property
def test_a_look_turns_an_unknown_depth_into_a_caution_and_no_more() -> None:
    looked = circumstances(looked={"Lomvatn": NOW})
    assert checks.check_depth(replace(LAKE, depth_m=None), 2.0, "test", looked, HERE).level == "caution"
    assert checks.check_depth(replace(LAKE, depth_m=1.0), 2.0, "test", looked, HERE).level == "stop"


@pytest.mark.property
def test_closed_water_is_a_stop() -> None:
    assert checks.check_closed(LAKE, HERE) == ()
    (finding,) = checks.check_closed(replace(LAKE, closed="regatta"), HERE)
    assert finding.level == "stop"
    assert "regatta" in finding.message


@pytest.mark.derived
@pytest.mark.parametrize(("elevation_m", "level"), [(0.0, "clear"), (600.0, "clear"), (1000.0, "caution")])
def test_thin_air_is_a_caution(elevation_m: float, level: str) -> None:
    """Rule of thumb: 120 ft a degree above standard. At 25 °C: 1,200, 3,650 and 5,280 ft against 4,000 ft."""
    (finding,) = checks.check_air(elevation_m, circumstances(hour=make_hour(3.0, 90.0)))
    assert (finding.code, finding.level, finding.limit) == ("density_altitude", level, "4000 ft")


@pytest.mark.derived
def test_a_lane_shorter_than_some_sources_ask_for_is_a_caution() -> None:
    flight = how_flown(make_scooper(), None, LIMITS)
    assert checks.check_length(2000.0, flight) == ()
    assert [f.level for f in checks.check_length(1999.0, flight)] == ["caution"]
    assert [f.level for f in checks.check_length(1500.0, flight)] == ["caution"]
    assert [f.level for f in checks.check_length(1499.0, flight)] == ["stop"]


@pytest.mark.property
def test_airspace_over_the_water_is_a_caution() -> None:
    area = Avoid(name="Sorrin field", kind="airspace", polygon=shapely.box(499_500, 4_999_000, 499_700, 5_001_000), rule="call first")  # fmt: skip
    ground = replace(make_ground(make_grid(), (LAKE,)), avoid=Layer((area,), present=True))
    (finding,) = checks.check_areas(LAKE.polygon, circumstances(ground=ground))
    assert finding.level == "caution"
    assert "call first" in finding.message
    assert checks.check_areas(shapely.Point(HERE), circumstances(ground=ground)) == ()


def level_of_look(seen: datetime | None, now: datetime = NOW) -> str:
    lake = replace(LAKE, looked_at=seen)
    ground = make_ground(make_grid(), (lake,))
    return checks.check_waves(lake, circumstances(ground=ground, at=now), HERE).level


@pytest.mark.property
@pytest.mark.parametrize(
    ("age_s", "level"), [(0, "clear"), (7199, "clear"), (7200, "clear"), (7201, "unknown"), (-1, "unknown")]
)
def test_a_look_told_in_the_water_layer_ages_like_a_logged_one(age_s: int, level: str) -> None:
    assert level_of_look(NOW - timedelta(seconds=age_s)) == level


@pytest.mark.property
def test_the_newest_look_that_holds_counts() -> None:
    lake = replace(LAKE, looked_at=NOW - timedelta(hours=5))
    around = circumstances(ground=make_ground(make_grid(), (lake,)), looked={"Lomvatn": NOW})
    assert around.look_at(lake) == NOW
    assert around.expires(NOW) == NOW + timedelta(hours=2)
    ahead = circumstances(looked={"Lomvatn": NOW + timedelta(hours=1)})
    assert ahead.look_at(replace(LAKE, looked_at=NOW)) == NOW, "a look yet to come hides none that holds"


@pytest.mark.property
def test_a_logged_look_counts_for_neither_of_two_waters_of_one_name() -> None:
    twin = replace(LAKE, polygon=shapely.box(499_000, 5_001_000, 501_000, 5_001_200), looked_at=NOW)
    around = circumstances(ground=make_ground(make_grid(), (LAKE, twin)), looked={"Lomvatn": NOW})
    first = checks.check_waves(LAKE, around, HERE)
    assert (first.level, first.effect) == ("unknown", "look")
    assert "more than one water is called so" in first.message
    assert checks.check_waves(twin, around, HERE).level == "clear", "its own look is its own"


@pytest.mark.practice
@pytest.mark.parametrize(
    ("depth_m", "age_d", "level"),
    [
        (3.9, 365, "clear"),
        (3.9, 366, "caution"),
        (4.0, 3000, "clear"),
        (4.0, -1, "caution"),
        (1.9, 0, "stop"),
    ],
)
def test_an_old_sounding_is_in_doubt_unless_it_shows_far_more_than_is_needed(
    depth_m: float, age_d: int, level: str
) -> None:
    """A year, and twice the depth needed: common practice, no source."""
    lake = replace(LAKE, depth_m=depth_m, depth_date=NOW.date() - timedelta(days=age_d))
    assert checks.check_depth(lake, 2.0, "test", circumstances(), HERE).level == level


def river(current_mps: float | None) -> Water:
    return replace(LAKE, kind="river", current_mps=current_mps)


TWIN = aircraft_classes()["twin_engine_scooper"]


@pytest.mark.derived
def test_a_current_lengthens_the_run_flown_with_it() -> None:
    """Touching at 70 kt, 36.0 m/s: with 2 m/s the 975 m on the water take 2/(36 − 2) more, 57 m."""
    flight = how_flown(TWIN, 0.0, LIMITS)
    tail = TWIN.get("tailwind_limit_kt")
    assert checks.check_current(LAKE, flight, 1600.0, tail) == ()
    (finding,) = checks.check_current(river(2.0), flight, 1600.0, tail)
    assert (finding.level, finding.effect) == ("unknown", "noted")
    assert "57 m longer" in finding.message
    (short,) = checks.check_current(river(2.0), flight, 1550.0, tail)
    assert short.level == "caution"


@pytest.mark.derived
def test_a_fast_current_is_met_as_a_tailwind_is() -> None:
    """3 m/s are 5.8 kt, more than 5 kt of tailwind; 2 m/s (3.9 kt) and 2 kt of tailwind are too."""
    flight, tail = how_flown(TWIN, 0.0, LIMITS), TWIN.get("tailwind_limit_kt")
    (fast,) = checks.check_current(river(3.0), flight, 3000.0, tail)
    assert fast.level == "caution"
    (both,) = checks.check_current(river(2.0), flight.downwind(2.0 * KNOT), 3000.0, tail)
    assert both.level == "caution"
    (unsaid,) = checks.check_current(river(None), flight, 3000.0, tail)
    assert (unsaid.level, unsaid.effect) == ("unknown", "noted")


@pytest.mark.property
def test_thin_air_that_nobody_knows_is_unknown_and_noted() -> None:
    flight = how_flown(TWIN, None, LIMITS, why_unknown="there is no weather for this hour")
    (finding,) = checks.check_air(100.0, circumstances(), flight)
    assert (finding.code, finding.level, finding.effect) == ("density_altitude", "unknown", "noted")
    assert "sea level" in finding.message
