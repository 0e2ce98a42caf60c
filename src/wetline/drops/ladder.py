"""The same load from other heights and at other speeds, side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wetline.drops.danger import LARGE_CLASSES
from wetline.drops.pattern import pattern
from wetline.drops.resolve import resolve
from wetline.errors import NotFlownError
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from wetline.drops.release import Release, Resolved
    from wetline.drops.result import DropResult
    from wetline.drops.strike import Strike
    from wetline.model import Limits

__all__ = ["Ladder", "Rung", "height_ladder", "speed_ladder"]

_SAME = 1e-6
"""Steps that differ by less than this share differ by rounding of units."""
_PRACTICE_FT = (300.0, 800.0)
"""Heights that practice speaks of for large and very large tankers; no source."""


@dataclass(frozen=True, slots=True)
class Rung:
    """One height or speed: why it is shown, and what the load does.

    `under_minimum`: below the class's least height; None where no least height is known.
    """

    why: str
    result: DropResult
    under_minimum: bool | None

    @property
    def below(self) -> Strike:
        """How it arrives at the canopy."""
        return self.result.strike


@dataclass(frozen=True, slots=True)
class Ladder:
    """The rungs that can be flown, and the heights [m] or airspeeds [m/s] at which the wind lets nobody."""

    rungs: tuple[Rung, ...]
    not_flown: tuple[float, ...]


def height_ladder(
    release: Release, limits: Limits, *, level: float | None = None, heights_m: Sequence[float] = ()
) -> Ladder:
    """The load from each height, lowest first: those asked for, else the class's own and practice's.

    Raises
    ------
    InputError, OutsideRangeError
        As `pattern`.
    """
    resolved = resolve(release)
    steps = _steps([(resolved.height_m, "this drop"), *((h, "") for h in heights_m)])
    if not heights_m:
        steps = _steps([(resolved.height_m, "this drop"), *_class_heights(resolved)])
    return _ladder([(h, replace(release, height_m=h), why) for h, why in steps], limits, level)


def speed_ladder(release: Release, limits: Limits, *, level: float | None = None) -> Ladder:
    """The load at each airspeed of the class's range, slowest first.

    Raises
    ------
    InputError, OutsideRangeError
        As `pattern`.
    """
    resolved = resolve(release)
    speed = resolved.cls.get("drop_speed_kt")
    own = []
    if speed is not None:
        named = ((speed.low, "slowest"), (speed.value, "default"), (speed.high, "fastest"))
        own = [(kt * KNOT, why) for kt, why in named if kt is not None]
    steps = _steps([(resolved.speed_mps, "this drop"), *own])
    return _ladder([(v, replace(release, speed_mps=v), why) for v, why in steps], limits, level)


def _class_heights(resolved: Resolved) -> list[tuple[float, str]]:
    cls = resolved.cls
    least, own = cls.get("drop_height_min_ft"), cls.get("drop_height_ft")
    out = []
    if least is not None:
        out.append((least.value * FOOT, "minimum"))
    if own is not None:
        out.append((own.value * FOOT, "default"))
        if own.high is not None:
            out.append((own.high * FOOT, "highest"))
    practice = _PRACTICE_FT if resolved.class_id in LARGE_CLASSES else _PRACTICE_FT[:1]
    return out + [(ft * FOOT, f"{ft:.0f} ft") for ft in practice]


def _steps(asked: Iterable[tuple[float, str]]) -> list[tuple[float, str]]:
    """Sorted, those of one value joined into one with all its reasons."""
    out: list[tuple[float, str]] = []
    for value, why in sorted(asked, key=lambda step: step[0]):
        if out and math.isclose(out[-1][0], value, rel_tol=_SAME):
            reasons = ", ".join(dict.fromkeys(w for w in (out[-1][1], why) if w))
            out[-1] = (out[-1][0], reasons)
        else:
            out.append((value, why))
    return out


def _ladder(steps: Iterable[tuple[float, Release, str]], limits: Limits, level: float | None) -> Ladder:
    rungs, not_flown = [], []
    for value, release, why in steps:
        try:
            rungs.append(_rung(release, why, limits, level))
        except NotFlownError:
            not_flown.append(value)
    return Ladder(tuple(rungs), tuple(not_flown))


def _rung(release: Release, why: str, limits: Limits, level: float | None) -> Rung:
    resolved = resolve(release)
    least = resolved.cls.get("drop_height_min_ft")
    return Rung(
        why=why,
        result=pattern(release, limits, level=level),
        under_minimum=None if least is None else resolved.height_m < least.value * FOOT,
    )
