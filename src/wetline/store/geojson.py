"""GeoJSON read by the standard json module, so that row, field and value can be named.

Coordinates may stand in any CRS that the file's `crs` member names; without one they are longitude
and latitude, WGS 84 (RFC 7946).
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

import numpy as np
import pyproj
import shapely
from shapely.geometry import LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon

from wetline.errors import InputError, Problem
from wetline.store.files import read_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.store.problems import Complaints

__all__ = [
    "WGS84",
    "Collection",
    "Feature",
    "check_degrees",
    "feature_from",
    "read_collection",
    "refuse",
]

WGS84 = "EPSG:4326"
_MOST_BITS = 1000
"""Larger whole numbers do not fit a float."""
_SINGLE = {"Point", "LineString", "Polygon"}
_MAKE_MULTI: Mapping[str, Callable[[list[Any]], BaseGeometry]] = {
    "MultiPoint": MultiPoint,
    "MultiLineString": MultiLineString,
    "MultiPolygon": MultiPolygon,
}
_MULTI = set(_MAKE_MULTI)


@dataclass(frozen=True, slots=True)
class Feature:
    """One feature: zero-based row in its file, shape in the file's own coordinates, properties."""

    row: int
    geometry: BaseGeometry
    properties: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Collection:
    """The readable features of one file, its CRS, and its other top-level members.

    `short_names`: names of properties were cut to ten letters when the file was written.
    """

    features: tuple[Feature, ...] = ()
    crs: str = WGS84
    members: Mapping[str, object] = field(default_factory=dict)
    short_names: bool = False


def read_collection(path: Path, complaints: Complaints) -> Collection | None:
    """Every sound feature of a file; complaints name the others. None if nothing can be read."""
    text = read_text(path, complaints)
    if text is None:
        return None
    document = _parse(text, complaints)
    if document is None:
        return None
    raw = _features(document, complaints)
    crs = _crs(document, complaints)
    if raw is None or crs is None:
        return None
    geographic = pyproj.CRS.from_user_input(crs).is_geographic
    found = (feature_from(i, value, complaints, geographic=geographic) for i, value in enumerate(raw))
    return Collection(tuple(f for f in found if f is not None), crs, document)


def _parse(text: str, complaints: Complaints) -> dict[str, Any] | None:
    twice: list[str] = []

    def members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            names = [name for name, _ in pairs]
            twice.extend(sorted({name for name in names if names.count(name) > 1}))
        return found

    try:
        document = json.loads(text, object_pairs_hook=members)
    except json.JSONDecodeError as error:
        complaints.error(
            f"Line {error.lineno}, column {error.colno} is not JSON: {error.msg}.",
            "The file may be cut short: take a whole copy, or mend that line.",
            field=f"line {error.lineno}",
        )
        return None
    except (RecursionError, ValueError):
        complaints.error(
            "The file nests too deeply or holds an impossible number.", "Write it afresh as GeoJSON."
        )
        return None
    if not isinstance(document, dict):
        complaints.error("The file holds no GeoJSON object.", "Write a FeatureCollection.")
        return None
    for name in dict.fromkeys(twice):
        complaints.error(f'"{name}" stands twice in one object.', "Keep the right one.", field=name)
    return document


def _features(document: dict[str, Any], complaints: Complaints) -> list[Any] | None:
    kind = document.get("type")
    if kind == "FeatureCollection" and isinstance(document.get("features"), list):
        features: list[Any] = document["features"]
        return features
    if kind == "Feature":
        return [document]
    if isinstance(kind, str) and kind in _SINGLE | _MULTI:
        return [{"type": "Feature", "properties": {}, "geometry": document}]
    complaints.error(
        "The file is no GeoJSON feature collection.",
        'Write {"type": "FeatureCollection", "features": [...]}.',
        field="type",
        value=kind,
    )
    return None


def _crs(document: dict[str, Any], complaints: Complaints) -> str | None:
    if "crs" not in document:
        return WGS84
    member = document["crs"]
    name = None
    if isinstance(member, dict) and isinstance(member.get("properties"), dict):
        name = member["properties"].get("name")
    elif isinstance(member, str):
        name = member
    try:
        crs = pyproj.CRS.from_user_input(name) if isinstance(name, str) else None
    except pyproj.exceptions.CRSError:
        crs = None
    if crs is None or not isinstance(name, str) or not (crs.is_geographic or crs.is_projected):
        complaints.error(
            "The crs member names no coordinate system that is known.",
            'Write {"type": "name", "properties": {"name": "EPSG:32625"}}, or take it out for WGS 84.',
            field="crs",
            value=json.dumps(member),
        )
        return None
    return name


def feature_from(row: int, value: Any, complaints: Complaints, *, geographic: bool) -> Feature | None:  # noqa: ANN401  JSON is untyped
    """One GeoJSON feature, checked; None after a complaint that names its row."""
    try:
        if not isinstance(value, dict) or value.get("type") != "Feature":
            refuse("The row is no GeoJSON feature.", 'Give it "type": "Feature".', "type")
        properties = value.get("properties")
        if properties is None:
            properties = {}
        if not isinstance(properties, dict):
            refuse("The properties are no object.", 'Write "properties": {...}.', "properties")
        geometry = _geometry(value.get("geometry"))
        if geographic:
            check_degrees(geometry)
    except InputError as error:
        complaints.take(error.problems, row=row)
        return None
    return Feature(row, geometry, properties)


def refuse(message: str, mend: str, field: str, value: str | None = None) -> NoReturn:
    """Leave one feature with a problem that does not know its file and row yet."""
    raise InputError.of([Problem(message=message, mend=mend, field=field, value=value)])


def _geometry(value: Any) -> BaseGeometry:  # noqa: ANN401  JSON is untyped
    kind = value.get("type") if isinstance(value, dict) else None
    if not isinstance(kind, str) or kind not in _SINGLE | _MULTI:
        refuse(
            "The feature has no shape that is known." if kind else "The feature has no shape.",
            f"Give its geometry as one of: {', '.join(sorted(_SINGLE | _MULTI))}.",
            "geometry",
            None if kind is None else str(kind),
        )
    coordinates = value.get("coordinates")
    if kind in _SINGLE:
        return _single(kind, coordinates)
    if not isinstance(coordinates, list) or not coordinates:
        refuse(f"The {kind} is empty.", "Draw it, or take the feature out.", "coordinates")
    parts = [_single(kind.removeprefix("Multi"), part) for part in coordinates]
    return _MAKE_MULTI[kind](parts)


def _single(kind: str, coordinates: Any) -> BaseGeometry:  # noqa: ANN401  JSON is untyped
    if kind == "Point":
        return Point(_positions([coordinates], 1)[0])
    if kind == "LineString":
        return LineString(_positions(coordinates, 2))
    if not isinstance(coordinates, list) or not coordinates:
        refuse("The Polygon is empty.", "Draw it, or take the feature out.", "coordinates")
    rings = [_ring(part) for part in coordinates]
    return Polygon(rings[0], rings[1:])


def _ring(value: Any) -> NDArray[np.float64]:  # noqa: ANN401  JSON is untyped
    xy = _positions(value, 3)
    if not np.array_equal(xy[0], xy[-1]):
        refuse(
            "A ring of the polygon is not closed: its first and last positions differ.",
            "Repeat the first position at the end; if the ring was cut short, draw the rest.",
            "coordinates",
            f"{_place(xy[0])} and {_place(xy[-1])}",
        )
    if len(np.unique(xy, axis=0)) < 3:
        refuse("A ring has fewer than three corners.", "Draw the whole edge.", "coordinates")
    return xy


def _positions(value: Any, least: int) -> NDArray[np.float64]:  # noqa: ANN401  JSON is untyped
    if not isinstance(value, list) or len(value) < least:
        refuse(f"The shape needs at least {least} positions.", "Draw the whole of it.", "coordinates")
    for i, position in enumerate(value):
        if not isinstance(position, list) or len(position) < 2 or not all(map(_is_number, position[:2])):
            refuse(
                f"Position {i} is not two numbers.",
                "Write [longitude, latitude] as numbers, decimals with a point.",
                "coordinates",
                str(position)[:60],
            )
    xy = np.array([position[:2] for position in value], dtype=np.float64)
    if not np.isfinite(xy).all():
        bad = int(np.argmin(np.isfinite(xy).all(axis=1)))
        refuse(f"Position {bad} is not finite.", "Write real numbers.", "coordinates", str(value[bad])[:60])
    return xy


def _is_number(value: object) -> bool:
    if isinstance(value, int) and not isinstance(value, bool):
        return value.bit_length() <= _MOST_BITS
    return isinstance(value, float)


def _place(xy: NDArray[np.float64]) -> str:
    return f"[{xy[0]:.6g}, {xy[1]:.6g}]"


def check_degrees(geometry: BaseGeometry) -> None:
    """Refuse a shape whose positions are no longitudes and latitudes.

    Raises
    ------
    InputError
        With the worst position, and whether it looks swapped or in metres.
    """
    xy = shapely.get_coordinates(geometry)
    outside = (np.abs(xy[:, 0]) > 180.0) | (np.abs(xy[:, 1]) > 90.0)
    if not outside.any():
        return
    worst = xy[int(np.argmax(outside))]
    if np.abs(xy[:, 0]).max() <= 360.0 and np.abs(xy[:, 1]).max() <= 90.0:
        mend = "Longitudes go from -180 to 180: count from there, and cut in two what crosses 180°."
    elif (np.abs(xy) > 180.0).any():
        mend = "These look like metres: name their system in a crs member."
    else:
        mend = "Longitude comes first: [longitude, latitude]. These look swapped."
    raise InputError.of(
        [
            Problem(
                message=f"{_place(worst)} is no longitude and latitude.",
                mend=mend,
                field="coordinates",
                value=_place(worst),
                limit="±180°, ±90°",
            )
        ]
    )
