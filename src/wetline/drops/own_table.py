"""A user's own drop tests: where they apply, the measured line stands in place of the planning form's."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.drops.measured import curves
from wetline.drops.own_line import OwnLine, line_between
from wetline.drops.own_match import apt_curves, in_sets, is_larger, serves
from wetline.model import Band

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from wetline.drops.measured import Curve, DropTest, LineKind
    from wetline.drops.release import Resolved

__all__ = ["DropTests", "LineFrom", "OwnLine", "UsedLine", "lines_used"]

LineFrom = Literal["table", "physics"]
_Ends = tuple[float, float, float]
"""A line [m], its low and its high end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedLine:
    """The line [m] to use at a level: `source` says whether drop tests (`table`) or `physics` tell it."""

    band: Band
    source: LineFrom
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DropTests:
    """Measured lines, sound by `wetline.drops.own_faults`. `file`: what notes call them by."""

    rows: tuple[DropTest, ...]
    file: str = "drop tests"
    _curves: tuple[Curve, ...] = field(init=False, repr=False, compare=False)
    _hash: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_curves", curves(self.rows))
        object.__setattr__(self, "_hash", hash((self.rows, self.file)))

    def __hash__(self) -> int:
        """Computed once: releases that carry the table are looked up often."""
        return self._hash

    def line(self, resolved: Resolved, level: float, *, kind: LineKind = "unbroken") -> OwnLine | None:
        """The measured line at a level [US gal/100 ft²] of one load; None where no test applies."""
        return self._apt(resolved, kind).line(level)

    def why_not(self, resolved: Resolved, level: float, *, kind: LineKind = "unbroken") -> str | None:
        """Why no test applies to a release at a level; None where one does."""
        found = self._apt(resolved, kind).found(level)
        return found if isinstance(found, str) else None

    def tells(self, resolved: Resolved) -> bool:
        """Whether a test applies to a release at any level."""
        return self._apt(resolved, "unbroken").tells()

    def used(
        self, resolved: Resolved, level: float, physics: Band, *, kind: LineKind = "unbroken"
    ) -> UsedLine:
        """The measured line where a test applies; else that of physics, held between what was measured.

        A line at a level lies inside that at any lower one, so physics gives no more than was measured
        at a lower level, and no less than at a higher one.
        """
        return self._apt(resolved, kind).used(level, physics)

    def _apt(self, resolved: Resolved, kind: LineKind) -> _Apt:
        apt, why = apt_curves(self._curves, resolved, kind)
        serving = [curve for curve in apt if serves(curve, resolved)]
        if apt and not serving:
            why = f"no drop test with a load that serves for {resolved.load_l:.0f} L"
        return _Apt(
            resolved=resolved,
            sets=in_sets(serving, resolved),
            larger=in_sets([curve for curve in apt if is_larger(curve, resolved)], resolved),
            why=why,
            file=self.file,
        )


def lines_used(
    tests: DropTests | None, resolved: Resolved, levels: Sequence[float], physics: Sequence[Band]
) -> list[UsedLine]:
    """The line to use at each level, given that of physics; without tests that of physics alone."""
    if tests is None:
        return [UsedLine(band=band, source="physics") for band in physics]
    apt = tests._apt(resolved, "unbroken")  # noqa: SLF001  looked up once for all levels
    return [apt.used(level, band) for level, band in zip(levels, physics, strict=True)]


@dataclass(slots=True, kw_only=True)
class _Apt:
    """The sets of conditions that apply to one release, best first; without any, `why` not.

    `larger`: sets of larger loads. Keeps what both say of the measured levels.
    """

    resolved: Resolved
    sets: list[list[Curve]]
    larger: list[list[Curve]]
    why: str | None
    file: str
    _measured: tuple[list[tuple[float, Band]], list[tuple[float, Band]]] | None = None

    def found(self, level: float) -> OwnLine | str:
        """The line of the first set that reaches a level, or why none does."""
        why = self.why
        for conditions in self.sets:
            found = line_between(conditions, self.resolved, level, self.file)
            if isinstance(found, OwnLine):
                return found
            why = why or found
        return why or "no drop test"

    def line(self, level: float) -> OwnLine | None:
        """The measured line, no longer than at any lower level or with any larger load."""
        found = self.found(level)
        if isinstance(found, str):
            return None
        _, most = self._held(level)
        return replace(found, band=_between(found.band, (0.0, 0.0, 0.0), most))

    def used(self, level: float, physics: Band) -> UsedLine:
        """The measured line, or that of physics between what was measured."""
        own = self.line(level)
        if own is not None:
            return UsedLine(band=own.band, source="table", notes=own.notes)
        why = f"level {level:.3g}: physics, not {self.file}: {self.found(level)}"
        band = _between(physics, *self._held(level))
        if band != physics:
            why += f"; moved from {physics.middle:.0f} m, so that it agrees with what was measured"
        return UsedLine(band=band, source="physics", notes=(why,))

    def tells(self) -> bool:
        """Whether a line is measured at any level."""
        own, _ = self._all_measured()
        return bool(own)

    def _all_measured(self) -> tuple[list[tuple[float, Band]], list[tuple[float, Band]]]:
        if self._measured is None:
            self._measured = (self._at_levels(self.sets), self._at_levels(self.larger))
        return self._measured

    def _held(self, level: float) -> tuple[_Ends, _Ends]:
        """The longest ends measured at any higher level; the shortest at any lower one or with a larger load."""
        own, larger = self._all_measured()
        least = [band for other, band in own if other > level]
        most = [band for other, band in own if other < level]
        most += [band for other, band in larger if other <= level]
        return _extreme(least, max, 0.0), _extreme(most, min, np.inf)

    def _at_levels(self, sets: Sequence[Sequence[Curve]]) -> list[tuple[float, Band]]:
        """What each set tells at each level measured in it, larger loads as they were."""
        out = []
        for conditions in sets:
            for level in sorted({level for curve in conditions for level in curve.levels}):
                shortened = sets is self.sets
                found = line_between(conditions, self.resolved, level, self.file, shortened=shortened)
                if isinstance(found, OwnLine):
                    out.append((level, found.band))
        return out


def _between(band: Band, least: _Ends, most: _Ends) -> Band:
    """A band moved between two others, end by end."""
    ends = (band.middle, band.low or 0.0, band.high or 0.0)
    return Band(*(min(max(end, low), high) for end, low, high in zip(ends, least, most, strict=True)))


def _extreme(bands: Sequence[Band], pick: Callable[[list[float]], float], none: float) -> _Ends:
    """The greatest or the least of each end; `none` where there is no band."""
    middle, low, high = (
        pick([none, *ends])
        for ends in (
            [b.middle for b in bands],
            [b.low or 0.0 for b in bands],
            [b.high or 0.0 for b in bands],
        )
    )
    return middle, low, high
