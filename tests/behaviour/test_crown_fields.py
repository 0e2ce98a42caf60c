"""Crown fire over the ground: the same as place by place, never silent where it is not known."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from behaviour.forest_maker import PROJECTION, START, forest, weather, wild_forest
from wetline.behaviour import (
    CROWN_UNKNOWN,
    Crowning,
    CrownRate,
    SurfaceModels,
    Variation,
    base_within_reach_m,
    critical_intensity_van_wagner_1977,
    crown_eccentricity,
    crown_fire,
    crown_rate_cruz_2005,
    crown_rate_rothermel_1991,
    eccentricity,
    explain,
    fire_fields,
    length_to_width,
)
from wetline.behaviour.over_ground import CROWNING
from wetline.errors import OutsideRangeError
from wetline.weather import Site, TerrainWind, dead_moisture, live_moisture

if TYPE_CHECKING:
    from wetline.behaviour import FireFields
    from wetline.ground import Ground
    from wetline.weather import Weather

BOTH: tuple[CrownRate, ...] = ("rothermel_1991", "cruz_2005")


def _fields(ground: Ground, given: Weather | None = None, **options: Any) -> FireFields:
    given = weather() if given is None else given
    until = START + timedelta(hours=len(given.time_s))
    return fire_fields(ground, given, start=START, until=until, **options)


def _surface(ground: Ground, given: Weather | None = None, **options: Any) -> FireFields:
    return _fields(ground, given, crowning=None, **options)


@pytest.mark.derived
@pytest.mark.parametrize("rate", BOTH)
def test_the_pass_agrees_with_the_one_place_functions(rate: CrownRate) -> None:
    # level ground, so that the two paths are put together from the published pieces alone
    ground, given = forest(), weather()
    found, surface = (_fields(ground, crowning=c) for c in (Crowning(rate=rate), None))
    here = (0, 2, 2)
    live = live_moisture(given)
    local_hour = 12.0 + PROJECTION.to_lonlat(500_075.0, 5_199_925.0)[0] / 15.0
    site = Site(local_hour=float(local_hour), aspect_deg=180.0)
    dead = dead_moisture(given.at(START), 7, shaded=True, site=site)
    wind_20ft_mps = 14.0 / 1.15
    if rate == "cruz_2005":
        crown_mps = crown_rate_cruz_2005(14.0, 0.2, dead.one_h * 100.0)
        midflame_mps = 0.4 * wind_20ft_mps
    else:
        spread = crown_rate_rothermel_1991(dead, live, wind_20ft_mps=wind_20ft_mps)
        crown_mps, midflame_mps = spread.rate_mps, spread.effective_midflame_mps
    surface_mps = float(surface.head_rate_mps[here])
    expected = crown_fire(
        surface_mps=surface_mps,
        surface_kw_per_m=float(surface.head_intensity_kw_per_m[here]),
        crown_mps=crown_mps,
        base_m=1.5,
        height_m=18.0,
        bulk_kg_per_m3=0.2,
        foliar_moisture_pct=100.0,
    )
    assert expected.kind == "active"
    assert found.crown is not None
    assert np.all(found.crown == 2)
    assert float(found.head_rate_mps[here]) == pytest.approx(expected.rate_mps, rel=1e-5)
    assert float(found.head_intensity_kw_per_m[here]) == pytest.approx(expected.intensity_kw_per_m, rel=1e-5)
    assert float(found.head_toward_deg[here]) == pytest.approx(90.0, abs=1e-3)
    by_wind = float(eccentricity(float(length_to_width(midflame_mps))))
    e = crown_eccentricity(expected.rate_mps, by_wind, surface_mps, float(surface.eccentricity[here]), 0.0)
    assert float(found.eccentricity[here]) == pytest.approx(e, rel=1e-4)


@pytest.mark.property
@pytest.mark.parametrize("rate", BOTH)
@pytest.mark.parametrize("bent", [False, True])
def test_an_explanation_agrees_with_the_fields_cell_by_cell(rate: CrownRate, bent: bool) -> None:
    ground, given = wild_forest(), weather((11.0,), (215.0,))
    wind = None
    if bent:
        turn = np.array([[1.2, 0.3], [-0.2, 0.9]], np.float32)
        response = np.broadcast_to(turn, (*ground.grid.shape, 2, 2)).copy()
        wind = TerrainWind(grid=ground.grid, response=response)
    crowning = Crowning(rate=rate, foliar_moisture_pct=90.0)
    found = _fields(ground, given, crowning=crowning, wind=wind)
    assert found.crown is not None
    kinds: dict[int, str | None] = {0: "surface", 1: "passive", 2: "active", CROWN_UNKNOWN: None}
    assert set(np.unique(found.crown)) == set(kinds)
    rows, cols = ground.grid.shape
    for i in range(rows):
        for j in range(0, cols, 2):
            x, y = (float(v) for v in ground.grid.xy(i, j))
            why = explain(ground, given, START, x, y, crowning=crowning, wind=wind)
            assert why.crown == kinds[int(found.crown[0, i, j])]
            assert why.rate_mps == pytest.approx(float(found.head_rate_mps[0, i, j]), rel=2e-5)
            assert why.intensity_kw_per_m == pytest.approx(
                float(found.head_intensity_kw_per_m[0, i, j]), rel=2e-5
            )
            assert why.toward_deg is not None
            turn_deg = (why.toward_deg - float(found.head_toward_deg[0, i, j]) + 180.0) % 360.0 - 180.0
            assert turn_deg == pytest.approx(0.0, abs=5e-3)
            assert why.wind_share is not None
            assert why.slope_share is not None
            assert why.wind_share + why.slope_share <= 1.0 + 1e-9


@pytest.mark.property
@pytest.mark.parametrize("rate", BOTH)
def test_crown_fire_never_slows_cools_or_narrows_below_the_surface_fire(rate: CrownRate) -> None:
    ground, given = wild_forest(24), weather((3.0, 9.0, 14.0), (200.0, 270.0, 30.0))
    found, surface = (_fields(ground, given, crowning=c) for c in (Crowning(rate=rate), None))
    assert found.crown is not None
    lifted = (found.crown == 1) | (found.crown == 2)
    assert np.all(found.head_rate_mps >= surface.head_rate_mps)
    assert np.all(found.head_intensity_kw_per_m >= surface.head_intensity_kw_per_m)
    assert np.all(found.head_intensity_kw_per_m[lifted] > surface.head_intensity_kw_per_m[lifted])
    assert np.all((found.eccentricity >= 0.0) & (found.eccentricity < 1.0))
    for angle in range(0, 360, 15):
        now, before = (
            f.head_rate_mps
            * (1.0 - f.eccentricity)
            / (1.0 - f.eccentricity * np.cos(np.radians(angle - f.head_toward_deg)))
            for f in (found, surface)
        )
        assert np.all(now >= before * (1.0 - 1e-4)), angle
    for name in ("head_rate_mps", "head_toward_deg", "eccentricity", "head_intensity_kw_per_m"):
        assert np.array_equal(getattr(found, name)[~lifted], getattr(surface, name)[~lifted]), name


@pytest.mark.property
def test_more_wind_or_denser_crowns_never_slow_it() -> None:
    winds, bulks = (0.0, 2.0, 4.0, 6.0, 8.0, 12.0, 20.0), (0.02, 0.05, 0.1, 0.2, 0.4)
    windier = [float(_fields(forest(), weather((w,))).head_rate_mps[0, 2, 2]) for w in winds]
    denser = [float(_fields(forest(bulk=b)).head_rate_mps[0, 2, 2]) for b in bulks]
    assert np.all(np.diff(windier) > 0.0)
    assert np.all(np.diff(denser) >= 0.0)
    assert denser[-1] > denser[0]


@pytest.mark.property
def test_there_is_no_crown_fire_without_trees_or_with_high_crowns() -> None:
    for ground in (
        forest(cover=0.0, height_m=0.0, base_m=0.0, bulk=0.0),
        forest(base_m=15.0, height_m=30.0),
        forest(fuel=99),
    ):
        found, surface = _fields(ground), _surface(ground)
        assert found.crown is not None
        assert not found.crown.any()
        for name in ("head_rate_mps", "head_toward_deg", "eccentricity", "head_intensity_kw_per_m"):
            assert np.array_equal(getattr(found, name), getattr(surface, name))


@pytest.mark.property
def test_a_window_holds_the_same_crown_fire_as_the_whole() -> None:
    ground = wild_forest()
    whole = _fields(ground)
    west, north = ground.grid.west_m, ground.grid.north_m
    part, rows, cols = ground.grid.window(west + 100, north - 330, west + 290, north - 70)
    found = _fields(ground, grid=part)
    assert found.crown is not None
    assert whole.crown is not None
    assert np.array_equal(found.crown, whole.crown[:, rows, cols])
    assert np.array_equal(found.head_rate_mps, whole.head_rate_mps[:, rows, cols])


@pytest.mark.property
def test_a_varied_fire_crowns_by_its_own_intensity() -> None:
    ground = forest(base_m=8.0)
    base = float(_surface(ground).head_intensity_kw_per_m[0, 2, 2])
    factor = 1.05 * critical_intensity_van_wagner_1977(8.0, 100.0) / base
    assert factor > 1.05, "the fire as given must stay below the crowns"
    calm, strong = (_fields(ground, variation=Variation(spread_factor=f)) for f in (1.0, factor))
    assert calm.crown is not None
    assert strong.crown is not None
    assert not calm.crown.any()
    assert np.all(strong.crown > 0)


@pytest.mark.derived
def test_a_spread_factor_multiplies_an_active_crown_fire() -> None:
    base, faster = (_fields(forest(), variation=Variation(spread_factor=f)) for f in (1.0, 1.5))
    assert np.allclose(faster.head_rate_mps, 1.5 * base.head_rate_mps, rtol=1e-5)
    assert np.allclose(faster.head_intensity_kw_per_m, 1.5 * base.head_intensity_kw_per_m, rtol=1e-5)


@pytest.mark.behaviour
@pytest.mark.parametrize("lacking", ["base_m", "bulk", "height_m"])
def test_trees_of_which_too_little_is_known_are_unknown_and_said(lacking: str) -> None:
    changed: dict[str, Any] = {lacking: None}
    ground = forest(**changed)
    found, surface = _fields(ground), _surface(ground)
    assert found.crown is not None
    assert np.all(found.crown == CROWN_UNKNOWN)
    assert np.array_equal(found.head_rate_mps, surface.head_rate_mps)
    hottest = float(surface.head_intensity_kw_per_m.max())
    (note,) = (n for n in found.notes if "Crown fire unknown" in n)
    assert "in 25 cells with trees" in note
    assert "too late" in note
    assert f"below {base_within_reach_m(hottest, 100.0):.1f} m" in note
    why = explain(ground, weather(), START, 500_075.0, 5_199_925.0)
    assert why.crown is None
    assert any("Crown fire unknown" in n for n in why.notes)


@pytest.mark.behaviour
def test_a_surface_fire_too_cool_for_the_crowns_is_known_without_their_density() -> None:
    found = _fields(forest(base_m=15.0, height_m=30.0, bulk=None))
    assert found.crown is not None
    assert not found.crown.any()


@pytest.mark.behaviour
def test_a_base_above_the_trees_and_a_density_of_zero_are_no_knowledge() -> None:
    above = _fields(forest(base_m=20.0, height_m=10.0))
    assert above.crown is not None
    assert np.all(above.crown == CROWN_UNKNOWN)
    assert any("above the trees' height in 25 cells" in note for note in above.notes)
    empty = _fields(forest(bulk=0.0))
    assert empty.crown is not None
    assert np.all(empty.crown == CROWN_UNKNOWN)


@pytest.mark.behaviour
def test_crowns_as_high_as_the_trees_are_no_knowledge() -> None:
    """A crown without depth would burn as surface fire however hot it is."""
    ground = forest(base_m=10.0, height_m=10.0)
    found = _fields(ground)
    assert found.crown is not None
    assert np.all(found.crown == CROWN_UNKNOWN)
    assert any("at or above the trees' height in 25 cells" in note for note in found.notes)
    why = explain(ground, weather(), START, 500_075.0, 5_199_925.0)
    assert why.crown is None


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "treeless",
    [{"cover": 0.0, "height_m": 0.0}, {"cover": None, "height_m": 0.0}, {"cover": 0.0, "height_m": None}],
)
@pytest.mark.parametrize("crowns", [{"bulk": 0.2, "base_m": 15.0}, {"bulk": None}, {"base_m": None}])
def test_crowns_where_the_other_layers_know_no_trees_are_unknown_not_clear(
    treeless: dict[str, Any], crowns: dict[str, Any]
) -> None:
    ground = forest(**{**treeless, **crowns})
    found = _fields(ground)
    assert found.crown is not None
    assert np.all(found.crown == CROWN_UNKNOWN)
    assert any("25 cells have crowns but neither cover nor height" in note for note in found.notes)
    why = explain(ground, weather(), START, 500_075.0, 5_199_925.0)
    assert why.crown is None


@pytest.mark.behaviour
def test_the_blur_of_crowns_beside_a_wood_is_no_contradiction() -> None:
    """Interpolation carries density and base one cell beyond the last tree."""
    ground = forest(n=7)
    for layer in (ground.canopy_cover, ground.canopy_height_m):
        assert layer is not None
        layer[:, 3:] = 0.0
    found = _fields(ground)
    assert found.crown is not None
    assert np.all(found.crown[:, :, 3] == 0)
    assert np.all(found.crown[:, :, 4:] == CROWN_UNKNOWN)
    whole, (part, rows, cols) = (
        found.crown,
        ground.grid.window(500_091.0, 5_199_931.0, 500_149.0, 5_199_989.0),
    )
    seen = _fields(ground, grid=part).crown
    assert seen is not None
    assert np.array_equal(seen, whole[:, rows, cols])


@pytest.mark.behaviour
def test_without_canopy_or_when_switched_off_it_is_not_told_and_said() -> None:
    bare = forest(cover=None, height_m=None, base_m=None, bulk=None)
    found = _fields(bare)
    assert found.crown is None
    hottest = float(found.head_intensity_kw_per_m.max())
    (note,) = (n for n in found.notes if "no canopy layer, so" in n)
    assert f"below {base_within_reach_m(hottest, 100.0):.1f} m" in note
    off = SurfaceModels(crown_fire=False)
    fields = off.fields(forest(), weather(), start=START, until=START + timedelta(hours=1))
    assert fields.crown is None
    assert any("switched off" in n for n in fields.notes)
    why = off.explain(forest(), weather(), START, 500_075.0, 5_199_925.0)
    assert why.crown is None
    assert any("switched off" in n for n in why.notes)


@pytest.mark.behaviour
def test_the_known_fault_of_the_models_is_said_wherever_crown_fire_is_told() -> None:
    notes = " ".join(_fields(forest()).notes)
    assert "too late" in notes
    assert "Cruz and Alexander 2010" in notes
    assert "active in 25 cells" in notes
    assert "no slope" not in notes
    assert "no slope" in " ".join(_fields(forest(), crowning=Crowning(rate="cruz_2005")).notes)
    why = explain(forest(), weather(), START, 500_075.0, 5_199_925.0)
    assert any("Cruz and Alexander 2010" in n for n in why.notes)


@pytest.mark.behaviour
def test_the_worst_hour_is_one_hour() -> None:
    """A wind that makes crowns burn as a wall leaves few to torch: the two numbers belong together."""
    found = _fields(forest(bulk=0.12), weather((3.0, 14.0, 5.0), (270.0, 270.0, 270.0)))
    assert found.crown is not None
    active, passive = (np.count_nonzero(found.crown == kind, axis=(1, 2)) for kind in (2, 1))
    assert (active.max(), passive.max()) == (25, 25)
    worst = int(np.argmax(active))
    (note,) = (n for n in found.notes if "worst hour" in n)
    assert f"active in {active[worst]} cells, passive in {passive[worst]}." in note
    assert passive[worst] == 0


@pytest.mark.behaviour
def test_among_hours_without_active_crown_fire_the_worst_has_most_torching() -> None:
    ground = forest(bulk=0.02, base_m=4.0)
    assert ground.canopy_base_m is not None
    ground.canopy_base_m[:3] = 1.0
    found = _fields(ground, weather((1.0, 14.0), (270.0, 270.0)))
    assert found.crown is not None
    passive = np.count_nonzero(found.crown == 1, axis=(1, 2))
    assert passive[0] < passive[1]
    assert any(f"active in 0 cells, passive in {passive[1]}." in n for n in found.notes)


@pytest.mark.behaviour
def test_the_fault_that_is_said_is_that_of_the_rate_taken() -> None:
    rothermel, cruz = (
        next(n for n in _fields(forest(), crowning=Crowning(rate=rate)).notes if "Crown fire by" in n)
        for rate in BOTH
    )
    assert "1.7 times" in rothermel
    assert "1.7 times" not in cruz
    assert "Rothermel" not in cruz
    assert "not known" in cruz


@pytest.mark.behaviour
def test_foliar_moisture_delays_crowning_and_has_a_range() -> None:
    assert Crowning() == CROWNING
    with pytest.raises(OutsideRangeError, match="foliar_moisture_pct"):
        SurfaceModels(foliar_moisture_pct=20.0)
    intensity = float(_surface(forest()).head_intensity_kw_per_m[0, 2, 2])
    ground = forest(base_m=base_within_reach_m(intensity, 110.0))
    dry, moist = (_fields(ground, crowning=Crowning(foliar_moisture_pct=f)) for f in (60.0, 200.0))
    assert dry.crown is not None
    assert moist.crown is not None
    assert np.all(dry.crown > 0)
    assert not moist.crown.any()


@pytest.mark.behaviour
def test_an_impossible_base_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match="base_m"):
        _fields(forest(base_m=80.0, height_m=100.0))


@pytest.mark.behaviour
def test_very_steep_ground_is_said_and_impossible_ground_refused() -> None:
    rise = np.tile(np.arange(5, dtype=np.float32) * 45.0, (5, 1))  # 150 %
    steep = replace(forest(), elevation_m=np.float32(500.0) + rise)
    assert any("cells are steeper than 100 %" in n for n in _fields(steep).notes)
    wall = replace(forest(), elevation_m=np.float32(500.0) + np.float32(10.0) * rise)
    with pytest.raises(OutsideRangeError, match="slope_tan"):
        _fields(wall)
    with pytest.raises(OutsideRangeError, match="slope_tan"):
        explain(wall, weather(), START, 500_075.0, 5_199_925.0)


@pytest.mark.behaviour
def test_fuel_too_damp_to_burn_and_a_wind_limit_that_binds_are_said() -> None:
    damp = _fields(forest(fuel=1), weather(humidity_pct=98.0))
    assert not damp.head_rate_mps.any()
    assert any("In up to 25 cells" in n and "extinction" in n for n in damp.notes)
    assert not any("extinction" in n for n in _fields(forest(fuel=1)).notes)
    open_grass = forest(fuel=101, cover=None, height_m=None, base_m=None, bulk=None)
    limited = _fields(open_grass, weather((25.0,)), wind_limit="rothermel_1972")
    assert any("The wind limit holds the fire back in up to 25 cells" in n for n in limited.notes)
    gentle = _fields(open_grass, weather((1.0,)), wind_limit="rothermel_1972")
    assert not any("wind limit" in n for n in gentle.notes)


@pytest.mark.behaviour
def test_no_number_is_left_unknown_in_silence() -> None:
    found = _fields(wild_forest(24), weather((0.0, 30.0), (10.0, 190.0)))
    for name in ("head_rate_mps", "head_toward_deg", "eccentricity", "head_intensity_kw_per_m"):
        assert np.all(np.isfinite(getattr(found, name)))
    assert not math.isnan(float(found.head_rate_mps.sum()))
