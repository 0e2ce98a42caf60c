"""What answers carry: bands, and what is not computed yet."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LEAST_FUTURES", "Band", "NotYet"]

LEAST_FUTURES = 5
"""Fewer, the middle one among them, give no band and do not tell how soon; common practice, no source."""


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
