"""Writing the demo: the same bytes from a seed, and nothing of the user's ever overwritten."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, NoReturn

import pytest
import shapely

from wetline.demo import build, build_demo
from wetline.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from demo.written import Written

pytestmark = pytest.mark.behaviour

LISTED = {
    "incident.toml", "terrain.tif", "fuels.tif", "water.geojson", "bases.geojson", "hazards.geojson",
    "people.geojson", "avoid.geojson", "fire.geojson", "weather.csv", "fleet.toml",
}  # fmt: skip


def test_the_same_seed_gives_the_same_bytes(demo: Written, tmp_path: Path) -> None:
    again = build_demo(tmp_path / "again", seed=1)
    assert again.incident == demo.name
    for _, path in again.files:
        assert path.read_bytes() == (demo.folder / path.name).read_bytes(), path.name


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_every_seed_gives_a_whole_folder(written: Callable[[int], Written], seed: int) -> None:
    demo = written(seed)
    files = {path.name: path for path in demo.folder.iterdir()}
    assert set(files) >= LISTED
    assert sum(path.stat().st_size for path in files.values()) <= 15e6
    lakes = [s for s, p in demo.layer("water") if p["kind"] != "river"]
    assert len(lakes) >= 25
    assert len([p for _, p in demo.layer("water") if "depth_m" not in p]) == 1
    assert all(shape.is_valid for name in ("water", "avoid", "fire") for shape, _ in demo.layer(name))


def test_another_seed_gives_another_place(written: Callable[[int], Written]) -> None:
    assert written(1).name != written(2).name


def test_geojson_is_written_as_rfc_7946_asks(demo: Written) -> None:
    """Longitude first, outer rings counter-clockwise, no crs member, seven decimals."""
    for path in demo.folder.glob("*.geojson"):
        text = path.read_text(encoding="utf-8")
        collection = json.loads(text)
        assert "crs" not in collection
        assert not re.search(r"\d\.\d{8,}", text), path.name
        for feature in collection["features"]:
            shape = shapely.geometry.shape(feature["geometry"])
            west, south, east, north = shape.bounds
            assert -32.2 < west <= east < -31.3
            assert 47.0 < south <= north < 47.4
            if shape.geom_type in {"Polygon", "MultiPolygon"}:
                assert all(part.exterior.is_ccw for part in shapely.get_parts(shape))


def test_names_are_given_once(demo: Written) -> None:
    names = [
        p["name"] for layer in ("water", "bases", "hazards", "people", "roads") for _, p in demo.layer(layer)
    ]
    assert len(names) == len(set(names))


def test_a_folder_that_holds_anything_is_refused_with_the_mend(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        build_demo(tmp_path)
    assert "--force" in caught.value.problems[0].mend
    assert [p.name for p in tmp_path.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize("text", [None, 'name = "Real"\n', 'name = "Real"\nexercise = false\n', "name ="])
def test_force_never_replaces_what_is_no_exercise(tmp_path: Path, text: str | None) -> None:
    folder = tmp_path / "incident"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    if text is not None:
        (folder / "incident.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="never replaced"):
        build_demo(folder, force=True)
    assert (folder / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_a_file_in_the_way_is_refused(tmp_path: Path) -> None:
    (tmp_path / "incident").write_text("", encoding="utf-8")
    with pytest.raises(InputError, match="a file, not a folder"):
        build_demo(tmp_path / "incident", force=True)


def _quick(folder: Path, seed: int) -> tuple[str, list[str]]:
    folder.mkdir()
    (folder / "incident.toml").write_text(f"exercise = true\nname = {seed}\n", encoding="utf-8")
    return "Quick", ["incident.toml"]


def test_force_replaces_an_exercise_as_a_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A log of the old exercise must not be read with the new one."""
    monkeypatch.setattr(build, "_write", _quick)
    folder = tmp_path / "incident"
    build_demo(folder, seed=1)
    (folder / "log.sqlite").write_bytes(b"old")
    build_demo(folder, seed=2, force=True)
    assert [p.name for p in folder.iterdir()] == ["incident.toml"]
    assert "name = 2" in (folder / "incident.toml").read_text(encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["incident"]


def test_nothing_half_written_remains_and_the_old_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(build, "_write", _quick)
    build_demo(tmp_path / "incident", seed=1)

    def broken(folder: Path, seed: int) -> NoReturn:
        _quick(folder, seed)
        message = "disk full"
        raise OSError(message)

    monkeypatch.setattr(build, "_write", broken)
    with pytest.raises(OSError, match="disk full"):
        build_demo(tmp_path / "incident", seed=2, force=True)
    with pytest.raises(OSError, match="disk full"):
        build_demo(tmp_path / "other", seed=2)
    assert [p.name for p in tmp_path.iterdir()] == ["incident"]
    assert "name = 1" in (tmp_path / "incident" / "incident.toml").read_text(encoding="utf-8")
