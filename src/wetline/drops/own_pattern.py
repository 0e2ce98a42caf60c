"""A pattern whose lines are those of a user's own drop tests wherever they apply."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from wetline.model import Band

if TYPE_CHECKING:
    from collections.abc import Callable

    from wetline.drops.own_table import DropTests
    from wetline.drops.release import Resolved
    from wetline.drops.result import AtLevel, Fall

__all__ = ["own_fall"]

_METHOD = "Lines come from {file} where line_from says table; widths, areas, drift and shares never do. "


def own_fall(fall: Fall, resolved: Resolved, tests: DropTests | None) -> Fall:
    """A fall with measured lines at the levels that tests tell; without tests the fall as it is."""
    if tests is None:
        return fall
    levels = {name: _own_level(at, float(name), resolved, tests) for name, at in fall.levels.items()}
    return replace(fall, levels=levels, method=_METHOD.format(file=tests.file) + fall.method)


def _ends(pick: Callable[[float, float], float], one: Band, other: Band) -> Band:
    """The lesser or the greater of two bands, end by end."""
    return Band(
        pick(one.middle, other.middle),
        pick(one.low or 0.0, other.low or 0.0),
        pick(one.high or 0.0, other.high or 0.0),
    )


def _own_level(at: AtLevel, level: float, resolved: Resolved, tests: DropTests) -> AtLevel:
    """One level's unbroken line and all its pieces; the pieces sum to no less than the longest of them."""
    line = tests.used(resolved, level, at.line_m)
    summed = tests.line(resolved, level, kind="summed")
    unbroken_m, summed_m = line.band, at.line_summed_m if summed is None else summed.band
    if line.source == "physics" and summed is not None:
        unbroken_m = _ends(min, unbroken_m, summed_m)
    else:
        summed_m = _ends(max, unbroken_m, summed_m)
    return replace(
        at,
        line_m=unbroken_m,
        line_summed_m=summed_m,
        line_from=line.source,
        line_summed_from="physics" if summed is None else "table",
        line_notes=tuple(dict.fromkeys((*line.notes, *(() if summed is None else summed.notes)))),
    )
