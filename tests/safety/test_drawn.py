"""What is said of a fire as drawn: how old, and how much of it the model does not burn; whom thrown fire may reach."""

from __future__ import annotations

from datetime import timedelta

import pytest
import shapely

from safety.run_maker import NOW
from wetline.model import shipped_limits
from wetline.safety import Place, check_beside, check_drawn, check_thrown, people_within

pytestmark = pytest.mark.practice

FIRE = shapely.box(0.0, 0.0, 100.0, 100.0)


@pytest.mark.parametrize(("minutes", "told"), [(0.0, False), (60.0, False), (60.5, True), (360.0, True)])
def test_a_fire_drawn_over_an_hour_ago_is_modelled_and_not_seen(minutes: float, told: bool) -> None:
    """60 min: common practice, no source."""
    found = check_drawn(NOW - timedelta(minutes=minutes), NOW, shipped_limits())
    assert [(f.level, f.effect) for f in found] == ([("unknown", "noted")] if told else [])
    assert all("modelled, not seen" in f.message for f in found)


def test_an_age_is_never_rounded_down_to_its_limit() -> None:
    (found,) = check_drawn(NOW - timedelta(minutes=60.5), NOW, shipped_limits())
    assert "61 min ago, over 60 min" in found.message


@pytest.mark.parametrize(("beside_m2", "told"), [(0.0, False), (9_000.0, False), (26_000.0, True)])
def test_fire_drawn_where_the_model_burns_nothing_is_said(beside_m2: float, told: bool) -> None:
    """One in a hundred of a fire of 100 ha: common practice, no source."""
    found = check_beside(beside_m2, 1e6)
    assert [(f.level, f.effect) for f in found] == ([("unknown", "noted")] if told else [])
    assert all("2.6 ha of the drawn fire" in f.message for f in found)


def test_everybody_nearer_than_the_farthest_throw_is_named_whatever_the_wind() -> None:
    places = [
        Place("East", "crew", shapely.Point(500.0, 50.0)),
        Place("West", "houses", shapely.Point(-200.0, 50.0)),
        Place("Far", "houses", shapely.Point(5_000.0, 50.0)),
        Place("Road", "road", shapely.LineString([(0.0, 150.0), (50.0, 150.0)])),
        Place("Chapel", "place", shapely.Point(150.0, 50.0)),
    ]
    near = people_within(places, FIRE, 400.0)
    assert [(place.name, metres) for place, metres in near] == [("West", 200.0), ("East", 400.0)]
    (found,) = check_thrown(near, 400.0)
    assert (found.level, found.distance_m) == ("caution", 200.0)
    assert found.message == "Thrown fire may reach West, East (up to 400 m, low confidence)."
    assert check_thrown((), 400.0) == check_thrown(near, None) == check_thrown(near, 0.0) == ()
