"""The table of `plan`: three answers first, then the race, the next drops, what is held back and why."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import finding_lines, note_lines, standing
from wetline.cli.tables.folder import file_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import area, band, bearing, clock, feet, name_words, number
from wetline.cli.text import NO_BREAK, columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["plan_table"]

_DROPS_SHOWN = 6
_STEP_MIN = 30


def plan_table(answer: dict[str, Any]) -> str:
    """The plan."""
    now = answer["time"]
    lines = _answers(answer["answers"])
    lines += section("At the cut-off", _outcome(answer))
    lines += section(f"The race, every {_STEP_MIN} min", _race(answer["race"], now))
    lines += _drops(answer["drops"], now)
    lines += _held_back(answer["held_back"])
    lines += finding_lines(answer["findings"])
    lines += note_lines(answer["notes"])
    if "files" in answer:
        lines += section("Written", file_lines(answer["files"]))
    return page(answer, "plan of the attack", lines)


def _answers(answers: Mapping[str, str]) -> list[str]:
    asked = (
        ("Where does the next load do most good?", answers["next_load"]),
        ("Are we winning?", answers["winning_words"]),
        ("Who could this hurt?", answers["hurt"]),
    )
    lines: list[str] = []
    for question, words in asked:
        lines += section(question, paragraph(words, indent=2))
    return lines


def _outcome(answer: Mapping[str, Any]) -> list[str]:
    """What the cut-off finds; the figures stand even where the state of the race is not told."""
    if answer["why_unknown"] is not None:
        head = paragraph(f"The state of the race is unknown: {answer['why_unknown']}.", indent=2)
        if not answer["race"]:
            return head
    else:
        head = []
    chance = "" if answer["held_in"] is not None else " No varied futures: no chance is told."
    low, high = answer["area_ha_low"], answer["area_ha_high"]
    spread = "no band" if low is None or high is None else f"{area(low)} to {area(high)}"
    needed = answer["loads_needed"]
    loads = (
        "the planned loads do not close the edge"
        if needed is None
        else f"{number(needed)} loads close the edge"
    )
    return [
        *head,
        *paragraph(f"Cut-off {clock(answer['cut_off'], answer['time'])}.{chance}", indent=2),
        *paragraph(
            f"Burnt {area(answer['area_ha_at_cut_off'])} ({spread}). {number(answer['loads_planned'])} loads "
            f"planned, {number(answer['loads_needing_look'])} of them need a look at their water; {loads}.",
            indent=2,
        ),
        *_idle(answer),
    ]


def _idle(answer: Mapping[str, Any]) -> list[str]:
    lines = []
    if answer["loads_without_a_place"]:
        lines += paragraph(
            f"{number(answer['loads_without_a_place'])} loads find no edge to work on and are not counted on.",
            indent=2,
        )
    if answer["reached_edge_of_map"]:
        lines += paragraph("The fire comes to the edge of the map: what lies beyond is unknown.", indent=2)
    return lines


def _race(race: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    """Every half hour from now, and the last point whatever its minute."""
    if not race:
        return ["  unknown"]
    first = _minutes(race[0]["time"])
    shown = [p for p in race if (_minutes(p["time"]) - first) % _STEP_MIN == 0 or p is race[-1]]
    rows = [
        (
            clock(point["time"], now),
            band(point, "edge_m", 10.0),
            band(point, "held_m", 10.0),
            band(point, "open_m", 10.0),
            number(point["secured_m"], 10.0),
            number(point["barrier_m"], 10.0),
            number(point["retardant_m"], 10.0),
            number(point["wet_only_m"], 10.0),
        )
        for point in shown
    ]
    header = ("time", "edge, m", "line, m", "open, m", "secured", "no fuel", "retardant", "only wet")
    return columns(header, rows, right="secured, no fuel, retardant, only wet")


def _minutes(time: str) -> int:
    return 60 * int(time[11:13]) + int(time[14:16])


def _own_tests(drops: Sequence[Mapping[str, Any]]) -> list[str]:
    """Whose line is measured, where the incident has drop tests; the reasons stand in `--json`."""
    if not any(drop["line_notes"] for drop in drops):
        return []
    own = [drop["id"] for drop in drops if drop["line_from"] == "table"]
    words = "none: no test fits, physics throughout (why: --json)."
    if own:
        words = f"{len(own)} of {len(drops)} drops, {own[0]} first; the others: physics (why: --json)."
    return paragraph(words, first="line from your drop tests: ", indent=2)


def _drops(drops: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    shown = drops[:_DROPS_SHOWN]
    if not shown:
        return section("Next drops", ["  none"])
    rows = [
        (
            drop["id"],
            clock(drop["time"], now),
            drop["aircraft"],
            drop["source"],
            name_words(drop["edge_part"]),
            bearing(drop["run_heading_deg"]),
            f"{feet(drop['height_above_canopy_m'])} / {feet(drop['height_amsl_m'])}",
            band(drop, "line_m", 10.0, "m"),
            "until rain" if drop["hold_until_rain"] else band(drop, "hold_min", 1.0, "min"),
            _people(drop),
        )
        for drop in shown
    ]
    header = (
        "run", "time", "aircraft", "fills at", "on", "heading", "canopy / sea", "line", "holds", "people",
    )  # fmt: skip
    lines = columns(header, rows)
    if len(drops) > len(shown):
        lines.append(f"  … and {len(drops) - len(shown)} more (use --json or --out)")
    lines += _own_tests(drops)
    against: Counter[str] = Counter(
        f"{standing(f)}: {f['code'].replace('_', ' ')}"
        for drop in drops
        for f in {(f["code"], standing(f)): f for f in drop["findings"]}.values()
        if standing(f) != "none found"
    )
    told = "; ".join(f"{what} ({count} of {len(drops)})" for what, count in against.most_common())
    lines += paragraph(f"{told or 'none found'}.", first="stands against these and the others: ", indent=2)
    return section(f"Next {len(shown)} drops of {len(drops)}", lines)


def _people(drop: Mapping[str, Any]) -> str:
    people = drop["people"]
    if people["confirmed_by"] is not None:
        return f"confirmed by {people['confirmed_by']} until {clock(people['until'])}"
    if people["nearest_m"] is None:
        return f"not{NO_BREAK}confirmed; nearest unknown"
    nearest = f"{people['nearest_to']} {number(people['nearest_m'], 5.0, 'm', 'down')}"
    return f"not{NO_BREAK}confirmed; {nearest.replace(' ', NO_BREAK)}"


def _held_back(held: Sequence[Mapping[str, Any]]) -> list[str]:
    if not held:
        return section("Held back", ["  none"])
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for item in held:
        groups.setdefault(item["release"], []).append(item)
    lines = []
    for release, items in sorted(groups.items(), key=lambda group: -len(group[1])):
        names = ", ".join(item["drop"] for item in items[:4]) + (", …" if len(items) > 4 else "")
        runs = f"{len(items)} run{'s' if len(items) > 1 else ''}"
        lines += paragraph(f"({names}). Release: {release}.", first=f"{runs} ", indent=2)
    return section(f"Held back: {len(held)} runs, each with a stop against it", lines)
