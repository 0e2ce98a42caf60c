"""Drag of drops that flatten, at terminal speed and away from it, in air of any density.

A drop's drag is that of a hard sphere of its Reynolds number times a factor for its flattening,
which goes with the Weber number of its slip. The factor is what makes drops of every size fall at
the terminal speed of Beard 1976, so that a drop at any other slip flattens as the drop does that
falls at that Weber number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import OutsideRangeError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.drops.liquid import Liquid
    from wetline.drops.moist_air import MoistAir

__all__ = ["DropDrag", "drop_drag", "sphere_drag", "terminal_speed_beard_1976"]

_GRAVITY = 9.81
_LEAST_MM, _MOST_MM = 0.02, 7.0
_WATER_KG_PER_M3, _WATER_TENSION_N_PER_M = 998.0, 0.0728
FLAT_DRAG = 1.2  # a disc across the flow, from memory
WEBER_STEP, WEBER_COUNT = 0.05, 401
ROOT_REYNOLDS_STEP, ROOT_REYNOLDS_COUNT = 0.2, 1201
SIZE_STEP_M, SIZE_COUNT = 2e-5, 1001


def sphere_drag(reynolds: ArrayLike) -> NDArray[np.float64]:
    """Drag coefficient of a hard sphere, Re up to 3e5; Clift and Gauvin 1970 (from memory)."""
    re = np.asarray(reynolds, float)
    return np.asarray(24.0 / re * (1.0 + 0.15 * re**0.687) + 0.42 / (1.0 + 42500.0 * re**-1.16), float)


def terminal_speed_beard_1976(
    diameter_mm: ArrayLike,
    *,
    air_kg_per_m3: float,
    viscosity_pa_s: float,
    liquid_kg_per_m3: float = _WATER_KG_PER_M3,
    surface_tension_n_per_m: float = _WATER_TENSION_N_PER_M,
) -> NDArray[np.float64]:
    """Terminal speed [m/s] of drops of 0.02 to 7 mm in still air.

    Two regimes of Reynolds number, by the Davies number up to 1.07 mm and by the Bond and the physical
    property number above; no slip of the air's molecules, which matters under 0.02 mm only.

    Raises
    ------
    OutsideRangeError
        For a diameter outside 0.02 to 7 mm.

    References
    ----------
    Beard 1976, J. Atmos. Sci. 33:851-864 (constants from memory; they reproduce Gunn and Kinzer 1949).
    """
    mm = np.asarray(diameter_mm, float)
    if not np.all((mm >= _LEAST_MM) & (mm <= _MOST_MM)):
        worst = float(mm.flat[int(np.argmax(np.abs(mm - 3.5)))])
        raise OutsideRangeError(field="diameter_mm", value=worst, low=_LEAST_MM, high=_MOST_MM, unit="mm")
    d = mm * 1e-3
    lift = _GRAVITY * (liquid_kg_per_m3 - air_kg_per_m3)
    small = (-3.18657, 0.992696, -0.153193e-2, -0.987059e-3, -0.578878e-3, 0.855176e-4, -0.327815e-5)
    large = (-5.00015, 5.23778, -2.04914, 0.475294, -0.542819e-1, 0.238449e-2)
    davies = np.log(4.0 * air_kg_per_m3 * lift * d**3 / (3.0 * viscosity_pa_s**2))
    property_number = surface_tension_n_per_m**3 * air_kg_per_m3**2 / (viscosity_pa_s**4 * lift)
    root = property_number ** (1.0 / 6.0)
    bond = np.log(4.0 * lift * d * d / (3.0 * surface_tension_n_per_m) * root)
    reynolds = np.where(
        mm <= 1.07,
        np.exp(np.polynomial.polynomial.polyval(davies, small)),
        root * np.exp(np.polynomial.polynomial.polyval(bond, large)),
    )
    return np.asarray(viscosity_pa_s * reynolds / (air_kg_per_m3 * d), float)


@dataclass(frozen=True, slots=True, kw_only=True)
class DropDrag:
    """Tables for one liquid in one air.

    `sphere`: drag coefficient times Reynolds number by √Re in steps of `ROOT_REYNOLDS_STEP`.
    `flattening`: factor by Weber number in steps of `WEBER_STEP`.
    `terminal_mps`: by diameter in steps of `SIZE_STEP_M`.
    """

    air_kg_per_m3: float
    viscosity_pa_s: float
    liquid_kg_per_m3: float
    surface_tension_n_per_m: float
    sphere: NDArray[np.float64] = field(repr=False)
    flattening: NDArray[np.float64] = field(repr=False)
    terminal_mps: NDArray[np.float64] = field(repr=False)

    def coefficient(self, diameter_m: ArrayLike, slip_mps: ArrayLike) -> NDArray[np.float64]:
        """Drag coefficient of drops at a slip through the air; at most that of a disc once flattened."""
        d, slip = np.asarray(diameter_m, float), np.asarray(slip_mps, float)
        hard = sphere_drag(self.air_kg_per_m3 * slip * d / self.viscosity_pa_s)
        we = self.air_kg_per_m3 * slip**2 * d / self.surface_tension_n_per_m
        factor = np.interp(we, WEBER_STEP * np.arange(WEBER_COUNT), self.flattening)
        return np.asarray(np.minimum(hard * factor, np.maximum(hard, FLAT_DRAG)), float)

    def terminal(self, diameter_m: ArrayLike) -> NDArray[np.float64]:
        """Terminal speed [m/s], 0 to 20 mm."""
        sizes = SIZE_STEP_M * np.arange(SIZE_COUNT)
        return np.asarray(np.interp(np.asarray(diameter_m, float), sizes, self.terminal_mps), float)


def _flattening(air_kg_per_m3: float, viscosity_pa_s: float) -> NDArray[np.float64]:
    """The factor by Weber number that has water fall as Beard's; on with its last slope beyond 7 mm."""
    d = np.concatenate([[0.3e-3], np.linspace(0.4e-3, _MOST_MM * 1e-3, 200)])
    v = terminal_speed_beard_1976(d * 1e3, air_kg_per_m3=air_kg_per_m3, viscosity_pa_s=viscosity_pa_s)
    lift = _GRAVITY * (_WATER_KG_PER_M3 - air_kg_per_m3)
    wanted = 4.0 / 3.0 * lift * d / (air_kg_per_m3 * v**2)
    factor = wanted / sphere_drag(air_kg_per_m3 * v * d / viscosity_pa_s)
    we = air_kg_per_m3 * v**2 * d / _WATER_TENSION_N_PER_M
    slope = (factor[-1] - factor[-20]) / (we[-1] - we[-20])
    grid = WEBER_STEP * np.arange(WEBER_COUNT)
    return np.asarray(np.interp(grid, we, factor) + slope * np.maximum(grid - we[-1], 0.0), float)


def _terminal(drag: DropDrag, d: NDArray[np.float64]) -> NDArray[np.float64]:
    """Speed at which drag carries each drop; halved in, for drag grows with speed."""
    low, high = np.zeros_like(d), np.full_like(d, 30.0)
    lift = 4.0 / 3.0 * _GRAVITY * (drag.liquid_kg_per_m3 - drag.air_kg_per_m3) * d / drag.air_kg_per_m3
    for _ in range(50):
        middle = 0.5 * (low + high)
        slow = drag.coefficient(d, middle) * middle**2 < lift
        low, high = np.where(slow, middle, low), np.where(slow, high, middle)
    return 0.5 * (low + high)


@lru_cache(maxsize=64)
def drop_drag(liquid: Liquid, air: MoistAir) -> DropDrag:
    """The drag of a liquid's drops in an air."""
    grid = (ROOT_REYNOLDS_STEP * np.arange(ROOT_REYNOLDS_COUNT)) ** 2
    grid[0] = 1e-12  # Stokes
    drag = DropDrag(
        air_kg_per_m3=air.density_kg_per_m3,
        viscosity_pa_s=air.viscosity_pa_s,
        liquid_kg_per_m3=liquid.density_kg_per_m3,
        surface_tension_n_per_m=liquid.surface_tension_n_per_m,
        sphere=sphere_drag(grid) * grid,
        flattening=_flattening(air.density_kg_per_m3, air.viscosity_pa_s),
        terminal_mps=np.zeros(SIZE_COUNT),
    )
    drag.terminal_mps[1:] = _terminal(drag, np.asarray(SIZE_STEP_M * np.arange(1, SIZE_COUNT), float))
    for table in (drag.sphere, drag.flattening, drag.terminal_mps):
        table.setflags(write=False)
    return drag
