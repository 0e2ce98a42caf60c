"""Places that aircraft share: they serve few at a time, and what they hold may run out."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Hold", "Slots"]


@dataclass(slots=True)
class Slots:
    """Places that serve one aircraft at a time, each free again from a known time on."""

    free_s: list[float]

    def next(self, ready_s: float) -> float:
        """The first moment at or after `ready_s` at which a place is free."""
        return max(ready_s, min(self.free_s))

    def book(self, ready_s: float, hold_s: float) -> float:
        """Take that moment and hold the place for `hold_s`."""
        start = self.next(ready_s)
        self.free_s[self.free_s.index(min(self.free_s))] = start + hold_s
        return start


@dataclass(slots=True)
class Hold:
    """What a source holds [L] at `at_s`, and how fast more comes [L/s].

    More never comes than there was at the start, or than one load where that is more: tanks are no
    larger than what they are known to have held.
    """

    litres: float
    more_l_per_s: float = 0.0
    at_s: float = 0.0
    most_l: float = 0.0

    def __post_init__(self) -> None:
        """The tank is as large as its first content."""
        self.most_l = max(self.most_l, self.litres)

    def ready_s(self, want_l: float, at_s: float) -> float:
        """The first moment at or after `at_s` at which a load is there; infinite if never."""
        lacking_l = want_l - self.litres
        if lacking_l <= 0.0:
            return max(at_s, self.at_s)
        return max(at_s, self.at_s + lacking_l / self.more_l_per_s) if self.more_l_per_s > 0.0 else math.inf

    def take(self, want_l: float, at_s: float) -> None:
        """Take a load at a moment at which it is there."""
        grown_l = self.litres + self.more_l_per_s * max(at_s - self.at_s, 0.0)
        self.litres = min(grown_l, max(self.most_l, want_l)) - want_l
        self.at_s = max(at_s, self.at_s)
