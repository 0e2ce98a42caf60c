"""The break-up of the column against published pieces and limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.drops.column import break_up_time, column, critical_weber, weber
from wetline.drops.liquid import liquid
from wetline.errors import OutsideRangeError

WATER = liquid("water")


@pytest.mark.published
@pytest.mark.parametrize(
    ("we", "time"),
    [
        (15.0, 6.0 * 3.0**-0.25),
        (30.0, 2.45 * 18.0**0.25),
        (100.0, 14.1 * 88.0**-0.25),
        (1000.0, 0.766 * 988.0**0.25),
        (1e4, 5.5),
    ],
)
def test_break_up_time_is_that_of_pilch_and_erdman_1987(we: float, time: float) -> None:
    """Int. J. Multiphase Flow 13:741; pieces as in public code, the power of the third mended."""
    assert break_up_time(we) == pytest.approx(time, rel=1e-12)


@pytest.mark.derived
@pytest.mark.parametrize(("we", "time"), [(18, 3.83), (45, 5.87), (351, 3.29), (2670, 5.50)])
def test_the_pieces_join(we: float, time: float) -> None:
    """Within 0.4 %: only with the power −0.25 between 45 and 351."""
    assert break_up_time(we * (1 - 1e-9)) == pytest.approx(time, rel=0.004)
    assert break_up_time(we * (1 + 1e-9)) == pytest.approx(time, rel=0.004)


@pytest.mark.published
def test_nothing_breaks_under_the_critical_weber_number() -> None:
    """We_c = 12 (1 + 1.077 Oh^1.6) (Pilch and Erdman 1987)."""
    assert math.isinf(break_up_time(12.0))
    assert critical_weber(0.0) == 12.0
    assert critical_weber(1.0) == pytest.approx(24.924)
    assert math.isinf(break_up_time(24.9, 1.0))
    assert math.isfinite(break_up_time(24.95, 1.0))


@pytest.mark.derived
@pytest.mark.parametrize(("speed_mps", "largest_mm"), [(57, 0.228), (40, 0.46), (20, 1.85), (10, 7.4)])
def test_largest_stable_drop_of_water(speed_mps: float, largest_mm: float) -> None:
    """We = 12 at 1.18 kg/m³, worked out beforehand to two or three digits."""
    assert weber(1.18, speed_mps, largest_mm * 1e-3, 0.0728) == pytest.approx(12.0, rel=0.02)


@pytest.mark.derived
def test_a_column_breaks_within_five_and_a_half_of_its_own_times() -> None:
    """T = 5.5 above We 2670, slowed a little: 5.5 (D/V) √(ρ_l/ρ_a) as long as V holds, more as it falls."""
    c = column(3000.0, 57.0, WATER)
    own = c.diameter_m / 57.0 * math.sqrt(998.0 / 1.2)
    assert 5.5 * own <= c.time_s[-1] <= 1.35 * 5.5 * own


@pytest.mark.derived
def test_a_column_that_does_not_break_falls_free() -> None:
    """A slow, thin trickle stays under the critical Weber number at first: z = w t + g t²/2."""
    c = column(1.0, 0.0, WATER, exit_mps=0.5)
    t = float(c.time_s[20])
    assert c.depth_m[20] == pytest.approx(0.5 * t + 0.5 * 9.81 * t * t, rel=0.03)


@pytest.mark.property
@given(flow=st.floats(50, 20_000), speed=st.floats(5, 100), agent=st.sampled_from(["water", "gel"]))
def test_ever_less_is_unbroken_farther_down(flow: float, speed: float, agent: str) -> None:
    c = column(flow, speed, liquid(agent))
    share = c.intact_share(np.linspace(0.0, 500.0, 200))
    assert share[0] == 1.0
    assert np.all(np.diff(share) <= 0.0)
    assert np.all((share >= 0.0) & (share <= 1.0))
    assert np.all(np.diff(c.depth_m) > 0.0)


@pytest.mark.property
def test_faster_aircraft_break_the_column_higher_and_more_flow_lower() -> None:
    """Published film (MTDC 0057-2317) has the depth grow with flow."""
    depths = [column(1000.0, v, WATER).depth_m[-1] for v in (20.0, 40.0, 60.0)]
    assert depths == sorted(depths, reverse=True)
    falls = [column(q, 57.0, WATER).vertical_depth_m for q in (500.0, 1500.0, 5000.0)]
    assert falls == sorted(falls)


@pytest.mark.behaviour
@pytest.mark.parametrize(("flow", "speed"), [(0.0, 50.0), (-5.0, 50.0), (1e6, 50.0), (100.0, 200.0)])
def test_absurd_flows_and_speeds_are_refused(flow: float, speed: float) -> None:
    with pytest.raises(OutsideRangeError):
        column(flow, speed, WATER)
