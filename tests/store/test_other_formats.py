"""A layer is the same thing in whatever format it comes; a file that is not sound is named."""

from __future__ import annotations

import json
import shutil
from dataclasses import fields as fields_of
from typing import TYPE_CHECKING, Any

import numpy as np
import pyogrio
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from store.asking import errors, the_error, warnings_of
from store.folder_maker import FIRE_TIME, box_ring, circle_ring, feature, lonlat, make_folder, write_features
from store.other_formats import write_as
from wetline.grid import Projection
from wetline.store import read_incident
from wetline.store.fields import Untyped
from wetline.store.geojson import Collection, Feature
from wetline.store.ogr_file import with_whole_names
from wetline.store.problems import Complaints
from wetline.store.vector_file import read_features

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.store import Incident

LAKE = [box_ring(594_000, 5_226_000, 595_500, 5_227_000)]
ISLES = [box_ring(593_000, 5_228_000, 593_900, 5_229_000), box_ring(593_300, 5_228_300, 593_500, 5_228_500)]
NOON, LATER = "2026-08-14T12:00:00Z", "2026-08-14T13:30:00+00:00"

LAYERS: dict[str, list[dict[str, Any]]] = {
    "water": [
        feature("Polygon", LAKE, name="Skell Mere", kind="lake", depth_m=6.25, depth_date="2026-06-02", salt=False,
                looked_at=NOON, swell_m=0.4, swell_from_deg=225, swell_at=NOON),
        feature("MultiPolygon", [LAKE, ISLES], name="Älv 7", kind="sea", salt=True, closed="boats", current_mps=1.5),
        feature("Polygon", ISLES, name="12", kind="pond"),
    ],
    "bases": [
        feature("Point", lonlat(590_600, 5_225_600), name="Halm Field", kind="airfield", runway_m=1800,
                agents=["water", "retardant"], elevation_m=420.5, reload_min=12, stock_l=90_000, mix_l_per_h=30_000,
                fuel=True, load_while_fuelling=False),
        feature("Point", lonlat(591_600, 5_225_900), name="Orr Strip", kind="tanker_base", pits=2),
    ],
    "dips": [
        feature("Point", lonlat(594_700, 5_226_500), name="North tank", kind="tank", volume_l=20_000,
                refill_l_per_min=450, salt=False, looked_at=LATER),
        feature("Point", lonlat(594_800, 5_226_500), name="Quay", kind="water", depth_m=3.5, closed="wire"),
    ],
    "hazards": [
        feature("LineString", [lonlat(591_000, 5_226_000), lonlat(593_000, 5_229_000)], name="Line 4", kind="wire",
                height_m=35),
        feature("MultiLineString", [[lonlat(591_000, 5_226_000), lonlat(593_000, 5_226_500)],
                [lonlat(591_000, 5_227_000), lonlat(592_000, 5_227_000)]], name="Line 5", kind="cableway"),
    ],
    "people": [
        feature("Polygon", [box_ring(592_000, 5_229_000, 592_300, 5_229_300)], name="Houses", kind="houses", count=12,
                weight=2.5),
        feature("Polygon", [box_ring(593_000, 5_229_000, 593_300, 5_229_300)], name="Crew", kind="crew", count=8,
                seen=LATER, tools="hand"),
    ],
    "avoid": [feature("Polygon", LAKE, name="Shore", kind="waterway_buffer", rule="no retardant", agents=["retardant", "gel"])],
    "roads": [feature("LineString", [lonlat(591_000, 5_226_000), lonlat(593_000, 5_229_000)], name="Road 1", width_m=4.5)],
    "fire": [
        feature("Polygon", [circle_ring(592_500, 5_227_600, 200_000.0)], name="Ketter", kind="fire",
                time=FIRE_TIME.isoformat()),
        feature("Polygon", [circle_ring(593_300, 5_227_900, 9_000.0)], name="Spot", kind="spot", time=NOON),
    ],
}  # fmt: skip


def layer_of(incident: Incident, layer: str) -> list[Any]:
    """The things of a layer as read."""
    if layer == "fire":
        return [*incident.fire.perimeters, *incident.fire.lines]
    return list(getattr(incident.ground, layer))


def same(one: Any, other: Any) -> bool:
    """Whether two things are alike in every field; shapes to a micrometre, wherever a ring begins."""
    for field in fields_of(one):
        a, b = getattr(one, field.name), getattr(other, field.name)
        if isinstance(a, BaseGeometry):
            if not shapely.normalize(a).equals_exact(shapely.normalize(b), 1e-6):
                return False
        elif a != b:
            return False
    return True


def refused(path: Path) -> bool:
    """Whether a file is refused, each problem with its mend and nothing of the machine in it."""
    notes = Complaints(path.name, "water")
    read_features(path, "water", notes)
    assert all(p.mend and str(path.parent) not in p.message for p in notes.found)
    return notes.blocked


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = make_folder(tmp_path_factory.mktemp("drawn") / "incident")
    for layer, features in LAYERS.items():
        write_features(path / f"{layer}.geojson", *features)
    return path


@pytest.fixture(scope="module")
def wanted(drawn: Path) -> dict[str, list[Any]]:
    return {layer: layer_of(read_incident(drawn), layer) for layer in LAYERS}


@pytest.mark.property
@pytest.mark.parametrize("ending", [".gpkg", ".kml", ".kmz", ".shp", ".zip", ".shp.zip"])
def test_a_layer_is_the_same_in_every_format(
    drawn: Path, wanted: dict[str, list[Any]], tmp_path: Path, ending: str
) -> None:
    folder = tmp_path / "incident"
    shutil.copytree(drawn, folder)
    for layer, features in LAYERS.items():
        (folder / f"{layer}.geojson").unlink()
        write_as(folder / f"{layer}{ending}", features, layer=layer)
    incident = read_incident(folder)
    for layer in LAYERS:
        for one, other in zip(wanted[layer], layer_of(incident, layer), strict=True):
            assert same(one, other), (one, other)


@pytest.mark.property
@pytest.mark.parametrize("ending", [".gpkg", ".shp"])
def test_a_layer_is_the_same_in_every_system(
    drawn: Path, wanted: dict[str, list[Any]], tmp_path: Path, ending: str
) -> None:
    """Written in metres of another zone, read back to a millimetre."""
    folder = tmp_path / "incident"
    shutil.copytree(drawn, folder)
    (folder / "roads.geojson").unlink()
    moved = [
        {**f, "geometry": json.loads(shapely.to_geojson(
            Projection("EPSG:32626").geometry_from(shapely.geometry.shape(f["geometry"]), "EPSG:4326")))}
        for f in LAYERS["roads"]
    ]  # fmt: skip
    write_as(folder / f"roads{ending}", moved, crs="EPSG:32626")
    (one,), (other,) = wanted["roads"], layer_of(read_incident(folder), "roads")
    assert one.line.equals_exact(other.line, 1e-3)


@pytest.mark.property
def test_layers_may_share_one_geopackage(drawn: Path, wanted: dict[str, list[Any]], tmp_path: Path) -> None:
    folder = tmp_path / "incident"
    shutil.copytree(drawn, folder)
    for k, (layer, features) in enumerate(LAYERS.items()):
        (folder / f"{layer}.geojson").unlink()
        write_as(folder / "incident.gpkg", features, layer=layer, append=k > 0)
    incident = read_incident(folder)
    for layer in LAYERS:
        pairs = zip(wanted[layer], layer_of(incident, layer), strict=True)
        assert all(same(one, other) for one, other in pairs), layer


@pytest.mark.behaviour
@pytest.mark.parametrize("name", ["Water.geojson", "water.GEOJSON", "water.json"])
def test_letters_and_short_endings_do_not_hide_a_layer(folder: Path, name: str) -> None:
    (folder / "water.geojson").rename(folder / name)
    assert len(read_incident(folder).ground.water) == 1


@pytest.mark.behaviour
def test_two_files_for_one_layer_are_named(folder: Path) -> None:
    write_as(folder / "water.gpkg", LAYERS["water"])
    problem = the_error(folder)
    assert problem.layer == "water"
    assert problem.value == "water.geojson and water.gpkg"


@pytest.mark.behaviour
def test_a_shared_geopackage_beside_the_layers_own_file_is_named(folder: Path) -> None:
    write_as(folder / "incident.gpkg", LAYERS["water"], layer="water")
    assert the_error(folder).value == "water.geojson and incident.gpkg"


@pytest.mark.behaviour
def test_a_geopackage_of_several_other_layers_is_asked_about(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    write_as(folder / "water.gpkg", LAYERS["water"], layer="lakes")
    write_as(folder / "water.gpkg", LAYERS["water"][2:], layer="ponds", append=True)
    problem = the_error(folder)
    assert (problem.file, problem.field, problem.value) == ("water.gpkg", "layer", "lakes, ponds")


@pytest.mark.behaviour
def test_a_layer_beside_the_named_one_is_remarked(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    write_as(folder / "water.gpkg", LAYERS["water"][:1], layer="water")
    write_as(folder / "water.gpkg", LAYERS["water"][2:], layer="ponds", append=True)
    (problem,) = warnings_of(folder, "water.gpkg")
    assert problem.value == "ponds"


@pytest.mark.behaviour
@pytest.mark.parametrize("ending", [".gpkg", ".kml", ".shp"])
def test_a_value_that_is_wrong_is_named_with_its_row(folder: Path, ending: str) -> None:
    (folder / "hazards.geojson").unlink()
    wrong = [feature("LineString", LAYERS["hazards"][0]["geometry"]["coordinates"], name=f"Line {k}", kind="wire",
                     height_m=h) for k, h in enumerate((35.0, 9000.0))]  # fmt: skip
    write_as(folder / f"hazards{ending}", wrong)
    problem = the_error(folder)
    assert (problem.file, problem.layer, problem.row) == (f"hazards{ending}", "hazards", 1)
    assert (problem.field, problem.limit) == ("height_m", "0 to 700 m")
    assert problem.value == "9000"


@pytest.mark.behaviour
def test_a_decimal_comma_is_named_not_guessed(folder: Path) -> None:
    (folder / "hazards.geojson").unlink()
    wrong = [
        feature(
            "LineString",
            LAYERS["hazards"][0]["geometry"]["coordinates"],
            name="A",
            kind="wire",
            height_m="3,5",
        )
    ]
    write_as(folder / "hazards.kml", wrong)
    problem = the_error(folder)
    assert (problem.field, problem.value) == ("height_m", "3,5")
    assert "point" in problem.mend


@pytest.mark.behaviour
def test_an_empty_cell_is_unknown_never_nought(folder: Path) -> None:
    (folder / "hazards.geojson").unlink()
    line = LAYERS["hazards"][0]["geometry"]["coordinates"]
    rows = [feature("LineString", line, name="A", kind="wire", height_m=35),
            feature("LineString", line, name="B", kind="wire", height_m=None)]  # fmt: skip
    write_as(folder / "hazards.shp", rows)
    assert [h.height_m for h in read_incident(folder).ground.hazards] == [35.0, None]


@pytest.mark.behaviour
def test_nought_in_a_shapefile_is_remarked(folder: Path) -> None:
    """Some programs write 0 into a table where nothing is known; a wire of 0 m stands in no way."""
    (folder / "hazards.geojson").unlink()
    line = LAYERS["hazards"][0]["geometry"]["coordinates"]
    write_as(folder / "hazards.shp", [feature("LineString", line, name="A", kind="wire", height_m=0)])
    (problem,) = warnings_of(folder, "hazards.shp")
    assert (problem.field, problem.value) == ("height_m", "0")


@pytest.mark.behaviour
@pytest.mark.parametrize("time", ["2026-08-14T12:00:00", "2026-08-14 12:00", "2026-08-14"])
def test_a_time_without_a_zone_is_refused_in_a_geopackage(folder: Path, time: str) -> None:

    (folder / "fire.geojson").unlink()
    ring = shapely.to_wkb(shapely.Polygon(circle_ring(592_500, 5_227_600, 200_000.0)))
    pyogrio.raw.write(folder / "fire.gpkg", np.array([ring], object), [np.array([time], "datetime64[ms]")], ["time"],
                      driver="GPKG", geometry_type="Polygon", crs="EPSG:4326")  # fmt: skip
    assert the_error(folder).field == "time"


@pytest.mark.behaviour
def test_a_geopackage_time_in_utc_is_read(folder: Path) -> None:

    (folder / "fire.geojson").unlink()
    ring = shapely.to_wkb(shapely.Polygon(circle_ring(592_500, 5_227_600, 200_000.0)))
    when = np.array(["2026-08-14T12:00:00"], "datetime64[ms]")
    pyogrio.raw.write(folder / "fire.gpkg", np.array([ring], object), [when], ["time"], driver="GPKG",
                      geometry_type="Polygon", crs="EPSG:4326", gdal_tz_offsets={"time": np.array([100])})  # fmt: skip
    assert read_incident(folder).now == FIRE_TIME


@pytest.mark.behaviour
@pytest.mark.parametrize("lost", [".shx", ".dbf", ".prj"])
def test_a_part_of_a_shapefile_that_is_missing_is_named(folder: Path, lost: str) -> None:
    (folder / "water.geojson").unlink()
    write_as(folder / "water.shp", LAYERS["water"])
    (folder / f"water{lost}").unlink()
    problem = the_error(folder)
    assert problem.file == "water.shp"
    assert f"water{lost} is missing" in problem.message


@pytest.mark.behaviour
def test_parts_of_two_shapefiles_are_not_mixed(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    write_as(folder / "water.shp", LAYERS["water"])
    write_as(folder / "other.shp", LAYERS["water"][:1])
    (folder / "other.dbf").replace(folder / "water.dbf")
    assert "do not belong together" in the_error(folder).message


@pytest.mark.behaviour
def test_a_name_cut_to_ten_letters_that_may_mean_two_is_refused() -> None:

    notes = Complaints("water.shp", "water")
    cut = Collection((Feature(0, shapely.Point(), {"swell_from": Untyped("9")}),), short_names=True)
    with_whole_names(cut, {"swell_from_deg", "swell_from_m"}, notes)
    assert notes.blocked
    notes = Complaints("water.shp", "water")
    whole = with_whole_names(cut, {"swell_from_deg", "name"}, notes)
    assert dict(whole.features[0].properties) == {"swell_from_deg": "9"}
    assert not notes.found


@pytest.mark.property
@pytest.mark.parametrize("ending", [".gpkg", ".kml", ".kmz", ".shp", ".zip", ".gpx"])
@pytest.mark.parametrize("share", [0.0, 0.02, 0.5, 0.9, 0.995])
def test_a_file_cut_short_is_an_error_never_less_water(
    tmp_path: Path, ending: str, share: float, capfd: Any
) -> None:
    path = tmp_path / f"water{ending}"
    if ending == ".gpx":
        path.write_text(
            "<gpx><trk><trkseg>" + '<trkpt lat="47.1" lon="-31.7"/>' * 40 + "</trkseg></trk></gpx>"
        )
    else:
        write_as(path, LAYERS["water"])
    capfd.readouterr()
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    assert refused(path)
    assert capfd.readouterr().err == ""


@pytest.mark.property
@pytest.mark.parametrize("ending", [".gpkg", ".kml", ".kmz", ".shp", ".zip", ".gpx"])
@pytest.mark.parametrize(
    "data", [b"no such thing", b"PK\x03\x04 no", b'{"type": "FeatureCollection", "features": []}']
)
def test_another_format_under_a_wrong_ending_is_named(
    tmp_path: Path, ending: str, data: bytes, capfd: Any
) -> None:
    path = tmp_path / f"water{ending}"
    if ending == ".shp":
        write_as(path, LAYERS["water"])
    path.write_bytes(data)
    assert refused(path)
    assert capfd.readouterr().err == ""


@pytest.mark.behaviour
@pytest.mark.parametrize("ending", [".gpkg", ".kml", ".shp", ".zip", ".gpx"])
def test_a_folder_in_the_place_of_a_file_is_named(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"water{ending}"
    path.mkdir()
    assert refused(path)


@pytest.mark.behaviour
@pytest.mark.parametrize("wkt", ["POLYGON EMPTY", "GEOMETRYCOLLECTION (POINT (0 0), LINESTRING (0 0, 1 1))", None,
                                 "POLYGON ((500 0, 501 0, 501 1, 500 0))", "POINT (0 0)"])  # fmt: skip
def test_a_shape_that_cannot_be_water_is_named(folder: Path, wkt: str | None) -> None:

    (folder / "water.geojson").unlink()
    good = shapely.to_wkb(shapely.Polygon(LAKE[0]))
    bad = None if wkt is None else shapely.to_wkb(shapely.from_wkt(wkt))
    pyogrio.raw.write(folder / "water.gpkg", np.array([good, bad], object), [np.array(["a", "b"], object)], ["name"],
                      driver="GPKG", geometry_type="Unknown", crs="EPSG:4326")  # fmt: skip
    assert {p.row for p in errors(folder)} == {1}


@pytest.mark.behaviour
def test_a_collection_of_one_kind_is_a_multi_shape_and_heights_are_dropped(folder: Path) -> None:

    (folder / "water.geojson").unlink()
    lake = shapely.force_3d(shapely.Polygon(LAKE[0]), 510.0)
    nested = shapely.GeometryCollection([shapely.GeometryCollection([lake])])
    pyogrio.raw.write(folder / "water.gpkg", np.array([shapely.to_wkb(nested, output_dimension=3)], object),
                      [np.array(["a"], object)], ["name"], driver="GPKG", geometry_type="Unknown", crs="EPSG:4326")  # fmt: skip
    (water,) = read_incident(folder).ground.water
    assert not water.polygon.has_z
    assert water.polygon.area == pytest.approx(1.5e6, rel=1e-5)


@pytest.mark.behaviour
def test_a_geopackage_without_a_system_is_refused(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    with pytest.warns(UserWarning, match="crs"):
        write_without_system(folder / "water.gpkg")
    assert the_error(folder).field == "crs"


def write_without_system(path: Path) -> None:
    pyogrio.raw.write(path, np.array([shapely.to_wkb(shapely.Polygon(LAKE[0]))], object), [np.array(["a"], object)],
                      ["name"], driver="GPKG", geometry_type="Polygon")  # fmt: skip


@pytest.mark.property
@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("spoiled", [".gpkg", ".shp", ".shx", ".dbf", ".prj", ".kmz", ".zip", ".fgb"])
def test_bytes_that_turned_over_are_never_a_crash(tmp_path: Path, spoiled: str, seed: int) -> None:
    """Read or refused with problems that say how to mend them."""
    rng = np.random.default_rng([seed, *spoiled.encode()])
    path = tmp_path / f"water{'.shp' if spoiled in {'.shx', '.dbf', '.prj'} else spoiled}"
    write_as(path, LAYERS["water"])
    part = path.with_suffix(spoiled)
    data = bytearray(part.read_bytes())
    for _ in range(rng.choice([1, 3, 20])):
        data[rng.integers(min(len(data), 400) if seed % 2 else len(data))] = rng.integers(256)
    part.write_bytes(data)
    notes = Complaints(path.name, "water")
    assert (read_features(path, "water", notes) is not None) or notes.blocked
    assert all(p.mend for p in notes.found)
