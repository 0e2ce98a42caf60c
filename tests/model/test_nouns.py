"""Findings, limits and conversions."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wetline import units
from wetline.model import Effect, Finding, Level, shipped_limits, worst


def finding(level: Level, effect: Effect | None = None) -> Finding:
    return Finding(code="people", level=level, effect=effect, message="", source="", refers_to="")


@pytest.mark.practice
def test_unknown_is_graver_than_caution_and_never_clear() -> None:
    """Unknown is not clear: a principle of the trade, no source."""
    assert worst([finding("clear"), finding("caution")]) == "caution"
    assert worst([finding("caution"), finding("unknown", "noted")]) == "unknown"
    assert worst([finding("unknown", "blocks"), finding("stop")]) == "stop"
    assert finding("unknown", "blocks").holds_back
    assert finding("unknown", "look").holds_back
    assert not finding("unknown", "noted").holds_back
    assert not finding("caution").holds_back


@pytest.mark.practice
def test_a_looser_limit_is_seen() -> None:
    limit = shipped_limits()["people_stop_m"]
    assert replace(limit, value=40.0).loosened
    assert not replace(limit, value=90.0).loosened
    wind = shipped_limits()["wind_stop_kt"]
    assert replace(wind, value=40.0).loosened


@pytest.mark.published
@pytest.mark.parametrize(
    ("got", "printed", "half_digit"),
    [
        (units.COVERAGE_LEVEL, 0.4074583, 5e-8),  # 1 US gal/100 ft², exact definitions
        (units.CHAIN_PER_HOUR * 60, 0.33528, 5e-6),  # m/min; BIPM/NIST SP 811 foot
        (units.TON_PER_ACRE, 0.224170, 5e-7),  # kg/m²
        (units.MILE_PER_HOUR, 0.44704, 0.0),  # NIST SP 811, exact
        (units.KNOT, 0.514444, 5e-7),  # NIST SP 811
        (100 * units.BTU_PER_FT_S / 1000, 345.92, 0.005),  # thermochemical Btu
        (units.US_GALLON_L, 3.785412, 5e-7),  # NIST SP 811
        (units.ACRE, 4046.856, 5e-4),  # international acre
    ],
)
def test_conversions_against_printed_factors(got: float, printed: float, half_digit: float) -> None:
    """NIST Special Publication 811, appendix B, and exact definitions."""
    assert got == pytest.approx(printed, abs=half_digit + 1e-12)
