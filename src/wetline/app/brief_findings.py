"""What speaks to one crew: its source, its runs, its hours and fuel, what is held back, who is in the way."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.app.brief_source import source_of
from wetline.circuits.checks import reserve_s
from wetline.model import Finding
from wetline.safety.separation import ASK_APART, check_separation

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from wetline.app.brief_basis import Basis, Crew
    from wetline.attack import HeldBack
    from wetline.model import DropRun

__all__ = ["held_findings", "pack_findings", "standing_findings", "stop_stands"]

_FOLDER = frozenset({"water", "bases", "hazards", "people", "avoid", "roads", "weather", "fleet", "canopy"})
_NAMED = 2
"""Runs held back for one reason that are named; the rest are counted."""


def _paper(basis: Basis, finding: Finding, about: str | None = None) -> Finding:
    """A finding as paper says it: what it speaks of in front, times on the local clock."""
    message = basis.local(finding.message)
    if about is not None and not message.startswith(about):
        message = f"{about}: {message}"
    # How long a look holds is no limit that a look could break.
    limit = None if finding.limit is None or finding.code == "waves" else basis.local(finding.limit)
    return replace(finding, message=message, limit=limit)


def _source_findings(basis: Basis, crew: Crew) -> list[Finding]:
    """Of the source, with the loads that wait for a look."""
    out = []
    for circuit in (row.primary for row in crew.rows if row.primary is not None):
        waiting = sum(load.look and load.source == circuit.source for load in basis.done.day.loads)
        plural = "loads wait" if waiting != 1 else "load waits"
        for finding in circuit.findings:
            on_paper = _paper(basis, finding, circuit.source)
            if finding.effect == "look" and waiting:
                on_paper = replace(on_paper, message=f"{on_paper.message} {waiting} {plural} on it.")
            out.append(on_paper)
    return out


def _own_findings(basis: Basis, crew: Crew) -> list[Finding]:
    """Of the aircraft themselves: hours, fuel, what is missing, wires under their legs."""
    of_source = {f for row in crew.rows if row.primary for f in row.primary.findings}
    out = [
        _paper(basis, finding, row.aircraft)
        for row in crew.rows
        for finding in row.findings
        if finding not in of_source
    ]
    out += [
        _paper(basis, finding, finding.refers_to)
        for finding in basis.done.findings
        if finding.code == "wire" and finding.refers_to in crew.call_signs
    ]
    return out


def _on_the_ground(crew: Crew) -> list[Finding]:
    """What people on the ground must know of what falls on them, once for each agent."""
    told = {run.agent: run for run in crew.first_runs if run.ground}
    return [
        Finding(
            code="agent",
            level="unknown",
            effect="noted",
            message=f"{agent.capitalize()} on the ground: {' '.join(run.ground)}",
            source="drop/agents, where each item has its own",
            refers_to=run.id,
        )
        for agent, run in told.items()
    ]


def _fire_findings(basis: Basis, crew: Crew) -> list[Finding]:
    """The fire reaching people. Roads are told to those who oversee; crews are told of people."""
    roads = {road.name for road in basis.ground.roads}
    return [
        _paper(basis, finding)
        for finding in basis.done.entrapment
        if crew.oversees or finding.refers_to not in roads
    ]


def _fuel_above(basis: Basis, crew: Crew) -> list[Finding]:
    """When an aircraft that oversees must be down: its day is not planned load by load."""
    out = []
    for aircraft in crew.aircraft:
        if aircraft.fuel_h is None or not aircraft.airborne:
            continue
        reserve = timedelta(seconds=reserve_s(crew.cls, basis.limits))
        down = basis.now + timedelta(hours=aircraft.fuel_h) - reserve
        out.append(
            Finding(
                code="fuel",
                level="caution",
                message=(
                    f"{aircraft.call_sign}: fuel for {aircraft.fuel_h:g} h at {basis.style.clock(basis.now)}: "
                    f"on the ground by {basis.style.clock(down)}, {reserve.total_seconds() / 60:.0f} min kept. "
                    "When to leave for it is not planned."
                ),
                source=basis.limits["reserve_fixed_wing_min"].source,
                refers_to=aircraft.call_sign,
            )
        )
    return out


def _run_findings(basis: Basis, crew: Crew, findings: Mapping[str, Iterable[Finding]]) -> list[Finding]:
    """Findings of the crew's first runs; what holds for several of them is said once."""
    said: dict[Finding, list[str]] = {}
    for run in crew.first_runs:
        for finding in findings.get(run.id, ()):
            said.setdefault(replace(finding, refers_to=crew.first_runs[0].id, position=None), []).append(
                run.id
            )
    return [_paper(basis, finding, ", ".join(dict.fromkeys(runs))) for finding, runs in said.items()]


def _apart(crews: Sequence[Crew]) -> dict[str, list[Finding]]:
    """Other classes near the first runs of each crew, by run."""
    out: dict[str, list[Finding]] = {}
    for finding in check_separation([run for each in crews for run in each.first_runs]):
        out.setdefault(finding.refers_to, []).append(finding)
    return out


def _shared_water(basis: Basis, crew: Crew, crews: Sequence[Crew]) -> list[Finding]:
    """Others who fill from the same water by another lane: nothing plans an order between them yet."""
    mine = _water_name(basis, crew)
    return [
        Finding(
            code="separation",
            level="unknown",
            effect="blocks",
            message=(
                f"{mine[1]} and {other[1]} of {each.names} share {mine[0]}; "
                "no order between them is planned. Agree who fills when."
            ),
            source="common practice, no source",
            refers_to=crew.call_signs[0],
        )
        for each in crews
        if each is not crew and mine and (other := _water_name(basis, each)) and other[0] == mine[0]
    ]


def _water_name(basis: Basis, crew: Crew) -> tuple[str, str] | None:
    """The water that a crew fills from, and its lane or dip site there."""
    circuit = crew.primary
    if circuit is None or circuit.source_kind == "base":
        return None
    source = source_of(basis, circuit)
    return None if source is None else (source.name, source.id)


def _meetings(basis: Basis, crew: Crew) -> list[Finding]:
    """Circuits that meet the crew's own, all of them for who oversees."""
    return [
        _paper(basis, finding)
        for finding in basis.done.day.findings
        if finding.code == "separation"
        and (crew.oversees or set(crew.call_signs) & set(finding.refers_to.split(", ")))
    ]


def standing_findings(basis: Basis, crew: Crew, crews: Sequence[Crew]) -> tuple[Finding, ...]:
    """Everything that stands on what this crew is told to do, each said once."""
    out = _source_findings(basis, crew)
    said = {(f.refers_to, f.message) for row in crew.rows if row.primary for f in row.primary.findings}
    own = {
        run.id: [f for f in run.findings if (f.refers_to, f.message) not in said] for run in crew.first_runs
    }
    out += _run_findings(basis, crew, own)
    out += _run_findings(basis, crew, _apart(crews))
    out += [*_shared_water(basis, crew, crews), *_meetings(basis, crew)]
    out += _own_findings(basis, crew)
    out += _on_the_ground(crew)
    out += _fire_findings(basis, crew)
    if crew.oversees:
        out += [*_fuel_above(basis, crew), *_whole_plan(basis, crews)]
    return tuple(dict.fromkeys(out))


def _whole_plan(basis: Basis, crews: Sequence[Crew]) -> list[Finding]:
    """What one who oversees must see to: people under every first run, who is near whom, follow-up."""
    runs = [run for crew in crews for run in crew.first_runs]
    people = [(run, f) for run in runs for f in run.findings if f.code == "people" and f.level == "unknown"]
    out = []
    if people:
        near = ", ".join(f"{run.id} ({_nearest(basis, run)})" for run, _ in people)
        words = f"People not confirmed: {near}. No name, no drop."
        out.append(replace(people[0][1], message=words, position=None, limit=None))
    close = check_separation(runs)
    if close:
        names = dict.fromkeys(run.aircraft for run in runs if run.id in {f.refers_to for f in close})
        words = f"{', '.join(names)} fly near each other, split by time alone. {ASK_APART}"
        out.append(replace(close[0], message=words))
    out += [_paper(basis, f) for f in basis.done.findings if f.code == "follow_up"]
    return out


def _nearest(basis: Basis, run: DropRun) -> str:
    """Who is reported nearest to a run."""
    people = run.people
    if people is None or people.nearest_m is None or people.nearest_to is None:
        return "nobody reported"
    return f"{people.nearest_to} {basis.style.length(people.nearest_m, 'down')}"


def held_findings(basis: Basis, held: Iterable[HeldBack]) -> tuple[Finding, ...]:
    """Runs that are held back, one stop a reason: none of them may be taken."""
    groups: dict[tuple[str, str], list[tuple[HeldBack, Finding]]] = {}
    names = sorted((p.name for p in basis.ground.people), key=len, reverse=True)
    for each in held:
        for finding in each.run.findings:
            if finding.level == "stop":
                who = next((n for n in names if finding.message.startswith(f"{n} ")), "")
                groups.setdefault((finding.code, who), []).append((each, finding))
    by_code: dict[str, list[list[tuple[HeldBack, Finding]]]] = {}
    for (code, _), group in groups.items():
        by_code.setdefault(code, []).append(group)
    return tuple(_do_not_take(basis, found) for found in by_code.values())


def _do_not_take(basis: Basis, groups: list[list[tuple[HeldBack, Finding]]]) -> Finding:
    """One stop for one kind of reason: the first runs by name, the others counted."""
    parts = []
    for group in groups:
        first, finding = group[0]
        runs = list(dict.fromkeys(held.run.id for held, _ in group))
        named = ", ".join(runs[:_NAMED])
        more = f" and {len(runs) - _NAMED} more" if len(runs) > _NAMED else ""
        reason = basis.local(finding.message).partition(";")[0].partition(" (")[0].rstrip(".")
        parts.append(f"{named}{more} ({first.run.id}: {reason})")
    about_people = groups[0][0][1].code == "people"
    freed = (held.release for group in groups for held, _ in group if _only_people(held))
    free = f": {word}" if about_people and (word := next(freed, None)) else ""
    return replace(
        groups[0][0][1], message=f"Do not take {'; '.join(parts)}{free}.", position=None, limit=None
    )


def _only_people(held: HeldBack) -> bool:
    """Whether people alone hold a run back, so that what frees it is about them."""
    return {f.code for f in held.run.findings if f.level == "stop"} == {"people"}


def pack_findings(basis: Basis) -> tuple[Finding, ...]:
    """What stands on every sheet: what the folder lacks, limits that were changed, daylight."""
    done = basis.done
    lacking = [f for f in done.findings if f.code == "data_missing" and f.refers_to in _FOLDER]
    above = [f for f in done.findings if f.code == "supervision"]
    of_day = [f for f in done.day.findings if f.code != "separation"]
    found = (*lacking, *above, *of_day, *done.situation.incident.limit_findings)
    return tuple(dict.fromkeys(_paper(basis, f) for f in found if f.level != "clear"))


def stop_stands(basis: Basis, standing: Iterable[Finding]) -> bool:
    """Whether a stop stands against what people are told to do, or the fire reaches people soon."""
    return any(f.level == "stop" for f in (*standing, *basis.done.entrapment))
