"""The planning form: litres along the track, Gaussian across it, with each input varied in turn.

c(x, y) = G q(x)/(√(2π) σ_y) exp(−(y − y_d)²/2σ_y²): q the load a metre of track, smeared; G the share
that reaches the ground; y_d the drift. The Gaussian cross-section is the finding of Legendre et al.
2014, Int. J. Wildland Fire 23:272 (abstract). σ_y does not grow with height in calm air: how it does
is unknown. It grows with drift, for small drops drift farther than large ones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.fall import drift_per_wind_s, evaporated_fraction
from wetline.drops.planning import setting
from wetline.drops.profile import half_lines_m, smeared_share_per_m
from wetline.model import Band
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.planning import Setting
    from wetline.drops.release import Resolved

__all__ = ["BAND_FROM", "Shape", "bands_m", "shape_of", "shapes_of"]

BAND_FROM = (
    "each of spread across, smear, drift spread, share reaching the ground, canopy, load and flow time "
    "moved alone to the ends of its range, the changes joined as the root of the sum of their squares"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What the form needs: float64[variant] or one number each. The first variant is the middle.

    `litres`: on the ground. `length_m`: track between half-flow points; `ramp_m`: of the doors.
    """

    litres: NDArray[np.float64]
    length_m: NDArray[np.float64]
    ramp_m: NDArray[np.float64]
    spread_along_m: NDArray[np.float64]
    spread_across_m: NDArray[np.float64]

    @property
    def peak_l_per_m2(self) -> NDArray[np.float64]:
        """Coverage [L/m²] in the middle of the pattern."""
        middle = np.zeros_like(self.length_m)
        share = smeared_share_per_m(middle, self.length_m, self.ramp_m, self.spread_along_m)
        return self.litres * share / (math.sqrt(2.0 * math.pi) * self.spread_across_m)


def drop_size(resolved: Resolved) -> Setting:
    """The planning drop size [mm] of the agent."""
    return setting("drop_size_gum_mm" if resolved.agent in {"gel", "retardant"} else "drop_size_water_mm")


def drift_m(resolved: Resolved) -> tuple[float, float]:
    """Drift along and right of the heading [m] of the planning drop size."""
    seconds = drift_per_wind_s(resolved.height_m, drop_size(resolved).value)
    return resolved.wind_along_mps * seconds, resolved.wind_right_mps * seconds


def evaporated_share(resolved: Resolved) -> float:
    """Share of the load that evaporates: an upper bound for the drop sizes assumed."""
    return evaporated_fraction(
        resolved.height_m,
        resolved.temperature_c,
        resolved.humidity_pct,
        drop_size(resolved).value,
        setting("drop_size_exponent").value,
    )


def spread_setting(resolved: Resolved) -> Setting:
    """The spread across [m] for the way the load is let go; a bucket takes the salvo's."""
    return setting("sigma_across_constant_m" if resolved.mode == "constant" else "sigma_across_salvo_m")


def _ranges(resolved: Resolved) -> tuple[dict[str, float], dict[str, tuple[float, float]]]:
    """The middle of every varied input, and the ends of its range."""
    across, smear, drift = spread_setting(resolved), setting("smear_along_s"), setting("drift_spread")
    ground, canopy, load = setting("ground_fraction"), setting("canopy_k"), setting("load_share")
    reaching = 1.0 - evaporated_share(resolved)
    middle = {
        "across": across.value,
        "smear": smear.value,
        "drift": drift.value,
        "ground": reaching,
        "canopy": canopy.value,
        "load": load.value,
        "duration": resolved.duration_s,
    }
    ends = {
        "across": (across.low, across.high),
        "smear": (smear.low, smear.high),
        "drift": (drift.low, drift.high),
        "ground": (min(reaching, ground.low), max(reaching, ground.high)),
        "canopy": (canopy.low, canopy.high),
        "load": (load.low, load.high),
        "duration": (resolved.duration_low_s, resolved.duration_high_s),
    }
    if not resolved.leaf_area:
        del ends["canopy"]
    if not (resolved.wind_along_mps or resolved.wind_right_mps):
        del ends["drift"]
    return middle, ends


_LADDER = COVERAGE_LEVEL * np.array([0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0])
"""Steps [L/m²] at which a band is held to fall with the level."""


def _shape(resolved: Resolved, rows: list[dict[str, float]]) -> Shape:
    v = {name: np.array([row[name] for row in rows]) for name in rows[0]}
    along_m, right_m = drift_m(resolved)
    ramp_s = np.minimum(setting("door_ramp_s").value, v["duration"])
    return Shape(
        litres=resolved.load_l * v["load"] * v["ground"] * np.exp(-v["canopy"] * (resolved.leaf_area or 0.0)),
        length_m=resolved.ground_speed_mps * v["duration"],
        ramp_m=resolved.ground_speed_mps * ramp_s,
        spread_along_m=np.hypot(v["smear"] * resolved.speed_mps, v["drift"] * along_m),
        spread_across_m=np.hypot(v["across"], v["drift"] * right_m),
    )


def shape_of(resolved: Resolved) -> Shape:
    """The middle alone, as arrays of one."""
    return _shape(resolved, [_ranges(resolved)[0]])


def shapes_of(resolved: Resolved) -> Shape:
    """The middle, then each varied input at its low and its high end."""
    middle, ends = _ranges(resolved)
    rows = [middle] + [{**middle, name: end} for name, pair in ends.items() for end in pair]
    return _shape(resolved, rows)


def bands_m(shapes: Shape, levels_l_per_m2: NDArray[np.float64]) -> list[Band]:
    """A line [m] with its band for each level: see `BAND_FROM`.

    No end of a band grows with the level: each is at most that of every lower step of `_LADDER`.
    """
    asked = np.asarray(levels_l_per_m2, float)
    levels, where = np.unique(np.append(asked, _LADDER[asked.max() > _LADDER]), return_inverse=True)
    lines = half_lines_m(
        levels,
        litres=shapes.litres,
        length_m=shapes.length_m,
        ramp_m=shapes.ramp_m,
        spread_along_m=shapes.spread_along_m,
        spread_across_m=shapes.spread_across_m,
    )
    middle, change = lines[0], lines[1:] - lines[0]
    low = np.minimum.accumulate(middle - np.sqrt((np.minimum(change, 0.0) ** 2).sum(axis=0)))
    high = np.minimum.accumulate(middle + np.sqrt((np.maximum(change, 0.0) ** 2).sum(axis=0)))
    return [Band(float(middle[i]), float(max(low[i], 0.0)), float(high[i])) for i in where[: asked.size]]
