"""Tables about folders and files: `demo`, `check`, `brief`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import finding_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import name_words, number
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["brief_table", "check_table", "demo_table", "file_lines", "problem_lines"]

_WHERE = ("file", "layer", "row", "field", "value", "limit")
_CELLS = frozenset({"terrain", "fuels", "canopy_cover", "canopy_height", "canopy_base", "canopy_bulk"})
_HOURS = frozenset({"weather"})


def file_lines(files: Sequence[Mapping[str, Any]]) -> list[str]:
    """One line a file."""
    return columns(("kind", "path"), [(name_words(f["kind"]), f["path"]) for f in files])


def demo_table(answer: dict[str, Any]) -> str:
    """Which files were written."""
    return page(
        answer, "invented incident, all data is made up", section("Written", file_lines(answer["files"]))
    )


def brief_table(answer: dict[str, Any]) -> str:
    """Which files were written, and what stands against what they say."""
    lines = section("Written", file_lines(answer["files"]))
    if "findings" in answer:
        lines += finding_lines(answer["findings"])
    return page(answer, "brief", lines)


def problem_lines(problems: Sequence[Mapping[str, Any]]) -> list[str]:
    """Each problem: where it stands, what is wrong, and the mend."""
    out: list[str] = []
    for problem in problems:
        where = ", ".join(
            str(problem[key]) if key == "file" else f"{key} {problem[key]}"
            for key in _WHERE
            if key in problem
        )
        out += paragraph(where or "the folder", first=f"{problem['level']}: ", indent=2)
        out += paragraph(problem["message"], indent=6)
        out += paragraph(problem["mend"], first="Mend: ", indent=6)
    return out


def _count(layer: str, count: int) -> str:
    unit = "cells" if layer in _CELLS else "hours" if layer in _HOURS else ""
    return number(count, 1.0, unit)


def check_table(answer: dict[str, Any]) -> str:
    """Every problem, and which layers are there."""
    problems = answer["problems"]
    errors = sum(p["level"] == "error" for p in problems)
    if not problems:
        verdict = "No problem found. What the folder says is not checked against the world."
    else:
        verdict = (
            f"{errors} that block{'s' if errors == 1 else ''} the work (error), "
            f"{len(problems) - errors} that {'does' if len(problems) - errors == 1 else 'do'} not (warning)."
        )
    lines = section("Problems", [*paragraph(verdict, indent=2), *problem_lines(problems)])
    present = [(name_words(layer), _count(layer, count)) for layer, count in answer["present"].items()]
    lines += section(
        "Present", columns(("layer", "count"), present, right="count") if present else ["  nothing"]
    )
    absent = ", ".join(name_words(layer) for layer in answer["absent"])
    lines += section("Absent: what needs it is unknown", paragraph(absent or "nothing", indent=2))
    return page(answer, "check of the folder", lines)
