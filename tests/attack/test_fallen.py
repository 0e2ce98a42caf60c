"""What a load does on its own run, against the line that the plan counts on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app.release_case import FAR, LINE_M, MIDDLE, far_ground, planned_run, recorder_and_load, steady
from wetline.attack.fallen import Falls, canopy_under_m, release_over, short_line
from wetline.drops import Release, line_m, overlap
from wetline.model import Band

WIND_MPS, FROM_DEG = 6.0, 250.0


@pytest.mark.behaviour
@pytest.mark.parametrize(("here_m", "level"), [(60.0, None), (56.0, None), (54.0, "caution"), (0.0, "stop")])
def test_a_line_shorter_than_counted_on_is_told_and_none_is_a_stop(here_m: float, level: str | None) -> None:
    findings = short_line("R1", planned_m=60.0, here=Band(here_m, 0.0, 90.0))
    assert [f.level for f in findings] == ([] if level is None else [level])
    assert all(f.code == "gap" for f in findings)


@pytest.mark.behaviour
def test_a_load_that_reaches_the_level_nowhere_on_its_heading_is_held_back_for_its_hour(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As a bucket flown downwind may: the edge stays open to others, and to the same load in another wind."""
    hours = steady(WIND_MPS, FROM_DEG)
    recorder, placed = recorder_and_load(70.0, hours)
    assert recorder(placed) is None
    monkeypatch.setattr(Falls, "line", lambda *_: Band(0.0, 0.0, 50.0))
    recorder, placed = recorder_and_load(70.0, hours)
    refused = recorder(placed)
    assert refused is not None
    assert refused.avoid is None
    assert recorder.drops == []
    (held,) = recorder.held_back
    assert held.release == "only into the wind, or when the wind has dropped"


@pytest.mark.derived
def test_across_the_wind_the_line_is_the_one_that_the_plan_counts_on() -> None:
    run = planned_run(FROM_DEG - 90.0, steady(WIND_MPS, FROM_DEG))
    assert run.line_here_m is not None
    assert run.line_here_m.middle == pytest.approx(run.line_m.middle, rel=1e-9)
    assert run.line_here_m.low == pytest.approx(run.line_m.low, abs=1e-6)


@pytest.mark.derived
def test_the_line_here_is_that_of_the_same_release_turned() -> None:
    """Against the room of drops asked by itself."""
    run = planned_run(FROM_DEG, steady(WIND_MPS, FROM_DEG))
    alone = Release(
        class_id="twin_engine_scooper", load_l=6000.0, wind_mps=WIND_MPS, wind_from_deg=FROM_DEG,
        heading_deg=FROM_DEG, temperature_c=20.0, humidity_pct=40.0,
    )  # fmt: skip
    assert run.line_here_m is not None
    assert run.line_here_m.middle == pytest.approx(line_m(alone, 2.0).middle, rel=1e-6)


@pytest.mark.derived
@pytest.mark.parametrize("heading", [70.0, 160.0, 244.0])
def test_the_join_is_that_of_the_load_itself_within_a_few_metres(heading: float) -> None:
    """Against the room of drops asked by itself, at the load's own litres and heading."""
    run = planned_run(heading, steady(WIND_MPS, FROM_DEG))
    alone = Release(
        class_id="twin_engine_scooper", load_l=6000.0, wind_mps=WIND_MPS, wind_from_deg=FROM_DEG,
        heading_deg=heading, temperature_c=20.0, humidity_pct=40.0,
    )  # fmt: skip
    asked = overlap(alone, 2.0)
    assert run.join_m is not None
    assert asked is not None
    assert run.join_m.middle == pytest.approx(asked.middle, abs=3.0)
    assert run.join_m.high == pytest.approx(asked.high, abs=3.0)


@pytest.mark.derived
def test_people_stand_clear_of_the_ends_of_the_line_by_what_is_said_of_the_middle() -> None:
    """A line twice as long reaches 50 m nearer at each end, down to the line's own end."""
    hours = steady(WIND_MPS, FROM_DEG)
    short, long = (planned_run(70.0, hours, line_m=m).stand_clear for m in (LINE_M, 2 * LINE_M))
    assert short is not None
    assert long is not None
    assert short.sides_m == pytest.approx(long.sides_m)
    assert short.ahead_m - long.ahead_m == pytest.approx(0.5 * LINE_M)
    assert short.behind_m - long.behind_m == pytest.approx(0.5 * LINE_M)


@pytest.mark.behaviour
def test_the_ground_is_told_of_what_is_not_plain_water_and_the_crew_of_its_panel() -> None:
    hours = steady(WIND_MPS, FROM_DEG)
    assert planned_run(70.0, hours).ground == ()
    foam = planned_run(70.0, hours, class_id="single_engine_scooper", agent="foam")
    assert any("slippery" in words for words in foam.ground)
    assert foam.panel is None
    tanker = planned_run(70.0, hours, class_id="single_engine_tanker", agent="retardant")
    assert any("Wash it off" in words for words in tanker.ground)
    assert tanker.panel is not None
    assert tanker.panel.startswith("coverage level ")


@pytest.mark.behaviour
def test_the_tallest_trees_under_a_line_count_and_an_unknown_place_is_unknown() -> None:
    line = np.array([MIDDLE, MIDDLE + np.array([300.0, 0.0])])
    trees = np.full(FAR.shape, 12.0, np.float32)
    row, col = (int(k) for k in FAR.index(MIDDLE[0] + 150.0, MIDDLE[1]))
    trees[row, col] = 31.0
    ground = replace(far_ground(), canopy_height_m=trees)
    assert canopy_under_m(ground, line) == 31.0
    trees[row, col] = np.nan
    assert canopy_under_m(ground, line) is None
    assert canopy_under_m(far_ground(canopy_m=None), line) is None


@pytest.mark.property
@pytest.mark.parametrize("canopy_m", [0.0, 0.1, 5.0, 17.3, 110.0])
def test_trees_are_never_made_lower_for_the_look_up(canopy_m: float) -> None:
    over = release_over(Release(class_id="twin_engine_scooper"), canopy_m).canopy_m
    assert over is not None
    assert canopy_m <= over < canopy_m + 5.0


@pytest.mark.behaviour
def test_trees_of_unknown_height_stay_unknown_in_the_release() -> None:
    assert release_over(Release(class_id="twin_engine_scooper"), None).canopy_m is None


@pytest.mark.behaviour
def test_a_run_is_judged_by_the_hottest_piece_that_it_closes() -> None:
    """Flame, intensity and hold are of one piece of edge: by Byram 1959, 2.17 m at 1400 kW/m."""
    recorder, placed = recorder_and_load(70.0, steady(WIND_MPS, FROM_DEG))
    hot = np.array([300.0, 1400.0, 300.0, 300.0])
    both = replace(
        placed,
        edge=replace(placed.edge, intensity_kw_per_m=hot),
        stretch=replace(placed.stretch, last=1),
    )
    cool, hotter = (recorder.run(one, "as_given")[0] for one in (placed, both))
    assert (hotter.intensity_kw_per_m, hotter.flame_length_m) == pytest.approx((1400.0, 2.17), abs=0.01)
    assert cool.hold_chance is not None
    assert hotter.hold_chance is not None
    assert hotter.hold_chance.middle < cool.hold_chance.middle


@pytest.mark.behaviour
@pytest.mark.parametrize(("canopy_m", "known"), [(0.0, True), (18.0, False), (None, False)])
def test_a_hold_says_what_trees_may_keep_from_the_line(canopy_m: float | None, known: bool) -> None:
    hours = steady(WIND_MPS, FROM_DEG)
    bare, run = (planned_run(70.0, hours, ground=far_ground(trees)) for trees in (0.0, canopy_m))
    assert any("trees over the line" in note for note in run.hold_notes) is not known
    assert bare.hold_chance is not None
    assert run.hold_chance is not None
    assert (run.hold_chance.low < bare.hold_chance.low) is not known  # type: ignore[operator]
    assert run.hold_chance.middle == bare.hold_chance.middle
