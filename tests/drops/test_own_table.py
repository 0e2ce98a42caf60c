"""A user's own drop tests: what they tell, where they apply, and what is said where they do not."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drops.own_rows import row, settled, table
from wetline.drops import own_faults
from wetline.drops.systems import flow_l_per_m
from wetline.model import Band

if TYPE_CHECKING:
    from wetline.drops import DropTest

FOUR = table(
    *(
        row(level, line, height_m=height, speed_mps=speed)
        for height, speed, lines in (
            (20.0, 50.0, (160.0, 120.0, 40.0)),
            (20.0, 60.0, (170.0, 110.0, 20.0)),
            (40.0, 50.0, (150.0, 90.0, 0.0)),
            (40.0, 60.0, (155.0, 80.0, 0.0)),
        )
        for level, line in zip((1.0, 2.0, 4.0), lines, strict=True)
    )
)
PHYSICS = Band(90.0, 60.0, 120.0)


@pytest.mark.derived
def test_the_middle_of_four_tests_is_their_mean() -> None:
    """(160 + 170 + 150 + 155) / 4, and for level 2 (120 + 110 + 90 + 80) / 4, by hand."""
    for level, expected in ((1.0, 158.75), (2.0, 100.0)):
        own = FOUR.line(settled(), level)
        assert own is not None
        assert own.band.middle == pytest.approx(expected)


@pytest.mark.derived
def test_between_levels_lines_are_straight() -> None:
    """Half way from level 1 to level 2: (158.75 + 100) / 2."""
    own = FOUR.line(settled(), 1.5)
    assert own is not None
    assert own.band.middle == pytest.approx(129.375)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(height=st.floats(20.0, 40.0), speed=st.floats(50.0, 60.0), level=st.floats(1.0, 4.0))
def test_a_line_lies_between_its_neighbours(height: float, speed: float, level: float) -> None:
    own = FOUR.line(settled(height_m=height, speed_mps=speed), level)
    assert own is not None
    low, high = min(r.line_m for r in own.rows), max(r.line_m for r in own.rows)
    assert low - 1e-9 <= own.band.middle <= high + 1e-9
    assert own.band.low is not None
    assert own.band.high is not None
    assert own.band.low <= own.band.middle <= own.band.high


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(
    height=st.floats(15.0, 45.0),
    speed=st.floats(45.0, 65.0),
    levels=st.tuples(st.floats(0.3, 8), st.floats(0.3, 8)),
)
def test_no_end_of_a_line_grows_with_the_level(
    height: float, speed: float, levels: tuple[float, float]
) -> None:
    """Whether tests or physics tell it: what is used for the higher level lies inside the lower one's line."""
    release = settled(height_m=height, speed_mps=speed)
    low, high = sorted(levels)
    physics = {
        level: Band(*(max(0.0, part - 12.0 * level) for part in (100.0, 60.0, 140.0))) for level in levels
    }
    at = {level: FOUR.used(release, level, physics[level]).band for level in levels}
    for end in ("middle", "low", "high"):
        assert getattr(at[high], end) <= getattr(at[low], end) + 1e-9


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"agent": "foam"}, "no drop test with foam"),
        (
            {"height_m": 44.0},
            "44 m at 55 m/s lies outside the drops measured at level 2 (20 to 40 m, 50 to 60 m/s)",
        ),
        ({"speed_mps": 70.0}, "lies outside the drops measured"),
        ({"load_l": 4000.0}, "no drop test with a load that serves for 4000 L"),
        (
            {"wind_mps": 6.0, "wind_from_deg": 90.0, "heading_deg": 0.0},
            "no drop test in a wind within 2.5 m/s of 6.0",
        ),
        ({"leaf_area": 2.0, "canopy_m": 12.0}, "trees hold back a share here"),
        ({"duration_s": 3.0}, "the flow time is given"),
    ],
)
def test_where_no_test_applies_physics_stands_and_says_why(change: dict[str, object], why: str) -> None:
    release = settled(**change)
    assert FOUR.line(release, 2.0) is None
    used = FOUR.used(release, 2.0, PHYSICS)
    assert (used.source, used.band) == ("physics", PHYSICS)
    assert used.notes[0].startswith("level 2: physics, not own.csv: ")
    assert why in used.notes[0]


@pytest.mark.behaviour
def test_a_class_without_tests_is_told_so() -> None:
    used = table(row(1.0, 50.0, class_id="large_tanker")).used(settled(), 1.0, PHYSICS)
    assert used.notes == ("level 1: physics, not own.csv: no drop test of this class",)


@pytest.mark.behaviour
def test_a_measured_line_says_what_it_stands_on() -> None:
    used = FOUR.used(settled(), 2.0, PHYSICS)
    assert used.source == "table"
    assert used.notes == (
        "level 2: from own.csv, not physics: 4 drops from 20 to 40 m at 50 to 60 m/s (Sorrin trials, 2025-05-01)",
    )


@pytest.mark.derived
def test_physics_gives_no_more_than_was_measured_at_a_lower_level() -> None:
    """100 m were measured at level 2 in the middle of the four; a line at level 8 lies inside it."""
    tests = table(*(r for r in FOUR.rows if r.level <= 2.0))
    used = tests.used(settled(), 8.0, Band(130.0, 90.0, 170.0))
    assert used.source == "physics"
    assert used.band.middle == pytest.approx(100.0)
    assert "moved from 130 m" in used.notes[0]


@pytest.mark.derived
def test_physics_gives_no_less_than_was_measured_at_a_higher_level() -> None:
    used = FOUR.used(settled(), 0.5, PHYSICS)
    assert used.band.middle == pytest.approx(158.75)


@pytest.mark.derived
def test_above_a_level_of_which_nothing_was_left_nothing_is() -> None:
    own = FOUR.line(settled(height_m=40.0), 6.0)
    assert own is not None
    assert own.band.middle == 0.0


@pytest.mark.derived
def test_four_drops_told_one_by_one_give_the_band_of_the_next_one() -> None:
    """Lines 90, 100, 110, 120: mean 105, s 12.910; Student's t for 3 degrees of freedom, 90 %: 1.638
    (any printed t table), so ±1.638 × 12.910 × √(1 + 1/4) = 23.64."""
    tests = table(*(row(2.0, line, source=f"drop {k}") for k, line in enumerate((90.0, 100.0, 110.0, 120.0))))
    own = tests.line(settled(), 2.0)
    assert own is not None
    assert own.band.middle == pytest.approx(105.0)
    assert own.band.low == pytest.approx(105.0 - 23.64, abs=0.01)
    assert own.band.high == pytest.approx(105.0 + 23.64, abs=0.01)
    assert "rows of drops flown alike are averaged" in own.notes


@pytest.mark.practice
def test_one_drop_has_the_stated_band_and_no_band_is_narrower_than_the_least() -> None:
    """±30 % and ±10 %: common practice, no source."""
    one = table(row(2.0, 100.0)).line(settled(), 2.0)
    twins = table(row(2.0, 100.0, source="a"), row(2.0, 100.0, source="b")).line(settled(), 2.0)
    assert one is not None
    assert twins is not None
    assert (one.band.low, one.band.high) == pytest.approx((70.0, 130.0))
    assert (twins.band.low, twins.band.high) == pytest.approx((90.0, 110.0))


@pytest.mark.derived
def test_told_ends_are_the_band() -> None:
    own = table(row(2.0, 100.0, drops=9, line_low_m=80.0, line_high_m=150.0)).line(settled(), 2.0)
    assert own is not None
    assert (own.band.low, own.band.high) == (80.0, 150.0)


@pytest.mark.derived
def test_rows_count_by_their_drops() -> None:
    """(3 × 100 + 1 × 140) / 4."""
    own = table(row(2.0, 100.0, drops=3), row(2.0, 140.0)).line(settled(), 2.0)
    assert own is not None
    assert own.band.middle == pytest.approx(110.0)


@pytest.mark.derived
def test_a_part_of_a_constant_flow_shortens_the_line_by_the_track_that_is_missing() -> None:
    """At setting 4 a metre takes 39.4 L (450 gal/s at 84 kt, MTDC 0057-2852: 450 × 3.785412 / 43.213): 1000 L
    less are 25.4 m less."""
    tests = table(row(2.0, 70.0, class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=4.0))
    release = settled(class_id="single_engine_tanker", load_l=2000.0, speed_mps=50.0, setting=4.0)
    own = tests.line(release, 2.0)
    assert own is not None
    assert flow_l_per_m(4.0) == pytest.approx(39.42, abs=0.01)
    assert own.band.middle == pytest.approx(70.0 - 1000.0 / 39.42, abs=0.05)
    assert any("shortened by the track of the 1000 L that are missing" in note for note in own.notes)


@pytest.mark.derived
def test_a_line_longer_than_its_track_shortens_with_the_load() -> None:
    """3000 L at setting 4 leave in 76 m; where 120 m were measured, a tenth of the load makes a tenth at most."""
    tests = table(
        row(2.0, 120.0, class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=4.0)
    )
    release = settled(class_id="single_engine_tanker", load_l=300.0, speed_mps=50.0, setting=4.0)
    own = tests.line(release, 2.0)
    assert own is not None
    assert own.band.middle == pytest.approx(12.0)
    assert own.band.high == pytest.approx(1.3 * 12.0)


@pytest.mark.behaviour
def test_a_load_too_small_for_the_measured_line_is_left_to_physics() -> None:
    tests = table(row(2.0, 70.0, class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=4.0))
    release = settled(class_id="single_engine_tanker", load_l=200.0, speed_mps=50.0, setting=4.0)
    assert tests.line(release, 2.0) is None
    assert "nothing is left of the line" in (tests.why_not(release, 2.0) or "")


@pytest.mark.behaviour
def test_a_larger_load_than_measured_is_left_to_physics() -> None:
    tests = table(row(2.0, 70.0, class_id="single_engine_tanker", load_l=2000.0, speed_mps=50.0, setting=4.0))
    release = settled(class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=4.0)
    assert tests.line(release, 2.0) is None


@pytest.mark.behaviour
def test_each_flow_setting_has_its_own_tests() -> None:
    tests = table(row(2.0, 70.0, class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=3.0))
    release = settled(class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=4.0)
    assert tests.why_not(release, 2.0) == "no drop test with setting 4"


@pytest.mark.behaviour
def test_all_pieces_are_never_taken_for_one_line() -> None:
    tests = table(row(2.0, 100.0, line_kind="summed"))
    assert tests.line(settled(), 2.0) is None
    assert tests.why_not(settled(), 2.0) == "the drop tests do not tell the unbroken line"
    own = tests.line(settled(), 2.0, kind="summed")
    assert own is not None
    assert own.band.middle == 100.0


@pytest.mark.derived
def test_speed_over_the_ground_is_compared_with_speed_over_the_ground() -> None:
    """With 2 m/s behind it at 10 m the aircraft is faster over the ground than 55 m/s by more than 2.0."""
    tests = table(row(2.0, 100.0, speed_kind="ground", speed_mps=60.0))
    wind = {"wind_mps": 2.0, "wind_from_deg": 180.0, "heading_deg": 0.0}
    assert tests.line(settled(), 2.0) is None
    assert tests.line(settled(**wind, speed_mps=56.0), 2.0) is not None


@pytest.mark.behaviour
def test_tests_over_trees_serve_over_trees_alone() -> None:
    tests = table(row(2.0, 100.0, height_above="canopy"))
    assert tests.line(settled(), 2.0) is None
    assert tests.line(settled(canopy_m=15.0), 2.0) is not None


@pytest.mark.behaviour
def test_tests_over_open_ground_say_so_over_trees_of_unknown_density() -> None:
    own = table(row(2.0, 100.0)).line(settled(canopy_m=15.0), 2.0)
    assert own is not None
    assert any("what these trees hold back is not in the line" in note for note in own.notes)


@pytest.mark.behaviour
def test_a_wind_that_was_not_measured_counts_as_calm_and_is_said() -> None:
    tests = table(row(2.0, 100.0, wind_mps=None))
    own = tests.line(settled(), 2.0)
    assert own is not None
    assert "the wind of the drop tests was not measured: it counts as calm" in own.notes
    assert tests.line(settled(wind_mps=4.0, wind_from_deg=90.0, heading_deg=0.0), 2.0) is None


@pytest.mark.property
def test_a_table_is_hashable_and_equal_by_what_it_says() -> None:
    assert table(row(2.0, 100.0)) == table(row(2.0, 100.0))
    assert hash(table(row(2.0, 100.0))) == hash(table(row(2.0, 100.0)))
    assert table(row(2.0, 100.0)) != table(row(2.0, 101.0))


@pytest.mark.property
def test_a_line_that_grows_with_the_level_is_a_fault() -> None:
    found = own_faults([row(1.0, 100.0, row=0), row(2.0, 120.0, row=1), row(4.0, 90.0, row=2)])
    assert [(p.row, p.field) for p in found] == [(1, "line_m")]
    assert own_faults([row(1.0, 100.0), row(2.0, 100.4, row=1)]) == []


@pytest.mark.derived
def test_more_liquid_on_the_ground_than_was_aboard_is_a_fault() -> None:
    """900 m at level 8 (8 × 0.4074583 L/m²) and one metre wide are 2934 L; an ellipse 20 m wide of 150 m at
    level 8 holds 0.785 × 150 × 20 × 3.26 = 7677 L."""
    assert own_faults([row(8.0, 900.0, load_l=3000.0)]) == []
    assert [p.value for p in own_faults([row(8.0, 900.0, load_l=2900.0)])] == ["2934 L"]
    assert [p.value for p in own_faults([row(8.0, 150.0, width_m=20.0)])] == ["7677 L"]


@pytest.mark.property
def test_pieces_that_sum_to_less_than_the_longest_are_a_fault() -> None:
    found = own_faults([row(1.0, 100.0), row(1.0, 80.0, line_kind="summed", row=1)])
    assert [p.field for p in found] == ["line_kind"]


@pytest.mark.derived
def test_physics_gives_no_more_than_was_measured_with_a_larger_load() -> None:
    """A smaller load lays less everywhere: 100 m at level 2 were measured with 6000 L in the middle of the four."""
    used = FOUR.used(settled(load_l=4000.0), 2.0, Band(130.0, 90.0, 170.0))
    assert used.source == "physics"
    assert used.band.middle == pytest.approx(100.0)
    assert "moved from 130 m" in used.notes[0]


@pytest.mark.derived
def test_a_level_that_a_larger_load_did_not_reach_is_not_reached() -> None:
    tests = table(row(4.0, 0.0, class_id="single_engine_tanker", load_l=3000.0, speed_mps=50.0, setting=2.0))
    release = settled(class_id="single_engine_tanker", load_l=2000.0, speed_mps=50.0, setting=2.0)
    own = tests.line(release, 4.0)
    assert own is not None
    assert own.band.middle == 0.0


_rows = st.lists(
    st.builds(
        row,
        st.sampled_from([0.5, 1.0, 2.0, 4.0, 6.0]),
        st.floats(0.0, 200.0),
        height_m=st.sampled_from([20.0, 25.0, 30.0, 40.5]),
        speed_mps=st.sampled_from([50.0, 55.0, 57.3]),
        load_l=st.sampled_from([5000.0, 6000.0, 6100.0]),
        height_above=st.sampled_from(["ground", "canopy"]),
        speed_kind=st.sampled_from(["air", "ground"]),
        wind_mps=st.sampled_from([None, 0.0, 3.0]),
        drops=st.sampled_from([1, 3]),
    ),
    min_size=1,
    max_size=12,
)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(
    rows=_rows, height=st.floats(17.0, 44.0), speed=st.floats(47.0, 60.0), trees=st.sampled_from([None, 10.0])
)
def test_whatever_was_measured_no_end_grows_with_the_level(
    rows: list[DropTest], height: float, speed: float, trees: float | None
) -> None:
    tests, release = table(*rows), settled(height_m=height, speed_mps=speed, canopy_m=trees)
    levels = (0.3, 0.5, 1.0, 1.5, 2.0, 4.0, 6.0, 8.0)
    physics = [Band(120.0 - 10.0 * x, 80.0 - 9.0 * x, 150.0 - 10.0 * x) for x in levels]
    bands = [tests.used(release, x, band).band for x, band in zip(levels, physics, strict=True)]
    for low, high in pairwise(bands):
        assert high.middle <= low.middle + 1e-9
        assert (high.low or 0.0) <= (low.low or 0.0) + 1e-9
        assert (high.high or 0.0) <= (low.high or 0.0) + 1e-9
    assert all((b.low or 0.0) <= b.middle + 1e-9 <= (b.high or 0.0) + 2e-9 for b in bands)


@pytest.mark.behaviour
def test_means_that_lie_apart_are_both_in_the_band() -> None:
    means = (row(2.0, 120.0, drops=3, source="a"), row(2.0, 20.0, drops=3, source="b"))
    own = table(*means).line(settled(), 2.0)
    assert own is not None
    assert (own.band.low, own.band.middle, own.band.high) == (20.0, 70.0, 120.0)


@pytest.mark.behaviour
def test_each_system_has_its_own_tests() -> None:
    tests = table(row(2.0, 100.0, system="trail", interval_s=1.0))
    assert tests.why_not(settled(), 2.0) == "no drop test with system salvo"
    assert tests.line(settled(system="trail", interval_s=1.0), 2.0) is not None
    assert tests.why_not(settled(system="trail", interval_s=0.5), 2.0) == "no drop test with interval 0.5"


@pytest.mark.behaviour
def test_tests_that_name_no_system_are_those_of_the_class_as_it_is() -> None:
    tests = table(row(2.0, 100.0))
    assert tests.line(settled(), 2.0) is not None
    assert tests.line(settled(system="trail"), 2.0) is None


@pytest.mark.behaviour
def test_a_part_let_go_is_measured_by_doors_alone() -> None:
    """3000 L by two of four doors are not 3000 L of a tank that is half full."""
    half = {"load_l": 6000.0, "doors": 2}
    assert table(row(2.0, 60.0, load_l=3000.0)).line(settled(**half), 2.0) is None
    assert table(row(2.0, 60.0, load_l=3000.0)).line(settled(load_l=6000, let_go_l=3000), 2.0) is None
    assert table(row(2.0, 60.0, load_l=3000.0, doors=2)).line(settled(**half), 2.0) is not None
