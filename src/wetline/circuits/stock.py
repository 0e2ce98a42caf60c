"""What a base or a tank has to give: litres that are drawn down and grow again."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

__all__ = ["Stock", "drawn", "ready_s"]


@dataclass(frozen=True, slots=True)
class Stock:
    """`litres` on hand at `as_of_s` [s after the plan's start], more at `mix_l_per_s`, never above `most_l`.

    `most_l`: what a tank holds; infinite where nothing tells of an end.
    """

    litres: float
    mix_l_per_s: float = 0.0
    most_l: float = math.inf
    as_of_s: float = 0.0

    def at(self, time_s: float) -> float:
        """Litres on hand at a moment, not before `as_of_s`."""
        grown_l = self.litres + self.mix_l_per_s * max(time_s - self.as_of_s, 0.0)
        return max(self.litres, min(grown_l, self.most_l))


def ready_s(stock: Stock, want_l: float, at_s: float) -> float:
    """The first moment [s] at or after `at_s` at which `want_l` [L] is on hand; infinite if it never is."""
    lacking_l = want_l - stock.at(at_s)
    if lacking_l <= 0.0:
        return at_s
    if stock.mix_l_per_s <= 0.0 or want_l > stock.most_l:
        return math.inf
    return max(at_s, stock.as_of_s) + lacking_l / stock.mix_l_per_s


def drawn(stock: Stock, want_l: float, at_s: float) -> Stock:
    """The stock after a load of `want_l` [L] was taken at a moment at which it was on hand.

    Raises
    ------
    ValueError
        If it was not: nobody can take what is not there.
    """
    left_l = stock.at(at_s) - want_l
    if left_l < -1e-6:
        message = f"{want_l:.0f} L drawn from {stock.at(at_s):.0f} L"
        raise ValueError(message)
    return replace(stock, litres=max(left_l, 0.0), as_of_s=max(at_s, stock.as_of_s))
