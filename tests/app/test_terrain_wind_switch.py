"""`fire.wind = "terrain"`: what it changes in the fire, what it does not, and what is said of it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from store import folder_maker as fm
from store.asking import edit
from wetline.app.situation import look
from wetline.app.sizeup import scene_of, size_up
from wetline.app.wind import wind_over
from wetline.behaviour import Variation
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

pytestmark = pytest.mark.behaviour

RIDGES_M = 1500.0


def _ridges(height_m: float) -> NDArray[np.float32]:
    """Ridges along north, across the wind of the folder, with a crest in the middle of the ground."""
    x = (np.arange(fm.COLS) - fm.COLS // 2) * fm.CELL_M
    return np.tile(400.0 + height_m * np.cos(2.0 * np.pi * x / RIDGES_M), (fm.ROWS, 1)).astype(np.float32)


def _folder(path: Path, terrain: NDArray[np.float32]) -> Path:
    fm.make_folder(path)
    fm.write_raster(path / "terrain.tif", terrain)
    fm.write_raster(path / "fuels.tif", np.full((fm.ROWS, fm.COLS), 2, np.int16))
    for name in ("water", "bases", "hazards", "people"):
        (path / f"{name}.geojson").unlink(missing_ok=True)
    (path / "fleet.toml").unlink()
    edit(path / "incident.toml", "hazards = 2026-06-02\n", "")
    return path


def _switch_on(folder: Path) -> None:
    edit(folder / "incident.toml", "[cover]", '[fire]\nwind = "terrain"\n\n[cover]')


def _rates(folder: Path) -> tuple[float, float]:
    """Head rate [m/s] on the middle crest and on the valley floor east of it, both level."""
    situation = look(folder, None)
    end = situation.now + timedelta(hours=1)
    scene = scene_of(situation, look_until=end, keep_until=end)
    rate = scene.fields(Variation()).head_rate_mps[0]
    x = fm.WEST_M + (fm.COLS // 2 + 0.5) * fm.CELL_M
    y = fm.NORTH_M - (fm.ROWS // 2 + 0.5) * fm.CELL_M
    (crest, floor) = (scene.window.index(east, y) for east in (x, x + RIDGES_M / 2.0))
    return float(rate[crest]), float(rate[floor])


def _size_up(folder: Path) -> dict[str, Any]:
    return size_up(folder, at=None, hours=2.0, members=4, seed=1)


def test_a_crest_burns_faster_than_a_valley_floor(tmp_path: Path) -> None:
    folder = _folder(tmp_path / "ridges", _ridges(60.0))
    crest, floor = _rates(folder)
    assert crest == pytest.approx(floor, rel=0.02)
    _switch_on(folder)
    blown_crest, blown_floor = _rates(folder)
    assert blown_crest > 1.2 * crest
    assert blown_floor < 0.8 * floor


def test_level_ground_changes_nothing_but_what_is_said(tmp_path: Path) -> None:
    folder = _folder(tmp_path / "level", _ridges(0.0))
    plain = _size_up(folder)
    _switch_on(folder)
    bent = _size_up(folder)
    said = {"notes", "not_yet"}
    assert {k: v for k, v in bent.items() if k not in said} == {
        k: v for k, v in plain.items() if k not in said
    }
    missing, missing_bent = ([entry["key"] for entry in answer["not_yet"]] for answer in (plain, bent))
    assert missing == [*missing_bent, "wind_over_terrain"]
    assert not any("Wind over terrain" in note for note in plain["notes"])


def test_what_the_wind_leaves_out_is_said(tmp_path: Path) -> None:
    folder = _folder(tmp_path / "steep", _ridges(110.0))
    _switch_on(folder)
    notes = " ".join(_size_up(folder)["notes"])
    for words in (
        "for the spread of the fire alone",
        "undisturbed by the hills",
        "No eddies behind ridges",
        "heating",
        "fall by more than 17° downwind",
    ):
        assert words in notes


def test_the_wind_of_a_window_hangs_on_the_ground_beyond_it_and_is_computed_once(tmp_path: Path) -> None:
    ground = read_incident(_folder(tmp_path / "ridges", _ridges(60.0))).ground
    window, rows, cols = ground.grid.window(592_500.0, 5_226_500.0, 594_000.0, 5_228_000.0)
    wind = wind_over(ground, window)
    assert wind.at(rows, cols).shape == (*window.shape, 2, 2)
    assert wind.grid.rows > window.rows
    assert wind_over(ground, window).response is wind.response
    whole = wind_over(ground, ground.grid)
    np.testing.assert_allclose(wind.at(rows, cols), whole.at(rows, cols), atol=0.03)
