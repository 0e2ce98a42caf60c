"""Unknown fuel round a fire is no barrier: the race, the chance and the people are unknown."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
import rasterio
import shapely
from rasterio.features import geometry_mask

from wetline.app.plan import plan_of, planned
from wetline.app.sizeup import size_up
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def walled(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with no fuel known from 20 to 150 m outside the perimeter."""
    folder = tmp_path_factory.mktemp("walled") / "incident"
    shutil.copytree(demo_folder, folder)
    incident = read_incident(folder)
    burnt = incident.fire.burnt_at(incident.now)
    ring = burnt.buffer(150.0).difference(burnt.buffer(20.0))
    with rasterio.open(folder / "fuels.tif") as file:
        fuel, profile, nodata, transform = file.read(1), file.profile, file.nodata, file.transform
    fuel[~geometry_mask([shapely.geometry.mapping(ring)], fuel.shape, transform)] = nodata
    with rasterio.open(folder / "fuels.tif", "w", **profile) as file:
        file.write(fuel, 1)
    return folder


def test_the_race_and_the_chance_are_unknown(walled: Path) -> None:
    plan = plan_of(planned(walled, at=None, members=5, seed=1))
    assert plan["answers"]["winning"] == "unknown"
    assert "unknown fuel or height" in plan["why_unknown"]
    for key in ("chance_of_holding", "chance_low", "chance_high", "chance_contained", "held_in"):
        assert plan[key] is None
    assert all(point["barrier_m"] == 0 for point in plan["race"])
    assert "is unknown" in plan["answers"]["hurt"]
    blocks = [f for f in plan["findings"] if f["level"] == "unknown" and f.get("effect") == "blocks"]
    assert {"data_missing", "entrapment"} <= {f["code"] for f in blocks}


def test_the_size_up_says_so_too(walled: Path) -> None:
    seen = size_up(walled, at=None, hours=6.0, members=0, seed=1)
    assert seen["unknown_cells"] > 0
    assert "entrapment" in {f["code"] for f in seen["findings"] if f.get("effect") == "blocks"}
