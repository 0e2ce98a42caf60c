"""The plan, as an answer: the three answers first, then what they rest on."""

from __future__ import annotations

import json
import time
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.app.answer import Answer, Outside, envelope, iso, number, spread
from wetline.app.circuits import circuits_of, day_of
from wetline.app.layers import layers_of
from wetline.app.outputs import ready_folder
from wetline.app.plan_drop import drop_of, held_back_of
from wetline.app.plan_words import hurt_words, next_words, winning_words
from wetline.app.situation import look, plan_the_day, waters_for
from wetline.app.sizeup import reaches_of, scene_of
from wetline.attack import make_plan, outlook
from wetline.behaviour import Variation
from wetline.errors import OutsideRangeError
from wetline.model import NotYet
from wetline.safety import (
    SafetyContext,
    check_coverage,
    check_data,
    check_entrapment,
    check_errors,
    check_follow_up,
    check_lines,
    check_supervision,
    check_unknown_ground,
    check_wires_on_leg,
    lines_notes,
    people_horizon,
)
from wetline.store import write_text_atomic
from wetline.units import HECTARE, HOUR

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from pathlib import Path

    from wetline.app.situation import Situation, Waters
    from wetline.attack import AttackPlan, RacePoint
    from wetline.circuits import Day
    from wetline.model import DropRun, Finding
    from wetline.safety import Reach

__all__ = ["NOT_YET", "Planned", "plan_answer", "plan_of", "planned"]

NOT_YET = (
    NotYet("rejected", "one tactic is rolled out yet: heel, both flanks, direct; no others are compared"),
    NotYet("secured_m", "crews' follow-up is not modelled yet: no wet line is counted as secured"),
    NotYet(
        "hold_chance",
        "line holds for its time; its chance to fail at once, shown by drop, is not drawn in the futures yet",
    ),
    NotYet("spotting", "spotting over the line is not modelled yet"),
    NotYet("separation", "separation of classes over one target is kept by time alone yet"),
    NotYet("log", "nothing is logged yet: no confirmation, look or refusal can release a drop"),
    NotYet("next_load.metres_before_drying", "loads are not ranked by metres closed before they dry yet"),
)
_GRAVE = frozenset({"stop", "unknown"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A situation with its waters, day and plan; `attack` None, and `why`, where none could be made."""

    situation: Situation
    waters: Waters
    day: Day
    attack: AttackPlan | None
    why: str | None
    findings: tuple[Finding, ...]
    entrapment: tuple[Finding, ...]
    notes: tuple[str, ...]
    reached: tuple[Reach, ...]
    members: int
    seed: int


def _missing(situation: Situation, day: Day, attack: AttackPlan | None) -> str | None:
    """Why the race cannot be told, if it cannot."""
    incident, weather = situation.incident, situation.incident.weather
    old = incident.limits.value("perimeter_old_min")
    age = (situation.now - incident.fire.parts()[0].time).total_seconds() / 60.0
    if weather is None or situation.hour is None:
        return "no weather for this hour"
    if not (incident.ground.fuel >= 0).any():
        return "no fuels"
    if day.cut_off is None:
        return "no cut-off: sunset is not known"
    if day.cut_off <= situation.now:
        return "the cut-off has passed"
    if day.cut_off > weather.last:
        return f"the weather ends at {weather.last:%H:%M}Z, before the cut-off"
    if not day.circuits:
        return "no aircraft has a circuit"
    if attack is not None and attack.unknown_m > 0.0:
        return f"{round(attack.unknown_m, -1):,.0f} m of edge lie against ground of unknown fuel or height"
    if attack is not None and attack.parts_lost:
        return f"{attack.parts_lost} of the fire's parts lie on ground that is not known to burn"
    return f"the perimeter is {age:.0f} min old, over {old:.0f} min" if age > old else None


def _look_until(situation: Situation, day: Day) -> datetime | None:
    """How far ahead the fire is grown: to the cut-off, far enough to warn people, as the weather allows."""
    weather = situation.incident.weather
    if weather is None or situation.hour is None or not weather.covers(situation.incident.now):
        return None
    wanted = people_horizon(situation.now, situation.incident.limits)
    if day.cut_off is not None:
        wanted = max(wanted, day.cut_off)
    return min(wanted, weather.last)


def _hours_s(situation: Situation, end: datetime) -> list[float]:
    """Whole hours from now, and the end, in seconds after the newest perimeter."""
    start = situation.incident.now
    now_s = (situation.now - start).total_seconds()
    end_s = (end - start).total_seconds()
    hours = [now_s + HOUR * i for i in range(1, int((end_s - now_s) // HOUR) + 1)]
    return [*hours, end_s] if not hours or end_s > hours[-1] + 1.0 else hours


def planned(folder: Path, *, at: str | None, members: int, seed: int) -> Planned:
    """Read the folder, find water, fill the day, roll the tactic out, check everything.

    Raises
    ------
    InputError, OutsideRangeError
        For a folder with problems, or a number of futures outside 0 to 1000.
    """
    if not 0 <= members <= 1000:
        raise OutsideRangeError(field="members", value=members, low=0, high=1000, unit="")
    situation = look(folder, at)
    incident = situation.incident
    waters = waters_for(situation, [a.class_id for a in incident.fleet])
    day = plan_the_day(situation, waters)
    context = SafetyContext(
        ground=incident.ground,
        weather=incident.weather,
        limits=incident.limits,
        now=situation.now,
        cut_off=day.cut_off,
    )
    until = _look_until(situation, day)
    seen = _ahead(situation, waters, day, context, until, members, seed)
    return Planned(
        situation=situation,
        waters=waters,
        day=day,
        attack=seen.attack,
        why=_missing(situation, day, seen.attack),
        findings=(*seen.unknown, *_plan_findings(situation, waters, day, context, seen.attack)),
        entrapment=check_entrapment(
            seen.reached,
            now=situation.now,
            limits=incident.limits,
            people=incident.ground.people,
            members=members,
            looked_until=until or situation.now,
            left_map_at=seen.left_map_at,
            unknown_edge_m=seen.edge_m,
        ),
        notes=seen.notes,
        reached=seen.reached,
        members=members,
        seed=seed,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ahead:
    """The fire grown: whom it reaches, how much edge [m] meets unknown ground, when it leaves the map."""

    attack: AttackPlan | None = None
    reached: tuple[Reach, ...] = ()
    unknown: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    edge_m: float = 0.0
    left_map_at: datetime | None = None


def _ahead(
    situation: Situation,
    waters: Waters,
    day: Day,
    context: SafetyContext,
    until: datetime | None,
    members: int,
    seed: int,
) -> _Ahead:
    """The tactic rolled out, or the fire grown alone where no load can fall; nothing where it cannot be grown."""
    if until is None or until <= situation.now:
        return _Ahead()
    scene = scene_of(situation, look_until=until, keep_until=until + timedelta(hours=12))
    hours_s = _hours_s(situation, until)
    attack = None
    if day.cut_off is not None and situation.now < day.cut_off <= until:
        attack = make_plan(
            scene,
            day,
            situation.incident.classes,
            context,
            sources={source.id: source.findings for source in waters.sources},
            members=members,
            seed=seed,
            hours_s=hours_s,
            drop_tests=situation.incident.drop_tests,
        )
        reached, edge_m, left_map = attack.reached, attack.unknown_free_m, attack.reached_edge
        edge_s = attack.edge_s
    else:
        seen = outlook(scene, members, seed, hours_s)
        reached, edge_m, left_map = seen.reached, max(p.unknown_m for p in seen.played), seen.left_map
        edge_s = seen.edge_s
    fields = scene.fields(Variation())
    return _Ahead(
        attack=attack,
        reached=reached,
        unknown=check_unknown_ground(fields, edge_m, left_map=left_map),
        notes=(*fields.notes, *lines_notes(scene.lines, situation.now)),
        edge_m=edge_m,
        left_map_at=scene.at(edge_s),
    )


def _plan_findings(
    situation: Situation, waters: Waters, day: Day, context: SafetyContext, attack: AttackPlan | None
) -> tuple[Finding, ...]:
    incident = situation.incident
    by_id = {source.id: source for source in waters.sources}
    legs: list[Finding] = []
    for circuit in day.circuits:
        straight = np.array([by_id[circuit.source].position, situation.middle])
        flown = straight if circuit.way is None else circuit.way.path_xy
        legs += check_wires_on_leg(circuit.aircraft, flown, context)
    return (
        *check_data(incident.ground, incident.weather, incident.fleet),
        *check_coverage(incident.system, incident.ground.fuel),
        *check_errors(incident.errors),
        *check_supervision(incident.fleet),
        *check_lines(incident.fire.lines, start=incident.fire.parts()[0].time, now=situation.now),
        *check_follow_up(incident.ground, attack.drops if attack else (), incident.limits),
        *legs,
        *(f for row in day.rows for f in row.findings if f.level in _GRAVE),
        *day.findings,
        *incident.limit_findings,
    )


def _race(plan: AttackPlan, points: Iterable[RacePoint]) -> list[Answer]:
    return [
        {
            "time": iso(plan.scene.start + timedelta(seconds=p.t_s)),
            **spread("edge_m", p.edge, 0),
            **spread("held_m", p.held, 0),
            **spread("open_m", p.open, 0),
            "secured_m": None,
            "barrier_m": number(p.barrier_m, 0),
            "retardant_m": number(p.retardant_m, 0),
            "wet_only_m": number(p.wet_only_m, 0),
        }
        for p in points
    ]


def plan_of(done: Planned) -> Answer:
    """The whole plan as JSON-ready values."""
    situation, attack = done.situation, done.attack
    incident = situation.incident
    outside = Outside(incident.ground.grid)
    answer = envelope(
        incident=incident.name,
        time=situation.now,
        zone=incident.zone,
        seed=done.seed,
        members=done.members,
        cell_m=incident.ground.grid.cell_m,
        band="80 % of all futures: wind, moisture, spread, circuit times, line per load, hold time, loads missed"
        if done.members >= 4
        else None,
        not_yet=NOT_YET,
    )
    state = "unknown" if attack is None or done.why is not None else attack.state
    answer["answers"] = {
        "next_load": next_words(done),
        "winning": state,
        "winning_words": winning_words(done, state),
        "hurt": hurt_words(done),
    }
    answer["tactic"] = {
        "anchor": outside.position(attack.anchor) if attack else None,
        "direction": "heel to head, both flanks",
        "mode": "direct",
        "stand_off_m": 0,
        "agent": "as loaded",
    }
    answer |= _outcome(attack, done)
    drops: Sequence[DropRun] = attack.drops if attack else ()
    first = drops[0] if drops else None
    answer["next_load"] = (
        {"drop": first.id, "aircraft": first.aircraft, "time": iso(first.time)} if first else None
    )
    answer["drops"] = [drop_of(run, outside) for run in drops]
    answer["held_back"] = [held_back_of(h, outside) for h in (attack.held_back if attack else ())]
    answer["rejected"] = []
    answer["reaches"] = reaches_of(done.reached, situation.now, outside)
    answer["circuits"] = circuits_of(done.day, outside, done.situation.incident.limits)
    answer["day"] = day_of(done.day, outside)
    answer["cut_off"] = iso(done.day.cut_off)
    answer["notes"] = list(done.notes)
    answer["findings"] = outside.findings((*done.entrapment, *done.findings))
    answer["exit_code"] = 3 if _stop_stands(done) else 0
    return answer


def _stop_stands(done: Planned) -> bool:
    """A stop against people's time, or against an aircraft that the plan uses; held-back runs don't count."""
    in_use = [f for row in done.day.rows if row.loads for f in row.findings]
    return any(f.level == "stop" for f in (*done.entrapment, *in_use))


def _chances(attack: AttackPlan, *, known: bool) -> Answer:
    """Counted chances; null where the race cannot be told."""
    keys = ("chance_of_holding", "chance_low", "chance_high", "chance_contained", "held_in")
    if not known or not attack.of:
        return dict.fromkeys(keys)
    contained = None if attack.contained is None else number(attack.contained / attack.of, 3)
    return {
        "chance_of_holding": number(attack.held / attack.of, 3),
        "chance_low": number(attack.chance[0], 3),
        "chance_high": number(attack.chance[1], 3),
        "chance_contained": contained,
        "held_in": f"{attack.held} of {attack.of} modelled futures, uncalibrated",
    }


def _outcome(attack: AttackPlan | None, done: Planned) -> Answer:
    if attack is None:
        keys = ("chance_of_holding", "chance_low", "chance_high", "chance_contained", "area_ha_at_cut_off",
                "area_ha_low", "area_ha_high", "loads_needed", "loads_planned", "loads_needing_look")  # fmt: skip
        return {**dict.fromkeys(keys), "race": [], "why_unknown": done.why}
    area = attack.area_m2

    def hectares(value: float | None) -> float | int | None:
        return None if value is None else number(value / HECTARE, 1)

    out: Answer = {
        **_chances(attack, known=done.why is None),
        "chance_from": (
            "modelled futures in which every load falls that no stop forbids, uncalibrated; the band is what so few "
            "futures can tell (80 % score interval)"
        ),
        "area_ha_at_cut_off": hectares(area.middle),
        "area_ha_low": hectares(area.low),
        "area_ha_high": hectares(area.high),
        "loads_needed": attack.loads_to_close,
        "loads_planned": attack.loads_planned,
        "loads_needing_look": attack.loads_look,
        "loads_without_a_place": attack.idle,
        "loads_refused_by_their_hour": attack.refused,
        "race": _race(attack, attack.race),
        "reached_edge_of_map": attack.reached_edge,
        "why_unknown": done.why,
    }
    if attack.open_again is not None:
        at_s, length_m = attack.open_again
        out["open_again"] = {
            "time": iso(attack.scene.start + timedelta(seconds=at_s)),
            "length_m": number(length_m, 0),
        }
    return out


def plan_answer(folder: Path, *, out: Path | None, members: int, at: str | None, seed: int) -> Answer:
    """The plan; with `out`, also written there as `plan.json` and map layers as GeoJSON.

    Raises
    ------
    InputError, OutsideRangeError
        As `planned`.
    """
    began = time.perf_counter()
    if out is not None:
        ready_folder(out, "out")
    answer = plan_of(planned(folder, at=at, members=members, seed=seed))
    if out is not None:
        written = {k: v for k, v in answer.items() if k != "exit_code"}
        files = [("plan", out / "plan.json", written), ("layers", out / "plan.geojson", layers_of(answer))]
        for _, path, content in files:
            write_text_atomic(path, json.dumps(content, ensure_ascii=False, allow_nan=False) + "\n")
        answer["files"] = [{"kind": kind, "path": str(path)} for kind, path, _ in files]
    answer["seconds"] = number(time.perf_counter() - began, 2)
    return answer
