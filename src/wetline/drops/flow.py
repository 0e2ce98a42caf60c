"""The flow out of a tank over time, and how doors, rows of doors and falling heads shape it."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from wetline.errors import InputError, OutsideRangeError, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["MIDDLE", "Flow", "drained", "even", "joined"]

MIDDLE = (0.1, 0.9)
"""The shares of a load between which its middle leaves."""
_RAMP_POINTS = 8
_SAME_S = 1e-6
"""Two moments nearer than this are one: doors do not know microseconds."""


@dataclass(frozen=True, slots=True)
class Flow:
    """Flow [L/s] at times [s] from the opening, straight lines between; nothing before and after.

    Times rise strictly; the last flow is 0. The integral is the load.

    Raises
    ------
    InputError
        If times do not rise, a flow is negative or no number, the last one is not 0, or nothing flows.
    """

    t_s: tuple[float, ...]
    l_per_s: tuple[float, ...]

    def __post_init__(self) -> None:
        faults = []
        if len(self.t_s) != len(self.l_per_s) or len(self.t_s) < 2:
            faults.append("times and flows are not as many, or too few")
        elif not all(map(math.isfinite, self.t_s)) or any(b <= a for a, b in pairwise(self.t_s)):
            faults.append("times do not rise")
        elif not all(0.0 <= q < math.inf for q in self.l_per_s):
            faults.append("a flow is negative or no number")
        elif self.l_per_s[-1] != 0.0 or not any(self.l_per_s):
            faults.append("it does not end at 0, or nothing flows")
        if faults:
            mend = "Give rising times [s] and flows of 0 L/s and more, the last one 0."
            raise InputError.of([Problem(message=f"This is no flow: {f}.", mend=mend) for f in faults])

    @property
    def litres(self) -> float:
        """What leaves the tank [L]."""
        return math.fsum(
            0.5 * (a + b) * (t1 - t0)
            for (t0, t1), (a, b) in zip(pairwise(self.t_s), pairwise(self.l_per_s), strict=True)
        )

    @property
    def peak_l_per_s(self) -> float:
        """The greatest flow [L/s]."""
        return max(self.l_per_s)

    @property
    def middle_s(self) -> float:
        """Mean time [s] at which its litres leave."""
        # exact for straight lines: ∫ t q dt over each piece
        moment = math.fsum(
            (t1 - t0) * (a * (2.0 * t0 + t1) + b * (t0 + 2.0 * t1)) / 6.0
            for (t0, t1), (a, b) in zip(pairwise(self.t_s), pairwise(self.l_per_s), strict=True)
        )
        return moment / self.litres

    @property
    def lasting_s(self) -> float:
        """How long [s] an even flow would be whose middle 80 % of litres leave in the same time.

        Of doors that open and close in a ramp it is the time between the points of half flow.
        """
        low, high = MIDDLE
        return (self.gone_s(high) - self.gone_s(low)) / (high - low)

    def gone_s(self, share: float) -> float:
        """Time [s] at which a share of the litres has left.

        Raises
        ------
        OutsideRangeError
            If the share is not from 0 to 1.
        """
        if not 0.0 <= share <= 1.0:
            raise OutsideRangeError(field="share", value=share, low=0, high=1, unit="")
        rest = share * self.litres
        for (t0, t1), (a, b) in zip(pairwise(self.t_s), pairwise(self.l_per_s), strict=True):
            piece = 0.5 * (a + b) * (t1 - t0)
            if rest <= piece:
                # a τ + (b − a) τ²/2Δt = rest, solved without the difference of near numbers
                bend = (b - a) / (t1 - t0)
                root = math.sqrt(max(a * a + 2.0 * bend * rest, 0.0))  # rounding below 0
                return t0 + (2.0 * rest / (a + root) if a + root > 0.0 else 0.0)
            rest -= piece
        return self.t_s[-1]

    def at(self, t_s: float) -> float:
        """Flow [L/s] at a time [s]; 0 outside."""
        if not self.t_s[0] <= t_s < self.t_s[-1]:
            return 0.0
        i = bisect_right(self.t_s, t_s)
        t0, t1, a, b = self.t_s[i - 1], self.t_s[i], self.l_per_s[i - 1], self.l_per_s[i]
        return a + (b - a) * (t_s - t0) / (t1 - t0)

    def stretched(self, factor: float) -> Flow:
        """The same load let go over `factor` times as long."""
        return Flow(tuple(t * factor for t in self.t_s), tuple(q / factor for q in self.l_per_s))

    def later(self, seconds: float) -> Flow:
        """The same flow, begun later."""
        return Flow(tuple(t + seconds for t in self.t_s), self.l_per_s)

    def scaled_to(self, litres: float) -> Flow:
        """The same course of flow for another load."""
        factor = litres / self.litres
        return Flow(self.t_s, tuple(q * factor for q in self.l_per_s))


def _positive(**numbers: float) -> None:
    for field, value in numbers.items():
        if not 0.0 < value < math.inf:
            raise OutsideRangeError(field=field, value=value, low=0, high=math.inf, unit=field[-1])


def even(litres: float, half_flow_s: float, ramp_s: float) -> Flow:
    """Doors that open and close in a ramp, `half_flow_s` between the points of half flow.

    A load that is gone before the doors stand open leaves in a triangle.

    Raises
    ------
    OutsideRangeError
        If a number is not positive.
    """
    _positive(litres=litres, half_flow_s=half_flow_s, ramp_s=ramp_s)
    full = litres / half_flow_s
    if ramp_s >= half_flow_s - _SAME_S:
        return Flow((0.0, half_flow_s, 2.0 * half_flow_s), (0.0, full, 0.0))
    return Flow((0.0, ramp_s, half_flow_s, half_flow_s + ramp_s), (0.0, full, full, 0.0))


def joined(flows: Sequence[Flow]) -> Flow:
    """What leaves the tank when several flows run, each by its own times: their sum."""
    moments: list[float] = []
    for t in sorted(t for flow in flows for t in flow.t_s):
        if not moments or t - moments[-1] > _SAME_S:
            moments.append(t)
    total = Flow(tuple(moments), (*(math.fsum(f.at(t) for f in flows) for t in moments[:-1]), 0.0))
    return total.scaled_to(math.fsum(flow.litres for flow in flows))


def drained(
    on_board_l: float, let_go_l: float, *, full_l_per_s: float, open_s: float, close_s: float
) -> Flow:
    """A tank of upright walls that runs out through one opening, so that flow falls with the head.

    Q = s Q₀ √(V/V₀), Torricelli's C_d A √(2 g h) with V/V₀ = h/h₀; s: how far the valve stands open,
    from 0 to 1 in `open_s`. Then √V falls evenly with ∫ s dt, and an open tank is empty after 2 V₀/Q₀.
    `full_l_per_s`: Q₀, at the present head through the open valve. It closes in `close_s` where part
    of the load stays; a whole load runs out.

    Raises
    ------
    OutsideRangeError
        If a number is not positive, or more is let go than is on board.
    """
    _positive(on_board_l=on_board_l, let_go_l=let_go_l, full_l_per_s=full_l_per_s)
    _positive(open_s=open_s, close_s=close_s)
    if let_go_l > on_board_l:
        raise OutsideRangeError(field="let_go_l", value=let_go_l, low=0, high=on_board_l, unit="L")
    empty_s = 2.0 * on_board_l / full_l_per_s
    open_needed_s = empty_s * (1.0 - math.sqrt(1.0 - let_go_l / on_board_l))
    closing_s = 0.0 if let_go_l == on_board_l else close_s
    valve = _valve(open_needed_s, open_s, closing_s)
    times: list[float] = []
    flows: list[float] = []
    for t, share, opened in valve:
        if not times or t - times[-1] > _SAME_S:
            times.append(t)
            flows.append(full_l_per_s * share * max(1.0 - opened / empty_s, 0.0))  # rounding below 0
    flows[-1] = 0.0
    return Flow(tuple(times), tuple(flows)).scaled_to(let_go_l)


def _valve(open_needed_s: float, open_s: float, close_s: float) -> list[tuple[float, float, float]]:
    """(time [s], how far it stands open, ∫ of that [s]) of a valve until it has stood open long enough."""
    top = min(math.sqrt(2.0 * open_needed_s / (open_s + close_s)), 1.0)  # a small load: never wide open
    up, down = top * open_s, top * close_s
    hold = max(open_needed_s - 0.5 * top * (up + down), 0.0)
    rise = [k / _RAMP_POINTS for k in range(_RAMP_POINTS + 1)]
    out = [(up * r, top * r, 0.5 * top * up * r * r) for r in rise]
    out.append((up + hold, top, 0.5 * top * up + top * hold))
    shut = 0.5 * top * up + top * hold
    out += [(up + hold + down * r, top * (1.0 - r), shut + top * down * (r - 0.5 * r * r)) for r in rise]
    return out
