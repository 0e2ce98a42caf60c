"""Where a load may come from: scoop lanes, dip sites and tanker bases, seen as one kind of thing."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING, Literal

from wetline.circuits.bases import check_base, check_reload, check_runway, runway_short, stock_of
from wetline.circuits.stock import Stock
from wetline.model import Finding
from wetline.units import MINUTE
from wetline.water import one_place
from wetline.weather.air import density_altitude_at

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.ground import Base
    from wetline.water import DipSite, Lane
    from wetline.weather import Hour

__all__ = ["Source", "SourceKind", "air_at_m", "fit", "sources_from"]

SourceKind = Literal["lane", "dip", "base"]

_KIND_FOR_FILL: dict[str, SourceKind] = {"scoop": "lane", "dip": "dip", "base": "base"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A place to load. `position` (x, y) [m]; numbers that nobody gave are None.

    `density_altitude_m`: in the hour that it was looked at. `stock`: what it has to give, None where it does
    not run short or nobody told. `reload_s`: landing to take-off, as the base gives it. `load_cap_l`: the
    most that one load can be here. `fuel`: whether it has fuel; `load_while_fuelling`: whether both may be
    done at once. `classes`: the aircraft classes for which it was checked; None means any that loads so.
    `fill`: with what they dip there. `length_needed_m`: of a lane, what it was judged by: the need in this air and wind. `strip`: where that
    water begins and ends (x, y) [m], as flown. `place`: the id of the source that is the same place, where a
    dip site was found for several classes; None where it is its own.
    """

    id: str
    kind: SourceKind
    name: str
    position: tuple[float, float]
    findings: tuple[Finding, ...] = ()
    elevation_m: float | None = None
    density_altitude_m: float | None = None
    length_m: float | None = None
    length_needed_m: float | None = None
    clear_m: float | None = None
    depth_m: float | None = None
    runway_m: float | None = None
    agents: tuple[str, ...] = ()
    pits: int | None = None
    stock: Stock | None = None
    reload_s: float | None = None
    load_cap_l: float | None = None
    fuel: bool | None = None
    load_while_fuelling: bool | None = None
    classes: frozenset[str] | None = None
    fill: str | None = None
    strip: tuple[tuple[float, float], tuple[float, float]] | None = None
    place: str | None = None

    @property
    def spot(self) -> str:
        """What one aircraft at a time works and draws from, whatever its class: the same for one place."""
        return f"{self.kind} {self.place or self.id}"

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
    hour: Hour | None = None,
) -> tuple[Source, ...]:
    """Lanes, dip sites and tanker bases as sources, in the order given.

    `classes`: the classes that the lanes and dip sites were checked for. Bases of another kind than
    `tanker_base` load nobody and are left out. `hour`: the weather of the density altitude at lanes and bases.
    """
    checked = None if classes is None else frozenset(classes)
    sites = tuple(dips)
    return (
        *(_of_lane(lane, checked, hour) for lane in lanes),
        *(_of_dip(dip, checked, next(d for d in sites if one_place(d, dip))) for dip in sites),
        *(_of_base(base, hour) for base in bases if base.kind == "tanker_base"),
    )


def _of_lane(lane: Lane, checked: frozenset[str] | None, hour: Hour | None) -> Source:
    return Source(
        id=lane.id,
        kind="lane",
        name=str(lane.water),
        position=lane.middle,
        findings=lane.findings,
        elevation_m=lane.surface_m,
        density_altitude_m=air_at_m(lane.surface_m, hour),
        length_m=lane.length_m,
        length_needed_m=lane.needed_m,
        clear_m=lane.clear_m,
        depth_m=lane.depth_m,
        classes=checked,
        strip=_strip(lane),
    )


def _strip(lane: Lane) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The water that the class needs within a lane; None where the need is not known."""
    if lane.needed_m is None:
        return None
    (x, y), (to_x, to_y) = lane.start, lane.end
    across_m = hypot(to_x - x, to_y - y)
    shares = (lane.run_from_m / across_m, (lane.run_from_m + lane.needed_m) / across_m)
    begin, end = ((x + s * (to_x - x), y + s * (to_y - y)) for s in shares)
    return begin, end


def _of_dip(dip: DipSite, checked: frozenset[str] | None, first: DipSite) -> Source:
    """Sites of one water share its name, so that an alternate lies on other water; `first` of the same place."""
    own = frozenset({dip.class_id}) if dip.class_id else checked
    refill_l_per_s = (dip.refill_l_per_min or 0.0) / MINUTE
    return Source(
        id=dip.id,
        kind="dip",
        name=dip.water,
        position=dip.position,
        findings=dip.findings,
        elevation_m=dip.surface_m,
        density_altitude_m=dip.density_altitude_m,
        depth_m=dip.depth_m,
        stock=None if dip.volume_l is None else Stock(dip.volume_l, refill_l_per_s, most_l=dip.volume_l),
        load_cap_l=dip.load_cap_l,
        classes=own,
        fill=dip.fill,
        place=first.id,
    )


def _of_base(base: Base, hour: Hour | None) -> Source:
    return Source(
        id=base.name,
        kind="base",
        name=base.name,
        position=(base.point.x, base.point.y),
        findings=check_base(base),
        elevation_m=base.elevation_m,
        density_altitude_m=air_at_m(base.elevation_m, hour),
        runway_m=base.runway_m,
        agents=base.agents,
        pits=base.pits,
        stock=stock_of(base),
        reload_s=None if base.reload_min is None else base.reload_min * MINUTE,
        fuel=base.fuel,
        load_while_fuelling=base.load_while_fuelling,
    )


def air_at_m(elevation_m: float | None, hour: Hour | None) -> float | None:
    """Density altitude [m] of a place in an hour; None where height, weather or the air's range is not known."""
    return density_altitude_at(elevation_m, hour)[0]


def _short_of(have_m: float | None, need_m: float | None) -> str | None:
    """What there is [m] against a need [m], in words, if both are known and it falls short."""
    if have_m is None or need_m is None or have_m >= need_m:
        return None
    return f"{have_m:.5g} m of {need_m:.5g} m needed"


def _si(cls: AircraftClass, name: str) -> float | None:
    quantity = cls.get(name)
    return None if quantity is None else quantity.si()


def _misfit(source: Source, aircraft: Aircraft, cls: AircraftClass) -> str | None:
    if _KIND_FOR_FILL.get(cls.fills) != source.kind:
        return f"a {cls.name.lower()} does not load at a {source.kind}"
    if source.classes is not None and cls.id not in source.classes:
        return f"not checked for the class {cls.id}"
    if source.fill is not None and source.fill != cls.way:
        return f"not checked for the class {cls.id} with a {cls.way}"
    if not source.ready:
        stop = next(f for f in source.findings if f.level == "stop")
        return f"stopped: {stop.message}"
    if source.kind == "base" and source.agents and aircraft.agent not in source.agents:
        return f"no {aircraft.agent} at this base"
    if source.pits is not None and source.pits < 1:
        return "no pit at this base"
    judged_m = source.length_needed_m
    for what, have_m, need_m in (
        ("lane", source.length_m, _si(cls, "lane_needed_m") if judged_m is None else judged_m),
        ("clear half-width", source.clear_m, _si(cls, "lane_half_width_m")),
        ("depth", source.depth_m, _si(cls, "depth_needed_m")),
    ):
        short = _short_of(have_m, need_m)
        if short:
            return f"{what}: {short}"
    short = runway_short(source.runway_m, cls, source.density_altitude_m) if source.kind == "base" else None
    return f"runway: {short}" if short else None


def fit(source: Source, aircraft: Aircraft, cls: AircraftClass) -> tuple[str | None, tuple[Finding, ...]]:
    """Whether an aircraft may load at a source: why not (or None), and what stands on it if it may.

    A base whose runway or agents nobody gave is `unknown` and asks for a look: a call to the base.
    """
    why = _misfit(source, aircraft, cls)
    if why is not None:
        return why, ()
    if source.kind != "base":
        return None, source.findings
    findings = [
        *source.findings,
        *check_runway(source.name, source.runway_m, cls, source.density_altitude_m, aircraft.call_sign),
        *check_reload(source.name, source.reload_s, cls),
    ]
    if not source.agents:
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
