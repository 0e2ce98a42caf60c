"""One crew's sheet: who, when, where from, which run, apart from whom, and the points to read back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.app.brief_circuit import circuit_view
from wetline.app.brief_findings import held_findings, standing_findings
from wetline.app.brief_run import no_run_words, run_view
from wetline.app.brief_source import base_named, no_source_words, source_view
from wetline.briefing import BaseView, CrewSheet, DipView, LaneView, PointRow, Times
from wetline.safety import distance_to_run_m

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from wetline.app.brief_basis import Basis, Crew
    from wetline.attack import HeldBack
    from wetline.circuits import AircraftDay
    from wetline.ground import PeoplePlace
    from wetline.model import DropRun, Finding

__all__ = ["crew_sheet", "part_words"]

_PEOPLE_M = 1_500.0
_MOST_PEOPLE = 3
_RADIO = (
    ("Air to air", "air_to_air"),
    ("Air to ground", "air_to_ground"),
    ("Base", "base"),
    ("Emergency", "emergency"),
)


def part_words(run: DropRun) -> str:
    """`left flank`."""
    return run.edge_part.replace("_", " ")


def crew_sheet(basis: Basis, crew: Crew, crews: Sequence[Crew]) -> tuple[CrewSheet, tuple[Finding, ...]]:
    """The sheet, and the findings that stand on what it tells the crew to do."""
    standing = standing_findings(basis, crew, crews)
    source = source_view(basis, crew)
    run = run_view(basis, crew, crew.runs[0]) if crew.runs else None
    sheet = CrewSheet(
        number=crew.number,
        call_signs=crew.call_signs,
        class_name=crew.cls.name,
        agent=crew.aircraft[0].agent,
        load_l=_load_l(crew),
        task=_task(crew),
        times=_times(basis, crew),
        source=source,
        run=run,
        circuit=circuit_view(basis, crew),
        fills=crew.cls.fills,
        no_source=no_source_words(crew),
        no_run=no_run_words(basis, crew),
        separation=_separation(basis, crew, crews),
        findings=(*standing, *held_findings(basis, _held(crew, crews))),
        points=_points(basis, crew, crews, source),
        radio=tuple((name, basis.done.situation.incident.frequencies.get(key)) for name, key in _RADIO),
        changed=("Not compared with earlier sheets: the one with the later time stands.",),
        confirm=tuple(first.id for first in crew.first_runs),
    )
    return sheet, standing


def _held(crew: Crew, crews: Sequence[Crew]) -> list[HeldBack]:
    """What the crew must not take; one who oversees must not let anybody take it."""
    all_held = [held for each in (crews if crew.oversees else (crew,)) for held in each.held]
    return sorted(all_held, key=lambda held: (held.run.time, held.run.order))


def _load_l(crew: Crew) -> float | None:
    """The least load of the crew; each aircraft's own stands in the pair's line where they differ."""
    loads = [_own_load_l(row, crew, i) for i, row in enumerate(crew.rows)]
    known = [load for load in loads if load is not None]
    return min(known) if len(known) == len(loads) else None


def _own_load_l(row: AircraftDay, crew: Crew, index: int) -> float | None:
    if row.primary is not None:
        return row.primary.litres_per_load
    return crew.aircraft[index].load_l


def _task(crew: Crew) -> str:
    if crew.oversees:
        return "Oversees"
    if not crew.first_runs:
        return "No drop planned: wait"
    words: dict[str, list[str]] = {}
    for run in crew.first_runs:
        words.setdefault(part_words(run), []).append(run.id)
    said = "; ".join(f"{part}, {' and '.join(ids)}" for part, ids in words.items())
    return said[0].upper() + said[1:]


def _all_known(values: Iterable[datetime | None]) -> datetime | None:
    """The earliest, known only where all are."""
    found = list(values)
    known = [v for v in found if v is not None]
    return min(known) if known and len(known) == len(found) else None


def _times(basis: Basis, crew: Crew) -> Times:
    """The day's table. A pair keeps the earlier of its two times; fuel stops stand for each."""
    rows, planned = crew.rows, basis.done.attack is not None
    first = [row.first_drop for row in rows if row.first_drop is not None]
    if planned:
        first = [run.time for run in crew.runs[:1]]
    return Times(
        first_drop=min(first) if first else None,
        leave_for_fuel=tuple(row.leave_for_fuel if row.loads else None for row in rows),
        last_fill=_all_known(row.last_scoop for row in rows),
        last_drop=_all_known(row.last_drop for row in rows),
        land_by=_all_known(row.land_by for row in rows),
        crew_hours=_all_known(row.crew_hours_end for row in rows),
        cut_off=basis.done.day.cut_off,
    )


def _separation(basis: Basis, crew: Crew, crews: Sequence[Crew]) -> tuple[tuple[str, str], ...]:
    rows: list[tuple[str, str]] = []
    if len(crew.aircraft) > 1:
        rows.append(("Pair", _pair_words(basis, crew)))
    for other in crews:
        if other is crew:
            continue
        rows.append(
            (other.names, "oversees; height not agreed, ask" if other.oversees else _work(basis, other))
        )
    if crew.oversees:
        return tuple(rows)
    call = f"no drop, leave by your exit, call {basis.supervision}"
    rows.append(("Lost contact", call if basis.supervision else "not agreed: ask"))
    return tuple(rows)


def _work(basis: Basis, crew: Crew) -> str:
    """Where another crew works, and from when."""
    words = [crew.primary.source] if crew.primary else []
    if not crew.runs:
        return ", ".join([*words, "no drop planned"])
    run = crew.runs[0]
    parts = dict.fromkeys(part_words(r) for r in crew.first_runs)
    return ", ".join([*words, " and ".join(parts), f"from {basis.style.clock(run.time)}"])


def _pair_words(basis: Basis, crew: Crew) -> str:
    spacing = basis.limits.value("spacing_min")
    keep = f"at least {spacing:g} min apart at lane and target"
    loads = {_own_load_l(row, crew, i) for i, row in enumerate(crew.rows)}
    carried = ""
    if len(loads) > 1:
        each = (
            f"{a.call_sign} {basis.style.volume(_own_load_l(row, crew, i))}"
            for i, (a, row) in enumerate(zip(crew.aircraft, crew.rows, strict=True))
        )
        carried = f"; {', '.join(each)}"
    if len(crew.first_runs) < 2:
        return f"{keep}{carried}"
    lead, second = crew.first_runs[:2]
    heading = basis.style.bearing(basis.true(second.run_heading_deg))
    return (
        f"{lead.aircraft} leads with {lead.id}; {second.aircraft} {second.id} at "
        f"{basis.style.clock(second.time)}, {heading}; {keep}{carried}"
    )


def _points(
    basis: Basis, crew: Crew, crews: Sequence[Crew], source: LaneView | DipView | BaseView | None
) -> tuple[PointRow, ...]:
    runs = [run for each in (crews if crew.oversees else (crew,)) for run in each.first_runs]
    out = _source_points(basis, crew, source)
    out += [_row(basis, f"Release {run.id}, {run.aircraft}", run.release_position) for run in runs]
    out += [_row(basis, _seen(basis, place), _place_xy(place)) for place in _people_near(basis, runs)]
    for name in dict.fromkeys(a.base for a in crew.aircraft):
        base = base_named(basis, name)
        if base is not None and not (isinstance(source, BaseView) and source.name == name):
            out.append(PointRow(f"Base {name}", (base.point.x, base.point.y), base.elevation_m))
    return tuple(out)


def _source_points(basis: Basis, crew: Crew, source: LaneView | DipView | BaseView | None) -> list[PointRow]:
    if source is None or crew.primary is None:
        return []
    if isinstance(source, BaseView):
        base = base_named(basis, source.name)
        if base is None:
            return []
        return [PointRow(f"Base {source.name}", (base.point.x, base.point.y), base.elevation_m)]
    if isinstance(source, DipView):
        dip = next(d for d in basis.done.waters.dips if d.id == source.id)
        return [PointRow(f"Dip site {dip.id}", dip.position, dip.surface_m)]
    lane = next(lane for _, lane in basis.done.waters.lanes if lane.id == source.id)
    return [
        PointRow(f"Lane {lane.id}, start", lane.start, lane.surface_m),
        PointRow(f"Lane {lane.id}, end", lane.end, lane.surface_m),
    ]


def _row(basis: Basis, name: str, xy: tuple[float, float]) -> PointRow:
    height = basis.ground.elevation_at(*xy)
    return PointRow(name, xy, float(height) if np.isfinite(height) else None)


def _people_near(basis: Basis, runs: Sequence[DropRun]) -> list[PeoplePlace]:
    """Crews and camps near the runs, the nearest first."""
    found = []
    for place in basis.ground.people:
        if place.kind not in {"crew", "camp", "road_users"} or not runs:
            continue
        distance = min(distance_to_run_m(place, run) for run in runs)
        if distance <= _PEOPLE_M:
            found.append((distance, place.name, place))
    return [place for _, _, place in sorted(found, key=lambda row: row[:2])[:_MOST_PEOPLE]]


def _place_xy(place: PeoplePlace) -> tuple[float, float]:
    point = shapely.get_coordinates(place.shape.representative_point())[0]
    return float(point[0]), float(point[1])


def _seen(basis: Basis, place: PeoplePlace) -> str:
    when = "when seen not known" if place.seen is None else basis.style.clock(place.seen)
    return f"{place.name}, {when}"
