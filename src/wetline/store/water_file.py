"""Any water file, outside an incident: names and outlines in longitude and latitude."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

import shapely

from wetline.errors import InputError, Problem
from wetline.grid import Projection
from wetline.store.frame import projection_for
from wetline.store.geojson import WGS84
from wetline.store.problems import Complaints
from wetline.store.shapes import first_lonlat, shape_on_grid, sound_polygon
from wetline.store.vector_file import read_features

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.store.geojson import Collection, Feature

__all__ = ["WaterFile", "read_water_file"]

_KINDS = ("Polygon", "MultiPolygon")
NamedWater = tuple[str | int, "Polygon | MultiPolygon"]


@dataclass(frozen=True, slots=True)
class WaterFile:
    """Waters by name, or zero-based index where they have none; outlines in lon/lat [deg, WGS 84]."""

    features: tuple[NamedWater, ...]
    warnings: tuple[Problem, ...] = ()

    def __iter__(self) -> Iterator[NamedWater]:
        return iter(self.features)

    def __len__(self) -> int:
        return len(self.features)


def read_water_file(path: Path | str) -> WaterFile:
    """The waters of a file in any declared CRS: GeoJSON, GeoPackage, KML, KMZ, Shapefile, FlatGeobuf. A crossed outline is repaired and warned of.

    Raises
    ------
    InputError
        With every problem, if the file or any of its outlines cannot be used.
    """
    path = Path(path)
    complaints = Complaints(path.name, "water")
    if not path.exists():
        problem = Problem(
            message="There is no such file.", mend="See the spelling of the path.", file=str(path)
        )
        raise InputError.of([problem])
    collection = read_features(path, "water", complaints)
    place = None if collection is None else first_lonlat(collection)
    local = None if place is None else projection_for(*place, complaints)
    waters = []
    if collection is not None and local is not None:
        for feature in collection.features:
            outline = _outline(feature, collection, local, complaints)
            if outline is not None:
                name = feature.properties.get("name")
                called = name if isinstance(name, str) and name.strip() else feature.row
                waters.append((called, outline))
    if complaints.blocked:
        raise InputError.of(complaints.found)
    return WaterFile(tuple(waters), tuple(complaints.found))


def _outline(
    feature: Feature, collection: Collection, local: Projection, complaints: Complaints
) -> Polygon | MultiPolygon | None:
    """The outline in lon/lat as drawn; judged, and repaired where it must be, in local metres."""
    metres = shape_on_grid(feature, collection.crs, local, _KINDS, complaints, terrain=None)
    if metres is None:
        return None
    sound = sound_polygon(metres, local, complaints, row=feature.row, crossing="repair")
    if sound is None:
        return None
    if sound is metres:
        outline = Projection(WGS84).geometry_from(feature.geometry, collection.crs)
    else:
        outline = local.geometry_to_lonlat(sound)
    return cast("Polygon | MultiPolygon", shapely.force_2d(outline))
