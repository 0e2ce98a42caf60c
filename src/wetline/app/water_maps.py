"""Where to fill as files for a receiver, a globe and a map: every mark with its standing and its cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.store import Mark, Sheet, geopackage_bytes, gpx_text, kml_text, write_bytes_atomic

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from wetline.app.answer import Answer
    from wetline.store import Fact

__all__ = ["write_water"]

_NOT_FACTS = frozenset({"id", "name", "start", "end", "position", "level", "findings"})
"""What a mark shows otherwise."""
_EMPTY_IS_UNKNOWN = frozenset({"agents"})
"""Lists of which none means that nobody has told."""


def write_water(folder: Path, answer: Answer, *, exercise: bool) -> list[Answer]:
    """Write `water.gpx`, `water.kml` and `water.gpkg` into a folder that is there: rejected places too, named so."""
    sheet = Sheet(
        title=f"{answer['incident']}: where to fill",
        time=answer["time"],
        cautions=tuple(answer["cautions"]),
        marks=tuple(_marks(answer)),
        exercise=exercise,
    )
    written: list[Answer] = []
    for kind, data in (
        ("gpx", gpx_text(sheet).encode("utf-8")),
        ("kml", kml_text(sheet).encode("utf-8")),
        ("gpkg", geopackage_bytes(sheet)),
    ):
        path = folder / f"water.{kind}"
        write_bytes_atomic(path, data)
        written.append({"kind": kind, "path": str(path)})
    return written


def _marks(answer: Answer) -> Iterator[Mark]:
    for lane in answer["lanes"]:
        heading = "" if lane["heading_deg"] is None else f" {lane['heading_deg']:03.0f}°"
        yield Mark(
            layer="lanes",
            id=lane["id"],
            name=f"{lane['id']} {lane['water']}{heading}",
            level=lane["level"],
            places=(_place(lane["start"]), _place(lane["end"])),
            facts=_facts(lane),
            said=_said(lane["findings"]),
        )
    for dip in answer["dip_sites"]:
        yield Mark(
            layer="dip_sites",
            id=dip["id"],
            name=f"{dip['id']} {dip['water']}",
            level=dip["level"],
            places=(_place(dip["position"]),),
            facts=_facts(dip),
            said=_said(dip["findings"]),
        )
    for base in answer["bases"]:
        yield Mark(
            layer="bases",
            id=base["name"],
            name=base["name"],
            level=base.get("level"),
            places=(_place(base["position"]),),
            facts=_facts(base),
            said=_said(base.get("findings", ())),
        )


def _place(position: list[float]) -> tuple[float, float]:
    lon, lat = position
    return lon, lat


def _facts(thing: Mapping[str, object]) -> dict[str, Fact]:
    """What a place's own row says in single values; a list of words as one text."""
    facts: dict[str, Fact] = {}
    for name, value in thing.items():
        if name in _NOT_FACTS:
            continue
        if name == "escape" and isinstance(value, dict):
            facts[name] = f"{value['kind']}: {value['because']}"
        if value is None or isinstance(value, (float, int, str)):
            facts[name] = value
        elif isinstance(value, list) and all(isinstance(word, str) for word in value):
            facts[name] = ", ".join(value) or (None if name in _EMPTY_IS_UNKNOWN else "none")
    return facts


def _said(findings: Iterable[Mapping[str, str]]) -> tuple[str, ...]:
    """Findings in words, in the order of the answer: gravest first."""
    return tuple(
        f"{'none found' if f['level'] == 'clear' else f['level']} ({f['code']}): {f['message']}"
        for f in findings
    )
