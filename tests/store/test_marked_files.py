"""KML and GPX: what their own elements say, and what they cannot say."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from store.asking import the_error, warnings_of
from store.folder_maker import FIRE_TIME, box_ring, circle_ring, lonlat
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

LAKE = box_ring(594_000, 5_226_000, 595_500, 5_227_000)
NOON = "2026-08-14T12:00:00Z"
SPOT = "<Point><coordinates>0,0</coordinates></Point>"


def gpx(body: str) -> str:
    return f'<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>'


def points(ring: list[list[float]], time: str = NOON) -> str:
    return "".join(
        f'<trkpt lat="{lat}" lon="{lon}"><ele>400</ele><time>{time}</time></trkpt>' for lon, lat in ring
    )


def write_fire(folder: Path, ring: list[list[float]], *, kind: str = "") -> None:
    (folder / "fire.geojson").unlink()
    said = f"<type>{kind}</type>" if kind else ""
    (folder / "fire.gpx").write_text(
        gpx(f"<trk><name>Walk</name>{said}<trkseg>{points(ring)}</trkseg></trk>")
    )


@pytest.mark.behaviour
def test_a_walked_edge_is_a_perimeter_at_its_last_point(folder: Path) -> None:
    write_fire(folder, circle_ring(592_500, 5_227_600, 200_000.0))
    (perimeter,) = read_incident(folder).fire.perimeters
    assert (perimeter.name, perimeter.time) == ("Walk", FIRE_TIME)
    assert perimeter.polygon.area == pytest.approx(200_000.0, rel=1e-4)
    assert warnings_of(folder, "fire.gpx") == []


@pytest.mark.behaviour
def test_a_piece_of_a_walk_without_a_point_says_nothing(folder: Path) -> None:
    write_fire(folder, circle_ring(592_500, 5_227_600, 200_000.0))
    path = folder / "fire.gpx"
    path.write_text(path.read_text().replace("</trkseg>", "</trkseg><trkseg></trkseg>"))
    assert read_incident(folder).fire.perimeters[0].time == FIRE_TIME
    path.write_text(gpx("<trk><trkseg></trkseg></trk>"))
    assert the_error(folder).file == "fire.gpx"


@pytest.mark.practice
def test_a_small_gap_of_a_walk_is_closed_and_told(folder: Path) -> None:
    """40 corners on 200 000 m²: 39.6 m each (chord of a circle of 252.6 m radius). Common practice, no source."""
    write_fire(folder, circle_ring(592_500, 5_227_600, 200_000.0)[:-1])
    (problem,) = warnings_of(folder, "fire.gpx")
    assert problem.value == "40 m"
    assert read_incident(folder).fire.perimeters[0].polygon.area == pytest.approx(200_000.0, rel=1e-4)


@pytest.mark.practice
@pytest.mark.parametrize("left_out", [3, 20])
def test_a_walk_that_stays_open_is_no_fire(folder: Path, left_out: int) -> None:
    write_fire(folder, circle_ring(592_500, 5_227_600, 200_000.0)[:-left_out])
    assert "apart" in the_error(folder).message


@pytest.mark.behaviour
def test_a_track_of_the_kind_line_is_crews_line(folder: Path) -> None:
    ring = circle_ring(592_500, 5_227_600, 200_000.0)
    body = f"<trk><trkseg>{points(ring)}</trkseg></trk><trk><type>line</type><trkseg>{points(ring[:9])}</trkseg></trk>"
    (folder / "fire.geojson").unlink()
    (folder / "fire.gpx").write_text(gpx(body))
    fire = read_incident(folder).fire
    assert (len(fire.perimeters), len(fire.lines)) == (1, 1)


@pytest.mark.behaviour
def test_waypoints_are_people_seen_at_their_time(folder: Path) -> None:
    (folder / "people.geojson").unlink()
    lon, lat = lonlat(592_000, 5_227_600)
    extra = "<extensions><x:count xmlns:x='urn:x'>8</x:count></extensions>"
    body = f'<wpt lat="{lat}" lon="{lon}"><time>{NOON}</time><name>Crew Aldo</name><type>crew</type>{extra}</wpt>'
    (folder / "people.gpx").write_text(gpx(body))
    (crew,) = read_incident(folder).ground.people
    assert (crew.name, crew.kind, crew.count, crew.seen) == ("Crew Aldo", "crew", 8, FIRE_TIME)


def kml(body: str) -> str:
    return (
        f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>{body}</Document></kml>'
    )


def mark(ring: list[list[float]], inside: str = "") -> str:
    text = " ".join(f"{lon},{lat},0" for lon, lat in ring)
    return (
        f"<Placemark>{inside}<Polygon><outerBoundaryIs><LinearRing><coordinates>{text}</coordinates></LinearRing>"
        "</outerBoundaryIs></Polygon></Placemark>"
    )


@pytest.mark.behaviour
def test_a_time_stamp_dates_a_perimeter_and_nothing_else(folder: Path) -> None:
    stamp = f"<name>A</name><TimeStamp><when>{NOON}</when></TimeStamp>"
    (folder / "fire.geojson").unlink()
    (folder / "water.geojson").unlink()
    (folder / "fire.kml").write_text(kml(mark(circle_ring(592_500, 5_227_600, 200_000.0), stamp)))
    (folder / "water.kml").write_text(kml(mark(LAKE, stamp)))
    incident = read_incident(folder)
    assert incident.now == FIRE_TIME
    assert incident.ground.water.features[0].looked_at is None


@pytest.mark.behaviour
def test_an_open_ring_of_a_kml_is_named_as_in_geojson(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    (folder / "water.kml").write_text(kml(mark(LAKE[:-1])))
    problem = the_error(folder)
    assert (problem.row, problem.field) == (0, "coordinates")
    assert "not closed" in problem.message


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("body", "field"),
    [
        ("<Folder><name>a</name>" + mark(LAKE) + "</Folder><Folder><name>b</name>" + mark(LAKE) + "</Folder>", "Folder"),
        ("<Placemark><name>x</name></Placemark>", "geometry"),
        (f"<Placemark><MultiGeometry>{SPOT}<LineString><coordinates>0,0 1,1</coordinates></LineString></MultiGeometry></Placemark>", "geometry"),
        ("<Placemark><Point><coordinates>x,1</coordinates></Point></Placemark>", "coordinates"),
        ("<Placemark><Point><coordinates>1</coordinates></Point></Placemark>", "coordinates"),
        ("<Placemark><Model/></Placemark>", "geometry"),
    ],
)  # fmt: skip
def test_what_a_kml_cannot_say_is_named(folder: Path, body: str, field: str) -> None:
    (folder / "water.geojson").unlink()
    (folder / "water.kml").write_text(kml(body))
    assert the_error(folder).field == field


@pytest.mark.behaviour
def test_what_a_kml_links_to_is_said_to_be_unread(folder: Path) -> None:
    (folder / "water.geojson").unlink()
    link = "<NetworkLink><Link><href>http://x.invalid/a.kml</href></Link></NetworkLink>"
    (folder / "water.kml").write_text(kml(mark(LAKE, "<name>A</name>") + link))
    assert "NetworkLink" in {p.field for p in warnings_of(folder, "water.kml")}


@pytest.mark.behaviour
@pytest.mark.parametrize("name", ["water.kml", "water.gpx"])
def test_an_xml_file_that_declares_entities_is_refused(folder: Path, name: str) -> None:
    (folder / "water.geojson").unlink()
    (folder / name).write_text('<!DOCTYPE kml [<!ENTITY a "aaaa">]><kml>&a;</kml>')
    assert the_error(folder).field == "DOCTYPE"
