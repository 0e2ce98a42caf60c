"""Numbers and names as people read them: rounded to what is known, the unit beside, unknown in words.

Everything is read from the JSON of an answer. `None` there means that nobody knows: it is written as
`unknown`, never left blank. Times are UTC and say so with their `Z`; they are cut to the minute, so that
neither a deadline nor the fire is told too late.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal

from wetline.cli.text import NO_BREAK, paragraph
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = [
    "NO_BAND",
    "UNKNOWN",
    "area",
    "area_m2",
    "attack_words",
    "band",
    "bearing",
    "clock",
    "day_and_clock",
    "feet",
    "futures_words",
    "kind_words",
    "knots",
    "length",
    "name_words",
    "number",
    "rate",
    "said",
    "step_for_area",
    "step_for_length",
    "step_for_rate",
]

UNKNOWN = "unknown"
NO_BAND = "no band"
Way = Literal["near", "down", "up"]

_LABEL = 11
_ALMOST = 1e-6  # a length of 1,500 m reckoned as 1,499.9999999 is 1,500 m

_ATTACK = {
    "hand_tools": "within the limit for hand tools",
    "machines_and_aircraft": "above hand tools, within machines and aircraft",
    "head_doubtful": "above both; at the head probably beyond control",
    "head_ineffective": "above both; at the head beyond control",
    "not_burning": "does not burn",
}
_KINDS = {"road_users": "people on the road", "place": "place to protect", "line": "crews' line"}


def number(value: float | None, step: float = 1.0, unit: str = "", way: Way = "near") -> str:
    """`1,930 m`: to a multiple of `step`, thousands with a comma, a true minus, no minus zero."""
    if value is None:
        return UNKNOWN
    ratio = value / step
    if way == "near":
        steps = math.copysign(math.floor(abs(ratio) + 0.5), ratio)
    else:
        steps = math.floor(ratio + _ALMOST) if way == "down" else math.ceil(ratio - _ALMOST)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{abs(steps * step):,.{decimals}f}"
    sign = "−" if steps < 0 else ""
    return f"{sign}{text}{NO_BREAK}{unit}" if unit else f"{sign}{text}"


def step_for_length(value: float) -> float:
    """How finely a length on the ground is known [m]: 1 under 20, 5 under 100, else 10."""
    size = abs(value)
    return 1.0 if size < 20.0 else 5.0 if size < 100.0 else 10.0


def length(value: float | None, way: Way = "near") -> str:
    """`1,930 m`."""
    return UNKNOWN if value is None else number(value, step_for_length(value), "m", way)


def area(value: float | None) -> str:
    """`120 ha`: two figures."""
    return UNKNOWN if value is None else number(value, step_for_area(value), "ha")


def area_m2(value: float | None) -> str:
    """`1,200 m²`: two figures."""
    return UNKNOWN if value is None else number(value, max(1.0, step_for_area(value)), "m²")


def step_for_area(value: float) -> float:
    """The step that leaves two figures of a value, no finer than 0.1."""
    return max(0.1, 10.0 ** (math.floor(math.log10(abs(value))) - 1)) if value else 1.0


def step_for_rate(value: float) -> float:
    """How finely a rate of spread [m/min] is known."""
    return 0.1 if abs(value) < 10.0 else 1.0


def rate(value: float | None) -> str:
    """`8.4 m/min`, `12 m/min`."""
    return UNKNOWN if value is None else number(value, step_for_rate(value), "m/min")


def band(answer: Mapping[str, Any], key: str, step: float | Callable[[float], float], unit: str = "") -> str:
    """`100 m (80–115)` of `key`, `key_low`, `key_high`; the middle may lie in a key of its own name.

    `step`: one for all three, or what gives each its own.
    """
    middle, low, high = answer.get(key), answer.get(f"{key}_low"), answer.get(f"{key}_high")

    def rounded(value: float | None, unit: str = "") -> str:
        return number(value, step if isinstance(step, float) else step(value or 0.0), unit)

    text = rounded(middle, unit)
    if low is None or high is None:
        return text if middle is None else f"{text} ({NO_BAND})"
    low_text, high_text = rounded(low), rounded(high)
    dash = " to " if "−" in low_text + high_text else "–"
    return f"{text} ({low_text}{dash}{high_text})"


def bearing(value: float | None) -> str:
    """`274° T`: three figures, north is 360°."""
    return UNKNOWN if value is None else f"{round(value) % 360 or 360:03d}° T"


def clock(time: str | None, now: str | None = None) -> str:
    """`14:50Z`; `00:20Z 15 Aug` on another UTC day than `now`."""
    if time is None:
        return UNKNOWN
    if now is not None and time[:10] != now[:10]:
        return f"{time[11:16]}Z {_day(time)}"
    return f"{time[11:16]}Z"


def day_and_clock(time: str | None) -> str:
    """`14 Aug 2026 14:30Z`."""
    return UNKNOWN if time is None else f"{_day(time)} {time[:4]} {time[11:16]}Z"


def _day(time: str) -> str:
    names = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{int(time[8:10])} {names[int(time[5:7]) - 1]}"


def feet(height_m: float | None, way: Way = "near") -> str:
    """`1,350 ft`: heights as the cockpit reads them, to 10 ft."""
    return UNKNOWN if height_m is None else number(height_m / FOOT, 10.0, "ft", way)


def knots(speed_mps: float | None) -> str:
    """`105 kt`."""
    return UNKNOWN if speed_mps is None else number(speed_mps / KNOT, 1.0, "kt")


def name_words(identifier: str | None) -> str:
    """`twin engine scooper` of `twin_engine_scooper`."""
    return UNKNOWN if identifier is None else identifier.replace("_", " ")


def attack_words(attack: str | None) -> str:
    """What an intensity leaves to attack with."""
    return UNKNOWN if attack is None else _ATTACK.get(attack, name_words(attack))


def kind_words(kind: str | None) -> str:
    """What the fire may reach."""
    return UNKNOWN if kind is None else _KINDS.get(kind, name_words(kind))


def said(label: str, text: str) -> list[str]:
    """A label in its own column, its words beside it."""
    return paragraph(text, first=label.ljust(_LABEL))


def futures_words(answer: Mapping[str, Any]) -> str:
    """`16 futures`, or `the one future run`."""
    members = answer["members"]
    return f"{members} future{'s' if members > 1 else ''}" if members else "the one future run"
