"""Where a load may come from: scoop lanes, dip sites and tanker bases, seen as one kind of thing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.ground import Base
    from wetline.water import DipSite, Lane

__all__ = ["Source", "SourceKind", "fit", "sources_from"]

SourceKind = Literal["lane", "dip", "base"]

_KIND_FOR_FILL: dict[str, SourceKind] = {"scoop": "lane", "dip": "dip", "base": "base"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A place to load. `position` (x, y) [m]; numbers that nobody gave are None.

    `classes`: the aircraft classes for which it was checked; None means any class that loads so.
    """

    id: str
    kind: SourceKind
    name: str
    position: tuple[float, float]
    findings: tuple[Finding, ...] = ()
    elevation_m: float | None = None
    length_m: float | None = None
    clear_m: float | None = None
    depth_m: float | None = None
    runway_m: float | None = None
    agents: tuple[str, ...] = ()
    pits: int | None = None
    classes: frozenset[str] | None = None

    @property
    def ready(self) -> bool:
        """Whether no check stops it."""
        return all(f.level != "stop" for f in self.findings)

    @property
    def look(self) -> bool:
        """Whether something unknown must be looked at or mended before it may be used."""
        return any(f.level == "unknown" and f.holds_back for f in self.findings)

    @property
    def blocked(self) -> bool:
        """Whether something unknown stands that a look at the place alone cannot settle."""
        return any(f.level == "unknown" and f.effect == "blocks" for f in self.findings)


def sources_from(
    lanes: Iterable[Lane] = (),
    dips: Iterable[DipSite] = (),
    bases: Iterable[Base] = (),
    *,
    classes: Collection[str] | None = None,
) -> tuple[Source, ...]:
    """Lanes, dip sites and tanker bases as sources, in the order given.

    `classes`: the classes that the lanes and dip sites were checked for. Bases of another kind than
    `tanker_base` load nobody and are left out.
    """
    checked = None if classes is None else frozenset(classes)
    out = [
        Source(
            id=lane.id,
            kind="lane",
            name=str(lane.water),
            position=lane.middle,
            findings=lane.findings,
            elevation_m=lane.surface_m,
            length_m=lane.length_m,
            clear_m=lane.clear_m,
            depth_m=lane.depth_m,
            classes=checked,
        )
        for lane in lanes
    ]
    out += [
        Source(
            id=dip.id,
            kind="dip",
            name=dip.water,
            position=dip.position,
            findings=dip.findings,
            elevation_m=dip.surface_m,
            depth_m=dip.depth_m,
            classes=checked,
        )
        for dip in dips
    ]
    out += [
        Source(
            id=base.name,
            kind="base",
            name=base.name,
            position=(base.point.x, base.point.y),
            elevation_m=base.elevation_m,
            runway_m=base.runway_m,
            agents=base.agents,
            pits=base.pits,
        )
        for base in bases
        if base.kind == "tanker_base"
    ]
    return tuple(out)


def _short_of(have: float | None, cls: AircraftClass, need_name: str) -> str | None:
    """`have` against a need of the class, in words, if both are known and it falls short."""
    need = cls.get(need_name)
    if have is None or need is None or have >= need.value:
        return None
    return f"{have:g} {need.unit} of {need.value:g} {need.unit} needed"


def _misfit(source: Source, aircraft: Aircraft, cls: AircraftClass) -> str | None:
    if _KIND_FOR_FILL.get(cls.fills) != source.kind:
        return f"a {cls.name.lower()} does not load at a {source.kind}"
    if source.classes is not None and cls.id not in source.classes:
        return f"not checked for the class {cls.id}"
    if not source.ready:
        stop = next(f for f in source.findings if f.level == "stop")
        return f"stopped: {stop.message}"
    if source.kind == "base" and source.agents and aircraft.agent not in source.agents:
        return f"no {aircraft.agent} at this base"
    if source.pits is not None and source.pits < 1:
        return "no pit at this base"
    for what, have, need_name in (
        ("lane", source.length_m, "lane_needed_m"),
        ("clear half-width", source.clear_m, "lane_half_width_m"),
        ("depth", source.depth_m, "depth_needed_m"),
        ("runway", source.runway_m, "runway_needed_m"),
    ):
        short = _short_of(have, cls, need_name)
        if short:
            return f"{what}: {short}"
    return None


def fit(source: Source, aircraft: Aircraft, cls: AircraftClass) -> tuple[str | None, tuple[Finding, ...]]:
    """Whether an aircraft may load at a source: why not (or None), and what stands on it if it may.

    A base whose runway or agents nobody gave is `unknown` and asks for a look: a call to the base.
    """
    why = _misfit(source, aircraft, cls)
    if why is not None:
        return why, ()
    findings = list(source.findings)
    if source.kind == "base" and source.runway_m is None:
        findings.append(
            Finding(
                code="data_missing",
                level="unknown",
                effect="look",
                message=f"Runway of {source.name} not given: ask the base before {aircraft.call_sign} loads.",
                source=_source_of(cls, "runway_needed_m"),
                refers_to=source.id,
                limit=_needed(cls, "runway_needed_m"),
            )
        )
    if source.kind == "base" and not source.agents:
        findings.append(
            Finding(
                code="agent",
                level="unknown",
                effect="look",
                message=f"Agents at {source.name} not given: ask whether it has {aircraft.agent}.",
                source="common practice, no source",
                refers_to=source.id,
                value=aircraft.agent,
            )
        )
    return None, tuple(findings)


def _needed(cls: AircraftClass, name: str) -> str | None:
    quantity = cls.get(name)
    return None if quantity is None else f"{quantity.value:g} {quantity.unit}"


def _source_of(cls: AircraftClass, name: str) -> str:
    quantity = cls.get(name)
    return "common practice, no source" if quantity is None else quantity.source
