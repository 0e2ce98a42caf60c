"""Line by coverage level, loads stacked on one place, and overlap."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.drops import (
    LEVELS,
    Release,
    line_m,
    lines_of,
    overlap,
    overlap_m,
    pattern,
    stack_for,
)
from wetline.drops.fall import wind_at_height_mps
from wetline.drops.resolve import LEAST_GROUND_SPEED_MPS, resolve
from wetline.drops.varied import flown_otherwise
from wetline.errors import InputError, NotFlownError, OutsideRangeError

TWIN = Release(class_id="twin_engine_scooper")
levels = st.floats(0.3, 8.0)


@pytest.mark.property
@pytest.mark.parametrize("level", LEVELS)
def test_a_quick_line_is_that_of_the_pattern(level: str) -> None:
    band, result = line_m(TWIN, float(level)), pattern(TWIN)
    assert band.middle == pytest.approx(result.line_m_by_level[level])
    assert band.low == pytest.approx(result.line_m_low_by_level[level])
    assert band.high == pytest.approx(result.line_m_high_by_level[level])


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(level=levels, loads=st.integers(1, 4))
def test_loads_on_one_place_add_up(level: float, loads: int) -> None:
    stacked = line_m(TWIN, level, loads=loads)
    assert stacked.middle == pytest.approx(line_m(TWIN, level / loads).middle)
    assert line_m(TWIN, level, loads=loads + 1).middle >= stacked.middle


@pytest.mark.property
@pytest.mark.parametrize("class_id", ["twin_engine_scooper", "medium_helicopter", "single_engine_tanker"])
def test_a_higher_level_never_takes_fewer_loads(class_id: str) -> None:
    release = Release(class_id=class_id)
    stacks = [stack_for(release, level, max_loads=4) for level in (0.5, 1, 2, 3, 4, 6, 8, 10)]
    counts = [5 if stack is None else stack.loads for stack in stacks]
    assert counts == sorted(counts)


@pytest.mark.property
def test_a_stack_is_the_line_of_its_own_release() -> None:
    stack = stack_for(Release(class_id="large_tanker"), 4.0)
    assert stack is not None
    assert stack.release.setting is not None
    assert stack.line_m == line_m(stack.release, 4.0, loads=stack.loads)


@pytest.mark.behaviour
def test_beyond_the_set_number_the_answer_is_that_no_load_reaches_it() -> None:
    light = Release(class_id="light_helicopter")
    assert stack_for(light, 15.0) is None
    assert stack_for(light, 15.0, max_loads=4) is None


@pytest.mark.practice
def test_a_salvo_reaches_levels_four_to_six_in_its_core_only() -> None:
    """First setting, common practice: the core is shorter than what is visibly wet."""
    result = pattern(TWIN)
    assert 0.0 < result.line_m_by_level["6"] < result.line_m_by_level["4"] < 0.7 * result.pattern.length_m


@pytest.mark.behaviour
def test_what_the_crew_was_told_is_not_changed() -> None:
    given_setting = Release(class_id="large_tanker", setting=8.0)
    stack = stack_for(given_setting, 2.0)
    assert stack is not None
    assert stack.release == given_setting


@pytest.mark.derived
@pytest.mark.parametrize("level", [1.2, 2.0, 3.0, 4.0])
def test_loads_laid_end_to_end_join_where_their_sum_reaches_the_level(level: float) -> None:
    """By hand, for a profile of one even hump: half the level is reached where the two of them meet."""
    band = overlap(TWIN, level)
    assert band is not None
    assert band.middle == pytest.approx(line_m(TWIN, 0.5).middle - line_m(TWIN, level / 2).middle, abs=0.5)


@pytest.mark.property
@settings(max_examples=20, deadline=None)
@given(level=st.floats(0.6, 8.0))
def test_the_overlap_to_fly_is_the_high_end_of_its_band(level: float) -> None:
    band = overlap(TWIN, level)
    flown = overlap_m(TWIN, level)
    if band is None:
        assert line_m(TWIN, level).middle == 0.0
        assert flown == line_m(TWIN, 0.5).middle
    else:
        assert band.low is not None
        assert 0.0 <= band.low <= band.middle <= flown == band.high


@pytest.mark.derived
def test_overlap_is_near_that_of_simulated_lines() -> None:
    """Simulated lines of 162 m at level 1 and 144 m at level 2: 18 m of overlap join level 4 on level 1.

    The planning form spreads the load wider, so that its core is shorter: no less, and up to 40 % more.
    """
    band = overlap(replace(TWIN, load_l=6000.0, speed_mps=57.0, height_m=60.0), 4.0, visible_level=1.0)
    assert band is not None
    assert 18.0 <= band.middle <= 18.0 * 1.4


@pytest.mark.property
def test_many_lines_at_once_are_those_of_each_load() -> None:
    releases = [
        Release(class_id=name) for name in ("twin_engine_scooper", "medium_helicopter", "large_tanker")
    ]
    lines = lines_of([resolve(release) for release in releases], (0.5, 2.0, 6.0))
    for row, release in zip(lines, releases, strict=True):
        assert row == pytest.approx([line_m(release, level).middle for level in (0.5, 2.0, 6.0)])


@pytest.mark.behaviour
@pytest.mark.parametrize(("level", "loads"), [(0.0, 1), (-1.0, 1), (50.0, 1), (2.0, 0)])
def test_levels_and_loads_out_of_range_are_refused(level: float, loads: int) -> None:
    with pytest.raises(OutsideRangeError):
        line_m(TWIN, level, loads=loads)


@pytest.mark.behaviour
@pytest.mark.parametrize("heading_deg", [0.0, 60.0, 90.0, 180.0])
def test_a_bucket_flies_fast_enough_for_the_wind_on_every_heading(heading_deg: float) -> None:
    """13 m/s at 10 m are more than 30 kt (15.4 m/s) hold at the tank: one speed that cannot be flown stops none."""
    windy = Release(
        class_id="medium_helicopter", wind_mps=13.0, wind_from_deg=0.0, heading_deg=heading_deg, height_m=30.0
    )
    stack = stack_for(windy, 1.0)
    assert stack is not None
    for turned_deg in range(0, 360, 30):
        assert pattern(replace(stack.release, heading_deg=float(turned_deg))).half_width_m > 0.0


@pytest.mark.behaviour
def test_a_wind_in_which_nobody_flies_is_said() -> None:
    storm = Release(class_id="light_helicopter", wind_mps=35.0, wind_from_deg=0.0, heading_deg=90.0)
    with pytest.raises(NotFlownError, match="crosswind"):
        stack_for(storm, 1.0)
    with pytest.raises(NotFlownError, match="over the ground"):
        pattern(Release(class_id="light_helicopter", wind_mps=20.0, wind_from_deg=0.0, heading_deg=0.0))


@pytest.mark.behaviour
@pytest.mark.parametrize("wind_mps", [9.0, 12.0, 15.0, 15.9])
def test_a_wind_just_short_of_the_airspeed_leaves_no_end_unknown(wind_mps: float) -> None:
    """A quarter more of it would carry the run backwards: the band is of runs that are flown."""
    against = Release(
        class_id="medium_helicopter", speed_mps=23.15, wind_mps=wind_mps, wind_from_deg=0.0, heading_deg=0.0
    )
    fall = pattern(against).fall
    assert fall.half_width_m < 200.0
    assert fall.release_along_m.low is not None
    assert fall.release_along_m.low <= fall.release_along_m.middle


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(speed=st.floats(16.0, 60.0), share=st.floats(0.0, 0.98), off_deg=st.floats(-180.0, 180.0))
def test_every_end_of_a_band_is_of_a_run_that_can_be_flown(
    speed: float, share: float, off_deg: float
) -> None:
    windy = Release(
        class_id="heavy_helicopter",
        speed_mps=speed,
        wind_mps=share * speed,
        wind_from_deg=off_deg,
        heading_deg=0.0,
    )
    try:
        resolved = resolve(windy)
    except InputError:
        return
    for flown in flown_otherwise(resolved):
        cross_mps = wind_at_height_mps(flown.wind_right_mps, flown.height_m)
        assert flown.ground_speed_mps >= LEAST_GROUND_SPEED_MPS
        assert abs(cross_mps) < flown.speed_mps
