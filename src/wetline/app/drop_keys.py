"""One drop result as the keys of the JSON answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.answer import Answer, number, spread

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from wetline.drops import DropResult, Input, Method, Rung, Strike
    from wetline.model import Band, Finding

__all__ = ["below_keys", "finding_keys", "input_keys", "methods_keys", "pattern_keys", "rung_keys"]

_SIZES = {
    "line_m": "line_m",
    "line_m_summed": "line_summed_m",
    "width_m": "width_m",
    "width_m_summed": "width_summed_m",
    "area_m2": "area_m2",
    "area_m2_summed": "area_summed_m2",
}
"""The key of the answer, and what it is called in `AtLevel`."""
_DIGIT = 0.05
_ABOUT = ("unit", "origin", "source", "low", "high")


def _share(key: str, band: Band) -> Answer:
    """A share [0 to 1] as per cent with its band."""
    ends = (None if end is None else number(100.0 * end) for end in (band.low, band.high))
    low, high = ends
    return {key: number(100.0 * band.middle), f"{key}_low": low, f"{key}_high": high}


def pattern_keys(result: DropResult) -> Answer:
    """The pattern: size, each level's line, width and area, drift, release, shares."""
    size, fall = result.pattern, result.fall
    out: Answer = {
        "pattern": {
            "length_m": number(size.length_m),
            "width_m": number(size.width_m),
            "mean_l_per_m2": number(size.mean_l_per_m2, 3),
            "peak_l_per_m2": number(size.peak_l_per_m2, 3),
        }
    }
    for key in _SIZES:
        out |= _by_level(result, key)
    out |= {"line_from": dict(result.line_from), "line_notes": list(result.line_notes)}
    out |= {
        "release_offset_m": {k: number(v) for k, v in result.release_offset_m.items()},
        "release_offset_m_low": {
            "along": number(fall.release_along_m.low),
            "right": number(fall.release_right_m.low),
        },
        "release_offset_m_high": {
            "along": number(fall.release_along_m.high),
            "right": number(fall.release_right_m.high),
        },
        **spread("drift_right_m", fall.drift_right_m, 1),
        **spread("drift_along_m", fall.drift_along_m, 1),
        **spread("evaporated_pct", fall.evaporated_pct, 3),
        **spread("canopy_pct", fall.canopy_pct, 3),
        "canopy_known": fall.canopy_known,
        **spread("reaching_ground_pct", fall.reaching_ground_pct, 3),
        "off_grid_pct": number(fall.off_grid_pct, 3),
        "safe_height_m": number(result.safe_height_m),
        "stand_off_m": number(result.stand_off_m),
        "stand_clear": {
            "sides_m": number(result.clear.sides_m),
            "ahead_m": number(result.clear.ahead_m),
            "behind_m": number(result.clear.behind_m),
            "notes": list(result.clear.notes),
        },
    }
    return out


def _by_level(result: DropResult, key: str) -> Answer:
    """`line_m_by_level` and its ends `line_m_low_by_level`, `line_m_high_by_level`, of one size."""
    bands = {level: getattr(at, _SIZES[key]) for level, at in result.fall.levels.items()}
    return {
        f"{key}_by_level": {level: number(band.middle) for level, band in bands.items()},
        f"{key}_low_by_level": {level: number(band.low) for level, band in bands.items()},
        f"{key}_high_by_level": {level: number(band.high) for level, band in bands.items()},
    }


def methods_keys(by: Method, both: tuple[DropResult, DropResult] | None) -> Answer:
    """Which method the answer is by; where both were asked for, the lines of each and where they differ.

    `differ_at`: levels at which the middle of the second lies outside the band of the first;
    `drift_differs`: the same of the drift to the right.
    """
    out: Answer = {"by": by}
    if both is None:
        return out
    form, beside = both
    lines = {
        r.by: {level: spread("line_m", at.line_m, 1) for level, at in r.fall.levels.items()} for r in both
    }
    apart = [
        level
        for level, at in form.fall.levels.items()
        if not _holds(at.line_m, beside.fall.levels[level].line_m.middle)
    ]
    first, second = form.fall.drift_right_m, beside.fall.drift_right_m
    drift = {r.by: spread("drift_right_m", r.fall.drift_right_m, 1) for r in both}
    out["methods"] = {
        "lines": lines,
        "drift": drift,
        "differ_at": apart,
        "drift_differs": first.low is not None and not _holds(first, second.middle),
        "other": beside.method,
    }
    return out


def _holds(band: Band, value: float) -> bool:
    """Whether a value lies in a band, but for its last digit shown."""
    low, high = (band.middle if end is None else end for end in (band.low, band.high))
    return low - _DIGIT <= value <= high + _DIGIT


def below_keys(below: Strike) -> Answer:
    """From where it falls vertically, how much arrives unbroken, how fast and how hard."""
    return {
        **spread("vertical_fall_m", below.own_m, 1),
        "published_height_m": number(below.published_m),
        "safe_height_from": below.rules,
        "falls_vertically": below.falls_vertically,
        **_share("intact_pct", below.intact_share),
        "core_intact": below.core_intact,
        "strikes_forward": below.red,
        "arrival_speed_mps": number(below.speed_mps, 1),
        "arrival_speed_is_bound": below.speed_is_bound,
        "stagnation_pa": number(below.stagnation_pa, 0),
        "shower_pa": number(below.shower_pa, 0),
    }


def rung_keys(rung: Rung, level: float | None) -> Answer:
    """One row of the table of heights or speeds."""
    result, fall = rung.result, rung.result.fall
    row: Answer = {
        "why": rung.why,
        "height_m": number(rung.below.height_m),
        "speed_mps": number(_value(result.inputs["speed_mps"])),
        "below_class_minimum": rung.under_minimum,
    }
    if level is not None:
        at = result.at(level)
        row |= {"level": level, **spread("line_m", at.line_m, 1), "line_from": at.line_from}
        row |= spread("width_m", at.width_m, 1)
    row |= {"line_m_by_level": {k: number(v) for k, v in result.line_m_by_level.items()}}
    row |= {"line_from_by_level": dict(result.line_from)}
    for key in ("drift_right_m", "drift_along_m", "evaporated_pct"):
        row |= spread(key, getattr(fall, key), 1)
    return row | below_keys(rung.below)


def _value(used: Input) -> float | None:
    return used.value if isinstance(used.value, float | int) else None


def input_keys(inputs: Mapping[str, Input]) -> Answer:
    """Every value used, and what is known of where it comes from."""
    return {
        "inputs": {name: _tidy(used.value) for name, used in inputs.items()},
        "inputs_from": {
            name: {k: _tidy(v) for k in _ABOUT if (v := getattr(used, k)) is not None}
            for name, used in inputs.items()
        },
    }


def finding_keys(findings: Iterable[Finding]) -> list[Answer]:
    """Findings without a place."""
    fields = ("code", "level", "effect", "message", "limit", "value", "source", "refers_to")
    return [{f: v for f in fields if (v := getattr(found, f)) is not None} for found in findings]


def _tidy(value: float | str | None) -> float | str | None:
    """A value without the digits that a conversion of units leaves behind (30.479999…)."""
    return float(f"{value:.9g}") if isinstance(value, float) else value
