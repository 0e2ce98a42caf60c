"""A user's own drop tests: where they apply, the measured line stands in place of the planning form's."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.drops.between import shares
from wetline.drops.measured import curves
from wetline.model import Band

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from wetline.drops.measured import Curve, DropTest, LineKind
    from wetline.drops.release import Resolved

__all__ = [
    "CHOICES",
    "HEIGHT_REACH_M",
    "LOAD_SHARE",
    "SPEED_REACH_MPS",
    "WIND_REACH_MPS",
    "DropTests",
    "LineFrom",
    "OwnLine",
    "UsedLine",
    "lines_used",
]

LineFrom = Literal["table", "physics"]
_Ends = tuple[float, float, float]
"""A line [m], its low and its high end."""

HEIGHT_REACH_M = 3.0
"""How far [m] outside the heights measured a release still counts as one of them; this and the three
below are common practice, no source."""
SPEED_REACH_MPS = 2.5
WIND_REACH_MPS = 2.5
LOAD_SHARE = 0.05
CHOICES = ("system", "setting", "doors", "interval_s", "opening")
"""How a load is let go: in each, tests and release must agree."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLine:
    """A measured line [m] at a level, with its band, what must be said of it, and the rows it comes from."""

    band: Band
    notes: tuple[str, ...]
    rows: tuple[DropTest, ...]


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
        found = self._found(resolved, level, kind)
        if isinstance(found, str):
            return None
        _, most = self._held(resolved, level, kind)
        return replace(found, band=_between(found.band, (0.0, 0.0, 0.0), most))

    def why_not(self, resolved: Resolved, level: float, *, kind: LineKind = "unbroken") -> str | None:
        """Why no test applies to a release at a level; None where one does."""
        found = self._found(resolved, level, kind)
        return found if isinstance(found, str) else None

    def used(
        self, resolved: Resolved, level: float, physics: Band, *, kind: LineKind = "unbroken"
    ) -> UsedLine:
        """The measured line where a test applies; else that of physics, held between what was measured.

        A line at a level lies inside that at any lower one, so physics gives no more than was measured
        at a lower level, and no less than at a higher one.
        """
        own = self.line(resolved, level, kind=kind)
        if own is not None:
            return UsedLine(band=own.band, source="table", notes=own.notes)
        found = self.why_not(resolved, level, kind=kind)
        why = f"level {level:g}: physics, not {self.file}: {found}"
        band = _between(physics, *self._held(resolved, level, kind))
        if band != physics:
            why += f"; moved from {physics.middle:.0f} m, so that it agrees with the levels measured"
        return UsedLine(band=band, source="physics", notes=(why,))

    def _held(self, resolved: Resolved, level: float, kind: LineKind) -> tuple[_Ends, _Ends]:
        """The longest ends measured at any higher level, and the shortest at any lower one, that apply."""
        measured = sorted({r.level for r in self.rows if r.class_id in _ids(resolved)})
        found = [(other, self._found(resolved, other, kind)) for other in measured if other != level]
        bands = [(other, own.band) for other, own in found if isinstance(own, OwnLine)]
        return (
            _extreme([band for other, band in bands if other > level], max, 0.0),
            _extreme([band for other, band in bands if other < level], min, np.inf),
        )

    def _found(self, resolved: Resolved, level: float, kind: LineKind) -> OwnLine | str:
        """The line of the first set of conditions that applies, or why none does."""
        apt, why = _apt(self._curves, resolved, kind)
        for group in _groups(apt, resolved):
            found = _line_of(group, resolved, level, self.file)
            if isinstance(found, OwnLine):
                return found
            why = why or found
        return why or "no drop test"


def lines_used(
    tests: DropTests | None, resolved: Resolved, levels: Sequence[float], physics: Sequence[Band]
) -> list[UsedLine]:
    """The line to use at each level, given that of physics; without tests that of physics alone."""
    if tests is None:
        return [UsedLine(band=band, source="physics") for band in physics]
    return [tests.used(resolved, level, band) for level, band in zip(levels, physics, strict=True)]


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


def _told(resolved: Resolved, name: str) -> float | str | None:
    used = resolved.inputs.get(name)
    if used is None:
        return resolved.mode if name == "system" else None
    return used.value


def _apt(all_curves: Sequence[Curve], resolved: Resolved, kind: LineKind) -> tuple[list[Curve], str | None]:
    """The conditions that apply but for height, speed and level; or the first reason why none does."""
    own, shipped = ([c for c in all_curves if c.alike.class_id == name] for name in _ids(resolved))
    left = own or shipped
    if not left:
        return [], "no drop test of this class"
    if resolved.inputs["duration_s"].origin == "given":
        return [], "the flow time is given, and that of the drop tests is not known"
    steps: tuple[tuple[Callable[[Curve], bool], str], ...] = (
        (lambda c: c.alike.liquid == resolved.agent, f"no drop test with {resolved.agent}"),
        *((partial(_same_choice, resolved, name), _choice_words(resolved, name)) for name in CHOICES),
        (lambda c: _same_wind(c, resolved), _wind_words(resolved)),
        (lambda c: _same_ground(c, resolved), _ground_words(resolved)),
        (
            lambda c: _load_serves(c, resolved),
            f"no drop test with a load that serves for {resolved.load_l:.0f} L",
        ),
        (lambda c: c.alike.line_kind == kind, f"the drop tests do not tell the {kind} line"),
    )
    for holds, why in steps:
        left = [c for c in left if holds(c)]
        if not left:
            return [], why
    return left, None


def _ids(resolved: Resolved) -> tuple[str, str]:
    return resolved.cls.id, resolved.class_id


def _same_choice(resolved: Resolved, name: str, curve: Curve) -> bool:
    """Let go in the way of the tests: as told in both, or in neither."""
    told, used = getattr(curve.alike, name), resolved.inputs.get(name)
    if told is None:
        return used is None or used.origin != "given"
    return bool(told == _told(resolved, name))


def _choice_words(resolved: Resolved, name: str) -> str:
    told = _told(resolved, name)
    return f"no drop test with {name.removesuffix('_s')} {f'{told:g}' if isinstance(told, float) else told}"


def _wind_mps(resolved: Resolved) -> float:
    return float(np.hypot(resolved.wind_along_mps, resolved.wind_right_mps))


def _same_wind(curve: Curve, resolved: Resolved) -> bool:
    """Within reach of the tests' wind; a wind that was not measured counts as calm, as one not given does."""
    return abs((curve.alike.wind_mps or 0.0) - _wind_mps(resolved)) <= WIND_REACH_MPS


def _wind_words(resolved: Resolved) -> str:
    return f"no drop test in a wind within {WIND_REACH_MPS:g} m/s of {_wind_mps(resolved):.1f} m/s"


def _same_ground(curve: Curve, resolved: Resolved) -> bool:
    """Over open ground for tests over open ground, over trees for tests over trees."""
    if curve.alike.height_above == "ground":
        return not resolved.leaf_area
    return bool(resolved.canopy_m)


def _ground_words(resolved: Resolved) -> str:
    if resolved.leaf_area:
        return "the drop tests were flown over open ground, and trees hold back a share here"
    return "the drop tests were flown over trees, and none are told here"


def _steady(resolved: Resolved) -> bool:
    """Whether the flow is the same whatever the load, so that a smaller load only ends sooner."""
    return resolved.mode == "constant"


def _same_load(curve: Curve, resolved: Resolved) -> bool:
    return abs(curve.alike.load_l - resolved.load_l) <= LOAD_SHARE * curve.alike.load_l


def _load_serves(curve: Curve, resolved: Resolved) -> bool:
    return _same_load(curve, resolved) or (_steady(resolved) and curve.alike.load_l > resolved.load_l)


def _groups(apt: Sequence[Curve], resolved: Resolved) -> list[list[Curve]]:
    """Conditions that may be interpolated between, for height and speed. Most drops first.

    Larger loads, which must be shortened, come after the load itself, the smallest of them first.
    """
    sets: dict[tuple[object, ...], list[Curve]] = {}
    for curve in apt:
        a = curve.alike
        larger_l = 0.0 if _same_load(curve, resolved) else a.load_l
        sets.setdefault((larger_l, a.height_above, a.speed_kind), []).append(curve)
    ordered = sorted(sets.items(), key=lambda item: (item[0][0], -sum(c.drops for c in item[1])))
    return [group for _, group in ordered]


def _line_of(group: Sequence[Curve], resolved: Resolved, level: float, file: str) -> OwnLine | str:
    """The line between the conditions of one set, or why there is none."""
    able: dict[tuple[float, float], list[Curve]] = {}
    for curve in group:
        if curve.reaches(level):
            able.setdefault((curve.alike.height_m, curve.alike.speed_mps), []).append(curve)
    if not able:
        low, high = min(c.levels[0] for c in group), max(c.levels[-1] for c in group)
        return f"measured is level {low:g}" if low == high else f"measured are levels {low:g} to {high:g}"
    by_air = group[0].alike.speed_kind == "air"
    at = (resolved.height_m, resolved.speed_mps if by_air else resolved.ground_speed_mps)
    points = tuple((h / HEIGHT_REACH_M, v / SPEED_REACH_MPS) for h, v in able)
    share = shares(points, (at[0] / HEIGHT_REACH_M, at[1] / SPEED_REACH_MPS), reach=1.0)
    if share is None:
        return _outside_words(list(able), at, level)
    met = [(alike, float(w)) for alike, w in zip(able.values(), share, strict=True) if w > 0.0]
    used = [curve for alike, _ in met for curve in alike]
    line = np.array([w for _, w in met]) @ np.array([_together(alike, level) for alike, _ in met])
    notes = [_from_words(level, used, file), *_remarks(used, resolved)]
    if not _same_load(used[0], resolved):
        missing_l = used[0].alike.load_l - resolved.load_l
        line = line - missing_l / _litres_per_m(resolved)
        if line[0] <= 0.0:
            return f"the load is so small a part of the {used[0].alike.load_l:.0f} L measured that nothing is left of the line"
        notes.append(
            f"level {level:g}: measured with {used[0].alike.load_l:.0f} L and shortened by the track of the "
            f"{missing_l:.0f} L that are missing, at the same flow"
        )
    middle, low, high = (max(float(value), 0.0) for value in line)
    return OwnLine(
        band=Band(middle, low, high), notes=tuple(notes), rows=tuple(row for c in used for row in c.rows)
    )


def _together(alike: Sequence[Curve], level: float) -> NDArray[np.float64]:
    """Line, low and high end [m] of conditions at one height and speed, by their drops."""
    return np.asarray(np.average([c.at(level) for c in alike], axis=0, weights=[c.drops for c in alike]))


def _litres_per_m(resolved: Resolved) -> NDArray[np.float64]:
    """Litres a metre of track that put the middle, the low and the high end of a shortened line in place."""
    seconds = np.array([resolved.duration_s, resolved.duration_high_s, resolved.duration_low_s])
    return np.asarray(resolved.load_l / (seconds * resolved.ground_speed_mps), float)


def _outside_words(points: Sequence[tuple[float, float]], at: tuple[float, float], level: float) -> str:
    heights, speeds = zip(*points, strict=True)
    return (
        f"{at[0]:.0f} m at {at[1]:.0f} m/s lies outside the drops measured at level {level:g} "
        f"({_span(heights)} m, {_span(speeds)} m/s)"
    )


def _span(values: Sequence[float]) -> str:
    low, high = min(values), max(values)
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"


def _from_words(level: float, used: Sequence[Curve], file: str) -> str:
    """What a measured line stands on."""
    drops = sum(c.drops for c in used)
    sources = sorted({_dated(row) for c in used for row in c.rows})
    heights, speeds = [c.alike.height_m for c in used], [c.alike.speed_mps for c in used]
    return (
        f"level {level:g}: from {file}, not physics: {drops} {'drop' if drops == 1 else 'drops'} from "
        f"{_span(heights)} m at {_span(speeds)} m/s ({'; '.join(sources)})"
    )


def _dated(row: DropTest) -> str:
    return row.source if row.date is None else f"{row.source}, {row.date.isoformat()}"


def _remarks(used: Sequence[Curve], resolved: Resolved) -> list[str]:
    """What a reader must know of the drops behind a line."""
    out = []
    if any(c.alike.wind_mps is None for c in used):
        out.append("the wind of the drop tests was not measured: it counts as calm")
    if any(c.averaged for c in used):
        out.append("rows of drops flown alike are averaged")
    if any(c.alike.class_id != resolved.cls.id for c in used):
        out.append(f"the drop tests are those of {resolved.class_id}, as which this class's load falls")
    if resolved.canopy_m and any(c.alike.height_above == "ground" for c in used):
        out.append(
            "the drop tests were flown over open ground: what these trees hold back is not in the line"
        )
    return out
