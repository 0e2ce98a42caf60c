"""Measured drops: one row a line, and the line by level of the drops flown alike."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.model import Band

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from wetline.drops.liquid import Agent

__all__ = [
    "DEFAULT_SHARE",
    "LEAST_SHARE",
    "Curve",
    "DropTest",
    "HeightAbove",
    "LineKind",
    "SpeedKind",
    "curves",
]

HeightAbove = Literal["canopy", "ground"]
SpeedKind = Literal["air", "ground"]
LineKind = Literal["unbroken", "summed"]

DEFAULT_SHARE = 0.30
"""Half band of a line of which one drop, or no spread, is told; common practice, no source."""
LEAST_SHARE = 0.10
"""The narrowest half band of a measured line, however alike the drops were; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DropTest:
    """One measured line. `class_id`: the aircraft class; `load_l`: what was let go, to the last of the tank.

    `system`, `setting`, `doors`, `interval_s`, `opening`: how, as `Release` tells it; None: as the class
    does it unless told.
    `height_m`: tank above the canopy's top, or above open ground (`height_above`). `speed_mps`: true
    airspeed or over the ground (`speed_kind`). `wind_mps`: None was not measured. `level` [US gal/100 ft²];
    `line_m` at it: longest unbroken or all pieces (`line_kind`). `drops`: how many it is the mean of;
    `line_low_m`, `line_high_m`: between which 8 of 10 lie. `row`: zero-based, in the file.
    """

    class_id: str
    liquid: Agent
    load_l: float
    height_m: float
    height_above: HeightAbove
    speed_mps: float
    speed_kind: SpeedKind
    level: float
    line_m: float
    line_kind: LineKind
    source: str
    date: date | None = None
    system: str | None = None
    setting: float | None = None
    doors: int | None = None
    interval_s: float | None = None
    opening: float | None = None
    wind_mps: float | None = None
    width_m: float | None = None
    drops: int = 1
    line_low_m: float | None = None
    line_high_m: float | None = None
    row: int = 0

    @property
    def alike(self) -> DropTest:
        """What it has in common with the drops flown alike: level, line and origin blank."""
        return replace(
            self, level=0.0, line_m=0.0, width_m=None, drops=1, line_low_m=None, line_high_m=None,
            source="", date=None, row=0,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Lines [m] by rising level of the drops flown alike, with their bands, and the rows they come from."""

    alike: DropTest
    levels: tuple[float, ...]
    lines: tuple[Band, ...]
    rows: tuple[DropTest, ...]

    def reaches(self, level: float) -> bool:
        """Whether a level lies between measured ones, or above one at which nothing was left."""
        if level < self.levels[0]:
            return False
        return level <= self.levels[-1] or self.lines[-1].middle == 0.0

    def at(self, level: float) -> tuple[float, float, float]:
        """Line, low and high end [m] at a level that it reaches; straight lines between levels."""
        ends = [(b.low or 0.0, b.high or 0.0) for b in self.lines]
        columns = ([b.middle for b in self.lines], [low for low, _ in ends], [high for _, high in ends])
        middle, low, high = (float(np.interp(level, self.levels, column)) for column in columns)
        return middle, low, high

    @property
    def averaged(self) -> bool:
        """Whether any level of it is the mean of several rows."""
        return len(self.rows) > len(self.levels)

    @property
    def drops(self) -> int:
        """The drops behind its best measured level."""
        return max(sum(r.drops for r in self.rows if r.level == level) for level in self.levels)


def _mean(rows: list[DropTest]) -> Band:
    """The mean line of drops flown alike at one level, with the band for the next drop.

    Single drops: mean ± t s √(1 + 1/n), the 80 % prediction interval of a normal population (derived).
    Told ends: the widest of them. Neither: `DEFAULT_SHARE`, and every mean told. Never narrower than
    `LEAST_SHARE`.
    """
    drops = np.array([r.drops for r in rows], float)
    lines = np.array([r.line_m for r in rows])
    middle = float((drops * lines).sum() / drops.sum())
    lows = [r.line_low_m for r in rows if r.line_low_m is not None]
    highs = [r.line_high_m for r in rows if r.line_high_m is not None]
    if lows and highs:
        low, high = min(*lows, *lines), max(*highs, *lines)
    else:
        half = DEFAULT_SHARE * middle
        if len(rows) > 1 and drops.max() == 1.0:
            from scipy.special import stdtrit  # noqa: PLC0415  only for drops told one by one

            n = len(rows)
            half = float(stdtrit(n - 1, 0.9)) * float(lines.std(ddof=1)) * math.sqrt(1.0 + 1.0 / n)
        low, high = middle - half, middle + half
        if drops.max() > 1.0:  # means that lie apart: the next drop may be like either
            low, high = min(low, *lines), max(high, *lines)
    least = LEAST_SHARE * middle
    return Band(middle, max(min(low, middle - least), 0.0), max(high, middle + least))


def _curve(alike: DropTest, rows: list[DropTest]) -> Curve:
    levels = sorted({r.level for r in rows})
    bands = [_mean([r for r in rows if r.level == level]) for level in levels]
    middle = np.minimum.accumulate([b.middle for b in bands])
    low = np.minimum.accumulate([b.low or 0.0 for b in bands])
    high = np.maximum.accumulate([b.high or 0.0 for b in bands][::-1])[::-1]
    lines = tuple(Band(float(m), float(lo), float(hi)) for m, lo, hi in zip(middle, low, high, strict=True))
    return Curve(alike=alike, levels=tuple(levels), lines=lines, rows=tuple(rows))


def _order(alike: DropTest) -> tuple[str, ...]:
    return tuple(str(getattr(alike, name)) for name in alike.__dataclass_fields__)


def curves(rows: Iterable[DropTest]) -> tuple[Curve, ...]:
    """The line by level of each condition. Lines that grow with the level are held down: check them first."""
    ordered = sorted(rows, key=lambda r: _order(r.alike))
    return tuple(_curve(alike, list(group)) for alike, group in groupby(ordered, key=lambda r: r.alike))
