"""The load along the track: a trapezoid of flow, smeared; and how long a level holds on it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["half_lines_m", "longest_and_total_m", "smeared_share_per_m"]

_erf = np.frompyfunc(math.erf, 1, 1)
_POINTS = 160
_REACH = 5.0  # standard deviations beyond the flow: 3e-7 of the peak


def _integral_of_normal(z: NDArray[np.float64]) -> NDArray[np.float64]:
    """∫ Φ from −∞ to z = z Φ(z) + φ(z)."""
    cumulative = 0.5 * (1.0 + np.asarray(_erf(z / math.sqrt(2.0)), float))
    return np.asarray(z * cumulative + np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi), float)


def smeared_share_per_m(
    x_m: NDArray[np.float64], length_m: ArrayLike, ramp_m: ArrayLike, spread_m: ArrayLike
) -> NDArray[np.float64]:
    """Share of the load on each metre of track [1/m] at `x_m` from the middle of the pattern.

    A trapezoid of flow, `length_m` between half-flow points with ramps of `ramp_m`, convolved with a
    Gaussian of standard deviation `spread_m`, in closed form. Arguments broadcast against `x_m`.
    """
    length, ramp = np.asarray(length_m, float), np.asarray(ramp_m, float)
    spread = np.asarray(spread_m, float)

    def ramped(edge: NDArray[np.float64]) -> NDArray[np.float64]:
        up, down = (x_m - edge + 0.5 * ramp) / spread, (x_m - edge - 0.5 * ramp) / spread
        rise = (_integral_of_normal(up) - _integral_of_normal(down)) * spread / ramp
        return np.asarray(rise, float)

    share = np.maximum(ramped(-0.5 * length) - ramped(0.5 * length), 0.0) / length  # rounding below 0
    return np.asarray(share, float)


def half_lines_m(
    levels_l_per_m2: NDArray[np.float64],
    *,
    litres: NDArray[np.float64],
    length_m: NDArray[np.float64],
    ramp_m: NDArray[np.float64],
    spread_along_m: NDArray[np.float64],
    spread_across_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Line [m] along the centre on which each level holds: float64[variant, level], 0 where it never does.

    `litres` on the ground; all but the levels are float64[variant]. The profile has one maximum and is
    even, so that half of it is searched.
    """
    reach = 0.5 * (length_m + ramp_m) + _REACH * spread_along_m
    x = np.linspace(0.0, 1.0, _POINTS) * reach[:, None]
    share = smeared_share_per_m(x, length_m[:, None], ramp_m[:, None], spread_along_m[:, None])
    centre = share * (litres / (math.sqrt(2.0 * math.pi) * spread_across_m))[:, None]
    lines = [
        2.0 * np.interp(levels_l_per_m2, c[::-1], along[::-1], right=0.0)
        for c, along in zip(centre, x, strict=True)
    ]
    return np.array(lines)


def longest_and_total_m(
    x_m: NDArray[np.float64], coverage: NDArray[np.float64], level: float
) -> tuple[float, float]:
    """Longest unbroken and summed length [m] on which `coverage` reaches `level`, linear between points."""
    above = coverage >= level
    both = above[:-1] & above[1:]
    step = np.diff(x_m)
    rise = np.abs(np.diff(coverage))
    top = np.maximum(coverage[:-1], coverage[1:])
    part = np.where(both, 1.0, 0.0)
    mixed = above[:-1] != above[1:]
    part[mixed] = (top[mixed] - level) / rise[mixed]
    pieces = part * step
    if not pieces.size:
        return 0.0, 0.0
    # a run ends where the profile comes down through the level, or at the end of the line
    ends = np.flatnonzero(above[:-1] & ~above[1:]) + 1
    runs = [float(p.sum()) for p in np.split(pieces, ends)]
    return max(runs), float(pieces.sum())
