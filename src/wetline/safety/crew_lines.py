"""Crews' line that the model counts on, or does not: said in the open, because people stand behind it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.model import Finding
from wetline.safety.entrapment import clock, level_of, minutes_until, soonest_words
from wetline.safety.reach import NO_PEOPLE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from wetline.model import CrewLine, Limits
    from wetline.safety.reach import Reach

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


def check_lines(lines: Iterable[CrewLine], *, start: datetime, now: datetime) -> tuple[Finding, ...]:
    """A caution for all line that the fire rests on, and unknown for each line of which nobody says that it holds.

    `start`: when the fire was drawn. Line whose time ran out between then and now has held the fire until it did.
    """
    lines = tuple(lines)
    counted = list(dict.fromkeys(line.name for line in lines if line.counted_on(now)))
    past = {
        line.name: line.until
        for line in lines
        if line.until is not None and line.until <= now and line.counted_in(start, now)
    }
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
            code="entrapment",
            level="caution",
            message=(
                f"Counted on to have held until {clock(until, now)}: crews' line {name}. The fire now, and all that "
                "follows, is good only if it did."
            ),
            source=_SOURCE,
            refers_to=name,
        )
        for name, until in past.items()
    ]
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
    """People to whom the fire comes sooner if the crews' line does not hold, at the level that they have then.

    A stop stays a stop: a line that nobody can guarantee is all that stands between. Who has longer than the
    caution limit without the line has no finding.
    `found`, `without`: reaches with the line counted on, and as if it were not there.
    """
    # names may repeat, places of one name may not: each keeps its own position
    minutes = {(r.name, r.kind, r.position): minutes_until(r, now) for r in found}
    out = []
    for reach in without:
        soon = minutes_until(reach, now)
        level = level_of(soon, limits)
        behind = soon < minutes.get((reach.name, reach.kind, reach.position), float("inf"))
        if reach.kind in NO_PEOPLE or level == "clear" or not behind:
            continue
        words = soonest_words(reach, now) if soon > 0.0 else "and may have by now"
        out.append(
            Finding.against(
                limits["entrapment_stop_min" if level == "stop" else "entrapment_caution_min"],
                code="entrapment",
                level=level,
                message=(
                    f"If crews' line does not hold, fire reaches {reach.name} {words}; it may be sooner. Nobody can "
                    "guarantee the line, and it is all that stands between."
                ),
                refers_to=reach.name,
                position=reach.position,
                value=f"{max(math.floor(soon), 0)} min",
            )
        )
    return tuple(out)
