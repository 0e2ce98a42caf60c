"""What is impossible in a table of drop tests: said before any line of it is used."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from wetline.errors import Problem
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from wetline.drops.measured import DropTest

__all__ = ["own_faults"]

_SLACK_M = 0.5
"""Lines that differ by less than this [m] differ by rounding."""
_NARROWEST_M = 1.0
"""No pattern is narrower than this along its whole line; common practice, no source."""


def own_faults(rows: Iterable[DropTest]) -> list[Problem]:
    """Everything in measured lines that cannot be: each with its row and mend.

    A line that grows with the level; more liquid on the ground than was aboard; pieces that sum to less
    than the longest of them.
    """
    table = list(rows)
    by_condition: dict[DropTest, list[DropTest]] = {}
    for row in table:
        by_condition.setdefault(row.alike, []).append(row)
    out = [problem for alike in by_condition.values() for problem in _growing(alike)]
    out += [problem for row in table for problem in _overfull(row)]
    for alike, same in by_condition.items():
        if alike.line_kind == "summed":
            out += _short_sums(same, by_condition.get(replace(alike, line_kind="unbroken"), ()))
    return sorted(out, key=lambda problem: problem.row or 0)


def _mean_m(rows: Sequence[DropTest]) -> float:
    return sum(r.drops * r.line_m for r in rows) / sum(r.drops for r in rows)


def _at(rows: Iterable[DropTest]) -> dict[float, list[DropTest]]:
    """The rows of one condition by level."""
    out: dict[float, list[DropTest]] = {}
    for row in sorted(rows, key=lambda r: r.level):
        out.setdefault(row.level, []).append(row)
    return out


def _growing(rows: Sequence[DropTest]) -> list[Problem]:
    """Each level at which drops flown alike made a longer line than at the level below."""
    at = _at(rows)
    return [
        Problem(
            message=f"The line grows with the level: {_mean_m(at[high]):g} m at {high:g}, "
            f"{_mean_m(at[low]):g} m at {low:g} (row {at[low][0].row}).",
            mend="Correct the line or the level; tell the same drops at every level.",
            row=at[high][0].row,
            field="line_m",
            value=f"{_mean_m(at[high]):g} m",
            limit=f"at most {_mean_m(at[low]):g} m",
        )
        for low, high in pairwise(at)
        if _mean_m(at[high]) > _mean_m(at[low]) + _SLACK_M
    ]


def _overfull(row: DropTest) -> list[Problem]:
    """A line that holds more than the load: its level over an ellipse as wide as told, or a narrow strip."""
    wide_m = _NARROWEST_M if row.width_m is None else 0.785 * row.width_m  # π/4 of the box round an ellipse
    least_l = row.level * COVERAGE_LEVEL * row.line_m * wide_m
    if least_l <= row.load_l:
        return []
    return [
        Problem(
            message=f"A line of {row.line_m:g} m at level {row.level:g} holds at least {least_l:.0f} L: more than the load.",
            mend="See the units of load, line, width and level.",
            row=row.row,
            field="line_m",
            value=f"{least_l:.0f} L",
            limit=f"{row.load_l:g} L",
        )
    ]


def _short_sums(summed: Sequence[DropTest], unbroken: Iterable[DropTest]) -> list[Problem]:
    longest = _at(unbroken)
    return [
        Problem(
            message=f"All pieces sum to {_mean_m(rows):g} m, the longest of them is {_mean_m(longest[level]):g} m.",
            mend="See whether the two kinds of line are swapped.",
            row=rows[0].row,
            field="line_kind",
            value=f"{_mean_m(rows):g} m",
            limit=f"at least {_mean_m(longest[level]):g} m",
        )
        for level, rows in _at(summed).items()
        if level in longest and _mean_m(rows) < _mean_m(longest[level]) - _SLACK_M
    ]
