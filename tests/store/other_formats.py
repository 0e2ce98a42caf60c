"""The features of a GeoJSON layer written in other formats by an independent writer (GDAL, through pyogrio)."""

from __future__ import annotations

import json
import shutil
import warnings
import zipfile
from typing import TYPE_CHECKING, Any

import numpy as np
import pyogrio
import shapely
import shapely.geometry

if TYPE_CHECKING:
    from pathlib import Path

DRIVERS = {
    ".gpkg": "GPKG", ".kml": "LIBKML", ".kmz": "LIBKML", ".shp": "ESRI Shapefile", ".fgb": "FlatGeobuf", ".gpx": "GPX",
}  # fmt: skip


def write_as(path: Path, features: list[dict[str, Any]], *, layer: str | None = None, **options: Any) -> None:
    """Write GeoJSON features in the format of the path's ending; lists as JSON text."""
    if path.name.endswith(".zip"):
        plain = path.parent / f"{path.name}.d"
        plain.mkdir()
        stem = path.name.partition(".")[0]
        write_as(plain / f"{stem}.shp", features, layer=layer, **options)
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for part in sorted(plain.iterdir()):
                archive.write(part, f"deep/{part.name}")
        shutil.rmtree(plain)
        return
    shapes = [shapely.geometry.shape(f["geometry"]) for f in features]
    names = list(dict.fromkeys(name for f in features for name in f["properties"]))
    columns = [_column([f["properties"].get(name) for f in features]) for name in names]
    kinds = {s.geom_type for s in shapes}
    geometry_type = kinds.pop() if len(kinds) == 1 else "Unknown"
    if path.suffix == ".shp":  # a shapefile holds one kind, single and multi alike
        geometry_type = shapes[0].geom_type.removeprefix("Multi")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # names cut to ten letters are what a test is about
        pyogrio.raw.write(
            path,
            np.array([shapely.to_wkb(s) for s in shapes], object),
            [values for values, _ in columns],
            names,
            [mask for _, mask in columns],
            layer=layer,
            driver=DRIVERS[path.suffix],
            geometry_type=geometry_type,
            crs=options.pop("crs", "EPSG:4326"),
            **options,
        )


def _column(values: list[Any]) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    mask = np.array([v is None for v in values])
    known = [v for v in values if v is not None]
    if known and all(isinstance(v, bool) for v in known):
        return np.array([bool(v) for v in values]), mask
    if known and all(isinstance(v, int) for v in known):
        return np.array([0 if v is None else v for v in values], np.int64), mask
    if known and all(isinstance(v, (int, float)) for v in known):
        return np.array([0.0 if v is None else v for v in values]), mask
    return np.array([json.dumps(v) if isinstance(v, list) else v for v in values], object), mask
