"""Whatever happens to a file on its way, the folder answers with problems, never with a crash."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import numpy as np
import pytest

from store.folder_maker import COLS, ROWS, make_folder, write_raster
from wetline.errors import InputError
from wetline.store import check_folder, read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.property

FILES = (
    "incident.toml", "terrain.tif", "fuels.tif", "canopy_height.tif", "fire.geojson", "weather.csv", "fleet.toml",
    "water.geojson", "bases.geojson", "hazards.geojson", "people.geojson",
)  # fmt: skip
CUTS = (0.0, 0.02, 0.5, 0.97)
SEEDS = range(4)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = make_folder(tmp_path_factory.mktemp("sound"))
    write_raster(path / "canopy_height.tif", np.full((ROWS, COLS), 12.0, np.float32))
    return path


def answer(folder: Path) -> set[str | None]:
    """The folder is read, or refused with problems; each says what and how to mend it. Gives their files."""
    problems = check_folder(folder).problems
    for problem in problems:
        assert problem.message
        assert problem.mend
    return {problem.file for problem in problems}


def spoiled(sound: Path, tmp_path: Path, name: str, data: bytes) -> Path:
    folder = tmp_path / "spoiled"
    shutil.copytree(sound, folder)
    (folder / name).write_bytes(data)
    return folder


@pytest.mark.parametrize("share", CUTS)
@pytest.mark.parametrize("name", FILES)
def test_a_file_cut_short_is_named(sound: Path, tmp_path: Path, name: str, share: float) -> None:
    data = (sound / name).read_bytes()
    folder = spoiled(sound, tmp_path, name, data[: int(len(data) * share)])
    assert name in answer(folder)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", FILES)
def test_bytes_that_turned_over_are_never_a_crash(sound: Path, tmp_path: Path, name: str, seed: int) -> None:
    rng = np.random.default_rng([seed, *name.encode()])
    data = bytearray((sound / name).read_bytes())
    head = 400 if name.endswith(".tif") and seed % 2 else len(data)
    for _ in range(rng.choice([1, 3, 20])):
        data[rng.integers(min(head, len(data)))] = rng.integers(256)
    answer(spoiled(sound, tmp_path, name, bytes(data)))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", [n for n in FILES if not n.endswith(".tif")])
def test_pieces_of_text_in_the_wrong_place_are_never_a_crash(
    sound: Path, tmp_path: Path, name: str, seed: int
) -> None:
    """Words swapped, doubled or dropped: what an editor's slip does to a file that still parses."""
    rng = np.random.default_rng([seed, 7, *name.encode()])
    text = (sound / name).read_text()
    slips = ("null", "-1", "1e999", "NaN", '"x"', "[]", "{}", "true", "", ",", "0001-01-01T00:00:00Z", "é")
    for _ in range(3):
        words = text.split(str(rng.choice([" ", ",", "\n", ":"])))
        old, new = words[rng.integers(len(words))], slips[rng.integers(len(slips))]
        text = text.replace(old, new, 1) if old else text + new
    answer(spoiled(sound, tmp_path, name, text.encode()))


@pytest.mark.parametrize("name", FILES)
def test_check_and_reader_agree(sound: Path, tmp_path: Path, name: str) -> None:
    folder = spoiled(sound, tmp_path, name, (sound / name).read_bytes()[:-9])
    with pytest.raises(InputError) as caught:
        read_incident(folder)
    assert set(caught.value.problems) == set(check_folder(folder).problems)


@pytest.mark.parametrize("name", FILES)
def test_noise_is_never_a_crash(sound: Path, tmp_path: Path, name: str) -> None:
    folder = spoiled(sound, tmp_path, name, np.random.default_rng(3).bytes(3000))
    assert name in answer(folder)
