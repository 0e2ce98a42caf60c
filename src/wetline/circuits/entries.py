"""Who comes into the day's plan, with which job, and who does not, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.circuits import checks
from wetline.circuits.choice import BestSources, best_sources
from wetline.circuits.cycle import circuit
from wetline.circuits.jobs import Setting, job_of
from wetline.circuits.legs import known_along
from wetline.circuits.sources import fit
from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.circuits.cycle import Circuit
    from wetline.circuits.flights import Job, LimitedBy
    from wetline.circuits.sources import Source
    from wetline.ground import Base
    from wetline.model import Limits

__all__ = ["Entry", "entry_of"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One aircraft on its way into the plan: its job with the circuit of each way, or why it has none."""

    aircraft: Aircraft
    cls: AircraftClass
    best: BestSources
    findings: tuple[Finding, ...]
    job: Job | None = None
    circuits: tuple[Circuit, ...] = ()
    base: Base | None = None
    idle: LimitedBy | None = None


def _standing_findings(
    aircraft: Aircraft, cls: AircraftClass, limits: Limits, *, now: datetime, placed: bool
) -> tuple[Finding, ...]:
    """What stands on an aircraft whatever it is planned to do."""
    out = [*checks.duty_findings(aircraft, limits, now=now), *checks.fuel_findings(aircraft, cls, limits)]
    for relief in aircraft.relief:
        out += checks.duty_findings(relief, limits, now=now, call_sign=aircraft.call_sign)
    if aircraft.airborne and not placed:
        out.append(
            Finding(
                code="data_missing",
                level="unknown",
                effect="noted",
                message=f"{aircraft.call_sign} is in the air, its place is not given: counted from its base.",
                source="common practice, no source",
                refers_to=aircraft.call_sign,
            )
        )
    return tuple(out)


def _no_fuel_at(base: Base, aircraft: Aircraft) -> tuple[Finding, ...]:
    if base.fuel is not False:
        return ()
    return (
        Finding(
            code="fuel",
            level="caution",
            message=f"{aircraft.call_sign}: no fuel at {base.name}; it flies with what it has or takes at a base where it loads.",
            source="bases of the incident",
            refers_to=aircraft.call_sign,
        ),
    )


def _ferries_unknown(
    setting: Setting, aircraft: Aircraft, base: Base, primary: Circuit
) -> tuple[Finding, ...]:
    """Whether the ground is known on the flights between a base and the work."""
    home = (base.point.x, base.point.y)
    if primary.ends[0] == home or all(known_along(setting.ground, home, there) for there in primary.ends):
        return ()
    return (
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=f"{aircraft.call_sign}: heights between {base.name} and its work are not known all along: "
            "climb and descent of those flights are not wholly counted.",
            source="common practice, no source",
            refers_to=aircraft.call_sign,
        ),
    )


def _worked(
    sources: Sequence[Source], aircraft: Aircraft, cls: AircraftClass, best: BestSources
) -> list[Source]:
    """The sources that the aircraft may work: its best, and the alternate unless more is unknown of it."""
    first, other = best.primary, best.alternate
    wanted = [] if first is None else [first]
    if first is not None and other is not None and (other.look, other.blocked) <= (first.look, first.blocked):
        wanted.append(other)
    return [_source_of(one, sources, aircraft, cls) for one in wanted]


def _best(setting: Setting, aircraft: Aircraft, cls: AircraftClass, sources: Sequence[Source]) -> BestSources:
    """The best sources of one aircraft; equal aircraft choose alike, and only the two circuits are their own."""
    key = (cls.id, cls.way, aircraft.load_l, aircraft.agent)
    hour = setting.hours[0][1]
    if key not in setting.best:
        setting.best[key] = best_sources(
            aircraft,
            cls,
            sources,
            setting.target,
            hour=hour,
            ground=setting.ground,
            limits=setting.limits,
            seen=setting.seen,
        )
        return setting.best[key]
    alike = setting.best[key]

    def own(found: Circuit | None) -> Circuit | None:
        if found is None:
            return None
        source = _source_of(found, sources, aircraft, cls)
        return circuit(
            aircraft,
            cls,
            source,
            setting.target,
            hour,
            setting.ground,
            setting.limits,
            seen=setting.seen,
        )

    return BestSources(primary=own(alike.primary), alternate=own(alike.alternate), refused=alike.refused)


def _source_of(found: Circuit, sources: Sequence[Source], aircraft: Aircraft, cls: AircraftClass) -> Source:
    """The source that a circuit fills at."""
    return next(
        s
        for s in sources
        if (s.id, s.kind) == (found.source, found.source_kind) and fit(s, aircraft, cls)[0] is None
    )


def entry_of(
    setting: Setting,
    aircraft: Aircraft,
    cls: AircraftClass,
    sources: Sequence[Source],
    place: tuple[float, float] | None,
    *,
    light_known: bool,
) -> Entry:
    """The job of one aircraft, or why it has none. `place`: where it is now, if in the air and known."""
    findings = _standing_findings(aircraft, cls, setting.limits, now=setting.now, placed=place is not None)
    nothing = BestSources(primary=None, alternate=None)
    if aircraft.out_of_service is not None:
        return Entry(aircraft, cls, nothing, findings, idle="out_of_service")
    if cls.fills == "none":
        return Entry(aircraft, cls, nothing, findings, idle="supervision")
    best = _best(setting, aircraft, cls, sources)
    if best.primary is None:
        return Entry(aircraft, cls, best, findings, idle="no_source")
    findings += best.primary.findings
    base = next((b for b in setting.ground.bases if b.name == aircraft.base), None)
    if base is None:
        missing = Finding(
            code="data_missing",
            level="unknown",
            effect="blocks",
            message=f"{aircraft.call_sign}: base {aircraft.base} is not among the bases; no way home to count.",
            source="common practice, no source",
            refers_to=aircraft.call_sign,
        )
        return Entry(aircraft, cls, best, (*findings, missing), idle="no_base")
    if not light_known:
        return Entry(aircraft, cls, best, findings, idle="no_daylight")
    findings += (
        *_no_fuel_at(base, aircraft),
        *_ferries_unknown(setting, aircraft, base, best.primary),
    )
    made = job_of(setting, aircraft, cls, _worked(sources, aircraft, cls, best), base, place)
    if made is None:
        return Entry(aircraft, cls, best, findings, base=base, idle="wind")
    job, used = made
    circuits = tuple(
        next(c for c in (best.primary, best.alternate) if c is not None and c.source == s.id) for s in used
    )
    return Entry(aircraft, cls, best, findings, job=job, circuits=circuits, base=base)
