"""The same load from other heights and speeds; who stands clear; against which flames it does anything."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from wetline.behaviour import flame_length_m
from wetline.drops import Release, flame_findings, height_ladder, pattern, resolve, speed_ladder, strike
from wetline.model import shipped_limits
from wetline.units import FOOT, KNOT

LIMITS = shipped_limits()
TWIN = Release(class_id="twin_engine_scooper")


def _windy(class_id: str, wind_mps: float = 4.0) -> Release:
    """Wind from the left of the run."""
    return Release(class_id=class_id, heading_deg=0.0, wind_mps=wind_mps, wind_from_deg=270.0)


@pytest.mark.practice
@pytest.mark.parametrize("class_id", ["large_tanker", "very_large_tanker"])
def test_the_heights_of_practice_stand_in_the_table_of_large_tankers(class_id: str) -> None:
    """Common practice, no source: 300 ft for large tankers, about 800 ft for the largest."""
    heights = [rung.below.height_m / FOOT for rung in height_ladder(Release(class_id=class_id), LIMITS).rungs]
    assert any(h == pytest.approx(300.0) for h in heights)
    assert any(h == pytest.approx(800.0) for h in heights)
    assert heights == sorted(heights)


@pytest.mark.practice
@pytest.mark.parametrize("class_id", ["large_tanker", "very_large_tanker"])
def test_eight_hundred_feet_cost_line_in_wind(class_id: str) -> None:
    """Common practice, no source: from higher up part of the water evaporates and small drops drift."""
    rungs = height_ladder(_windy(class_id), LIMITS, level=2.0, heights_m=(300 * FOOT, 800 * FOOT)).rungs
    low, high = (next(r for r in rungs if r.below.height_m == pytest.approx(ft * FOOT)) for ft in (300, 800))
    assert high.result.at(2.0).line_m.middle < low.result.at(2.0).line_m.middle
    assert high.result.evaporated_pct > low.result.evaporated_pct
    assert high.result.drift_right_m > low.result.drift_right_m


@pytest.mark.practice
def test_a_scooper_drops_six_tonnes_in_two_seconds_from_a_hundred_feet() -> None:
    """Common practice, no source: about 6 t in about 2 s, about 100 ft above, about 110 kt."""
    resolved = resolve(TWIN)
    assert resolved.load_l == pytest.approx(6000.0, rel=0.05)
    assert resolved.duration_s == pytest.approx(2.0, rel=0.2)
    assert resolved.height_m == pytest.approx(100 * FOOT, rel=0.1)
    assert resolved.speed_mps == pytest.approx(110 * 0.514444, rel=0.06)


@pytest.mark.behaviour
def test_heights_asked_for_take_the_place_of_the_class_own() -> None:
    rungs = height_ladder(TWIN, LIMITS, heights_m=(90.0, 25.0)).rungs
    assert [rung.below.height_m for rung in rungs] == pytest.approx([25.0, 100 * FOOT, 90.0])
    assert [rung.under_minimum for rung in rungs] == [True, False, False]
    assert [rung.why for rung in rungs] == ["", "this drop", ""]
    helicopter = height_ladder(Release(class_id="light_helicopter"), LIMITS).rungs
    assert all(rung.under_minimum is None for rung in helicopter)


@pytest.mark.behaviour
def test_speeds_at_which_the_wind_lets_nobody_fly_are_named_and_the_others_told() -> None:
    """20 kt are 10.3 m/s: against 12 m/s at 10 m, and more at the tank, a run makes no way."""
    ladder = speed_ladder(_windy("medium_helicopter", 12.0), LIMITS)
    assert ladder.not_flown == pytest.approx([20 * KNOT])
    assert [rung.result.inputs["speed_mps"].value for rung in ladder.rungs] == pytest.approx(
        [45 * KNOT, 70 * KNOT]
    )
    high = height_ladder(
        replace(_windy("medium_helicopter", 15.0), speed_mps=19.5), LIMITS, heights_m=(90.0,)
    )
    assert high.not_flown == (90.0,)


@pytest.mark.behaviour
def test_a_height_hardly_below_the_minimum_is_not_called_the_minimum() -> None:
    rungs = height_ladder(replace(TWIN, height_m=99.5 * FOOT), LIMITS).rungs
    assert [(rung.why, rung.under_minimum) for rung in rungs[:2]] == [
        ("this drop", True),
        ("minimum, default", False),
    ]


@pytest.mark.behaviour
def test_speeds_span_the_range_of_the_class() -> None:
    rungs = speed_ladder(TWIN, LIMITS, level=2.0).rungs
    speeds = [rung.result.inputs["speed_mps"].value for rung in rungs]
    own = resolve(TWIN).cls.get("drop_speed_kt")
    assert own is not None
    assert speeds == pytest.approx([kt * KNOT for kt in (own.low or 0.0, own.value, own.high or 0.0)])
    assert [rung.why for rung in rungs] == ["slowest", "this drop, default", "fastest"]


@pytest.mark.property
def test_less_of_the_core_is_left_the_higher_it_falls_from() -> None:
    found = [strike(resolve(replace(TWIN, height_m=h))) for h in (5.0, 10.0, 20.0, 40.0, 80.0)]
    shares = [b.intact_share.middle for b in found]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.0 == shares[-1]
    assert found[0].core_intact is True
    assert found[0].falls_vertically is False
    assert found[-1].falls_vertically is True


@pytest.mark.published
def test_between_both_heights_nobody_calls_it_vertical() -> None:
    """MTDC 0057-2317: a salvo under the published safe height may still move forward."""
    safe = pattern(TWIN).safe_height_m
    assert strike(resolve(replace(TWIN, height_m=safe - 1.0))).falls_vertically is not True
    assert strike(resolve(replace(TWIN, height_m=safe + 1.0))).falls_vertically is True


@pytest.mark.behaviour
def test_where_nothing_is_published_the_whole_band_of_the_model_lies_under_what_is_called_vertical() -> None:
    tanker = Release(class_id="large_tanker")
    below = strike(resolve(tanker))
    assert below.published_m is None
    assert below.own_m.high is not None
    assert below.own_m.high > below.rules_m
    for height_m, sure in ((below.own_m.high - 1.0, None), (below.own_m.high + 1.0, True)):
        assert strike(resolve(replace(tanker, height_m=height_m))).falls_vertically is sure


@pytest.mark.behaviour
@pytest.mark.parametrize("class_id", ["twin_engine_scooper", "medium_helicopter", "very_large_tanker"])
def test_people_stand_clear_of_all_that_may_be_wetted(class_id: str) -> None:
    result = pattern(_windy(class_id))
    clear, fall = result.clear, result.fall
    assert clear.sides_m >= result.stand_off_m
    assert clear.sides_m >= (fall.drift_right_m.high or 0.0) + 0.5 * (fall.levels["0.5"].width_m.middle)
    assert min(clear.ahead_m, clear.behind_m) > 0.5 * fall.size.length_m


@pytest.mark.behaviour
def test_people_stand_clear_of_every_door_of_a_trail() -> None:
    """Eight doors 3 s apart: the first and the last piece lie 10.5 s of flight from the middle."""
    trail = Release(class_id="large_tanker", agent="retardant", system="trail", interval_s=3.0)
    result = pattern(replace(trail, wind_mps=5.0, wind_from_deg=45.0, heading_deg=90.0))
    reach_m = 10.5 * result.inputs["ground_speed_mps"].number
    assert result.inputs["doors"].value == 8
    assert min(result.clear.ahead_m, result.clear.behind_m) > reach_m + 100.0


@pytest.mark.behaviour
def test_people_stand_clear_of_a_load_too_thin_for_any_contour() -> None:
    high = pattern(replace(_windy("very_large_tanker", 15.0), height_m=390.0))
    half_track_m = 0.5 * high.inputs["ground_speed_mps"].number * high.inputs["duration_s"].number
    early = high.fall.release_along_m
    assert high.fall.size.length_m == 0.0
    assert high.clear.ahead_m > half_track_m + early.middle - (early.low or 0.0) + 100.0


@pytest.mark.behaviour
def test_a_load_that_leaves_ever_slower_reaches_farther_ahead_than_behind() -> None:
    slow = pattern(Release(class_id="heavy_helicopter", speed_mps=20.0))
    ahead_m = float(slow.raster.along_m[slow.raster.coverage_l_per_m2.max(axis=1) > 0.05].max())
    clear = slow.clear
    assert clear.ahead_m - clear.behind_m > 5.0
    assert clear.ahead_m > ahead_m + slow.fall.release_along_m.middle


@pytest.mark.property
def test_more_wind_never_brings_people_nearer() -> None:
    sides = [pattern(_windy("twin_engine_scooper", w)).clear for w in (0.0, 4.0, 8.0)]
    assert all(a.sides_m <= b.sides_m for a, b in itertools.pairwise(sides))


def _intensity(flame_m: float) -> float:
    """Fireline intensity of a flame: Byram 1959, L = 0.0775 I^0.46, turned over."""
    return float((flame_m / 0.0775) ** (1.0 / 0.46))


@pytest.mark.practice
@pytest.mark.parametrize(
    ("flame_m", "level"), [(2.3, None), (2.5, "caution"), (3.3, "caution"), (3.5, "stop")]
)
def test_water_is_warned_of_and_then_refused_by_the_flame(flame_m: float, level: str | None) -> None:
    """Common practice, no source: warn from 2.4 m flame, refuse from 3.4 m, retardant laid ahead instead."""
    intensity = _intensity(flame_m)
    assert float(flame_length_m(intensity)) == pytest.approx(flame_m, rel=0.02)
    found = flame_findings(intensity, "water", LIMITS, refers_to="twin_engine_scooper")
    assert [f.level for f in found] == ([] if level is None else [level])
    assert all("retardant laid ahead" in f.message for f in found)


@pytest.mark.behaviour
def test_retardant_is_sent_ahead_of_a_massive_edge_and_not_refused() -> None:
    (found,) = flame_findings(20_000.0, "retardant", LIMITS, refers_to="large_tanker")
    assert found.level == "caution"
    assert "lay it ahead" in found.message
