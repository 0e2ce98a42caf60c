"""What every fire system must hold to, asked of each in turn."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from behaviour.system_maker import (
    BARE,
    BURNS,
    CROWNLESS,
    START,
    SYSTEMS,
    fields,
    flat,
    rolling,
    tilted,
    weather,
)
from wetline.behaviour import FireFields, Variation
from wetline.weather import TerrainWind

pytestmark = [pytest.mark.property, pytest.mark.parametrize("name", list(SYSTEMS))]
TWO_HOURS = weather((3.0, 9.0), (250.0, 310.0))


def _wind_over_hills(grid_of: FireFields) -> TerrainWind:
    rng = np.random.default_rng(5)
    turn = rng.uniform(-0.6, 0.6, grid_of.grid.shape)
    speed = rng.uniform(0.6, 1.5, grid_of.grid.shape)
    response = speed[..., None, None] * np.moveaxis(
        np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]), (0, 1), (2, 3)
    )
    return TerrainWind(grid=grid_of.grid, response=response.astype(np.float32), notes=("bent",))


def test_values_are_possible(name: str) -> None:
    found = fields(SYSTEMS[name], rolling(name), TWO_HOURS, hours=2.0)
    assert found.head_rate_mps.shape == (2, 24, 24)
    assert np.all(found.head_rate_mps >= 0.0)
    assert np.all(found.head_rate_mps[:, found.burnable] > 0.0)
    assert np.all((found.eccentricity >= 0.0) & (found.eccentricity < 1.0))
    assert np.all((found.head_toward_deg >= 0.0) & (found.head_toward_deg <= 360.0))
    assert np.all(found.head_intensity_kw_per_m[:, found.burnable] > 0.0)
    assert found.notes


def test_what_does_not_burn_stands_still(name: str) -> None:
    where = rolling(name)
    found = fields(SYSTEMS[name], where, TWO_HOURS, hours=2.0)
    bare = where.fuel == BARE[name]
    assert bare.any()
    assert not found.burnable[bare].any()
    assert found.burnable[~bare].all()
    for values in (found.head_rate_mps, found.head_intensity_kw_per_m, found.eccentricity):
        assert np.all(values[:, bare] == 0.0)
    assert found.unknown is None


@pytest.mark.parametrize("wind_from", [0.0, 90.0, 200.0, 270.0])
def test_on_level_ground_the_head_runs_downwind(name: str, wind_from: float) -> None:
    for fuel in BURNS[name]:
        found = fields(SYSTEMS[name], flat(fuel), weather(wind_from_deg=(wind_from,)))
        assert found.head_toward_deg[0] == pytest.approx((wind_from + 180.0) % 360.0, abs=1e-3)


@pytest.mark.parametrize("up", [0.0, 45.0, 135.0, 250.0])
def test_in_calm_the_head_runs_up_the_slope(name: str, up: float) -> None:
    for fuel in BURNS[name]:
        found = fields(SYSTEMS[name], tilted(fuel, up, 0.4), weather((0.0,)))
        turn = (found.head_toward_deg[0, 1:-1, 1:-1] - up + 180.0) % 360.0 - 180.0
        assert turn == pytest.approx(0.0, abs=0.05)


def test_in_calm_on_level_ground_the_fire_is_round(name: str) -> None:
    for fuel in BURNS[name]:
        found = fields(SYSTEMS[name], flat(fuel), weather((0.0,)))
        assert found.eccentricity == pytest.approx(0.0, abs=1e-6)


def test_more_wind_never_slows_the_head(name: str) -> None:
    for fuel in BURNS[name]:
        found = [
            fields(SYSTEMS[name], flat(fuel, 1), weather((3.0,)), variation=Variation(wind_factor=factor))
            for factor in np.arange(0.0, 8.0, 0.4)
        ]
        rate = np.array([f.head_rate_mps[0, 0, 0] for f in found])
        intensity = np.array([f.head_intensity_kw_per_m[0, 0, 0] for f in found])
        assert np.all(np.diff(rate) >= 0.0), fuel
        assert np.all(np.diff(intensity) >= 0.0), fuel


def test_a_steeper_slope_never_slows_the_head(name: str) -> None:
    for fuel in BURNS[name]:
        rates = [
            float(fields(SYSTEMS[name], tilted(fuel, 90.0, t, 3), weather()).head_rate_mps[0, 1, 1])
            for t in (0.0, 0.1, 0.3, 0.5, 0.7, 0.9)
        ]
        assert np.all(np.diff(rates) >= -1e-6), fuel


def test_damper_fuel_never_burns_faster(name: str) -> None:
    for fuel in BURNS[name]:
        rates = [
            float(
                fields(
                    SYSTEMS[name], flat(fuel, 1), weather(), variation=Variation(moisture_add_pct=add)
                ).head_rate_mps[0, 0, 0]
            )
            for add in (-3.0, 0.0, 3.0, 8.0)
        ]
        assert np.all(np.diff(rates) < 0.0), fuel


def test_a_variation_acts_as_it_says(name: str) -> None:
    where, system = rolling(name), SYSTEMS[name]
    given = fields(system, where, TWO_HOURS, hours=2.0)
    fast = fields(system, where, TWO_HOURS, hours=2.0, variation=Variation(spread_factor=1.5))
    assert np.all(fast.head_rate_mps >= 1.5 * given.head_rate_mps * (1.0 - 1e-5))
    assert np.all(fast.head_intensity_kw_per_m >= 1.5 * given.head_intensity_kw_per_m * (1.0 - 1e-5))
    bare = np.isin(where.fuel, CROWNLESS[name])  # a faster surface fire burns more of the crowns
    assert fast.head_rate_mps[:, bare] == pytest.approx(1.5 * given.head_rate_mps[:, bare], rel=1e-5)
    assert fast.head_intensity_kw_per_m[:, bare] == pytest.approx(
        1.5 * given.head_intensity_kw_per_m[:, bare], rel=1e-5
    )
    assert fast.eccentricity == pytest.approx(given.eccentricity, abs=1e-6)
    turned = fields(
        system, where, TWO_HOURS, hours=2.0, variation=Variation(wind_turn_deg=20.0, wind_factor=1.3)
    )
    stronger = weather((3.9, 11.7), (270.0, 330.0))
    as_told = fields(system, where, stronger, hours=2.0)
    assert turned.head_rate_mps == pytest.approx(as_told.head_rate_mps, rel=1e-5)


def test_a_window_is_a_part_of_the_whole(name: str) -> None:
    where, system = rolling(name), SYSTEMS[name]
    whole = fields(system, where, TWO_HOURS, hours=2.0)
    wind = _wind_over_hills(whole)
    west, _, _, north = where.grid.bounds
    part, rows, cols = where.grid.window(west + 100.0, north - 500.0, west + 400.0, north - 200.0)
    for bent in (None, wind):
        whole = fields(system, where, TWO_HOURS, hours=2.0, wind=bent)
        found = fields(system, where, TWO_HOURS, hours=2.0, grid=part, wind=bent)
        for layer in ("head_rate_mps", "head_toward_deg", "eccentricity", "head_intensity_kw_per_m"):
            assert np.array_equal(getattr(found, layer), getattr(whole, layer)[:, rows, cols]), layer
        assert np.array_equal(found.burnable, whole.burnable[rows, cols])


def test_unknown_fuel_and_height_stand_as_unburnable_and_unknown(name: str) -> None:
    where = flat(BURNS[name][0], 6)
    fuel, z = where.fuel.copy(), where.elevation_m.copy()
    fuel[0, 0], fuel[1, 1], z[4, 4] = -1, 777, np.nan
    found = fields(SYSTEMS[name], replace(where, fuel=fuel, elevation_m=z), weather())
    assert found.unknown is not None
    assert {tuple(c) for c in np.argwhere(found.unknown).tolist()} == {(0, 0), (1, 1), (4, 4)}
    assert found.unknown_cells == 3
    assert not found.burnable[found.unknown].any()
    assert np.all(found.head_rate_mps[0, found.unknown] == 0.0)
    assert any("unknown, not safe" in note for note in found.notes)
    for row, col in ((0, 0), (1, 1), (4, 4)):
        x, y = where.grid.xy(row, col)
        with pytest.raises(LookupError):
            SYSTEMS[name].explain(
                replace(where, fuel=fuel, elevation_m=z), weather(), START, float(x), float(y)
            )


@pytest.mark.parametrize("bent", [False, True])
def test_the_reasons_agree_with_the_fields(name: str, bent: bool) -> None:
    where, system = rolling(name), SYSTEMS[name]
    found = fields(system, where, TWO_HOURS, hours=2.0)
    wind = _wind_over_hills(found) if bent else None
    found = fields(system, where, TWO_HOURS, hours=2.0, wind=wind)
    for row, col in [(2, 3), (7, 7), (11, 15), (17, 4), (20, 21), (13, 9), (5, 18)]:
        x, y = (float(v) for v in where.grid.xy(row, col))
        for k in (0, 1):
            moment = START + timedelta(hours=k, minutes=20)
            why = system.explain(where, TWO_HOURS, moment, x, y, wind=wind)
            assert why.rate_mps == pytest.approx(float(found.head_rate_mps[k, row, col]), rel=1e-3, abs=1e-9)
            assert why.intensity_kw_per_m == pytest.approx(
                float(found.head_intensity_kw_per_m[k, row, col]), rel=1e-3, abs=1e-6
            )
            if why.toward_deg is None:
                assert not found.burnable[row, col]
                continue
            turn = (why.toward_deg - float(found.head_toward_deg[k, row, col]) + 180.0) % 360.0 - 180.0
            assert abs(turn) < 0.1


def test_wind_and_slope_share_what_they_add(name: str) -> None:
    fuel, system = BURNS[name][0], SYSTEMS[name]
    where = tilted(fuel, 90.0, 0.3)
    x, y = (float(v) for v in where.grid.xy(3, 3))
    along_slope, calm, against = (
        system.explain(where, weather((speed,), (turn,)), START, x, y)
        for speed, turn in ((5.0, 270.0), (0.0, 270.0), (5.0, 90.0))
    )
    assert along_slope.wind_share is not None
    assert along_slope.slope_share is not None
    level = fields(system, flat(fuel), weather((0.0,))).head_rate_mps[0, 2, 2]
    rest = 1.0 - along_slope.wind_share - along_slope.slope_share
    assert rest == pytest.approx(float(level) / along_slope.rate_mps, rel=2e-3)
    assert calm.wind_share == pytest.approx(0.0, abs=1e-9)
    assert against.slope_share is not None
    assert against.wind_share is not None
    assert against.slope_share * against.wind_share < 0.0


def test_the_same_question_has_the_same_answer(name: str) -> None:
    first, second = (fields(SYSTEMS[name], rolling(name), TWO_HOURS, hours=2.0) for _ in range(2))
    for layer in ("head_rate_mps", "head_toward_deg", "eccentricity", "head_intensity_kw_per_m", "burnable"):
        assert np.array_equal(getattr(first, layer), getattr(second, layer))
    assert first.notes == second.notes


def test_every_number_has_words_and_what_burns_is_listed(name: str) -> None:
    system = SYSTEMS[name]
    assert system.name == name
    assert all(system.fuels.values())
    assert set(BURNS[name]) <= set(system.drop_guide)
    assert BARE[name] not in system.drop_guide
    assert math.isfinite(max(system.fuels))
