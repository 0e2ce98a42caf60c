"""The words of one crew's sheet, box by box, in the order of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.briefing.draw_circuit import draw_circuit
from wetline.briefing.format import NOT_KNOWN, Style
from wetline.briefing.sheet_run import run_content
from wetline.briefing.sheet_source import source_content

if TYPE_CHECKING:
    from wetline.briefing.pack import BriefPack, CrewSheet, Times, Wind
    from wetline.model import Finding

    Row = list[str]
    Content = dict[str, object]

__all__ = ["findings_in_order", "sheet_content", "style_of", "wind_words"]

_LAST_FILL = {"scoop": "Last scoop", "dip": "Last dip", "base": "Last reload", "none": "Last load"}
_SAYS_LIMIT = ("limit", "allowed", "the class climbs")


def style_of(pack: BriefPack) -> Style:
    """How this pack writes numbers."""
    return Style(
        units=pack.units,
        zone=pack.zone,
        made=pack.made,
        projection=pack.projection,
        variation_deg=pack.variation_deg,
    )


def sheet_content(sheet: CrewSheet, pack: BriefPack) -> Content:
    """Everything that the page template prints for one crew, as plain data."""
    style = style_of(pack)
    circuit = sheet.circuit
    cycle = "none" if sheet.fills == "none" else NOT_KNOWN
    if circuit is not None:
        cycle = f"{style.minutes(circuit.cycle_min)}, {style.loads_per_hour(circuit.loads_per_hour)}"
    return {
        "number": sheet.number,
        "call_signs": list(sheet.call_signs) or ["call sign not known"],
        "task": _task(sheet, style),
        "incident": pack.incident,
        "made": f"sheet {sheet.number}, {style.moment(pack.made)}",
        "replaces": None if sheet.replaces is None else f"Replaces sheet {sheet.replaces}",
        "weather": wind_words(pack.wind, pack, style),
        "exercise": pack.exercise,
        "times": _times(sheet, style),
        "source": source_content(sheet, style),
        "run": run_content(sheet, style),
        "circuit": {
            "title": "Circuit",
            "aside": cycle,
            "drawing": None if circuit is None else draw_circuit(circuit, style).as_json(),
        },
        "separation": [list(row) for row in sheet.separation] or [["Others", NOT_KNOWN]],
        "findings": _findings((*sheet.findings, *pack.findings), sheet.other_checks),
        "checked": style.clock(pack.made),
        "points": _points(sheet, style),
        "radio": [[name, value or ""] for name, value in sheet.radio],
        "changed": _changed(sheet),
        "confirm": _confirm(sheet),
        "caution": pack.cautions[0],
    }


def _task(sheet: CrewSheet, style: Style) -> str:
    load = "no load" if sheet.fills == "none" else f"{style.volume(sheet.load_l)} {sheet.agent}"
    if sheet.load_l is None and sheet.fills != "none":
        load = f"load not known, {sheet.agent}"
    return f"{sheet.class_name}, {load}. {sheet.task}"


def wind_words(wind: Wind | None, pack: BriefPack, style: Style) -> str:
    """`Wind 274° M (260° T), 12 kt, gust 18 at 13:40; variation 14° W`."""
    variation = style.variation(pack.variation_date)
    if wind is None:
        return f"Wind not known; {variation}"
    gust = "gust not known" if wind.gust_mps is None else f"gust {style.knots(wind.gust_mps)}"
    bearing = style.bearing(wind.from_true_deg)
    # The variation is said once, so that the wind need not repeat that it is missing.
    bearing = bearing.removesuffix(", variation not given")
    return f"Wind {bearing}, {style.knots(wind.speed_mps)}, {gust} at {style.clock(wind.time)}; {variation}"


def _times(sheet: CrewSheet, style: Style) -> list[dict[str, object]]:
    times: Times = sheet.times
    fuel = [_departures(each, style) for each in times.leave_for_fuel] or [NOT_KNOWN]
    heads = " / ".join(str(i + 1) for i in range(len(fuel)))
    none = sheet.fills == "none"  # what carries no load has no drops to be known or not
    cells: list[tuple[str, list[str]]] = [
        ("First drop", ["none" if none else style.clock(times.first_drop)]),
        (f"Leave for fuel, {heads}" if len(fuel) > 1 else "Leave for fuel", fuel),
        (_LAST_FILL[sheet.fills], ["none" if none else style.clock(times.last_fill)]),
        ("Last drop", ["none" if none else style.clock(times.last_drop)]),
        ("Land by", [style.clock(times.land_by)]),
        ("Crew hours", [style.clock(times.crew_hours)]),
        ("Cut-off", [style.clock(times.cut_off)]),
    ]
    return [{"label": label, "values": values} for label, values in cells]


def _departures(times: tuple[object, ...] | None, style: Style) -> str:
    if times is None:
        return NOT_KNOWN
    return ", ".join(style.clock(t) for t in times) if times else "no stop"  # type: ignore[arg-type]


def findings_in_order(findings: tuple[Finding, ...]) -> list[tuple[str, str, str]]:
    """(sign, word, text): the look task first, then stop, blocks, looks, caution, noted.

    Looks at the same thing as the first one are one task; what a folder lacks is no crew's first task.
    `unknown` without an effect blocks: what is not known is never let through.
    """
    looks = [f for f in findings if f.level == "unknown" and f.effect == "look"]
    tasks = [f for f in looks if f.code != "data_missing"]
    first = [f for f in tasks if f.refers_to == tasks[0].refers_to] if tasks else []
    blocks = [f for f in findings if f.level == "unknown" and f.effect not in {"look", "noted"}]
    rows = []
    if first:
        rows.append(("unknown", "Needs a look, first task.", " ".join(_sentences(first))))
    rows += [("stop", "Stop.", s) for s in _sentences([f for f in findings if f.level == "stop"])]
    rows += [("block", "Blocks.", s) for s in _sentences(blocks)]
    rows += [("unknown", "Needs a look.", s) for s in _sentences([f for f in looks if f not in first])]
    rows += [("caution", "Caution.", s) for s in _sentences([f for f in findings if f.level == "caution"])]
    noted = [f for f in findings if f.level == "unknown" and f.effect == "noted"]
    rows += [("noted", "Noted.", s) for s in _sentences(noted)]
    return rows


def _sentences(findings: list[Finding]) -> list[str]:
    """Messages as sentences, with the limit where the message does not say it; each said once."""
    said: dict[str, None] = {}
    for finding in findings:
        words = finding.message.strip()
        words = words[:1].upper() + words[1:]
        words = words if words.endswith((".", "!", "?")) else f"{words}."
        if finding.limit and not any(said_so in words.lower() for said_so in _SAYS_LIMIT):
            words = f"{words} Limit {finding.limit}."
        said.setdefault(words)
    return list(said)


def _findings(findings: tuple[Finding, ...], other_checks: int) -> list[Row]:
    rows = [list(row) for row in findings_in_order(findings)]
    passed = other_checks + sum(1 for f in findings if f.level == "clear")
    other = "other " if rows else ""
    if passed:
        rows.append(["none", "None found.", f"{passed} {other}check{'' if passed == 1 else 's'}."])
    elif not rows:
        rows.append(["block", "Blocks.", "Nothing was checked."])
    return rows


def _points(sheet: CrewSheet, style: Style) -> list[Row]:
    rows = []
    for point in sheet.points:
        degrees, grid = style.position(point.xy)
        rows.append([point.name, degrees, grid, style.height(point.ground_m)])
    return rows or [["Not known", NOT_KNOWN, NOT_KNOWN, NOT_KNOWN]]


def _changed(sheet: CrewSheet) -> Row:
    if sheet.replaces is None and not sheet.changed:
        return ["First sheet for this crew.", ""]
    since = "Changed." if sheet.replaces is None else f"Changed since sheet {sheet.replaces}."
    return [since, " ".join(sheet.changed) or "Nothing but the time."]


def _confirm(sheet: CrewSheet) -> list[str]:
    runs = sheet.confirm or ((sheet.run.id,) if sheet.run else ())
    return [f"{run} clear of people." for run in runs]
