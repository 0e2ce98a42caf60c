"""The words of a sheet's drop run: heading, height, line, where to release, who must stand clear."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.briefing.draw_run import draw_run
from wetline.briefing.format import NOT_KNOWN, number
from wetline.units import FOOT

if TYPE_CHECKING:
    from wetline.briefing.format import Style
    from wetline.briefing.pack import CrewSheet, RunView
    from wetline.model import Band

    Row = list[str]
    Content = dict[str, object]

__all__ = ["aim_words", "drift_words", "run_content", "run_rows"]

_RELEASED = {"stop": "stop, do not take; ", "unknown": "not released; ", "caution": "", "clear": ""}
_LEAST_M = 0.5
"""Under this a distance is printed as none."""
_LEAST_SHARE = 0.01
"""Under this share of a load no unbroken body is told."""
_TOLD_M = 10.0
"""A line on the run's own heading is told beside the one planned where it differs by more, and by a tenth."""


def run_content(sheet: CrewSheet, style: Style) -> Content:
    """Title, drawing and rows of the run, or why there is none."""
    run = sheet.run
    if run is None:
        why = sheet.no_run or NOT_KNOWN
        return {"title": "Drop run", "aside": "", "drawing": None, "rows": [["Run", why]]}
    drawing, lost = draw_run(run, style)
    rows = run_rows(run, style)
    if lost:
        rows.append(["Also near", "; ".join(lost)])
    return {
        "title": f"Drop run {run.id}",
        "aside": _RELEASED[run.level] + "as flown, left to right",
        "drawing": drawing.as_json(),
        "rows": rows,
    }


def run_rows(run: RunView, style: Style) -> list[Row]:
    """Label and words, row by row."""
    return [*_flown(run, style), *_fallen(run, style)]


def _flown(run: RunView, style: Style) -> list[Row]:
    """What the crew flies."""
    least = (
        "least height not known"
        if run.height_min_m is None
        else f"never below {style.height(run.height_min_m, 'up')}"
    )
    release = (
        f"{style.height(run.release_amsl_m, 'up')} AMSL"
        if run.release_amsl_m is not None
        else "AMSL not known"
    )
    ground = "ground not known" if run.ground_m is None else f"ground {style.height(run.ground_m)}"
    trees = "trees not known" if run.canopy_m is None else f"trees {style.height(run.canopy_m, 'up')}"
    return [
        ["Heading", f"{style.bearing(run.heading_true_deg)}, {_speed(run.speed_mps, style)}"],
        ["Exit", _exit(run, style)],
        ["Height", f"{style.height(run.height_above_canopy_m, 'up')} above canopy, {least}"],
        ["At release", f"{release}; {ground}, {trees}"],
        ["Release", aim_words(run, style)],
        ["Drift", drift_words(run, style)],
    ]


def _fallen(run: RunView, style: Style) -> list[Row]:
    """What the load does, and to whom."""
    rows = [["Line", _line(run, style)]]
    if run.coat < run.coats:
        rows.append(["Next drop", f"on the same line, load {run.coat + 1} of {run.coats}"])
    elif run.join_m is not None:
        rows.append(["Next drop", _join(run, style)])
    rows.append(["Load falls", _vertical(run, style)])
    if run.stand_clear is not None:
        clear = run.stand_clear
        sides, ahead, behind = (style.length(m, "up") for m in (clear.sides_m, clear.ahead_m, clear.behind_m))
        if style.units != "us":
            ahead, behind = ahead.removesuffix(" m"), behind.removesuffix(" m")
        drift = "" if run.drift_right_m is not None else "; and the drift, not known"
        rows.append(["Stand clear", f"{sides} each side, {ahead} ahead, {behind} behind{drift}"])
    if run.hold_min is not None:
        rows.append(["Holds", _holds(run.hold_min, style, until_rain=run.until_rain)])
    if run.panel is not None:
        rows.append(["Panel", f"set {run.panel}"])
    return rows


def _speed(speed: Band | None, style: Style) -> str:
    return "speed not known" if speed is None else style.knots_band(speed)


def _exit(run: RunView, style: Style) -> str:
    if run.exit_true_deg is None:
        return NOT_KNOWN
    turn = (run.exit_true_deg - run.heading_true_deg + 180.0) % 360.0 - 180.0
    way = "straight ahead" if abs(turn) < 5 else f"{'right' if turn > 0 else 'left'} to"
    return f"{way} {style.bearing(run.exit_true_deg)}"


def _line(run: RunView, style: Style) -> str:
    basis = "" if run.line_basis is None else f" ({run.line_basis})"
    words = f"{style.length_band(run.line_m)} at {style.coverage(run.coverage_l_per_m2)}{basis}"
    if run.coats > 1:
        words += f", load {run.coat} of {run.coats}"
    here = run.line_here_m
    if here is not None and abs(here.middle - run.line_m.middle) > max(_TOLD_M, 0.1 * run.line_m.middle):
        words += f"; on this heading {style.length_band(here)}"
    return words


def _join(run: RunView, style: Style) -> str:
    """Crews see the wet ends, which lie below the coverage that holds; too much overlap costs less than a gap."""
    join = run.join_m
    most = None if join is None else join.middle if join.high is None else join.high
    return f"begins {style.length(most, 'up')} inside the wet end seen"


def _vertical(run: RunView, style: Style) -> str:
    """Whether the load strikes while it moves forward, and how much of it in one body."""
    if run.vertical_from_m is None:
        return "vertical from a height not known: it may strike"
    height = style.height(run.vertical_from_m, "up")
    if run.height_above_canopy_m < run.vertical_from_m:
        whole = run.intact_share
        body = (
            ""
            if whole is None or whole.middle < _LEAST_SHARE
            else f", {100.0 * whole.middle:.0f} % in one body"
        )
        return f"vertical only from {height}: here it strikes{body}"
    return f"vertical from {height} up; still keep clear"


def _holds(minutes: Band, style: Style, *, until_rain: bool) -> str:
    """Until it is dry, or washed off: where some of the band never is, its end is left open."""
    soonest = minutes.middle if minutes.low is None else minutes.low
    if math.isinf(minutes.middle):
        worst = "" if math.isinf(soonest) else f", at worst after {number(soonest)} min"
        return f"until rain washes it off{worst}"
    if minutes.high is not None and math.isinf(minutes.high):
        told = f"{number(minutes.middle)} min ({number(soonest)} or more)"
    else:
        told = style.minutes(minutes)
    return f"{told}, then {'rain washes it off' if until_rain else 'it is dry'}"


def drift_words(run: RunView, style: Style) -> str:
    """`4 m left (0–11), 25 m short (15–40)`: where the wind lays the load, against calm air."""
    if run.drift_right_m is None or run.drift_along_m is None:
        return "not known: no wind is known here"
    side = _signed(run.drift_right_m, "right", "left", "none sideways", style)
    along = _signed(run.drift_along_m, "long", "short", "none along", style)
    return _said_once(f"{side}, {along}")


def aim_words(run: RunView, style: Style) -> str:
    """`35 m early (20–50), 12 m left (5–20)`: where the doors open, seen from the line as flown."""
    if run.release_early_m is None:
        return "not corrected for throw or drift"
    early = _signed(run.release_early_m, "early", "late", "at the line's beginning", style)
    if run.release_right_m is None:
        return f"{early}; wind not known: drift not corrected"
    side = _signed(run.release_right_m, "right", "left", "on its axis", style)
    return _said_once(f"{early}, {side}")


def _said_once(words: str) -> str:
    """That two lengths have no band is said once."""
    missing = " (band not known)"
    return f"{words.replace(missing, '')} (no band)" if words.count(missing) == 2 else words


def _signed(band: Band, plus: str, minus: str, none: str, style: Style) -> str:
    """`4 m left (0–11)`; a band across zero says both ways: `2 m left (5 left to 3 right)`."""
    scale, unit = (FOOT, "ft") if style.units == "us" else (1.0, "m")

    def length(value_m: float) -> str:
        return number(abs(value_m) / scale)

    ends = (band.low, band.high)
    low, high = sorted(end for end in ends if end is not None) if None not in ends else (None, None)
    if max(abs(x) for x in (band.middle, low or 0.0, high or 0.0)) < _LEAST_M:
        return none if low is not None else f"{none} (band not known)"
    words = f"{length(band.middle)} {unit} {plus if band.middle > 0 else minus}"
    words = none if abs(band.middle) < _LEAST_M else words
    if low is None or high is None:
        return f"{words} (band not known)"
    if low < -_LEAST_M and high > _LEAST_M:
        return f"{words} ({length(low)} {minus} to {length(high)} {plus})"
    near, far = sorted((abs(low), abs(high)))
    return f"{words} ({length(near)}–{length(far)})"
