import itertools
import math

import pytest

from wetline.behaviour import attack_class, attack_thresholds_kw_per_m, flame_length_m
from wetline.errors import OutsideRangeError


@pytest.mark.memory
@pytest.mark.parametrize(
    ("intensity", "flame_m"),
    [
        (100, 0.64), (346, 1.14), (500, 1.35), (1000, 1.86), (1730, 2.39),
        (2000, 2.56), (3459, 3.29), (4000, 3.52), (10000, 5.36),
    ],
)  # fmt: skip
def test_flame_length(intensity: float, flame_m: float) -> None:
    # Byram 1959, 0.0775 I^0.46, coefficients from memory; half the last digit
    assert float(flame_length_m(intensity)) == pytest.approx(flame_m, abs=5.1e-3)


@pytest.mark.memory
@pytest.mark.parametrize(("btu", "flame_ft"), [(50, 2.72), (100, 3.74), (500, 7.85), (1000, 10.79)])
def test_flame_length_in_the_printed_units(btu: float, flame_ft: float) -> None:
    # 0.45 I^0.46 [ft, Btu/ft/s], the other printing of the same relation
    assert float(flame_length_m(btu * 3.4592)) / 0.3048 == pytest.approx(flame_ft, abs=1.1e-2)


@pytest.mark.published
def test_attack_classes_change_at_the_published_intensities() -> None:
    # Andrews & Rothermel 1982, INT-131: 100, 500, 1000 Btu/ft/s, given as 346, 1730, 3459 kW/m
    limits = {name: limit for limit, name in attack_thresholds_kw_per_m()}
    assert [round(limit) for limit in limits.values()] == [0, 346, 1730, 3459]
    order = ["hand_tools", "machines_and_aircraft", "head_doubtful", "head_ineffective"]
    assert list(limits) == order
    for below, at in itertools.pairwise(order):
        assert attack_class(limits[at] - 0.01) == below
        assert attack_class(limits[at]) == at
    assert attack_class(0.0) == "hand_tools"
    assert attack_class(1e5) == "head_ineffective"


@pytest.mark.behaviour
@pytest.mark.parametrize("intensity", [math.nan, -1.0, math.inf])
def test_an_unknown_intensity_has_no_class(intensity: float) -> None:
    with pytest.raises(OutsideRangeError, match="intensity_kw_per_m"):
        attack_class(intensity)
