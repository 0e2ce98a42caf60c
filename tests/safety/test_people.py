"""Nobody is clear by distance."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.run_maker import NOW, a_context, a_ground, a_run, layer, people
from wetline.ground import Layer
from wetline.safety import Confirmation, check_people, check_run, distance_to_run_m, is_stopped


def levels(ground_people: object, **changes: object) -> list[tuple[str, str | None]]:
    context = a_context(a_ground(people=ground_people), **changes)
    _, findings = check_people(a_run(), context)
    return [(f.level, f.effect) for f in findings]


@pytest.mark.practice
@given(st.floats(-5000, 5000), st.floats(-5000, 5000), st.booleans())
def test_without_a_name_nobody_is_ever_clear(x: float, y: float, empty: bool) -> None:
    """No release without a named confirmation: common practice, whatever the distance."""
    who = Layer((), present=True) if empty else layer(people("Alder", x, y))
    found = levels(who)
    assert "clear" not in [level for level, _ in found]
    assert ("unknown", "blocks") in found


@pytest.mark.derived
@pytest.mark.parametrize(
    ("x", "y", "distance"),
    [
        (-700.0, 80.0, 80.0),  # beside the approach
        (50.0, 80.0, 65.0),  # beside the line: 80 m less the 15 m of pattern
        (700.0, -90.0, 90.0),  # beside the exit
        (-1530.0, 40.0, 50.0),  # 30-40-50 behind the approach's start
        (50.0, 5.0, 0.0),  # under the pattern
    ],
)
def test_the_distance_is_the_least_over_approach_pattern_and_exit(
    x: float, y: float, distance: float
) -> None:
    assert distance_to_run_m(people("Alder", x, y), a_run()) == pytest.approx(distance)


@pytest.mark.memory
@pytest.mark.parametrize(("offset", "stop"), [(59.0, True), (60.0, True), (61.0, False)])
def test_people_inside_60_m_stop_a_small_load(offset: float, stop: bool) -> None:
    """60 m from the centre line for small loads: from memory (operations.md 4.1)."""
    found = levels(layer(people("Alder", -700.0, offset)))
    assert (("stop", None) in found) is stop


@pytest.mark.memory
def test_large_tankers_stand_off_further() -> None:
    """At least 100 m for large tankers: from memory (operations.md 4.1)."""
    context = a_context(a_ground(people=layer(people("Alder", -700.0, 90.0))))
    assert not is_stopped(check_run(a_run(), context))
    assert is_stopped(check_run(a_run(class_id="large_tanker"), context))


@pytest.mark.practice
def test_a_name_clears_one_run_until_it_expires() -> None:
    """A word holds for one drop and a few minutes: common practice, no source."""
    ground = a_ground(people=layer(people("Alder", 900.0, 900.0)))
    word = Confirmation("Lantern 1", NOW, NOW + timedelta(minutes=10))
    _, found = check_people(a_run(), a_context(ground, confirmed={"R1": word}))
    assert [f.level for f in found] == ["clear"]
    assert "Lantern 1" in found[0].message
    late = a_run(time=NOW + timedelta(minutes=11))
    assert ("unknown", "blocks") in [
        (f.level, f.effect) for f in check_people(late, a_context(ground, confirmed={"R1": word}))[1]
    ]
    other = a_run(id="R2")
    assert ("unknown", "blocks") in [
        (f.level, f.effect) for f in check_people(other, a_context(ground, confirmed={"R1": word}))[1]
    ]


@pytest.mark.practice
def test_no_name_lifts_a_stop_on_people() -> None:
    """Only the fact can change: common practice, no source."""
    ground = a_ground(people=layer(people("Alder", 50.0, 20.0)))
    word = Confirmation("Lantern 1", NOW, NOW + timedelta(minutes=10))
    check, found = check_people(a_run(), a_context(ground, confirmed={"R1": word}))
    assert [f.level for f in found] == ["stop"]
    assert check.nearest_to == "Alder"


@pytest.mark.practice
def test_how_far_they_may_have_walked_is_said() -> None:
    """80 m a minute, a setting; after 15 min the place itself is unknown: common practice, no source."""
    fresh = check_people(a_run(), a_context(a_ground(people=layer(people("Alder", 0, 500, minutes_ago=5)))))[
        1
    ]
    assert "may have walked 400 m" in fresh[0].message
    old = check_people(a_run(), a_context(a_ground(people=layer(people("Alder", 0, 500, minutes_ago=16)))))[1]
    assert "the place itself is unknown" in old[0].message
    never = check_people(
        a_run(), a_context(a_ground(people=layer(people("Alder", 0, 500, minutes_ago=None))))
    )[1]
    assert "never reported with a time" in never[0].message


@pytest.mark.practice
def test_without_a_people_layer_the_run_is_blocked_and_says_why() -> None:
    found = check_people(a_run(), a_context(a_ground(people=Layer())))[1]
    assert [(f.level, f.effect) for f in found] == [("unknown", "blocks")]
    assert "nobody has said" in found[0].message


@pytest.mark.property
@given(st.floats(0, 2000), st.floats(1, 200))
def test_a_wider_pattern_never_brings_people_further_away(y: float, wider: float) -> None:
    who = people("Alder", 50.0, y)
    narrow = distance_to_run_m(who, a_run())
    assert distance_to_run_m(who, a_run(pattern_half_width_m=15.0 + wider)) <= narrow
