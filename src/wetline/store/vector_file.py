"""Any file of features, read by what its ending says, into one and the same kind of collection."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.store.files import read_bytes
from wetline.store.geojson import read_collection

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.store.geojson import Collection
    from wetline.store.problems import Complaints

__all__ = ["read_features"]


def read_features(path: Path, layer: str, complaints: Complaints) -> Collection | None:
    """Every sound feature of a layer's file; complaints name the others. None if nothing can be read.

    An ending that is not known is read as GeoJSON.
    """
    name = path.name.casefold()
    if name.endswith(".zip"):
        from wetline.store.ogr_file import read_zipped  # noqa: PLC0415  only where it is asked for

        return read_zipped(path, layer, complaints)
    if name.endswith((".gpkg", ".shp", ".fgb")):
        from wetline.store.ogr_file import read_ogr  # noqa: PLC0415  the same

        return read_ogr(path, layer, complaints)
    if name.endswith(".kmz"):
        from wetline.store.kml import read_kmz  # noqa: PLC0415  the same

        return read_kmz(path, layer, complaints)
    if not name.endswith((".kml", ".gpx")):
        return read_collection(path, complaints)
    data = read_bytes(path, complaints)
    if data is None:
        return None
    if name.endswith(".gpx"):
        from wetline.store.gpx import read_gpx  # noqa: PLC0415  the same

        return read_gpx(data, layer, complaints)
    from wetline.store.kml import read_kml  # noqa: PLC0415  the same

    return read_kml(data, layer, complaints)
