"""The parts that papers are drawn with: frame, labels, findings, ground picture, word widths."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from rasterio.io import MemoryFile
from shapely.geometry import Polygon

from briefing import paper
from briefing.pages import letters, printed
from wetline.briefing import DipView, Frame, Wire
from wetline.briefing.draw_run import wire_items
from wetline.briefing.draw_source import draw_dip
from wetline.briefing.drawing import View, area, teeth
from wetline.briefing.format import Style
from wetline.briefing.labels import Box, Label, place
from wetline.briefing.map_frame import SCALES, map_view
from wetline.briefing.metrics import text_width, wrapped
from wetline.briefing.raster import contour_step, ground_picture, png_grey
from wetline.briefing.sheet import findings_in_order
from wetline.briefing.sheet_run import run_rows

BOUNDS = Box(0, 0, 400, 300)
STYLE = Style(
    units="aviation", zone=paper.ZONE, made=paper.at(13, 47), projection=paper.PROJECTION, variation_deg=-14.0
)


@pytest.mark.derived
def test_a_frame_looks_along_the_heading_with_left_positive() -> None:
    frame = Frame((1000.0, 2000.0), 90.0)
    np.testing.assert_allclose(frame.local([[1100.0, 2000.0]]), [[100.0, 0.0]], atol=1e-9)
    np.testing.assert_allclose(
        frame.local([[1000.0, 2050.0]]), [[0.0, 50.0]], atol=1e-9
    )  # north is left of east


@pytest.mark.property
@given(st.floats(0, 360), st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_a_frame_goes_there_and_back(heading_deg: float, x: float, y: float) -> None:
    frame = Frame((590_000.0, 5_227_000.0), heading_deg)
    np.testing.assert_allclose(frame.local(frame.grid([[x, y]])), [[x, y]], atol=1e-6)


@pytest.mark.derived
def test_a_frame_moves_shapes_and_samples_the_ground() -> None:
    frame = Frame(paper.xy(0, 0), 0.0)
    moved = frame.shape(Polygon([paper.xy(10, 0), paper.xy(10, 20), paper.xy(30, 20)]))
    assert shapely.get_coordinates(moved)[0].tolist() == pytest.approx([0.0, -10.0])
    line = frame.profile(paper.ground(), 0.0, 500.0, 50.0)
    assert line is not None
    assert line.shape == (11, 2)
    assert frame.profile(paper.ground(), 90_000.0, 90_500.0) is None  # off the grid: not known


@pytest.mark.derived
def test_teeth_point_away_from_the_burnt_ground() -> None:
    """Burnt on the left of a line flown east: unburnt is south, which is down the page."""
    for tooth in teeth(np.array([[0.0, 50.0], [100.0, 50.0]])):
        assert tooth[1, 1] > tooth[0, 1]


@pytest.mark.property
@given(st.lists(st.tuples(st.floats(20, 380), st.floats(20, 280)), min_size=1, max_size=25))
def test_labels_never_meet_and_never_leave_the_page(points: list[tuple[float, float]]) -> None:
    labels = [Label(lines=(f"Crew {i}", "seen 13:40"), at=at, must=i % 2 == 0) for i, at in enumerate(points)]
    placed = place(labels, BOUNDS, [Box(100, 100, 150, 120)])
    for i, one in enumerate(placed):
        assert one.box.inside(BOUNDS)
        assert not one.box.meets(Box(100, 100, 150, 120))
        assert not any(one.box.meets(other.box) for other in placed[i + 1 :])


@pytest.mark.property
def test_people_are_placed_before_anything_else_and_do_not_drop() -> None:
    at = (200.0, 150.0)
    names = [Label(lines=(f"Lake {i}",), at=at, rank=0) for i in range(30)]
    crews = [Label(lines=(f"Crew {i}",), at=at, rank=9, must=True) for i in range(12)]
    placed = place([*names, *crews], BOUNDS)
    assert sum(p.label.must for p in placed) == 12
    assert len(placed) < 42


@pytest.mark.property
def test_a_label_that_must_stand_off_gets_a_leader() -> None:
    far = place([Label(lines=("Crew",), at=(5.0, 5.0), must=True)], Box(100, 100, 200, 200))
    assert far
    assert far[0].leader is not None


@pytest.mark.behaviour
def test_words_on_a_line_stay_on_it_or_are_dropped() -> None:
    """An hour beside its front could be read for the next one."""
    line = tuple((100.0 + 10 * i, 150.0) for i in range(20))
    hour = Label(lines=("15:00",), at=line[0], also=line[1:], centred=True, sides=())
    (placed,) = place([hour], BOUNDS, [Box(60, 100, 160, 200)])
    middle = ((placed.box.left + placed.box.right) / 2, (placed.box.top + placed.box.bottom) / 2)
    assert middle in [pytest.approx(point) for point in line]
    assert place([hour], BOUNDS, [Box(0, 100, 400, 200)]) == []


@pytest.mark.behaviour
def test_the_look_task_comes_first_then_stop_blocks_looks_caution_noted() -> None:
    rows = findings_in_order(paper.findings())
    assert [word for _, word, _ in rows] == [
        "Needs a look, first task.", "Stop.", "Stop.", "Blocks.", "Caution.", "Caution.", "Noted.",
    ]  # fmt: skip
    assert [sign for sign, _, _ in rows] == [
        "unknown",
        "stop",
        "stop",
        "block",
        "caution",
        "caution",
        "noted",
    ]


@pytest.mark.behaviour
def test_looks_at_one_thing_are_one_task_and_others_wait_behind_the_stops() -> None:
    some = (
        paper.finding("unknown", "S3 depth.", "look", "S3"),
        paper.finding("unknown", "S4 wires.", "look", "S4"),
        paper.finding("unknown", "S3 boats.", "look", "S3"),
        paper.finding("stop", "R7 stops."),
    )
    assert [(word, text) for _, word, text in findings_in_order(some)] == [
        ("Needs a look, first task.", "S3 depth. S3 boats."),
        ("Stop.", "R7 stops."),
        ("Needs a look.", "S4 wires."),
    ]


@pytest.mark.behaviour
def test_unknown_without_an_effect_blocks() -> None:
    assert findings_in_order((paper.finding("unknown", "Crew hours."),)) == [
        ("block", "Blocks.", "Crew hours.")
    ]


@pytest.mark.behaviour
def test_a_limit_is_said_once_and_a_message_is_never_said_twice() -> None:
    near = replace(paper.finding("stop", "Alder 55 m away"), limit="60 m")
    said = replace(paper.finding("stop", "Alder 55 m away, limit 60 m"), limit="60 m")
    texts = [text for _, _, text in findings_in_order((near, near, said))]
    assert texts == ["Alder 55 m away. Limit 60 m.", "Alder 55 m away, limit 60 m."]


@pytest.mark.derived
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_the_picture_is_a_png_that_others_read() -> None:
    pixels = (np.arange(35 * 50).reshape(35, 50) % 251).astype(np.uint8)
    with MemoryFile(png_grey(pixels)) as file, file.open() as picture:
        assert picture.driver == "PNG"
        np.testing.assert_array_equal(picture.read(1), pixels)


@pytest.mark.behaviour
def test_the_ground_stays_pale_so_that_ink_is_read() -> None:
    """Relief never falls under the tone on which black keeps 7:1 and more (WCAG 2.1 contrast)."""
    ground = paper.ground()
    west, south, east, north = ground.grid.bounds
    pixels, _, _ = ground_picture(ground, (west, south, east, north), 300, 260)
    tone = np.percentile(pixels, 1) / 255
    luminance = ((tone + 0.055) / 1.055) ** 2.4
    assert (luminance + 0.05) / 0.05 > 7


@pytest.mark.behaviour
def test_unknown_ground_is_dotted_and_ground_off_the_grid_hatched() -> None:
    ground = paper.ground()
    holes = ground.elevation_m.copy()
    holes[100:160, 100:200] = np.nan
    west, south, east, north = ground.grid.bounds
    plain, _, _ = ground_picture(ground, (west, south, east, north), 450, 400)
    holed, heights, _ = ground_picture(
        replace(ground, elevation_m=holes), (west, south, east, north), 450, 400
    )
    inside = (slice(105, 155), slice(105, 195))
    assert np.isnan(heights[inside]).all()
    assert (holed[inside] == 120).any()
    assert not (plain[inside] == 120).any()
    off, _, _ = ground_picture(ground, (east, south, east + 1000, north), 200, 200)
    assert set(np.unique(off)) == {190, 246}


@pytest.mark.derived
@pytest.mark.parametrize(
    ("relief_m", "step_m"), [(200.0, 10.0), (450.0, 20.0), (1200.0, 50.0), (2400.0, 100.0)]
)
def test_contours_stay_countable(relief_m: float, step_m: float) -> None:
    assert contour_step(300.0, 300.0 + relief_m) == step_m


@pytest.mark.derived
def test_the_map_takes_the_finest_scale_that_holds_the_extent() -> None:
    view, scale = map_view((0.0, 0.0, 5000.0, 2000.0), 660.0, 400.0)
    assert scale in SCALES
    # One point is 1/72 inch: 660 pt at 1:25,000 is 660 / 72 × 0.0254 × 25,000 = 5821 m.
    assert scale == 25000
    assert view.east - view.west == pytest.approx(5820.8, abs=0.1)


@pytest.mark.derived
def test_a_view_cuts_lines_at_unknown_points_and_at_its_window() -> None:
    view = View(0, 0, 100, 100, 0, 0, 200, 200)
    line = np.array([[-50.0, 50], [20, 50], [np.nan, np.nan], [40, 50], [60, 50], [200, 50]])
    parts = view.lines(line)
    assert [p[:, 0].tolist() for p in parts] == [[0.0, 40.0], [80.0, 120.0, 200.0]]


@pytest.mark.derived
def test_word_widths_are_what_the_page_prints() -> None:
    """Against the boxes that an independent reader finds in the PDF; kerning only narrows."""
    name = "Tern Nordhang 1207"
    found = letters(printed(paper.pack(paper.sheet(call_signs=(name,))))[1])
    box = found.box[np.isclose(found.size, 21.0)]  # the only words of that size: who
    wide = float(box[:, 2].max() - box[:, 0].min())
    assert wide <= text_width(name, 21.0, bold=True) <= 1.03 * wide


@pytest.mark.property
@given(st.text(st.characters(codec="latin-1", categories=("L", "N")), max_size=30))
def test_wrapping_loses_no_word(word: str) -> None:
    text = f"alpha {word} beta gamma delta"
    assert " ".join(wrapped(text, 60.0)).split() == text.split()


@pytest.mark.property
def test_wrapped_lines_fit() -> None:
    lines = wrapped("Planning aid; crew, aerial supervisor and incident command decide", 90.0)
    assert len(lines) > 2
    assert all(text_width(line) <= 90.0 for line in lines)


@pytest.mark.behaviour
@pytest.mark.parametrize("shape", [shapely.box(900, 900, 950, 950), shapely.box(100, 0, 120, 50)])
def test_an_area_off_the_window_or_only_touching_it_draws_nothing(shape: Polygon) -> None:
    view = View(0, 0, 100, 100, 0, 0, 100, 100)
    assert area(view, shape, "water") == []
    assert view.lines(shapely.get_coordinates(shape)[:2]) == []


@pytest.mark.property
@given(st.floats(0, 360))
def test_the_ticks_of_a_wire_stand_across_it_whichever_way_it_runs(bearing_deg: float) -> None:
    east, north = np.sin(np.radians(bearing_deg)), np.cos(np.radians(bearing_deg))
    view = View(-100, -100, 100, 100, 0, 0, 200, 200)
    line = np.array([[-60.0 * east, -60.0 * north], [60.0 * east, 60.0 * north]])
    _, slants = wire_items(Wire("wire 34 m", line), view)
    ticks = slants["d"]
    assert isinstance(ticks, list)
    assert ticks
    for (x0, y0), (x1, y1) in ticks:
        tick = np.array([x1 - x0, y0 - y1]) / np.hypot(x1 - x0, y1 - y0)
        assert abs(tick @ np.array([east, north])) < 0.6  # 60° to the wire


@pytest.mark.derived
def test_level_water_on_a_contour_s_own_height_carries_no_contour() -> None:
    """500 m is a strong contour: a plain that lies on it within rounding is no speckle."""
    ground = paper.ground()
    height = np.full(ground.grid.shape, 500.0, np.float32)
    height[::3, ::2] = np.float32(499.9999)
    west, south, east, north = ground.grid.bounds
    pixels, _, _ = ground_picture(
        replace(ground, elevation_m=height, fuel=np.full(ground.grid.shape, 2, np.int16)),
        (west + 100, south + 100, east - 100, north - 100),
        80,
        60,
    )
    assert len(np.unique(pixels)) == 1


@pytest.mark.behaviour
def test_a_number_stays_with_its_unit_when_words_are_broken() -> None:
    lines = wrapped("Wind 261° M (247° T), 11 kt, gust 16 kt", text_width("Wind 261° M (247° T), 11"))
    assert lines[0] == "Wind 261° M (247° T),"
    assert lines[1].startswith("11 kt,")


@pytest.mark.behaviour
def test_what_the_folder_lacks_is_no_crew_s_first_task() -> None:
    lacking = paper.finding("unknown", "The avoid layer is missing.", "look", "avoid", "data_missing")
    water = paper.finding("unknown", "S1: nobody has looked.", "look", "S1", "waves")
    rows = findings_in_order((lacking, water))
    assert rows[0][1:] == ("Needs a look, first task.", "S1: nobody has looked.")
    assert findings_in_order((lacking,))[0][1] == "Needs a look."


@pytest.mark.derived
@pytest.mark.parametrize(("in_deg", "above"), [(330.0, 1.0), (270.0, -1.0), (300.0, 0.0)])
def test_the_way_in_meets_the_way_out_at_its_angle(in_deg: float, above: float) -> None:
    """Out on 300°, which points right on paper. Flown on 330°, 30° to the right of that, the way in comes from above."""
    dip = DipView(id="D1", water="Tarn", level="clear", heading_true_deg=300.0, approach_true_deg=in_deg)
    dashed = [
        np.asarray(item["d"], float)[0]
        for item in draw_dip(dip, STYLE).items
        if item.get("dash") == [7.0, 4.0]
    ]
    (begin, hover), (start, end) = dashed[1], dashed[0]
    assert hover == pytest.approx(start)
    assert end[0] > hover[0] > begin[0]
    assert np.sign(hover[1] - begin[1]) == above
    if above:
        slope = (hover[1] - begin[1]) / (hover[0] - begin[0])
        assert abs(np.degrees(np.arctan(slope))) == pytest.approx(30.0, abs=0.1)


@pytest.mark.behaviour
@pytest.mark.parametrize("basis", ["own drop tests", "physics, no own drop test fits"])
def test_a_run_says_what_tells_its_line_where_the_incident_has_drop_tests(basis: str) -> None:
    plain = dict(run_rows(paper.run(), STYLE))
    told = dict(run_rows(replace(paper.run(), line_basis=basis), STYLE))
    assert told["Line"] == f"{plain['Line']} ({basis})"
