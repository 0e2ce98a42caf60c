"""The column of liquid under the tank: how far it goes before the air has broken it up.

A column as thick as a tank door is wide keeps most of its speed and shields itself; drops are
stripped from it over the break-up time of Pilch and Erdman. All of it in the frame of the air.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.droplet_settings import droplet_settings
from wetline.drops.steep import steep_depth_m
from wetline.errors import OutsideRangeError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.liquid import Liquid

__all__ = [
    "Column",
    "break_up_time",
    "column",
    "critical_weber",
    "ohnesorge",
    "weber",
]

_GRAVITY = 9.81
_AIR_KG_PER_M3 = 1.2
_STEPS_A_LIFE = 250
_LONGEST_S = 60.0


def weber(air_kg_per_m3: float, speed_mps: float, diameter_m: float, surface_tension_n_per_m: float) -> float:
    """We = ρ_a V² d/σ: the air's pressure against surface tension."""
    return air_kg_per_m3 * speed_mps**2 * diameter_m / surface_tension_n_per_m


def ohnesorge(liquid: Liquid, diameter_m: float) -> float:
    """Oh = μ/√(ρ d σ): viscosity against inertia and surface tension.

    With the viscosity at low shear: thickened liquids thin in shear, so that theirs is too high.
    """
    inertia = liquid.density_kg_per_m3 * diameter_m * liquid.surface_tension_n_per_m
    return liquid.viscosity_pa_s / math.sqrt(inertia)


def critical_weber(oh: float) -> float:
    """Weber number under which nothing breaks: 12 (1 + 1.077 Oh^1.6); Pilch and Erdman 1987."""
    return float(12.0 * (1.0 + 1.077 * oh**1.6))


def break_up_time(we: float, oh: float = 0.0) -> float:
    """Time T until all of a body is broken up, in units of (d/V) √(ρ_l/ρ_a); inf where it stays whole.

    Pilch and Erdman give T for thin liquids. For others the Weber number is counted from their own
    critical one, We·12/We_c, which keeps the pieces joined. Between 45 and 351 the power is −0.25:
    only then do the pieces meet.

    References
    ----------
    Pilch and Erdman 1987, Int. J. Multiphase Flow 13:741-757 (constants from public code).
    """
    reduced = we * 12.0 / critical_weber(oh)
    over = reduced - 12.0
    if over <= 0.0:
        return math.inf
    if reduced < 18.0:
        return float(6.0 * over**-0.25)
    if reduced < 45.0:
        return float(2.45 * over**0.25)
    if reduced < 351.0:
        return float(14.1 * over**-0.25)
    if reduced < 2670.0:
        return float(0.766 * over**0.25)
    return 5.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One cross-section of the load on its way from the tank until broken up: float64[step].

    `forward_m`, `depth_m` from the tank door where it left; `forward_mps`, `down_mps` its speed through
    the air; `unbroken` the share still in the column. `vertical_depth_m`: under the tank, where 90 % of
    the load falls steeper than forward/down 0.2; inf if it does not; in
    calm air, without the aircraft's wake.
    """

    diameter_m: float
    time_s: NDArray[np.float64] = field(repr=False)
    forward_m: NDArray[np.float64] = field(repr=False)
    depth_m: NDArray[np.float64] = field(repr=False)
    forward_mps: NDArray[np.float64] = field(repr=False)
    down_mps: NDArray[np.float64] = field(repr=False)
    unbroken: NDArray[np.float64] = field(repr=False)
    vertical_depth_m: float

    def intact_share(self, depth_m: ArrayLike) -> NDArray[np.float64]:
        """Share of the load that passes a depth [m] under the tank as unbroken column."""
        return np.asarray(np.interp(np.asarray(depth_m, float), self.depth_m, self.unbroken), float)


@lru_cache(maxsize=512)
def column(
    flow_l_per_s: float,
    speed_mps: float,
    liquid: Liquid,
    *,
    exit_mps: float | None = None,
    air_kg_per_m3: float = _AIR_KG_PER_M3,
    settings: DropletSettings | None = None,
) -> Column:
    """The column that a flow makes at an airspeed. `exit_mps`: out of the door, else the setting.

    Raises
    ------
    OutsideRangeError
        For a flow outside 0.01 to 60,000 L/s, a speed outside 0 to 120 m/s, an exit speed outside 0.5 to
        15 m/s or an air density outside 0.6 to 1.6 kg/m³.
    """
    settings = settings or droplet_settings()
    exit_mps = settings.exit_speed_mps if exit_mps is None else exit_mps
    for name, value, low, high, unit in (
        ("flow_l_per_s", flow_l_per_s, 0.01, 60_000.0, "L/s"),
        ("speed_mps", speed_mps, 0.0, 120.0, "m/s"),
        ("exit_mps", exit_mps, 0.5, 15.0, "m/s"),
        ("air_kg_per_m3", air_kg_per_m3, 0.6, 1.6, "kg/m³"),
    ):
        if not low <= value <= high:
            raise OutsideRangeError(field=name, value=value, low=low, high=high, unit=unit)
    diameter = settings.column_shape * math.sqrt(4e-3 * flow_l_per_s / (math.pi * exit_mps))
    path = _path(diameter, speed_mps, exit_mps, liquid, air_kg_per_m3)
    unbroken = 1.0 - path[5] ** settings.stripping_power
    path.setflags(write=False)
    unbroken.setflags(write=False)
    body = Column(
        diameter_m=diameter,
        time_s=path[0],
        forward_m=path[1],
        depth_m=path[2],
        forward_mps=path[3],
        down_mps=path[4],
        unbroken=unbroken,
        vertical_depth_m=math.nan,
    )
    return replace(
        body,
        vertical_depth_m=steep_depth_m(body, flow_l_per_s, speed_mps, liquid, air_kg_per_m3, settings),
    )


def _path(
    diameter_m: float, speed_mps: float, exit_mps: float, liquid: Liquid, air_kg_per_m3: float
) -> NDArray[np.float64]:
    """Rows: time, forward, depth, speed forward and down, share of the break-up time passed.

    A body that flattens loses V √(ρ_a/ρ_l) (0.375 T + 0.2274 T²) of its speed (Pilch and Erdman 1987).
    """
    thinness = math.sqrt(air_kg_per_m3 / liquid.density_kg_per_m3)
    oh = ohnesorge(liquid, diameter_m)
    forward, down = speed_mps, exit_mps
    t = x = z = passed = done = 0.0
    rows = [(t, x, z, forward, down, done)]
    while done < 1.0 and t < _LONGEST_S:
        speed = math.hypot(forward, down)
        life = break_up_time(weber(air_kg_per_m3, speed, diameter_m, liquid.surface_tension_n_per_m), oh)
        scale = speed * thinness / diameter_m
        step = min(min(life, 60.0) / scale / _STEPS_A_LIFE, 0.05)
        slower = max(0.0, 1.0 - thinness * (0.375 + 0.4548 * passed) * scale * step)
        passed += scale * step
        done = min(1.0, done + scale * step / life)
        before = forward, down
        forward, down = forward * slower, down * slower + _GRAVITY * step
        x += 0.5 * (before[0] + forward) * step
        z += 0.5 * (before[1] + down) * step
        t += step
        rows.append((t, x, z, forward, down, done))
    return np.array(rows).T.copy()
