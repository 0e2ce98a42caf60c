"""The table of `drop`: what one load does on the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import finding_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import UNKNOWN, band, feet, length, name_words, number, step_for_length
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["drop_table"]

_OF_THE_DAY = frozenset(
    {"heading_deg", "wind_mps", "wind_from_deg", "temperature_c", "humidity_pct", "canopy_m", "agent"}
)
_UNITS = frozenset({"l", "m", "mps", "deg", "c", "pct", "s", "mm"})
_SHARES = (
    ("on the ground", "reaching_ground_pct"),
    ("held by the trees", "canopy_pct"),
    ("evaporated", "evaporated_pct"),
    ("outside the reckoning", "off_grid_pct"),
)


def drop_table(answer: dict[str, Any]) -> str:
    """One load."""
    lines = section("Pattern (contour of 0.2 L/m²)", _pattern(answer["pattern"]))
    lines += section("Line by coverage level, along the middle", _levels(answer))
    lines += section("Where it falls", _offsets(answer))
    shares = "; ".join(f"{label} {number(answer[key], 0.1, '%')}" for label, key in _SHARES)
    lines += section("Where the load goes", paragraph(f"{shares}.", indent=2))
    lines += section("Danger below", _danger(answer))
    lines += finding_lines(answer["findings"], about=answer["inputs"]["class"])
    lines += _inputs(answer)
    lines += section("Method", paragraph(answer["method"], indent=2))
    if "picture" in answer:
        lines += section("Picture", paragraph(answer["picture"], indent=2))
    inputs = answer["inputs"]
    return page(answer, f"one load of {inputs['agent']}, {name_words(inputs['class'])}", lines)


def _pattern(pattern: Mapping[str, float | None]) -> list[str]:
    return paragraph(
        f"{length(pattern['length_m'])} long, {length(pattern['width_m'])} wide, "
        f"mean {number(pattern['mean_l_per_m2'], 0.1)}, peak {number(pattern['peak_l_per_m2'], 0.1)} L/m².",
        indent=2,
    )


def _levels(answer: Mapping[str, Any]) -> list[str]:
    """One row a level: the unbroken line with its band, and all pieces together where that is more."""
    rows = []
    for level, middle in answer["line_m_by_level"].items():
        low, high = answer["line_m_low_by_level"][level], answer["line_m_high_by_level"][level]
        step = step_for_length(middle) if middle is not None else 1.0
        line = band({"line": middle, "line_low": low, "line_high": high}, "line", step, "m")
        rows.append((level, line, length(answer["line_m_summed_by_level"][level])))
    return columns(
        ("US gal/100 ft²", "unbroken line", "all pieces"), rows, right="US gal/100 ft², all pieces"
    )


def _side(value: float | None, positive: str, negative: str, level: str) -> str:
    """A distance with its side in words; `level` where it is none, rounded to the metre."""
    if value is None:
        return UNKNOWN
    if abs(value) < 0.5:
        return level
    return f"{number(abs(value), 1.0, 'm')} {positive if value > 0 else negative}"


def _offsets(answer: Mapping[str, Any]) -> list[str]:
    if answer["inputs"]["wind_mps"] is None:
        drift = "unknown: no wind is given, the pattern is that of calm air."
    else:
        drift = (
            f"{_side(answer['drift_right_m'], 'to the right', 'to the left', 'none sideways')}, "
            f"{_side(answer['drift_along_m'], 'onward', 'back', 'none along the run')}."
        )
    offset = answer["release_offset_m"]
    release = (
        f"{_side(offset['along'], 'past the middle of the pattern', 'before the middle of the pattern', 'over it')}, "
        f"{_side(offset['right'], 'to its right', 'to its left', 'on its line')}."
    )
    return [
        *paragraph(drift, first="drift as flown: ", indent=2),
        *paragraph(release, first="doors open: ", indent=2),
    ]


def _danger(answer: Mapping[str, Any]) -> list[str]:
    safe_m, apart_m = answer["safe_height_m"], answer["stand_off_m"]
    return [
        *paragraph(
            f"{number(safe_m, 1.0, 'm', 'up')} ({feet(safe_m, 'up')}) above the canopy; lower, the load still "
            "moves forward when it strikes.",
            first="safe height: ",
            indent=2,
        ),
        *paragraph(f"{number(apart_m, 1.0, 'm', 'up')} at least.", first="people stand off: ", indent=2),
    ]


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
