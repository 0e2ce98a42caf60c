"""The table of `drop`, in the order in which a crew asks: my line, where to open, who stands clear."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.drop_agent import agent_lines
from wetline.cli.tables.drop_ladders import ladders
from wetline.cli.tables.drop_words import doors_open, drift_as_flown, shares, side, stand_clear
from wetline.cli.tables.findings import finding_lines
from wetline.cli.tables.folder import problem_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import (
    UNKNOWN,
    area_m2,
    band,
    feet,
    length,
    name_words,
    number,
    step_for_length,
)
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["drop_table"]

_OF_THE_DAY = frozenset(
    {
        "heading_deg",
        "wind_mps",
        "wind_from_deg",
        "temperature_c",
        "humidity_pct",
        "canopy_m",
        "agent",
        "system",
        "doors",
    }
)
_METHODS = {"planning": "planning form", "droplets": "drop by drop"}
_WHOLE = 1.01
_UNITS = frozenset({"l", "m", "mps", "deg", "c", "pct", "s", "mm"})


def drop_table(answer: dict[str, Any]) -> str:
    """One load."""
    lines = _stops(answer)
    lines += section("Your line", _line(answer))
    if "drop_tests" in answer:
        lines += section("Your drop tests", _tests(answer))
    lines += section("Where the doors open", [*drift_as_flown(answer), *doors_open(answer)])
    lines += section("Who stands clear", [*stand_clear(answer), *_below(answer)])
    lines += section("Agent", agent_lines(answer["agent"]))
    lines += ladders(answer)
    lines += section("By coverage level", _levels(answer))
    if "methods" in answer:
        lines += section("Both methods: unbroken line", _both(answer["methods"]))
    lines += section("Pattern (contour of 0.2 L/m²)", _pattern(answer))
    lines += section("Where the load goes", shares(answer))
    lines += finding_lines(answer["findings"], about=answer["inputs"]["class"])
    lines += _inputs(answer)
    lines += section("Method", paragraph(answer["method"], indent=2))
    if "picture" in answer:
        lines += section("Picture", paragraph(answer["picture"], indent=2))
    inputs = answer["inputs"]
    return page(answer, f"one load of {inputs['agent']}, {name_words(inputs['class'])}", lines)


def _stops(answer: Mapping[str, Any]) -> list[str]:
    """What stands against the drop as asked, before every number."""
    out: list[str] = []
    for finding in answer["findings"]:
        if finding["level"] == "stop":
            out += paragraph(finding["message"], first="STOP: ")
    return out


def _line(answer: Mapping[str, Any]) -> list[str]:
    """The line at the level needed; without one, at levels 2 and 4."""
    if answer["level"] is None:
        out = []
        for level in ("2", "4"):
            out += paragraph(f"{_line_at(answer, level)}.", first=f"level {level}: ", indent=2)
        return [*out, *paragraph("Give --level, or --fuel, for the level that you need.", indent=2)]
    level = f"{answer['level']:g}"  # a number that was asked for: never unknown
    out = paragraph(_need(answer), first=f"level {level} needed: ", indent=2)
    wide = band(answer, "width_m", step_for_length, "m")
    out += paragraph(f"{_line_at(answer, level)}, {wide} wide.", first="one load: ", indent=2)
    out += paragraph(_loads(answer), first="loads: ", indent=2)
    if "hold" in answer:
        out += _hold(answer["hold"])
    return out


def _line_at(answer: Mapping[str, Any], level: str) -> str:
    ends = {
        "line": answer["line_m_by_level"][level],
        "line_low": answer["line_m_low_by_level"][level],
        "line_high": answer["line_m_high_by_level"][level],
    }
    if ends["line"] == 0.0:
        return f"does not reach it (up to {length(ends['line_high'])} at best)"
    return f"{band(ends, 'line', step_for_length, 'm')} unbroken"


def _need(answer: Mapping[str, Any]) -> str:
    coverage = f"{number(answer['coverage_l_per_m2'], 0.01)} L/m²"
    needed = answer["need"]
    if needed is None:
        return f"{coverage}, as asked."
    model = "" if needed["fuel_model"] is None else f", fuel model {needed['fuel_model']}"
    return " ".join([f"{coverage}; {needed['description']}{model}.", *needed["notes"]])


def _loads(answer: Mapping[str, Any]) -> str:
    loads = answer["loads"]
    if loads is None:
        return "no number of loads on one line reaches it; another class, or lower, or slower."
    stacked = (
        "one is enough"
        if loads == 1
        else f"{loads} on the same line make {band(answer, 'stack_line_m', step_for_length, 'm')}"
    )
    overlap, line = answer["overlap_m"], answer["stack_line_m"]
    if overlap is not None and line is not None and overlap >= line:
        return (
            f"{stacked}; at the low end of the band the level is not reached: to be sure, lay the next load "
            "on the same place."
        )
    return (
        f"{stacked}; the next begins {length(overlap, 'up')} inside the visible end, so that the level joins "
        "without a gap."
    )


def _hold(holds: Mapping[str, Any]) -> list[str]:
    minutes = "until rain" if holds["until_rain"] else f"wet {band(holds, 'minutes', 1.0, 'min')}"
    chance = band(holds, "chance", 0.01)
    notes = " ".join(holds["notes"])
    return paragraph(f"{minutes}; chance {chance}. {notes}", first="holds: ", indent=2)


def _below(answer: Mapping[str, Any]) -> list[str]:
    """The height to keep, this tool's own column, and how hard the load arrives."""
    safe_m, vertical_m = answer["safe_height_m"], answer["vertical_fall_m"]
    words = {True: "yes", False: "no", None: "not sure"}
    own = UNKNOWN if vertical_m is None else band(answer, "vertical_fall_m", 1.0, "m")
    from_here = f"from here: {words[answer['falls_vertically']]}"
    intact = f"{band(answer, 'intact_pct', 1.0, '%')} arrives as an unbroken column"
    published = answer["safe_height_from"] == "published"
    whence = "by the published formula" if published else "by this tool's own column"
    speed, pressure = answer["arrival_speed_mps"], answer["stagnation_pa"]
    most = "at most " if answer["arrival_speed_is_bound"] else ""
    return [
        *paragraph(
            f"{number(safe_m, 1.0, 'm', 'up')} ({feet(safe_m, 'up')}) above the canopy, {whence}; lower, the load "
            "may still move forward when it strikes.",
            first="safe height: ",
            indent=2,
        ),
        *paragraph(f"above {own}; {from_here}. {intact}.", first="falls vertically: ", indent=2),
        *paragraph(
            f"{most}{number(speed, 1.0, 'm/s')}, and {number(pressure / 1000.0, 1.0, 'kPa')} where a jet or drop "
            f"hits; the shower presses with {most}{number(answer['shower_pa'], 1.0, 'Pa')} on the mean.",
            first="arrives at: ",
            indent=2,
        ),
    ]


def _pattern(answer: Mapping[str, Any]) -> list[str]:
    pattern = answer["pattern"]
    one_m2, all_m2 = (answer[f"area_m2{which}_by_level"]["0.5"] for which in ("", "_summed"))
    known = one_m2 is not None and all_m2 is not None
    largest = "the largest of several pieces: " if known and all_m2 > one_m2 * _WHOLE else ""
    return paragraph(
        f"{largest}{length(pattern['length_m'])} long, {length(pattern['width_m'])} wide, "
        f"mean {number(pattern['mean_l_per_m2'], 0.1)}, peak {number(pattern['peak_l_per_m2'], 0.1)} L/m².",
        indent=2,
    )


def _tests(answer: Mapping[str, Any]) -> list[str]:
    """Which lines are the user's own, and why the others are not."""
    own = [level for level, source in answer["line_from"].items() if source == "table"]
    words = f"the line at level {', '.join(own)}." if own else "no line: physics throughout."
    out = paragraph(words, first=f"{answer['drop_tests']['file']} tells ", indent=2)
    notes = dict.fromkeys((*answer["line_notes"], *answer.get("stack_line_notes", ())))
    for note in notes:
        out += paragraph(note, first="- ", indent=2)
    return out + problem_lines(answer["drop_tests"]["problems"])


def _levels(answer: Mapping[str, Any]) -> list[str]:
    """One row a level: unbroken line and width with their bands, all pieces, area."""
    rows = []
    for level in answer["line_m_by_level"]:
        ends = {
            f"{size}{end}": answer[f"{size}_m{end}_by_level"][level]
            for size in ("line", "width")
            for end in ("", "_low", "_high")
        }
        rows.append(
            (
                level,
                band(ends, "line", _step(ends["line"]), "m"),
                length(answer["line_m_summed_by_level"][level]),
                band(ends, "width", 1.0, "m"),
                area_m2(answer["area_m2_by_level"][level]),
            )
        )
    header = ("US gal/100 ft²", "unbroken line", "all pieces", "width", "area")
    return columns(header, rows, right="US gal/100 ft², all pieces, area")


def _both(methods: Mapping[str, Any]) -> list[str]:
    """The lines of both beside each other, and where they differ by more than the first one's band."""
    first, second = methods["lines"].values()
    rows = [
        (
            level,
            band(first[level], "line_m", step_for_length, "m"),
            band(second[level], "line_m", step_for_length, "m"),
        )
        for level in first
    ]
    names = [_METHODS[by] for by in methods["lines"]]
    at = ", ".join(methods["differ_at"])
    told = (
        f"They differ by more than the band at level {at}: neither is measured, take the shorter line."
        if at
        else "The second lies inside the band of the first at every level."
    )
    out = [*columns(("US gal/100 ft²", *names), rows, right="US gal/100 ft²"), *paragraph(told, indent=2)]
    if methods["drift_differs"]:
        ways = [
            f"{name} {side(found['drift_right_m'], 'to the right', 'to the left', 'none sideways')}"
            for name, found in zip(names, methods["drift"].values(), strict=True)
        ]
        out += paragraph(f"{'; '.join(ways)}: more apart than the band.", first="drift: ", indent=2)
    return out


def _step(middle: float | None) -> float:
    return 1.0 if middle is None else step_for_length(middle)


def _inputs(answer: Mapping[str, Any]) -> list[str]:
    """What was given or comes from the class or the day, with its source; the model's own settings in short."""
    rows, settings = [], []
    for name, value in answer["inputs"].items():
        about = answer["inputs_from"][name]
        words, shown = _input_name(name), _input_value(value, about)
        if about["origin"] in {"given", "class"} or name in _OF_THE_DAY:
            rows.append((about["origin"], words, shown, about["source"]))
        else:
            settings.append(f"{words} {shown} ({about['origin']})")
    rows.sort(key=lambda row: ("given", "class", "default", "computed").index(row[0]))
    return [
        *section("Inputs", columns(("from", "input", "value", "source"), rows)),
        *paragraph(f"{'; '.join(settings)} (sources: --json).", first="settings: ", indent=2),
    ]


def _input_name(name: str) -> str:
    """`wind` of `wind_mps`: the unit stands at the value."""
    stem, _, unit = name.rpartition("_")
    return name_words(stem if unit in _UNITS else name)


def _input_value(value: object, about: Mapping[str, Any]) -> str:
    if value is None:
        return "not given"
    if not isinstance(value, (int, float)):
        return name_words(str(value))
    low, high = about.get("low"), about.get("high")
    spread = "" if low is None or high is None or low == high else f" ({low:,.4g}–{high:,.4g})"
    return f"{value:,.4g} {about['unit']}".rstrip() + spread
