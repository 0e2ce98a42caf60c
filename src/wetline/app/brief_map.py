"""The incident map of a brief: the three answers, the fire and its fronts, water, runs, people."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.app.brief_circuit import crew_circuit, crew_way
from wetline.app.brief_run import edge_lines
from wetline.app.brief_source import dip_of, lane_of
from wetline.app.plan_words import hurt_words, next_words, winning_words
from wetline.briefing import (
    Answer,
    FrontLine,
    MapDip,
    MapLane,
    MapPage,
    MapPeople,
    MapRun,
    Wind,
)
from wetline.model import worst
from wetline.units import HOUR

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from wetline.app.brief_basis import Basis, Crew
    from wetline.attack import AttackPlan, HeldBack
    from wetline.ground import PeoplePlace
    from wetline.model import DropRun, Finding, Level
    from wetline.safety import Reach

__all__ = ["map_page", "wind_now"]

_FRONTS = 3
_HELD_SHOWN = 3


def wind_now(basis: Basis) -> Wind | None:
    """The wind of the hour, from a true bearing."""
    hour = basis.done.situation.hour
    if hour is None:
        return None
    return Wind(
        from_true_deg=basis.true(hour.wind_from_deg),
        speed_mps=hour.wind_mps,
        time=hour.time,
        gust_mps=hour.gust_mps,
    )


def map_page(basis: Basis, crews: Sequence[Crew]) -> MapPage:
    """The page, with what is known and no more."""
    done = basis.done
    burnt = basis.burnt_when(basis.now)
    drawn = done.situation.incident.fire.parts()[0].time
    first = next((crew for crew in crews if crew.runs and crew.primary is not None), None)
    way = None if first is None else crew_way(basis, first)
    timed = None if first is None else crew_circuit(basis, first)
    return MapPage(
        answers=_answers(basis),
        burnt_xy=burnt,
        burnt_time=drawn,
        grown_to=done.situation.now if done.attack is not None and done.situation.now > drawn else None,
        ground=basis.ground,
        wind=wind_now(basis),
        open_edge_xy=edge_lines(burnt),
        fronts=() if done.attack is None else _fronts(done.attack),
        lanes=_lanes(basis, crews),
        dips=_dips(basis, crews),
        runs=_runs(basis, crews),
        people=_people(basis),
        circuit_xy=None if way is None else way.path_xy,
        circuit_label=(
            f"Circuit {basis.style.minutes(timed.cycle_min)}, {way.hand} hand, sketch"
            if timed is not None and way is not None
            else None
        ),
    )


def _split(words: str) -> tuple[str, tuple[str, ...]]:
    """The first sentence, and the others."""
    sentences = [s if s.endswith(".") else f"{s}." for s in words.split(". ") if s]
    return sentences[0].removesuffix("."), tuple(sentences[1:])


def _answers(basis: Basis) -> tuple[Answer, ...]:
    done = basis.done
    attack = done.attack
    head, _, rest = basis.local(next_words(done)).partition(", ")
    released = bool(
        attack and attack.drops and attack.drops[0].people and attack.drops[0].people.confirmed_by
    )
    if attack is None or not attack.drops:
        head, next_more = _split(basis.local(next_words(done)))
    else:
        next_more = (rest[0].upper() + rest[1:],)
    state = "unknown" if attack is None or done.why is not None else attack.state
    winning, winning_more = _split(basis.local(winning_words(done, state)))
    hurt, hurt_more, level = _hurt(basis)
    return (
        Answer("Where does the next load do most good?", head, next_more, None if released else "unknown"),
        Answer("Are we winning?", winning, winning_more),
        Answer("Who could this hurt?", hurt, hurt_more, level),
    )


def _hurt(basis: Basis) -> tuple[str, tuple[str, ...], Level]:
    """The worst first, in few words; the sentences of the plan under it."""
    done = basis.done
    words = basis.local(hurt_words(done))
    roads = {road.name for road in basis.ground.roads}
    reached = sorted(done.entrapment, key=lambda f: f.refers_to in roads)  # people before roads
    held = [name for name in (p.name for p in basis.ground.people) if _stops_at(basis, name)]
    choices: tuple[tuple[Level, str, list[str]], ...] = (
        ("stop", "Stop", [f.refers_to for f in reached if f.level == "stop"]),
        ("stop", "Runs held back", held),
        ("caution", "Caution", [f.refers_to for f in reached if f.level == "caution"]),
    )
    for level, word, names in choices:
        if names:
            more = tuple(f"{s}." if not s.endswith(".") else s for s in words.split(". "))
            return f"{word}: {', '.join(list(dict.fromkeys(names))[:2])}", more, level
    head, more = _split(words)
    return head, more, "unknown"


def _fronts(attack: AttackPlan) -> tuple[FrontLine, ...]:
    """The fronts of the first whole hours from now."""
    out = []
    for seconds, lines in zip(attack.hours_s, attack.free.lines_xy, strict=True):
        hours = (seconds - attack.scene.now_s) / HOUR
        if abs(hours - round(hours)) < 1e-6 and 1 <= round(hours) <= _FRONTS:
            closed = tuple(np.vstack((line, line[:1])) for line in lines)
            out.append(FrontLine(time=attack.scene.start + timedelta(seconds=seconds), lines_xy=closed))
    return tuple(out)


def _sources(crews: Sequence[Crew], kind: str) -> dict[str, str]:
    """Sources of a kind that the fleet works or falls back on, by id: who."""
    out: dict[str, list[str]] = {}
    for which in ("primary", "alternate"):
        for crew in crews:
            circuit = getattr(crew.rows[0], which)
            if circuit is not None and circuit.source_kind == kind:
                word = crew.names if which == "primary" else f"if lost: {crew.names}"
                out.setdefault(circuit.source, []).append(word)
    return {source: "; ".join(words) for source, words in out.items()}


_STATE: dict[Level, str] = {
    "unknown": "needs a look",
    "caution": "caution",
    "clear": "looked at",
    "stop": "stop",
}


def _lanes(basis: Basis, crews: Sequence[Crew]) -> tuple[MapLane, ...]:
    out = []
    for source, who in _sources(crews, "lane").items():
        lane = lane_of(basis, source)
        if lane is not None:
            out.append(
                MapLane(
                    id=lane.id,
                    level=lane.level,
                    start_xy=lane.start,
                    end_xy=lane.end,
                    clear_m=lane.clear_m,
                    heading_true_deg=basis.true(lane.heading_deg),
                    length_m=lane.length_m,
                    note=f"{_STATE[lane.level]}; {who}",
                )
            )
    return tuple(out)


def _dips(basis: Basis, crews: Sequence[Crew]) -> tuple[MapDip, ...]:
    found = ((dip_of(basis, source), who) for source, who in _sources(crews, "dip").items())
    return tuple(
        MapDip(dip.id, dip.level, dip.position, f"{_STATE[dip.level]}; {who}")
        for dip, who in found
        if dip is not None
    )


def _runs(basis: Basis, crews: Sequence[Crew]) -> tuple[MapRun, ...]:
    """The first run of each crew in order of time, and the first held back at each place of people."""
    firsts = sorted((crew.runs[0] for crew in crews if crew.runs), key=lambda r: (r.time, r.order))
    held = sorted((h for crew in crews for h in crew.held), key=lambda h: (h.run.time, h.run.order))
    near: dict[tuple[float, float] | None, DropRun] = {}
    for each in held:
        for finding in each.run.findings:
            if finding.code == "people" and finding.level == "stop":
                near.setdefault(finding.position, each.run)
    stopped = list({run.id: run for run in near.values()}.values())[:_HELD_SHOWN]
    shown = [_map_run(basis, run, i) for i, run in enumerate(firsts, 1)]
    return (*shown, *(_map_run(basis, run, len(shown) + 1, held=True) for run in stopped))


def _map_run(basis: Basis, run: DropRun, order: int, *, held: bool = False) -> MapRun:
    return MapRun(
        id=run.id,
        order=order,
        aircraft=run.aircraft,
        level=worst(run.findings),
        heading_true_deg=basis.true(run.run_heading_deg),
        approach_xy=run.approach,
        line_xy=run.line,
        exit_xy=run.exit_path,
        confirmed=run.people is not None and run.people.confirmed_by is not None,
        held_back=held,
    )


def _people(basis: Basis) -> tuple[MapPeople, ...]:
    reached = {r.name: r for r in basis.done.reached}
    levels = {f.refers_to: f.level for f in basis.done.entrapment}
    return tuple(
        _map_people(basis, place, reached.get(place.name), levels.get(place.name))
        for place in basis.ground.people
    )


def _map_people(basis: Basis, place: PeoplePlace, reach: Reach | None, level: Level | None) -> MapPeople:
    point = shapely.get_coordinates(place.shape.representative_point())[0]
    earliest = None if reach is None else reach.earliest
    quiet: Level = (
        "clear" if place.kind in {"houses", "place"} and reach is not None and reach.on_map else "unknown"
    )
    return MapPeople(
        name=place.name,
        kind=place.kind,
        xy=(float(point[0]), float(point[1])),
        level=level or quiet,
        count=place.count,
        seen=place.seen,
        earliest=earliest,
        ring_m=_broken_ring(basis, place),
        note=_not_reached(basis, reach) if earliest is None else None,
    )


def _not_reached(basis: Basis, reach: Reach | None) -> str | None:
    attack = basis.done.attack
    if attack is None or reach is None:
        return None
    if not reach.on_map:
        return "off the modelled ground: fire not known"
    end: datetime = attack.scene.start + timedelta(seconds=attack.hours_s[-1])
    return f"not reached by {basis.style.clock(end)}"


def _stops_at(basis: Basis, name: str) -> list[Finding]:
    """The stops of held-back runs that are about these people."""
    attack = basis.done.attack
    held: Iterable[HeldBack] = () if attack is None else attack.held_back
    return [
        f
        for h in held
        for f in h.run.findings
        if f.code == "people" and f.level == "stop" and f.message.startswith(f"{name} ")
    ]


def _broken_ring(basis: Basis, place: PeoplePlace) -> float | None:
    """The limit [m] that a held-back run breaks at these people."""
    broken = {f.limit for f in _stops_at(basis, place.name)}
    values = [
        basis.limits.value(name)
        for name in ("people_stop_m", "people_stop_large_m")
        if basis.limits[name].text() in broken
    ]
    return max(values, default=None)
