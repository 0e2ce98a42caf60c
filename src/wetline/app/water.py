"""Where to fill, as an answer: of an incident, best first, or of any water file."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, cast

from wetline.app.answer import Answer, Outside, envelope, iso, number, spread
from wetline.app.outputs import ready_folder
from wetline.app.places import bases_of, dip_of
from wetline.app.situation import look, waters_for
from wetline.app.water_maps import write_water
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import Band, NotYet
from wetline.store import read_water_file
from wetline.units import FOOT, KNOT
from wetline.water import lanes_of_file, room_needed_m, why_no_lane

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.aircraft import AircraftClass
    from wetline.app.situation import Situation, Waters
    from wetline.water import FileLane, Lane
    from wetline.water.escape import Escape

__all__ = ["NOT_YET", "lane_of", "water_answer", "water_of_file", "water_of_incident"]

NOT_YET = (
    NotYet("looks", "looks at water are read from the water layer alone: there is no log of them yet"),
    NotYet("engine_out", "climb with an engine out is not known for any class"),
)

_STEP_DEG = 5.0
_EVERY = 5
"""Of the points of a turn: one each 100 m is enough to draw it."""


def _knots(value: float | None) -> float | int | None:
    return None if value is None else number(value / KNOT, 1)


def lane_of(class_id: str, lane: Lane, outside: Outside) -> Answer:
    """A scoop lane as flown."""
    return {
        "id": lane.id,
        "class": class_id,
        "water": lane.water,
        "heading_deg": outside.bearing(lane.heading_deg),
        "length_m": number(lane.length_m, 0),
        **spread("needed_m", lane.needed or Band(math.nan), 0),
        "clear_m": number(lane.clear_m, 1),
        "start": outside.position(lane.start),
        "end": outside.position(lane.end),
        "level": lane.level,
        "headwind_kt": _knots(lane.headwind_mps),
        "crosswind_kt": _knots(lane.crosswind_mps),
        "approach_gradient_needed": number(lane.approach_gradient_needed, 3),
        "approach_gradient_available": number(lane.approach_gradient_available, 3),
        "climb_gradient_needed": number(lane.climb_gradient_needed, 3),
        "climb_gradient_available": number(lane.climb_gradient_available, 3),
        **spread("class_climb_gradient", lane.class_climb or Band(math.nan), 3),
        "escape": _escape(lane.escape, outside),
        "phases": [
            {
                "phase": phase.name,
                "from_m": number(phase.from_m, 0),
                "to_m": number(phase.to_m, 0),
                "position": outside.position(lane.point(phase.from_m)),
            }
            for phase in lane.phases
        ],
        "density_altitude_ft": number(
            None if lane.density_altitude_m is None else lane.density_altitude_m / FOOT, 0
        ),
        "swell_m": number(lane.swell_m, 1),
        "swell_angle_deg": number(lane.swell_angle_deg, 0),
        "wave_estimate_m": number(lane.wave_estimate_m, 2),
        "depth_m": number(lane.depth_m, 1),
        "depth_date": None if lane.depth_date is None else lane.depth_date.isoformat(),
        "surface_m": number(lane.surface_m, 1),
        "looked_at": iso(lane.looked_at),
        "look_expires": iso(lane.look_expires),
        "because": dict(lane.because),
        "findings": outside.findings(lane.findings),
    }


def _escape(escape: Escape | None, outside: Outside) -> Answer | None:
    """How to leave a lane; a turn with its path over the ground."""
    if escape is None:
        return None
    return {
        "kind": escape.kind,
        "because": escape.because,
        "gradient_needed": number(escape.gradient_needed, 3),
        "gradient_available": number(escape.gradient_available, 3),
        "turn_deg": number(escape.turn_deg, 0),
        "radius_m": number(escape.radius_m, 0),
        "track": outside.line(escape.track[::_EVERY]),
    }


def _classes(situation: Situation, class_id: str | None) -> list[str]:
    if class_id is None:
        return list(dict.fromkeys(a.class_id for a in situation.incident.fleet))
    classes = situation.incident.classes
    if class_id not in classes:
        problem = Problem(
            message=f"{class_id!r} is no aircraft class.",
            mend=f"Give one of {', '.join(classes)}.",
            field="class",
            value=class_id,
        )
        raise InputError.of([problem])
    return [class_id]


def _none_found(situation: Situation, class_ids: list[str], waters: Waters) -> list[Answer]:
    """Each class that fills from water and found none: why, and by how many metres the best of it is short."""
    incident = situation.incident
    with_lanes = {class_id for class_id, _ in waters.lanes}
    with_sites = {dip.class_id for dip in waters.dips}
    rows: list[Answer] = []
    for cls in (incident.classes[c] for c in class_ids):
        if cls.fills == "scoop" and cls.id not in with_lanes:
            reason, miss_m = _why_no_lane(situation, cls)
        elif cls.fills == "dip" and cls.id not in with_sites:
            reason, miss_m = _why_no_site(situation, cls), None
        else:
            continue
        rows.append({"class": cls.id, "reason": reason, "nearest_miss_m": number(miss_m, 0)})
    return rows


_NO_LAYER = "No water layer: put water.geojson (or another format) into the folder."


def _why_no_lane(situation: Situation, cls: AircraftClass) -> tuple[str, float | None]:
    incident = situation.incident
    if not incident.ground.water.present:
        return _NO_LAYER, None
    within_m = incident.limits.value("water_search_km") * 1000.0
    return why_no_lane(
        incident.ground, cls, situation.hour, incident.limits, near=situation.middle, within_m=within_m
    )


def _why_no_site(situation: Situation, cls: AircraftClass) -> str:
    incident = situation.incident
    if not incident.ground.water.present:
        return f"{_NO_LAYER} No place known for dipping is in reach either."
    room_m = room_needed_m(cls, incident.limits)
    within = incident.limits["water_search_km"].text()
    return f"no water within {within} has {room_m:g} m of room all round, and no place known for dipping is there"


def water_of_incident(
    folder: Path, *, class_id: str | None, at: str | None, out: Path | None = None
) -> Answer:
    """Lanes, dip sites and bases for an incident: usable first, then those that want a look, rejected last.

    `out`: a folder for the same as files for a map or a receiver.
    """
    if out is not None:
        ready_folder(out, "out")
    situation = look(folder, at)
    incident = situation.incident
    class_ids = _classes(situation, class_id)
    waters = waters_for(situation, class_ids)
    outside = Outside(incident.ground.grid)
    answer = envelope(
        incident=incident.name,
        time=situation.now,
        zone=incident.zone,
        cell_m=incident.ground.grid.cell_m,
        not_yet=NOT_YET,
    )
    answer["lanes"] = [lane_of(cls, lane, outside) for cls, lane in waters.lanes]
    answer["dip_sites"] = [dip_of(dip, situation, outside) for dip in waters.dips]
    answer["bases"] = bases_of(situation, class_ids, outside)
    answer["none_found"] = _none_found(situation, class_ids, waters)
    if not waters.lanes and not waters.dips:
        first = next(iter(answer["none_found"]), {"reason": "Nobody in the fleet scoops or dips."})
        answer["reason"], answer["nearest_miss_m"] = first["reason"], first.get("nearest_miss_m")
    if out is not None:
        answer["files"] = write_water(out, answer, exercise=incident.exercise)
    return answer


def water_answer(
    incident: Path | None,
    *,
    class_id: str | None,
    at: str | None,
    file: Path | None,
    length_m: float | None,
    clear_m: float | None,
    step_deg: float | None,
    out: Path | None = None,
) -> Answer:
    """The waters of an incident, or of a file of its own.

    Raises
    ------
    InputError
        If neither or both are given, or an option that the other one takes: nothing is left unheard.
    """
    of_file = {"length_m": length_m, "clear_m": clear_m, "step_deg": step_deg}
    of_incident = {"incident": incident, "class": class_id, "at": at, "out": out}
    if file is None and incident is None:
        problem = Problem(
            message="Neither an incident folder nor a water file is given.", mend="Give one of them."
        )
        raise InputError.of([problem])
    beside = of_incident if file is not None else of_file
    unheard = [
        Problem(
            message=f"{name} does not go with {'a water file' if file is not None else 'an incident'}.",
            mend="Leave it out, or see `wetline water --help`.",
            field=name,
            value=str(value),
        )
        for name, value in beside.items()
        if value is not None
    ]
    if unheard:
        raise InputError.of(unheard)
    if file is not None:
        step = _STEP_DEG if step_deg is None else step_deg
        return water_of_file(file, length_m=length_m, clear_m=clear_m, step_deg=step)
    return water_of_incident(cast("Path", incident), class_id=class_id, at=at, out=out)


def _file_lane(lane: FileLane) -> Answer:
    return {
        "water": lane.water,
        "heading_deg": lane.heading_deg,
        "length_m": number(lane.length_m, 1),
        "clear_m": number(lane.clear_m, 1),
        "start": [round(v, 7) for v in lane.start],
        "end": [round(v, 7) for v in lane.end],
        "level": lane.level,
        "depth_m": None,
        "findings": [
            {"code": f.code, "level": f.level, "effect": f.effect, "message": f.message, "source": f.source,
             "refers_to": f.refers_to}
            for f in lane.findings
        ],
    }  # fmt: skip


def water_of_file(path: Path, *, length_m: float | None, clear_m: float | None, step_deg: float) -> Answer:
    """The lanes of any water file; only its shores are known, so every lane is `unknown`.

    Raises
    ------
    InputError, OutsideRangeError
        For a file that cannot be read, or lengths and steps that make no sense.
    """
    missing = [n for n, v in (("length_m", length_m), ("clear_m", clear_m)) if v is None]
    if length_m is None or clear_m is None:
        raise InputError.of(
            [
                Problem(message=f"{n} is not given.", mend=f"Give --{n.replace('_', '-')}.", field=n)
                for n in missing
            ]
        )
    for name, value, low, high, unit in (
        ("length_m", length_m, 1.0, 50_000.0, "m"),
        ("clear_m", clear_m, 0.5, 5_000.0, "m"),
        ("step_deg", step_deg, 0.1, 90.0, "deg"),
    ):
        if not low <= value <= high:
            raise OutsideRangeError(field=name, value=value, low=low, high=high, unit=unit)
    waters = read_water_file(path)
    found = lanes_of_file(list(waters), length_m=length_m, clear_m=clear_m, step_deg=step_deg)
    answer = envelope(incident=None, time=None, not_yet=NOT_YET)
    answer["lanes"] = [_file_lane(lane) for lane in found.lanes]
    answer["dip_sites"] = []
    answer["bases"] = []
    answer["problems"] = [p.given() for p in (*waters.warnings, *found.problems)]
    if not found.lanes:
        answer["reason"] = found.reason
        answer["nearest_miss_m"] = number(found.nearest_miss_m, 1)
    return answer
