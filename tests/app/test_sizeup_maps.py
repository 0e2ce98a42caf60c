"""The maps of the size-up say what its numbers say, and what they are."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest
import rasterio

from wetline.app.sizeup import size_up
from wetline.cautions import CAUTIONS

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.app.answer import Answer

pytestmark = pytest.mark.behaviour

MEMBERS = 5


@pytest.fixture(scope="module")
def mapped(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Answer, Path]:
    out = tmp_path_factory.mktemp("maps") / "new"
    return size_up(demo_folder, at=None, hours=3.0, members=MEMBERS, seed=2, out=out), out


def test_three_maps_are_written_and_named(mapped: tuple[Answer, Path]) -> None:
    answer, out = mapped
    assert [f["kind"] for f in answer["files"]] == ["burning", "arrival", "fronts"]
    assert sorted(p.name for p in out.iterdir()) == ["arrival.tif", "burning.tif", "fronts.geojson"]


def test_shares_are_counted_futures_that_only_grow_from_hour_to_hour(mapped: tuple[Answer, Path]) -> None:
    answer, out = mapped
    with rasterio.open(out / "burning.tif") as file:
        share, names, tags = file.read(), file.descriptions, file.tags()
        cell_ha = file.transform.a**2 / 1e4
    assert names == tuple(f"burnt by {front['time']}" for front in answer["fronts"])
    counts = share[~np.isnan(share)] * MEMBERS
    np.testing.assert_allclose(counts, np.rint(counts), atol=1e-5)
    assert (np.diff(share, axis=0) >= 0.0).all()
    for k, front in enumerate(answer["fronts"]):
        half = cell_ha * np.count_nonzero(share[k] >= 0.5)
        assert front["area_ha_in_pct"]["50"] == pytest.approx(half, abs=0.06)
    assert "5 modelled futures, uncalibrated" in tags["SUBJECT"]
    assert all(caution in tags["CAUTION"] for caution in CAUTIONS)


def test_more_futures_burn_a_place_later(mapped: tuple[Answer, Path]) -> None:
    _, out = mapped
    with rasterio.open(out / "arrival.tif") as file:
        ten, half, ninety = file.read()
    everywhere = ~np.isnan(ninety)
    assert everywhere.any()
    assert (ten[everywhere] <= half[everywhere]).all()
    assert (half[everywhere] <= ninety[everywhere]).all()
    assert np.count_nonzero(np.isnan(ninety)) > np.count_nonzero(np.isnan(ten))


def test_outlines_are_those_of_the_answer(mapped: tuple[Answer, Path]) -> None:
    answer, out = mapped
    features = json.loads((out / "fronts.geojson").read_text(encoding="utf-8"))["features"]
    assert [f["properties"]["time"] for f in features] == [front["time"] for front in answer["fronts"]]
    for feature, front in zip(features, answer["fronts"], strict=True):
        rings = feature["geometry"]["coordinates"]
        assert [ring[:-1] for ring in rings] == front["lines"]
        assert all(ring[0] == ring[-1] for ring in rings)


def test_a_folder_that_cannot_be_made_is_refused_before_the_work(demo_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(Exception, match="the folder cannot be made"):
        size_up(demo_folder, at=None, hours=3.0, members=0, seed=1, out=tmp_path / "file" / "in")
