"""Whether the fire reaches people soon enough to be a stop, and what of that nobody can know."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from wetline.model import LEAST_FUTURES, Finding
from wetline.safety.reach import NO_PEOPLE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from wetline.ground import Layer, PeoplePlace
    from wetline.model import Limits
    from wetline.safety.reach import Reach

__all__ = ["check_entrapment", "clock", "level_of", "minutes_until", "people_horizon", "soonest_words"]

_BEYOND_LIMIT = 1.5
"""How far people are looked for, in caution limits."""


def people_horizon(now: datetime, limits: Limits) -> datetime:
    """How far ahead the fire must be grown to warn people: the caution limit and half as much again."""
    return now + timedelta(minutes=_BEYOND_LIMIT * limits.value("entrapment_caution_min"))


def clock(time: datetime, now: datetime) -> str:
    """`14:50Z`; `00:20Z 15 Aug` on another day than `now`."""
    return f"{time:%H:%M}Z" + (f" {time.day} {time:%b}" if time.date() != now.date() else "")


def minutes_until(reach: Reach, now: datetime) -> float:
    """Minutes until the soonest arrival in any future; inf where none is told."""
    return math.inf if reach.earliest is None else (reach.earliest - now).total_seconds() / 60.0


def level_of(minutes: float, limits: Limits) -> Literal["stop", "caution", "clear"]:
    """How grave it is that fire reaches people in so many minutes."""
    if minutes < limits.value("entrapment_stop_min"):
        return "stop"
    return "caution" if minutes < limits.value("entrapment_caution_min") else "clear"


def soonest_words(reach: Reach, now: datetime) -> str:
    """`in 20 min in the soonest of 16 futures, 14:50Z`: whole minutes, never rounded up; no bound."""
    assert reach.earliest is not None
    which = f"the soonest of {reach.of} futures" if reach.of else "the one future run"
    minutes = math.floor(minutes_until(reach, now))
    return f"in {minutes} min in {which}, {clock(reach.earliest, now)}"


def check_entrapment(
    found: Sequence[Reach],
    *,
    now: datetime,
    limits: Limits,
    people: Layer[PeoplePlace],
    members: int,
    looked_until: datetime | None = None,
    left_map_at: datetime | None = None,
    unknown_edge_m: float = 0.0,
) -> tuple[Finding, ...]:
    """The fire reaching people: under 30 min `stop`, under 60 `caution` (settings).

    The soonest of all futures counts, however few they are. A place off the modelled window, and a people layer
    that is missing or says nothing, are `unknown`; so is what lies beyond `looked_until`, if that is too soon,
    beyond the map's edge, if the fire comes to it before `people_horizon`, and beyond edge that comes to lie
    against ground of unknown fuel or height.

    Parameters
    ----------
    members
        Varied futures.
    left_map_at
        When the fire comes to the edge of the modelled ground in the soonest future; None where in none.
    """
    return (
        *_untold(people),
        *(f for f in (_one(reach, now, limits) for reach in found) if f is not None),
        *_too_short(now, limits, looked_until),
        *_beyond(now, limits, left_map_at, unknown_edge_m),
        *(_few(members) if any(reach.kind not in NO_PEOPLE for reach in found) else ()),
    )


def _untold(people: Layer[PeoplePlace]) -> Iterator[Finding]:
    if people.tells:
        return
    what = (
        "The people layer is empty and declares no cover" if people.present else "The people layer is missing"
    )
    yield Finding(
        code="entrapment",
        level="unknown",
        effect="blocks",
        message=f"{what}: whom the fire reaches is unknown.",
        source="the incident folder",
        refers_to="people",
    )


def _too_short(now: datetime, limits: Limits, looked_until: datetime | None) -> Iterator[Finding]:
    caution = limits["entrapment_caution_min"]
    if looked_until is None or (looked_until - now).total_seconds() >= caution.value * 60.0:
        return
    yield Finding.against(
        caution,
        code="entrapment",
        level="unknown",
        effect="blocks",
        message=(
            f"The fire could be grown only until {clock(looked_until, now)}: whom it reaches after is unknown."
        ),
        refers_to="people",
    )


def _beyond(
    now: datetime, limits: Limits, left_map_at: datetime | None, unknown_edge_m: float
) -> Iterator[Finding]:
    said: list[tuple[str, str]] = []
    if left_map_at is not None and left_map_at < people_horizon(now, limits):
        when = "now" if left_map_at <= now else f"from {clock(left_map_at, now)}"
        message = f"The fire may leave the modelled ground {when}: whom it reaches beyond is unknown."
        said.append((message, "extent of the model"))
    if unknown_edge_m > 0.0:
        message = (
            f"{round(unknown_edge_m, -1):,.0f} m of the fire's edge come to lie against ground of unknown "
            "fuel or height: whom the fire reaches beyond it is unknown."
        )
        said.append((message, "the incident folder"))
    for message, source in said:
        yield Finding(
            code="entrapment",
            level="unknown",
            effect="blocks",
            message=message,
            source=source,
            refers_to="people",
        )


def _few(members: int) -> Iterator[Finding]:
    if members + 1 >= LEAST_FUTURES:
        return
    ran = {0: "No varied future was", 1: "Only 1 varied future was"}.get(
        members, f"Only {members} varied futures were"
    )
    yield Finding(
        code="entrapment",
        level="unknown",
        effect="noted",
        message=f"{ran} run: how soon the fire may come is unknown.",
        source="common practice, no source",
        refers_to="people",
        limit=f"{LEAST_FUTURES - 1}",
        value=f"{members}",
    )


def _one(reach: Reach, now: datetime, limits: Limits) -> Finding | None:
    if reach.kind in NO_PEOPLE:
        return None
    if not reach.on_map:
        return Finding(
            code="entrapment",
            level="unknown",
            effect="noted",
            message=f"{reach.name} lies outside the modelled ground, all of it or in part: when the fire comes is unknown.",
            source="extent of the model",
            refers_to=reach.name,
            position=reach.position,
        )
    minutes = minutes_until(reach, now)
    level = level_of(minutes, limits)
    if level == "clear":
        return None
    if minutes > 0.0:
        message = f"Fire reaches {reach.name} {soonest_words(reach, now)}, if nothing more is stopped; it may be sooner."
    else:
        message = _there_by_now(reach, now)
        level = "caution" if reach.kind == "road" else "stop"
    return Finding.against(
        limits["entrapment_stop_min" if minutes < limits.value("entrapment_stop_min") else "entrapment_caution_min"],
        code="entrapment",
        level=level,
        message=message,
        refers_to=reach.name,
        position=reach.position,
        value=f"{max(math.floor(minutes), 0)} min",
    )  # fmt: skip


def _there_by_now(reach: Reach, now: datetime) -> str:
    """The fire where somebody stood: as it was drawn, or as it may have grown since."""
    road = reach.kind == "road"
    seen = "" if reach.seen is None else f"; last reported there {clock(reach.seen, now)}"
    if reach.drawn_at is not None and reach.drawn_at >= now:
        if road:
            return f"The fire is at {reach.name} now."
        return f"{reach.name} is reported inside or at the fire's edge now{seen}."
    if reach.drawn_at is not None:
        at = "at" if road else "inside or at"
        return f"{reach.name} lies {at} the fire's edge as drawn at {clock(reach.drawn_at, now)}{seen}."
    assert reach.earliest is not None
    soonest = clock(reach.earliest, now)
    told = (
        f"{reach.count_by(now)} of {reach.of} futures, soonest {soonest}"
        if reach.of
        else f"in the one future run, {soonest}"
    )
    never = "; when they were last there is unknown" if reach.kind in {"crew", "road_users"} else ""
    return f"Fire may have reached {reach.name} ({told}){seen or never}."
