"""GPX 1.1: waypoints as points, routes and tracks as lines, a walked edge of a fire as its outline."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pyproj

from wetline.store.fields import Untyped
from wetline.store.geojson import Collection, feature_from
from wetline.store.kml import TIME_FIELDS
from wetline.store.xml_file import child, children, local, parse_xml, text_of

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from wetline.store.problems import Complaints

__all__ = ["read_gpx"]

_GAP_M = 50.0
_GAP_SHARE = 0.10
"""A walk whose ends lie within both, of its length, went round: a receiver under trees is some tens of
metres off. Common practice, no source."""
_GEOD = pyproj.Geod(ellps="WGS84")
_POINTS = {"wpt": "", "rte": "rtept", "trk": "trkseg"}


def read_gpx(data: bytes, layer: str, complaints: Complaints) -> Collection | None:
    """Waypoints, routes and tracks in the order of the file; None after a complaint.

    In the layer `fire` a route or track is the fire's edge, unless its `type` is `line`: each of its
    pieces must come back to its beginning.
    """
    root = parse_xml(data, "gpx", complaints)
    if root is None:
        return None
    things = [part for part in root if local(part) in _POINTS]
    rows = (_feature(row, thing, layer, complaints) for row, thing in enumerate(things))
    found = [
        feature_from(row, value, complaints, geographic=True)
        for row, value in enumerate(rows)
        if value is not None
    ]
    return Collection(tuple(f for f in found if f is not None))


def _feature(row: int, thing: Element, layer: str, complaints: Complaints) -> dict[str, Any] | None:
    """One waypoint, route or track as a GeoJSON feature; None after a complaint."""
    pieces = _pieces(thing)
    properties = _properties(thing)
    if layer in TIME_FIELDS:
        properties.setdefault(TIME_FIELDS[layer], Untyped(_time(thing, pieces)))
    places = [[_place(point) for point in piece] for piece in pieces]
    geometry: dict[str, Any]
    if local(thing) == "wpt":
        geometry = {"type": "Point", "coordinates": places[0][0]}
    elif layer == "fire" and str(properties.get("kind", "fire")) != "line":
        rings = [_closed(row, piece, complaints) for piece in places]
        if None in rings:
            return None
        geometry = {"type": "MultiPolygon", "coordinates": [[ring] for ring in rings]}
    else:
        geometry = {"type": "MultiLineString", "coordinates": places}
    if len(places) == 1 and geometry["type"].startswith("Multi"):
        geometry = {"type": geometry["type"].removeprefix("Multi"), "coordinates": geometry["coordinates"][0]}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _pieces(thing: Element) -> list[list[Element]]:
    """The points of a waypoint, of a route, of each piece of a track."""
    if local(thing) == "wpt":
        return [[thing]]
    if local(thing) == "rte":
        return [list(children(thing, "rtept"))]
    pieces = [list(children(piece, "trkpt")) for piece in children(thing, "trkseg")]
    return [
        piece for piece in pieces if piece
    ] or pieces  # a receiver begins a piece at each start, often in vain


def _properties(thing: Element) -> dict[str, object]:
    """Name, `type` as kind, and the plain values among the extensions."""
    found: dict[str, object] = {}
    extensions = child(thing, "extensions")
    for part in () if extensions is None else extensions:
        if len(part) == 0:
            found[local(part)] = Untyped(text_of(part))
    for name, field in (("name", "name"), ("type", "kind")):
        text = text_of(child(thing, name))
        if text:
            found.setdefault(field, Untyped(text))
    return found


def _time(thing: Element, pieces: list[list[Element]]) -> str:
    """When the last point was passed."""
    last = pieces[-1][-1] if pieces and pieces[-1] else thing
    return text_of(child(last, "time"))


def _place(point: Element) -> list[Any]:
    """Longitude and latitude; what is no number stays text, for the checks to name."""
    out: list[Any] = []
    for name in ("lon", "lat"):
        text = point.get(name, "")
        try:
            out.append(float(text))
        except ValueError:
            out.append(text)
    return out


def _closed(row: int, piece: list[list[Any]], complaints: Complaints) -> list[list[Any]] | None:
    """A ring of a walk that comes back to its beginning; None after a complaint."""
    if len(piece) < 3 or any(isinstance(v, str) for place in piece for v in place) or piece[0] == piece[-1]:
        return piece  # closed, or faulty in a way that the checks of every ring name
    lon, lat = zip(*piece, strict=True)
    length_m = float(_GEOD.line_length(lon, lat))
    gap_m = float(_GEOD.inv(*piece[-1], *piece[0])[2])
    value, limit = f"{gap_m:.0f} m", f"{_GAP_M:g} m and {_GAP_SHARE:.0%} of its length"
    if not (gap_m <= _GAP_M and gap_m <= _GAP_SHARE * length_m):
        complaints.error(
            f"The walk does not come back to its beginning: its ends lie {gap_m:.0f} m apart.",
            "Draw the rest of the edge; crews' line needs the type (or kind) line.",
            row=row, field="trkseg", value=value, limit=limit,
        )  # fmt: skip
        return None
    complaints.warning(
        f"The walked edge was closed over a gap of {gap_m:.0f} m with a straight line.",
        "Look at it on the map; draw the edge there if it is not straight.",
        row=row, field="trkseg", value=value, limit=limit,
    )  # fmt: skip
    return [*piece, piece[0]]
