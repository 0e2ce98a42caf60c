"""Conversions, each exact by definition or with its source. SI inside; these stand at the edges.

Multiply by a factor to come from the named unit to SI: `3 * KNOT` is metres per second.
"""

from __future__ import annotations

__all__ = [
    "ACRE",
    "BTU",
    "BTU_PER_FT_S",
    "CHAIN",
    "CHAIN_PER_HOUR",
    "COVERAGE_LEVEL",
    "FOOT",
    "HECTARE",
    "HOUR",
    "INCH",
    "KM_PER_HOUR",
    "KNOT",
    "MILE",
    "MILE_PER_HOUR",
    "MINUTE",
    "NAUTICAL_MILE",
    "POUND",
    "TON_PER_ACRE",
    "US_GALLON",
    "US_GALLON_L",
    "celsius_to_fahrenheit",
    "celsius_to_kelvin",
]

INCH = 0.0254
"""Metres; exact (international yard and pound agreement, 1959)."""
FOOT = 12 * INCH
MILE = 5280 * FOOT
CHAIN = 66 * FOOT
NAUTICAL_MILE = 1852.0
"""Metres; exact (International Hydrographic Conference, 1929)."""
ACRE = 43560 * FOOT**2
HECTARE = 1.0e4
"""Square metres; exact."""
MINUTE = 60.0
HOUR = 3600.0
KNOT = NAUTICAL_MILE / HOUR
MILE_PER_HOUR = MILE / HOUR
KM_PER_HOUR = 1000.0 / HOUR
CHAIN_PER_HOUR = CHAIN / HOUR
POUND = 0.45359237
"""Kilograms; exact (1959)."""
TON_PER_ACRE = 2000 * POUND / ACRE
"""Short ton per acre, in kg/m²."""
US_GALLON = 231 * INCH**3
"""Cubic metres; exact (231 cubic inches)."""
US_GALLON_L = US_GALLON * 1000.0
COVERAGE_LEVEL = US_GALLON_L / (100 * FOOT**2)
"""One coverage level, 1 US gal per 100 ft², in L/m² (= mm): 0.4074583."""
BTU = 1054.350
"""Joules, thermochemical Btu: the one behind the published 346, 1730 and 3459 kW/m."""
BTU_PER_FT_S = BTU / FOOT
"""One Btu/ft/s in W/m."""


def celsius_to_kelvin(temperature_c: float) -> float:
    """Kelvin from degrees Celsius; exact."""
    return temperature_c + 273.15


def celsius_to_fahrenheit(temperature_c: float) -> float:
    """Degrees Fahrenheit from degrees Celsius; exact."""
    return temperature_c * 1.8 + 32.0
