"""The height under which a load strikes, and how far people must be."""

from __future__ import annotations

import pytest

from wetline.drops import safe_height_m, stand_off_m
from wetline.errors import OutsideRangeError
from wetline.model import shipped_limits
from wetline.units import US_GALLON_L


@pytest.mark.published
@pytest.mark.parametrize(
    ("gallons", "gallons_per_s", "height_m"), [(800, 400, 51.2), (1585, 793, 56.3), (3000, 2000, 68.6)]
)
def test_safe_height_meets_the_published_formula(
    gallons: float, gallons_per_s: float, height_m: float
) -> None:
    """S = 101 + 0.0112 L + 0.0202 P + 50 ft (MTDC 0057-2317, 2000), worked out by hand to 0.1 m."""
    safe = safe_height_m(gallons * US_GALLON_L, gallons_per_s * US_GALLON_L)
    assert safe == pytest.approx(height_m, abs=0.05)


@pytest.mark.behaviour
@pytest.mark.parametrize(("load_l", "flow"), [(0.0, 100.0), (100.0, 0.0), (-1.0, 100.0)])
def test_a_load_that_is_none_has_no_safe_height(load_l: float, flow: float) -> None:
    with pytest.raises(OutsideRangeError):
        safe_height_m(load_l, flow)


@pytest.mark.memory
def test_stand_off_is_sixty_metres_or_a_hundred_for_large_tankers() -> None:
    assert stand_off_m("twin_engine_scooper", 20.0) == 60.0
    assert stand_off_m("large_tanker", 20.0) == 100.0
    assert stand_off_m("very_large_tanker", 20.0) == 100.0


@pytest.mark.property
@pytest.mark.parametrize("width_m", [0.0, 59.0, 60.0, 120.0])
def test_stand_off_covers_the_pattern_and_the_limit(width_m: float) -> None:
    off = stand_off_m("medium_tanker", width_m, shipped_limits())
    assert off >= width_m
    assert off >= shipped_limits().value("people_stop_m")
