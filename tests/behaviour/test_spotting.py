"""Spotting: a band, never one number; low confidence said; unknown where trees are unknown."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.forest_maker import START, forest, weather
from wetline.behaviour import (
    Spotting,
    fire_fields,
    spotting,
    spotting_from,
    spotting_surface_albini_1983,
    spotting_torching_albini_1979,
)
from wetline.errors import OutsideRangeError
from wetline.weather import TerrainWind

if TYPE_CHECKING:
    from wetline.ground import Ground

MILE_M, FOOT_M, MPH_MPS = 1609.344, 0.3048, 0.44704
EDGE = [(500_075.0, 5_199_925.0), (500_045.0, 5_199_925.0)]


def _from(ground: Ground, **options: Any) -> Spotting | None:
    wind = options.pop("wind", None)
    fields = fire_fields(
        ground, weather(), start=START, until=START + timedelta(hours=1), wind=wind, **options
    )
    return spotting_from(ground, weather(), fields, START, EDGE, wind=wind)


@pytest.mark.memory
def test_flight_over_level_ground() -> None:
    """From memory, worked by hand: 400 ft up, over trees of 60 ft, 20 mi/h at their tops: 0.313 mi."""
    expected = 0.000718 * 20.0 * math.sqrt(60.0)
    expected *= 0.362 + 0.5 * math.sqrt(400.0 / 60.0) * math.log(400.0 / 60.0)
    found = spotting._flight_mi(np.array([400.0]), np.array([60.0]), np.array([20.0]), at_top=True)
    assert float(found[0]) == pytest.approx(expected, rel=1e-12)
    assert expected == pytest.approx(0.313, abs=0.001)


@pytest.mark.memory
def test_lofting_by_ratio_and_duration() -> None:
    # the four rows as remembered (Albini 1979): a d^b
    ratios = np.array([1.0, 0.7, 0.3])
    assert spotting._lofting(ratios, 3.0) == pytest.approx(
        [4.24 * 3.0**0.332, 3.64 * 3.0**0.391, 2.78 * 3.0**0.418]
    )
    assert spotting._lofting(ratios, 3.5)[2] == 4.70


@pytest.mark.memory
def test_a_surface_fire_in_the_wind() -> None:
    """1000 Btu/ft/s in 20 mi/h: the brand rises to 192 ft and drifts 0.163 mi on the way (from memory)."""
    intensity_kw = 1000.0 * 1054.35 / FOOT_M / 1000.0
    rise_ft = 1.055 * math.sqrt(322.0 * (0.474 * 20.0) ** -1.01 * 1000.0)
    assert rise_ft == pytest.approx(192.4, abs=0.5)
    lowest = 2.2 * rise_ft**0.337 - 4.0
    over_open = 0.362 + 0.5 * math.sqrt(rise_ft / lowest) * math.log(rise_ft / lowest)
    high_mi = 0.000718 * 20.0 * math.sqrt(lowest) * over_open + 0.000278 * 20.0 * rise_ft**0.643
    found = spotting_surface_albini_1983(intensity_kw, 20.0 * MPH_MPS)
    assert found.high_m == pytest.approx(high_mi * MILE_M, rel=1e-6)


@pytest.mark.property
@given(height=st.floats(1.0, 60.0), wind=st.floats(0.5, 25.0))
def test_the_band_of_torching_trees_holds_its_middle_and_goes_with_the_wind(
    height: float, wind: float
) -> None:
    found, doubled = (spotting_torching_albini_1979(height, w) for w in (wind, 2.0 * wind))
    assert 0.0 < found.low_m < found.distance_m < found.high_m
    for name in ("low_m", "distance_m", "high_m"):
        assert getattr(doubled, name) == pytest.approx(2.0 * getattr(found, name))


@pytest.mark.property
@given(
    intensity=st.floats(50.0, 50_000.0),
    wind=st.floats(0.5, 25.0),
    more=st.floats(1.05, 3.0),
    cover=st.floats(0.0, 30.0),
)
def test_a_hotter_surface_fire_spots_farther(
    intensity: float, wind: float, more: float, cover: float
) -> None:
    found = spotting_surface_albini_1983(intensity, wind, cover_m=cover)
    hotter = spotting_surface_albini_1983(intensity * more, wind, cover_m=cover)
    assert 0.0 <= found.low_m <= found.distance_m <= found.high_m
    assert hotter.high_m > found.high_m
    assert hotter.distance_m >= found.distance_m


@pytest.mark.property
def test_in_calm_nothing_is_carried() -> None:
    for found in (spotting_torching_albini_1979(20.0, 0.0), spotting_surface_albini_1983(5000.0, 0.0)):
        assert (found.low_m, found.distance_m, found.high_m) == (0.0, 0.0, 0.0)
    assert spotting_surface_albini_1983(0.0, 8.0).high_m == 0.0


@pytest.mark.behaviour
def test_every_answer_says_how_little_it_is_to_be_trusted() -> None:
    answers = (
        spotting_torching_albini_1979(20.0, 6.0),
        spotting_surface_albini_1983(5000.0, 6.0),
        _from(forest()),
        _from(forest(fuel=101, cover=0.0, height_m=0.0)),
        _from(forest(base_m=15.0, height_m=30.0)),
        _from(forest(fuel=99)),
    )
    for answer in answers:
        assert answer is not None
        assert any("low confidence" in note for note in answer.notes)


@pytest.mark.behaviour
def test_along_an_edge_torching_trees_and_open_ground_send_their_own() -> None:
    wind_mps = 14.0 / 1.15
    trees = _from(forest())
    assert trees is not None
    alone = spotting_torching_albini_1979(18.0, wind_mps)
    assert trees.from_what == "torching trees"
    assert (trees.low_m, trees.distance_m, trees.high_m) == pytest.approx(
        (alone.low_m, alone.distance_m, alone.high_m)
    )
    grass = forest(fuel=101, cover=0.0, height_m=0.0, base_m=0.0, bulk=0.0)
    fields = fire_fields(grass, weather(), start=START, until=START + timedelta(hours=1))
    found = spotting_from(grass, weather(), fields, START, EDGE)
    assert found is not None
    alone = spotting_surface_albini_1983(float(fields.head_intensity_kw_per_m[0, 2, 2]), wind_mps)
    assert found.from_what == "wind-driven surface fire"
    assert found.distance_m == pytest.approx(alone.distance_m, rel=1e-5)


@pytest.mark.behaviour
def test_trees_that_do_not_torch_by_the_models_still_make_the_high_end() -> None:
    found = _from(forest(base_m=15.0, height_m=30.0))
    assert found is not None
    assert (found.low_m, found.distance_m) == (0.0, 0.0)
    assert found.high_m == pytest.approx(spotting_torching_albini_1979(30.0, 14.0 / 1.15).high_m)
    assert any("too late" in note for note in found.notes)


@pytest.mark.behaviour
def test_what_is_not_known_to_torch_is_taken_as_torching() -> None:
    for found, words in (
        (_from(forest(base_m=None)), "not known whether trees torch"),
        (_from(forest(), crowning=None), "every tree along the edge is taken as torching"),
    ):
        assert found is not None
        assert found.distance_m > 0.0
        assert any(words in note for note in found.notes)


@pytest.mark.behaviour
def test_unknown_trees_and_unknown_fuel_give_no_number() -> None:
    assert _from(forest(height_m=None)) is None
    assert _from(forest(height_m=math.nan)) is None
    assert _from(replace(forest(), fuel=np.full((5, 5), -1, np.int16))) is None
    fields = fire_fields(forest(), weather(), start=START, until=START + timedelta(hours=1))
    assert spotting_from(forest(), weather(), fields, START, []) is None
    half = forest()
    assert half.canopy_height_m is not None
    half.canopy_height_m[2, 1] = np.nan
    found = _from(half)
    assert found is not None
    assert any("unknown at 1 points" in note for note in found.notes)


@pytest.mark.behaviour
def test_an_active_crown_fire_has_no_known_upper_end() -> None:
    found = _from(forest())
    assert found is not None
    assert any("no upper end is known" in note for note in found.notes)


@pytest.mark.behaviour
def test_where_nothing_spreads_it_says_so() -> None:
    found = _from(forest(fuel=99))
    assert found is not None
    assert (found.from_what, found.high_m) == ("nothing spreads", 0.0)


@pytest.mark.derived
def test_wind_bent_by_terrain_carries_brands_as_it_blows() -> None:
    ground = forest()
    half = np.array([[0.0, 0.5], [-0.5, 0.0]], np.float32)  # half as fast, turned by a right angle
    wind = TerrainWind(grid=ground.grid, response=np.broadcast_to(half, (5, 5, 2, 2)).copy())
    bent = _from(ground, wind=wind)
    assert bent is not None
    assert bent.high_m == pytest.approx(spotting_torching_albini_1979(18.0, 7.0 / 1.15).high_m)


@pytest.mark.derived
def test_wind_computed_over_a_part_of_the_ground_is_read_where_it_blows() -> None:
    """The wind of each cell is its own multiple; one that begins elsewhere on the ground must not shift it."""
    ground = forest(n=7)
    whole = np.arange(1.0, 50.0).reshape(7, 7)[..., None, None] * np.eye(2) / 20.0
    part, rows, cols = ground.grid.window(500_065.0, 5_199_765.0, 500_205.0, 5_199_935.0)
    wind = TerrainWind(
        grid=part,
        response=whole[rows, cols].astype(np.float32),
        first_row=rows.start,
        first_col=cols.start,
    )
    assert rows.start > 0
    assert cols.start > 0
    fields = fire_fields(
        ground, weather(), start=START, until=START + timedelta(hours=1), grid=part, wind=wind
    )
    x, y = (float(v) for v in part.xy(1, 1))
    found = spotting_from(ground, weather(), fields, START, [(x, y)], wind=wind)
    there = 14.0 / 1.15 * float(whole[rows.start + 1, cols.start + 1, 0, 0])
    assert found is not None
    assert found.high_m == pytest.approx(spotting_torching_albini_1979(18.0, there).high_m, rel=1e-5)


@pytest.mark.behaviour
def test_a_window_reads_the_grounds_own_trees() -> None:
    ground = forest(n=7)
    assert ground.canopy_height_m is not None
    ground.canopy_height_m[:, :3] = 30.0
    part, _, _ = ground.grid.window(500_095.0, 5_199_795.0, 500_205.0, 5_199_995.0)
    fields = fire_fields(ground, weather(), start=START, until=START + timedelta(hours=1), grid=part)
    x, y = (float(v) for v in part.xy(0, 0))
    found = spotting_from(ground, weather(), fields, START, [(x, y)])
    assert found is not None
    assert found.high_m == pytest.approx(spotting_torching_albini_1979(18.0, 14.0 / 1.15).high_m)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: spotting_torching_albini_1979(-1.0, 5.0), "tree_height_m"),
        (lambda: spotting_torching_albini_1979(20.0, math.nan), "wind_20ft_mps"),
        (lambda: spotting_surface_albini_1983(-1.0, 5.0), "intensity_kw_per_m"),
        (lambda: spotting_surface_albini_1983(100.0, 5.0, cover_m=500.0), "cover_m"),
    ],
)
def test_what_lies_outside_the_range_is_refused(call: Any, field: str) -> None:
    with pytest.raises(OutsideRangeError, match=field):
        call()


@pytest.mark.behaviour
def test_a_time_or_place_that_is_not_covered_is_refused() -> None:
    fields = fire_fields(forest(), weather(), start=START, until=START + timedelta(hours=1))
    with pytest.raises(LookupError):
        spotting_from(forest(), weather(), fields, START + timedelta(hours=2), EDGE)
    with pytest.raises(LookupError):
        spotting_from(forest(), weather(), fields, START, [(0.0, 0.0)])
