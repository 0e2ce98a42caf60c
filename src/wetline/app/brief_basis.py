"""What every paper of one brief rests on: the plan, how it is written, and who flies with whom."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import shapely

from wetline.app.answer import Outside
from wetline.app.sizeup import burnt_when
from wetline.briefing.format import Style

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.app.plan import Planned
    from wetline.attack import AttackPlan, HeldBack
    from wetline.briefing import Units
    from wetline.circuits import AircraftDay, Circuit
    from wetline.ground import Ground
    from wetline.model import DropRun, Limits

    Area = Polygon | MultiPolygon

__all__ = ["Basis", "Crew", "basis_of", "crews_of"]

_UTC_CLOCK = re.compile(r"(?:(\d{4}-\d{2}-\d{2})T)?\b(\d{2}):(\d{2})Z")
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """A plan and the one way in which its papers write numbers.

    `supervision`: call sign of the aircraft that oversees, None if there is none.
    """

    done: Planned
    style: Style
    units: Units
    outside: Outside
    supervision: str | None

    @property
    def ground(self) -> Ground:
        """The incident's ground."""
        return self.done.situation.incident.ground

    @property
    def limits(self) -> Limits:
        """The incident's limits."""
        return self.done.situation.incident.limits

    @property
    def now(self) -> datetime:
        """The moment that the brief speaks for."""
        return self.done.situation.now

    def true(self, grid_deg: float) -> float:
        """True bearing [deg] of a grid bearing, as every other answer gives it."""
        return float(self.outside.bearing(grid_deg) or 0.0)

    def burnt_when(self, time: datetime) -> Area:
        """The burnt area at a time, if nothing more is stopped; as drawn where growth is not known."""
        attack: AttackPlan | None = self.done.attack
        if attack is None:
            fire = self.done.situation.incident.fire
            return fire.burnt_at(fire.newest)
        return burnt_when(attack.scene, (time - attack.scene.start).total_seconds())

    def local(self, words: str) -> str:
        """Findings tell times in UTC with a Z; paper tells the incident's clock alone."""
        return _UTC_CLOCK.sub(self._clock, words)

    def _clock(self, found: re.Match[str]) -> str:
        day, hour, minute = found.groups()
        if day is not None:
            return self.style.clock(datetime.fromisoformat(f"{day}T{hour}:{minute}+00:00"))
        today = self.now.astimezone(UTC).replace(hour=int(hour), minute=int(minute), second=0, microsecond=0)
        return self.style.clock(min((today - _DAY, today, today + _DAY), key=lambda t: abs(t - self.now)))

    def water_at(self, xy: tuple[float, float]) -> Area | None:
        """The water that a point lies in."""
        point = shapely.Point(xy)
        return next((w.polygon for w in self.ground.water if shapely.covers(w.polygon, point)), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """Aircraft that share one sheet, with their rows of the day and their runs in order of time."""

    number: int
    aircraft: tuple[Aircraft, ...]
    cls: AircraftClass
    rows: tuple[AircraftDay, ...]
    runs: tuple[DropRun, ...]
    held: tuple[HeldBack, ...]

    @property
    def call_signs(self) -> tuple[str, ...]:
        """Who flies, in the fleet's order."""
        return tuple(a.call_sign for a in self.aircraft)

    @property
    def names(self) -> str:
        """`Tern 1, Tern 2`."""
        return ", ".join(self.call_signs)

    @property
    def oversees(self) -> bool:
        """Whether it carries no load and orders the others."""
        return self.cls.fills == "none"

    @property
    def primary(self) -> Circuit | None:
        """The circuit on the source that they work."""
        return self.rows[0].primary

    @property
    def first_runs(self) -> tuple[DropRun, ...]:
        """The first run of each aircraft, soonest first."""
        found: dict[str, DropRun] = {}
        for run in self.runs:
            found.setdefault(run.aircraft, run)
        return tuple(found.values())


def basis_of(done: Planned, units: Units | None) -> Basis:
    """The plan with its style; `units` None takes the incident's."""
    incident = done.situation.incident
    above = [a for a in incident.fleet if a.out_of_service is None and a.class_id == "supervision"]
    chosen = units or incident.units
    style = Style(
        units=chosen,
        zone=incident.zone,
        made=done.situation.now,
        projection=incident.ground.grid.projection,
        variation_deg=incident.magnetic_variation_deg,
    )
    return Basis(
        done=done,
        style=style,
        units=chosen,
        outside=Outside(incident.ground.grid),
        supervision=above[0].call_sign if above else None,
    )


def crews_of(done: Planned) -> tuple[Crew, ...]:
    """One crew a sheet: pairs of one class on one source together; out of service, none."""
    rows = {row.aircraft: row for row in done.day.rows}
    groups: dict[tuple[str, ...], list[Aircraft]] = {}
    for aircraft in done.situation.incident.fleet:
        if aircraft.out_of_service is not None:
            continue
        primary = rows[aircraft.call_sign].primary
        source = primary.source if primary else ""
        alone = () if aircraft.pair else (aircraft.call_sign,)
        key = (
            aircraft.pair or "",
            aircraft.class_id,
            aircraft.fill or "",
            source,
            aircraft.agent,
            *alone,
        )
        groups.setdefault(key, []).append(aircraft)
    return tuple(_crew(number, group, rows, done) for number, group in enumerate(groups.values(), 1))


def _crew(number: int, group: list[Aircraft], rows: dict[str, AircraftDay], done: Planned) -> Crew:
    names = {a.call_sign for a in group}
    runs: Iterable[DropRun] = done.attack.drops if done.attack else ()
    held: Iterable[HeldBack] = done.attack.held_back if done.attack else ()
    return Crew(
        number=number,
        aircraft=tuple(group),
        cls=done.situation.incident.classes[group[0].class_id].filling_by(group[0].fill),
        rows=tuple(rows[a.call_sign] for a in group),
        runs=tuple(sorted((r for r in runs if r.aircraft in names), key=lambda r: (r.time, r.order))),
        held=tuple(
            sorted((h for h in held if h.run.aircraft in names), key=lambda h: (h.run.time, h.run.order))
        ),
    )
