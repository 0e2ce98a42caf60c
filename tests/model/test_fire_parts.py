"""A part of the fire that was not drawn again has burnt on since it was last seen."""

from datetime import UTC, datetime, timedelta

import pytest
import shapely

from wetline.model import Fire, Perimeter

pytestmark = pytest.mark.practice  # half covered is the same part: common practice, no source

NOON = datetime(2026, 7, 14, 12, tzinfo=UTC)
SMALL, LARGE = shapely.box(0.0, 0.0, 400.0, 400.0), shapely.box(-100.0, -100.0, 500.0, 500.0)
SPOT = shapely.box(1000.0, 0.0, 1050.0, 50.0)


def _seen(minutes: int, polygon: shapely.Polygon) -> Perimeter:
    return Perimeter(f"at {minutes}", "fire", NOON + timedelta(minutes=minutes), polygon)


def test_a_perimeter_drawn_anew_replaces_the_older_one() -> None:
    (part,) = Fire((_seen(0, SMALL), _seen(60, LARGE))).parts()
    assert part.time == NOON + timedelta(minutes=60)
    assert part.polygon.equals(LARGE)


def test_what_the_older_one_held_beyond_the_newer_stays_burnt() -> None:
    shifted = shapely.box(100.0, 0.0, 500.0, 400.0)
    (part,) = Fire((_seen(0, SMALL), _seen(60, shifted))).parts()
    assert part.polygon.equals(shapely.union(SMALL, shifted))


def test_a_newer_spot_does_not_date_the_main_fire_anew() -> None:
    main, spot = Fire((_seen(0, LARGE), _seen(30, SPOT))).parts()
    assert (main.time, spot.time) == (NOON, NOON + timedelta(minutes=30))
    assert main.polygon.equals(LARGE)
    assert spot.polygon.equals(SPOT)


def test_perimeters_of_one_time_are_one_part() -> None:
    (part,) = Fire((_seen(0, LARGE), _seen(0, SPOT))).parts()
    assert part.polygon.area == pytest.approx(LARGE.area + SPOT.area)
