"""Marks as a GeoPackage: a layer of shapes for each kind, and a table that says what they are."""

from __future__ import annotations

import tempfile
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from wetline.store.atlas_schema import parts_of_line
from wetline.store.export import fact_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.store.export import Fact, Mark, Sheet

__all__ = ["geopackage_bytes"]

_CLOCK = "OGR_CURRENT_DATE"
"""What the writing library takes for now: the moment of the answer, so that it is the same again."""


def geopackage_bytes(sheet: Sheet) -> bytes:
    """A GeoPackage, the same bytes for the same marks. An unknown number is null and named in `unknown`."""
    from pyogrio import get_gdal_config_option, raw, set_gdal_config_options  # noqa: PLC0415  heavy

    clock = get_gdal_config_option(_CLOCK)
    set_gdal_config_options({_CLOCK: sheet.time})
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "marks.gpkg"
            said = {"title": sheet.title_of(), "for_time": sheet.time, "cautions": sheet.words()}
            raw.write(
                path, None, [np.array([text], object) for text in said.values()], list(said), layer="about",
                driver="GPKG",
            )  # fmt: skip
            for layer in dict.fromkeys(mark.layer for mark in sheet.marks):
                _write_layer(raw, path, [m for m in sheet.marks if m.layer == layer], sheet)
            return path.read_bytes()
    finally:
        set_gdal_config_options({_CLOCK: clock})


def _write_layer(raw: Any, path: Path, marks: Sequence[Mark], sheet: Sheet) -> None:  # noqa: ANN401  the library is untyped
    names = list(dict.fromkeys(name for mark in marks for name in mark.facts))
    columns: dict[str, NDArray[Any]] = {
        "id": _texts([mark.id for mark in marks]),
        "name": _texts([sheet.title_of(mark) for mark in marks]),
        "level": _texts([mark.level or "not judged" for mark in marks]),
        **{name: _column([mark.facts.get(name) for mark in marks]) for name in names},
        "unknown": _texts([", ".join(mark.unknown) for mark in marks]),
        "description": _texts([mark.words() for mark in marks]),
        "cautions": _texts([sheet.words()] * len(marks)),
    }
    line = len(marks[0].places) > 1
    shapes = [_line(m) if line else shapely.Point(m.places[0]) for m in marks]
    raw.write(
        path, np.array([shapely.to_wkb(shape) for shape in shapes], object), list(columns.values()), list(columns),
        layer=marks[0].layer, driver="GPKG", append=True, crs="EPSG:4326",
        geometry_type="MultiLineString" if line else "Point",
        layer_metadata={"DESCRIPTION": sheet.words(), "IDENTIFIER": f"{sheet.title_of()}: {marks[0].layer}"},
    )  # fmt: skip


def _line(mark: Mark) -> shapely.MultiLineString:
    """In two parts where it crosses the antimeridian: a map would draw it round the world."""
    return shapely.MultiLineString([p for pair in pairwise(mark.places) for p in parts_of_line(*pair)])


def _texts(values: Sequence[str]) -> NDArray[Any]:
    return np.array(list(values), object)


def _column(facts: Sequence[Fact]) -> NDArray[Any]:
    """Numbers with NaN, which is written as null, or words with `unknown`."""
    if all(fact is None or (isinstance(fact, (int, float)) and not isinstance(fact, bool)) for fact in facts):
        return np.array([np.nan if fact is None else float(fact) for fact in facts], np.float64)
    return _texts([fact_words(fact) for fact in facts])
