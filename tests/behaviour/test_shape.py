import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.behaviour import eccentricity, intensity_toward, length_to_width, normal_rate, rate_from_ignition
from wetline.errors import OutsideRangeError
from wetline.units import MILE_PER_HOUR


@pytest.mark.memory
@pytest.mark.parametrize(
    ("wind_mph", "ratio"), [(0, 1.397), (2, 1.579), (5, 1.987), (8, 2.608), (10, 3.178), (15, 5.393)]
)
def test_length_to_width(wind_mph: float, ratio: float) -> None:
    # Anderson 1983, INT-305; we subtract 0.397, so that calm gives 1 (both from memory); half the last digit
    assert float(length_to_width(wind_mph * MILE_PER_HOUR)) == pytest.approx(ratio - 0.397, abs=5.1e-4)


@pytest.mark.memory
def test_length_to_width_in_metric_form() -> None:
    # the same fit with exponents 0.2566 and −0.1548 per m/s (from memory)
    for wind in (0.5, 3.0, 6.0):
        metric = 0.936 * math.exp(0.2566 * wind) + 0.461 * math.exp(-0.1548 * wind) - 0.397
        assert float(length_to_width(wind)) == pytest.approx(metric, rel=5e-4)


# length/width, e, head over back, back over head, flank over head, area / (head · t)²
ELLIPSES = [
    (1.5, 0.7454, 6.854, 0.1459, 0.3820, 0.6875),
    (2, 0.8660, 13.928, 0.0718, 0.2679, 0.4511),
    (3, 0.9428, 33.971, 0.0294, 0.1716, 0.2774),
    (4, 0.9682, 61.984, 0.0161, 0.1270, 0.2027),
    (5, 0.9798, 97.990, 0.0102, 0.1010, 0.1603),
]


@pytest.mark.derived
@pytest.mark.parametrize(("lb", "ecc", "head_back", "back", "flank", "area"), ELLIPSES)
def test_ellipse_from_its_rear_focus(
    lb: float, ecc: float, head_back: float, back: float, flank: float, area: float
) -> None:
    # geometry of the ellipse, exact; half the last digit
    e = float(eccentricity(lb))
    assert e == pytest.approx(ecc, abs=5.1e-5)
    assert 1.0 / float(normal_rate(1.0, e, 180.0)) == pytest.approx(head_back, abs=5.1e-4)
    assert float(rate_from_ignition(1.0, e, 180.0)) == pytest.approx(back, abs=5.1e-5)
    assert float(normal_rate(1.0, e, 90.0)) == pytest.approx(flank, abs=5.1e-5)
    angle = np.radians(np.linspace(0.0, 360.0, 20001))
    radius = rate_from_ignition(1.0, e, np.degrees(angle))
    swept = float(np.sum((radius[1:] ** 2 + radius[:-1] ** 2) / 4.0 * np.diff(angle)))
    assert swept == pytest.approx(area, abs=6e-5)


@pytest.mark.derived
def test_calm_gives_a_circle() -> None:
    e = eccentricity(length_to_width(0.0))
    assert float(e) == 0.0
    assert normal_rate(2.0, e, np.array([0.0, 77.0, 180.0])) == pytest.approx([2.0, 2.0, 2.0])


@pytest.mark.memory
@pytest.mark.parametrize(
    ("angle", "normal", "from_ignition"),
    [
        (0, 1, 1),
        (30, 0.8850, 0.5359),
        (60, 0.5865, 0.2363),
        (90, 0.2679, 0.1340),
        (120, 0.1224, 0.0935),
        (150, 0.0811, 0.0766),
        (180, 0.0718, 0.0718),
    ],
)
def test_rates_round_the_edge(angle: float, normal: float, from_ignition: float) -> None:
    # Catchpole, de Mestre & Gill 1982 (from memory), length/width 2; half the last digit
    e = eccentricity(2.0)
    assert float(normal_rate(1.0, e, angle)) == pytest.approx(normal, abs=5.1e-5)
    assert float(rate_from_ignition(1.0, e, angle)) == pytest.approx(from_ignition, abs=5.1e-5)
    assert float(intensity_toward(4000.0, e, angle)) == pytest.approx(4000.0 * normal, abs=0.21)


@pytest.mark.property
@given(st.floats(0.0, 0.995), st.floats(0.0, 360.0))
def test_normal_rate_solves_the_front_s_equation(ecc: float, angle: float) -> None:
    # the cost of a step v is a|v| − w·v; a front of slowness p along n satisfies |p n + w| = a
    a = 1.0 / (1.0 - ecc)
    p = 1.0 / float(normal_rate(1.0, ecc, angle))
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    assert math.hypot(p * cos + ecc * a, p * sin) == pytest.approx(a, rel=1e-9)


@pytest.mark.property
@given(st.floats(0.0, 0.99), st.floats(0.0, 180.0))
def test_normal_rate_is_symmetric_and_between_back_and_head(ecc: float, angle: float) -> None:
    here = float(normal_rate(1.0, ecc, angle))
    assert float(normal_rate(1.0, ecc, -angle)) == pytest.approx(here)
    assert (1.0 - ecc) / (1.0 + ecc) * (1 - 1e-9) <= here <= 1.0 + 1e-9
    # the edge along its normal is never slower than along the ray from the ignition
    assert here >= float(rate_from_ignition(1.0, ecc, angle)) * (1 - 1e-9)


@pytest.mark.behaviour
def test_a_fire_wider_than_long_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match="lb"):
        eccentricity(0.9)
