"""Circuits and the day, as an answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.answer import Answer, Outside, envelope, iso, number, spread
from wetline.app.situation import look, plan_the_day, waters_for
from wetline.app.what_if import Asked, mixes
from wetline.circuits import share, totals_of, why_primary
from wetline.units import MINUTE

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from wetline.app.what_if import Mix
    from wetline.circuits import AircraftDay, Circuit, Cost, Day, Totals
    from wetline.model import Limits

__all__ = ["circuits_answer", "circuits_of", "day_of"]


def circuits_of(day: Day, outside: Outside, limits: Limits) -> list[Answer]:
    """One circuit an aircraft, on its best source."""
    alternates = {row.aircraft: row.alternate for row in day.rows}
    meetings = [finding for finding in day.findings if finding.code == "separation"]
    return [
        {
            **_circuit(circuit, outside),
            **_against(circuit, alternates.get(circuit.aircraft)),
            "sharing": _sharing(circuit, day.circuits, limits),
            "findings": outside.findings(
                (*circuit.findings, *(f for f in meetings if circuit.aircraft in f.refers_to.split(", ")))
            ),
        }
        for circuit in day.circuits
    ]


def _circuit(circuit: Circuit, outside: Outside) -> Answer:
    return {
        "aircraft": circuit.aircraft,
        "class": circuit.class_id,
        "source": circuit.source,
        "source_kind": circuit.source_kind,
        "distance_m": number(circuit.distance_m, 0),
        **spread("cycle_min", circuit.cycle_min, 1),
        **spread("loads_per_hour", circuit.loads_per_hour, 1),
        **spread("litres_per_hour", circuit.litres_per_hour, 0),
        "litres_per_load": number(circuit.litres_per_load, 0),
        "litres_full_fuel": number(circuit.litres_full_fuel, 0),
        "litres_low_fuel": number(circuit.litres_low_fuel, 0),
        "parts": [
            {
                "name": part.name,
                "seconds": number(part.seconds, 1),
                "seconds_low": number(part.low, 1),
                "seconds_high": number(part.high, 1),
                "because": part.because,
            }
            for part in circuit.parts
        ],
        "own_figure": circuit.own_figure,
        "hand": None if circuit.way is None else circuit.way.hand,
        "legs_apart_m": None if circuit.way is None else number(circuit.way.apart_m, 0),
        "track": [
            {
                "position": outside.position((point.x, point.y)),
                "height_amsl_m": number(point.height_amsl_m, 0),
                "phase": point.phase,
            }
            for point in circuit.track
        ],
        "band_from": circuit.band_from,
        "needs_look": circuit.look,
    }


def _against(circuit: Circuit, alternate: Circuit | None) -> Answer:
    """Why the source is the one to work, and what its loss would cost."""
    lost = None if alternate is None else circuit.litres_per_hour.middle - alternate.litres_per_hour.middle
    return {
        "because": why_primary(circuit, alternate),
        "alternate": None if alternate is None else alternate.source,
        "alternate_litres_per_hour": None
        if alternate is None
        else number(alternate.litres_per_hour.middle, 0),
        "alternate_costs_litres_per_hour": number(lost, 0),
    }


def _sharing(circuit: Circuit, circuits: Iterable[Circuit], limits: Limits) -> Answer:
    """What those on one source make of it together, the target's spacing kept."""
    beside = [c for c in circuits if (c.source, c.source_kind) == (circuit.source, circuit.source_kind)]
    spacing_s = limits.value("spacing_min") * MINUTE
    found = share(
        [c.cycle_min.middle * MINUTE for c in beside],
        source_spacing_s=0.0 if circuit.source_kind == "base" else spacing_s,
        target_spacing_s=spacing_s,
    )
    return {
        "aircraft": [c.aircraft for c in beside],
        "loads_per_hour": number(found.loads_per_s * 3600.0, 1),
        "bound": found.bound,
        "wait_min": number(found.wait_s / MINUTE, 1),
        "between_drops_min": number(found.offset_s / MINUTE, 1),
        "slack_min": number(found.slack_s / MINUTE, 1),
    }


def day_of(day: Day, outside: Outside) -> list[Answer]:
    """One row an aircraft."""
    return [_row(row, outside) for row in day.rows]


def _row(row: AircraftDay, outside: Outside) -> Answer:
    return {
        "aircraft": row.aircraft,
        "class": row.class_id,
        "loads": row.loads,
        "litres": number(row.litres, 0),
        "flight_h": number(row.flight_h, 2),
        "first_drop": iso(row.first_drop),
        "last_scoop": iso(row.last_scoop),
        "last_drop": iso(row.last_drop),
        "last_drop_by": iso(row.last_drop_by),
        "land_by": iso(row.land_by),
        "leave_for_fuel": [iso(t) for t in row.leave_for_fuel],
        "crew_hours_end": iso(row.crew_hours_end),
        "limited_by": row.limited_by,
        "cut_offs": [{"what": c.what, "time": iso(c.time), "because": c.because} for c in row.cut_offs],
        "stops": [
            {
                "leave": iso(stop.leave),
                "landed": iso(stop.landed),
                "takeoff": iso(stop.takeoff),
                "for": list(stop.what),
            }
            for stop in row.stops
        ],
        "cost": None if row.cost is None else _cost(row.cost),
        "primary": row.primary.source if row.primary else None,
        "alternate": row.alternate.source if row.alternate else None,
        "refused": [{"source": source, "why": why} for source, why in row.refused if _telling(why)],
        "findings": outside.findings(row.findings),
    }


def _cost(cost: Cost) -> Answer:
    """An amount, and what is not in it: with anything there it is a least amount."""
    return {"amount": number(cost.amount, 0), "currency": cost.currency, "missing": list(cost.missing)}


def _totals(totals: Totals) -> Answer:
    return {
        "loads": totals.loads,
        "litres": number(totals.litres, 0),
        "litres_per_hour": number(totals.litres_per_hour, 0),
        "loads_needing_look": totals.look_loads,
        "litres_needing_look": number(totals.look_litres, 0),
        "first_drop_min": number(totals.first_drop_min, 0),
        "gap_median_min": number(totals.gap_median_min, 1),
        "gap_longest_min": number(totals.gap_longest_min, 1),
        "gap_longest_from": iso(totals.gap_from),
        "cost": [_cost(cost) for cost in totals.costs] or None,
    }


def _mix(mix: Mix) -> Answer:
    return {"what": mix.name, **_totals(mix.totals), "assumed": list(mix.assumed)}


def _telling(why: str) -> bool:
    """Whether a refusal says more than that the aircraft never loads so."""
    return "does not load at" not in why and "not checked for the class" not in why


def circuits_answer(folder: Path, *, at: str | None, asked: Asked | None = None) -> Answer:
    """Circuits of every aircraft, the day's loads, what limits each, and the first drop; what if, if asked.

    Raises
    ------
    InputError
        For a folder with problems, or names asked about that are not known.
    """
    situation = look(folder, at)
    incident = situation.incident
    waters = waters_for(situation, [a.class_id for a in incident.fleet])
    day = plan_the_day(situation, waters)
    outside = Outside(incident.ground.grid)
    answer = envelope(
        incident=incident.name,
        time=situation.now,
        zone=incident.zone,
        cell_m=incident.ground.grid.cell_m,
        band="80 %, from the ranges of each class",
    )
    first = day.loads[0] if day.loads else None
    totals = totals_of(day)
    answer["circuits"] = circuits_of(day, outside, incident.limits)
    answer["day"] = day_of(day, outside)
    answer["first_drop"] = {"time": iso(first.time), "aircraft": first.aircraft} if first else None
    answer["loads"] = len(day.loads)
    answer["loads_needing_look"] = totals.look_loads
    answer["totals"] = _totals(totals)
    answer["hours"] = [
        {"time": iso(hour.start), "loads": hour.loads, "litres": number(hour.litres, 0)}
        for hour in totals.hours
    ]
    answer["load_times"] = [
        {
            "time": iso(load.time),
            "aircraft": load.aircraft,
            "source": load.source,
            "litres": number(load.litres, 0),
            "agent": load.agent,
            "needs_look": load.look,
        }
        for load in day.loads
    ]
    answer["cut_off"] = iso(day.cut_off)
    answer["land_by"] = iso(day.land_by)
    answer["comparison"] = [_mix(mix) for mix in mixes(situation, waters, day, asked)] if asked else []
    answer["findings"] = outside.findings(day.findings)
    in_use = [f for row in day.rows if row.loads for f in row.findings]
    answer["exit_code"] = 3 if any(f.level == "stop" for f in in_use) else 0
    return answer
