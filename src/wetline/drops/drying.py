"""How fast wetted fuel dries: open-air evaporation by the hour's weather, and the radiant heat of flames."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour import flame_length_m
from wetline.drops.hold_parameters import drawn, middle
from wetline.errors import OutsideRangeError
from wetline.units import HOUR, MINUTE, celsius_to_kelvin
from wetline.weather import standard_pressure_pa, sun_position
from wetline.weather.equilibrium import clear_sun_w_per_m2

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import ArrayLike, NDArray

    from wetline.weather import Weather

__all__ = [
    "Air",
    "airs_from",
    "evaporation_mm_per_h",
    "flame_flux_kw_per_m2",
    "penman_monteith_w_per_m2",
    "taken_by_flame_l_per_m2",
]

_STEFAN_W_PER_M2_K4 = 5.670374e-8  # CODATA
_KARMAN = 0.41  # FAO-56, eq. 4 (from memory)
_WIND_AT_M = 10.0
_GAS_DRY_J_PER_KG_K = 287.0  # FAO-56, box 6 (from memory), with the air's virtual temperature below
_VAPOUR_RATIO = 0.622  # FAO-56, eq. 8 (from memory)
_AIR_HEAT_J_PER_KG_K = 1013.0  # FAO-56, eq. 8 (from memory)
_WATER_KG_PER_M3 = 1000.0
_AHEAD_H = 12
"""Hours of weather looked at after a drop; wet line is gone by then, and a longer look costs time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The air over wet fuel on open, level ground for a while.

    Temperature [°C, −50 to 60], humidity [%, 0 to 100], 10 m wind [m/s, ≥ 0]. `sun_deg`: height of the
    sun, None where not known (it then stands overhead). `cloud_pct`, `rain_mm` (in an hour): None where not
    known. `elevation_m`: of the ground. `lasts_min`: how long [min] until the next air.
    """

    temperature_c: float
    humidity_pct: float
    wind_mps: float
    sun_deg: float | None
    cloud_pct: float | None
    rain_mm: float | None = None
    elevation_m: float = 0.0
    lasts_min: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what no air is: a wrong unit must not dry a line, nor keep it wet."""
        ranges = (
            ("temperature_c", self.temperature_c, -50.0, 60.0, "°C"),
            ("humidity_pct", self.humidity_pct, 0.0, 100.0, "%"),
            ("wind_mps", self.wind_mps, 0.0, 100.0, "m/s"),
            ("sun_deg", self.sun_deg, -90.0, 90.0, "deg"),
            ("cloud_pct", self.cloud_pct, 0.0, 100.0, "%"),
            ("rain_mm", self.rain_mm, 0.0, 500.0, "mm/h"),
            ("lasts_min", self.lasts_min, 0.0, math.inf, "min"),
        )
        for field, value, low, high, unit in ranges:
            if value is not None and not low <= value <= high:
                raise OutsideRangeError(field=field, value=value, low=low, high=high, unit=unit)


def airs_from(weather: Weather, time: datetime, lon: float, lat: float) -> tuple[Air, ...]:
    """The airs that follow one another from `time` on, up to 12 hours of the table; the first one is cut short.

    Sun at the middle of each. Ends where the table ends or lacks temperature, humidity or wind; empty
    where it does so at `time`.
    """
    airs: list[Air] = []
    while len(airs) < _AHEAD_H and weather.covers(time):
        hour = weather.at(time)
        begin = int(np.searchsorted(weather.time_s, hour.time.timestamp()))
        ends_s = float(np.append(weather.time_s, weather.time_s[-1] + HOUR)[begin + 1])
        lasts_s = ends_s - time.timestamp()
        rain_mm = float(weather.rain_mm[begin]) * HOUR / (ends_s - hour.time.timestamp())
        if not math.isfinite(hour.temperature_c + hour.humidity_pct + hour.wind_mps):
            break
        elevation, _ = sun_position(time + timedelta(seconds=lasts_s / 2.0), lon, lat)
        airs.append(
            Air(
                temperature_c=hour.temperature_c,
                humidity_pct=hour.humidity_pct,
                wind_mps=hour.wind_mps,
                sun_deg=float(elevation),
                cloud_pct=hour.cloud_pct,
                rain_mm=None if math.isnan(rain_mm) else rain_mm,
                elevation_m=weather.elevation_m or 0.0,
                lasts_min=lasts_s / MINUTE,
            )
        )
        time = hour.time + timedelta(seconds=ends_s - hour.time.timestamp())
    return tuple(airs)


def _saturation_pa(temperature_c: float) -> float:
    """Vapour pressure over water; FAO-56, eq. 11 (from memory)."""
    return 610.8 * math.exp(17.27 * temperature_c / (temperature_c + 237.3))


def _latent_heat_j_per_kg(temperature_c: float) -> float:
    return (2.501 - 0.002361 * temperature_c) * 1e6  # FAO-56, annex 3, eq. 3-1 (from memory)


def penman_monteith_w_per_m2(
    available_w_per_m2: ArrayLike,
    temperature_c: float,
    humidity_pct: float,
    air_resistance_s_per_m: ArrayLike,
    *,
    pressure_pa: float,
    surface_resistance_s_per_m: float = 0.0,
) -> NDArray[np.float64]:
    """Heat [W/m²] that evaporation takes from a wet surface; negative where dew falls.

    `available_w_per_m2`: net radiation less heat into the ground. A surface resistance of 0 is an open,
    wet surface.

    References
    ----------
    Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 3, 7, 8, 11, 13 (from memory).
    """
    saturated = _saturation_pa(temperature_c)
    vapour = humidity_pct / 100.0 * saturated
    slope = 4098.0 * saturated / (temperature_c + 237.3) ** 2
    psychrometer = _AIR_HEAT_J_PER_KG_K * pressure_pa / (_VAPOUR_RATIO * _latent_heat_j_per_kg(temperature_c))
    virtual_k = celsius_to_kelvin(temperature_c) / (1.0 - (1.0 - _VAPOUR_RATIO) * vapour / pressure_pa)
    density = pressure_pa / (_GAS_DRY_J_PER_KG_K * virtual_k)
    resistance = np.asarray(air_resistance_s_per_m, float)
    drying = density * _AIR_HEAT_J_PER_KG_K * (saturated - vapour) / resistance
    both = slope + psychrometer * (1.0 + surface_resistance_s_per_m / resistance)
    return np.asarray((slope * np.asarray(available_w_per_m2, float) + drying) / both, float)


def _air_resistance_s_per_m(wind_mps: float) -> NDArray[np.float64]:
    """From the wet fuel to 10 m, in neutral air over open ground; FAO-56, eq. 4 (from memory)."""
    rough = drawn("roughness_m")
    heat = rough * middle("heat_roughness_share")
    wind = max(wind_mps, middle("wind_least_mps"))
    return np.asarray(np.log(_WIND_AT_M / rough) * np.log(_WIND_AT_M / heat) / (_KARMAN**2 * wind), float)


def _available_w_per_m2(air: Air) -> NDArray[np.float64]:
    """Net radiation less the heat that the ground takes by day, or gives by night.

    Long waves do not follow the humidity here: their share is a range. Else drier air, whose sky is colder,
    would seem to keep line wet longer in a calm.
    """
    cloud = drawn("cloud_unknown_share") if air.cloud_pct is None else np.float64(air.cloud_pct / 100.0)
    dimmed = 1.0 - 0.75 * cloud**3.4  # Kasten and Czeplak 1980, from memory
    height_deg = 90.0 if air.sun_deg is None else air.sun_deg
    sun = clear_sun_w_per_m2(height_deg, 180.0, 0.0, 0.0) * dimmed
    black = _STEFAN_W_PER_M2_K4 * celsius_to_kelvin(air.temperature_c) ** 4
    cooling = drawn("long_wave_share") * black * (1.35 * dimmed - 0.35)  # FAO-56, eq. 39 (from memory)
    net = (1.0 - drawn("sun_reflected")) * sun - cooling
    return np.asarray(net * np.where(net > 0.0, 0.9, 0.5), float)  # FAO-56, eq. 45 and 46 (from memory)


@lru_cache(maxsize=4096)
def evaporation_mm_per_h(air: Air) -> NDArray[np.float64]:
    """Drying of wet fuel in the open [mm/h = L/m² an hour], float64[128] over `drawn`; read-only.

    Not below 0: dew is not counted as water on the line. Trees' shade and shelter, the slope and the wind
    that the fire itself draws are not in it.

    References
    ----------
    Penman 1948, Proc. R. Soc. A 193:120; Monteith 1965, in the form of FAO-56.
    """
    heat = penman_monteith_w_per_m2(
        _available_w_per_m2(air),
        air.temperature_c,
        air.humidity_pct,
        _air_resistance_s_per_m(air.wind_mps),
        pressure_pa=standard_pressure_pa(air.elevation_m),
    )
    kg_per_m2_s = np.maximum(heat, 0.0) / _latent_heat_j_per_kg(air.temperature_c)
    rate = np.asarray(kg_per_m2_s / _WATER_KG_PER_M3 * 1000.0 * HOUR, float)
    rate.setflags(write=False)
    return rate


def flame_flux_kw_per_m2(intensity_kw_per_m: float) -> NDArray[np.float64]:
    """Radiant heat [kW/m²] on fuel one flame length from a fire of an intensity; float64[128].

    A wide, upright sheet of flame that sends out a share of the fire's heat from both its faces, and no
    more than a black flame of its temperature can.
    """
    if intensity_kw_per_m == 0.0:
        return np.zeros_like(drawn("flame_view"))
    faces_m = 2.0 * float(flame_length_m(intensity_kw_per_m))
    emitted = drawn("flame_radiant_share") * intensity_kw_per_m / faces_m
    return np.asarray(np.minimum(emitted, drawn("flame_emissive_most_kw_per_m2")) * drawn("flame_view"))


def taken_by_flame_l_per_m2(flux_kw_per_m2: ArrayLike, seconds: ArrayLike) -> NDArray[np.float64]:
    """Water [L/m²] that radiant heat boils off, all of it going into steam.

    References
    ----------
    Heat of 2640 kJ/kg: Penney et al. 2019, Fire 2(1):3, after Hansen 2012.
    """
    heat = np.asarray(flux_kw_per_m2, float) * np.asarray(seconds, float)
    return np.asarray(heat / middle("steam_kj_per_kg"), float)
