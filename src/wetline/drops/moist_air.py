"""The air that drops fall through: density, viscosity, vapour, and the wet bulb that drops take on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from wetline.errors import OutsideRangeError
from wetline.units import celsius_to_kelvin

__all__ = ["MoistAir", "moist_air", "saturation_pa", "wet_bulb_c"]

_SEA_LEVEL_PA = 101325.0
_DRY_GAS_CONSTANT = 287.05  # J/(kg K), from memory
_VAPOUR_GAS_CONSTANT = 461.5  # J/(kg K), from memory
_RATIO = _DRY_GAS_CONSTANT / _VAPOUR_GAS_CONSTANT
_HEAT_DRY = 1005.0  # J/(kg K), from memory
_HEAT_VAPOUR = 1850.0  # J/(kg K), from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class MoistAir:
    """Still air around drops. `deficit_kg_per_m3`: vapour at a drop's wet-bulb surface less the air's."""

    temperature_c: float
    pressure_pa: float
    density_kg_per_m3: float
    viscosity_pa_s: float
    diffusivity_m2_per_s: float
    wet_bulb_c: float
    deficit_kg_per_m3: float

    @property
    def schmidt(self) -> float:
        """Viscosity over density and diffusivity of vapour."""
        return self.viscosity_pa_s / (self.density_kg_per_m3 * self.diffusivity_m2_per_s)


def saturation_pa(temperature_c: float) -> float:
    """Vapour pressure over water [Pa]; Bolton 1980, Mon. Weather Rev. 108:1046, eq. 10 (from memory)."""
    return float(611.2 * math.exp(17.67 * temperature_c / (temperature_c + 243.5)))


def wet_bulb_c(temperature_c: float, humidity_pct: float, pressure_pa: float = _SEA_LEVEL_PA) -> float:
    """Wet-bulb temperature [°C] at which air, cooled by what it evaporates, is saturated.

    Adiabatic: c_p (T − T_w) = L (r_s(T_w) − r). A drop's own differs by some tenths of a kelvin, as
    heat and vapour do not diffuse at quite the same rate.
    """
    vapour = humidity_pct / 100.0 * saturation_pa(temperature_c)
    ratio = _RATIO * vapour / (pressure_pa - vapour)
    low, high = temperature_c - 45.0, temperature_c
    for _ in range(40):
        middle = 0.5 * (low + high)
        at_drop = saturation_pa(middle)
        latent = 2.501e6 - 2361.0 * middle  # J/kg, from memory
        heat = (_HEAT_DRY + _HEAT_VAPOUR * ratio) * (temperature_c - middle)
        if latent * (_RATIO * at_drop / (pressure_pa - at_drop) - ratio) > heat:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@lru_cache(maxsize=256)
def moist_air(temperature_c: float, humidity_pct: float, pressure_pa: float = _SEA_LEVEL_PA) -> MoistAir:
    """Air of a temperature, a relative humidity and a pressure; ideal gases.

    Raises
    ------
    OutsideRangeError
        Outside −20 to 55 °C, 1 to 100 % humidity, or 50,000 to 110,000 Pa.

    References
    ----------
    Viscosity: Sutherland's law; diffusivity: Pruppacher and Klett; both from memory.
    """
    for name, value, low, high, unit in (
        ("temperature_c", temperature_c, -20.0, 55.0, "°C"),
        ("humidity_pct", humidity_pct, 1.0, 100.0, "%"),
        ("pressure_pa", pressure_pa, 50_000.0, 110_000.0, "Pa"),
    ):
        if not low <= value <= high:
            raise OutsideRangeError(field=name, value=value, low=low, high=high, unit=unit)
    kelvin = celsius_to_kelvin(temperature_c)
    vapour = humidity_pct / 100.0 * saturation_pa(temperature_c)
    wet_c = wet_bulb_c(temperature_c, humidity_pct, pressure_pa)
    at_drop = saturation_pa(wet_c) / celsius_to_kelvin(wet_c)
    return MoistAir(
        temperature_c=temperature_c,
        pressure_pa=pressure_pa,
        density_kg_per_m3=(pressure_pa - (1.0 - _RATIO) * vapour) / (_DRY_GAS_CONSTANT * kelvin),
        viscosity_pa_s=1.458e-6 * kelvin**1.5 / (kelvin + 110.4),
        diffusivity_m2_per_s=2.11e-5 * (kelvin / 273.15) ** 1.94 * (_SEA_LEVEL_PA / pressure_pa),
        wet_bulb_c=wet_c,
        deficit_kg_per_m3=max(at_drop - vapour / kelvin, 0.0) / _VAPOUR_GAS_CONSTANT,
    )
