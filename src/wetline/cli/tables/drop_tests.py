"""The tables of `drop-tests`: what a user's own tests cover."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.folder import file_lines, problem_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import name_words, number
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["drop_tests_table"]

_HOW = ("system", "setting", "doors", "interval_s", "opening")
_FAR_SHOWN = 12


def drop_tests_table(answer: dict[str, Any]) -> str:
    """The template that was written, or what a table covers."""
    if "files" in answer:
        lines = section("Written", file_lines(answer["files"]))
        lines += paragraph(
            "Fill it and delete its example row: while that stands the table is refused.", indent=2
        )
        return page(answer, "drop tests to fill", lines)
    lines = section("Remarks", problem_lines(answer["problems"]) or ["  none"])
    for each in answer["sets"]:
        lines += _set(each)
    lines += section("How it is used", paragraph(answer["use"], indent=2))
    return page(answer, f"drop tests, {answer['rows']} lines", lines)


def _set(each: Mapping[str, Any]) -> list[str]:
    how = "".join(
        f", {name.removesuffix('_s')} {name_words(str(each[name]))}" for name in _HOW if name in each
    )
    title = f"{name_words(each['class'])}, {each['liquid']}{how}: {each['line_kind']} line"
    winds = _listed(each["winds_mps"], "m/s") if each["winds_mps"] else ""
    unknown = (
        f"not measured in {each['wind_not_measured']} rows, counts as calm"
        if each["wind_not_measured"]
        else ""
    )
    rows = [
        ("drops", number(each["drops"], 1.0)),
        ("loads", _listed(each["loads_l"], "L")),
        (f"heights above {each['height_above']}", _listed(each["heights_m"], "m")),
        (
            "speeds, " + ("true air" if each["speed_kind"] == "air" else "ground"),
            _listed(each["speeds_mps"], "m/s"),
        ),
        ("winds", "; ".join(part for part in (winds, unknown) if part)),
        ("levels", _listed(each["levels"], "US gal/100 ft²")),
    ]
    usual = [
        (level, "your tests" if why == "table" else f"physics: {why}") for level, why in each["usual"].items()
    ]
    return [
        *section(title, columns(("what", "measured"), rows)),
        *section("  A usual drop of this class, by level", columns(("level", "line from"), usual)),
        *_far(each["far_from_physics"]),
    ]


def _far(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """The rows that are more than half of physics away from it."""
    if not rows:
        return paragraph("Within ±50 % of physics throughout.", indent=2)
    shown = [
        (
            str(row["row"]),
            number(row["level"], 0.1),
            number(row["line_m"], 1.0, "m"),
            number(row["physics_m"], 1.0, "m") if "physics_m" in row else row["why"],
        )
        for row in rows[:_FAR_SHOWN]
    ]
    more = len(rows) - len(shown)
    return [
        *section(
            "  More than 50 % from physics: see these rows again",
            columns(("row", "level", "measured", "physics"), shown),
        ),
        *([f"  … and {more} more (use --json)"] if more else []),
    ]


def _listed(values: Sequence[float], unit: str) -> str:
    return f"{', '.join(f'{value:g}' for value in values)} {unit}"
