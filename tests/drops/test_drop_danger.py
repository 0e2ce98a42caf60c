"""The height under which a load strikes, how it arrives, and how far people must be."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.aircraft import CLASS_IDS
from wetline.drops import (
    AGENTS,
    IF_CAUGHT,
    Flow,
    Release,
    Strike,
    pattern,
    safe_height_m,
    stand_off_m,
    strike,
)
from wetline.drops.resolve import resolve
from wetline.drops.strike import shower_pressure_pa, stagnation_pressure_pa, strike_findings
from wetline.errors import OutsideRangeError
from wetline.model import shipped_limits
from wetline.units import FOOT, US_GALLON_L

if TYPE_CHECKING:
    from wetline.drops.release import Resolved


def _salvo(load_l: float, flow_l_per_s: float) -> Resolved:
    """Retardant at 60 m/s out of a tank of any size, at one flow."""
    time_s = load_l / flow_l_per_s
    return replace(
        resolve(Release(class_id="twin_engine_scooper", agent="retardant", speed_mps=60.0)),
        load_l=load_l,
        flow=Flow((0.0, 0.01, time_s, time_s + 0.01), (0.0, flow_l_per_s, flow_l_per_s, 0.0)),
        duration_s=time_s,
        duration_low_s=time_s / 1.15,
        duration_high_s=time_s / 0.85,
    )


DROPPING = [class_id for class_id in CLASS_IDS if class_id != "supervision"]


def resolved(class_id: str, **changes: Any) -> Resolved:
    return resolve(Release(class_id=class_id, **changes))


def struck(class_id: str, **changes: Any) -> Strike:
    return strike(resolved(class_id, **changes))


@pytest.mark.published
@pytest.mark.parametrize(
    ("gallons", "gallons_per_s", "height_m"), [(800, 400, 51.2), (1585, 793, 56.3), (3000, 2000, 68.6)]
)
def test_safe_height_meets_the_published_formula(
    gallons: float, gallons_per_s: float, height_m: float
) -> None:
    """S = 101 + 0.0112 L + 0.0202 P + 50 ft (MTDC 0057-2317, 2000), worked out by hand to 0.1 m."""
    safe = safe_height_m(gallons * US_GALLON_L, gallons_per_s * US_GALLON_L)
    assert safe == pytest.approx(height_m, abs=0.05)


@pytest.mark.behaviour
@pytest.mark.parametrize(("load_l", "flow"), [(0.0, 100.0), (100.0, 0.0), (-1.0, 100.0)])
def test_a_load_that_is_none_has_no_safe_height(load_l: float, flow: float) -> None:
    with pytest.raises(OutsideRangeError):
        safe_height_m(load_l, flow)


@pytest.mark.published
@pytest.mark.parametrize("class_id", DROPPING)
def test_the_formula_is_kept_from_what_it_was_not_made_for(class_id: str) -> None:
    """MTDC 0057-2317: not for constant flow nor single-engine aircraft; its film shows no buckets."""
    one = struck(class_id)
    assert (one.published_m is not None) is (class_id == "twin_engine_scooper")
    assert bool(one.published_why) is (one.published_m is None)
    said = [f for f in strike_findings(one) if f.level == "unknown"]
    assert len(said) == (one.published_m is None)


@pytest.mark.derived
def test_a_scooper_takes_the_published_height_by_its_load_and_peak_flow() -> None:
    """6,100 L in 2 s: 101 + 0.0112·1611.5 + 0.0202·805.7 + 50 ft = 185.3 ft = 56.5 m."""
    one = struck("twin_engine_scooper", load_l=6100.0, duration_s=2.0)
    assert one.published_m == pytest.approx(56.5, abs=0.05)
    assert one.rules_m >= 56.45


@pytest.mark.derived
@pytest.mark.parametrize(
    ("gallons", "gallons_per_s", "depth_m"),
    [(800, 400, 36), (1585, 793, 41), (2000, 1200, 45), (3000, 2000, 53)],
)
def test_the_own_height_of_retardant_lies_near_the_published_one(
    gallons: float, gallons_per_s: float, depth_m: float
) -> None:
    """Depth by MTDC 0057-2317 without its 50 ft, at 60 m/s: four fifths to eight fifths of it, under the high end."""
    one = strike(_salvo(gallons * US_GALLON_L, gallons_per_s * US_GALLON_L))
    assert 0.8 * depth_m < one.own_m.middle < 1.6 * depth_m
    assert depth_m < (one.own_m.high or 0.0)


@pytest.mark.published
def test_from_60_ft_a_single_engine_tanker_strikes_forward() -> None:
    """Drop-evaluation slides for single-engine tankers (public copy): from 60 ft the column still moves forward."""
    assert struck("single_engine_tanker", height_m=60.0 * FOOT).red


@pytest.mark.derived
def test_what_falls_steeply_arrives_at_terminal_speed_and_a_body_much_faster() -> None:
    """Gunn and Kinzer 1949, 2.4 and 2.6 mm: 7.27 and 7.57 m/s; a fifth of it forward adds 2 %."""
    drops = struck("twin_engine_scooper", height_m=120.0)
    assert drops.speed_mps == pytest.approx(7.42 * 1.0198, rel=0.005)
    body = struck("twin_engine_scooper", height_m=5.0)
    assert body.intact_share.middle > 0.0
    assert body.speed_mps > 2.0 * drops.speed_mps
    between = struck("single_engine_tanker", height_m=60.0 * FOOT)
    assert between.speed_is_bound
    assert not drops.speed_is_bound
    assert not body.speed_is_bound
    assert drops.speed_mps < between.speed_mps < 57.0


@pytest.mark.derived
@pytest.mark.parametrize(("speed", "pascal"), [(57.0, 1.6e6), (20.0, 0.2e6), (8.0, 32e3)])
def test_stagnation_pressure_of_water(speed: float, pascal: float) -> None:
    """½ρV², ρ 1000 kg/m³, worked out by hand to two digits."""
    assert stagnation_pressure_pa(1000.0, speed) == pytest.approx(pascal, rel=0.02)


@pytest.mark.derived
def test_a_shower_presses_by_its_mass_flux_times_its_speed() -> None:
    """3.6 L/m² in 0.5 s at 8 m/s: 57.6 Pa."""
    assert shower_pressure_pa(3.6, 0.5, 8.0, 1000.0) == pytest.approx(57.6)
    with pytest.raises(OutsideRangeError):
        shower_pressure_pa(3.6, 0.0, 8.0, 1000.0)


@pytest.mark.derived
def test_the_shower_of_a_load_takes_the_time_of_its_spread() -> None:
    """√(2π)·18 m at the ground speed is the time in which a Gaussian brings its sum at its peak."""
    case = resolved("twin_engine_scooper", speed_mps=45.12)
    one = strike(case, peak_l_per_m2=2.0, spread_along_m=18.0)
    time_s = 2.50663 * 18.0 / 45.12
    assert one.shower_pa == pytest.approx(2.0 * 0.998 / time_s * one.speed_mps, rel=1e-4)
    assert struck("twin_engine_scooper").shower_pa is None


@pytest.mark.property
@pytest.mark.parametrize("agent", AGENTS)
@pytest.mark.parametrize("height_m", [5.0, 12.0, 40.0, 120.0])
def test_what_is_intact_or_moves_forward_is_red(agent: str, height_m: float) -> None:
    one = struck("medium_helicopter", agent=agent, height_m=height_m, speed_mps=12.0)
    share = one.intact_share
    assert 0.0 <= (share.low or 0.0) <= share.middle <= (share.high or 0.0) <= 1.0
    assert one.red is (share.middle > 0.0 or height_m < one.own_m.middle)
    assert one.red is (one.falls_vertically is False)
    assert (one.own_m.low or 0.0) <= one.own_m.middle <= (one.own_m.high or 0.0)
    assert one.rules_m > one.own_m.middle


@pytest.mark.property
@settings(deadline=None, max_examples=12)
@given(
    less_l=st.floats(1500.0, 6100.0),
    more_l=st.floats(1500.0, 6100.0),
)
def test_the_height_to_keep_never_falls_when_the_load_rises(less_l: float, more_l: float) -> None:
    few, many = sorted((less_l, more_l))
    heights = [struck("twin_engine_scooper", load_l=load, duration_s=2.0).rules_m for load in (few, many)]
    assert heights[0] <= heights[1] + 0.05  # steps of the column's time


@pytest.mark.property
def test_less_arrives_in_one_body_from_higher_up() -> None:
    shares = [
        struck("medium_helicopter", height_m=h, speed_mps=10.0).intact_share.middle for h in (8, 12, 16, 30)
    ]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.0 == shares[-1]


@pytest.mark.behaviour
def test_a_load_that_arrives_in_one_body_says_how_much_and_how_fast() -> None:
    one = struck("medium_helicopter", height_m=10.0, speed_mps=10.0)
    (caution, unknown) = strike_findings(one)
    assert (caution.level, unknown.level, unknown.effect) == ("caution", "unknown", "noted")
    assert "in one body at" in caution.message
    high = strike_findings(struck("twin_engine_scooper", height_m=120.0))
    assert high == ()


@pytest.mark.memory
def test_stand_off_is_sixty_metres_or_a_hundred_for_large_tankers() -> None:
    assert stand_off_m("twin_engine_scooper", 20.0) == 60.0
    for class_id in ("medium_tanker", "large_tanker", "very_large_tanker"):
        assert stand_off_m(class_id, 20.0) == 100.0


@pytest.mark.property
@pytest.mark.parametrize("width_m", [0.0, 59.0, 60.0, 120.0])
def test_stand_off_covers_the_pattern_and_the_limit(width_m: float) -> None:
    off = stand_off_m("medium_tanker", width_m, shipped_limits())
    assert off >= width_m
    assert off >= shipped_limits().value("people_stop_m")


@pytest.mark.property
@settings(deadline=None, max_examples=12)
@given(few_l=st.floats(500.0, 6000.0), many_l=st.floats(500.0, 6000.0))
def test_stand_off_never_falls_when_the_load_rises(few_l: float, many_l: float) -> None:
    loads = sorted((few_l, many_l))
    offs = [pattern(Release(class_id="twin_engine_scooper", load_l=load)).stand_off_m for load in loads]
    assert offs[0] <= offs[1]


@pytest.mark.derived
def test_a_tree_at_the_edge_of_the_pattern_falls_outward() -> None:
    assert stand_off_m("twin_engine_scooper", 45.0, canopy_m=27.0) == 72.0
    assert stand_off_m("twin_engine_scooper", 20.0, canopy_m=27.0) == 60.0
    with pytest.raises(OutsideRangeError):
        stand_off_m("twin_engine_scooper", -1.0)


@pytest.mark.derived
def test_a_tree_taller_than_the_limit_moves_people_out_all_round() -> None:
    """90 m of tree for the 60 m limit: 30 m more ahead and behind; to the sides pattern and tree."""
    bare = pattern(Release(class_id="twin_engine_scooper", canopy_m=0.0))
    wooded = pattern(Release(class_id="twin_engine_scooper", canopy_m=90.0))
    assert wooded.clear.ahead_m - bare.clear.ahead_m == pytest.approx(30.0)
    assert wooded.clear.behind_m - bare.clear.behind_m == pytest.approx(30.0)
    assert wooded.clear.sides_m == pytest.approx(wooded.half_width_m + 90.0)
    assert wooded.stand_off_m == pytest.approx(wooded.half_width_m + 90.0)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("canopy_m", "words"), [(None, "not counted"), (0.0, "No trees"), (20.0, "20 m is counted")]
)
def test_trees_are_counted_or_said_to_be_missing(canopy_m: float | None, words: str) -> None:
    """Loads brought down trees of 90 ft (27 m): interagency safety alert 2019."""
    trees, *rest = pattern(Release(class_id="twin_engine_scooper", canopy_m=canopy_m)).clear.notes
    assert words in trees
    assert "90 ft (27 m)" in trees
    assert any("wake" in note and "11 m/s" in note for note in rest)
    assert any("downhill" in note for note in rest)


@pytest.mark.published
def test_who_is_caught_lies_face_down_head_to_the_aircraft_and_holds_on() -> None:
    """NWCG 6 Minutes for Safety, drops of retardant and water (public copy)."""
    words = " ".join(IF_CAUGHT).lower()
    for part in ("face", "hard hat", "head toward the aircraft", "hold on", "tools away", "run only if"):
        assert part in words
