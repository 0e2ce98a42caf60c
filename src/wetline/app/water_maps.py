"""Where to fill as files for a receiver, a globe and a map: every mark with its standing and its cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.marks import facts_of, file_bytes, place_of, said_of, write_files
from wetline.store import Mark, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from wetline.app.answer import Answer

__all__ = ["write_water"]

_NOT_FACTS = frozenset({"id", "name", "start", "end", "position", "level", "findings"})
"""What a mark shows otherwise."""


def write_water(folder: Path, answer: Answer, *, exercise: bool) -> list[Answer]:
    """Write `water.gpx`, `water.kml` and `water.gpkg` into a folder that is there: rejected places too, named so."""
    sheet = Sheet(
        title=f"{answer['incident']}: where to fill",
        time=answer["time"],
        cautions=tuple(answer["cautions"]),
        marks=tuple(_marks(answer)),
        exercise=exercise,
    )
    return write_files(folder, "water", file_bytes(sheet))


def _marks(answer: Answer) -> Iterator[Mark]:
    for lane in answer["lanes"]:
        heading = "" if lane["heading_deg"] is None else f" {lane['heading_deg']:03.0f}°"
        yield Mark(
            layer="lanes",
            id=lane["id"],
            name=f"{lane['id']} {lane['water']}{heading}",
            level=lane["level"],
            places=(place_of(lane["start"]), place_of(lane["end"])),
            facts=facts_of(lane, leave=_NOT_FACTS),
            said=said_of(lane["findings"]),
        )
    for dip in answer["dip_sites"]:
        yield Mark(
            layer="dip_sites",
            id=dip["id"],
            name=f"{dip['id']} {dip['water']}",
            level=dip["level"],
            places=(place_of(dip["position"]),),
            facts=facts_of(dip, leave=_NOT_FACTS),
            said=said_of(dip["findings"]),
        )
    for base in answer["bases"]:
        yield Mark(
            layer="bases",
            id=base["name"],
            name=base["name"],
            level=base.get("level"),
            places=(place_of(base["position"]),),
            facts=facts_of(base, leave=_NOT_FACTS),
            said=said_of(base.get("findings", ())),
        )
