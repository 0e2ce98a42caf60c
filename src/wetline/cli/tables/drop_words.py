"""Where a load falls, where the doors open, who stands clear and where its litres go, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.words import UNKNOWN, band, bearing, length, number
from wetline.cli.text import paragraph

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["doors_open", "drift_as_flown", "shares", "side", "stand_clear"]

_LEAST_M = 0.5


def side(value: float | None, positive: str, negative: str, level: str) -> str:
    """A distance with its side in words; `level` where it is none, rounded to the metre."""
    if value is None:
        return UNKNOWN
    if abs(value) < _LEAST_M:
        return level
    return f"{number(abs(value), 1.0, 'm')} {positive if value > 0 else negative}"


def _ends(answer: Mapping[str, Any], key: str, positive: str, negative: str) -> str:
    """` (14–41)`, or with the sides where the band lies on both."""
    low, high = answer[f"{key}_low"], answer[f"{key}_high"]
    if low is None or high is None:
        return ""
    if low < -_LEAST_M and high > _LEAST_M:
        return f" ({number(-low)} {negative} to {number(high)} {positive})"
    near, far = sorted((abs(low), abs(high)))
    return "" if far < _LEAST_M else f" ({number(near)}–{number(far)})"


def drift_as_flown(answer: Mapping[str, Any]) -> list[str]:
    """How far and to which side the wind carries the load."""
    if answer["inputs"]["wind_mps"] is None:
        drift = "unknown: no wind is given, the pattern is that of calm air."
    else:
        drift = (
            f"{side(answer['drift_right_m'], 'to the right', 'to the left', 'none sideways')}"
            f"{_ends(answer, 'drift_right_m', 'right', 'left')}, "
            f"{side(answer['drift_along_m'], 'onward', 'back', 'none along the run')}"
            f"{_ends(answer, 'drift_along_m', 'onward', 'back')}."
        )
    return paragraph(drift, first="drift as flown: ", indent=2)


def doors_open(answer: Mapping[str, Any]) -> list[str]:
    """Short of the target and upwind: along and across the run, and as a place where one was asked."""
    offset, low, high = (answer[f"release_offset_m{end}"] for end in ("", "_low", "_high"))
    ends = {f"{k}{end}": v[k] for end, v in (("_low", low), ("_high", high)) for k in ("along", "right")}
    along = side(
        offset["along"], "past the middle of the pattern", "before the middle of the pattern", "over it"
    )
    right = side(offset["right"], "to its right", "to its left", "on its line")
    words = f"{along}{_ends(ends, 'along', 'past', 'before')}, {right}{_ends(ends, 'right', 'right', 'left')}"
    calm = answer["inputs"]["wind_mps"] is None
    upwind = "" if calm or abs(offset["right"] or 0.0) < _LEAST_M else ", upwind"
    unknown = " The wind is not given: shift it upwind by the drift that is seen." if calm else ""
    out = paragraph(f"{words}{upwind}.{unknown}", first="doors open: ", indent=2)
    if "release_position" in answer:
        lon, lat = answer["release_position"]
        seen = answer["release_from_target"]
        place = UNKNOWN if lon is None or lat is None else f"{lat:.5f}, {lon:.5f} (latitude, longitude)"
        out += paragraph(
            f"{place}: {number(seen['distance_m'], 1.0, 'm')} from the "
            f"target on {bearing(seen['bearing_deg'])}.",
            first="release at: ",
            indent=2,
        )
    return out


def stand_clear(answer: Mapping[str, Any]) -> list[str]:
    """How far to be away, and why."""
    clear = answer["stand_clear"]
    sides, ahead, behind = (length(clear[k], "up") for k in ("sides_m", "ahead_m", "behind_m"))
    calm = " Drift comes on top: the wind is not given." if answer["inputs"]["wind_mps"] is None else ""
    return [
        *paragraph(
            f"{sides} to either side of the run; {ahead} ahead of the middle of the pattern and {behind} "
            f"behind it, along the run.{calm} More downhill, and under trees.",
            first="people stand off: ",
            indent=2,
        ),
        *paragraph(
            "a load at such speeds injures people, damages vehicles and brings down trees and branches.",
            first="why: ",
            indent=2,
        ),
    ]


def shares(answer: Mapping[str, Any]) -> list[str]:
    """Where every litre goes; what the trees hold is unknown where nobody knows their leaves."""
    held = band(answer, "canopy_pct", 1.0, "%")
    if not answer["canopy_known"]:
        held = f"{UNKNOWN}, up to {number(answer['canopy_pct_high'], 1.0, '%')}: the leaf area is not given"
    elif answer["inputs"]["canopy_m"] is None and answer["inputs"]["leaf_area"] is None:
        held = f"{number(0.0, 1.0, '%')}, no trees told of"
    words = (
        f"on the ground {band(answer, 'reaching_ground_pct', 1.0, '%')}; held by the trees {held}; "
        f"evaporated {band(answer, 'evaporated_pct', 0.1, '%')}; "
        f"outside the reckoning {number(answer['off_grid_pct'], 0.1, '%')}."
    )
    return paragraph(words, indent=2)
