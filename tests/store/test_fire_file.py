"""fire.geojson: a perimeter is a simple closed edge with a time, on the terrain."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from store.asking import errors, the_error, warnings_of
from store.folder_maker import (
    FIRE_AREA_M2,
    FIRE_TIME,
    FIRE_XY,
    box_ring,
    circle_ring,
    feature,
    lonlat,
    ring,
    write_features,
)
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

X, Y = FIRE_XY
TIME = FIRE_TIME.isoformat()
CIRCLE = circle_ring(X, Y, FIRE_AREA_M2)


def write(folder: Path, *features: dict[str, Any], **members: Any) -> None:
    write_features(folder / "fire.geojson", *features, **members)


def test_perimeters_are_sorted_by_time_and_now_is_the_newest(folder: Path) -> None:
    early = datetime(2026, 8, 14, 10, 0, tzinfo=UTC)
    write(
        folder,
        feature("Polygon", [CIRCLE], kind="fire", name="late", time=TIME),
        feature(
            "Polygon",
            [circle_ring(X + 900, Y, 5000)],
            kind="spot",
            name="early",
            time="2026-08-14T09:00:00-01:00",
        ),
    )
    incident = read_incident(folder)
    assert [(p.name, p.time) for p in incident.fire.perimeters] == [("early", early), ("late", FIRE_TIME)]
    assert incident.now == FIRE_TIME


@pytest.mark.parametrize(
    ("time", "said"),
    [
        (None, "missing"),
        ("2026-08-14T12:00:00", "no time zone"),
        ("2026-08-14", "no time zone"),
        ("noon", "not a time"),
        (1786708800, "not a time"),
        ("0001-01-01T00:00:00Z", "outside the years"),
    ],
)
def test_a_time_that_cannot_be_used_is_named(folder: Path, time: object, said: str) -> None:
    write(folder, feature("Polygon", [CIRCLE], kind="fire", time=time))
    problem = the_error(folder)
    assert (problem.file, problem.layer, problem.row, problem.field) == ("fire.geojson", "fire", 0, "time")
    assert said in problem.message
    assert "2026-08-14T12:30:00" in problem.mend


def test_an_edge_that_crosses_itself_is_refused_with_its_place(folder: Path) -> None:
    """The two strokes of the bow tie cross in its middle."""
    tie = ring([(X - 200, Y - 200), (X + 200, Y + 200), (X + 200, Y - 200), (X - 200, Y + 200)])
    write(folder, feature("Polygon", [tie], kind="fire", time=TIME))
    problem = the_error(folder)
    lon, lat = lonlat(X, Y)
    assert problem.row == 0
    assert f"self-intersection at [{lon:.5f}, {lat:.5f}]" in problem.message
    assert "cross" in problem.mend


def test_an_edge_that_only_touches_itself_is_taken_apart_with_a_warning(folder: Path) -> None:
    """Two squares of 200 m drawn in one stroke, corner to corner: the inside is plain, 80 000 m²."""
    squares = [
        (X, Y), (X + 200, Y), (X + 200, Y + 200), (X, Y + 200), (X, Y), (X - 200, Y), (X - 200, Y - 200), (X, Y - 200),
    ]  # fmt: skip
    write(folder, feature("Polygon", [ring(squares)], kind="fire", time=TIME))
    (problem,) = warnings_of(folder, "fire.geojson")
    assert "ring self-intersection" in problem.message
    assert read_incident(folder).fire.area_m2 == pytest.approx(80_000, rel=1e-6)


def test_a_loop_in_the_edge_is_refused(folder: Path) -> None:
    """A stroke that circles twice over the same ground counts it twice."""
    loop = [(X, Y), (X + 400, Y), (X + 400, Y + 400), (X + 200, Y + 400), (X + 200, Y + 100), (X + 500, Y + 100),
            (X + 500, Y + 500), (X, Y + 500)]  # fmt: skip
    write(folder, feature("Polygon", [ring(loop)], kind="fire", time=TIME))
    assert the_error(folder).field == "geometry"


def test_an_island_outside_its_fire_is_refused(folder: Path) -> None:
    write(folder, feature("Polygon", [CIRCLE, circle_ring(X + 1500, Y, 500)], kind="fire", time=TIME))
    assert the_error(folder).field == "geometry"


@pytest.mark.parametrize(
    ("shape", "coordinates", "said"),
    [
        ("Polygon", [], "empty"),
        ("Polygon", [[]], "at least 3 positions"),
        ("MultiPolygon", [], "empty"),
        ("Polygon", [CIRCLE[:-1]], "not closed"),
        ("Polygon", [[CIRCLE[0], CIRCLE[5], CIRCLE[0]]], "fewer than three corners"),
        ("Polygon", [[CIRCLE[0]] * 4], "fewer than three corners"),
        ("Polygon", [ring([(X, Y), (X + 100, Y), (X + 200, Y)])], ""),
        ("Point", CIRCLE[0], "cannot stand here"),
        ("LineString", CIRCLE, "cannot stand here"),
        ("Circle", CIRCLE, "no shape that is known"),
        ("GeometryCollection", [], "no shape that is known"),
    ],
)
def test_a_shape_without_an_inside_is_named(folder: Path, shape: str, coordinates: Any, said: str) -> None:
    write(folder, feature(shape, coordinates, kind="fire", time=TIME))
    (problem,) = errors(folder)
    assert (problem.file, problem.row) == ("fire.geojson", 0)
    assert said in problem.message


@pytest.mark.parametrize(
    "position",
    [
        ["-31,8", "47,2"],
        [None, 47.2],
        [True, 47.2],
        [-31.8],
        [],
        "x",
        {},
        [float("nan"), 47.2],
        [1e400, 0],
        [10**400, 1],
    ],
)
def test_a_position_that_is_no_two_numbers_is_named(folder: Path, position: Any) -> None:
    write(folder, feature("Polygon", [[*CIRCLE[:3], position, *CIRCLE[4:]]], kind="fire", time=TIME))
    problem = the_error(folder)
    assert (problem.row, problem.field) == (0, "coordinates")
    assert "Position 3" in problem.message


def test_no_fire_is_named(folder: Path) -> None:
    write(folder)
    assert "no fire" in the_error(folder).message


def test_a_feature_without_a_shape_is_named(folder: Path) -> None:
    write(folder, {"type": "Feature", "properties": {"time": TIME}, "geometry": None})
    assert "no shape" in the_error(folder).message


def test_a_fire_outside_the_terrain_is_named_with_both_places(folder: Path) -> None:
    write(folder, feature("Polygon", [circle_ring(X + 9000, Y, FIRE_AREA_M2)], kind="fire", time=TIME))
    problem = the_error(folder)
    assert "outside the terrain" in problem.message
    lon, lat = lonlat(X + 9000, Y)
    assert problem.value == f"[{lon:.5f}, {lat:.5f}]"
    assert problem.limit


def test_a_fire_partly_outside_the_terrain_is_named_with_its_share(folder: Path) -> None:
    """A box of 200 m, half of it over the western edge."""
    box = box_ring(590_000 - 100, Y, 590_000 + 100, Y + 200)
    write(folder, feature("Polygon", [box], kind="fire", time=TIME))
    assert "to 50% outside" in the_error(folder).message


def test_swapped_coordinates_are_named_as_swapped(folder: Path) -> None:
    swapped = [[lat, lon] for lon, lat in CIRCLE]
    write(folder, feature("Polygon", [swapped], kind="fire", time=TIME))
    (problem,) = errors(folder)
    assert "swapped" in problem.message


@pytest.mark.parametrize(
    ("move", "hint"),
    [
        (lambda p: [p[1], p[0] * 4], "swapped"),
        (lambda p: [X + p[0], Y], "crs member"),
        (lambda p: [p[0] + 360.0, p[1]], "from -180 to 180"),
    ],
)
def test_coordinates_that_are_no_degrees_are_named(folder: Path, move: Any, hint: str) -> None:
    write(folder, feature("Polygon", [[move(p) for p in CIRCLE]], kind="fire", time=TIME))
    (problem,) = errors(folder)
    assert hint in problem.mend
    assert problem.limit == "±180°, ±90°"


@pytest.mark.parametrize("name", ["EPSG:32625", "urn:ogc:def:crs:EPSG::32625"])
def test_a_declared_system_is_followed(folder: Path, name: str) -> None:
    square = [[X, Y], [X + 500, Y], [X + 500, Y + 400], [X, Y + 400], [X, Y]]
    crs = {"type": "name", "properties": {"name": name}}
    write(folder, feature("Polygon", [square], kind="fire", time=TIME), crs=crs)
    incident = read_incident(folder)
    assert incident.fire.area_m2 == pytest.approx(200_000.0, rel=1e-6)
    assert incident.fire.perimeters[0].polygon.bounds == pytest.approx((X, Y, X + 500, Y + 400), abs=0.01)


@pytest.mark.parametrize(
    "crs", [None, {"type": "link"}, {"type": "name", "properties": {"name": "EPSG:0"}}, 7]
)
def test_a_declared_system_that_nobody_knows_is_refused(folder: Path, crs: Any) -> None:
    write(folder, feature("Polygon", [CIRCLE], kind="fire", time=TIME), crs=crs)
    assert the_error(folder).field == "crs"


def test_heights_in_the_coordinates_are_left_aside(folder: Path) -> None:
    write(folder, feature("Polygon", [[[*p, 500.0] for p in CIRCLE]], kind="fire", time=TIME))
    assert not read_incident(folder).fire.perimeters[0].polygon.has_z


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "7",
        '{"type": "FeatureCollection"}',
        '{"type": "FeatureCollection", "features": 3}',
        "[" * 100_000,
    ],
)
def test_a_file_that_is_no_feature_collection_is_named(folder: Path, text: str) -> None:
    (folder / "fire.geojson").write_text(text)
    assert the_error(folder).file == "fire.geojson"


def test_a_member_that_stands_twice_is_refused(folder: Path) -> None:
    path = folder / "fire.geojson"
    path.write_text(path.read_text().replace('"time": ', '"time": "2026-08-14T08:00:00Z", "time": '))
    problem = the_error(folder)
    assert (problem.field, problem.file) == ("time", "fire.geojson")


def test_an_unknown_property_is_remarked_only(folder: Path) -> None:
    write(folder, feature("Polygon", [CIRCLE], kind="fire", time=TIME, tiem="x", colour="red"))
    assert {p.field for p in warnings_of(folder, "fire.geojson")} == {"tiem", "colour"}


def test_a_kind_that_nobody_knows_is_refused(folder: Path) -> None:
    write(folder, feature("Polygon", [CIRCLE], kind="blaze", time=TIME))
    problem = the_error(folder)
    assert (problem.field, problem.value, problem.limit) == ("kind", "blaze", "fire, spot, line")


def test_the_rows_beside_a_bad_one_are_checked_too(folder: Path) -> None:
    bad = [feature("Polygon", [CIRCLE], kind="fire"), feature("Polygon", [CIRCLE], kind="fire", time="x")]
    write(folder, *bad, feature("Polygon", [CIRCLE], kind="fire", time=TIME), json.loads('{"type": "Thing"}'))
    assert [p.row for p in errors(folder)] == [3, 0, 1]


LINE = [lonlat(X + 400, Y - 300), lonlat(X + 400, Y + 300)]


def with_line(folder: Path, shape: str = "LineString", coordinates: Any = LINE, **properties: Any) -> None:
    write(
        folder,
        feature("Polygon", [CIRCLE], kind="fire", time=TIME),
        feature(shape, coordinates, **{"kind": "line", "name": "Heel line", "time": TIME, **properties}),
    )


def test_crews_line_is_read_with_its_time_and_how_long_it_is_counted_on(folder: Path) -> None:
    with_line(folder, until="2026-08-14T18:00:00Z")
    (line,) = read_incident(folder).fire.lines
    assert (line.name, line.time, line.until, line.holds) == (
        "Heel line", FIRE_TIME, datetime(2026, 8, 14, 18, tzinfo=UTC), False,
    )  # fmt: skip
    assert line.line.length == pytest.approx(600.0, rel=1e-4)
    assert warnings_of(folder, "fire.geojson") == []


def test_a_line_that_somebody_counts_on_for_good_says_so(folder: Path) -> None:
    with_line(folder, holds=True)
    (line,) = read_incident(folder).fire.lines
    assert line.holds
    assert line.counted_on(datetime(2026, 8, 20, tzinfo=UTC))
    assert not line.counted_on(datetime(2026, 8, 14, 0, tzinfo=UTC))
    assert warnings_of(folder, "fire.geojson") == []


def test_a_line_of_which_nobody_says_that_it_holds_stops_nothing_and_that_is_said(folder: Path) -> None:
    with_line(folder)
    (line,) = read_incident(folder).fire.lines
    assert not line.counted_on(FIRE_TIME)
    (problem,) = warnings_of(folder, "fire.geojson")
    assert (problem.row, problem.field) == (1, "holds")
    assert "stops nothing" in problem.message
    assert "until" in problem.mend


def test_a_line_in_several_strokes_is_several_lines_of_one_name(folder: Path) -> None:
    other = [lonlat(X - 400, Y - 300), lonlat(X - 400, Y + 300)]
    with_line(folder, "MultiLineString", [LINE, other], holds=True)
    assert [line.name for line in read_incident(folder).fire.lines] == ["Heel line", "Heel line"]


@pytest.mark.parametrize(
    ("properties", "field", "said"),
    [
        ({"time": None}, "time", "missing"),
        ({"until": "2026-08-14T10:00:00Z"}, "until", "before it is built"),
        ({"until": TIME}, "until", "before it is built"),
        ({"until": "soon"}, "until", "not a time"),
        ({"until": "2026-08-14T20:00:00Z", "holds": True}, "holds", "which is meant"),
        ({"holds": "yes"}, "holds", "true or false"),
    ],
)
def test_a_line_that_cannot_be_used_is_named(
    folder: Path, properties: dict[str, Any], field: str, said: str
) -> None:
    with_line(folder, **properties)
    problem = the_error(folder)
    assert (problem.file, problem.row, problem.field) == ("fire.geojson", 1, field)
    assert said in problem.message
    assert problem.mend


@pytest.mark.parametrize(("shape", "coordinates"), [("Polygon", [CIRCLE]), ("Point", CIRCLE[0])])
def test_a_line_that_is_no_line_is_named(folder: Path, shape: str, coordinates: Any) -> None:
    with_line(folder, shape, coordinates, holds=True)
    problem = the_error(folder)
    assert (problem.row, problem.field) == (1, "geometry")


def test_a_line_without_a_fire_is_no_fire(folder: Path) -> None:
    write(folder, feature("LineString", LINE, kind="line", time=TIME, holds=True))
    assert "no fire" in the_error(folder).message


def test_a_line_makes_no_perimeter_newer(folder: Path) -> None:
    with_line(folder, time="2026-08-14T23:00:00Z", holds=True)
    assert read_incident(folder).now == FIRE_TIME
