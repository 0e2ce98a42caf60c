"""The vortex pair against the textbook, and the compiled velocity against a plain sum of vortices."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wetline.drops._kernels.parcels import pair_velocity
from wetline.drops.wake import vortex_pair


@pytest.mark.derived
def test_circulation_and_descent_are_the_textbooks() -> None:
    """Elliptic lift: Γ = W/(ρ V π b/4), descent Γ/(2π b₀). 7,000 kg, 18 m, 45 m/s, 1.2 kg/m³ by hand.

    b₀ = 14.137 m, Γ = 68,670/(1.2·45·14.137) = 89.95 m²/s, descent 1.0127 m/s; the air that the wing
    draws in adds 0.3 % to the speed.
    """
    wake = vortex_pair(7000.0, 18.0, 45.0, 1.2)
    assert wake.spacing_m == pytest.approx(14.137, abs=0.001)
    assert wake.circulation_m2_per_s == pytest.approx(89.95, rel=0.005)
    assert wake.descent_mps == pytest.approx(1.0127, rel=0.005)
    assert wake.middle_mps == pytest.approx(4.0 * wake.descent_mps)


@pytest.mark.derived
def test_a_hovering_rotor_draws_what_momentum_theory_says() -> None:
    """V falls to v = √(m g/2ρA): 5,000 kg under 14.6 m in 1.2 kg/m³, 11.05 m/s by hand."""
    wake = vortex_pair(5000.0, 14.6, 0.0, 1.2)
    through = 5000.0 * 9.81 / (1.2 * wake.circulation_m2_per_s * wake.spacing_m)
    assert through == pytest.approx(11.05, abs=0.02)


@pytest.mark.derived
@pytest.mark.parametrize(("y", "z"), [(0.0, 50.0), (3.0, 44.0), (-9.0, 20.0), (15.0, 52.0), (4.0, 0.0)])
def test_the_air_is_that_of_four_line_vortices(y: float, z: float) -> None:
    """Biot–Savart: each turns the air at Γ/(2π r), cores aside; mirrored in the ground."""
    half, height, strength = 7.0, 50.0, 15.0
    across = up = 0.0
    for sign, at_y, at_z in (
        (1, half, height),
        (-1, -half, height),
        (-1, half, -height),
        (1, -half, -height),
    ):
        to_y, to_z = y - at_y, z - at_z
        r = math.hypot(to_y, to_z)
        across += sign * strength / r * -to_z / r
        up += sign * strength / r * to_y / r
    found = pair_velocity(y, z, half, height, strength, 0.0)
    assert found == pytest.approx((across, up), rel=1e-9, abs=1e-9)


@pytest.mark.property
def test_air_sinks_between_the_vortices_rises_outside_and_crosses_no_ground() -> None:
    assert pair_velocity(0.0, 50.0, 7.0, 50.0, 15.0, 0.1)[1] == pytest.approx(-2 * 15.0 / 7.0, rel=0.05)
    assert pair_velocity(14.0, 50.0, 7.0, 50.0, 15.0, 0.1)[1] > 0.0
    on_ground = [pair_velocity(float(y), 0.0, 7.0, 12.0, 15.0, 0.1)[1] for y in np.linspace(-30, 30, 13)]
    assert on_ground == pytest.approx([0.0] * 13, abs=1e-12)
