"""What one load does on the ground, as an answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from wetline.app.answer import Answer, envelope, number
from wetline.app.outputs import ready_file
from wetline.drops import Release, pattern
from wetline.drops import picture as draw_pattern
from wetline.model import NotYet

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from wetline.drops import Agent
    from wetline.model import Finding

__all__ = ["drop_answer"]

_NOT_YET = (
    NotYet("droplets", "the droplet model that checks the planning form is not built yet"),
    NotYet("user_table", "a user's own drop-test table is not read yet"),
)

_ABOUT = ("unit", "origin", "source", "low", "high")


def _plain(finding: Finding) -> Answer:
    fields = ("code", "level", "effect", "message", "limit", "value", "source", "refers_to")
    return {f: v for f in fields if (v := getattr(finding, f)) is not None}


def _tidy(value: float | str | None) -> float | str | None:
    """A value without the digits that a conversion of units leaves behind (30.479999…)."""
    return float(f"{value:.9g}") if isinstance(value, float) else value


def drop_answer(
    class_id: str, *, agent: str | None, given: Mapping[str, float | None], picture: Path | None
) -> Answer:
    """The ground pattern of one load; headings and winds true, as given. Without an agent, water.

    Raises
    ------
    InputError, OutsideRangeError
        As `wetline.drops.pattern`.
    """
    if picture is not None:
        ready_file(picture, "picture")
    release = Release(
        class_id=class_id, agent=cast("Agent", agent or "water"), **cast("dict[str, Any]", dict(given))
    )
    result = pattern(release)
    answer = envelope(
        incident=None,
        time=None,
        band="80 %, from the ranges in inputs",
        not_yet=_NOT_YET,
    )
    size = result.pattern
    answer["pattern"] = {
        "length_m": number(size.length_m),
        "width_m": number(size.width_m),
        "mean_l_per_m2": number(size.mean_l_per_m2, 3),
        "peak_l_per_m2": number(size.peak_l_per_m2, 3),
    }
    for key in ("line_m_by_level", "line_m_summed_by_level", "line_m_low_by_level", "line_m_high_by_level"):
        answer[key] = {level: number(length) for level, length in getattr(result, key).items()}
    answer["release_offset_m"] = {k: number(v) for k, v in result.release_offset_m.items()}
    for key in ("drift_right_m", "drift_along_m", "safe_height_m", "stand_off_m"):
        answer[key] = number(getattr(result, key))
    for key in ("evaporated_pct", "canopy_pct", "reaching_ground_pct", "off_grid_pct"):
        answer[key] = number(getattr(result, key), 3)
    answer["inputs"] = {name: _tidy(used.value) for name, used in result.inputs.items()}
    answer["inputs_from"] = {
        name: {k: _tidy(v) for k in _ABOUT if (v := getattr(used, k)) is not None}
        for name, used in result.inputs.items()
    }
    if agent is None:
        answer["inputs_from"]["agent"] |= {"origin": "default", "source": "water where none is given"}
    answer["findings"] = [_plain(finding) for finding in result.findings]
    answer["method"] = result.method
    if picture is not None:
        draw_pattern(result, picture)
        answer["picture"] = str(picture)
    answer["exit_code"] = 3 if any(f.level == "stop" for f in result.findings) else 0
    return answer
