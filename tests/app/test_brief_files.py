"""The runs of the sheets as files: read back by others, each with its standing in its name."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import pyogrio
import pyproj
import pytest
import shapely

from app.brief_folder import make_brief_folder
from store import folder_maker as fm
from wetline.app.brief import brief_answer
from wetline.app.brief_basis import basis_of, crews_of
from wetline.app.brief_files import runs_sheet
from wetline.app.marks import file_bytes
from wetline.app.plan import planned

if TYPE_CHECKING:
    from wetline.app.plan import Planned

pytestmark = pytest.mark.behaviour

GPX = "{http://www.topografix.com/GPX/1/1}"
UTM = pyproj.Transformer.from_crs(fm.CRS, "EPSG:4326", always_xy=True)
GEOD = pyproj.Geod(ellps="WGS84")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_brief_folder(tmp_path_factory.mktemp("runs") / "incident")


@pytest.fixture(scope="module")
def done(folder: Path) -> Planned:
    return planned(folder, at=None, members=0, seed=1)


@pytest.fixture(scope="module")
def answer(folder: Path) -> dict[str, Any]:
    return brief_answer(folder, out=None, units=None, members=0, at=None, seed=1)


def _file(answer: dict[str, Any], kind: str) -> Path:
    return Path(next(f["path"] for f in answer["files"] if f["kind"] == kind))


def test_the_files_stand_beside_the_pdf_with_their_digests(folder: Path, answer: dict[str, Any]) -> None:
    assert [f["kind"] for f in answer["files"]] == ["pdf", "gpx", "kml", "gpkg"]
    for file in answer["files"]:
        path = Path(file["path"])
        assert path.parent == folder / "brief"
        assert file["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()


def test_only_the_runs_of_sheets_are_carried_and_each_name_says_how_it_stands(
    done: Planned, answer: dict[str, Any]
) -> None:
    """Nobody is clear by distance: without a name every run reads as not released."""
    told = {run.id for crew in crews_of(done) for run in crew.first_runs}
    assert told
    assert done.attack is not None
    assert len(done.attack.drops) > len(told)
    root = ET.parse(_file(answer, "gpx")).getroot()  # noqa: S314  our own file
    names = [node.findtext(f"{GPX}name") or "" for node in (*root.iter(f"{GPX}wpt"), *root.iter(f"{GPX}rte"))]
    assert len(names) == 4 * len(told)
    assert {name.split()[0] if not name.startswith("EXERCISE") else name.split()[2] for name in names} == told
    assert all(name.endswith(" - NOT RELEASED") for name in names)


def test_points_are_those_of_the_plan(done: Planned, answer: dict[str, Any]) -> None:
    runs = [run for crew in crews_of(done) for run in crew.first_runs]
    meta, _, shapes, columns = pyogrio.raw.read(_file(answer, "gpkg"), layer="releases")
    names = list(meta["fields"])
    ids = list(columns[names.index("id")])
    for run in runs:
        k = ids.index(f"{run.id} release")
        at = shapely.from_wkb(shapes[k])
        assert (at.x, at.y) == pytest.approx(UTM.transform(*run.release_position), abs=2e-6)
        assert columns[names.index("height_above_canopy_m")][k] == pytest.approx(
            run.height_above_canopy_m, abs=0.05
        )
        assert columns[names.index("release_early_m")][k] == round(
            run.release_early_m.middle if run.release_early_m else np.nan
        )


def test_a_run_is_drawn_in_the_order_flown(done: Planned, answer: dict[str, Any]) -> None:
    """Approach to the release, line along the heading: against geodesics of pyproj."""
    runs = {run.id: run for crew in crews_of(done) for run in crew.first_runs}
    for layer, end in (("approaches", -1), ("lines", 0)):
        meta, _, shapes, columns = pyogrio.raw.read(_file(answer, "gpkg"), layer=layer)
        ids = columns[list(meta["fields"]).index("id")]
        headings = columns[list(meta["fields"]).index("run_heading_deg")]
        for name, shape, heading in zip(ids, shapes, headings, strict=True):
            run = runs[name.split()[0]]
            points = shapely.get_coordinates(shapely.from_wkb(shape))
            (lon0, lat0), (lon1, lat1) = points[0], points[-1]
            azimuth, _, _ = GEOD.inv(lon0, lat0, lon1, lat1)
            assert (azimuth - heading + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.5)
            meant = run.release_position if layer == "approaches" else tuple(run.line[0])
            assert points[end] == pytest.approx(UTM.transform(*meant), abs=2e-6)


def test_files_without_runs_say_so_and_take_the_place_of_older_ones(done: Planned) -> None:
    sheet = runs_sheet(basis_of(done, None), ())
    assert sheet.title.endswith("no drop run planned")
    files = file_bytes(sheet)
    assert "no drop run planned" in files["gpx"].decode()
    assert set(files) == {"gpx", "kml", "gpkg"}


def test_the_same_runs_give_the_same_bytes(done: Planned) -> None:
    basis, crews = basis_of(done, None), crews_of(done)
    assert file_bytes(runs_sheet(basis, crews)) == file_bytes(runs_sheet(basis, crews))
