"""The ground pattern: identities, conservation, symmetry, and what people read from it."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.aircraft import aircraft_classes
from wetline.drops import LEVELS, Agent, DropResult, Release, doors_open_m, pattern
from wetline.drops.systems import flow_l_per_m
from wetline.errors import InputError, OutsideRangeError
from wetline.units import COVERAGE_LEVEL, FOOT, KNOT, US_GALLON_L

CLASSES = (
    "single_engine_scooper",
    "twin_engine_scooper",
    "light_helicopter",
    "medium_helicopter",
    "heavy_helicopter",
    "single_engine_tanker",
    "medium_tanker",
    "large_tanker",
    "very_large_tanker",
)
TWIN = Release(class_id="twin_engine_scooper")
WINDY = replace(TWIN, heading_deg=40.0, wind_mps=6.0, wind_from_deg=320.0)


def _of_tank(class_id: str, share: float, **rest: float | None) -> Release:
    """A release with a share of the greatest tank of its class on board."""
    tank = aircraft_classes()[class_id].quantities["tank_volume_l"]
    return Release(class_id=class_id, load_l=share * (tank.high or tank.value), **rest)  # type: ignore[arg-type]


releases = st.builds(
    _of_tank,
    class_id=st.sampled_from(CLASSES),
    share=st.floats(0.5, 1.0),
    height_m=st.floats(20.0, 200.0),
    speed_mps=st.floats(20.0, 80.0),
    heading_deg=st.floats(0.0, 360.0),
    wind_mps=st.floats(0.0, 9.0),
    wind_from_deg=st.floats(0.0, 360.0),
    temperature_c=st.floats(5.0, 42.0),
    humidity_pct=st.floats(8.0, 95.0),
    leaf_area=st.none() | st.floats(0.0, 5.0),
)


def _codes(result: DropResult) -> dict[str, str]:
    return {f"{f.code}/{f.level}": f.message for f in result.findings}


@pytest.mark.published
@pytest.mark.parametrize(
    ("level", "litres_per_m2"),
    [(0.5, 0.204), (1, 0.407), (2, 0.815), (3, 1.222), (4, 1.630), (6, 2.445), (8, 3.260), (10, 4.075)],
)
def test_a_coverage_level_is_a_gallon_on_a_hundred_square_feet(level: float, litres_per_m2: float) -> None:
    """NWCG glossary: level 2 is 2 gal per 100 ft²; the factor is exact, values to 0.001 L/m²."""
    assert level * COVERAGE_LEVEL == pytest.approx(litres_per_m2, abs=0.0006)


@pytest.mark.derived
@pytest.mark.parametrize(("gal_per_s", "litres_per_m"), [(77, 6.7), (450, 39.4)])
def test_flow_over_speed_is_the_load_a_metre_of_track(gal_per_s: float, litres_per_m: float) -> None:
    """MTDC 0057-2852 flows at 84 kt (43.2 m/s), worked out by hand."""
    assert gal_per_s * US_GALLON_L / (84 * KNOT) == pytest.approx(litres_per_m, abs=0.06)
    assert flow_l_per_m(0.5 if gal_per_s == 77 else 4) == pytest.approx(litres_per_m, abs=0.06)


@pytest.mark.derived
def test_the_peak_is_that_of_a_load_spread_evenly_under_a_gaussian() -> None:
    """c_max = G V/(√(2π) σ_y L), from the form itself; the smear takes less than 1 % off a long load."""
    result = pattern(replace(TWIN, load_l=6000.0, speed_mps=57.0, duration_s=4.0))
    ground = (100 - result.evaporated_pct) / 100
    spread = result.inputs["spread_across_m"].value
    assert isinstance(spread, float)
    expected = ground * 6000.0 / (math.sqrt(2 * math.pi) * spread * 57.0 * 4.0)
    assert result.pattern.peak_l_per_m2 == pytest.approx(expected, rel=0.01)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("wind_mps", "simulated_ratio"),
    [
        (5.0, 1.69 / 3.42),
        pytest.param(
            10.0,
            0.98 / 3.42,
            marks=pytest.mark.xfail(
                strict=True, reason="a known miss, docs/drop-model.md: wider in calm, so that wind thins less"
            ),
        ),
    ],
)
def test_crosswind_thins_the_peak_as_simulated(wind_mps: float, simulated_ratio: float) -> None:
    """An earlier, independent simulation at 60 m, 35 °C, 20 %: within a factor of 1.5 of its ratio."""
    base = Release(
        class_id="twin_engine_scooper",
        heading_deg=0.0,
        wind_from_deg=270.0,
        load_l=6000,
        height_m=60,
        temperature_c=35.0,
        humidity_pct=20.0,
    )
    calm, windy = pattern(replace(base, wind_mps=0.0)), pattern(replace(base, wind_mps=wind_mps))
    thinned = windy.pattern.peak_l_per_m2 / calm.pattern.peak_l_per_m2
    assert simulated_ratio / 1.5 < thinned < min(1.5 * simulated_ratio, 1.0)


@pytest.mark.derived
@pytest.mark.parametrize(("wind_mps", "simulated_l_per_m2"), [(5.0, 1.69), (10.0, 0.98)])
def test_the_peak_in_a_crosswind_is_near_the_simulated_one(
    wind_mps: float, simulated_l_per_m2: float
) -> None:
    """The same simulation: within a factor of 1.5 of its peak in wind, of which 10 m/s is the nearer."""
    windy = Release(
        class_id="twin_engine_scooper",
        heading_deg=0.0,
        wind_from_deg=270.0,
        wind_mps=wind_mps,
        load_l=6000,
        speed_mps=57.0,
        duration_s=2.0,
        height_m=60,
        temperature_c=35.0,
        humidity_pct=20.0,
    )
    found = pattern(windy).pattern.peak_l_per_m2
    assert simulated_l_per_m2 / 1.5 < found < 1.5 * simulated_l_per_m2


@pytest.mark.derived
def test_the_spread_of_a_salvo_lies_under_the_bounds_of_the_flow_settings() -> None:
    """σ_y ≤ (Q/U)/(2.507 c): 13.2 m at 77 gal/s and level 0.5, 9.7 m at 450 gal/s and level 4."""
    spread = pattern(TWIN).inputs["spread_across_m"]
    low_flow = 77 * US_GALLON_L / (84 * KNOT) / (math.sqrt(2 * math.pi) * 0.5 * COVERAGE_LEVEL)
    high_flow = 450 * US_GALLON_L / (84 * KNOT) / (math.sqrt(2 * math.pi) * 4 * COVERAGE_LEVEL)
    assert low_flow == pytest.approx(13.2, abs=0.06)
    assert high_flow == pytest.approx(9.7, abs=0.06)
    assert isinstance(spread.value, float)
    assert spread.value < high_flow < low_flow


@pytest.mark.practice
def test_a_twin_scooper_salvo_has_a_core_of_the_size_crews_expect() -> None:
    """Common practice, no source: a useful core of 80–120 × 15–25 m from 100–150 ft. Level 4 here.

    The wetted area is said to be about 200 × 50 m; the contour of 0.2 L/m² must not exceed it.
    """
    for feet in (100.0, 150.0):
        result = pattern(replace(TWIN, height_m=feet * FOOT, wind_mps=0.0))
        width = result.fall.levels["4"].width_m.middle
        assert 80.0 <= result.line_m_by_level["4"] <= 120.0
        assert 15.0 * 0.9 <= width <= 25.0
        assert 120.0 <= result.pattern.length_m <= 200.0
        assert 25.0 <= result.pattern.width_m <= 50.0


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(release=releases)
def test_every_litre_is_found_again(release: Release) -> None:
    result = pattern(release)
    shares = (result.evaporated_pct, result.canopy_pct, result.reaching_ground_pct, result.off_grid_pct)
    assert min(shares) >= 0.0
    assert sum(shares) == pytest.approx(100.0, abs=0.1)


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(release=releases)
def test_lines_fall_with_the_level_and_bands_hold_the_middle(release: Release) -> None:
    result = pattern(release)
    middle = [result.line_m_by_level[k] for k in LEVELS]
    low = [result.line_m_low_by_level[k] for k in LEVELS]
    high = [result.line_m_high_by_level[k] for k in LEVELS]
    assert all(a >= b for a, b in itertools.pairwise(middle))
    assert all(0.0 <= lo <= m <= hi for lo, m, hi in zip(low, middle, high, strict=True))


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(release=releases, less=st.floats(0.5, 0.99))
def test_more_load_never_makes_a_shorter_line(release: Release, less: float) -> None:
    assert release.load_l is not None
    light, heavy = pattern(replace(release, load_l=release.load_l * less)), pattern(release)
    for level in LEVELS:
        assert heavy.line_m_by_level[level] >= light.line_m_by_level[level] - 0.1


@pytest.mark.property
@settings(max_examples=30, deadline=None)
@given(heading=st.floats(0, 360), off=st.floats(-180, 180), wind=st.floats(0.5, 9.0))
def test_wind_from_the_other_side_mirrors_the_pattern(heading: float, off: float, wind: float) -> None:
    def at(angle: float) -> DropResult:
        return pattern(
            replace(TWIN, heading_deg=heading, wind_mps=wind, wind_from_deg=(heading + angle) % 360)
        )

    left, right = at(off), at(-off)
    assert left.drift_right_m == pytest.approx(-right.drift_right_m, abs=1e-6)
    assert left.drift_along_m == pytest.approx(right.drift_along_m, abs=1e-6)
    assert left.release_offset_m["right"] == pytest.approx(-right.release_offset_m["right"], abs=1e-6)
    for level in LEVELS:
        assert left.line_m_by_level[level] == pytest.approx(right.line_m_by_level[level], abs=1e-6)


@pytest.mark.property
@settings(max_examples=30, deadline=None)
@given(turn=st.floats(-300.0, 300.0))
def test_only_the_angle_between_run_and_wind_matters(turn: float) -> None:
    a = pattern(replace(WINDY, heading_deg=10.0, wind_from_deg=50.0))
    b = pattern(replace(WINDY, heading_deg=(10.0 + turn) % 360, wind_from_deg=(50.0 + turn) % 360))
    assert b.drift_right_m == pytest.approx(a.drift_right_m, abs=1e-6)
    assert b.line_m_by_level["2"] == pytest.approx(a.line_m_by_level["2"], abs=1e-6)


@pytest.mark.property
@pytest.mark.parametrize("class_id", CLASSES)
def test_summed_and_unbroken_lines_agree_for_one_load(class_id: str) -> None:
    """One maximum, no gaps: two ways of measuring, half a profile against cells, within half a metre."""
    result = pattern(Release(class_id=class_id))
    for level in LEVELS:
        assert result.line_m_summed_by_level[level] == pytest.approx(result.line_m_by_level[level], abs=0.5)


@pytest.mark.behaviour
def test_wind_from_the_left_carries_the_load_right_and_the_doors_open_to_the_left() -> None:
    result = pattern(replace(TWIN, heading_deg=0.0, wind_mps=5.0, wind_from_deg=270.0))
    assert result.drift_right_m > 10.0
    assert result.release_offset_m["right"] == pytest.approx(-result.drift_right_m)
    assert result.half_width_m > result.drift_right_m
    assert result.stand_off_m >= result.half_width_m


@pytest.mark.behaviour
def test_a_headwind_lays_the_load_short_so_the_doors_open_later() -> None:
    head = pattern(replace(TWIN, heading_deg=0.0, wind_mps=5.0, wind_from_deg=0.0))
    calm = pattern(replace(TWIN, wind_mps=0.0))
    assert head.drift_along_m < 0.0
    assert calm.release_offset_m["along"] < head.release_offset_m["along"] < 0.0


@pytest.mark.behaviour
@pytest.mark.parametrize("class_id", CLASSES)
def test_every_value_used_is_told_with_its_origin(class_id: str) -> None:
    inputs = pattern(Release(class_id=class_id)).inputs
    for name in ("load_l", "height_m", "speed_mps"):
        assert inputs[name].origin == "class"
        assert inputs[name].source
    for name in ("temperature_c", "humidity_pct"):
        assert inputs[name].origin == "default"
    assert inputs["spread_across_m"].origin == "computed"
    assert pattern(Release(class_id=class_id, load_l=500.0)).inputs["load_l"].origin == "given"


@pytest.mark.published
def test_a_single_engine_tanker_under_sixty_feet_is_stopped() -> None:
    """Interagency single-engine tanker guide: never below 60 ft above canopy (public copy)."""
    tanker = Release(class_id="single_engine_tanker")
    assert "height_min/stop" in _codes(pattern(replace(tanker, height_m=59 * FOOT)))
    assert "height_min/stop" not in _codes(pattern(replace(tanker, height_m=60.5 * FOOT)))


@pytest.mark.behaviour
def test_below_the_safe_height_a_caution_stands() -> None:
    safe = pattern(TWIN).safe_height_m
    assert "height_safe/caution" in _codes(pattern(replace(TWIN, height_m=safe - 1.0)))
    assert "height_safe/caution" not in _codes(pattern(replace(TWIN, height_m=safe + 1.0)))


@pytest.mark.published
@pytest.mark.parametrize("class_id", ["single_engine_tanker", "large_tanker", "single_engine_scooper"])
def test_the_formula_says_for_whom_it_was_not_made(class_id: str) -> None:
    """MTDC 0057-2317: not accurate for constant flow tanks and single-engine aircraft."""
    assert "height_safe/unknown" in _codes(pattern(Release(class_id=class_id)))
    assert "height_safe/unknown" not in _codes(pattern(TWIN))


@pytest.mark.behaviour
def test_what_is_unknown_is_said_and_not_called_clear() -> None:
    assert "wind/unknown" in _codes(pattern(TWIN))
    assert "height_min/unknown" in _codes(pattern(Release(class_id="light_helicopter")))
    wooded = pattern(replace(TWIN, canopy_m=18.0))
    assert "data_missing/unknown" in _codes(wooded)
    assert wooded.canopy_pct == 0.0


@pytest.mark.practice
@pytest.mark.parametrize(("wind_kt", "code"), [(14, None), (16, "caution"), (22, "caution"), (31, "stop")])
def test_wind_over_the_fire_is_judged_by_the_limits(wind_kt: float, code: str | None) -> None:
    codes = _codes(pattern(replace(WINDY, wind_mps=wind_kt * KNOT)))
    assert [c for c in codes if c.startswith("wind/")] == ([f"wind/{code}"] if code else [])


@pytest.mark.derived
def test_a_dense_canopy_lets_a_third_through() -> None:
    """exp(−0.25 · 4) = 0.37 of what arrives, an extrapolation of published spray-rig interception."""
    result = pattern(replace(TWIN, canopy_m=18.0, leaf_area=4.0))
    arriving = 100.0 - result.evaporated_pct
    assert result.canopy_pct / arriving == pytest.approx(0.63, abs=0.005)
    assert result.line_m_by_level["4"] < pattern(TWIN).line_m_by_level["4"]


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "wrong",
    [
        replace(TWIN, load_l=0.0),
        replace(TWIN, height_m=1.0),
        replace(TWIN, speed_mps=300.0),
        replace(TWIN, temperature_c=70.0),
        replace(TWIN, humidity_pct=0.0),
        replace(TWIN, leaf_area=50.0),
        replace(TWIN, load_l=math.nan),
    ],
)
def test_a_number_out_of_range_is_refused(wrong: Release) -> None:
    with pytest.raises(OutsideRangeError):
        pattern(wrong)


@pytest.mark.behaviour
def test_unknown_classes_agents_and_winds_without_direction_are_refused() -> None:
    with pytest.raises(InputError, match="no class that drops"):
        pattern(Release(class_id="supervision"))
    with pytest.raises(InputError, match="agent"):
        pattern(replace(TWIN, agent=cast("Agent", "milk")))
    with pytest.raises(InputError, match="direction"):
        pattern(replace(TWIN, wind_mps=5.0))
    with pytest.raises(InputError, match="trees of 0 m"):
        pattern(replace(TWIN, canopy_m=0.0, leaf_area=2.0))


@pytest.mark.behaviour
@pytest.mark.parametrize("heading_deg", [0.0, 75.0, 210.0])
@pytest.mark.parametrize("class_id", ["twin_engine_scooper", "large_tanker", "medium_helicopter"])
def test_where_the_doors_open_is_told_alike_without_the_pattern(class_id: str, heading_deg: float) -> None:
    release = Release(class_id=class_id, wind_mps=6.0, wind_from_deg=300.0, heading_deg=heading_deg)
    along, right = doors_open_m(release)
    assert pattern(release).release_offset_m == pytest.approx({"along": along, "right": right}, abs=1e-9)
