"""Members of the ensemble: how wind, moisture, spread, circuits, line and drying may turn out.

Every spread below is a prior, "common practice, no source"; none is calibrated on real drops. The
same seed and member number always give the same future (common random numbers across tactics).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wetline.behaviour import Variation

__all__ = ["Future", "futures"]

WIND_SPEED_SIGMA = 0.20
WIND_TURN_SIGMA_DEG = 12.0
MOISTURE_SIGMA_PCT = 1.0
SPREAD_SIGMA = 0.20
CIRCUIT_SIGMA = 0.15
LINE_SIGMA = 0.15
HOLD_SIGMA = 0.54
"""ln 2 / 1.2816: the 80 % band of a log-normal then runs from half to twice the middle, as the
table of hold times does (20 min, 10 to 40)."""
LOAD_MISSED = 0.05


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


def futures(members: int, seed: int) -> tuple[Future, ...]:
    """The middle future and `members` varied ones.

    Parameters
    ----------
    members
        Varied futures, 0 or more.
    seed
        Any non-negative whole number.
    """
    out = [Future(number=0, variation=Variation())]
    for number in range(1, members + 1):
        draw = np.random.default_rng([seed, number]).normal(size=7)
        out.append(
            Future(
                number=number,
                variation=Variation(
                    wind_factor=float(np.exp(WIND_SPEED_SIGMA * draw[0])),
                    wind_turn_deg=float(WIND_TURN_SIGMA_DEG * draw[1]),
                    moisture_add_pct=float(MOISTURE_SIGMA_PCT * draw[2]),
                    spread_factor=float(np.exp(SPREAD_SIGMA * draw[3])),
                ),
                circuit_factor=float(np.exp(CIRCUIT_SIGMA * draw[4])),
                line_factor=float(np.exp(LINE_SIGMA * draw[5])),
                hold_factor=float(np.exp(HOLD_SIGMA * draw[6])),
                missed=LOAD_MISSED,
                missed_seed=seed * 100_003 + number,
            )
        )
    return tuple(out)
