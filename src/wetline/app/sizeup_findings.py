"""What the size-up warns of: whom the fire reaches, with the crews' line and without it, and what is unknown."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from wetline.attack import outlook
from wetline.model import Finding
from wetline.safety import (
    check_beside,
    check_drawn,
    check_entrapment,
    check_errors,
    check_lines,
    check_thrown,
    check_unknown_ground,
    if_lines_fail,
    people_horizon,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from wetline.app.situation import Situation
    from wetline.attack import Outlook, Scene
    from wetline.behaviour import FireFields
    from wetline.safety import Place

__all__ = ["cut_short", "sizeup_findings"]


def cut_short(asked: datetime, end: datetime) -> tuple[Finding, ...]:
    """Weather that ends before the hours asked for."""
    if end >= asked:
        return ()
    ends, wanted = (f"{time:%H:%M}Z" for time in (end, asked))
    if end.date() != asked.date():
        ends, wanted = (f"{text} {time.day} {time:%b}" for text, time in ((ends, end), (wanted, asked)))
    return (
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=(
                f"The weather ends at {ends}, before {wanted} that was asked for: what the fire does after that is "
                "unknown."
            ),
            source="the incident folder",
            refers_to="weather",
        ),
    )


def sizeup_findings(
    situation: Situation,
    scene: Scene,
    seen: Outlook,
    fields: FireFields,
    *,
    look_s: float,
    seed: int,
    thrown: tuple[Sequence[tuple[Place, float]], float | None],
) -> tuple[Finding, ...]:
    """All findings but that of short weather. `thrown`: people within reach of thrown fire, and that reach [m]."""
    incident, now = situation.incident, situation.now
    members = len(seen.played) - 1
    looks = [seen]
    behind: tuple[Finding, ...] = ()
    if any(line.counted_in(scene.start, now) for line in scene.lines):
        warn_s = min((people_horizon(now, incident.limits) - scene.start).total_seconds(), look_s)
        looks.append(outlook(replace(scene, lines=()), members, seed, [warn_s]))
        behind = if_lines_fail(seen.reached, looks[1].reached, now=now, limits=incident.limits)
    unknown_m = max(played.unknown_m for look in looks for played in look.played)
    return (
        *check_entrapment(
            seen.reached,
            now=now,
            limits=incident.limits,
            people=incident.ground.people,
            members=members,
            looked_until=scene.at(look_s),
            left_map_at=scene.at(min(look.edge_s for look in looks)),
            unknown_edge_m=unknown_m,
        ),
        *behind,
        *check_thrown(*thrown),
        *check_lines(scene.lines, start=scene.start, now=now),
        *check_drawn(scene.start, now, incident.limits),
        *check_beside(scene.beside_m2, scene.drawn(scene.now_s).area),
        *check_unknown_ground(fields, unknown_m, left_map=seen.left_map),
        *check_errors(scene.errors),
        *incident.limit_findings,
    )
