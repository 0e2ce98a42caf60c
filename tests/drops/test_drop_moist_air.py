"""Wet bulb, vapour, density and viscosity against two general libraries."""

from __future__ import annotations

import math

import pytest

from wetline.drops.moist_air import moist_air, saturation_pa, wet_bulb_c
from wetline.errors import OutsideRangeError

AIRS = [(t, rh) for t in (-10.0, 0.0, 10.0, 20.0, 35.0, 45.0) for rh in (5.0, 20.0, 50.0, 80.0)]


@pytest.mark.derived
@pytest.mark.parametrize(("temperature_c", "humidity_pct"), AIRS)
def test_the_wet_bulb_solves_the_psychrometer_equation_of_metpy(
    temperature_c: float, humidity_pct: float
) -> None:
    """Within 0.2 K; the psychrometer coefficient is c_p/(ε L), from MetPy's own constants.

    MetPy's `wet_bulb_temperature` follows a moist adiabat instead and lies up to 0.9 K lower in hot dry air.
    """
    from metpy import calc, constants  # noqa: PLC0415  an independent library that only this room's tests need
    from metpy.units import units  # noqa: PLC0415  the same
    from scipy.optimize import brentq  # noqa: PLC0415  the same

    heat = constants.Cp_d.to("J/kg/K").m / float(constants.epsilon.m)
    air_c, pressure = units.Quantity(temperature_c, "degC"), units.Quantity(1013.25, "hPa")
    vapour_pa = humidity_pct / 100.0 * calc.saturation_vapor_pressure(air_c).to("Pa").m

    def over(wet_c: float) -> float:
        wet = units.Quantity(wet_c, "degC")
        coefficient = units.Quantity(heat / (constants.Lv.to("J/kg").m - 2361.0 * wet_c), "1/K")
        found = calc.psychrometric_vapor_pressure_wet(pressure, air_c, wet, coefficient)
        return float(found.to("Pa").m - vapour_pa)

    other = float(brentq(over, temperature_c - 40.0, temperature_c))
    assert wet_bulb_c(temperature_c, humidity_pct) == pytest.approx(other, abs=0.2)


@pytest.mark.derived
def test_the_wet_bulb_is_that_of_psychrolib() -> None:
    """Within 0.05 K above freezing, where psychrolib's is over water too."""
    import psychrolib  # noqa: PLC0415  an independent library that only this room's tests need

    psychrolib.SetUnitSystem(psychrolib.SI)
    for temperature_c, humidity_pct in ((10.0, 20.0), (35.0, 20.0), (45.0, 5.0)):
        other = psychrolib.GetTWetBulbFromRelHum(temperature_c, humidity_pct / 100.0, 101325.0)
        assert wet_bulb_c(temperature_c, humidity_pct) == pytest.approx(other, abs=0.05)


@pytest.mark.derived
@pytest.mark.parametrize("temperature_c", [-10.0, 0.0, 20.0, 35.0, 45.0])
def test_vapour_pressure_and_density_meet_metpy(temperature_c: float) -> None:
    """Vapour within 0.8 %, which is how far the two formulas part at 45 °C; air within 0.05 %."""
    from metpy import calc  # noqa: PLC0415  an independent library that only this room's tests need
    from metpy.units import units  # noqa: PLC0415  the same

    air_c, pressure = units.Quantity(temperature_c, "degC"), units.Quantity(900.0, "hPa")
    vapour = calc.saturation_vapor_pressure(air_c).to("Pa").m
    assert saturation_pa(temperature_c) == pytest.approx(float(vapour), rel=0.008)
    ratio = calc.mixing_ratio_from_relative_humidity(pressure, air_c, 0.4)
    density = calc.density(pressure, air_c, ratio).to("kg/m**3").m
    assert moist_air(temperature_c, 40.0, 90_000.0).density_kg_per_m3 == pytest.approx(
        float(density), rel=5e-4
    )


@pytest.mark.derived
@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct", "wet_c", "deficit_g", "k", "life_s"),
    [
        (20, 50, 13.8, 3.29, 6.38e-10, 1568),
        (25, 50, 17.9, 3.78, 7.58e-10, 1319),
        (35, 20, 19.0, 8.35, 1.78e-9, 561),
    ],
)
def test_a_still_drop_dries_by_the_d2_law(
    temperature_c: float, humidity_pct: float, wet_c: float, deficit_g: float, k: float, life_s: float
) -> None:
    """d² = d₀² − K t, K = 8 D Δρ_v/ρ_l, worked out beforehand with other constants: 0.15 K, 2 %."""
    air = moist_air(temperature_c, humidity_pct)
    own = 8.0 * air.diffusivity_m2_per_s * air.deficit_kg_per_m3 / 998.0
    assert air.wet_bulb_c == pytest.approx(wet_c, abs=0.15)
    assert 1e3 * air.deficit_kg_per_m3 == pytest.approx(deficit_g, rel=0.02)
    assert own == pytest.approx(k, rel=0.02)
    assert 1e-6 / own == pytest.approx(life_s, rel=0.02)


@pytest.mark.memory
def test_viscosity_is_that_of_handbooks() -> None:
    """1.81 × 10⁻⁵ Pa s at 20 °C."""
    assert moist_air(20.0, 50.0).viscosity_pa_s == pytest.approx(1.81e-5, rel=0.005)


@pytest.mark.property
def test_saturated_air_is_its_own_wet_bulb_and_dries_nothing() -> None:
    air = moist_air(25.0, 100.0)
    assert air.wet_bulb_c == pytest.approx(25.0, abs=1e-6)
    assert air.deficit_kg_per_m3 == pytest.approx(0.0, abs=1e-9)
    assert math.isfinite(air.schmidt)


@pytest.mark.behaviour
@pytest.mark.parametrize("air", [(80.0, 50.0, 1e5), (25.0, 0.0, 1e5), (25.0, 130.0, 1e5), (25.0, 50.0, 1e4)])
def test_air_outside_the_range_is_refused(air: tuple[float, float, float]) -> None:
    with pytest.raises(OutsideRangeError):
        moist_air(*air)
