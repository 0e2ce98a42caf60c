"""Where each layer of an incident stands: the files that a folder may hold, under whatever ending."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from wetline.store.problems import Complaints
from wetline.store.settings import COVERED

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["FILES", "NEEDED", "RASTERS", "SHARED", "find_files"]

RASTERS = ("terrain", "fuels", "canopy_cover", "canopy_height", "canopy_base", "canopy_bulk")
FEATURES = ("fire", *COVERED)
FILES: Mapping[str, str] = MappingProxyType(
    {
        "incident": "incident.toml",
        **{name: f"{name}.tif" for name in RASTERS},
        "fire": "fire.geojson",
        "weather": "weather.csv",
        "fleet": "fleet.toml",
        "drop_tests": "drop_tests.csv",
        **{name: f"{name}.geojson" for name in COVERED},
    }
)
"""The usual file by layer, in the order in which problems are reported."""
NEEDED = ("incident", "terrain", "fuels", "fire")
SHARED = "incident.gpkg"
"""A GeoPackage that may hold any of the feature layers under their names."""
_FEATURE_ENDINGS = (".geojson", ".json", ".gpkg", ".kml", ".kmz", ".gpx", ".shp", ".shp.zip", ".zip")
_WEATHER_ENDINGS = (".csv", ".nc", ".grib", ".grib2", ".grb", ".grb2")
_BESIDE_SHAPEFILE = (".shx", ".dbf", ".prj", ".cpg", ".qpj", ".qix", ".sbn", ".sbx", ".qmd", ".xml")
_BESIDE_GEOPACKAGE = (".gpkg-wal", ".gpkg-shm", ".gpkg-journal")


def find_files(folder: Path, whole: Complaints) -> tuple[dict[str, Path], dict[str, Complaints]]:
    """The file of each layer that is there and the notes on every layer.

    A layer that stands in two files has notes and no file: neither can be believed. Complains of the
    whole folder where a file looks like a layer and is not read, so that none is absent unseen.
    """
    names = sorted(path.name for path in folder.iterdir())
    found: dict[str, list[Path]] = {layer: [] for layer in FILES}
    for name in names:
        layer = _layer_of(name)
        if layer is not None:
            found[layer].append(folder / name)
    if SHARED in names:
        _share(folder / SHARED, found, whole)
    notes = {
        layer: Complaints(files[0].name if files else FILES[layer], layer) for layer, files in found.items()
    }
    for layer, files in found.items():
        if len(files) > 1:
            both = " and ".join(path.name for path in files)
            notes[layer].error(
                f"The layer {layer} stands in {len(files)} files: {both}.",
                "Keep the one that counts; put the others elsewhere.",
                field="file", value=both, limit="1 file",
            )  # fmt: skip
    _warn_of_others(names, found, whole)
    return {layer: files[0] for layer, files in found.items() if len(files) == 1}, notes


def _layer_of(name: str) -> str | None:
    """The layer whose file this may be."""
    stem, dot, rest = name.casefold().partition(".")
    ending = dot + rest
    if (stem in FEATURES and ending in _FEATURE_ENDINGS) or (
        stem == "weather" and ending in _WEATHER_ENDINGS
    ):
        return stem
    return stem if name == FILES.get(stem) else None


def _share(path: Path, found: dict[str, list[Path]], whole: Complaints) -> None:
    """Add the common GeoPackage to the files of each layer that it holds."""
    from wetline.store.ogr_file import layers_in  # noqa: PLC0415  only where there is one

    notes = Complaints(path.name)
    for name in layers_in(path, notes):
        layer = name.casefold()
        if layer in FEATURES:
            found[layer].append(path)
        else:
            notes.warning(
                f"The layer {name} is not read.", f"Call it one of: {', '.join(FEATURES)}.",
                field="layer", value=name,
            )  # fmt: skip
    whole.found.extend(notes.found)


def _warn_of_others(names: list[str], found: Mapping[str, list[Path]], whole: Complaints) -> None:
    read = {path.name for files in found.values() for path in files}
    shapefiles = {name.casefold().partition(".")[0] for name in read if name.casefold().endswith(".shp")}
    for name in names:
        stem, _, ending = name.casefold().rpartition(".")
        layer = stem.partition(".")[0]
        beside = (
            layer in shapefiles and f".{ending}" in _BESIDE_SHAPEFILE
        ) or f".{ending}" in _BESIDE_GEOPACKAGE
        if name in read or beside or stem not in found or found[stem]:
            continue
        endings = _FEATURE_ENDINGS if stem in FEATURES else _WEATHER_ENDINGS
        known = (
            ", ".join(f"{stem}{e}" for e in endings) if stem in FEATURES or stem == "weather" else FILES[stem]
        )
        whole.warning(
            f"{name} is not read; the layer {stem} is read from {known}.",
            f"Convert or rename it to {FILES[stem]}.",
            field=stem, value=name, limit=FILES[stem],
        )  # fmt: skip
