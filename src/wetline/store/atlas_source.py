"""A water file of any size, read a stretch at a time: GeoPackage, FlatGeobuf, Shapefile, GeoJSON and their like."""

from __future__ import annotations

import hashlib
import os
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import numpy as np
import pyogrio
import pyproj

from wetline.errors import InputError, Problem
from wetline.store.problems import Complaints
from wetline.store.whole_file import is_whole
from wetline.water import Chunk

if TYPE_CHECKING:
    from collections.abc import Iterator


__all__ = ["CHUNK", "WaterSource", "open_water_source"]

CHUNK = 200
"""Features that are searched and kept together: what a kill may cost, a second or so."""
_STRETCH_BYTES, _TEXT_STRETCH_BYTES = 128 * 2**20, 512 * 2**20
"""Of the file, read at once: a text is read from its begin each time, so that there it must be long."""
_TEXT = frozenset({".geojson", ".json", ".kml", ".gml"})
_SEEN_WHOLE = frozenset({".gpkg", ".fgb", ".shp"})
"""Read without a word where they are cut or damaged: the others are not."""
_BESIDE = {".shp": (".shx", ".dbf", ".prj", ".cpg")}
_WGS84 = "EPSG:4326"


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterSource:
    """One layer of outlines: how many, in which CRS, under which name field, and its bytes' SHA-256."""

    path: Path
    layer: str
    features: int
    crs: str
    name_field: str | None
    size_bytes: int
    sha256: str

    def chunks(self, first: int = 0) -> Iterator[Chunk]:
        """The features from row `first` (a multiple of `CHUNK`) on, `CHUNK` at a time.

        Raises
        ------
        InputError
            If the file cannot be read on.
        """
        per_byte = self.features / max(self.size_bytes, 1)
        at_once = _TEXT_STRETCH_BYTES if self.path.suffix.lower() in _TEXT else _STRETCH_BYTES
        stretch = max(int(at_once * per_byte) // CHUNK, 1) * CHUNK
        for begin in range(first, self.features, stretch):
            names, shapes = self._read(begin, min(stretch, self.features - begin))
            for i in range(0, len(shapes), CHUNK):
                yield Chunk(
                    begin + i, self.crs, tuple(names[i : i + CHUNK]), tuple(shapes[i : i + CHUNK].tolist())
                )

    def _read(self, begin: int, count: int) -> tuple[list[str | None], np.ndarray[Any, Any]]:
        try:
            _, _, shapes, fields = _quietly(
                pyogrio.raw.read,
                self.path,
                layer=self.layer,
                columns=[] if self.name_field is None else [self.name_field],
                skip_features=begin,
                max_features=count,
                force_2d=True,
            )
        except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError, OSError) as error:
            _refuse(self.path, f"The file cannot be read from row {begin} on: {error}.", "Take a whole copy.")
        if len(shapes) != count:
            _refuse(
                self.path,
                f"The file says that it holds {self.features} features, but gives {begin + len(shapes)}.",
                "Take a whole copy.",
                value=str(begin + len(shapes)),
                limit=str(self.features),
            )
        raw = fields[0] if fields else [None] * count
        return [_name(value) for value in raw], shapes


def open_water_source(path: Path, layer: str | None = None) -> WaterSource:
    """The outlines of a file, looked at but not yet read.

    Raises
    ------
    InputError
        If the file is missing, may not be read, is none of the formats, says no CRS or holds no outlines.
    """
    path = Path(path)
    digest, size_bytes = _fingerprint(path)
    complaints = Complaints(str(path))
    if path.suffix.lower() in _SEEN_WHOLE and not is_whole(path, complaints, any_size=True):
        raise InputError.of(complaints.found)
    layer = _layer(path, layer)
    try:
        info = _quietly(pyogrio.read_info, path, layer=layer, force_feature_count=True)
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        _refuse(path, f"The layer {layer} cannot be read: {error}.", "Take a whole copy.")
    fields = [str(name) for name in info["fields"]]
    return WaterSource(
        path=path,
        layer=layer,
        features=int(info["features"]),
        crs=_crs(path, info["crs"]),
        name_field=next((name for name in fields if name.lower() == "name"), None),
        size_bytes=size_bytes,
        sha256=digest,
    )


def _fingerprint(path: Path) -> tuple[str, int]:
    """SHA-256 over the bytes of the file and those beside it that belong to it, and their number."""
    if not path.exists():
        _refuse(path, "There is no such file.", "See the spelling of the path.")
    if not path.is_file():
        _refuse(path, "This is a folder, not a water file.", "Name the file that holds the outlines.")
    parts = [
        path,
        *(p for end in _BESIDE.get(path.suffix.lower(), ()) if (p := path.with_suffix(end)).exists()),
    ]
    digest, size_bytes = hashlib.sha256(), 0
    try:
        for part in parts:
            with part.open("rb") as stream:
                while block := stream.read(2**20):
                    digest.update(block)
                    size_bytes += len(block)
    except OSError as error:
        _refuse(path, f"The file cannot be read: {error.strerror or error}.", "See that you may read it.")
    return digest.hexdigest(), size_bytes


def _layer(path: Path, asked: str | None) -> str:
    """The layer asked for, or the only one that may hold outlines."""
    try:
        layers = [(str(name), kind) for name, kind in _quietly(pyogrio.list_layers, path)]
    except pyogrio.errors.DataSourceError:
        _refuse(
            path,
            "This is no vector file that can be read, or it is damaged.",
            "Give GeoPackage, FlatGeobuf, Shapefile or GeoJSON; take a whole copy.",
        )
    names = [name for name, _ in layers]
    if asked is not None and asked not in names:
        _refuse(
            path, "There is no such layer.", f"Give one of {', '.join(names)}.", field="layer", value=asked
        )
    areas = [name for name, kind in layers if (asked in {None, name}) and _may_hold_areas(kind)]
    if not areas:
        held = ", ".join(sorted({str(kind) for _, kind in layers})) or "nothing"
        _refuse(path, "The file holds no outlines.", "Give water as polygons.", field="geometry", value=held)
    if len(areas) > 1:
        _refuse(path, "The file holds several layers of outlines.", f"Give --layer: {', '.join(areas)}.")
    return areas[0]


def _name(value: object) -> str | None:
    """A name in words or numbers; None where there is none."""
    if isinstance(value, (float, np.floating)):  # whole numbers among which some are missing come so
        return f"{value:.15g}" if np.isfinite(value) else None
    return None if value is None else str(value).strip() or None


def _may_hold_areas(kind: str | None) -> bool:
    return kind is not None and any(word in kind for word in ("Polygon", "Unknown", "Collection", "Surface"))


def _crs(path: Path, found: str | None) -> str:
    """The CRS as text; plain longitude and latitude on WGS 84 as its code."""
    if found is None:
        _refuse(
            path,
            "The file does not say its coordinate system.",
            "Write it with its CRS: on a guess, every lane would lie in the wrong place.",
            field="crs",
        )
    try:
        crs = pyproj.CRS.from_user_input(found)
    except pyproj.exceptions.CRSError:
        crs = None
    if crs is None or not (crs.is_geographic or crs.is_projected):
        _refuse(
            path,
            "The file's coordinate system says nothing of where on Earth the water lies.",
            "Assign the one it was made in, such as EPSG:32625.",
            field="crs",
            value=found,
        )
    same = crs.is_geographic and crs.equals(pyproj.CRS.from_epsg(4326), ignore_axis_order=True)
    return _WGS84 if same else crs.to_wkt()


def _quietly(read: Any, path: Path, **options: Any) -> Any:  # noqa: ANN401  whatever the reader gives
    """Call a reader without its remarks: what they are about is counted and named by the search."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(os.fspath(path), **options)


def _refuse(path: Path, message: str, mend: str, **where: str) -> NoReturn:
    raise InputError.of([Problem(message=message, mend=mend, file=str(path), **where)])  # type: ignore[arg-type]
