"""The flow out of a tank over time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Flow"]


@dataclass(frozen=True, slots=True)
class Flow:
    """Flow [L/s] at times [s] from the opening, straight lines between; nothing before and after.

    Times rise strictly; the last flow is 0. The integral is the load.
    """

    t_s: tuple[float, ...]
    l_per_s: tuple[float, ...]

    @property
    def litres(self) -> float:
        """What leaves the tank [L]."""
        return float(np.trapezoid(self.l_per_s, self.t_s))

    @property
    def peak_l_per_s(self) -> float:
        """The greatest flow [L/s]."""
        return max(self.l_per_s)

    @property
    def middle_s(self) -> float:
        """Mean time [s] at which its litres leave."""
        t, q = np.asarray(self.t_s), np.asarray(self.l_per_s)
        step = np.diff(t)
        # exact for straight lines: ∫ t q dt over each piece
        moment = step * (q[:-1] * (2 * t[:-1] + t[1:]) + q[1:] * (t[:-1] + 2 * t[1:])) / 6.0
        return float(moment.sum() / self.litres)

    def stretched(self, factor: float) -> Flow:
        """The same load let go over `factor` times as long."""
        return Flow(tuple(t * factor for t in self.t_s), tuple(q / factor for q in self.l_per_s))
