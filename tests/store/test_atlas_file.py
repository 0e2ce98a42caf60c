"""The atlas on disk: read alike by others, whole or said to be unfinished, never doubled, damage never believed."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pyogrio
import pytest
import shapely

from water.atlas_maker import GEOD, lane_at, scattered, searched
from wetline.errors import InputError, Problem
from wetline.store import AtlasAbout, AtlasFile, AtlasWriter, atlas_source, open_water_source, unfinished
from wetline.water import Ask, Searched, Trouble

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from wetline.water import AtlasLane

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
PLACES = [(25.0, 62.0), (179.9, 65.0), (-179.95, -16.0), (40.0, 89.7), (-120.0, -89.9)]


def about_of(features: int) -> AtlasAbout:
    return AtlasAbout(
        source="lakes.gpkg",
        layer="lakes",
        features=features,
        source_bytes=1000,
        source_sha256="a" * 64,
        asks=(Ask(1500.0, 50.0),),
        step_deg=5.0,
        chunk=1,
        version="0",
    )


def write(out: Path, chunks: Sequence[Searched]) -> Path:
    with AtlasWriter(out, about_of(len(chunks))) as writer:
        for chunk in chunks[writer.done :]:
            writer.add(chunk)
        writer.finish(NOW)
    return out


def chunks_of(lanes: Sequence[AtlasLane], each: int = 40) -> list[Searched]:
    return [searched(lanes[i : i + each], first=i // each) for i in range(0, len(lanes), each)]


def rows_of(path: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table that a reader may see."""
    tables = ("lanes", "atlas_shelves", "atlas_chunks", "problems", "gpkg_contents", "rtree_lanes_geom")
    with closing(sqlite3.connect(path)) as base:
        return {t: base.execute(f"SELECT * FROM {t} ORDER BY 1, 2").fetchall() for t in tables}  # noqa: S608


def refused(action: Any, *words: str) -> None:
    with pytest.raises(InputError) as error:
        action()
    text = " ".join(problem.sentence() for problem in error.value.problems)
    assert all(word in text for word in words), text


@pytest.mark.derived
def test_another_reader_finds_the_same_lanes_by_box(tmp_path: Path) -> None:
    """GDAL by pyogrio, over the GeoPackage's own index; brute force over the lanes' boxes by shapely."""
    lanes = scattered(25.0, 62.0, 500, farthest_m=80_000.0)
    path = write(tmp_path / "a.gpkg", chunks_of(lanes))
    info = pyogrio.read_info(path, layer="lanes")
    assert info["features"] == len(lanes)
    assert info["geometry_type"] == "MultiLineString"
    assert info["crs"] == "EPSG:4326"
    assert info["capabilities"]["fast_spatial_filter"]
    boxes = [shapely.box(*shapely.LineString([a.start, a.end]).bounds) for a in lanes]
    for box in ((24.5, 61.8, 25.2, 62.1), (25.0, 62.0, 25.01, 62.01), (30.0, 0.0, 31.0, 1.0)):
        _, fids, shapes, fields = pyogrio.raw.read(path, layer="lanes", bbox=box, return_fids=True)
        drawn = shapely.from_wkb(shapes)
        meant = {i for i, b in enumerate(boxes, start=1) if shapely.intersects(b, shapely.box(*box))}
        touching = {
            i
            for i, a in enumerate(lanes, start=1)
            if shapely.intersects(shapely.LineString([a.start, a.end]), shapely.box(*box))
        }
        assert touching <= set(fids.tolist()) <= meant
        for fid, line, heading in zip(fids.tolist(), drawn, fields[3], strict=True):
            lane = lanes[fid - 1]
            assert line.geoms[0].coords[:] == [lane.start, lane.end]
            assert heading == lane.heading_deg


@pytest.mark.derived
@pytest.mark.parametrize("here", PLACES)
def test_lanes_near_a_place_are_those_of_geodesics(tmp_path: Path, here: tuple[float, float]) -> None:
    """Brute force by pyproj, across the antimeridian and at the poles."""
    lanes = scattered(*here, 400, farthest_m=120_000.0)
    path = write(tmp_path / "a.gpkg", chunks_of(lanes))
    with AtlasFile(path) as atlas:
        reach = atlas.near(*here, 60_000.0)
        found = atlas.lanes(reach.records)
    meant = {i for i, a in enumerate(lanes, start=1) if GEOD.inv(*here, *a.middle)[2] <= 60_000.0}
    assert set(reach.records["id"].tolist()) == meant
    for number, lane in zip(reach.records["id"].tolist(), found, strict=True):
        kept = replace(lanes[number - 1], width_m=100.0)
        assert replace(lane, start=kept.start, end=kept.end) == kept
        assert np.allclose([*lane.start, *lane.end], [*kept.start, *kept.end], atol=1e-12)


@pytest.mark.derived
def test_a_lane_across_the_antimeridian_is_drawn_in_two_parts(tmp_path: Path) -> None:
    """RFC 7946, 3.1.9, asks the same of GeoJSON: cut at ±180°, no line round the world."""
    lane = lane_at(179.999, 65.0, heading_deg=90.0, length_m=4000.0)
    path = write(tmp_path / "a.gpkg", [searched([lane])])
    (shape,) = shapely.from_wkb(pyogrio.raw.read(path, layer="lanes")[2])
    assert len(shape.geoms) == 2
    assert shapely.length(shape) == pytest.approx(lane.end[0] + 360.0 - lane.start[0], rel=1e-3)
    length_m = sum(GEOD.line_length(*np.array(part.coords).T) for part in shape.geoms)
    assert length_m == pytest.approx(4000.0, abs=0.5)
    assert {round(abs(x), 9) for part in shape.geoms for x, _ in part.coords} >= {180.0}


@pytest.mark.property
def test_an_atlas_gone_on_with_is_the_atlas_made_at_once(tmp_path: Path) -> None:
    chunks = chunks_of(scattered(25.0, 62.0, 200, farthest_m=50_000.0))
    write(tmp_path / "once.gpkg", chunks)
    out = tmp_path / "parts.gpkg"
    for stop in (2, 3, 5):
        with AtlasWriter(out, about_of(len(chunks))) as writer:
            for chunk in chunks[writer.done : stop]:
                writer.add(chunk)
            if stop == len(chunks):
                writer.finish(NOW)
    assert rows_of(out) == rows_of(tmp_path / "once.gpkg")
    assert not unfinished(out).exists()


@pytest.mark.behaviour
def test_an_error_in_the_midst_of_a_chunk_leaves_none_of_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chunks = chunks_of(scattered(25.0, 62.0, 120, farthest_m=50_000.0))
    out = tmp_path / "a.gpkg"
    with AtlasWriter(out, about_of(3)) as writer:
        writer.add(chunks[0])
        with monkeypatch.context() as broken:
            broken.setattr(AtlasWriter, "_keep_troubles", lambda *_: 1 // 0)
            with pytest.raises(ZeroDivisionError):
                writer.add(chunks[1])
        assert (writer.done, writer.lanes) == (1, 40)
    assert not out.exists()
    with AtlasFile(unfinished(out)) as atlas:
        assert (atlas.whole, atlas.done, atlas.lanes_held) == (False, 1, 40)
        assert len(atlas.near(25.0, 62.0, 60_000.0)) == 40
    write(out, chunks)
    assert rows_of(out) == rows_of(write(tmp_path / "once.gpkg", chunks))


@pytest.mark.behaviour
def test_a_full_disk_is_said_and_the_work_before_it_is_kept(tmp_path: Path) -> None:
    chunks = chunks_of(scattered(25.0, 62.0, 800, farthest_m=50_000.0), each=400)
    out = tmp_path / "a.gpkg"
    with AtlasWriter(out, about_of(2)) as writer:
        writer.add(chunks[0])
        (pages,) = writer._base.execute("PRAGMA page_count").fetchone()
        writer._base.execute(f"PRAGMA max_page_count = {pages + 3}")
        refused(lambda: writer.add(chunks[1]), "The disk is full", "goes on where it stopped")
        assert writer.done == 1
    assert rows_of(write(out, chunks)) == rows_of(write(tmp_path / "once.gpkg", chunks))


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("step_deg", 3.0),
        ("asks", (Ask(1200.0, 35.0),)),
        ("source_sha256", "b" * 64),
        ("source", "other.gpkg"),
        ("version", "1"),
    ],
)
def test_going_on_with_another_choice_is_refused_by_name(tmp_path: Path, field: str, value: Any) -> None:
    out = tmp_path / "a.gpkg"
    with AtlasWriter(out, about_of(2)) as writer:
        writer.add(searched([lane_at(25.0, 62.0)]))
    changed = replace(about_of(2), **{field: value})
    refused(lambda: AtlasWriter(out, changed), field, "a.gpkg.part")
    with AtlasWriter(out, about_of(2)) as writer:
        assert writer.done == 1


@pytest.mark.behaviour
def test_what_stands_under_the_name_is_never_overwritten(tmp_path: Path) -> None:
    out = tmp_path / "a.gpkg"
    out.write_text("notes")
    refused(lambda: AtlasWriter(out, about_of(1)), "stands already")
    assert out.read_text() == "notes"
    assert not unfinished(out).exists()


@pytest.mark.behaviour
def test_a_stranger_under_the_unfinished_name_is_left_alone(tmp_path: Path) -> None:
    out = tmp_path / "a.gpkg"
    unfinished(out).write_text("notes " * 2000)
    refused(lambda: AtlasWriter(out, about_of(1)))
    assert unfinished(out).read_text() == "notes " * 2000


@pytest.mark.behaviour
def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    refused(lambda: AtlasWriter(tmp_path / "none" / "a.gpkg", about_of(1)), "cannot be opened")


@pytest.mark.behaviour
def test_two_runs_do_not_write_one_atlas(tmp_path: Path) -> None:
    out, chunks = tmp_path / "a.gpkg", chunks_of(scattered(25.0, 62.0, 80, farthest_m=9000.0))
    with AtlasWriter(out, about_of(2)) as one, AtlasWriter(out, about_of(2)) as other:
        one.add(chunks[0])
        refused(lambda: other.add(chunks[0]), "Another run")
        assert one.lanes == 40


@pytest.mark.behaviour
def test_an_atlas_with_features_missing_is_not_called_whole(tmp_path: Path) -> None:
    out = tmp_path / "a.gpkg"
    with AtlasWriter(out, about_of(2)) as writer:
        writer.add(searched([lane_at(25.0, 62.0)]))
        refused(lambda: writer.finish(NOW), "1 of 2")
    assert not out.exists()


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "edit", ["UPDATE lanes SET length_m = 9000", "DELETE FROM lanes", "DELETE FROM atlas_shelves"]
)
def test_a_whole_atlas_refuses_edits(tmp_path: Path, edit: str) -> None:
    path = write(tmp_path / "a.gpkg", [searched([lane_at(25.0, 62.0)])])
    with closing(sqlite3.connect(path)) as base, pytest.raises(sqlite3.IntegrityError, match="made anew"):
        base.execute(edit)


def spoil(path: Path, *edits: str) -> None:
    """Edit a whole atlas against its guards."""
    with closing(sqlite3.connect(path)) as base:
        guards = base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in guards:
            base.execute(f"DROP TRIGGER {name}")
        for edit in edits:
            base.execute(edit)
        base.commit()


def ask_all(path: Path) -> None:
    with AtlasFile(path) as atlas:
        atlas.lanes(atlas.near(25.0, 62.0, 60_000.0).records)
        atlas.problems_near(25.0, 62.0, 60_000.0)
        atlas.counts()


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "edit",
    [
        "UPDATE lanes SET length_m = length_m + 1 WHERE fid = 5",
        "UPDATE lanes SET middle_lat = middle_lat + 0.001 WHERE fid = 5",
        "DELETE FROM lanes WHERE fid = 5",
        "UPDATE lanes SET geom = x'4750' WHERE fid = 5",
        "UPDATE atlas_shelves SET records = zeroblob(length(records))",
        "DELETE FROM atlas_about WHERE key = 'asks'",
        "UPDATE atlas_about SET value = '{}' WHERE key = 'asks'",
    ],
)
def test_an_atlas_whose_parts_disagree_is_refused(tmp_path: Path, edit: str) -> None:
    path = write(tmp_path / "a.gpkg", chunks_of(scattered(25.0, 62.0, 40, farthest_m=9000.0)))
    ask_all(path)
    spoil(path, edit)
    refused(lambda: ask_all(path), "damaged")


@pytest.mark.behaviour
@pytest.mark.parametrize("share", [0.1, 0.5, 0.95])
def test_an_atlas_cut_short_is_refused(tmp_path: Path, share: float) -> None:
    path = write(tmp_path / "a.gpkg", chunks_of(scattered(25.0, 62.0, 400, farthest_m=9000.0)))
    data = path.read_bytes()
    path.write_bytes(data[: int(share * len(data))])
    refused(lambda: AtlasFile(path), "damaged")


@pytest.mark.behaviour
def test_a_page_of_rubbish_is_never_taken_for_lanes(tmp_path: Path) -> None:
    """Whichever page is spoilt, the answer is refused or is what it was."""
    path = write(tmp_path / "a.gpkg", chunks_of(scattered(25.0, 62.0, 200, farthest_m=9000.0)))
    data = path.read_bytes()
    with AtlasFile(path) as atlas:
        meant = atlas.lanes(atlas.near(25.0, 62.0, 60_000.0).records)
    refusals = 0
    for page in range(1, len(data) // 4096):
        path.write_bytes(data[: page * 4096] + b"\xa5" * 4096 + data[(page + 1) * 4096 :])
        try:
            with AtlasFile(path) as atlas:
                found = atlas.lanes(atlas.near(25.0, 62.0, 60_000.0).records)
        except InputError:
            refusals += 1
        else:
            assert found == meant
    assert refusals > 0


@pytest.mark.behaviour
def test_other_files_are_no_atlas(tmp_path: Path) -> None:
    text, other = tmp_path / "a.txt", tmp_path / "b.gpkg"
    text.write_text("no atlas")
    pyogrio.raw.write(
        other, np.array([shapely.to_wkb(shapely.Point(0, 0))], dtype=object), [np.array([1])], ["n"],
        geometry_type="Point", crs="EPSG:4326", driver="GPKG",
    )  # fmt: skip
    refused(lambda: AtlasFile(tmp_path / "none"), "no such file")
    refused(lambda: AtlasFile(text), "no atlas")
    refused(lambda: AtlasFile(other), "no atlas")


@pytest.mark.behaviour
@pytest.mark.parametrize("here", [(25.0, 62.0), (179.95, 65.0)])
def test_waters_with_a_problem_are_named_near_their_place_only(
    tmp_path: Path, here: tuple[float, float]
) -> None:
    def trouble(row: int, box: tuple[float, float, float, float] | None) -> Trouble:
        return Trouble(Problem(message=f"Water {row} is wrong.", mend="Draw it.", row=row), None, box)

    lon, lat = here
    across = (-180.0, lat, 180.0, lat + 0.01) if lon > 179.0 else (lon, lat, lon + 0.01, lat + 0.01)
    chunk = Searched(
        0, 3, (), (trouble(0, across), trouble(1, (-60.0, 10.0, -59.0, 11.0)), trouble(2, None)), 0
    )
    with AtlasWriter(tmp_path / "a.gpkg", about_of(3)) as writer:
        writer.add(chunk)
        writer.finish(NOW)
    with AtlasFile(tmp_path / "a.gpkg") as atlas:
        assert [p.row for p in atlas.problems_near(*here, 60_000.0)] == [0]
        assert atlas.nowhere() == 1
        assert [p.row for p in atlas.problems(10)] == [0, 1, 2]
        assert atlas.counts() == {"waters": 3, "too_small": 0, "with_problems": 3}


@pytest.mark.property
@pytest.mark.parametrize("end", ["gpkg", "geojson"])
def test_a_file_read_in_stretches_gives_each_feature_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, end: str
) -> None:
    """However short the stretches are, from whichever chunk the reading goes on."""
    path = tmp_path / f"lakes.{end}"
    names = [f"Lake {i}" for i in range(950)]
    shapes = np.array([shapely.box(0.01 * i, 10.0, 0.01 * i + 0.005, 10.01) for i in range(950)])
    pyogrio.raw.write(
        path, shapely.to_wkb(shapes), [np.array(names, dtype=object)], ["name"], geometry_type="Polygon",
        crs="EPSG:4326", driver={"gpkg": "GPKG", "geojson": "GeoJSON"}[end],
    )  # fmt: skip
    source = open_water_source(path)
    whole = list(source.chunks())
    for name in ("_STRETCH_BYTES", "_TEXT_STRETCH_BYTES"):
        monkeypatch.setattr(atlas_source, name, source.size_bytes // 2)
    assert list(source.chunks()) == whole
    assert list(source.chunks(400)) == whole[2:]
    assert [name for chunk in whole for name in chunk.names] == names
    assert [chunk.first for chunk in whole] == [0, 200, 400, 600, 800]
