"""`fire.geojson`: perimeters, each a simple closed edge seen at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, cast

from wetline.model import Fire, Perimeter
from wetline.store.fields import Fields
from wetline.store.shapes import shape_on_grid, sound_polygon

if TYPE_CHECKING:
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.store.geojson import Collection
    from wetline.store.problems import Complaints
    from wetline.store.vectors import Surroundings

__all__ = ["read_fire"]

_Kind = Literal["fire", "spot"]
_KINDS: tuple[_Kind, ...] = ("fire", "spot")


def read_fire(collection: Collection, around: Surroundings, complaints: Complaints) -> Fire | None:
    """All sound perimeters, oldest first; None after a complaint if there is none.

    An edge that crosses itself is refused, not repaired: which side burns cannot be guessed.
    """
    perimeters = []
    for feature in collection.features:
        fields = Fields(feature.properties, complaints, row=feature.row, zone=around.zone)
        time = fields.moment("time", required=True)
        kind = fields.choice("kind", _KINDS) or "fire"
        name = fields.text("name") or f"{kind} {feature.row}"
        fields.rest()
        shape = shape_on_grid(
            feature,
            collection.crs,
            around.projection,
            ("Polygon", "MultiPolygon"),
            complaints,
            terrain=around.terrain,
        )
        if shape is not None:
            shape = sound_polygon(shape, around.projection, complaints, row=feature.row, crossing="refuse")
        if time is not None and shape is not None:
            perimeters.append(Perimeter(name, kind, time, cast("Polygon | MultiPolygon", shape)))
    if not collection.features and not complaints.blocked:
        complaints.error(
            "There is no fire in the file.", "Draw its perimeter, with a time.", field="features"
        )
    if not perimeters:
        return None
    return Fire(tuple(sorted(perimeters, key=lambda p: p.time)))
