"""Futures of a day: a member of the fire's ensemble, and how circuits, line and drying may turn out.

Every spread below is a prior, "common practice, no source"; none is calibrated on real drops. The
same seed and number always give the same future (common random numbers across tactics), and the fire of
future k is that of member k in `growth.ensemble`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wetline.behaviour import Variation
from wetline.growth.members import DEFAULT_ERRORS, Errors, member

__all__ = ["Future", "futures"]

CIRCUIT_SIGMA = 0.15
LINE_SIGMA = 0.15
HOLD_SIGMA = 0.54
"""ln 2 / 1.2816: the 80 % band of a log-normal then runs from half to twice the middle, as the
table of hold times does (20 min, 10 to 40)."""
LOAD_MISSED = 0.05
_FIRE_DRAWS = 4
"""Numbers of a future's stream that `growth.member` takes first."""


@dataclass(frozen=True, slots=True)
class Future:
    """One way the day may go. Member 0 is the middle future: nothing varied.

    `variation` for the fire; factors on circuit times, line per load and hold time; `missed_seed`
    draws which loads never arrive (`missed` of them).
    """

    number: int
    variation: Variation
    circuit_factor: float = 1.0
    line_factor: float = 1.0
    hold_factor: float = 1.0
    missed: float = 0.0
    missed_seed: int = 0

    def arrives(self, count: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Which of `count` loads arrive."""
        if self.missed == 0.0:
            return np.ones(count, bool)
        return np.random.default_rng(self.missed_seed).random(count) >= self.missed


def futures(members: int, seed: int, errors: Errors = DEFAULT_ERRORS) -> tuple[Future, ...]:
    """The middle future and `members` varied ones.

    Parameters
    ----------
    members
        Varied futures, 0 or more.
    seed
        Any non-negative whole number.
    errors
        How far wind, moisture and spread may be off.
    """
    out = [Future(number=0, variation=Variation())]
    for number in range(1, members + 1):
        draw = np.random.default_rng([seed, number]).normal(size=_FIRE_DRAWS + 3)[_FIRE_DRAWS:]
        out.append(
            Future(
                number=number,
                variation=member(number, seed, errors),
                circuit_factor=float(np.exp(CIRCUIT_SIGMA * draw[0])),
                line_factor=float(np.exp(LINE_SIGMA * draw[1])),
                hold_factor=float(np.exp(HOLD_SIGMA * draw[2])),
                missed=LOAD_MISSED,
                missed_seed=seed * 100_003 + number,
            )
        )
    return tuple(out)
