"""What every answer carries: cautions, bands, and what is not computed yet."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CAUTIONS", "Band", "NotYet"]

CAUTIONS = (
    "Planning aid; crew, aerial supervisor and incident command decide; local rules prevail.",
    "Unknown is not clear: people are clear of a drop only by a named person's confirmation.",
    "Wires, boats and depths that nobody has looked at today are unknown, whatever the data says.",
)


@dataclass(frozen=True, slots=True)
class Band:
    """A middle value with an 80 % band computed by varying inputs; absent ends mean no band yet."""

    middle: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class NotYet:
    """A key of an answer that is `null` because nothing computes it yet, and why."""

    key: str
    why: str
