"""The frame of every table: what it is about, on what it rests, what is not yet, the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.words import day_and_clock, number
from wetline.cli.text import NO_BREAK, paragraph, plain, section

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["page"]

_FEWEST_FOR_A_BAND = 4


def page(answer: Mapping[str, Any], title: str, lines: Iterable[str]) -> str:
    """A whole table as text, ending with the cautions and a line end."""
    out = [*_head(answer, title), *lines]
    if answer["not_yet"]:
        missing: list[str] = []
        for item in answer["not_yet"]:
            missing += paragraph(item["why"], first="· ", indent=2)
        out += section("Not in this answer yet", missing)
    cautions: list[str] = []
    for caution in answer["cautions"]:
        cautions += paragraph(caution, first="! ", indent=2)
    out += section("Cautions", cautions)
    return "\n".join(out).replace(NO_BREAK, " ") + "\n"


def _head(answer: Mapping[str, Any], title: str) -> list[str]:
    name = answer["incident"]
    head = f"{plain(name)}: {title}" if name is not None else title
    out = paragraph(head)
    if answer["time"] is not None:
        out += paragraph(f"Now {day_and_clock(answer['time'])}{_local(answer)}. Times are UTC (Z).")
    rests = [
        text
        for text in (
            f"Varied futures: {answer['members']}" if answer["members"] is not None else "",
            f"Seed: {answer['seed']}" if answer["seed"] is not None else "",
            f"Cells: {number(answer['cell_m'])} m" if answer["cell_m"] is not None else "",
        )
        if text
    ]
    if answer["band"] is not None:
        rests.insert(0, f"Bands: {answer['band']}")
    elif answer["members"] is not None and answer["members"] < _FEWEST_FOR_A_BAND:
        rests.insert(0, "Bands: none, too few futures")
    if rests:
        whole = [rests[0], *(text.replace(" ", NO_BREAK) for text in rests[1:])]
        out += paragraph(". ".join(whole) + ".")
    return out


def _local(answer: Mapping[str, Any]) -> str:
    """` = 13:30 local, UTC−1`, where the answer knows the clock there."""
    offset = answer.get("utc_offset_min")
    if offset is None:
        return ""
    hours, minutes = (int(part) for part in answer["time"][11:16].split(":"))
    there = (60 * hours + minutes + offset) % 1440
    sign = "−" if offset < 0 else "+" if offset > 0 else "±"
    zone = f"UTC{sign}{abs(offset) // 60}" + (f":{abs(offset) % 60:02d}" if offset % 60 else "")
    return f" = {there // 60:02d}:{there % 60:02d} local, {zone}"
