"""Places that aircraft share: they serve few at a time."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Slots"]


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
