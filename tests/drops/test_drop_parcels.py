"""The compiled fall of single drops against an independent integration and a table worked out beforehand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from wetline.drops._kernels import parcels as k
from wetline.drops.curtain import steps_s
from wetline.drops.drag import ROOT_REYNOLDS_STEP, SIZE_STEP_M, WEBER_STEP, drop_drag
from wetline.drops.liquid import liquid
from wetline.drops.moist_air import moist_air
from wetline.drops.parcels import normal_quantiles
from wetline.drops.release import Release
from wetline.drops.resolve import resolve
from wetline.drops.vapour import reach_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

WATER = liquid("water")


@dataclass(frozen=True)
class Landed:
    out: NDArray[np.float64]
    size_m: NDArray[np.float64]
    state: NDArray[np.int64]


def fallen(
    sizes_m: list[float],
    height_m: float,
    *,
    air_c: float = 25.0,
    humidity_pct: float = 50.0,
    forward_mps: float = 0.0,
    near: bool = True,
) -> Landed:
    """Lone drops in calm, open air: no column, no curtain, no wake."""
    air = moist_air(air_c, humidity_pct)
    drag = drop_drag(WATER, air)
    steps = steps_s(10.0)
    still = np.zeros((1, steps.size, k.COLUMNS))
    still[:, :, k.KEEP], still[:, :, k.DRY], still[:, :, k.FRONT] = 1.0, 1.0, 1e9
    size = np.array(sizes_m)
    count = size.size
    start = np.zeros((count, 9))
    start[:, 3] = forward_mps
    out, state = np.zeros((count, 8)), np.zeros(count, np.int64)
    profile = np.zeros(int(height_m * 2) + 3)
    loss = 4.0 * air.diffusivity_m2_per_s * air.deficit_kg_per_m3 / WATER.density_kg_per_m3
    if near:
        k.near_field(
            1, height_m, steps, still, np.zeros(count, np.int64), start, size, profile, 0.5,
            normal_quantiles(k.NORMALS), drag.sphere, ROOT_REYNOLDS_STEP, drag.flattening, WEBER_STEP,
            drag.terminal_mps, SIZE_STEP_M, air.density_kg_per_m3, air.viscosity_pa_s,
            WATER.density_kg_per_m3, WATER.surface_tension_n_per_m, WATER.viscosity_pa_s,
            air.schmidt ** (1.0 / 3.0), loss, 1.2, 7.0, 0.1, 0.0, 7.0, out, state,
        )  # fmt: skip
    else:
        out[:, 2], out[:, 7] = height_m, 1.0
    resolved = resolve(Release(class_id="twin_engine_scooper", height_m=height_m))
    k.long_fall(
        np.full(count, air.deficit_kg_per_m3 / 1e-3), reach_m(resolved, drag, air), drag.terminal_mps,
        SIZE_STEP_M, np.zeros(profile.size), 0.5, 0.1, 0.0, out, size, state,
    )  # fmt: skip
    return Landed(out, size, state)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct", "diameter_mm", "lost_pct"),
    [
        (20, 50, 0.5, (17, 34, 55)),
        (20, 50, 1.0, (3.7, 7.3, 12, 29)),
        (20, 50, 2.0, (0.94, 1.9, 3.1, 7.7)),
        (20, 50, 5.0, (0.19, 0.38, 0.63, 1.6)),
        (25, 50, 1.0, (4.3, 8.6, 14, 34)),
        (25, 50, 3.0, (0.52, 1.0, 1.7, 4.2)),
        (35, 20, 0.5, (45, 84)),
        (35, 20, 1.0, (9.8, 19, 31, 72)),
        (35, 20, 2.0, (2.5, 5.0, 8.2, 20)),
        (35, 20, 5.0, (0.5, 1.0, 1.7, 4.2)),
    ],
)
def test_lone_drops_lose_over_30_60_100_and_250_m_what_was_worked_out_beforehand(
    temperature_c: float, humidity_pct: float, diameter_mm: float, lost_pct: tuple[float, ...]
) -> None:
    """At terminal speed all the way, in the open air's own vapour: to the two digits told, 5 %."""
    for height_m, expected in zip((30, 60, 100, 250), lost_pct, strict=False):
        landed = fallen(
            [1e-3 * diameter_mm], height_m, air_c=temperature_c, humidity_pct=humidity_pct, near=False
        )
        assert 100.0 * (1.0 - landed.out[0, 7]) == pytest.approx(expected, rel=0.05)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("diameter_mm", "forward_mps", "height_m"),
    [(0.6, 15.0, 40.0), (1.0, 20.0, 60.0), (2.0, 15.0, 60.0), (3.0, 12.0, 25.0), (4.0, 5.0, 90.0)],
)
def test_a_drop_thrown_forward_lands_where_an_independent_integration_puts_it(
    diameter_mm: float, forward_mps: float, height_m: float
) -> None:
    """scipy's solve_ivp on position, velocity and mass in kilograms: 4 % in throw, 1 % in time, 3 % in loss."""
    from scipy.integrate import solve_ivp  # noqa: PLC0415  only this test needs it

    air = moist_air(30.0, 30.0)
    drag = drop_drag(WATER, air)

    def rate(_: float, now: NDArray[np.float64]) -> list[float]:
        _x, _z, vx, vz, mass = now
        d = (6.0 * mass / (math.pi * WATER.density_kg_per_m3)) ** (1.0 / 3.0)
        slip = math.hypot(vx, vz)
        pull = float(drag.coefficient(d, slip)) * 0.5 * air.density_kg_per_m3 * slip * math.pi * d * d / 4.0
        reynolds = air.density_kg_per_m3 * slip * d / air.viscosity_pa_s
        sherwood = 2.0 + 0.6 * math.sqrt(reynolds) * air.schmidt ** (1.0 / 3.0)
        dries = math.pi * d * air.diffusivity_m2_per_s * sherwood * air.deficit_kg_per_m3
        return [vx, vz, -pull * vx / mass, -9.81 - pull * vz / mass, -dries]

    def ground(_: float, now: NDArray[np.float64]) -> float:
        return float(now[1])

    ground.terminal = True  # type: ignore[attr-defined]
    mass = math.pi / 6.0 * WATER.density_kg_per_m3 * (1e-3 * diameter_mm) ** 3
    other = solve_ivp(
        rate, (0.0, 100.0), [0.0, height_m, forward_mps, -1e-6, mass], events=ground, rtol=1e-7, atol=1e-12
    )
    landed = fallen([1e-3 * diameter_mm], height_m, air_c=30.0, humidity_pct=30.0, forward_mps=forward_mps)
    assert landed.state[0] == k.LANDED
    assert landed.out[0, 0] == pytest.approx(other.y[0, -1], rel=0.04)
    assert landed.out[0, 3] == pytest.approx(other.t[-1], rel=0.01)
    assert 1.0 - landed.out[0, 7] == pytest.approx(1.0 - other.y[4, -1] / mass, rel=0.03)


@pytest.mark.property
def test_a_large_fast_drop_breaks_until_it_stays_under_the_critical_weber_number() -> None:
    """At 57 m/s water of 6 mm has We 320; what it leaves must hold at the slip that it then has."""
    landed = fallen([6e-3, 2e-3], 100.0, humidity_pct=100.0, forward_mps=57.0)
    assert np.all((landed.size_m > 0.15e-3) & (landed.size_m < 1.5e-3))
    assert landed.out[:, 7] == pytest.approx(1.0)


@pytest.mark.property
def test_nothing_dries_in_saturated_air() -> None:
    landed = fallen([0.3e-3, 2e-3], 250.0, humidity_pct=100.0)
    assert landed.out[:, 7] == pytest.approx([1.0, 1.0], abs=1e-9)


@pytest.mark.derived
@pytest.mark.parametrize("q", [0.0, 0.3, 1.0, 2.5, 6.0, 20.0])
def test_the_quick_curves_stay_near_the_exponential(q: float) -> None:
    """(1 − q/8)⁸ within 0.07, and the sum of six terms within 0.004."""
    assert k._bell(q) == pytest.approx(math.exp(-q), abs=0.07)
    assert k._decay(q) == pytest.approx(math.exp(-q), abs=0.004)


@pytest.mark.property
def test_a_deposit_loses_no_litre_and_keeps_its_middle() -> None:
    rng = np.random.default_rng(5)
    x, y = rng.normal(0.0, 5.0, 500), rng.normal(0.0, 4.0, 500)
    raster = np.zeros((60, 40))
    group, shift = np.zeros(500, np.int64), rng.random(500)
    laid = k.deposit(
        x, y, np.full(500, 2.0), group, shift, np.array([[0.0, 0.0]]), 50.0, 4, -60.0, -40.0, 2.0, raster
    )
    assert laid == pytest.approx(1000.0)
    assert raster.sum() * 4.0 == pytest.approx(1000.0)
    middle = (raster.sum(axis=1) @ (-60.0 + 2.0 * np.arange(60))) / raster.sum()
    assert middle == pytest.approx(x.mean(), abs=1e-9)
