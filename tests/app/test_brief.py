"""The brief as a crew and a planner read it: one map, one sheet a crew, from one small folder."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pypdfium2
import pyproj
import pytest
import shapely

from app.brief_folder import SEEN, make_brief_folder
from store import folder_maker as fm
from wetline.app.brief import brief_answer, pack_of
from wetline.app.brief_basis import basis_of, crews_of
from wetline.app.brief_circuit import circuit_view, crew_circuit, crew_way
from wetline.app.brief_map import map_page
from wetline.app.brief_run import _burnt_side, edge_lines, run_view
from wetline.app.plan import planned
from wetline.briefing import Frame
from wetline.cautions import CAUTIONS
from wetline.errors import InputError

if TYPE_CHECKING:
    from wetline.app.plan import Planned

UTM = pyproj.Transformer.from_crs(fm.CRS, "EPSG:4326", always_xy=True)
GEOD = pyproj.Geod(ellps="WGS84")
VARIATION_DEG = -14.0  # east positive, as the folder gives it


def brief(folder: Path, out: Path | None = None, **changes: Any) -> dict[str, Any]:
    given: dict[str, Any] = {"units": None, "members": 0, "at": None, "seed": 1}
    return brief_answer(folder, out=out, **(given | changes))


def pages_of(path: str | Path) -> list[str]:
    document = pypdfium2.PdfDocument(path)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def sheet(pages: list[str], call_signs: str) -> str:
    """The first page of a crew's sheet."""
    return next(p for p in pages if p.startswith(call_signs) and ", page 1 of" in p)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_brief_folder(tmp_path_factory.mktemp("brief") / "incident")


@pytest.fixture(scope="module")
def answer(folder: Path) -> dict[str, Any]:
    return brief(folder)


@pytest.fixture(scope="module")
def pages(answer: dict[str, Any]) -> list[str]:
    return pages_of(answer["files"][0]["path"])


@pytest.fixture(scope="module")
def done(folder: Path) -> Planned:
    return planned(folder, at=None, members=0, seed=1)


@pytest.mark.behaviour
def test_the_pdf_stands_in_the_incident_folder_with_its_digest(folder: Path, answer: dict[str, Any]) -> None:
    file = answer["files"][0]
    assert file["kind"] == "pdf"
    assert Path(file["path"]) == folder / "brief" / "brief.pdf"
    assert file["sha256"] == hashlib.sha256(Path(file["path"]).read_bytes()).hexdigest()
    assert not {"gpx", "kml", "geopackage", "drift_band"} & {n["key"] for n in answer["not_yet"]}


@pytest.mark.behaviour
def test_a_map_and_one_sheet_for_each_crew_that_flies(pages: list[str], answer: dict[str, Any]) -> None:
    """A pair shares a sheet; who oversees has one; who is out of service has none."""
    flying = [("Tern 1", "Tern 2"), ("Wick 3",), ("Lantern 9",)]
    assert [tuple(s["call_signs"]) for s in answer["sheets"]] == flying
    assert "Where does the next load do most good?" in pages[0]
    assert sum(", page 1 of" in page for page in pages) == len(flying)
    assert not any(page.startswith("Coot 5") for page in pages)


@pytest.mark.behaviour
def test_the_map_answers_the_three_questions_and_carries_every_caution(pages: list[str]) -> None:
    for words in (
        "Where does the next load do most good?", "not released: people not confirmed",
        "Are we winning? Unknown: too few futures to tell", "Who could this hurt?", "Crew Aldo",
        "Nearest houses, Tessick", "Nobody is confirmed clear of any run.", *CAUTIONS,
    ):  # fmt: skip
        assert words in pages[0]
    assert all(CAUTIONS[0] in page for page in pages)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "field",
    [
        "First drop", "Leave for fuel", "Last scoop", "Last drop", "Land by", "Crew hours", "Cut-off", "Scoop lane S",
        "Skell Mere; as flown, left to right", "touch", "full", "off by", "50 m free each side", "Usable length",
        "Width, depth 50 m each side; 6 m, date not known", "Last look nobody has looked; look first",
        "Wires none known (2 June), look", "If lost", "call Lantern 9", "Climb-out", "Drop run R", "not released",
        "release", "line 1", "Exit", "Height 100 ft above canopy", "At release", "Drift", "Release", "Circuit",
        "one way", "Separation", "Pair Tern", "at least 1 min apart", "Wick 3 D1", "Lantern 9 oversees",
        "Lost contact no drop, leave by your exit, call Lantern 9", "Findings", "Needs a look, first task. S",
        "Radio, MHz Air to air 129.250", "Air to ground", "Base", "Emergency", "Changed.", "clear of people.",
        "This drop only, at most 10 min", "Who", "By whom", "Time", "Wind 284° M (270° T), 10 kt",
    ],
)  # fmt: skip
def test_the_pair_s_sheet_carries_the_fields_of_the_model_sheet(pages: list[str], field: str) -> None:
    assert field in sheet(pages, "Tern 1, Tern 2")


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "field",
    [
        "Dip site D",
        "Way out",
        "full load climbs",
        "Way in",
        "at most 1 in 6",
        "L full fuel",
        "Last look",
    ],
)
def test_the_helicopter_s_sheet_tells_its_ways_in_and_out(pages: list[str], field: str) -> None:
    assert field in sheet(pages, "Wick 3")
    assert "not checked" not in sheet(pages, "Wick 3")


@pytest.mark.behaviour
def test_points_are_read_back_from_the_sheet(pages: list[str], done: Planned) -> None:
    """Every point of the pair, wherever its sheet has room for the table."""
    pair = " ".join(p for p in pages if p.startswith("Tern 1, Tern 2"))
    assert "Points WGS 84. Read back before use" in pair
    for run in crews_of(done)[0].first_runs:
        assert f"Release {run.id}, {run.aircraft} N 47°" in pair
    for name in (
        "Lane S3, start N 47°",
        "Lane S3, end N 47°",
        "Crew Aldo, 18:00 N 47°",
        "Base Halm Field N 47°",
    ):
        assert re.sub(r"S\d", "S", name) in re.sub(r"S\d", "S", pair)


@pytest.mark.derived
def test_the_run_s_heading_is_true_by_geodesy_and_magnetic_by_the_variation(
    pages: list[str], done: Planned
) -> None:
    """Azimuth of the approach on the ellipsoid (14° W variation adds 14° to it), not the grid's bearing."""
    crew = crews_of(done)[0]
    run = crew.runs[0]
    lon, lat = UTM.transform(run.approach[:, 0], run.approach[:, 1])
    azimuth = GEOD.inv(lon[0], lat[0], lon[1], lat[1])[0] % 360.0
    drawn_deg = run_view(basis_of(done, None), crew, run).heading_true_deg
    assert drawn_deg == pytest.approx(azimuth, abs=0.1)  # the grid's convergence here is 0.9°
    found = re.search(
        rf"Drop run {run.id} .*?Heading (\d+)° M \((\d+)° T\), \d+ kt", sheet(pages, "Tern 1, Tern 2")
    )
    assert found is not None
    magnetic, true = float(found[1]), float(found[2])
    assert true == round(azimuth) % 360.0
    assert (magnetic - true) % 360.0 == -VARIATION_DEG


@pytest.mark.derived
def test_the_lane_s_heading_is_true_by_geodesy(pages: list[str], done: Planned) -> None:
    primary = crews_of(done)[0].primary
    assert primary is not None
    lane = next(lane for _, lane in done.waters.lanes if lane.id == primary.source)
    lon, lat = UTM.transform([lane.start[0], lane.end[0]], [lane.start[1], lane.end[1]])
    azimuth = GEOD.inv(lon[0], lat[0], lon[1], lat[1])[0] % 360.0
    found = re.search(r"Heading (\d+)° M \((\d+)° T\), wind", sheet(pages, "Tern 1, Tern 2"))
    assert found is not None
    assert float(found[2]) == round(azimuth) % 360.0


@pytest.mark.behaviour
def test_every_clock_on_paper_is_the_incident_s_own(pages: list[str]) -> None:
    """Findings speak UTC; two clocks on one sheet kill."""
    assert not any(re.search(r"\d\d:\d\dZ", page) for page in pages)
    assert "Fire reaches Crew Aldo" in pages[0]
    assert ", 18:" in pages[0]  # 19 h UTC is 18 h on this incident's clock


@pytest.mark.behaviour
def test_runs_held_back_are_stops_that_name_what_not_to_take(pages: list[str], done: Planned) -> None:
    pair = crews_of(done)[0]
    assert pair.held
    first = pair.held[0].run.id
    assert f"Stop. Do not take {first}" in " ".join(p for p in pages if p.startswith("Tern 1, Tern 2"))


@pytest.mark.behaviour
def test_other_classes_near_one_target_block_until_they_are_split(pages: list[str]) -> None:
    pair = " ".join(p for p in pages if p.startswith("Tern 1, Tern 2"))
    assert "Wick 3 flies near it, split by time alone. Agree place or 500 ft between classes first." in pair


@pytest.mark.behaviour
def test_circuits_that_meet_are_on_the_sheets_of_those_who_fly_them_alone(
    pages: list[str], done: Planned
) -> None:
    meetings = [finding for finding in done.day.findings if finding.code == "separation"]
    assert meetings
    for crew in crews_of(done):
        text = " ".join(page for page in pages if page.startswith(crew.names))
        for finding in meetings:
            concerns = crew.oversees or set(crew.call_signs) & set(finding.refers_to.split(", "))
            assert (finding.message in text) == bool(concerns)


@pytest.mark.behaviour
def test_who_oversees_gets_hours_and_fuel_and_everyone_s_runs(pages: list[str], done: Planned) -> None:
    """2 h of fuel at 18:00 less 30 min kept: down by 19:30."""
    text = sheet(pages, "Lantern 9")
    assert "Run none: oversees, drops nothing" in text
    assert "on the ground by 19:30, 30 min kept" in text
    assert "First drop none" in text
    assert "People not confirmed: " in text
    for crew in crews_of(done):
        assert all(f"Release {run.id}, {run.aircraft}" in text for run in crew.first_runs)


@pytest.mark.behaviour
def test_the_same_folder_seed_and_time_give_the_same_bytes(
    folder: Path, answer: dict[str, Any], tmp_path: Path
) -> None:
    again = brief(folder, tmp_path / "again")
    assert again["files"][0]["sha256"] == answer["files"][0]["sha256"]


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("lacking", "said"),
    [
        (("weather.csv",), "Unknown: no weather for this hour"),
        (("water.geojson",), "No load can be placed"),
        (("fleet.toml",), "No sheets"),
        (("people.geojson",), "Not known: people"),
        (("weather.csv", "water.geojson", "fleet.toml", "people.geojson", "hazards.geojson", "bases.geojson"), "Fronts: not known."),
    ],
)  # fmt: skip
def test_what_the_folder_lacks_is_said_and_the_rest_still_prints(
    tmp_path: Path, lacking: tuple[str, ...], said: str
) -> None:
    folder = make_brief_folder(tmp_path / "incident")
    for name in lacking:
        (folder / name).unlink()
    found = brief(folder)
    text = pages_of(found["files"][0]["path"])
    assert said in text[0]
    assert len(text) >= 1 + len(found["sheets"])
    assert (found["sheets"] == []) == ("fleet.toml" in lacking)
    for page in text[1:]:
        assert "nan" not in page
        assert "None," not in page


@pytest.mark.behaviour
def test_without_water_a_scooper_s_sheet_says_why_and_asks_for_no_drop(tmp_path: Path) -> None:
    folder = make_brief_folder(tmp_path / "incident")
    (folder / "water.geojson").unlink()
    text = sheet(pages_of(brief(folder)["files"][0]["path"]), "Tern 1, Tern 2")
    assert "No drop planned: wait" in text
    assert "Source none in reach fits this class" in text
    assert "Run none: no source that it may use" in text
    assert "No run on this sheet. No name, no drop." in text
    assert "First drop not known" in text


def _people(folder: Path, east_m: float) -> None:
    x, y = fm.FIRE_XY
    crew = fm.feature(
        "Point", fm.lonlat(x + east_m, y), name="Crew Aldo", kind="crew", count=8, seen=SEEN.isoformat()
    )
    fm.write_features(folder / "people.geojson", crew)


@pytest.mark.behaviour
def test_a_crew_at_the_fire_s_edge_makes_the_command_leave_with_3(tmp_path: Path) -> None:
    """The fire's radius is 252 m: 260 m east, downwind, is minutes away."""
    folder = make_brief_folder(tmp_path / "incident")
    _people(folder, 260.0)
    found = brief(folder)
    assert found["exit_code"] == 3
    assert "Stop: Crew Aldo" in pages_of(found["files"][0]["path"])[0]


@pytest.mark.behaviour
def test_runs_held_back_alone_leave_with_0(tmp_path: Path) -> None:
    """Nobody is near: wires hold runs back, and held-back runs are told to nobody as work."""
    folder = make_brief_folder(tmp_path / "incident")
    _people(folder, -2_200.0)
    plan = planned(folder, at=None, members=0, seed=1)
    assert plan.attack is not None
    assert plan.attack.held_back
    assert not any(f.level == "stop" for f in plan.entrapment)
    pack, stopped = pack_of(plan, None)
    assert not stopped
    assert any(f.level == "stop" for s in pack.sheets for f in s.findings)


@pytest.mark.behaviour
def test_units_can_be_chosen(folder: Path, tmp_path: Path) -> None:
    text = sheet(pages_of(brief(folder, tmp_path, units="metric")["files"][0]["path"]), "Tern 1, Tern 2")
    assert "km/h" in text
    assert "31 m (100 ft) above canopy" in text


@pytest.mark.behaviour
def test_nothing_is_half_written_where_the_folder_cannot_be_made(folder: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file")
    with pytest.raises(InputError, match="cannot be written"):
        brief(folder, taken)
    assert taken.read_text() == "a file"
    assert [p.name for p in tmp_path.iterdir()] == ["taken"]


@pytest.mark.behaviour
def test_a_fault_while_drawing_leaves_the_older_brief_whole(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    older = tmp_path / "brief.pdf"
    older.write_bytes(b"older")

    def broken(_: object) -> bytes:
        message = "no ink"
        raise RuntimeError(message)

    monkeypatch.setattr("wetline.briefing.write.pdf_bytes", broken)
    with pytest.raises(RuntimeError, match="no ink"):
        brief(folder, tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["brief.pdf"]
    assert older.read_bytes() == b"older"


@pytest.mark.derived
@pytest.mark.parametrize(
    ("north_m", "side"), [((0.0, 400.0), "left"), ((-400.0, 0.0), "right"), ((-400.0, 400.0), "both")]
)
def test_the_burnt_side_is_that_of_the_ground_beside_the_line(
    north_m: tuple[float, float], side: str
) -> None:
    """Flown to the east, north is on the left."""
    burnt = shapely.box(-500.0, north_m[0], 500.0, north_m[1])
    assert _burnt_side(Frame((0.0, 0.0), 90.0), burnt, 0.0, 100.0) == side


@pytest.mark.derived
def test_edge_lines_keep_the_burnt_ground_on_their_left() -> None:
    """The signed area of a line with the burnt on its left is positive for the outside, negative for a hole."""
    area = shapely.Polygon([(0, 0), (0, 9), (9, 9), (9, 0)], [[(3, 3), (6, 3), (6, 6), (3, 6)]])
    outer, hole = (shapely.LinearRing(line) for line in edge_lines(area))
    assert outer.is_ccw
    assert not hole.is_ccw


@pytest.mark.property
def test_the_way_round_of_each_crew_passes_its_run_and_never_crosses_itself(done: Planned) -> None:
    basis = basis_of(done, None)
    ways = [(crew, way) for crew in crews_of(done) if (way := crew_way(basis, crew)) is not None]
    assert ways
    for crew, way in ways:
        ring = shapely.LinearRing(way.path_xy)
        assert ring.is_simple
        assert ring.is_ccw == (way.hand == "left")
        assert shapely.distance(ring, shapely.Point(crew.runs[0].release_position)) < 60.0


@pytest.mark.behaviour
def test_the_time_beside_a_sketch_is_that_of_the_way_that_is_drawn(done: Planned) -> None:
    """The legs that are timed are as long as the straights between the turns of the sketch."""
    basis, compared = basis_of(done, None), 0
    for crew in crews_of(done):
        way, timed, view = crew_way(basis, crew), crew_circuit(basis, crew), circuit_view(basis, crew)
        if way is None or timed is None or view is None or timed.way is None:
            continue
        assert [leg.distance_m for leg in timed.legs] == pytest.approx(
            [way.out.straight_m, way.back.straight_m], abs=1.0
        )
        assert view.cycle_min == timed.cycle_min
        assert compared or basis.style.minutes(timed.cycle_min) in (
            map_page(basis, crews_of(done)).circuit_label or ""
        )
        compared += 1
    assert compared


@pytest.mark.derived
def test_the_run_is_drawn_in_its_own_frame(done: Planned) -> None:
    """Release at 0, approach behind it on the axis; drift corrected by its own length, to the other side."""
    basis, crew = basis_of(done, None), crews_of(done)[0]
    run = crew.runs[0]
    view = run_view(basis, crew, run)
    assert view.approach is not None
    assert view.approach[-1] == pytest.approx((0.0, 0.0), abs=1e-6)
    assert view.approach[0] == pytest.approx((-1_500.0, 0.0), abs=1e-3)
    assert view.release_early_m is not None
    assert view.release_right_m is not None
    assert view.release_early_m.middle == pytest.approx(view.line_from_m, abs=1e-3)
    assert view.release_right_m.middle == pytest.approx(view.line_left_m, abs=1e-3)
    assert view.line_to_m - view.line_from_m == pytest.approx(
        float(np.hypot(*(run.line[-1] - run.line[0]))), abs=1e-3
    )
    assert view.exit_path is not None
    turned = (float(view.exit_true_deg or 0.0) - view.heading_true_deg + 180.0) % 360.0 - 180.0
    assert abs(turned) == pytest.approx(90.0, abs=0.2) or abs(turned) < 0.2
