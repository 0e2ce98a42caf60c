"""Terminal speed, evaporation and drift against published and derived values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.drops.fall import terminal_speed_mps, wind_at_height_mps, wind_drift_s


@pytest.mark.published
@pytest.mark.parametrize(
    ("diameter_mm", "speed_mps"),
    [(0.1, 0.27), (0.5, 2.06), (1.0, 4.03), (2.0, 6.49), (3.0, 8.06), (4.0, 8.83), (5.0, 9.09), (5.8, 9.17)],
)
def test_terminal_speed_is_that_of_gunn_and_kinzer_1949(diameter_mm: float, speed_mps: float) -> None:
    assert terminal_speed_mps(diameter_mm) == pytest.approx(speed_mps, abs=0.005)


@pytest.mark.published
@pytest.mark.parametrize("diameter_mm", [1.5, 2.5, 3.5, 4.5, 5.5])
def test_between_table_rows_it_lies_near_the_relation_of_best_1950(diameter_mm: float) -> None:
    """V = 9.32 (1 − exp[−(d/1.77)^1.147]) m/s for 0.3 to 6 mm (Best 1950, public copy); 6 % off at 1 mm."""
    best = 9.32 * (1.0 - math.exp(-((diameter_mm / 1.77) ** 1.147)))
    assert terminal_speed_mps(diameter_mm) == pytest.approx(best, rel=0.05)


def drift_s(height_m: float, drop_mm: float) -> float:
    return float(wind_drift_s(np.array([height_m]), np.array([drop_mm]))[0])


@pytest.mark.derived
def test_drift_meets_a_drop_by_drop_simulation() -> None:
    """From 60 m in 5 m/s at 10 m the simulation drifted 44 m; terminal speed all the way drifts more."""
    assert 44.0 <= 5.0 * drift_s(60.0, 2.5) <= 44.0 * 1.15


@pytest.mark.property
@given(height_m=st.floats(3.0, 400.0), diameter_mm=st.floats(0.5, 5.8))
def test_drift_is_the_integral_of_the_wind_over_the_fall(height_m: float, diameter_mm: float) -> None:
    z = np.linspace(0.0, height_m, 4001)
    wind = np.array([wind_at_height_mps(1.0, float(h)) for h in z[::40]])
    mean = float(np.trapezoid(np.interp(z, z[::40], wind), z))
    assert drift_s(height_m, diameter_mm) == pytest.approx(
        mean / float(terminal_speed_mps(diameter_mm)), rel=0.03
    )


@pytest.mark.property
def test_the_wind_at_ten_metres_is_the_wind_given() -> None:
    assert wind_at_height_mps(7.0, 10.0) == pytest.approx(7.0)
    assert wind_at_height_mps(7.0, 0.0) == 0.0
