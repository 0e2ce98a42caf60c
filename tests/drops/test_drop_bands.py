"""Bands of drift, release, evaporation and shares: from inputs varied by stated ranges."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from wetline.drops import Release, pattern, resolve
from wetline.drops.bands import joined
from wetline.drops.varied import flown_otherwise, varied

if TYPE_CHECKING:
    from wetline.model import Band

TWIN = Release(class_id="twin_engine_scooper")
CROSS = replace(TWIN, heading_deg=0.0, wind_mps=5.0, wind_from_deg=270.0)


def _inside(band: Band) -> bool:
    assert band.low is not None
    assert band.high is not None
    return band.low <= band.middle <= band.high


@pytest.mark.derived
def test_changes_join_as_the_root_of_their_squares() -> None:
    """By hand: inputs that move 10 by −3/+3 and −4/+4 give 10 ± 5; one that only lowers raises nothing."""
    band = joined(np.array([10.0, 7.0, 13.0, 6.0, 14.0]))
    assert (band.low, band.high) == pytest.approx((5.0, 15.0))
    one_sided = joined(np.array([10.0, 9.0, 8.0]))
    assert (one_sided.low, one_sided.high) == pytest.approx((8.0, 10.0))


@pytest.mark.behaviour
def test_every_band_holds_its_middle() -> None:
    for release in (TWIN, CROSS, replace(CROSS, leaf_area=1.5), replace(CROSS, canopy_m=15.0)):
        fall = pattern(release).fall
        for band in (fall.evaporated_pct, fall.canopy_pct, fall.reaching_ground_pct, fall.release_along_m):
            assert _inside(band)
        for at in fall.levels.values():
            assert _inside(at.width_m)
            assert _inside(at.area_m2)
            assert _inside(at.line_summed_m)


@pytest.mark.behaviour
def test_without_a_wind_nobody_knows_how_far_it_drifts() -> None:
    fall = pattern(TWIN).fall
    for band in (fall.drift_along_m, fall.drift_right_m, fall.release_right_m):
        assert (band.low, band.high) == (None, None)
    calm = pattern(replace(TWIN, wind_mps=0.0)).fall
    assert (calm.drift_right_m.low, calm.drift_right_m.high) == (0.0, 0.0)


@pytest.mark.behaviour
def test_a_wind_that_may_turn_gives_a_drift_to_either_side_of_a_run_along_it() -> None:
    tail = pattern(replace(CROSS, wind_from_deg=180.0)).fall
    assert tail.drift_along_m.middle > 0.0
    assert tail.drift_right_m.low is not None
    assert tail.drift_right_m.high is not None
    assert tail.drift_right_m.low < -1.0 < 1.0 < tail.drift_right_m.high


@pytest.mark.property
@pytest.mark.parametrize("wind", [2.0, 5.0, 8.0])
def test_the_band_of_drift_widens_with_the_wind(wind: float) -> None:
    def width(mps: float) -> float:
        band = pattern(replace(CROSS, wind_mps=mps)).fall.drift_right_m
        assert band.low is not None
        assert band.high is not None
        return band.high - band.low

    assert width(wind + 1.0) > width(wind)


@pytest.mark.property
def test_flying_otherwise_turns_and_scales_the_wind_and_nothing_else() -> None:
    resolved = resolve(CROSS)
    cases = flown_otherwise(resolved)
    speed = np.hypot(resolved.wind_along_mps, resolved.wind_right_mps)
    speeds = [np.hypot(c.wind_along_mps, c.wind_right_mps) / speed for c in cases]
    wind = varied("wind_share")
    assert speeds == pytest.approx([1, 1, 1, 1, wind.low, wind.high, 1, 1])
    assert all(c.load_l == resolved.load_l and c.flow == resolved.flow for c in cases)
    assert len(flown_otherwise(resolve(TWIN))) == 4


@pytest.mark.property
@pytest.mark.parametrize("wind_mps", [0.0, 6.0])
def test_higher_evaporates_more_and_drifts_farther(wind_mps: float) -> None:
    heights = (20.0, 40.0, 80.0, 160.0)
    results = [pattern(replace(CROSS, wind_mps=wind_mps, height_m=h)) for h in heights]
    evaporated = [r.evaporated_pct for r in results]
    assert evaporated == sorted(evaporated)
    assert len(set(evaporated)) == len(heights)
    drift = [r.drift_right_m for r in results]
    assert drift == sorted(drift)


@pytest.mark.derived
@pytest.mark.parametrize(("leaf_area", "held"), [(1.0, 22.1), (2.18, 42.0), (4.0, 63.2)])
def test_the_canopy_holds_by_its_leaf_area(leaf_area: float, held: float) -> None:
    """1 − exp(−0.25 LAI), by hand, of what has not evaporated; k from published spray-rig interception."""
    result = pattern(replace(TWIN, leaf_area=leaf_area))
    assert result.canopy_pct / (100.0 - result.evaporated_pct) == pytest.approx(held / 100.0, abs=5e-4)
    extrapolated = any("extrapolated" in f.message for f in result.findings)
    assert extrapolated == (leaf_area > 2.2)


@pytest.mark.behaviour
def test_trees_of_unknown_leaves_may_hold_much() -> None:
    result = pattern(replace(TWIN, canopy_m=20.0))
    assert not result.fall.canopy_known
    assert (result.fall.canopy_pct.high or 0.0) > 60.0
    assert (result.fall.reaching_ground_pct.low or 0.0) < 40.0
    assert pattern(TWIN).fall.canopy_known
