"""People under a drop. Nobody is clear by distance: only a named person's word says clear."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.drops import LARGE_CLASSES
from wetline.model import Finding, PeopleCheck

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.ground import PeoplePlace
    from wetline.model import DropRun, Limit
    from wetline.safety.context import SafetyContext

__all__ = ["check_people", "distance_to_run_m", "people_limit"]


def people_limit(class_id: str, context: SafetyContext) -> Limit:
    """The stand-off limit that goes with a class."""
    return context.limits["people_stop_large_m" if class_id in LARGE_CLASSES else "people_stop_m"]


def distance_to_run_m(place: PeoplePlace, run: DropRun) -> float:
    """The least distance [m] from a place to the track flown and to everything wetted."""
    wet = min(
        float(shapely.distance(place.shape, shapely.linestrings(line))) for line in (run.line, run.wetted)
    )
    flown = float(shapely.distance(place.shape, shapely.linestrings(run.track)))
    return max(0.0, min(wet - run.pattern_half_width_m, flown))


def _age(place: PeoplePlace, now: datetime) -> float | None:
    return None if place.seen is None else max(0.0, (now - place.seen).total_seconds() / 60.0)


def _walked(place: PeoplePlace, context: SafetyContext) -> str:
    """How far they may have gone since they were seen, in words."""
    if not place.moves:
        return ""
    minutes = _age(place, context.now)
    if minutes is None:
        return "; never reported with a time, so the place itself is unknown"
    if minutes > context.limits.value("people_report_old_min"):
        return f"; seen {minutes:.0f} min ago, so the place itself is unknown"
    metres = minutes * context.limits.value("people_walk_m_per_min")
    return f"; seen {minutes:.0f} min ago, may have walked {round(metres, -1):,.0f} m since"


def _inside(
    place: PeoplePlace, run: DropRun, distance: float, limit: Limit, context: SafetyContext
) -> Finding:
    point = place.shape.representative_point()
    return Finding.against(
        limit,
        code="people",
        level="stop",
        message=f"{place.name} {distance:.0f} m from the run, limit {limit.text()}{_walked(place, context)}.",
        refers_to=run.id,
        position=(point.x, point.y),
        distance_m=distance,
        value=f"{distance:.0f} m",
    )


def _metres(distance: float) -> str:
    """To the metre near the limit, where rounding would hide on which side of it they are."""
    return f"{distance:.0f} m" if distance < 100.0 else f"{round(distance, -1):,.0f} m"


def _unconfirmed(run: DropRun, nearest: tuple[float, PeoplePlace] | None, context: SafetyContext) -> Finding:
    limit = people_limit(run.class_id, context)
    if nearest is None:
        known = (
            "no people layer: nobody has said who is on the ground"
            if not context.ground.people.present
            else "the people layer names nobody"
        )
        return Finding(
            code="people",
            level="unknown",
            effect="blocks",
            message=f"People not confirmed; {known}. No name, no drop.",
            source="common practice: no release without a named confirmation",
            refers_to=run.id,
            limit=limit.text(),
        )
    distance, place = nearest
    return Finding(
        code="people",
        level="unknown",
        effect="blocks",
        message=(
            f"People not confirmed. Nearest reported {place.name}, {_metres(distance)}"
            f"{_walked(place, context)}. No name, no drop."
        ),
        source="common practice: no release without a named confirmation",
        refers_to=run.id,
        distance_m=distance,
        limit=limit.text(),
        value=f"{distance:.0f} m",
    )


def check_people(run: DropRun, context: SafetyContext) -> tuple[PeopleCheck, tuple[Finding, ...]]:
    """Who is near a run and what stands against it.

    Anyone reported inside the limit is a `stop`, whoever has confirmed. Otherwise a run without a
    named confirmation that still holds at its time is `unknown` and blocked, at any distance.
    """
    places = [p for p in context.ground.people if p.kind != "place"]
    by_distance = sorted(((distance_to_run_m(p, run), p.name, p) for p in places), key=lambda t: t[:2])
    limit = people_limit(run.class_id, context)
    stops = tuple(_inside(p, run, d, limit, context) for d, _, p in by_distance if d <= limit.value)
    nearest = (by_distance[0][0], by_distance[0][2]) if by_distance else None
    word = context.confirmed.get(run.id)
    holds = word is not None and word.time <= run.time <= word.until
    check = PeopleCheck(
        nearest_m=nearest[0] if nearest else None,
        nearest_to=nearest[1].name if nearest else None,
        confirmed_by=word.by if word and holds else None,
        until=word.until if word and holds else None,
    )
    if not holds:
        return check, (*stops, _unconfirmed(run, nearest, context))
    if stops or word is None:
        return check, stops
    clear = Finding(
        code="people",
        level="clear",
        message=f"Clear of people, confirmed by {word.by} at {word.time:%H:%M}Z, this drop only.",
        source="a named person's confirmation",
        refers_to=run.id,
    )
    return check, (clear,)
