"""The fire reaching people: under 30 min a stop, under 60 a caution, the earliest future counts."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
import shapely

from safety.run_maker import GRID, NOW, X0, Y0, a_ground, layer, people
from wetline.ground import Ground, Layer
from wetline.model import Finding, shipped_limits
from wetline.safety import Place, Reach, arrival_times_s, cells_near, check_entrapment, places_of, reaches

DRAWN = shapely.box(X0 - 300.0, Y0 - 300.0, X0, Y0 + 300.0)


def plane(speed_m_per_min: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Arrival [s] of a straight fire front that runs east from the line's start."""
    _, cols = np.mgrid[: GRID.rows, : GRID.cols]
    x, _ = GRID.xy(0, cols)
    return np.maximum((x - X0) / speed_m_per_min * 60.0, 0.0)


def when(ground: Ground, *speeds: float, left_map: bool = True) -> tuple[Reach, ...]:
    places = places_of(ground)
    cells = [cells_near(place, GRID) for place in places]
    times = np.array([arrival_times_s(cells, plane(s)) for s in speeds])
    return reaches(places, NOW, times, grid=GRID, drawn=[(NOW, DRAWN)], left_map=left_map)


def check(found: tuple[Reach, ...], **how: Any) -> tuple[Finding, ...]:
    """Drawn now, many futures, everybody's places told, unless said otherwise."""
    base: dict[str, Any] = {
        "now": NOW,
        "limits": shipped_limits(),
        "people": layer(),
        "members": 16,
    }
    return check_entrapment(found, **(base | how))


def found(
    metres_east: float, *, speeds: tuple[float, ...] = (10.0,), kind: str = "crew"
) -> list[tuple[str, str]]:
    ground = a_ground(people=layer(people("Alder", metres_east, 0.0, kind=kind)))
    out = check(when(ground, *speeds))
    return [(f.level, f.refers_to) for f in out]


@pytest.mark.practice
@pytest.mark.parametrize(
    ("metres", "expected"),
    [(250.0, [("stop", "Alder")]), (500.0, [("caution", "Alder")]), (900.0, [])],
)
def test_the_limits_of_30_and_60_minutes(metres: float, expected: list[tuple[str, str]]) -> None:
    """At 10 m a minute: 25, 50 and 90 minutes away. Limits: common practice, no source."""
    assert found(metres) == expected


@pytest.mark.practice
def test_the_earliest_future_counts_not_the_middle_one() -> None:
    """Middle future 50 min away, one of ten futures 20 min: a stop."""
    assert found(500.0, speeds=(10.0, *[10.0] * 8, 25.0)) == [("stop", "Alder")]


@pytest.mark.practice
def test_places_without_people_are_no_entrapment_and_houses_are() -> None:
    assert found(250.0, kind="place") == []
    assert found(250.0, kind="houses") == [("stop", "Alder")]


@pytest.mark.derived
def test_the_time_of_a_straight_front_is_met_within_a_cell() -> None:
    """1,000 m at 10 m a minute is 100 min; a point is read over one cell round it, so never later."""
    ground = a_ground(people=layer(people("Alder", 1000.0, 0.0)))
    (reach,) = when(ground, 10.0)
    assert reach.time is not None
    minutes = (reach.time - NOW).total_seconds() / 60
    assert 100.0 - 2 * GRID.cell_m / 10.0 <= minutes <= 100.0
    assert reach.low is None


@pytest.mark.practice
def test_off_the_map_is_not_reached_while_the_fire_stays_on_it() -> None:
    ground = a_ground(people=layer(people("Far", 90_000.0, 0.0)))
    (reach,) = when(ground, 10.0, left_map=False)
    assert reach.on_map
    assert reach.time is None


@pytest.mark.practice
def test_off_the_map_and_without_a_layer_are_unknown() -> None:
    ground = a_ground(people=layer(people("Far", 90_000.0, 0.0)))
    (reach,) = when(ground, 10.0)
    assert not reach.on_map
    out = check((reach,))
    assert [f.level for f in out] == ["unknown"]
    none = check((), people=Layer())
    assert [(f.level, f.effect) for f in none] == [("unknown", "blocks")]


@pytest.mark.practice
def test_people_at_the_edge_now_are_a_stop() -> None:
    assert found(-10.0) == [("stop", "Alder")]


@pytest.mark.practice
def test_one_future_of_many_is_enough_to_warn_people() -> None:
    """Nine futures of ten that never come do not hide the one that comes in 20 minutes."""
    assert found(500.0, speeds=(0.5, *[0.5] * 30, 25.0)) == [("stop", "Alder")]


@pytest.mark.property
def test_a_band_holds_its_middle_future() -> None:
    ground = a_ground(people=layer(people("Alder", 500.0, 0.0)))
    (reach,) = when(ground, 50.0, *[5.0] * 20)
    assert reach.time is not None
    assert reach.low is not None
    assert reach.high is not None
    assert reach.earliest == reach.time == reach.low <= reach.high


@pytest.mark.practice
def test_a_look_shorter_than_the_limit_is_unknown() -> None:
    ground = a_ground(people=layer(people("Alder", 90_000.0, 0.0)))
    short = check(when(ground, 10.0, left_map=False), looked_until=NOW + timedelta(minutes=20))
    assert [(f.level, f.effect) for f in short] == [("unknown", "blocks")]


@pytest.mark.practice
def test_edge_against_unknown_ground_makes_what_lies_beyond_unknown() -> None:
    ground = a_ground(people=layer(people("Alder", 90_000.0, 0.0)))
    out = check(when(ground, 10.0, left_map=False), unknown_edge_m=500.0)
    assert [(f.level, f.effect) for f in out] == [("unknown", "blocks")]


@pytest.mark.practice
def test_an_empty_people_layer_without_declared_cover_is_unknown_and_with_it_is_not() -> None:
    (finding,) = check((), people=Layer((), present=True))
    assert (finding.level, finding.effect) == ("unknown", "blocks")
    assert "empty" in finding.message
    assert check((), people=layer()) == ()


@pytest.mark.practice
@pytest.mark.parametrize(("minutes", "blocks"), [(-10.0, True), (45.0, True), (89.0, True), (91.0, False)])
def test_fire_that_leaves_the_map_while_people_are_looked_for_is_unknown(
    minutes: float, blocks: bool
) -> None:
    """Looked for over one and a half times the caution limit of 60 min: common practice, no source."""
    out = check((), left_map_at=NOW + timedelta(minutes=minutes))
    assert [(f.level, f.effect) for f in out] == ([("unknown", "blocks")] if blocks else [])


@pytest.mark.practice
def test_a_place_partly_off_the_map_that_is_not_reached_on_it_is_unknown_once_the_fire_leaves() -> None:
    west, _, east, north = GRID.bounds
    road = Place(
        "Long road", "road", shapely.LineString([(west + 500.0, north - 50.0), (east + 500.0, north - 50.0)])
    )
    never = np.full((6, 1), np.inf)
    (left,) = reaches([road], NOW, never, grid=GRID, drawn=[(NOW, DRAWN)], left_map=True)
    (stayed,) = reaches([road], NOW, never, grid=GRID, drawn=[(NOW, DRAWN)], left_map=False)
    assert (left.on_map, stayed.on_map) == (False, True)
    assert [(f.level, f.refers_to) for f in check((left,))] == [("unknown", "Long road")]


@pytest.mark.derived
def test_a_place_is_told_at_its_nearest_point_to_the_fire() -> None:
    """A street from 500 m to 900 m east of the fire's east side."""
    street = Place("Street", "houses", shapely.LineString([(X0 + 900.0, Y0), (X0 + 500.0, Y0)]))
    (reach,) = reaches([street], NOW, np.zeros((1, 1)), grid=GRID, drawn=[(NOW, DRAWN)], left_map=False)
    assert reach.position == (X0 + 500.0, Y0)


def crew(times_min: list[float], metres_east: float, drawn_min: float = 0.0) -> Reach:
    """A crew seen five minutes ago, reached so many minutes after the hour in each future, the middle one first."""
    places = places_of(a_ground(people=layer(people("Alder", metres_east, 0.0))))
    times_s, drawn = 60.0 * np.array(times_min)[:, None], [(NOW + timedelta(minutes=drawn_min), DRAWN)]
    (reach,) = reaches(places, NOW - timedelta(hours=1), times_s, grid=GRID, drawn=drawn, left_map=False)
    return reach


@pytest.mark.practice
def test_only_who_lies_in_the_fire_as_drawn_is_reported_in_it() -> None:
    (drawn,) = check((crew([60.0] * 6, -10.0),))
    assert drawn.message == "Alder is reported inside or at the fire's edge now; last reported there 13:55Z."
    (before,) = check((crew([0.0] * 6, -10.0, drawn_min=-60.0),))
    assert before.message.startswith("Alder lies inside or at the fire's edge as drawn at 13:00Z;")
    (grown,) = check((crew([50.0, 20.0, 40.0, 70.0, 80.0, np.inf], 400.0, drawn_min=-60.0),))
    assert grown.level == drawn.level == before.level == "stop"
    assert grown.message == (
        "Fire may have reached Alder (2 of 5 futures, soonest 13:20Z); last reported there 13:55Z."
    )


@pytest.mark.practice
def test_the_soonest_future_is_told_as_no_bound_in_whole_minutes_never_rounded_up() -> None:
    """29 min 58 s is under the limit of 30 min: a stop that must not read 30."""
    (finding,) = check((crew([89.97] * 6, 400.0),), members=5)
    assert finding.level == "stop"
    assert "in 29 min in the soonest of 5 futures, 14:29Z" in finding.message
    assert finding.message.endswith("it may be sooner.")
    (alone, few) = check((crew([89.97], 400.0),), members=0)
    assert "in 29 min in the one future run" in alone.message
    assert (few.level, few.effect) == ("unknown", "noted")


@pytest.mark.practice
@pytest.mark.parametrize(("members", "banded"), [(3, False), (4, True)])
def test_few_futures_have_no_band_and_do_not_tell_how_soon(members: int, banded: bool) -> None:
    """Five futures with the middle one: common practice, no source."""
    reach = crew([90.0] * (members + 1), 400.0)
    assert (reach.low is not None, reach.high is not None) == (banded, banded)
    few = [f for f in check((reach,), members=members) if f.refers_to == "people"]
    assert [(f.level, f.effect) for f in few] == ([] if banded else [("unknown", "noted")])
