"""Crews' line that the model counts on, or does not: said in the open, because people stand behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from wetline.model import CrewLine, Limits
    from wetline.safety.entrapment import Reach

__all__ = ["check_lines", "if_lines_fail", "lines_notes"]

_SOURCE = "common practice, no source"


def lines_notes(lines: Iterable[CrewLine], now: datetime) -> tuple[str, ...]:
    """How each line is taken, in words, one a line."""
    return tuple(dict.fromkeys(f"Crews' line {line.name}: {_taken(line, now)}." for line in lines))


def _taken(line: CrewLine, now: datetime) -> str:
    if line.time > now:
        return f"to be built at {line.time:%H:%M}Z, not there now; it stops nothing"
    if line.until is None and not line.holds:
        return "nobody says that it holds; it stops nothing"
    if line.until is None:
        return "counted on for good; where the fire is past it already it stops nothing"
    if line.until <= now:
        return f"counted on until {line.until:%H:%M}Z, which is past; it stops nothing more"
    return f"counted on until {line.until:%H:%M}Z; where the fire is past it already it stops nothing"


def check_lines(lines: Iterable[CrewLine], now: datetime) -> tuple[Finding, ...]:
    """A caution for all line counted on, and unknown for each line of which nobody says that it holds."""
    lines = tuple(lines)
    counted = list(dict.fromkeys(line.name for line in lines if line.counted_on(now)))
    unsaid = list(
        dict.fromkeys(
            line.name for line in lines if line.time <= now and line.until is None and not line.holds
        )
    )
    out = []
    if counted:
        message = (
            f"Counted on to hold: crews' line {', '.join(counted)}. Times, areas and chances behind it are "
            "good only while it does."
        )
        out.append(
            Finding(code="entrapment", level="caution", message=message, source=_SOURCE, refers_to=counted[0])
        )
    out += [
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=f"Whether crews' line {name} holds is unknown: the fire is grown through it.",
            source="the incident folder",
            refers_to=name,
        )
        for name in unsaid
    ]
    return tuple(out)


def if_lines_fail(
    found: Sequence[Reach], without: Sequence[Reach], *, now: datetime, limits: Limits
) -> tuple[Finding, ...]:
    """People whom the fire would reach under the caution limit if the crews' line did not hold, and only then.

    `found`, `without`: reaches with the line counted on, and as if it were not there.
    """
    caution = limits["entrapment_caution_min"]
    soon = {(r.name, r.position) for r in found if _minutes(r, now) < caution.value}
    return tuple(
        Finding.against(
            caution,
            code="entrapment",
            level="caution",
            message=(
                f"If crews' line does not hold, fire reaches {reach.name} in {_minutes(reach, now):.0f} min "
                f"at the earliest, {reach.earliest:%H:%M}Z."
            ),
            refers_to=reach.name,
            position=reach.position,
            value=f"{_minutes(reach, now):.0f} min",
        )
        for reach in without
        if reach.kind not in {"place", "line"}
        and _minutes(reach, now) < caution.value
        and (reach.name, reach.position) not in soon
    )


def _minutes(reach: Reach, now: datetime) -> float:
    """Minutes until the earliest arrival in any future; inf where none is told."""
    return float("inf") if reach.earliest is None else (reach.earliest - now).total_seconds() / 60.0
