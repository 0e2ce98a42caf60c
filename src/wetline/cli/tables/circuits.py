"""The table of `circuits`: who fills where, how often, and what ends each day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import finding_lines, gravest
from wetline.cli.tables.page import page
from wetline.cli.tables.words import UNKNOWN, band, clock, length, name_words, number
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["circuits_table"]

_NAMED = 3
_LIMITED_BY = {
    "cut_off": "cut-off",
    "land_by": "land-by",
    "crew_hours": "crew hours",
    "fuel": "fuel",
    "flying_limit": "longest flying without a break",
    "no_agent": "nothing left where it loads",
    "no_load": "too heavy to lift a load",
    "wind": "wind",
    "no_source": "no water or base it can use",
    "no_base": "its base is not known",
    "no_daylight": "daylight is not known",
    "out_of_service": "out of service",
    "supervision": "supervises, drops nothing",
}


def circuits_table(answer: dict[str, Any]) -> str:
    """Circuits and the day."""
    now = answer["time"]
    first = answer["first_drop"]
    ends = (
        f"the cut-off {clock(answer['cut_off'], now)}; all on the ground by {clock(answer['land_by'], now)}."
    )
    if first:
        lines = paragraph(
            f"First drop {clock(first['time'], now)} by {first['aircraft']}. {number(answer['loads'])} loads, "
            f"{number(answer['loads_needing_look'])} of them from water nobody has looked at today, until {ends}"
        )
    else:
        lines = paragraph(f"No drop is possible until {ends}")
    lines += section("Fleet", _fleet(answer["day"]))
    lines += section("Circuits to the middle of the fire", _circuits(answer["circuits"]))
    lines += section("The day", [*_day(answer["day"], now), *_refusals(answer["day"])])
    lines += section("Latest times", _cut_offs(answer["day"], now))
    lines += section("In sum", _sums(answer, now))
    if answer["comparison"]:
        lines += section("What if", _comparison(answer["comparison"]))
    findings = [*answer["findings"], *(f for row in answer["day"] for f in row["findings"])]
    lines += finding_lines(findings)
    return page(answer, "circuits and the day", lines)


def _fleet(day: Sequence[Mapping[str, Any]]) -> list[str]:
    classes: dict[str, list[str]] = {}
    for row in day:
        classes.setdefault(name_words(row["class"]), []).append(row["aircraft"])
    told = "; ".join(f"{name}: {', '.join(who)}" for name, who in classes.items())
    return paragraph(f"{told or 'none'}.", indent=2)


def _circuits(circuits: Sequence[Mapping[str, Any]]) -> list[str]:
    rows = [
        (
            circuit["aircraft"],
            f"{circuit['source']} ({circuit['source_kind']})",
            length(circuit["distance_m"]),
            band(circuit, "cycle_min", 0.1),
            band(circuit, "loads_per_hour", 0.1),
            band(circuit, "litres_per_hour", 100.0),
            number(circuit["litres_per_load"], 10.0),
            gravest(circuit["findings"]),
        )
        for circuit in circuits
    ]
    header = ("aircraft", "fills at", "away", "circuit, min", "loads/h", "L/h", "L a load", "standing")
    if not rows:
        return ["  none: nobody can fill"]
    return [*columns(header, rows, right="away, L a load"), *_reasons(circuits)]


def _reasons(circuits: Sequence[Mapping[str, Any]]) -> list[str]:
    """Why each source is the one to work, what its loss costs, and how those on it share it; pairs once."""
    lines: list[str] = []
    told: set[tuple[str, str]] = set()
    for circuit in circuits:
        sharing = circuit["sharing"]
        key = (", ".join(sharing["aircraft"]), circuit["because"])
        if key in told:
            continue
        told.add(key)
        words = f"{', '.join(sharing['aircraft'])} at {circuit['source']}: {circuit['because']}."
        if circuit["alternate"] is not None:
            lost = circuit["alternate_costs_litres_per_hour"]
            words += f" If it is lost: {circuit['alternate']}, {number(lost, 100.0)} L/h {'less' if lost >= 0 else 'more'} each."
        if len(sharing["aircraft"]) > 1:
            words += f" Together, evenly spaced: a drop every {number(sharing['between_drops_min'], 0.1)} min"
            wait = sharing["wait_min"]
            words += f", each waits {number(wait, 0.1)} min." if wait > 0 else "."
        lines += paragraph(words, indent=2)
    return lines


def _day(day: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    rows = []
    for row in day:
        drops = row["loads"] > 0
        none = "none" if not drops else UNKNOWN
        rows.append(
            (
                row["aircraft"],
                number(row["loads"]),
                number(row["litres"], 100.0, "L"),
                number(row["flight_h"], 0.1, "h"),
                clock(row["first_drop"], now) if row["first_drop"] else none,
                clock(row["last_drop"], now) if row["last_drop"] else none,
                ", ".join(clock(t, now) for t in row["leave_for_fuel"]) or "no",
                clock(row["land_by"], now),
                clock(row["crew_hours_end"], now),
                _LIMITED_BY.get(row["limited_by"], name_words(row["limited_by"])),
            )
        )
    header = (
        "aircraft", "loads", "litres", "flown", "first drop", "last drop", "leaves for fuel", "land by",
        "crew hours end", "limited by",
    )  # fmt: skip
    return columns(header, rows, right="loads, litres, flown") if rows else ["  no aircraft in the fleet"]


def _cut_offs(day: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    """By when each must have done what, and what sets the last drop and the landing."""
    rows = []
    for row in day:
        latest = {cut["what"]: cut for cut in row["cut_offs"]}
        if "drop" not in latest:
            continue
        because = latest["drop"]["because"]
        landing = latest["landing"]["because"]
        rows.append(
            (
                row["aircraft"],
                *(clock(latest[what]["time"], now) for what in ("launch", "fill", "drop", "landing")),
                because if landing in because else f"drop: {because}; landing: {landing}",
            )
        )
    header = ("aircraft", "take-off", "fill", "drop", "landed", "because of")
    return columns(header, rows) if rows else ["  unknown: no daylight is known, or nobody can fill"]


def _money(costs: Sequence[Mapping[str, Any]] | None) -> str:
    """`12,300 EUR`; `at least` where something is not in it; `unknown` where nobody gave rates."""
    if not costs:
        return UNKNOWN
    return ", ".join(
        f"{'at least ' if cost['missing'] else ''}{number(cost['amount'], 1.0, cost['currency'])}"
        for cost in costs
    )


def _sums(answer: Mapping[str, Any], now: str | None) -> list[str]:
    totals = answer["totals"]
    if not totals["loads"]:
        return ["  no load"]
    lines = paragraph(
        f"{number(totals['loads'])} loads, {number(totals['litres'], 1.0, 'L')}; of them "
        f"{number(totals['loads_needing_look'])} loads, {number(totals['litres_needing_look'], 1.0, 'L')}, "
        f"from water nobody has looked at today. {number(totals['litres_per_hour'], 100.0, 'L')} an hour from the first "
        f"drop to the last. Cost: {_money(totals['cost'])}.",
        indent=2,
    )
    if totals["gap_longest_min"] is not None:
        lines += paragraph(
            f"Between two drops: {number(totals['gap_median_min'], 0.1, 'min')} as a rule, at most "
            f"{number(totals['gap_longest_min'], 1.0, 'min', 'up')} from {clock(totals['gap_longest_from'], now)}.",
            indent=2,
        )
    rows = [
        (clock(hour["time"], now), number(hour["loads"]), number(hour["litres"], 1.0, "L"))
        for hour in answer["hours"]
    ]
    return [*lines, *columns(("hour from", "loads", "litres"), rows, right="loads, litres")]


def _comparison(mixes: Sequence[Mapping[str, Any]]) -> list[str]:
    """Each what-if beside the day as it is. In the order asked: cost alone ranks nothing."""
    rows = [
        (
            mix["what"],
            number(mix["loads"]),
            number(mix["litres"], 100.0, "L"),
            number(mix["litres_per_hour"], 100.0, "L"),
            number(mix["first_drop_min"], 1.0, "min"),
            number(mix["gap_longest_min"], 1.0, "min", "up"),
            _money(mix["cost"]),
        )
        for mix in mixes
    ]
    header = ("mix", "loads", "litres", "L/h", "first drop in", "longest gap", "cost")
    lines = columns(header, rows, right="loads, litres, L/h")
    for assumed in (text for mix in mixes for text in mix["assumed"]):
        lines += paragraph(f"Assumed for {assumed}.", indent=2)
    return [*lines, *paragraph("In the order asked; no mix is ranked by its cost.", indent=2)]


def _refusals(day: Sequence[Mapping[str, Any]]) -> list[str]:
    """Why those who can fill nowhere cannot, each reason once."""
    lines: list[str] = []
    for row in day:
        if row["limited_by"] != "no_source":
            continue
        by_reason: dict[str, list[str]] = {}
        for refused in row["refused"]:
            by_reason.setdefault(refused["why"], []).append(refused["source"])
        for why, sources in by_reason.items():
            named = ", ".join(sources[:_NAMED]) + (
                f" and {len(sources) - _NAMED} more" if len(sources) > _NAMED else ""
            )
            lines += paragraph(f"{row['aircraft']} cannot use {named}: {why}", indent=2)
        if not by_reason:
            lines += paragraph(f"{row['aircraft']}: no water or base is known", indent=2)
    return lines
