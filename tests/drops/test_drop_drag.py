"""Drag of drops against measured fall speeds and a general library's spheres."""

from __future__ import annotations

import numpy as np
import pytest

from wetline import tables
from wetline.drops.drag import drop_drag, sphere_drag, terminal_speed_beard_1976
from wetline.drops.liquid import liquid
from wetline.drops.moist_air import moist_air
from wetline.errors import OutsideRangeError

WATER = liquid("water")
AIR = moist_air(20.0, 50.0)
DRAG = drop_drag(WATER, AIR)


@pytest.mark.published
def test_drops_fall_as_gunn_and_kinzer_1949_measured_the_whole_table() -> None:
    """J. Meteorol. 6:243, 1013 hPa, 20 °C, 50 %: within 2 % from 0.2 mm; 8.5 % slow at 0.1 mm."""
    table = tables.load("drop/gunn_kinzer_1949")
    off = DRAG.terminal(1e-3 * table["diameter_mm"]) / table["speed_m_per_s"] - 1.0
    assert off.size == 34
    assert np.all(np.abs(off[1:]) <= 0.02)
    assert -0.085 <= off[0] <= 0.0


@pytest.mark.published
def test_the_relation_of_beard_1976_meets_gunn_and_kinzer_1949() -> None:
    """Within 2.1 % from 0.3 mm; 3.6 and 7.7 % slow at 0.2 and 0.1 mm."""
    table = tables.load("drop/gunn_kinzer_1949")
    v = terminal_speed_beard_1976(
        table["diameter_mm"], air_kg_per_m3=AIR.density_kg_per_m3, viscosity_pa_s=AIR.viscosity_pa_s
    )
    off = v / table["speed_m_per_s"] - 1.0
    assert np.all(np.abs(off[2:]) <= 0.021)
    assert np.all(np.abs(off[:2]) <= (0.077, 0.036))


@pytest.mark.published
@pytest.mark.parametrize("height_km", [1.0, 2.0])
def test_drops_fall_faster_in_thinner_air_as_best_1950_has_it(height_km: float) -> None:
    """By e^(0.0405 z), z in km (public copy), for 0.3 to 6 mm; our air of the standard atmosphere: 2 %."""
    kelvin = 288.15 - 6.5 * height_km
    pressure = 101325.0 * (kelvin / 288.15) ** 5.2559
    aloft = drop_drag(WATER, moist_air(kelvin - 273.15, 50.0, pressure))
    below = drop_drag(WATER, moist_air(15.0, 50.0))
    sizes = np.array([2.0, 3.0, 4.0, 5.0]) * 1e-3
    ratio = aloft.terminal(sizes) / below.terminal(sizes)
    assert ratio == pytest.approx(np.exp(0.0405 * height_km), rel=0.02)


@pytest.mark.derived
@pytest.mark.parametrize("reynolds", [0.01, 0.5, 10.0, 300.0, 2000.0, 20_000.0])
def test_hard_spheres_have_the_drag_of_a_general_library(reynolds: float) -> None:
    """Two curves of `fluids`, by other authors, within 6 %: as far as published fits part."""
    from fluids import drag as other  # noqa: PLC0415  an independent library that only this test needs

    own = float(sphere_drag(reynolds))
    assert own == pytest.approx(other.Clift_Gauvin(reynolds), rel=0.06)
    assert own == pytest.approx(other.drag_sphere(reynolds, Method="Barati_high"), rel=0.06)


@pytest.mark.property
def test_at_terminal_speed_drag_carries_the_drop() -> None:
    d = np.linspace(0.2e-3, 9e-3, 40)
    v = DRAG.terminal(d)
    lift = 4.0 / 3.0 * 9.81 * d * (998.0 - AIR.density_kg_per_m3) / AIR.density_kg_per_m3
    assert DRAG.coefficient(d, v) * v**2 == pytest.approx(lift, rel=0.01)


@pytest.mark.property
def test_a_flattened_drop_has_more_drag_than_a_sphere_and_no_more_than_a_disc() -> None:
    slip = np.linspace(5.0, 40.0, 30)
    own = DRAG.coefficient(3e-3, slip)
    hard = sphere_drag(AIR.density_kg_per_m3 * slip * 3e-3 / AIR.viscosity_pa_s)
    assert np.all(own >= hard)
    assert np.all(own <= 1.2 + 1e-12)


@pytest.mark.behaviour
@pytest.mark.parametrize("diameter_mm", [0.001, 8.0])
def test_sizes_outside_beards_range_are_refused(diameter_mm: float) -> None:
    with pytest.raises(OutsideRangeError):
        terminal_speed_beard_1976(diameter_mm, air_kg_per_m3=1.2, viscosity_pa_s=1.8e-5)
