"""Shapes brought to grid metres, their kinds and their validity checked."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

import numpy as np
import pyproj
import shapely

from wetline.store.geojson import WGS84

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from wetline.grid import Projection
    from wetline.store.geojson import Collection, Feature
    from wetline.store.problems import Complaints

__all__ = ["Box", "first_lonlat", "lonlat_text", "parts_of", "shape_on_grid", "sound_polygon"]

Box = tuple[float, float, float, float]
"""West, south, east, north [m]."""

_FAR_M = 300_000.0
"""A feature so far from the terrain is likelier misplaced than useful. Common practice, no source."""
_LONGEST_EDGE_M = 300_000.0
_PLACE = re.compile(r"\[(\S+) (\S+)\]")


def lonlat_text(projection: Projection, x: float, y: float) -> str:
    """A place [m] as `[-31.81002, 47.19843]`: longitude, latitude."""
    lon, lat = projection.to_lonlat(x, y)
    return f"[{float(lon):.5f}, {float(lat):.5f}]"


def first_lonlat(collection: Collection) -> tuple[float, float] | None:
    """Longitude and latitude [deg] of the first position in a file, or None if it holds none."""
    if not collection.features:
        return None
    x, y = shapely.get_coordinates(collection.features[0].geometry)[0]
    lon, lat = pyproj.Transformer.from_crs(collection.crs, WGS84, always_xy=True).transform(x, y)
    return (float(lon), float(lat)) if np.isfinite([lon, lat]).all() else None


def shape_on_grid(
    feature: Feature,
    crs: str,
    projection: Projection,
    kinds: Sequence[str],
    complaints: Complaints,
    *,
    terrain: Box | None,
) -> BaseGeometry | None:
    """The shape in grid metres if its kind is wanted; complains and gives None if not.

    A multi shape is taken where its single kind is wanted: `parts_of` splits it. One that would lie
    on the terrain if its longitude and latitude were swapped is refused; one far away is remarked.
    """
    kind = feature.geometry.geom_type
    if kind not in kinds and kind.removeprefix("Multi") not in kinds:
        complaints.error(
            f"A {kind} cannot stand here.",
            f"Draw it as {' or '.join(sorted(kinds))}.",
            row=feature.row,
            field="geometry",
            value=kind,
            limit=", ".join(sorted(kinds)),
        )
        return None
    shape = projection.geometry_from(feature.geometry, crs)
    if not np.isfinite(shapely.get_coordinates(shape)).all():
        complaints.error(
            "The shape cannot be brought to the working coordinate system: it lies a world away.",
            "See that the order is [longitude, latitude] and that the crs member is right.",
            row=feature.row,
            field="coordinates",
        )
        return None
    away = 0.0 if terrain is None else float(shapely.box(*terrain).distance(shape))
    if terrain is not None and away > _FAR_M:
        if _swapped(feature, crs, projection, terrain, complaints):
            return None
        complaints.warning(
            f"The shape lies {away / 1000:.0f} km from the terrain.",
            "See that its coordinates and the crs member are right.",
            row=feature.row,
            field="coordinates",
            value=_first_position(feature),
            limit=f"{_FAR_M / 1000:g} km",
        )
    return shape


def _swapped(
    feature: Feature, crs: str, projection: Projection, terrain: Box, complaints: Complaints
) -> bool:
    """Complain of a shape that lies on the terrain once its coordinates are swapped."""
    turned = shapely.transform(feature.geometry, lambda points: points[:, ::-1])
    if not shapely.box(*terrain).intersects(projection.geometry_from(turned, crs)):
        return False
    complaints.error(
        "The shape lies on the terrain only if its longitude and latitude are swapped.",
        "Write [longitude, latitude], in this order.",
        row=feature.row,
        field="coordinates",
        value=_first_position(feature),
    )
    return True


def _first_position(feature: Feature) -> str:
    x, y = shapely.get_coordinates(feature.geometry)[0]
    return f"[{x:.6g}, {y:.6g}]"


def parts_of(shape: BaseGeometry, kinds: Sequence[str]) -> tuple[BaseGeometry, ...]:
    """The shape itself if its kind is wanted, else its single parts."""
    return (shape,) if shape.geom_type in kinds else tuple(shapely.get_parts(shape))


def sound_polygon(
    shape: BaseGeometry,
    projection: Projection,
    complaints: Complaints,
    *,
    row: int | None,
    crossing: Literal["refuse", "repair"],
) -> BaseGeometry | None:
    """A valid polygon with an area, or None after a complaint that names the place.

    `refuse`: an edge that crosses itself has no inside that can be trusted; one that only touches
    itself is taken apart there. `repair`: both lobes are kept. A warning says so.
    """
    if not shapely.is_valid(shape):
        reason = shapely.is_valid_reason(shape)
        match = _PLACE.search(reason)
        where = lonlat_text(projection, float(match[1]), float(match[2])) if match else "an unknown place"
        what = reason.split("[")[0].lower()
        mended = _polygons_only(shapely.make_valid(shape, method="structure", keep_collapsed=False))
        if crossing == "refuse" and not _only_touches(shape, mended, what):
            complaints.error(
                f"The edge is not a simple closed line: {what} at {where}.",
                "Move the corners there so that the line does not cross itself.",
                row=row,
                field="geometry",
                value=where,
            )
            return None
        shape = mended
        complaints.warning(
            f"The outline was repaired: {what} at {where}.",
            "Look at it on the map; better, redraw it.",
            row=row,
            field="geometry",
            value=where,
        )
    corners = shapely.get_coordinates(shape)
    longest_m = float(np.hypot(*np.diff(corners, axis=0).T).max())
    if longest_m > _LONGEST_EDGE_M:
        complaints.error(
            "One straight piece of the outline is too long to be drawn on purpose: a corner is out of place.",
            "Look at its corners on the map and mend the wrong one.",
            row=row,
            field="geometry",
            value=f"{longest_m / 1000:,.0f} km",
            limit=f"{_LONGEST_EDGE_M / 1000:g} km",
        )
        return None
    if shape.area < 1.0:
        complaints.error(
            "The outline encloses no area.",
            "Draw its edge.",
            row=row,
            field="geometry",
            value=f"{shape.area:.2g} m²",
            limit="1 m²",
        )
        return None
    return shape


def _only_touches(shape: BaseGeometry, mended: BaseGeometry, what: str) -> bool:
    """Whether a ring merely meets itself in a point: then its inside is plain, and keeps its area.

    The area of a ring that crosses itself counts one lobe against the other, or one twice.
    """
    return what.startswith("ring self-intersection") and abs(shape.area - mended.area) <= 1e-6 * mended.area


def _polygons_only(shape: BaseGeometry) -> BaseGeometry:
    parts = [p for p in shapely.get_parts(shape) if p.geom_type in {"Polygon", "MultiPolygon"}]
    return shapely.union_all(parts)
