"""`atlas`: made once whatever the workers and however often it is stopped; asked with a class and a wind."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pyogrio
import pytest
import shapely
from distributed import LocalCluster

from cli.asking_commands import Said, ask, ask_apart
from water.atlas_maker import GEOD, lakes, oblong
from wetline.app.atlas import AtlasOptions, make_atlas
from wetline.store import unfinished
from wetline.water import lanes_of_file

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
LON, LAT = -31.8, 47.2
KILLED = """
import os, signal, sys
from datetime import UTC, datetime
from pathlib import Path
from wetline.app.atlas import AtlasOptions, make_atlas
from wetline.store import AtlasWriter
keep = AtlasWriter._keep_troubles
def dies(self, searched):
    keep(self, searched)
    if searched.first == 200:
        os.kill(os.getpid(), signal.SIGKILL)
AtlasWriter._keep_troubles = dies
make_atlas(Path(sys.argv[1]), Path(sys.argv[2]), AtlasOptions(class_id="twin_engine_scooper", step_deg=30.0, jobs=1),
           now=datetime(2026, 3, 1, 12, tzinfo=UTC), tell=lambda done, of: None)
"""
TWIN = AtlasOptions(class_id="twin_engine_scooper", step_deg=30.0, jobs=1)


def write_lakes(
    path: Path, shapes: Sequence[shapely.Geometry], *, kind: str = "Polygon", crs: str | None = "EPSG:4326"
) -> Path:
    names = np.array([f"Lake {i}" for i in range(len(shapes))], dtype=object)
    wkb = np.array([shapely.to_wkb(s) for s in shapes], dtype=object)
    driver = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".fgb": "FlatGeobuf", ".shp": "ESRI Shapefile"}[
        path.suffix
    ]
    options: dict[str, Any] = {"SPATIAL_INDEX": "NO"} if driver == "FlatGeobuf" else {}
    pyogrio.raw.write(
        path, wkb, [names], ["name"], geometry_type=kind, crs=crs, driver=driver, layer_options=options
    )
    return path


@pytest.fixture(scope="session")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """450 lakes: three chunks."""
    return write_lakes(tmp_path_factory.mktemp("many") / "many.gpkg", lakes(450))


@pytest.fixture(scope="session")
def serial(many: Path) -> list[tuple[Any, ...]]:
    return made(many, many.with_name("serial.gpkg"), TWIN)


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An atlas of three lakes north of a place, by every scooper's needs."""
    folder = tmp_path_factory.mktemp("small")
    shapes = [
        oblong(LON, LAT + 0.05, 90.0, 2500.0, 200.0),
        oblong(LON, LAT + 0.15, 0.0, 2500.0, 200.0),
        oblong(LON, LAT + 0.25, 45.0, 1300.0, 80.0),
    ]
    out = folder / "atlas.gpkg"
    assert ask("atlas", write_lakes(folder / "lakes.geojson", shapes), "--out", out).code == 0
    return out


def made(source: Path, out: Path, options: AtlasOptions) -> list[tuple[Any, ...]]:
    """Make an atlas; its lanes and its index."""
    make_atlas(source, out, options, now=NOW, tell=lambda _done, _of: None)
    return rows_of(out)


def rows_of(path: Path) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(path)) as base:
        lanes = base.execute("SELECT * FROM lanes ORDER BY fid").fetchall()
        return [*lanes, *base.execute("SELECT * FROM atlas_shelves ORDER BY cell, chunk")]


def near(path: Path, *more: object) -> Said:
    return ask("atlas", path, "--near", LON, LAT, *more, "--json")


@pytest.mark.property
def test_processes_and_a_cluster_give_the_rows_of_one_core(
    many: Path, serial: list[tuple[Any, ...]], tmp_path: Path
) -> None:
    assert len(serial) > 100
    two = AtlasOptions(class_id=TWIN.class_id, step_deg=30.0, jobs=2)
    assert made(many, tmp_path / "pool.gpkg", two) == serial
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=1, threads_per_worker=2, processes=True, dashboard_address=None
    ) as cluster:
        there = AtlasOptions(class_id=TWIN.class_id, step_deg=30.0, cluster=cluster.scheduler_address)
        assert made(many, tmp_path / "cluster.gpkg", there) == serial


@pytest.mark.property
@pytest.mark.parametrize("end", [".geojson", ".fgb", ".shp"])
def test_every_format_gives_the_same_lanes(
    many: Path, serial: list[tuple[Any, ...]], tmp_path: Path, end: str
) -> None:
    """GeoJSON carries 15 digits here or fewer: lanes agree to the centimetre."""
    made(write_lakes(tmp_path / f"lakes{end}", lakes(450)), tmp_path / "a.gpkg", TWIN)
    mine, theirs = (
        pyogrio.raw.read(path, layer="lanes", read_geometry=False)[3]
        for path in (tmp_path / "a.gpkg", many.with_name("serial.gpkg"))
    )
    assert mine[0].tolist() == theirs[0].tolist()
    assert np.allclose(mine[4], theirs[4], atol=0.05)
    assert serial


@pytest.mark.behaviour
def test_killed_in_the_midst_of_a_chunk_it_goes_on_and_doubles_nothing(
    many: Path, serial: list[tuple[Any, ...]], tmp_path: Path
) -> None:
    out = tmp_path / "a.gpkg"
    done = subprocess.run(
        [sys.executable, "-c", KILLED, many, out], check=False, env=dict(os.environ), timeout=120
    )
    assert done.returncode == -signal.SIGKILL
    assert not out.exists()
    rest = make_atlas(many, out, TWIN, now=NOW, tell=lambda _done, _of: None)
    assert rest["atlas"]["went_on_from"] == 200
    assert rows_of(out) == serial
    assert not unfinished(out).exists()


@pytest.mark.behaviour
def test_an_unfinished_atlas_says_so_in_every_answer(many: Path, tmp_path: Path) -> None:
    out = tmp_path / "a.gpkg"

    def stop(done: int, _of: int) -> None:
        if done == 200:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_atlas(many, out, TWIN, now=NOW, tell=stop)
    part = unfinished(out)
    said = ask("atlas", part, "--near", "25.5", "60.2", "--class", "twin_engine_scooper", "--json")
    assert said.code == 0
    assert said.answer["atlas"]["whole"] is False
    (finding,) = said.answer["findings"]
    assert (finding["level"], finding["effect"]) == ("unknown", "look")
    assert "200 of 450" in finding["message"]
    table = ask("atlas", part, "--near", "25.5", "60.2", "--class", "twin_engine_scooper").out
    assert "unfinished: 200 of 450" in " ".join(table.split())


@pytest.mark.derived
def test_one_atlas_serves_every_class_that_scoops(small: Path) -> None:
    """Needs of the class files: 1,200 m by 70 m and 1,500 m by 100 m; the third lake holds only the first."""
    answer = near(small).answer
    waters = {cls: {lane["water"] for lane in answer["lanes"] if lane["class"] == cls} for cls in
              ("single_engine_scooper", "twin_engine_scooper")}  # fmt: skip
    assert waters["single_engine_scooper"] == {"Lake 0", "Lake 1", "Lake 2"}
    assert waters["twin_engine_scooper"] == {"Lake 0", "Lake 1"}
    assert [a["classes"] for a in answer["atlas"]["asks"]] == [
        ["single_engine_scooper"],
        ["twin_engine_scooper"],
    ]
    assert answer["findings"] == []
    for lane in answer["lanes"]:
        assert lane["level"] == "unknown"
        assert lane["depth_m"] is None
        (lon, lat), toward = lane["start"], GEOD.inv(*lane["start"], *lane["end"])[0]
        middle = GEOD.fwd(lon, lat, toward, lane["length_m"] / 2)
        assert lane["distance_m"] == pytest.approx(GEOD.inv(LON, LAT, *middle[:2])[2], abs=2.0)


@pytest.mark.derived
def test_the_lanes_are_those_of_the_water_command(small: Path) -> None:
    """The same search asked without an atlas."""
    shapes = pyogrio.raw.read(small.with_name("lakes.geojson"))[2]
    found = lanes_of_file(enumerate(shapely.from_wkb(shapes)), length_m=1500.0, clear_m=50.0)
    fields = pyogrio.raw.read(small, layer="lanes", where="ask = 1", read_geometry=False)[3]
    assert sorted(fields[4].tolist()) == sorted(lane.length_m for lane in found.lanes)


@pytest.mark.derived
def test_wind_turns_stops_and_orders_the_lanes(small: Path) -> None:
    """Wind 20 kt from 360°, limit 12 kt across: only headings within 36.9° of north (asin 12/20) stand."""
    answer = near(small, "--class", "twin_engine_scooper", "--wind-kt", 20, "--wind-from-deg", 360).answer
    levels = [lane["level"] for lane in answer["lanes"]]
    assert levels == sorted(levels, key=["unknown", "stop"].index)
    assert set(levels) == {"unknown", "stop"}
    for lane in answer["lanes"]:
        off = abs((lane["heading_deg"] + 180.0) % 360.0 - 180.0)
        assert off <= 90.0
        assert (lane["level"] == "stop") == (off > 36.87)
        assert lane["headwind_kt"] == pytest.approx(20.0 * np.cos(np.radians(off)), abs=0.06)
    (counts,) = answer["counts"]
    assert 0 < counts["against_wind"] < counts["lanes"]


@pytest.mark.behaviour
def test_without_a_wind_it_is_unknown(small: Path) -> None:
    for lane in near(small).answer["lanes"]:
        assert lane["headwind_kt"] is lane["crosswind_kt"] is lane["other_way"] is None


@pytest.mark.behaviour
def test_nothing_in_reach_has_a_reason(small: Path) -> None:
    said = ask("atlas", small, "--near", "10", "-40", "--json")
    assert (said.code, said.answer["lanes"]) == (0, [])
    assert said.answer["reason"] == "the atlas holds no lane within 60 km"


@pytest.mark.behaviour
def test_an_atlas_made_for_other_needs_says_what_may_be_missing(tmp_path: Path) -> None:
    source = write_lakes(tmp_path / "lakes.gpkg", [oblong(LON, LAT, 90.0, 2500.0, 200.0)])
    out = tmp_path / "a.gpkg"
    assert ask("atlas", source, "--out", out, "--length-m", 2000, "--clear-m", 60).code == 0
    answer = near(out, "--class", "twin_engine_scooper").answer
    assert answer["lanes"]
    (finding,) = answer["findings"]
    assert finding["level"] == "unknown"
    assert "others may be missing" in finding["message"]


@pytest.mark.behaviour
def test_json_alone_goes_to_stdout_and_no_bar_where_there_is_no_screen(small: Path, tmp_path: Path) -> None:
    said = ask_apart("atlas", small.with_name("lakes.geojson"), "--out", tmp_path / "a.gpkg", "--json")
    assert said.code == 0
    assert json.loads(said.out)["atlas"]["waters"] == 3
    assert said.err == ""


@pytest.mark.behaviour
def test_tables_name_what_was_made_and_what_is_near(small: Path, tmp_path: Path) -> None:
    made_table = ask("atlas", small.with_name("lakes.geojson"), "--out", tmp_path / "a.gpkg").out
    assert "lanes of 3 waters" in made_table
    table = ask("atlas", small, "--near", LON, LAT, "--wind-kt", "8", "--wind-from-deg", "300").out
    assert "Lake 0" in table
    assert "Only the shore was read" in table
    assert max(map(len, table.splitlines())) <= 100


@pytest.mark.behaviour
def test_waters_that_were_repaired_are_named(tmp_path: Path) -> None:
    crossed = shapely.Polygon([(25.0, 60.0), (25.1, 60.1), (25.1, 60.0), (25.0, 60.1)])
    source = write_lakes(tmp_path / "lakes.gpkg", [oblong(24.9, 60.0), crossed])
    answer = ask("atlas", source, "--out", tmp_path / "a.gpkg", "--json").answer
    assert [p["row"] for p in answer["problems"]] == [1] * len(answer["problems"])
    assert answer["atlas"]["with_problems"] == 1
    there = ask("atlas", tmp_path / "a.gpkg", "--near", "25", "60", "--json").answer
    assert "self-intersection" in there["problems"][0]["message"]


@pytest.mark.behaviour
def test_waters_that_lie_nowhere_are_counted_in_every_answer(tmp_path: Path) -> None:
    """Metres in a file that claims degrees: they may lie at the very place that is asked about."""
    lost = shapely.box(500_000.0, 5_200_000.0, 503_000.0, 5_202_000.0)
    source = write_lakes(tmp_path / "a.gpkg", [oblong(25.0, 60.0), lost])
    ask("atlas", source, "--out", tmp_path / "b.gpkg", "--class", "twin_engine_scooper")
    words = ("atlas", tmp_path / "b.gpkg", "--near", LON, LAT, "--class", "twin_engine_scooper")
    (finding,) = ask(*words, "--json").answer["findings"]
    assert (finding["level"], finding["effect"]) == ("unknown", "look")
    assert "1 of 2 waters" in finding["message"]
    assert "may lie here" in ask(*words).out


def refusal(*words: object) -> str:
    said = ask("atlas", *words, "--json")
    assert said.code == 2, said
    return " ".join(p["message"] + " " + p["mend"] for p in json.loads(said.out)["error"]["problems"])


@pytest.mark.behaviour
def test_files_that_hold_no_water_are_refused_by_name(tmp_path: Path) -> None:
    out = tmp_path / "a.gpkg"
    (tmp_path / "notes.txt").write_text("no water")
    (tmp_path / "half.geojson").write_text('{"type": "FeatureCollection", "features": [{"type": ')
    points = write_lakes(tmp_path / "points.gpkg", [shapely.Point(25.0, 60.0)], kind="Point")
    with pytest.warns(UserWarning, match="crs"):
        nowhere = write_lakes(tmp_path / "nowhere.shp", [oblong(25.0, 60.0)], crs=None)
    assert "no such file" in refusal(tmp_path / "none.gpkg", "--out", out)
    assert "folder" in refusal(tmp_path, "--out", out)
    assert "no vector file" in refusal(tmp_path / "notes.txt", "--out", out)
    assert "no vector file" in refusal(tmp_path / "half.geojson", "--out", out)
    assert "holds no outlines" in refusal(points, "--out", out)
    assert "coordinate system" in refusal(nowhere, "--out", out)
    assert list(tmp_path.glob("a.gpkg*")) == []


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("end", "share"), [("gpkg", 0.6), ("gpkg", 0.97), ("fgb", 0.6), ("shp", 0.6), ("shp", 0.99), ("dbf", 0.9)]
)
def test_a_file_cut_short_is_refused(tmp_path: Path, end: str, share: float) -> None:
    """The reading library gives the shapes that are left, and nothing for the others."""
    source = write_lakes(tmp_path / f"a.{'shp' if end == 'dbf' else end}", lakes(60))
    cut = source.with_suffix(f".{end}")
    cut.write_bytes(cut.read_bytes()[: int(share * cut.stat().st_size)])
    assert "whole copy" in refusal(source, "--out", tmp_path / "b.gpkg")
    assert not (tmp_path / "b.gpkg").exists()


@pytest.mark.behaviour
def test_a_system_of_coordinates_of_no_place_is_refused(tmp_path: Path) -> None:
    source = write_lakes(tmp_path / "a.gpkg", [oblong(25.0, 60.0)], crs='LOCAL_CS["site",UNIT["metre",1]]')
    assert "where on Earth" in refusal(source, "--out", tmp_path / "b.gpkg")


@pytest.mark.behaviour
def test_names_may_be_numbers(tmp_path: Path) -> None:
    source = tmp_path / "a.gpkg"
    shapes = [shapely.to_wkb(oblong(25.0, 60.0 + 0.1 * i)) for i in range(2)]
    pyogrio.raw.write(
        source, np.array(shapes, dtype=object), [np.array([12345, 12346])], ["name"], geometry_type="Polygon",
        crs="EPSG:4326",
    )  # fmt: skip
    made(source, tmp_path / "b.gpkg", TWIN)
    answer = ask("atlas", tmp_path / "b.gpkg", "--near", 25, 60, "--json").answer
    assert {lane["water"] for lane in answer["lanes"]} == {"12345", "12346"}


@pytest.mark.behaviour
def test_several_layers_ask_for_one(tmp_path: Path) -> None:
    source = tmp_path / "lakes.gpkg"
    for layer in ("east", "west"):
        pyogrio.raw.write(
            source, np.array([shapely.to_wkb(oblong(25.0, 60.0))], dtype=object), [], [], layer=layer,
            geometry_type="Polygon", crs="EPSG:4326", driver="GPKG", append=source.exists(),
        )  # fmt: skip
    assert "--layer: east, west" in refusal(source, "--out", tmp_path / "a.gpkg")
    assert "no such layer" in refusal(source, "--out", tmp_path / "a.gpkg", "--layer", "north")
    assert ask("atlas", source, "--out", tmp_path / "a.gpkg", "--layer", "west").code == 0


@pytest.mark.behaviour
def test_options_that_make_no_sense_are_refused(small: Path, tmp_path: Path) -> None:
    source, out = small.with_name("lakes.geojson"), tmp_path / "a.gpkg"
    assert "--near" in refusal(small)
    assert "--out" in refusal(source)
    assert "does not go with --out" in refusal(source, "--out", out, "--wind-kt", 5)
    assert "does not go with --near" in refusal(small, "--near", LON, LAT, "--step-deg", 5)
    assert "scoops" in refusal(small, "--near", LON, LAT, "--class", "heavy_helicopter")
    assert "speed and a direction" in refusal(small, "--near", LON, LAT, "--wind-kt", 5)
    assert "go together" in refusal(source, "--out", out, "--length-m", 1000)
    assert "outside" in refusal(small, "--near", 200, LAT)
    assert "outside" in refusal(small, "--near", LON, LAT, "--within-km", 0)
    assert "outside" in refusal(small, "--near", LON, LAT, "--most", 0)
    assert "outside" in refusal(small, "--near", LON, LAT, "--wind-kt", -1, "--wind-from-deg", 20)
    assert "outside" in refusal(source, "--out", out, "--jobs", 0)
    assert "outside" in refusal(source, "--out", out, "--jobs", 1025)
    assert "outside" in refusal(source, "--out", out, "--step-deg", 0)
    assert "stands already" in refusal(source, "--out", small)
    assert "no atlas" in refusal(source, "--near", LON, LAT)
    assert not out.exists()
