"""water, bases, hazards, people, avoid, roads: fields, kinds, shapes, cover."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from store.asking import edit, errors, the_error, warnings_of
from store.folder_maker import FIRE_TIME, FIRE_XY, box_ring, feature, lonlat, ring, write_features
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

X, Y = FIRE_XY
HERE = lonlat(X - 800, Y + 100)
LINE = [lonlat(X - 1000, Y), lonlat(X + 1000, Y + 50)]
BOX = [box_ring(X + 800, Y - 300, X + 1200, Y + 100)]
SEEN = FIRE_TIME.isoformat()

SOUND: dict[str, tuple[str, Any, dict[str, Any]]] = {
    "water": ("Polygon", BOX, {"name": "Skell", "kind": "lake"}),
    "bases": ("Point", HERE, {"name": "Halm Field", "kind": "airfield"}),
    "hazards": ("LineString", LINE, {"name": "Line 4", "kind": "wire"}),
    "people": ("Point", HERE, {"name": "Aldo", "kind": "crew", "seen": SEEN}),
    "avoid": ("Polygon", BOX, {"name": "Fen", "kind": "protected", "rule": "no retardant"}),
    "roads": ("LineString", LINE, {"name": "Quarry road"}),
}


def put(folder: Path, layer: str, **changes: Any) -> None:
    """One feature of a layer, sound but for the changes; None takes a property out."""
    shape, coordinates, properties = SOUND[layer]
    kept = {k: v for k, v in {**properties, **changes}.items() if v is not None}
    write_features(folder / f"{layer}.geojson", feature(shape, coordinates, **kept))


@pytest.mark.parametrize("layer", SOUND)
def test_a_sound_feature_is_read(folder: Path, layer: str) -> None:
    put(folder, layer)
    assert warnings_of(folder, f"{layer}.geojson") == []
    read = getattr(read_incident(folder).ground, layer)
    assert len(read) == 1
    assert read.present
    assert read.features[0].name == SOUND[layer][2]["name"]


def test_every_field_of_the_documents_is_read(folder: Path) -> None:
    put(folder, "water", depth_m=6, depth_date="2025-09-01", salt=True, closed="moored boats")
    put(folder, "bases", runway_m=1800, agents=["water", "gel"], pits=2)
    put(folder, "hazards", height_m=35)
    put(folder, "people", count=8, weight=2.5, tools="engine")
    put(folder, "avoid", agents=["retardant"])
    put(folder, "roads", width_m=5)
    ground = read_incident(folder).ground
    water, base, hazard = ground.water.features[0], ground.bases.features[0], ground.hazards.features[0]
    people, avoid, road = ground.people.features[0], ground.avoid.features[0], ground.roads.features[0]
    assert (water.depth_m, water.depth_date, water.salt, water.closed) == (
        6,
        date(2025, 9, 1),
        True,
        "moored boats",
    )
    assert (base.runway_m, base.agents, base.pits) == (1800, ("water", "gel"), 2)
    assert hazard.height_m == 35
    assert (people.count, people.weight, people.seen, people.tools) == (8, 2.5, FIRE_TIME, "engine")
    assert (avoid.rule, avoid.agents) == ("no retardant", ("retardant",))
    assert road.width_m == 5


def test_what_is_left_out_stays_unknown(folder: Path) -> None:
    put(folder, "water")
    put(folder, "hazards")
    put(folder, "people")
    ground = read_incident(folder).ground
    assert ground.water.features[0].depth_m is None
    assert ground.hazards.features[0].height_m is None
    assert ground.people.features[0].count is None


@pytest.mark.parametrize(
    ("layer", "field", "value"),
    [
        ("water", "kind", "lagoon"),
        ("water", "depth_m", -2),
        ("water", "depth_m", "6 m"),
        ("water", "depth_m", "2,5"),
        ("water", "depth_m", [6]),
        ("water", "depth_date", "summer"),
        ("water", "salt", "yes"),
        ("water", "closed", True),
        ("water", "name", 12),
        ("bases", "kind", "port"),
        ("bases", "runway_m", 9),
        ("bases", "agents", "water"),
        ("bases", "agents", ["watre"]),
        ("bases", "pits", 1.5),
        ("hazards", "kind", "wires"),
        ("hazards", "height_m", 2000),
        ("hazards", "height_m", True),
        ("people", "kind", "team"),
        ("people", "count", -1),
        ("people", "count", 2.5),
        ("people", "weight", 0),
        ("people", "seen", "2026-08-14T12:00:00"),
        ("people", "tools", "spoon"),
        ("avoid", "kind", "park"),
        ("avoid", "agents", ["foams"]),
        ("roads", "width_m", -4),
    ],
)
def test_a_wrong_value_is_named_with_row_and_field(folder: Path, layer: str, field: str, value: Any) -> None:
    put(folder, layer, **{field: value})
    problem = the_error(folder)
    assert (problem.file, problem.layer, problem.row, problem.field) == (f"{layer}.geojson", layer, 0, field)
    assert problem.value is not None


@pytest.mark.parametrize(("layer", "field"), [("bases", "name"), ("bases", "kind"), ("people", "kind")])
def test_what_cannot_be_guessed_is_asked_for(folder: Path, layer: str, field: str) -> None:
    put(folder, layer, **{field: None})
    assert field in {p.field for p in errors(folder)}


@pytest.mark.parametrize(
    ("layer", "field", "taken_as"),
    [
        ("water", "name", "water 0"),
        ("water", "kind", "lake"),
        ("hazards", "kind", "other"),
        ("avoid", "kind", "other"),
        ("avoid", "rule", "nothing may fall there"),
        ("people", "seen", "unknown"),
    ],
)
def test_what_is_supposed_is_said(folder: Path, layer: str, field: str, taken_as: str) -> None:
    put(folder, layer, **{field: None})
    (problem,) = warnings_of(folder, f"{layer}.geojson")
    assert problem.field == field
    assert taken_as in problem.message


@pytest.mark.parametrize("layer", SOUND)
def test_a_shape_of_the_wrong_kind_is_named(folder: Path, layer: str) -> None:
    shape, coordinates = (
        ("Point", HERE) if layer in {"water", "avoid", "roads"} else ("MultiLineString", [LINE])
    )
    if layer == "bases":
        shape, coordinates = "Polygon", BOX
    if layer in {"hazards", "people"}:
        shape, coordinates = "GeometryCollection", []
    write_features(folder / f"{layer}.geojson", feature(shape, coordinates, **SOUND[layer][2]))
    found = [p for p in errors(folder) if p.file == f"{layer}.geojson"]
    assert [(p.row, p.field) for p in found] == [(0, "geometry")]


def test_several_masts_in_one_row_are_several_hazards(folder: Path) -> None:
    masts = feature("MultiPoint", [HERE, LINE[0], LINE[1]], name="Masts", kind="mast", height_m=60)
    write_features(folder / "hazards.geojson", masts)
    hazards = read_incident(folder).ground.hazards
    assert [h.shape.geom_type for h in hazards] == ["Point"] * 3
    assert [h.height_m for h in hazards] == [60.0] * 3


def test_a_crossed_shore_is_repaired_counted_and_placed(folder: Path) -> None:
    """Both lobes of the bow tie are kept: a quarter of the box each."""
    x, y = 594_500, 5_226_500
    tie = ring([(x - 200, y - 200), (x + 200, y + 200), (x + 200, y - 200), (x - 200, y + 200)])
    write_features(folder / "water.geojson", feature("Polygon", [tie], name="Skell", kind="lake"))
    (problem,) = warnings_of(folder, "water.geojson")
    lon, lat = lonlat(x, y)
    assert "repaired" in problem.message
    assert f"[{lon:.5f}, {lat:.5f}]" in problem.message
    assert read_incident(folder).ground.water.features[0].polygon.area == pytest.approx(80_000, rel=1e-3)


def test_a_shore_without_area_is_refused(folder: Path) -> None:
    flat = ring([(X, Y), (X + 100, Y), (X + 200, Y)])
    write_features(folder / "water.geojson", feature("Polygon", [flat], name="Skell", kind="lake"))
    assert "no area" in [p.message for p in errors(folder)][-1]


@pytest.mark.parametrize("layer", ["hazards", "people", "water"])
def test_swapped_coordinates_are_refused(folder: Path, layer: str) -> None:
    """A wire on another continent would be no wire near any run."""

    def swap(value: Any) -> Any:
        return [value[1], value[0]] if isinstance(value[0], float) else [swap(v) for v in value]

    shape, coordinates, properties = SOUND[layer]
    write_features(folder / f"{layer}.geojson", feature(shape, swap(coordinates), **properties))
    problem = the_error(folder)
    assert (problem.file, problem.field) == (f"{layer}.geojson", "coordinates")
    assert "swapped" in problem.message


def test_a_feature_a_world_away_is_remarked(folder: Path) -> None:
    far = feature("Point", [-20.0, 47.0], name="Aldo", kind="crew", seen=SEEN)
    write_features(folder / "people.geojson", far)
    (problem,) = warnings_of(folder, "people.geojson")
    assert "km from the terrain" in problem.message


def test_an_empty_layer_is_unknown_and_that_is_said(folder: Path) -> None:
    write_features(folder / "people.geojson")
    (problem,) = warnings_of(folder, "people.geojson")
    assert "never as clear" in problem.message
    people = read_incident(folder).ground.people
    assert (people.present, people.surveyed, len(people)) == (True, None, 0)


def test_an_empty_layer_that_somebody_vouches_for_says_so(folder: Path) -> None:
    write_features(folder / "hazards.geojson")
    assert warnings_of(folder, "hazards.geojson") == []
    assert read_incident(folder).ground.hazards.surveyed == date(2026, 6, 2)


def test_the_file_itself_may_say_when_it_was_surveyed(folder: Path) -> None:
    write_features(folder / "people.geojson", surveyed="2026-08-14")
    assert read_incident(folder).ground.people.surveyed == date(2026, 8, 14)


def test_of_two_days_of_survey_the_older_counts(folder: Path) -> None:
    write_features(folder / "hazards.geojson", surveyed="2026-08-01")
    assert [p.field for p in warnings_of(folder, "hazards.geojson")] == ["surveyed"]
    assert read_incident(folder).ground.hazards.surveyed == date(2026, 6, 2)


def test_an_absent_layer_is_not_present(folder: Path) -> None:
    (folder / "people.geojson").unlink()
    people = read_incident(folder).ground.people
    assert (people.present, people.surveyed) == (False, None)


def test_a_survey_day_that_is_none_is_refused(folder: Path) -> None:
    write_features(folder / "hazards.geojson", surveyed="soon")
    assert the_error(folder).field == "surveyed"


def test_two_bases_of_one_name_are_refused(folder: Path) -> None:
    properties = {"name": "Halm Field", "kind": "airfield"}
    write_features(
        folder / "bases.geojson",
        feature("Point", HERE, **properties),
        feature("Point", LINE[0], **properties),
    )
    problem = the_error(folder)
    assert (problem.row, problem.field) == (1, "name")


def test_a_time_on_another_clock_is_remarked(folder: Path) -> None:
    put(folder, "people", seen="2026-08-14T13:00:00+01:00")
    (problem,) = warnings_of(folder, "people.geojson")
    assert problem.field == "seen"
    edit(folder / "incident.toml", "Etc/GMT+1", "Etc/GMT-1")
    assert warnings_of(folder, "people.geojson") == []
