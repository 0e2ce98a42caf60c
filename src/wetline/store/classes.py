"""`classes/*.toml`: an incident's own aircraft classes, and its own numbers for the shipped ones."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from wetline.aircraft import (
    CLASS_IDS,
    FILLS,
    WAYS,
    AircraftClass,
    Quantity,
    aircraft_classes,
    contradictions,
    known_quantities,
    looser,
    quantity_problems,
)
from wetline.drops.systems import CHOICES, drop_classes
from wetline.errors import WetlineError
from wetline.model import Finding
from wetline.store.fields import Fields, Span
from wetline.store.problems import Complaints, suggestion
from wetline.store.toml import read_toml

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from wetline.aircraft import Fill
    from wetline.errors import Problem

__all__ = ["CLASS_FOLDER", "OwnClasses", "read_classes"]

CLASS_FOLDER = "classes"
_ID = re.compile(r"[a-z][a-z0-9_]*")
_LIKELY = (1e-3, 1e6)
"""Beyond these no quantity of an aircraft lies in its unit."""


@dataclass(frozen=True, slots=True)
class OwnClasses:
    """All classes of an incident by id, the shipped ones among them; `count` of its own, None without the folder.

    `findings`: where one of its own numbers gives up safety against the shipped class.
    """

    by_id: Mapping[str, AircraftClass]
    findings: tuple[Finding, ...] = ()
    problems: tuple[Problem, ...] = ()
    count: int | None = None


def read_classes(folder: Path) -> OwnClasses:
    """The classes of an incident folder: the shipped ones with its own laid over them.

    A file that is refused leaves the shipped classes as they are; its problems are errors, so nothing is computed
    with the wrong numbers.
    """
    shipped = aircraft_classes()
    whole = Complaints(CLASS_FOLDER, "classes")
    _remark_other_names(folder, whole)
    place = folder / CLASS_FOLDER
    if not place.exists():
        return OwnClasses(shipped, problems=tuple(whole.found))
    if not place.is_dir():
        whole.error("classes is no folder.", "Make it one, with a TOML file for each class.")
        return OwnClasses(shipped, problems=tuple(whole.found), count=0)
    own: dict[str, AircraftClass] = {}
    findings: list[Finding] = []
    problems: list[Problem] = list(whole.found)
    for path in sorted(place.iterdir()):
        notes = Complaints(f"{CLASS_FOLDER}/{path.name}", "classes")
        if path.suffix == ".toml":
            read = _read_file(path, notes)
            if read is not None:
                own[read[0].id] = read[0]
                findings += read[1]
        elif not path.name.startswith("."):
            notes.warning("The file is not read.", "Write a class as <id>.toml.")
        problems += notes.found
    return OwnClasses(
        by_id=MappingProxyType({**shipped, **own}),
        findings=tuple(findings),
        problems=tuple(problems),
        count=len(own),
    )


def _remark_other_names(folder: Path, notes: Complaints) -> None:
    for path in sorted(folder.iterdir()):
        if path.name != CLASS_FOLDER and path.name.casefold() in {CLASS_FOLDER, "class"}:
            notes.warning(f"{path.name} is not read.", f"Rename it to {CLASS_FOLDER}.", value=path.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """What one file says; None where it says nothing."""

    id: str
    base: AircraftClass | None
    name: str | None
    fills: Fill | None
    like: str | None
    way: str | None
    without: tuple[str, ...]
    systems: tuple[str, ...]
    quantities: Mapping[str, Quantity]
    other_ways: Mapping[str, Mapping[str, Quantity]]


def _read_file(path: Path, notes: Complaints) -> tuple[AircraftClass, tuple[Finding, ...]] | None:
    """One class and where it gives up safety; None after complaints that block."""
    values = read_toml(path, notes)
    if values is None:
        return None
    told = _told(path.stem, Fields(values, notes), notes)
    if notes.blocked:
        return None
    cls = _built(told)
    peer = aircraft_classes()[cls.drops_as]
    notes.take(replace(p, field=f"quantities.{p.field}") for p in contradictions(cls, [peer]))
    return None if notes.blocked else (cls, _loosened(cls, told.base))


def _told(class_id: str, top: Fields, notes: Complaints) -> _Told:
    base_id = top.choice("based_on", CLASS_IDS)
    base = None if base_id is None else aircraft_classes()[base_id]
    fills = top.choice("fills", FILLS, required=base is None and top.raw("based_on") is None)
    told = _Told(
        id=class_id,
        base=base,
        name=top.text("name", required=base is None or base.id != class_id),
        fills=fills if fills is not None or base is None else base.fills,
        like=top.choice("drops_like", CLASS_IDS),
        way=top.choice("way", WAYS),
        without=top.words("without", tuple(known_quantities())),
        systems=top.words("systems", tuple(CHOICES)),
        quantities=_quantities(top.raw("quantities"), "quantities", notes),
        other_ways=_other_ways(top, notes),
    )
    _check_id(told, top)
    _check_kind(told, top)
    _check_systems(told, top)
    top.rest()
    return told


def _check_id(told: _Told, top: Fields) -> None:
    if not _ID.fullmatch(told.id):
        top.error(
            "id", f'"{told.id}" is no name of a class.', "Name the file in small letters, digits and _."
        )
    if top.text("id") not in {None, told.id}:
        top.error("id", "id is not the name of the file.", f'Leave it out, or write id = "{told.id}".')
    if told.id in CLASS_IDS and (told.base is None or told.base.id != told.id):
        top.error(
            "based_on",
            f'"{told.id}" is a shipped class.',
            f'Write based_on = "{told.id}" to change its numbers, or give the file another name.',
        )


def _check_kind(told: _Told, top: Fields) -> None:
    if told.base is not None and told.fills != told.base.fills:
        top.error(
            "fills",
            f"A {told.base.name.lower()} fills otherwise.",
            "Take it out, or base the class on another.",
            limit=told.base.fills,
        )
    if told.fills == "none" and told.id != "supervision":
        top.error(
            "fills", "Only the class supervision carries nothing.", "Change the numbers of supervision."
        )
    elif told.base is None and told.fills not in {None, "none"} and told.like is None:
        top.error(
            "drops_like",
            "drops_like is missing: nobody says how its load falls and how far people must stand off.",
            "Name the shipped class whose tank or bucket it has.",
        )
    if told.fills != "dip" and (told.way or told.other_ways):
        top.error("way", "Only what dips has a bucket or a snorkel.", "Take way and ways out.")


def _check_systems(told: _Told, top: Fields) -> None:
    """Its systems must be those of the class that it drops like: no other has their numbers."""
    like = told.like or (None if told.base is None else told.base.id)
    if not told.systems or like is None:
        return
    known = drop_classes().get(like, ())
    if told.fills == "dip":
        top.error("systems", "A helicopter drops by what it fills.", "Take systems out, and say way.")
    elif not set(told.systems) <= set(known):
        top.error(
            "systems",
            f"Nobody says the numbers of {', '.join(s for s in told.systems if s not in known)} for this class.",
            "Name systems of the class in drops_like or based_on.",
            limit=", ".join(known) or "none",
        )


def _other_ways(top: Fields, notes: Complaints) -> dict[str, dict[str, Quantity]]:
    tables = top.raw("ways")
    if tables is None:
        return {}
    if not isinstance(tables, dict) or not set(tables) <= set(WAYS):
        top.error("ways", "ways are tables by bucket or snorkel.", "Write [ways.snorkel].")
        return {}
    return {way: _quantities(rows, f"ways.{way}", notes) for way, rows in tables.items()}


def _quantities(rows: object, where: str, notes: Complaints) -> dict[str, Quantity]:
    if rows is None:
        return {}
    if not isinstance(rows, dict):
        notes.error(f"{where} must be a table.", f"Write [{where}].", field=where, value=rows)
        return {}
    read = {name: _quantity(name, row, f"{where}.{name}", notes) for name, row in rows.items()}
    return {name: quantity for name, quantity in read.items() if quantity is not None}


def _quantity(name: str, row: object, where: str, notes: Complaints) -> Quantity | None:
    known = known_quantities().get(name)
    if known is None:
        notes.error(
            f'"{name}" is no quantity of a class.{suggestion(name, known_quantities())}',
            "Take a name from docs/aircraft.md.",
            field=where,
        )
        return None
    if not isinstance(row, dict):
        notes.error(
            f"{where} must say value, unit and source.",
            f'Write {name} = {{ value = …, unit = "{known.unit}", source = "whose order" }}.',
            field=where,
            value=row,
        )
        return None
    fields = Fields(row, notes, within=f"{where}.")
    span = Span(*_LIKELY, known.unit)
    value = fields.number("value", span, required=True)
    low, high = fields.number("low", span), fields.number("high", span)
    unit, source = fields.text("unit", required=True), fields.text("source", required=True)
    day = fields.day("date")
    fields.rest()
    if value is None or unit is None or source is None:
        return None
    dated = source if day is None else f"{source}, {day.isoformat()}"
    quantity = Quantity(value=value, unit=unit, source=dated, low=low, high=high)
    found = quantity_problems(name, quantity)
    notes.take(replace(p, field=where + (p.field or "").removeprefix(name)) for p in found)
    return None if found else quantity


def _built(told: _Told) -> AircraftClass:
    """The class of a file without faults."""
    base = told.base
    if base is not None and told.way in base.ways:
        base = base.filling_by(told.way)
    quantities = {**({} if base is None else base.quantities), **told.quantities}
    ways = {} if base is None else dict(base.other_ways)
    for way, rows in told.other_ways.items():
        ways[way] = {**ways.get(way, {}), **rows}
    name = told.name or ("" if base is None else base.name)
    like = told.like or (None if base is None else base.id)
    if told.fills is None:
        message = f"{told.id} was built from a file that blocks"
        raise WetlineError(message)
    return AircraftClass(
        id=told.id,
        name=name,
        fills=told.fills,
        quantities=MappingProxyType({n: q for n, q in quantities.items() if n not in told.without}),
        way=told.way or (None if base is None else base.way),
        other_ways=MappingProxyType(ways),
        like=like,
        systems=told.systems,
    )


def _loosened(cls: AircraftClass, base: AircraftClass | None) -> tuple[Finding, ...]:
    """A caution for every number that gives up safety against the class that it is based on."""
    found = () if base is None else looser(cls, base)
    return tuple(_finding(cls, name, own, was) for name, own, was in found)


def _finding(cls: AircraftClass, name: str, own: Quantity, was: Quantity) -> Finding:
    what = known_quantities()[name].what
    value, limit = (f"{q.value:g} {q.unit}" for q in (own, was))
    return Finding(
        code="limit_changed",
        level="caution",
        message=f"{cls.name}, {what[0].lower()}{what[1:]}: set to {value}, looser than the shipped {limit}.",
        source=own.source,
        refers_to=f"{cls.id}.{name}",
        limit=limit,
        value=value,
    )
