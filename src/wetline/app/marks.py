"""Rows of an answer as marks for a receiver, a globe and a map, and the three files that carry them."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from wetline.store import geopackage_bytes, gpx_text, kml_text, write_bytes_atomic

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from wetline.app.answer import Answer
    from wetline.store import Fact, Sheet

__all__ = ["facts_of", "file_bytes", "place_of", "said_of", "write_files"]

_EMPTY_IS_UNKNOWN = frozenset({"agents"})
"""Lists of which none means that nobody has told."""


def place_of(position: list[float]) -> tuple[float, float]:
    """`[lon, lat]` of an answer."""
    lon, lat = position
    return lon, lat


def facts_of(row: Mapping[str, object], *, leave: frozenset[str]) -> dict[str, Fact]:
    """What a row says in single values, less what a mark shows otherwise; a list of words as one text."""
    facts: dict[str, Fact] = {}
    for name, value in row.items():
        if name in leave:
            continue
        if name == "escape" and isinstance(value, dict):
            facts[name] = f"{value['kind']}: {value['because']}"
        if value is None or isinstance(value, (float, int, str)):
            facts[name] = value
        elif isinstance(value, list) and all(isinstance(word, str) for word in value):
            facts[name] = ", ".join(value) or (None if name in _EMPTY_IS_UNKNOWN else "none")
    return facts


def said_of(findings: Iterable[Mapping[str, str]]) -> tuple[str, ...]:
    """Findings in words, in the order of the answer: gravest first."""
    return tuple(
        f"{'none found' if f['level'] == 'clear' else f['level']} ({f['code']}): {f['message']}"
        for f in findings
    )


def file_bytes(sheet: Sheet) -> dict[str, bytes]:
    """A sheet of marks as GPX, KML and GeoPackage, by kind."""
    return {
        "gpx": gpx_text(sheet).encode("utf-8"),
        "kml": kml_text(sheet).encode("utf-8"),
        "gpkg": geopackage_bytes(sheet),
    }


def write_files(folder: Path, stem: str, files: Mapping[str, bytes], *, digest: bool = False) -> list[Answer]:
    """Write each kind as `stem.kind` into a folder that is there, and list them."""
    written: list[Answer] = []
    for kind, data in files.items():
        path = folder / f"{stem}.{kind}"
        write_bytes_atomic(path, data)
        row: Answer = {"kind": kind, "path": str(path)}
        written.append(row | {"sha256": hashlib.sha256(data).hexdigest()} if digest else row)
    return written
