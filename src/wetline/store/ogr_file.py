"""GeoPackage, Shapefile (plain or zipped) and FlatGeobuf: features as those of a GeoJSON file."""

from __future__ import annotations

import tempfile
import warnings
import zipfile
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import pyproj
import shapely

from wetline.errors import InputError
from wetline.store.fields import Fields, Untyped
from wetline.store.geojson import Collection, Feature, check_degrees, refuse
from wetline.store.problems import Complaints, counted
from wetline.store.whole_file import is_whole
from wetline.store.zip_file import ARCHIVE_FAILURES, member_bytes, why

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from collections.abc import Set as AbstractSet

    from shapely.geometry.base import BaseGeometry

__all__ = ["layers_in", "names_asked", "read_ogr", "read_zipped", "with_whole_names"]

T = TypeVar("T")

_FAILURES = (RuntimeError, ValueError, OSError, IndexError, NameError, MemoryError)
"""What reading a damaged file raises; a system of coordinates that is no text trips the library itself."""
_SHORT = 10
"""Letters of a name in a shapefile's table (dBASE III)."""
_WANTED = (".shp", ".shx", ".dbf", ".prj", ".cpg")
_MULTI: dict[str, Callable[[list[Any]], BaseGeometry]] = {
    "Point": shapely.MultiPoint,
    "LineString": shapely.MultiLineString,
    "Polygon": shapely.MultiPolygon,
}


def read_ogr(path: Path, layer: str, complaints: Complaints) -> Collection | None:
    """The features of a layer of a file: that of its name, else the only one. None after a complaint."""
    if not is_whole(path, complaints):
        return None
    from pyogrio import raw, read_info  # noqa: PLC0415  heavy, and GeoJSON does without

    name = _layer_of(path, layer, complaints)
    if name is None:
        return None

    def read() -> Collection | None:
        meta, _, shapes, columns = raw.read(path, layer=name, datetime_as_string=True, force_2d=True)
        promised = read_info(path, layer=name)["features"]
        if shapes is not None and 0 <= promised != len(shapes):
            complaints.error(
                f"Only {len(shapes)} of {counted(promised, 'feature')} can be read.",
                "The file is cut short: take a whole copy.", field="features",
                value=str(len(shapes)), limit=str(promised),
            )  # fmt: skip
            return None
        return _collection(path, meta, shapes, columns, complaints)

    return _heard(read, path, complaints)


def read_zipped(path: Path, layer: str, complaints: Complaints) -> Collection | None:
    """The shapefile in an archive: that of the layer's name, else the only one."""
    try:
        with zipfile.ZipFile(path) as archive, tempfile.TemporaryDirectory() as folder:
            stems = {
                str(PurePosixPath(n).with_suffix(""))
                for n in archive.namelist()
                if n.lower().endswith(".shp")
            }
            chosen = {s for s in stems if PurePosixPath(s).name.casefold() == layer.casefold()} or stems
            if len(chosen) != 1:
                complaints.error(
                    f"The archive holds {counted(len(chosen), 'shapefile')}.",
                    f"Keep one, or call the one that counts {layer}.shp.",
                    field="shapefile", value=", ".join(sorted(chosen)) or None, limit="1",
                )  # fmt: skip
                return None
            (stem,) = chosen
            plain = Path(folder) / layer
            for member in archive.namelist():
                ending = PurePosixPath(member).suffix.lower()
                if ending in _WANTED and str(PurePosixPath(member).with_suffix("")) == stem:
                    data = member_bytes(archive, member, complaints)
                    if data is None:
                        return None
                    plain.with_suffix(ending).write_bytes(data)
            return read_ogr(plain.with_suffix(".shp"), layer, complaints)
    except ARCHIVE_FAILURES as error:
        complaints.error(
            f"The file is no sound archive: {why(error)}.", "Take a whole copy, or name it by what it is."
        )
        return None


def layers_in(path: Path, complaints: Complaints) -> tuple[str, ...]:
    """The names of the layers with shapes in a GeoPackage; none after a complaint."""
    if not is_whole(path, complaints):
        return ()
    from pyogrio import list_layers  # noqa: PLC0415  heavy, and GeoJSON does without

    found = _heard(lambda: list_layers(path), path, complaints)
    return () if found is None else tuple(str(name) for name, kind in found if kind is not None)


def _heard(work: Callable[[], T], path: Path, complaints: Complaints) -> T | None:
    """What the library gives; what it warns of becomes remarks on the file, what it raises a complaint."""
    done = None
    with warnings.catch_warnings(record=True) as heard:
        warnings.simplefilter("always")
        try:
            done = work()
        except _FAILURES as error:
            complaints.error(
                f"The file cannot be read: {_words(error, path)}.",
                "It is cut, damaged or of another format: take a whole copy, or save it as GeoJSON.",
            )
    for text in dict.fromkeys(_words(w.message, path) for w in heard):
        complaints.warning(f"The reading library says: {text}.", "See whether anything is missing.")
    return done


def _words(said: object, path: Path) -> str:
    first = (str(said).splitlines() or [type(said).__name__])[0]
    return first.replace(str(path), path.name).replace(str(path.parent), "").rstrip(". ")


def _layer_of(path: Path, layer: str, complaints: Complaints) -> str | None:
    names = layers_in(path, complaints) if path.suffix.lower() == ".gpkg" else (path.stem,)
    if complaints.blocked and not names:
        return None
    called = [name for name in names if name.casefold() == layer.casefold()]
    chosen = called if called else list(names)
    if len(chosen) != 1:
        complaints.error(
            f"The file holds {counted(len(chosen), 'layer')}, and none is called {layer}."
            if not called
            else f"The file holds {counted(len(called), 'layer')} called {layer}.",
            f"Call the one that counts {layer}, or keep one.",
            field="layer", value=", ".join(chosen) or None, limit=layer,
        )  # fmt: skip
        return None
    beside = [name for name in names if name != chosen[0]]
    if beside and path.stem.casefold() == layer.casefold():
        complaints.warning(
            f"Beside the layer {layer} the file holds {', '.join(beside)}: not read.",
            f"Put it into the layer {layer} if it belongs there.", field="layer", value=", ".join(beside),
        )  # fmt: skip
    return chosen[0]


def _collection(
    path: Path,
    meta: dict[str, Any],
    shapes: Any,  # noqa: ANN401  the library is untyped
    columns: list[Any],
    complaints: Complaints,
) -> Collection | None:
    crs = _crs(path, meta["crs"], complaints)
    if crs is None:
        return None
    if shapes is None:
        complaints.error("The layer holds no shapes.", "Take a layer that is drawn.", field="geometry")
        return None
    geographic = pyproj.CRS.from_user_input(crs).is_geographic
    names = [str(name) for name in meta["fields"]]
    flags = [subtype == "OFSTBoolean" for subtype in meta["ogr_subtypes"]]
    short = path.suffix.lower() == ".shp"
    if short:
        _warn_of_zeros(names, columns, flags, complaints)
    features = []
    for row, wkb in enumerate(shapes):
        values = {
            name: _value(column[row], flag=flag)
            for name, column, flag in zip(names, columns, flags, strict=True)
        }
        given = {name: value for name, value in values.items() if value is not None}
        try:
            shape = _shape(wkb)
            if geographic:
                check_degrees(shape)
        except InputError as error:
            complaints.take(error.problems, row=row)
        else:
            features.append(Feature(row, shape, given))
    return Collection(tuple(features), crs, short_names=short)


def _crs(path: Path, given: str | None, complaints: Complaints) -> str | None:
    """The coordinate system of the file, if it says where on Earth it is."""
    if not given:
        beside = f": {path.stem}.prj is missing or empty" if path.suffix.lower() == ".shp" else ""
        complaints.error(
            f"The file does not say its coordinate system{beside}.",
            "Assign the one it was made in, such as EPSG:32625.", field="crs",
        )  # fmt: skip
        return None
    try:
        crs = pyproj.CRS.from_user_input(given)
    except pyproj.exceptions.CRSError:
        crs = None
    if crs is None or not (crs.is_geographic or crs.is_projected):
        complaints.error(
            "The coordinate system says nothing of where on Earth the shapes lie.",
            "Assign the one it was made in, such as EPSG:32625.", field="crs", value=given,
        )  # fmt: skip
        return None
    return given


def _value(value: Any, *, flag: bool) -> object:  # noqa: ANN401  the library is untyped
    """A cell: true or false where the column says so, else text for the field that asks; None if empty."""
    if value is None or value != value:  # noqa: PLR0124  NaN stands for an empty cell
        return None
    if flag:
        return bool(value)
    if isinstance(value, (float, np.floating)) and float(value).is_integer():
        return Untyped(int(value))
    return Untyped(
        value if isinstance(value, str) else repr(value.item() if hasattr(value, "item") else value)
    )


def _shape(wkb: bytes | None) -> BaseGeometry:
    """The shape of a row; a collection of one kind is taken as a multi shape.

    Raises
    ------
    InputError
        If there is none, or none that can be used.
    """
    if wkb is None:
        refuse("The feature has no shape.", "Draw it, or take the feature out.", "geometry")
    shape = shapely.from_wkb(wkb, on_invalid="ignore")
    if shape is None:
        refuse("The shape is broken: a ring may be open or too short.", "Draw it afresh.", "geometry")
    if shape.geom_type == "GeometryCollection":
        shape = _together(shape)
    if shape.is_empty or any(part.is_empty for part in shapely.get_parts(shape)):
        refuse(f"The {shape.geom_type} is empty.", "Draw it, or take the feature out.", "coordinates")
    if not np.isfinite(shapely.get_coordinates(shape)).all():
        refuse("A position is not finite.", "Write real numbers.", "coordinates")
    return shapely.force_2d(shape)


def _together(shape: BaseGeometry) -> BaseGeometry:
    parts = list(_single(shape))
    kinds = {part.geom_type for part in parts}
    if len(kinds) != 1 or not kinds <= set(_MULTI):
        refuse(
            f"The shape is a collection of {' and '.join(sorted(kinds)) or 'nothing'}.",
            "Give each kind a feature of its own.",
            "geometry",
            "GeometryCollection",
        )
    return _MULTI[kinds.pop()](parts)


def _single(shape: BaseGeometry) -> Iterator[BaseGeometry]:
    """The single shapes of a collection, however deep."""
    for part in shapely.get_parts(shape):
        if part.geom_type == "GeometryCollection" or part.geom_type.startswith("Multi"):
            yield from _single(part)
        else:
            yield part


def _warn_of_zeros(names: list[str], columns: list[Any], flags: list[bool], complaints: Complaints) -> None:
    """Remark that a zero may stand for nothing known: tables of this kind have no other way to say it."""
    held = [
        name
        for name, column, flag in zip(names, columns, flags, strict=True)
        if not flag and column.dtype.kind in "iuf" and bool((column == 0).any())
    ]
    if held:
        complaints.warning(
            f"{', '.join(held)} hold 0: some programs write 0 into a shapefile where nothing is known.",
            "See whether 0 is meant; leave the cell empty if not.",
            field=held[0], value="0",
        )  # fmt: skip


def names_asked(make: Callable[[Fields], object]) -> frozenset[str]:
    """The names of all fields that the maker of a layer's things asks for."""
    fields = Fields({}, Complaints(""))
    make(fields)
    return fields.asked


def with_whole_names(collection: Collection, known: AbstractSet[str], complaints: Complaints) -> Collection:
    """Names cut to ten letters completed, where only one known name begins so."""
    if not collection.short_names:
        return collection
    given = {name for feature in collection.features for name in feature.properties}
    whole = {}
    for name in sorted(given - known):
        meant = [k for k in known if len(name) == _SHORT and k.startswith(name)]
        if len(meant) == 1 and meant[0] not in given:
            whole[name] = meant[0]
        elif meant:
            complaints.error(
                f'"{name}" may stand for {" or ".join(sorted(meant))}.',
                "Keep one of them, or save the layer as GeoPackage.", field=name, value=name,
            )  # fmt: skip
    return replace(
        collection,
        features=tuple(
            replace(f, properties={whole.get(name, name): value for name, value in f.properties.items()})
            for f in collection.features
        ),
    )
