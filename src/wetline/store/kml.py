"""KML and KMZ (OGC KML 2.2): placemarks as features, their values untyped, heights dropped."""

from __future__ import annotations

import zipfile
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from wetline.store.fields import Untyped, parse_moment
from wetline.store.geojson import Collection, feature_from
from wetline.store.problems import counted
from wetline.store.xml_file import child, children, local, parse_xml, text_of
from wetline.store.zip_file import ARCHIVE_FAILURES, member_bytes, why

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from xml.etree.ElementTree import Element

    from wetline.store.problems import Complaints

__all__ = ["TIME_FIELDS", "read_kml", "read_kmz"]

TIME_FIELDS = {"fire": "time", "people": "seen"}
"""Where the time that a format gives every thing belongs: elsewhere it says nothing that is asked for."""
_SHAPES = ("Point", "LineString", "LinearRing", "Polygon", "MultiGeometry", "Model", "Track", "MultiTrack")
_CONTAINERS = ("Document", "Folder")
_NOT_READ = ("NetworkLink", "GroundOverlay", "ScreenOverlay", "PhotoOverlay", "Tour")


def read_kml(data: bytes, layer: str, complaints: Complaints) -> Collection | None:
    """The placemarks of a layer; None after a complaint that nothing could be read.

    With several folders the one called as the layer counts, with all below it.
    """
    root = parse_xml(data, "kml", complaints)
    if root is None:
        return None
    home = _home(root, layer, complaints)
    if home is None:
        return None
    marks = [e for e in home.iter() if local(e) == "Placemark"]
    _warn_of_others(root, complaints, alone=not marks)
    rows = (_feature(row, mark, layer, complaints) for row, mark in enumerate(marks))
    found = (feature_from(row, value, complaints, geographic=True) for row, value in enumerate(rows))
    return Collection(tuple(f for f in found if f is not None))


def read_kmz(path: Path, layer: str, complaints: Complaints) -> Collection | None:
    """The placemarks of the KML inside a KMZ that holds any; of several, of the one called as the layer."""
    try:
        with zipfile.ZipFile(path) as archive:
            found = {}
            for name in archive.namelist():
                data = member_bytes(archive, name, complaints) if name.lower().endswith(".kml") else None
                if data is not None:
                    found[name] = data
    except ARCHIVE_FAILURES as error:
        complaints.error(
            f"The file is no sound KMZ: {why(error)}.", "Take a whole copy, or name it by what it is."
        )
        return None
    drawn = [name for name, data in found.items() if b"Placemark" in data.replace(b"\0", b"")] or list(found)
    called = [name for name in drawn if PurePosixPath(name).stem.casefold() == layer.casefold()] or drawn
    if len(called) == 1:
        return read_kml(found[called[0]], layer, complaints)
    if not complaints.blocked:
        complaints.error(
            f"The archive holds {counted(len(called), 'KML file')} with placemarks.",
            f"Keep one, or call the one that counts {layer}.kml.",
            field="kml", value=", ".join(called) or None, limit="1",
        )  # fmt: skip
    return None


def _warn_of_others(root: Element, complaints: Complaints, *, alone: bool) -> None:
    """Remark on what is not read; if there is nothing else, the layer may well not be empty."""
    for name in _NOT_READ:
        count = sum(local(e) == name for e in root.iter())
        say = complaints.error if alone else complaints.warning
        if count:
            say(
                f"The file holds {counted(count, name)}: what is drawn or linked there is not read.",
                "Draw it as placemarks in this file.", field=name, value=counted(count, name),
            )  # fmt: skip


def _home(root: Element, layer: str, complaints: Complaints) -> Element | None:
    """The element whose placemarks count: the folder named as the layer, else all if in one place."""
    holding = [e for e in root.iter() if local(e) in _CONTAINERS and child(e, "Placemark") is not None]
    called = [
        e
        for e in root.iter()
        if local(e) == "Folder" and text_of(child(e, "name")).casefold() == layer.casefold()
    ]
    if len(called) == 1:
        inside = set(called[0].iter())
        beside = [_name(e) for e in holding if e not in inside]
        if beside:
            complaints.warning(
                f"Beside the folder {layer} the file holds placemarks in {', '.join(beside)}: not read.",
                f"Move them into the folder {layer} if they belong to it.",
                field="Folder",
                value=", ".join(beside),
            )
        return called[0]
    if len(holding) <= 1 and not called:
        return root
    complaints.error(
        f"The file has {len(called)} folders called {layer}."
        if called
        else f"The file has placemarks in several folders, and none is called {layer}.",
        f"Put what counts into one folder called {layer}.",
        field="Folder",
        value=", ".join(_name(e) for e in holding),
        limit=layer,
    )
    return None


def _name(element: Element) -> str:
    return f'"{text_of(child(element, "name")) or local(element)}"'


def _feature(row: int, mark: Element, layer: str, complaints: Complaints) -> dict[str, Any]:
    """A placemark as a GeoJSON feature."""
    shapes = [part for part in mark if local(part) in _SHAPES]
    geometry = None
    if shapes:
        geometry = _geometry(shapes[0]) if len(shapes) == 1 else {"type": "several shapes"}
    return {"type": "Feature", "properties": _properties(row, mark, layer, complaints), "geometry": geometry}


def _properties(row: int, mark: Element, layer: str, complaints: Complaints) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, text in _values(mark):
        if name in found and text != found[name]:
            complaints.error(
                f'"{name}" stands twice in one placemark.', "Keep the right one.", row=row, field=name
            )
        found[name] = Untyped(text)
    called = text_of(child(mark, "name"))
    if called:
        found.setdefault("name", Untyped(called))
    stamp, field = child(mark, "TimeStamp"), TIME_FIELDS.get(layer)
    when = "" if stamp is None else text_of(child(stamp, "when"))
    if field and when:
        given = found.setdefault(field, Untyped(when))
        if parse_moment(str(given)) != parse_moment(when):
            complaints.warning(
                f"The placemark's TimeStamp is another time than its {field}; {field} counts.",
                "Keep one of them.", row=row, field=field, value=when, limit=str(given),
            )  # fmt: skip
    return found


def _values(mark: Element) -> Iterator[tuple[str, str]]:
    """Names and texts of ExtendedData, typed by a schema or not."""
    for extended in children(mark, "ExtendedData"):
        for part in extended.iter():
            if local(part) == "Data":
                yield part.get("name", ""), text_of(child(part, "value"))
            elif local(part) == "SimpleData":
                yield part.get("name", ""), text_of(part)


def _geometry(shape: Element) -> dict[str, Any] | None:
    kind = local(shape)
    if kind == "Point":
        positions = _positions(shape)
        return {"type": kind, "coordinates": positions[0] if len(positions) == 1 else positions}
    if kind in {"LineString", "LinearRing"}:
        return {"type": "LineString", "coordinates": _positions(shape)}
    if kind == "Polygon":
        rings = [
            _positions(ring)
            for side in ("outerBoundaryIs", "innerBoundaryIs")
            for boundary in children(shape, side)
            for ring in children(boundary, "LinearRing")
        ]
        return {"type": kind, "coordinates": rings}
    if kind != "MultiGeometry":
        return {"type": kind}
    parts = [part for single in _single(shape) if (part := _geometry(single)) is not None]
    if not parts:
        return None
    kinds = {str(part["type"]) for part in parts}
    if len(kinds) > 1:
        return {"type": " and ".join(sorted(kinds))}
    return {"type": f"Multi{kinds.pop()}", "coordinates": [part.get("coordinates") for part in parts]}


def _single(shape: Element) -> Iterator[Element]:
    """The single shapes of a MultiGeometry, however deep."""
    for part in shape:
        if local(part) == "MultiGeometry":
            yield from _single(part)
        elif local(part) in _SHAPES:
            yield part


def _positions(shape: Element) -> list[list[Any]]:
    """`lon,lat[,height]` tuples; what is no number stays text, for the checks to name."""
    return [[_number(v) for v in word.split(",")] for word in text_of(child(shape, "coordinates")).split()]


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
