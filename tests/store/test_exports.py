"""What is carried to a receiver, a globe or a map: the open standards kept, nothing unknown left blank."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import pyogrio
import pytest
import shapely

from wetline.store import Mark, Sheet, geopackage_bytes, gpx_text, kml_text

if TYPE_CHECKING:
    from pathlib import Path

CAUTION = "Planning aid; others decide."
LANE = Mark(
    layer="lanes", id="S1", name="S1 Skell <Mere> & Älv\x0b 241°", level="unknown",
    places=((-31.56903, 47.188623), (-31.600855, 47.176615)),
    facts={"length_m": 2757, "depth_m": None, "class": "twin_engine_scooper"}, said=("unknown (waves): nobody looked.",),
)  # fmt: skip
OTHER = Mark(
    layer="lanes", id="S2", name="S2 Tarn", level="stop", places=LANE.places[::-1], facts={"depth_m": 4.5}
)
DIP = Mark(
    layer="dip_sites", id="D1", name="D1 Skell", level="clear", places=((-31.7, 47.1),), facts={"salt": None}
)
BASE = Mark(
    layer="bases", id="Halm", name="Halm", level=None, places=((-31.8, 47.2),), facts={"agents": None}
)
SHEET = Sheet(title="Ketter: where to fill", time="2026-08-14T14:30:00Z", cautions=(CAUTION,),
              marks=(LANE, OTHER, DIP, BASE))  # fmt: skip
GPX, KML = "{http://www.topografix.com/GPX/1/1}", "{http://www.opengis.net/kml/2.2}"


@pytest.fixture(params=["gpx", "kml", "gpkg"])
def path(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / f"marks.{request.param}"
    path.write_bytes(data_of(request.param, SHEET))
    return path


def data_of(ending: str, sheet: Sheet) -> bytes:
    if ending == "gpkg":
        return geopackage_bytes(sheet)
    return (gpx_text(sheet) if ending == "gpx" else kml_text(sheet)).encode()


def shapes(path: Path, layer: str) -> list[Any]:
    meta, _, wkb, columns = pyogrio.raw.read(path, layer=layer)
    names = columns[[str(f).casefold() for f in meta["fields"]].index("name")]
    return list(zip(names, shapely.from_wkb(wkb), strict=True))


@pytest.mark.property
def test_an_independent_reader_finds_every_mark_where_it_is(path: Path) -> None:
    """GDAL, to a centimetre: seven decimals of a degree."""
    lanes, points = ("routes", ["waypoints"]) if path.suffix == ".gpx" else ("lanes", ["dip_sites", "bases"])
    for mark, (name, line) in zip((LANE, OTHER), shapes(path, lanes), strict=True):
        assert name == mark.title
        np.testing.assert_allclose(shapely.get_coordinates(line), mark.places, atol=1e-7)
    found = [pair for layer in points for pair in shapes(path, layer)]
    assert [name for name, _ in found] == [DIP.title, BASE.title]
    np.testing.assert_allclose(
        shapely.get_coordinates([p for _, p in found]), [DIP.places[0], BASE.places[0]], atol=1e-7
    )


@pytest.mark.derived
def test_a_lane_across_the_antimeridian_is_not_drawn_round_the_world(tmp_path: Path) -> None:
    """RFC 7946, 3.1.9: cut at ±180°; 0.01° of the 0.03° of longitude lie before, so 0.01° of the 0.03° of latitude."""
    lane = Mark(
        layer="lanes", id="S1", name="S1", level=None, places=((179.99, 65.0), (-179.98, 65.03)), facts={}
    )
    path = tmp_path / "marks.gpkg"
    path.write_bytes(
        geopackage_bytes(Sheet(title="Ketter", time=SHEET.time, cautions=(CAUTION,), marks=(lane,)))
    )
    ((_, line),) = shapes(path, "lanes")
    assert [list(part.coords) for part in line.geoms] == [
        [(179.99, 65.0), pytest.approx((180.0, 65.01))],
        [pytest.approx((-180.0, 65.01)), (-179.98, 65.03)],
    ]


@pytest.mark.behaviour
def test_the_standing_is_in_the_name_and_nothing_is_called_clear(path: Path) -> None:
    text = path.read_bytes().decode(errors="replace")
    assert "UNKNOWN, look first" in text
    assert "S2 Tarn - REJECTED" in text
    assert "clear" not in DIP.title
    assert "depth_m: unknown" in text
    assert CAUTION in text
    assert SHEET.time in text


@pytest.mark.behaviour
def test_an_exercise_says_so_in_every_name(tmp_path: Path) -> None:
    drill = Sheet(title="Ketter", time=SHEET.time, cautions=(CAUTION,), marks=(DIP,), exercise=True)
    for ending in ("gpx", "kml", "gpkg"):
        path = tmp_path / f"drill.{ending}"
        path.write_bytes(data_of(ending, drill))
        ((name, _),) = shapes(path, "waypoints" if ending == "gpx" else "dip_sites")
        assert name.startswith("EXERCISE - D1")


@pytest.mark.memory
def test_gpx_has_its_elements_in_the_order_of_the_schema() -> None:
    """GPX 1.1 schema, gpxType, metadataType, wptType and rteType (from memory)."""
    root = ET.fromstring(gpx_text(SHEET))  # noqa: S314  our own text
    assert root.tag == f"{GPX}gpx"
    assert root.attrib["version"] == "1.1"
    assert root.attrib["creator"]
    assert [e.tag.removeprefix(GPX) for e in root] == ["metadata", "wpt", "wpt", "rte", "rte"]
    order = ["name", "cmt", "desc", "src", "link", "number", "sym", "type", "time", "rtept"]
    for thing in root:
        places = [order.index(e.tag.removeprefix(GPX)) for e in thing]
        assert places == sorted(places)
    for point in root.iter(f"{GPX}rtept"):
        assert abs(float(point.attrib["lat"])) <= 90
        assert abs(float(point.attrib["lon"])) <= 180


@pytest.mark.memory
def test_kml_has_its_elements_in_the_order_of_the_schema() -> None:
    """OGC 07-147r2 (KML 2.2), AbstractFeatureType: name, description, ExtendedData, geometry (from memory)."""
    root = ET.fromstring(kml_text(SHEET))  # noqa: S314  our own text
    assert [e.tag for e in root] == [f"{KML}Document"]
    order = ["name", "description", "ExtendedData", "Point", "LineString"]
    for mark in root.iter(f"{KML}Placemark"):
        places = [order.index(e.tag.removeprefix(KML)) for e in mark]
        assert places == sorted(places)
        assert all(v.find(f"{KML}value") is not None for v in mark.iter(f"{KML}Data"))


@pytest.mark.memory
def test_geopackage_has_the_tables_that_the_standard_asks_for(tmp_path: Path) -> None:
    """OGC 12-128r17 (GeoPackage 1.3), application id and required tables (from memory); read by SQLite alone."""
    path = tmp_path / "marks.gpkg"
    path.write_bytes(geopackage_bytes(SHEET))
    database = sqlite3.connect(path)
    try:
        (number,) = database.execute("PRAGMA application_id").fetchone()
        tables = {name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        kinds = dict(database.execute("SELECT table_name, data_type FROM gpkg_contents"))
        systems = {srs for (srs,) in database.execute("SELECT srs_id FROM gpkg_geometry_columns")}
        rows = database.execute("SELECT id, depth_m, unknown, level FROM lanes ORDER BY fid").fetchall()
        (cautions,) = database.execute("SELECT cautions FROM about").fetchone()
    finally:
        database.close()
    assert number == 0x47504B47
    assert {"gpkg_spatial_ref_sys", "gpkg_contents", "gpkg_geometry_columns"} <= tables
    assert kinds == {"about": "attributes", "lanes": "features", "dip_sites": "features", "bases": "features"}
    assert systems == {4326}
    assert rows == [("S1", None, "depth_m", "unknown"), ("S2", 4.5, "", "stop")]
    assert CAUTION in cautions


@pytest.mark.property
@pytest.mark.parametrize("ending", ["gpx", "kml", "gpkg"])
def test_the_same_marks_give_the_same_bytes(ending: str) -> None:
    assert data_of(ending, SHEET) == data_of(ending, SHEET)


@pytest.mark.behaviour
@pytest.mark.parametrize("ending", ["gpx", "kml", "gpkg"])
def test_no_mark_at_all_still_says_what_it_is(ending: str) -> None:
    nothing = Sheet(title="Ketter", time=SHEET.time, cautions=(CAUTION,), marks=())
    assert CAUTION.encode() in data_of(ending, nothing)
