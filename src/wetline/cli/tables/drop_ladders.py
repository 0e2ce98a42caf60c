"""The same load from other heights and at other airspeeds, as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.words import UNKNOWN, band, feet, knots, length, number, step_for_length
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = ["ladders"]

_LEAST_M = 0.5
_SHOWN = ("2", "4")
"""The levels that are shown where none was asked for."""
_SURE = {True: "yes", False: "no", None: "not sure"}


def ladders(answer: Mapping[str, Any]) -> list[str]:
    """Two tables: height above canopy, and true airspeed."""
    by = "" if answer["by"] == "planning" else ", by the planning form"
    header, rows = _table(answer, answer["heights"], "height", lambda row: _height(row["height_m"]))
    heights = columns(header, rows, right="height")
    heights += _not_flown([_height(h) for h in answer["not_flown"]["heights_m"]])
    header, rows = _table(answer, answer["speeds"], "airspeed", lambda row: _speed(row["speed_mps"]))
    speeds = columns(header, rows, right="airspeed")
    speeds += _not_flown([_speed(v) for v in answer["not_flown"]["speeds_mps"]])
    return [
        *section(f"From other heights (tank above canopy){by}", heights),
        *section(f"At other airspeeds{by}", speeds),
    ]


def _not_flown(names: Sequence[str]) -> list[str]:
    if not names:
        return []
    return paragraph(f"{', '.join(names)}: in this wind the run cannot be flown.", indent=2)


def _height(height_m: float) -> str:
    return f"{number(height_m, 1.0, 'm')} ({feet(height_m)})"


def _speed(speed_mps: float) -> str:
    return f"{number(speed_mps, 1.0, 'm/s')} ({knots(speed_mps)})"


def _table(
    answer: Mapping[str, Any],
    rows: Sequence[Mapping[str, Any]],
    first: str,
    name: Callable[[Mapping[str, Any]], str],
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    level = answer["level"]
    loads = answer.get("loads") or 1
    of = "" if loads == 1 else f", {loads} loads"
    lines = (
        tuple(f"line at {each}" for each in _SHOWN) if level is None else (f"line at {level:g}{of}", "width")
    )
    header = (first, *lines, "evaporated", "drift", "vertical", "unbroken", "is")
    return header, [
        (
            name(row),
            *_line(row, level),
            band(row, "evaporated_pct", 1.0, "%"),
            _drift(answer, row),
            _SURE[row["falls_vertically"]],
            number(row["intact_pct"], 1.0, "%"),
            _why(row, own="drop_tests" in answer),
        )
        for row in rows
    ]


def _line(row: Mapping[str, Any], level: float | None) -> tuple[str, str]:
    if level is not None:
        return band(row, "line_m", step_for_length, "m"), band(row, "width_m", 1.0, "m")
    first, second = (length(row["line_m_by_level"][each]) for each in _SHOWN)
    return first, second


def _drift(answer: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    right, along = row["drift_right_m"], row["drift_along_m"]
    if answer["inputs"]["wind_mps"] is None or right is None or along is None:
        return UNKNOWN
    words = f"{number(abs(right), 1.0, 'm')} {'right' if right >= 0.0 else 'left'}"
    if abs(along) < _LEAST_M:
        return words
    return f"{words}, {number(abs(along), 1.0, 'm')} {'on' if along >= 0.0 else 'back'}"


def _why(row: Mapping[str, Any], *, own: bool) -> str:
    words = [row["why"]] if row["why"] else []
    if row["below_class_minimum"]:
        words.append("BELOW MINIMUM")
    if own:
        words.append(_told_by(row))
    return ", ".join(words)


def _told_by(row: Mapping[str, Any]) -> str:
    """Whether own drop tests tell the lines shown, or physics."""
    if "line_from" in row:
        return "your tests" if row["line_from"] == "table" else "physics"
    own = [level for level in _SHOWN if row["line_from_by_level"][level] == "table"]
    if not own:
        return "physics"
    return "your tests" if len(own) == len(_SHOWN) else f"your tests at {own[0]}, else physics"
