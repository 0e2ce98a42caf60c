"""The three answers in words: where the next load goes, whether we are winning, who could be hurt."""

from __future__ import annotations

from datetime import UTC, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.app.plan import Planned
    from wetline.attack import AttackPlan
    from wetline.model import Band, Finding

__all__ = ["hurt_words", "next_words", "winning_words"]

_STATE = {
    "gaining": "Line gaining.",
    "level": "Level.",
    "losing": "Fire gaining.",
    "closed": "Closed: no edge is open now.",
}


def _clock(time: datetime | None) -> str:
    """`14:50Z`: the findings beside it speak in UTC too, and two clocks in one answer mislead."""
    return "not known" if time is None else f"{time.astimezone(UTC):%H:%M}Z"


def _metres(value: float) -> str:
    return f"{round(value, -1):,.0f} m"


def _with_band(band: Band) -> str:
    if band.low is None or band.high is None:
        return _metres(band.middle)
    return f"{_metres(band.middle)} ({round(band.low, -1):,.0f}–{round(band.high, -1):,.0f})"


def next_words(done: Planned) -> str:
    """Run, aircraft, time, metres, released or not."""
    attack = done.attack
    if attack is None or not attack.drops:
        why = done.why or "every load planned has a stop against it or no edge to work on"
        return f"No load can be placed: {why}."
    run = attack.drops[0]
    minutes = (run.time - done.situation.now).total_seconds() / 60.0
    released = run.people is not None and run.people.confirmed_by is not None
    standing = (
        f"released: clear of people by {run.people.confirmed_by}"  # type: ignore[union-attr]
        if released
        else "not released: people not confirmed"
    )
    part = run.edge_part.replace("_", " ")
    return (
        f"{run.id} on the {part}, {run.aircraft} at {_clock(run.time)} (in {minutes:.0f} min), "
        f"closes {_metres(run.closes_m)} of edge with {_with_band(run.line_m)} of line; {standing}."
    )


def winning_words(done: Planned, state: str) -> str:
    """State of the race, futures, and the line at cut-off."""
    attack = done.attack
    if attack is None or state == "unknown":
        return f"Unknown: {done.why or 'too few futures to tell'}."
    futures = f" Held in {attack.held} of {attack.of} modelled futures, uncalibrated." if attack.of else ""
    words = _STATE[state] if attack.drops else "No line is laid; the edge changes by itself."
    return f"{words}{futures} {_at_cut_off(done, attack)}"


def _at_cut_off(done: Planned, attack: AttackPlan) -> str:
    last = attack.race[-1]
    words = (
        f"At the cut-off {_clock(done.day.cut_off)}: edge {_metres(last.edge.middle)}, "
        f"open {_with_band(last.open)}, retardant {_metres(last.retardant_m)}, "
        f"only wet {_metres(last.wet_only_m)}."
    )
    if attack.open_again is not None:
        again = attack.scene.start + timedelta(seconds=attack.open_again[0])
        words += f" Wet line opens again from {_clock(again)} unless crews secure it."
    look = sum(run.needs_look for run in attack.drops)
    return (
        f"{words} Counts the {len(attack.drops)} of {attack.loads_planned} planned loads that no stop forbids, "
        f"{look} of them from water nobody has looked at today, none yet released."
    )


_IF_FREE = ", if nothing more is stopped; it may be sooner."
"""How `safety.check_entrapment` ends what it says of each."""


def hurt_words(done: Planned) -> str:
    """The worst finding about people, and the nearest houses with their earliest time, always."""
    people = done.situation.incident.ground.people
    if not people.tells:
        what = "the people layer is empty and declares no cover" if people.present else "no people layer"
        return f"Unknown: {what}, so nobody has said who is on the ground or in the fire's way."
    roads = {r.name for r in done.reached if r.kind == "road"}
    order = {"stop": 0, "unknown": 1, "caution": 2}
    known = sorted(
        (f for f in done.entrapment if f.level in order and f.effect != "noted"), key=lambda f: order[f.level]
    )
    parts = [f.message for f in known if f.refers_to not in roads][:2] or _soonest(done)
    parts += [f.message for f in known if f.refers_to in roads][:1]
    parts = _said_once(parts)
    held = [
        f
        for h in (done.attack.held_back if done.attack else ())
        for f in h.run.findings
        if f.code == "people" and f.level == "stop"
    ]
    if held:
        parts.append(_held(held))
    houses = next((r for r in done.reached if r.kind == "houses"), None)
    if houses is None:
        parts.append("No houses are given.")
    elif houses.earliest is None:
        sure = houses.on_map and all(f.level != "unknown" for f in known)
        where = "not within the time modelled" if sure else "unknown"
        parts.append(f"Nearest houses, {houses.name}: {where}.")
    else:
        parts.append(f"Nearest houses, {houses.name}: from {_clock(houses.earliest)}.")
    parts.append("Nobody is confirmed clear of any run.")
    return " ".join(parts)


def _said_once(parts: list[str]) -> list[str]:
    """What several sentences end with, once after them."""
    if sum(part.endswith(_IF_FREE) for part in parts) < 2:
        return parts
    cut = [part.removesuffix(_IF_FREE) + "." if part.endswith(_IF_FREE) else part for part in parts]
    return [*cut, "Each if nothing more is stopped; it may be sooner."]


def _soonest(done: Planned) -> list[str]:
    """Whom the fire reaches first, where nobody is reached soon enough for a finding; houses come after."""
    people = [r for r in done.reached if r.kind not in {"road", "houses"} and r.earliest]
    return [
        f"Fire reaches {r.name} from {_clock(r.earliest)}, if nothing more is stopped." for r in people[:1]
    ]


def _held(stops: list[Finding]) -> str:
    runs = len({f.refers_to for f in stops})
    return f"{runs} run{'s' if runs > 1 else ''} held back: {stops[0].message}"
