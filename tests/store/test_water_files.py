"""A water file outside any incident."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from store.folder_maker import box_ring, feature, ring, write_features
from store.other_formats import write_as
from wetline.errors import InputError
from wetline.store import read_water_file

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

BOX = (594_000.0, 5_226_000.0, 595_500.0, 5_227_000.0)


def test_names_or_indexes_come_with_outlines_in_degrees(tmp_path: Path) -> None:
    path = tmp_path / "any.geojson"
    outline = [box_ring(*BOX)]
    write_features(path, feature("Polygon", outline, name="Skell"), feature("Polygon", outline))
    waters = list(read_water_file(path))
    assert [name for name, _ in waters] == ["Skell", 1]
    assert shapely.get_coordinates(waters[0][1]).tolist() == outline[0]


def test_any_declared_system_is_read(tmp_path: Path) -> None:
    path = tmp_path / "any.geojson"
    west, south, east, north = BOX
    square = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    write_features(
        path, feature("Polygon", [square]), crs={"type": "name", "properties": {"name": "EPSG:32625"}}
    )
    ((_, outline),) = read_water_file(path)
    np.testing.assert_allclose(shapely.get_coordinates(outline), box_ring(*BOX), atol=1e-8)


def test_a_crossed_shore_is_repaired_and_warned_of(tmp_path: Path) -> None:
    path = tmp_path / "any.geojson"
    west, south, east, north = BOX
    tie = ring([(west, south), (east, north), (east, south), (west, north)])
    write_features(path, feature("Polygon", [tie], name="Skell"))
    waters = read_water_file(path)
    ((_, outline),) = waters
    assert outline.is_valid
    assert outline.geom_type == "MultiPolygon"
    assert [p.row for p in waters.warnings] == [0]
    assert outline.distance(shapely.Point(box_ring(*BOX)[0])) < 1e-6


@pytest.mark.parametrize("text", ["", "{", '{"type": "Polygon", "coordinates": [[[0, 0]]]}'])
def test_what_is_no_water_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "any.geojson"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_water_file(path)
    assert caught.value.problems[0].file == "any.geojson"


def test_a_path_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_water_file(tmp_path / "none.geojson")


def test_every_bad_outline_is_named(tmp_path: Path) -> None:
    path = tmp_path / "any.geojson"
    write_features(
        path,
        feature("Point", [0.0, 0.0]),
        feature("Polygon", [box_ring(*BOX)]),
        feature("Polygon", [[[0.0, 0.0], [1.0, 0.0]]]),
    )
    with pytest.raises(InputError) as caught:
        read_water_file(path)
    assert {p.row for p in caught.value.problems} == {0, 2}


def test_a_file_of_no_feature_holds_no_water(tmp_path: Path) -> None:
    path = tmp_path / "any.geojson"
    write_features(path)
    assert len(read_water_file(path)) == 0


@pytest.mark.parametrize("ending", [".gpkg", ".fgb", ".kml", ".kmz", ".shp", ".zip"])
def test_a_water_file_may_have_any_format(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"lakes{ending}"
    write_as(path, [feature("Polygon", [box_ring(*BOX)], name="Skell Mere")])
    ((name, outline),) = read_water_file(path)
    assert name == "Skell Mere"
    ((_, drawn),) = read_water_file(drawn_as_geojson(tmp_path))
    assert shapely.normalize(outline).equals_exact(shapely.normalize(drawn), 1e-9)


def drawn_as_geojson(folder: Path) -> Path:
    path = folder / "drawn.geojson"
    write_features(path, feature("Polygon", [box_ring(*BOX)], name="Skell Mere"))
    return path


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_a_flat_file_cut_short_is_refused(tmp_path: Path, share: float) -> None:
    path = tmp_path / "lakes.fgb"
    write_as(path, [feature("Polygon", [box_ring(*BOX)], name=f"Skell {k}") for k in range(20)])
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    with pytest.raises(InputError):
        read_water_file(path)
