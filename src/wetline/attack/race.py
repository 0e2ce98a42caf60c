"""The race over all futures: edge grown, line held, what is open, and whether it is being won."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.model import LEAST_FUTURES, Band

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.attack.nouns import Outcome

__all__ = ["RacePoint", "State", "band_of", "chance_band", "race_of", "state_of"]

State = Literal["gaining", "level", "losing", "closed", "unknown"]

_Z80 = 1.2815515655446004
"""Quantile 0.9 of the normal distribution: an 80 % band."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RacePoint:
    """The race at one moment [m]: middle future, with the 80 % band of all futures.

    `held` counts line and natural barriers; `barrier` is the part of it that borders nothing that
    burns, `retardant` what stays until rain, and the rest is only wet.
    """

    t_s: float
    edge: Band
    held: Band
    open: Band
    barrier_m: float
    retardant_m: float

    @property
    def wet_only_m(self) -> float:
        """Held by water, foam or gel alone."""
        return max(0.0, self.held.middle - self.barrier_m - self.retardant_m)


def band_of(middle: float, values: Sequence[float]) -> Band:
    """The middle future with the 10th and 90th percentile of all; no band from fewer than `LEAST_FUTURES`."""
    if len(values) < LEAST_FUTURES:
        return Band(middle)
    low, high = np.quantile(np.asarray(values, float), [0.1, 0.9])
    return Band(middle, min(float(low), middle), max(float(high), middle))


def race_of(outcomes: Sequence[Outcome]) -> tuple[RacePoint, ...]:
    """Outcomes of all futures, the middle one first, put side by side."""
    middle = outcomes[0]
    points = []
    for i, at in enumerate(middle.samples):
        all_of = [o.samples[i] for o in outcomes]
        points.append(
            RacePoint(
                t_s=at.t_s,
                edge=band_of(at.edge_m, [s.edge_m for s in all_of]),
                held=band_of(at.held_m, [s.held_m for s in all_of]),
                open=band_of(at.open_m, [s.open_m for s in all_of]),
                barrier_m=at.barrier_m,
                retardant_m=at.retardant_m,
            )
        )
    return tuple(points)


def state_of(outcomes: Sequence[Outcome], *, over_s: float = 3600.0) -> State:
    """Gaining or losing where the 80 % band of the change of open edge over the next hour agrees.

    `closed`: nothing is open now. `unknown`: fewer than five futures, or none an hour long.
    """
    first = outcomes[0].samples
    if not first:
        return "unknown"
    if first[0].open_m < 1.0:
        return "closed"
    ahead = [i for i, s in enumerate(first) if s.t_s <= first[0].t_s + over_s + 1.0]
    if len(outcomes) < LEAST_FUTURES or len(ahead) < 2:
        return "unknown"
    change = [o.samples[ahead[-1]].open_m - o.samples[0].open_m for o in outcomes]
    low, high = np.quantile(change, [0.1, 0.9])
    if high < 0.0:
        return "gaining"
    return "losing" if low > 0.0 else "level"


def chance_band(count: int, of: int) -> tuple[float, float] | tuple[None, None]:
    """80 % score interval of a counted share: what so few futures can tell.

    References
    ----------
    Wilson 1927, J. Am. Stat. Assoc. 22(158):209-212.
    """
    if of == 0:
        return None, None
    share, z2 = count / of, _Z80**2
    centre = (share + z2 / (2 * of)) / (1 + z2 / of)
    half = _Z80 * math.sqrt(share * (1 - share) / of + z2 / (4 * of**2)) / (1 + z2 / of)
    return max(0.0, centre - half), min(1.0, centre + half)
