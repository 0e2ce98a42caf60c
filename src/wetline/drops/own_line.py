"""A measured line between the conditions of one set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.between import shares
from wetline.drops.own_match import HEIGHT_REACH_M, SPEED_REACH_MPS, same_load
from wetline.model import Band

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.drops.measured import Curve, DropTest
    from wetline.drops.release import Resolved

__all__ = ["OwnLine", "line_between"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLine:
    """A measured line [m] at a level, with its band, what must be said of it, and the rows it comes from."""

    band: Band
    notes: tuple[str, ...]
    rows: tuple[DropTest, ...]


def line_between(
    conditions: Sequence[Curve], resolved: Resolved, level: float, file: str, *, shortened: bool = True
) -> OwnLine | str:
    """The line of one load between conditions of one set, or why there is none.

    `shortened`: lines of a larger load lose the track of the litres that are missing.
    """
    able: dict[tuple[float, float], list[Curve]] = {}
    for curve in conditions:
        if curve.reaches(level):
            able.setdefault((curve.alike.height_m, curve.alike.speed_mps), []).append(curve)
    if not able:
        low, high = min(c.levels[0] for c in conditions), max(c.levels[-1] for c in conditions)
        return f"measured is level {low:g}" if low == high else f"measured are levels {low:g} to {high:g}"
    by_air = conditions[0].alike.speed_kind == "air"
    at = (resolved.height_m, resolved.speed_mps if by_air else resolved.ground_speed_mps)
    points = tuple((h / HEIGHT_REACH_M, v / SPEED_REACH_MPS) for h, v in able)
    share = shares(points, (at[0] / HEIGHT_REACH_M, at[1] / SPEED_REACH_MPS), reach=1.0)
    if share is None:
        return _outside_words(list(able), at, level)
    met = [(alike, float(w)) for alike, w in zip(able.values(), share, strict=True) if w > 0.0]
    used = [curve for alike, _ in met for curve in alike]
    line = np.array([w for _, w in met]) @ np.array([_together(alike, level) for alike, _ in met])
    notes = [_from_words(level, used, file), *_remarks(used, resolved)]
    load_l = used[0].alike.load_l
    if shortened and line[0] > 0.0 and not same_load(used[0], resolved):
        missing_l = load_l - resolved.load_l
        # a line longer than the panel's track was laid at less: it shortens at least as the load does
        line = np.minimum(line - missing_l / _litres_per_m(resolved), line * resolved.load_l / load_l)
        if line[0] <= 0.0:
            return f"so little of the {load_l:.0f} L measured is let go that nothing is left of the line"
        notes.append(
            f"level {level:.3g}: measured with {load_l:.0f} L and shortened by the track of the "
            f"{missing_l:.0f} L that are missing, at the same flow"
        )
    middle, low, high = (max(float(value), 0.0) for value in line)
    rows = tuple(row for curve in used for row in curve.rows)
    return OwnLine(band=Band(middle, low, high), notes=tuple(notes), rows=rows)


def _together(alike: Sequence[Curve], level: float) -> NDArray[np.float64]:
    """Line, low and high end [m] of conditions at one height and speed, by their drops."""
    return np.asarray(np.average([c.at(level) for c in alike], axis=0, weights=[c.drops for c in alike]))


def _litres_per_m(resolved: Resolved) -> NDArray[np.float64]:
    """Litres a metre of track that put the middle, the low and the high end of a shortened line in place."""
    seconds = np.array([resolved.duration_s, resolved.duration_high_s, resolved.duration_low_s])
    full = resolved.flow_l_per_s * resolved.duration_s / seconds
    return np.asarray(full / resolved.ground_speed_mps, float)


def _outside_words(points: Sequence[tuple[float, float]], at: tuple[float, float], level: float) -> str:
    heights, speeds = zip(*points, strict=True)
    return (
        f"{at[0]:.0f} m at {at[1]:.0f} m/s lies outside the drops measured at level {level:.3g} "
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
        f"level {level:.3g}: from {file}, not physics: {drops} {'drop' if drops == 1 else 'drops'} from "
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
