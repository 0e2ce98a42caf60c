"""Canopy layers that contradict each other are remarked: file, count, first place, mend."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from store.asking import edit, errors, warnings_of
from store.folder_maker import CELL_M, COLS, NORTH_M, ROWS, WEST_M, lonlat, write_raster
from wetline.behaviour import SurfaceModels
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.errors import Problem

pytestmark = pytest.mark.behaviour


def _write(folder: Path, **values: Any) -> None:
    """Layers of one value, or of the sound value with some cells spoilt."""
    sound = {"cover": 40.0, "height": 18.0, "base": 3.0, "bulk": 0.12}
    for name, given in values.items():
        layer = np.full((ROWS, COLS), sound[name] if isinstance(given, dict) else given, np.float32)
        if isinstance(given, dict):
            for cell, value in given.items():
                layer[cell] = value
        write_raster(folder / f"canopy_{name}.tif", layer, nodata=-1.0)


def _remark(folder: Path, layer: str) -> Problem:
    (problem,) = (p for p in warnings_of(folder, f"canopy_{layer}.tif") if p.field == f"canopy_{layer}")
    assert problem.mend
    return problem


def test_layers_that_agree_are_not_remarked(folder: Path) -> None:
    _write(folder, cover=40.0, height=18.0, base=3.0, bulk=0.12)
    assert [p for p in read_incident(folder).warnings if "canopy" in str(p.file)] == []


@pytest.mark.parametrize(
    ("layer", "spoilt", "words"),
    [
        ("base", {"base": {(20, 30): 25.0, (40, 50): 19.0}}, "above the trees' height in 2 cells"),
        ("base", {"base": {(20, 30): 18.0, (40, 50): 18.0}}, "at or above the trees' height in 2 cells"),
        ("bulk", {"base": {(20, 30): -1.0, (40, 50): 0.0}}, "density but no base in 2 cells"),
        ("height", {"height": {(20, 30): 0.0, (40, 50): -1.0}}, "cover but no height in 2 cells"),
        ("cover", {"cover": {(20, 30): 0.0, (40, 50): 0.0}}, "height but no cover in 2 cells"),
    ],
)
def test_a_contradiction_is_counted_and_placed(
    folder: Path, layer: str, spoilt: dict[str, dict[tuple[int, int], float]], words: str
) -> None:
    _write(folder, **{"cover": 40.0, "height": 18.0, "base": 3.0, "bulk": 0.12, **spoilt})
    problem = _remark(folder, layer)
    assert words in problem.message
    lon, lat = lonlat(WEST_M + 30.5 * CELL_M, NORTH_M - 20.5 * CELL_M)
    assert f"{lat:.4f}"[:6] in problem.message
    assert f"{lon:.4f}"[:6] in problem.message
    assert problem.value == "2 cells"


@pytest.mark.parametrize("layer", ["bulk", "base"])
def test_crowns_without_cover_and_height_are_remarked_beyond_the_blur_of_a_wood(
    folder: Path, layer: str
) -> None:
    bare = np.zeros((ROWS, COLS), np.float32)
    bare[:10] = 1.0
    for name, value in (("cover", 40.0), ("height", 18.0)):
        write_raster(folder / f"canopy_{name}.tif", np.asarray(bare * value, np.float32), nodata=-1.0)
    crowns = {"bulk": bare * 0.12, "base": bare * 3.0}
    crowns[layer][10] = crowns[layer][0, 0]  # one row of blur
    for name, values in crowns.items():
        write_raster(folder / f"canopy_{name}.tif", np.asarray(values, np.float32), nodata=-1.0)
    assert not any("neither cover nor height has trees" in p.message for p in read_incident(folder).warnings)
    crowns[layer][20:22, 30] = crowns[layer][0, 0]
    write_raster(folder / f"canopy_{layer}.tif", np.asarray(crowns[layer], np.float32), nodata=-1.0)
    (problem,) = (
        p for p in read_incident(folder).warnings if "neither cover nor height has trees" in p.message
    )
    assert (problem.field, problem.value) == (f"canopy_{layer}", "2 cells")
    assert f"{lonlat(WEST_M + 30.5 * CELL_M, NORTH_M - 20.5 * CELL_M)[1]:.4f}"[:6] in problem.message
    assert "unknown" in problem.mend


def test_density_without_any_base_layer_is_remarked(folder: Path) -> None:
    _write(folder, cover=40.0, height=18.0, bulk=0.12)
    assert "no base" in _remark(folder, "bulk").message


def test_the_fire_table_chooses_crown_fire_and_dead_moisture(folder: Path) -> None:
    edit(
        folder / "incident.toml",
        "[cover]",
        '[fire]\ncrown_fire = true\ncrown_rate = "cruz_2005"\nfoliar_moisture_pct = 85\n'
        'dead_moisture = "equilibrium"\n\n[cover]',
    )
    assert read_incident(folder).system == SurfaceModels(
        crown_rate="cruz_2005", foliar_moisture_pct=85.0, dead_moisture="equilibrium"
    )


def test_crown_fire_can_be_switched_off(folder: Path) -> None:
    edit(folder / "incident.toml", "[cover]", "[fire]\ncrown_fire = false\n\n[cover]")
    assert read_incident(folder).system == SurfaceModels(crown_fire=False)


def test_choices_of_crown_fire_are_remarked_where_it_is_switched_off(folder: Path) -> None:
    lines = 'crown_fire = false\ncrown_rate = "cruz_2005"\nfoliar_moisture_pct = 85\n'
    edit(folder / "incident.toml", "[cover]", f"[fire]\n{lines}\n[cover]")
    found = warnings_of(folder, "incident.toml")
    assert [p.field for p in found] == ["fire.crown_rate", "fire.foliar_moisture_pct"]
    assert all("no effect" in p.message and "crown_fire" in p.mend for p in found)


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ('crown_fire = "yes"', "fire.crown_fire"),
        ('crown_rate = "rothermel"', "fire.crown_rate"),
        ("foliar_moisture_pct = 0.9", "fire.foliar_moisture_pct"),
        ('dead_moisture = "tables"', "fire.dead_moisture"),
    ],
)
def test_a_wrong_choice_of_crown_fire_or_moisture_is_named(folder: Path, line: str, field: str) -> None:
    edit(folder / "incident.toml", "[cover]", f"[fire]\n{line}\n\n[cover]")
    assert [p.field for p in errors(folder)] == [field]
