"""The tables of `atlas`: what was made, or the lanes near a place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import finding_lines, gravest, standing
from wetline.cli.tables.folder import problem_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import UNKNOWN, bearing, name_words, number
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["atlas_table"]

_PROBLEMS_SHOWN = 6
_WAYS = {True: "either", False: "this one", None: UNKNOWN}


def atlas_table(answer: dict[str, Any]) -> str:
    """An atlas that was made, or what one says of a place."""
    lines = _near(answer) if "near" in answer else _made(answer["atlas"])
    if answer["problems"]:
        lines += section("Problems of the waters", problem_lines(answer["problems"][:_PROBLEMS_SHOWN]))
        more = len(answer["problems"]) - _PROBLEMS_SHOWN
        lines += (
            [f"  … and {more} more (use --json, or the layer `problems` of the atlas)"] if more > 0 else []
        )
    return page(answer, "lanes near a place" if "near" in answer else "atlas of lanes", lines)


def _made(atlas: Mapping[str, Any]) -> list[str]:
    whole = paragraph(atlas["file"], first="written ", indent=2)
    counts = (
        f"{number(atlas['lanes'])} lanes of {number(atlas['waters'])} waters; {number(atlas['too_small'])} too small "
        f"for any lane; {number(atlas['with_problems'])} with a problem (layer `problems`)."
    )
    return section("Atlas", [*whole, *paragraph(counts, indent=2), *_asks(atlas)])


def _asks(atlas: Mapping[str, Any]) -> list[str]:
    out: list[str] = []
    for ask in atlas["asks"]:
        for_whom = f" (for a {' and a '.join(map(name_words, ask['classes']))})" if ask["classes"] else ""
        text = f"{number(ask['length_m'], 1.0, 'm')} by {number(2 * ask['clear_m'], 1.0, 'm')}{for_whom}, headings"
        out += paragraph(f"{text} {atlas['step_deg']:g}° apart", first="lanes of ", indent=2)
    return out


def _near(answer: Mapping[str, Any]) -> list[str]:
    lines: list[str] = []
    for counts in answer["counts"]:
        lanes = [lane for lane in answer["lanes"] if lane["class"] == counts["class"]]
        told = (
            f"{number(counts['lanes'])} lanes on {number(counts['waters'])} waters within "
            f"{answer['within_km']:g} km; {number(counts['against_wind'])} against the wind; {len(lanes)} shown, "
            "nearest water first."
        )
        title = f"Lanes for a {name_words(counts['class'])}, heading as flown"
        lines += section(title, [*paragraph(told, indent=2), *(_lanes(lanes) if lanes else [])])
    if "reason" in answer:
        lines += section("Nothing found", paragraph(answer["reason"], indent=2))
    lines += section("Atlas", _asks(answer["atlas"]))
    return lines + (finding_lines(answer["findings"]) if answer["findings"] else [])


def _lanes(lanes: Sequence[Mapping[str, Any]]) -> list[str]:
    shared = [f for f in lanes[0]["findings"] if all(f["message"] in _messages(lane) for lane in lanes)]
    said = {f["message"] for f in shared}
    rows = [
        (
            lane["water"],
            number(lane["distance_m"] / 1000.0, 0.1, "km"),
            bearing(lane["toward_deg"]),
            bearing(lane["heading_deg"]),
            number(lane["length_m"], 1.0, "m", "down"),
            number(lane["width_m"], 1.0, "m", "down"),
            number(lane["headwind_kt"], 1.0, "kt"),
            number(lane["crosswind_kt"], 1.0, "kt"),
            _WAYS[lane["other_way"]],
            "; ".join([gravest(lane["findings"]), *_own(lane, said)]),
        )
        for lane in lanes
    ]
    header = ("water", "away", "toward", "heading", "length", "width", "head", "cross", "ways", "standing")
    out = columns(header, rows, right="away, length, width, head, cross")
    for finding in shared:
        out += paragraph(f"{standing(finding)}: {finding['message']}", first="each of these ", indent=2)
    return out


def _messages(lane: Mapping[str, Any]) -> list[str]:
    return [f["message"] for f in lane["findings"]]


def _own(lane: Mapping[str, Any], shared: set[str]) -> list[str]:
    """What stands against this lane alone, a limit by its number where it has one."""
    return [
        f"{standing(f)} {f['value']} of {f['limit']}" if "limit" in f and "value" in f else f["message"]
        for f in lane["findings"]
        if f["message"] not in shared and standing(f) != "none found"
    ]
