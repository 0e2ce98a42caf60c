"""Air: pressure of the standard atmosphere, density of moist air, density altitude."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.errors import OutsideRangeError
from wetline.units import celsius_to_kelvin

if TYPE_CHECKING:
    from wetline.weather.hourly import Hour

__all__ = [
    "air_density_kg_per_m3",
    "density_altitude_at",
    "density_altitude_m",
    "density_ratio",
    "relative_humidity_pct",
    "standard_pressure_pa",
]

# The standard atmosphere up to the tropopause: ISO 2533:1975 (ICAO Doc 7488), table of constants.
_PRESSURE_PA = 101325.0
_TEMPERATURE_K = 288.15
_LAPSE_K_PER_M = 0.0065
_GRAVITY_MPS2 = 9.80665
_GAS_DRY_J_PER_KG_K = 287.05287
_EARTH_RADIUS_M = 6356766.0
_TROPOPAUSE_M = 11000.0
_LOWEST_M = -2000.0
_EXPONENT = _GRAVITY_MPS2 / (_LAPSE_K_PER_M * _GAS_DRY_J_PER_KG_K)
_DENSITY_KG_PER_M3 = _PRESSURE_PA / (_GAS_DRY_J_PER_KG_K * _TEMPERATURE_K)

# Ratio of the molar masses of water (18.01528) and dry air (28.9647 g/mol): CODATA, ISO 2533.
_VAPOUR_RATIO = 18.01528 / 28.9647


def standard_pressure_pa(elevation_m: float) -> float:
    """Pressure [Pa] of the standard atmosphere at a height [m, geometric, −2000 to 11000].

    Raises
    ------
    OutsideRangeError
        Outside the lowest layer of the standard atmosphere.

    References
    ----------
    ISO 2533:1975, the layer with a lapse of 6.5 K/km.
    """
    if not _LOWEST_M <= elevation_m <= _TROPOPAUSE_M:
        raise OutsideRangeError(
            field="elevation_m", value=elevation_m, low=_LOWEST_M, high=_TROPOPAUSE_M, unit="m"
        )
    geopotential_m = _EARTH_RADIUS_M * elevation_m / (_EARTH_RADIUS_M + elevation_m)
    base = 1.0 - _LAPSE_K_PER_M * geopotential_m / _TEMPERATURE_K
    return float(_PRESSURE_PA * base**_EXPONENT)


def _vapour_pressure_pa(temperature_c: float, humidity_pct: float) -> float:
    # Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601-609, eq. 21: within 0.4 % from −40 to 50 °C
    saturated_pa = 610.94 * math.exp(17.625 * temperature_c / (243.04 + temperature_c))
    return humidity_pct / 100.0 * saturated_pa


def relative_humidity_pct(temperature_c: float, dew_point_c: float) -> float:
    """Relative humidity [%] over water of air [°C, −40 to 60] with a dew point [°C, −60 to 60].

    Above 100 where the dew point lies above the temperature: for the caller to judge.

    Raises
    ------
    OutsideRangeError
        Outside these ranges.

    References
    ----------
    Alduchov and Eskridge 1996, eq. 21.
    """
    if not -40.0 <= temperature_c <= 60.0:
        raise OutsideRangeError(field="temperature_c", value=temperature_c, low=-40.0, high=60.0, unit="°C")
    if not -60.0 <= dew_point_c <= 60.0:
        raise OutsideRangeError(field="dew_point_c", value=dew_point_c, low=-60.0, high=60.0, unit="°C")
    return 100.0 * _vapour_pressure_pa(dew_point_c, 100.0) / _vapour_pressure_pa(temperature_c, 100.0)


def air_density_kg_per_m3(pressure_pa: float, temperature_c: float, humidity_pct: float) -> float:
    """Density [kg/m³] of moist air: the ideal gases dry air and vapour together.

    Pressure [Pa, > 0], temperature [°C, −40 to 60], relative humidity [%, 0 to 100].

    Raises
    ------
    OutsideRangeError
        Outside these ranges.
    """
    if not -40.0 <= temperature_c <= 60.0:
        raise OutsideRangeError(field="temperature_c", value=temperature_c, low=-40.0, high=60.0, unit="°C")
    if not 0.0 <= humidity_pct <= 100.0:
        raise OutsideRangeError(field="humidity_pct", value=humidity_pct, low=0.0, high=100.0, unit="%")
    if not 1.0e4 <= pressure_pa <= 1.2e5:
        raise OutsideRangeError(field="pressure_pa", value=pressure_pa, low=1.0e4, high=1.2e5, unit="Pa")
    vapour_pa = _vapour_pressure_pa(temperature_c, humidity_pct)
    gas = _GAS_DRY_J_PER_KG_K * celsius_to_kelvin(temperature_c)
    return (pressure_pa - vapour_pa + _VAPOUR_RATIO * vapour_pa) / gas


def density_altitude_m(elevation_m: float, temperature_c: float, humidity_pct: float | None = None) -> float:
    """Height [m] at which the standard atmosphere has the density of the air here.

    The pressure is taken as standard for the elevation (the day's pressure setting is not used:
    30 hPa lower is about 270 m more). Without `humidity_pct` the air counts as dry, which is the
    convention of performance charts and up to about 200 m too low in hot, damp air.

    Raises
    ------
    OutsideRangeError
        Outside the ranges of `standard_pressure_pa` and `air_density_kg_per_m3`.
    """
    density = air_density_kg_per_m3(
        standard_pressure_pa(elevation_m), temperature_c, 0.0 if humidity_pct is None else humidity_pct
    )
    relative = float((density / _DENSITY_KG_PER_M3) ** (1.0 / (_EXPONENT - 1.0)))
    geopotential_m = _TEMPERATURE_K / _LAPSE_K_PER_M * (1.0 - relative)
    return _EARTH_RADIUS_M * geopotential_m / (_EARTH_RADIUS_M - geopotential_m)


def density_ratio(density_altitude_m: float) -> float:
    """Density of the standard atmosphere at a height [m, −2000 to 11000] over that at sea level.

    Raises
    ------
    OutsideRangeError
        Outside the lowest layer of the standard atmosphere.

    References
    ----------
    ISO 2533:1975, the layer with a lapse of 6.5 K/km.
    """
    pressure = standard_pressure_pa(density_altitude_m) / _PRESSURE_PA
    return float(pressure ** (1.0 - 1.0 / _EXPONENT))


def density_altitude_at(elevation_m: float | None, hour: Hour | None) -> tuple[float | None, str]:
    """Density altitude [m] at a height [m] in an hour; None, and why, where it is not known.

    Air thinner or denser than the layer that `density_ratio` knows is not known either.
    """
    if hour is None:
        return None, "there is no weather for this hour"
    if elevation_m is None:
        return None, "the height of the place is not known"
    try:
        altitude_m = density_altitude_m(elevation_m, hour.temperature_c, hour.humidity_pct)
        density_ratio(altitude_m)
    except OutsideRangeError as error:
        return None, error.message.rstrip(".")
    return altitude_m, ""
