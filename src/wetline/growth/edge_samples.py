"""A ring of the edge sampled at even steps: outward normals, and how the fire behaves along them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour import attack_class, attack_thresholds_kw_per_m, intensity_toward, normal_rate
from wetline.grid import along, bearing_deg
from wetline.growth.contour import drawn_ring, normals_deg

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from shapely.geometry import LinearRing

    from wetline.behaviour import FireFields
    from wetline.growth.contour import DrawnRing

__all__ = [
    "NOT_BURNING",
    "NO_DIRECTION",
    "UNKNOWN",
    "EdgeBehaviour",
    "Samples",
    "behaviour_along",
    "by_attack_m",
    "direction_of",
    "hottest_attack",
    "samples_of",
]

NO_DIRECTION = 0.2
"""Below this share of head less heel rate, the fire has no direction of its own (derived: L/W 1.006)."""
NOT_BURNING = "not_burning"
"""Edge beside ground that is known not to burn."""
UNKNOWN = "unknown"
"""Edge beside ground of unknown fuel or height, or off the fields."""

_STEP_M = 10.0
_FEWEST, _MOST = 96, 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeBehaviour:
    """Behaviour along the outward normal at points, float64[n]; NaN where it is unknown.

    `rate_mps`, `intensity_kw_per_m`: along the normal, 0 where nothing burns. `head_toward_deg`,
    `eccentricity`: of the head fire there.
    """

    rate_mps: NDArray[np.float64]
    intensity_kw_per_m: NDArray[np.float64]
    head_toward_deg: NDArray[np.float64]
    eccentricity: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Samples:
    """A ring at even steps of its simplified length: points [m], outward normals, behaviour."""

    ring: DrawnRing
    xy: NDArray[np.float64]
    normal_deg: NDArray[np.float64]
    fire: EdgeBehaviour

    @property
    def step_m(self) -> float:
        """Simplified length [m] that one sample stands for."""
        return self.ring.length_m / len(self.xy)


def samples_of(line: LinearRing, fields: FireFields, at_s: float) -> Samples:
    """A ring with burnt ground on its left, sampled, with the behaviour just outside it.

    Raises
    ------
    LookupError
        If the fields do not cover that time.
    """
    ring = drawn_ring(line)
    n = int(np.clip(round(ring.length_m / _STEP_M), _FEWEST, _MOST))
    at_m = ring.on_drawn_m((np.arange(n) + 0.5) * ring.length_m / n)
    xy, normal = ring.at(at_m), normals_deg(ring, at_m)
    return Samples(ring, xy, normal, behaviour_along(xy, normal, fields, at_s))


def behaviour_along(
    xy: NDArray[np.float64], normal_deg: NDArray[np.float64], fields: FireFields, at_s: float
) -> EdgeBehaviour:
    """Behaviour just outside points [m] of an edge, along its outward normals.

    Read half a cell outside the edge: what burns next, not what has burnt. Ground of unknown fuel or
    height is unknown, and never ground that does not burn.

    Raises
    ------
    LookupError
        If the fields do not cover that time.
    """
    east, north = along(normal_deg)
    x, y = xy[:, 0] + 0.5 * fields.grid.cell_m * east, xy[:, 1] + 0.5 * fields.grid.cell_m * north
    out = np.full((4, len(xy)), np.nan)
    slot = fields.slot(at_s)
    on = fields.grid.holds(x, y)
    if fields.unknown is not None:
        on[on] = ~fields.unknown[fields.grid.index(x[on], y[on])]
    here = fields.at(slot, x[on], y[on])
    angle = normal_deg[on] - here.head_toward_deg
    out[0, on] = normal_rate(here.head_rate_mps, here.eccentricity, angle)
    out[1, on] = intensity_toward(here.head_intensity_kw_per_m, here.eccentricity, angle)
    out[2, on] = here.head_toward_deg
    out[3, on] = here.eccentricity
    return EdgeBehaviour(
        rate_mps=out[0], intensity_kw_per_m=out[1], head_toward_deg=out[2], eccentricity=out[3]
    )


def direction_of(fire: EdgeBehaviour) -> float | None:
    """The edge's own head bearing [deg], or None. Each place counts by its rate and its head-heel contrast."""
    known = np.isfinite(fire.rate_mps)
    rate = fire.rate_mps[known]
    if not rate.sum() > 0.0:
        return None
    ecc = fire.eccentricity[known]
    contrast = 2.0 * ecc / (1.0 + ecc)  # (head − heel)/head rate of the ellipse lit at its rear focus
    east, north = along(fire.head_toward_deg[known])
    pull = np.array([(rate * contrast * east).sum(), (rate * contrast * north).sum()]) / rate.sum()
    if float(np.hypot(*pull)) < NO_DIRECTION:
        return None
    return float(bearing_deg(pull[0], pull[1]))


def by_attack_m(
    rate_mps: NDArray[np.float64], intensity_kw_per_m: NDArray[np.float64], length_m: float
) -> Mapping[str, float]:
    """A length [m] of edge shared out by what can attack it, from even samples of it.

    Keys: the published classes of `attack_class`, `not_burning` and `unknown`; they add up to the length.
    """
    names = [name for _, name in attack_thresholds_kw_per_m()]
    limits = np.array([limit for limit, _ in attack_thresholds_kw_per_m()])
    known = np.isfinite(rate_mps)
    burns = known & (rate_mps > 0.0)
    group = np.searchsorted(limits, intensity_kw_per_m[burns], side="right") - 1
    counts = np.bincount(group, minlength=len(names))
    step = length_m / len(rate_mps)
    return {
        **{name: float(count) * step for name, count in zip(names, counts, strict=True)},
        NOT_BURNING: float(np.count_nonzero(known & ~burns)) * step,
        UNKNOWN: float(np.count_nonzero(~known)) * step,
    }


def hottest_attack(
    rate_mps: NDArray[np.float64], intensity_kw_per_m: NDArray[np.float64]
) -> tuple[float, str]:
    """The greatest known intensity [kW/m] of samples and its class; NaN and `unknown` where none is known."""
    known = np.isfinite(rate_mps)
    if not known.any():
        return math.nan, UNKNOWN
    hottest = float(intensity_kw_per_m[known].max())
    if not (rate_mps[known] > 0.0).any():
        return hottest, NOT_BURNING if known.all() else UNKNOWN
    return hottest, attack_class(hottest)
