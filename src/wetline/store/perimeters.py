"""`fire.geojson`: perimeters, each a simple closed edge seen at a time, and the line crews have built."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal, cast

from wetline.model import CrewLine, Fire, Perimeter
from wetline.store.fields import Fields
from wetline.store.shapes import parts_of, shape_on_grid, sound_polygon

if TYPE_CHECKING:
    from shapely.geometry import LineString, MultiPolygon, Polygon

    from wetline.store.geojson import Collection, Feature
    from wetline.store.problems import Complaints
    from wetline.store.vectors import Surroundings

__all__ = ["read_fire"]

_Kind = Literal["fire", "spot", "line"]
_KINDS: tuple[_Kind, ...] = ("fire", "spot", "line")


def read_fire(collection: Collection, around: Surroundings, complaints: Complaints) -> Fire | None:
    """All sound perimeters, oldest first, and the crews' line; None after a complaint without a perimeter.

    An edge that crosses itself is refused, not repaired: which side burns cannot be guessed.
    """
    perimeters: list[Perimeter] = []
    lines: list[CrewLine] = []
    for feature in collection.features:
        fields = Fields(feature.properties, complaints, row=feature.row, zone=around.zone)
        kind = fields.choice("kind", _KINDS) or "fire"
        if kind == "line":
            lines += _lines(feature, fields, collection.crs, around, complaints)
        else:
            perimeters += _perimeter(feature, fields, kind, collection.crs, around, complaints)
    if not collection.features and not complaints.blocked:
        complaints.error(
            "There is no fire in the file.", "Draw its perimeter, with a time.", field="features"
        )
    elif lines and not perimeters and not complaints.blocked:
        complaints.error(
            "There is crews' line in the file, and no fire.", "Draw the fire's perimeter.", field="features"
        )
    if not perimeters:
        return None
    return Fire(
        tuple(sorted(perimeters, key=lambda p: p.time)), tuple(sorted(lines, key=lambda line: line.time))
    )


def _perimeter(
    feature: Feature,
    fields: Fields,
    kind: Literal["fire", "spot"],
    crs: str,
    around: Surroundings,
    complaints: Complaints,
) -> list[Perimeter]:
    """The perimeter of a feature, if it is sound."""
    time = fields.moment("time", required=True)
    name = fields.text("name") or f"{kind} {feature.row}"
    fields.rest()
    wanted = ("Polygon", "MultiPolygon")
    shape = shape_on_grid(feature, crs, around.projection, wanted, complaints, terrain=around.terrain)
    if shape is not None:
        shape = sound_polygon(shape, around.projection, complaints, row=feature.row, crossing="refuse")
    if time is None or shape is None:
        return []
    return [Perimeter(name, kind, time, cast("Polygon | MultiPolygon", shape))]


def _lines(
    feature: Feature, fields: Fields, crs: str, around: Surroundings, complaints: Complaints
) -> list[CrewLine]:
    """The crews' line of a feature, if it is sound: one for each stroke of a multi line."""
    time = fields.moment("time", required=True)
    until = fields.moment("until")
    holds = fields.flag("holds")
    name = fields.text("name") or f"line {feature.row}"
    fields.rest()
    _check_hold(
        fields, time is not None and until is not None and until <= time, given=until is not None, holds=holds
    )
    wanted = ("LineString", "MultiLineString")
    shape = shape_on_grid(feature, crs, around.projection, wanted, complaints, terrain=around.terrain)
    if time is None or shape is None:
        return []
    strokes = [cast("LineString", part) for part in parts_of(shape, ("LineString",))]
    if any(stroke.length <= 0.0 for stroke in strokes):
        fields.error("geometry", "The line has no length.", "Draw it with two different points at least.")
        return []
    whole = CrewLine(name=name, time=time, line=strokes[0], until=until, holds=holds)
    return [replace(whole, line=stroke) for stroke in strokes]


def _check_hold(fields: Fields, ends_first: bool, *, given: bool, holds: bool) -> None:
    """Complain of an end before the beginning or against `holds`; remark where nobody says that it holds."""
    if ends_first:
        fields.error("until", "The line ends before it is built.", "See that until comes after time.")
    elif given and holds:
        fields.error(
            "holds",
            "The line holds for good and until a time: which is meant is unknown.",
            "Keep until, or holds = true.",
        )
    elif not given and not holds and fields.raw("until") is None:
        fields.warning(
            "holds",
            "Nobody says that the line holds: it is drawn and timed, and stops nothing.",
            "Add until = a time with its zone, or holds = true if somebody counts on it for good.",
        )
