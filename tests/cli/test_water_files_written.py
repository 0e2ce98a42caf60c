"""`water --out` writes what the answer says, for a receiver, a globe and a map."""

from __future__ import annotations

from pathlib import Path

import pyogrio
import pytest

from cli.asking_commands import ask
from cli.valley_maker import make_valley

pytestmark = pytest.mark.behaviour


@pytest.fixture(scope="module")
def valley(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_valley(tmp_path_factory.mktemp("valley") / "incident")


def test_files_are_named_and_hold_every_place(valley: Path, tmp_path: Path) -> None:
    out = tmp_path / "new" / "maps"
    answer = ask("water", str(valley), "--out", str(out), "--json").answer
    assert [(f["kind"], Path(f["path"]).name) for f in answer["files"]] == [
        ("gpx", "water.gpx"), ("kml", "water.kml"), ("gpkg", "water.gpkg"),
    ]  # fmt: skip
    counts = {layer: len(answer[layer]) for layer in ("lanes", "dip_sites", "bases") if answer[layer]}
    assert counts
    for name in ("water.kml", "water.gpkg"):
        held = {layer: pyogrio.read_info(out / name, layer=layer)["features"] for layer in counts}
        assert held == counts


def test_the_way_out_of_a_lane_goes_with_it(valley: Path, tmp_path: Path) -> None:
    answer = ask("water", str(valley), "--out", str(tmp_path), "--json").answer
    meta, _, _, columns = pyogrio.raw.read(tmp_path / "water.gpkg", layer="lanes", columns=["escape"])
    assert list(meta["fields"]) == ["escape"]
    meant = [f"{lane['escape']['kind']}: {lane['escape']['because']}" for lane in answer["lanes"]]
    assert list(columns[0]) == meant
    assert f"escape: {meant[0]}" in (tmp_path / "water.gpx").read_text(encoding="utf-8")


def test_a_place_that_cannot_be_written_is_named_before_the_work(valley: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    said = ask("water", str(valley), "--out", str(tmp_path / "file"), "--json")
    assert said.code == 2
    assert said.answer["error"]["problems"][0]["field"] == "out"


def test_a_water_file_takes_no_out(valley: Path, tmp_path: Path) -> None:
    said = ask("water", "--file", str(valley / "water.geojson"), "--length-m", "900", "--clear-m", "50",
               "--out", str(tmp_path), "--json")  # fmt: skip
    assert said.code == 2
    assert said.answer["error"]["problems"][0]["field"] == "out"
