"""The PDF as a crew reads it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from shapely.geometry import LineString

from briefing import paper
from briefing.pages import colour, letters, overlaps, printed, words
from wetline import briefing as b
from wetline.briefing import pdf_bytes, write_pack
from wetline.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.briefing import BriefPack

pytestmark = pytest.mark.behaviour

MARGIN_PT = 10 / 25.4 * 72


@pytest.fixture(scope="module")
def everything() -> BriefPack:
    sheets = (
        paper.sheet(),
        paper.helicopter(),
        paper.tanker(),
        paper.nothing_known(),
        paper.bare(),
        paper.hard(),
    )
    return paper.pack(*sheets)


@pytest.fixture(scope="module")
def pages(everything: BriefPack) -> list[Any]:
    return list(printed(everything))


@pytest.fixture(scope="module")
def unset() -> list[Any]:
    """A pack without variation, wind, ground, fronts, sheets' numbers or a place."""
    page = paper.map_page(
        ground=None, wind=None, fronts=(), lanes=(), runs=(), dips=(), circuit_xy=None, answers=()
    )
    return list(
        printed(
            paper.pack(
                replace(paper.bare(), changed=()),
                map=page,
                wind=None,
                variation_deg=None,
                exercise=False,
                place=None,
            )
        )
    )


def test_a_map_then_a_sheet_for_each_crew(pages: list[Any], everything: BriefPack) -> None:
    first = [words(page) for page in pages]
    assert "Where does the next load do most good?" in first[0]
    for sheet in everything.sheets:
        assert sum(f"Sheet {sheet.number}, page 1 of" in page for page in first) == 1
    assert len(pages) == 1 + len(everything.sheets) + 1  # the hard sheet takes two pages


def test_the_map_is_landscape_and_the_sheets_are_portrait_a4(pages: list[Any]) -> None:
    assert pages[0].get_size() == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=0.1)
    for page in pages[1:]:
        assert page.get_size() == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.1)


@pytest.mark.parametrize(
    "field",
    [
        "Tern 1, Tern 2", "Exercise", "Replaces sheet 6", "Ketter Ridge, sheet 7, 14 Aug 2026 13:47 (UTC−1)",
        "Twin scooper, 6,000 L water. Right flank, close R4",
        "Wind 274° M (260° T), 12 kt, gust 18 kt at 13:40; variation 14° W (2026)",
        "First drop 13:52", "Leave for fuel, 1 / 2 15:20 / 16:02", "Last scoop 18:29", "Last drop 18:33",
        "Land by 18:55", "Crew hours 19:00", "Cut-off 19:44",
        "Scoop lane S1", "as flown, left to right", "touch", "step", "full", "off by", "50 m free each side",
        "start 1,480 ft", "water 1,350 ft", "climb-out",
        "Heading 274° M (260° T), wind 12 kt ahead", "Usable length 1,930 m = 6,330 ft; needs 1,500 m",
        "Width, depth 50 m each side; 4 m, surveyed 3 June", "Last look Tern 1, 13:41: no boats; again by 15:41",
        "Wires none known (2 June), look", "If lost no other lane fits; call Lantern 1", "Climb-out needs 1 in 25",
        "Drop run R4", "not released", "release", "line 115 m", "exit left", "Alder, 155 m left",
        "burnt ground, on your right", "150 ft + trees 50 ft", "full-load climb",
        "Heading 269° M (255° T), 100–105 kt", "wind 12 kt", "Exit left to 184° M (170° T)",
        "Height 150 ft above canopy, never below 100 ft", "At release 1,630 ft AMSL; ground 1,430 ft, trees 50 ft",
        "Line 115 m (95–130) at 1.2 L/m²", "Drift 4 m left (0–11), 25 m short (15–40)",
        "Release 15 m early (5–30), 4 m right (0–11)", "Next drop begins 25 m inside the wet end seen",
        "Load falls vertical only from 190 ft: here it strikes", "Stand clear 60 m each side, 95 ahead, 60 behind", "Holds 20 min (10–40), then it is dry",
        "Circuit 6.4 min (5.2–7.9), 9 loads/h each", "left hand, one way", "wire 38 m", "fire",
        "Pair Tern 2 leads, Tern 1 70 s behind", "Lost contact leave south, Lake Sorrin, 3,000 ft",
        "Needs a look, first task. S3 depth", "Stop. R7: Alder 55 m away, limit 60.", "Blocks. People, R4 and R5",
        "Caution. No other lane fits", "Noted. Wire 38 m", "None found. 14 other checks.",
        "Points WGS 84. Read back before use", "Degrees and decimal minutes", "MGRS",
        "Radio, MHz", "Air to air", "Air to ground", "Base", "Emergency",
        "Changed since sheet 6. R3 to R5 opened 13:29: R4 is a 100 m gap.",
        "R4 clear of people. This drop only, at most 10 min", "Who", "By whom", "Time",
        "Planning aid; crew, aerial supervisor and incident command decide; local rules prevail.",
        "Sheet 7, page 1 of 1",
    ],
)  # fmt: skip
def test_the_sheet_carries_every_field_of_the_model_sheet(pages: list[Any], field: str) -> None:
    assert field in words(pages[1])


def test_points_read_as_on_the_model_sheet(pages: list[Any]) -> None:
    """DDM and MGRS of the reference sheet for the same UTM metres."""
    text = words(pages[1])
    assert "Lane S1, start N 47° 11.906' W 031° 48.601' 25T EN 90133 27902 1,350 ft" in text
    assert "Lane S1, end N 47° 11.740' W 031° 50.111' 25T EN 88231 27566 1,350 ft" in text


def test_no_text_is_smaller_than_the_least_size(pages: list[Any], unset: list[Any]) -> None:
    for page in (*pages, *unset):
        assert letters(page).size.min() >= 9.75 - 1e-4


def test_no_text_leaves_the_margins(pages: list[Any], unset: list[Any]) -> None:
    for page in (*pages, *unset):
        width, height = page.get_size()
        box = letters(page).box
        assert box[:, 0].min() >= MARGIN_PT - 0.5
        assert box[:, 1].min() >= MARGIN_PT - 0.5
        assert box[:, 2].max() <= width - MARGIN_PT + 0.5
        assert box[:, 3].max() <= height - MARGIN_PT + 0.5


def test_no_words_lie_over_others(pages: list[Any], unset: list[Any]) -> None:
    for page in (*pages, *unset):
        assert overlaps(page) == []


def test_the_overlap_check_sees_an_overlap(pages: list[Any]) -> None:
    """A check that cannot fail proves nothing: with boxes grown by 6 pt it must find pairs."""
    assert overlaps(pages[1], slack_pt=-6.0)


def test_paper_needs_no_colour(pages: list[Any]) -> None:
    for page in pages:
        assert colour(page) <= 2


def test_unknown_is_printed_as_the_word(pages: list[Any]) -> None:
    text = words(pages[4])
    for cell in (
        "First drop",
        "Leave for fuel",
        "Last scoop",
        "Last drop",
        "Land by",
        "Crew hours",
        "Cut-off",
    ):
        assert f"{cell} not known" in text
    for words_ in (
        "load not known",
        "Source not known",
        "Run not known",
        "Circuit not known",
        "Others not known",
    ):
        assert words_ in text
    assert "Blocks. Nothing was checked." in text
    assert "No run on this sheet. No name, no drop." in text


def test_no_number_stands_in_for_an_unknown_one(pages: list[Any]) -> None:
    text = words(pages[5])
    for said in (
        "wind not known", "needed length not known", "depth not known, look", "nobody has looked; look first",
        "Wires not known, look", "If lost not known", "slope to the shore not known; full-load climb not known",
        "shore not known", "ground not known", "speed not known", "Exit not known", "least height not known",
        "AMSL not known", "trees not known", "80 m (band not known) at coverage not known", "Drift not known",
        "not corrected for throw or drift", "vertical from a height not known: it may strike", "climb not known", "circuit not known", "loads/h not known",
    ):  # fmt: skip
        assert said in text
    for banned in ("N/A", "nan", "None,", "OK", "approx"):
        assert banned not in text


def test_without_a_variation_bearings_are_true_and_say_so(unset: list[Any]) -> None:
    text = words(unset[1])
    assert "090° true, variation not given" in text
    assert "° M" not in text
    assert "Wind not known; variation not given" in text


def test_a_map_without_ground_or_fronts_says_so(unset: list[Any]) -> None:
    text = words(unset[0])
    assert "Ground: not known." in text
    assert "Fronts: not known." in text
    assert "Magnetic: not given" in text


def test_exercise_is_framed_only_on_an_exercise(unset: list[Any], pages: list[Any]) -> None:
    assert all("Exercise" not in words(page) for page in unset)
    assert all("Exercise" in words(page) for page in pages)


def test_a_helicopter_gets_its_dip_site(pages: list[Any]) -> None:
    text = words(pages[2])
    for said in ("Dip site D1", "Last dip 19:30", "45 m free round it", "depth not known, look; needs 1 m", "If lost S3 bay, north end",
                 "Load 880 L full fuel, 1,100 L at reserve", "wind 10 kt ahead; needs 1 in 10",
                 "full-load climb not known", "needs 1 in 4, at most 1 in 6"):  # fmt: skip
        assert said in text


def test_a_land_tanker_gets_its_base(pages: list[Any]) -> None:
    text = words(pages[3])
    for said in (
        "Base Dunmarrow", "Last reload 18:40", "33 NM (62 km), 16 min (15–18) one way", "Crew hours not known",
        "Leave for fuel no stop", "Reload 12 min (9–20); 2 pits; retardant, water", "Runway, ground 1,800 m; 390 ft AMSL; needs 1,550 m, up to 1,790 m",
        "Stock 40,000 L, mixing not known; no fuel here",
    ):  # fmt: skip
        assert said in text


def test_many_findings_flow_to_a_second_page_of_the_same_sheet(
    pages: list[Any], everything: BriefPack
) -> None:
    one, two = words(pages[6]), words(pages[7])
    assert "Sheet 12, page 1 of 2" in one
    assert "Sheet 12, page 2 of 2" in two
    both = one + " " + two
    for finding in everything.sheets[-1].findings:
        assert finding.message.rstrip(".") in both
    assert "R4 clear of people." in both
    assert "R5 clear of people." in both


def test_findings_that_do_not_fit_leave_points_and_confirmation_on_page_1() -> None:
    many = (
        *paper.findings(),
        *(paper.finding("caution", f"Caution number {i} of a long day.") for i in range(9)),
    )
    pages = list(printed(paper.pack(paper.sheet(findings=many))))
    assert len(pages) == 3
    one, two = words(pages[1]), words(pages[2])
    assert "more findings on page 2." in one
    assert "Release R4 N 47°" in one
    assert "R4 clear of people." in one
    assert "Findings, from page 1" in two
    assert "Caution number 8 of a long day." in two
    assert overlaps(pages[1]) == []


def test_people_without_room_in_the_drawing_are_named_beside_it(pages: list[Any]) -> None:
    text = words(pages[6])
    for name in ("Engine crew Upper Langenstein-Vorderberg, 155 m left", "Surveyors, 900 m right", "Camp Nether Weissenkirch, 60 m left"):  # fmt: skip
        assert name in text


@pytest.mark.parametrize(
    "said",
    [
        "R4, right flank", "Line gaining", "Stop: Crew Alder", "Sorrin, Vastmark", "plan 12", "Sheets 7, 8, 9, 10, 11, 12",
        "Burnt 64 ha drawn 13:36", "15:00", "16:00", "17:00", "Crew Alder, 12 fire earliest 14:15 seen 13:40", "Crew Birch, 8",
        "Tessick, 14 houses", "Marl End, 2 houses not reached by 23:00", "R4, Tern 2 269° M (255° T) people not confirmed",
        "R7, Wick 3", "stop: do not take", "S1 274° M (260° T), 1,930 m", "Wire, 38 m", "Base Dunmarrow, 6", "Camp Fell",
        "1:", "on A4", "grid north up", "Magnetic: 14° W of true", "Fronts: nothing more stopped.", "N 47° 12.0'", "W 031° 48.0'",
        *paper.CAUTIONS,
    ],
)  # fmt: skip
def test_the_map_says(pages: list[Any], said: str) -> None:
    assert said in words(pages[0])


def test_a_number_is_never_broken_across_lines() -> None:
    """`1,43` at the end of a line and `0 ft` on the next reads as another height."""
    page = printed(paper.pack(units="metric"))[1]
    lines = page.get_textpage().get_text_range().split("\r\n")
    assert any("(1,430 ft)" in line for line in lines)
    broken = [
        (x, y) for x, y in pairwise(lines) if re.search(r"[\d,]$", x) and re.match(r"\d[\d,]* (ft|m)\b", y)
    ]
    assert broken == []


def test_every_state_of_line_and_the_crews_own_line_are_drawn() -> None:
    ring = paper.fire_ring()
    states: tuple[Any, ...] = ("secured", "wet", "drying", "burned_through", "retardant", "planned")
    held = tuple(
        b.HeldLine(state, ring[8 * i : 8 * i + 9], f"{state} line") for i, state in enumerate(states)
    )
    plain = pdf_bytes(paper.pack(map=paper.map_page(held_edge_xy=())))
    page = paper.map_page(held_edge_xy=held, crews_line_xy=(LineString(ring[48:58]),))
    assert len(pdf_bytes(paper.pack(map=page))) != len(plain)
    assert overlaps(printed(paper.pack(map=page))[0]) == []


def test_a_layer_that_is_not_there_is_not_known_on_the_map() -> None:
    ground = paper.ground()
    bare = replace(ground, hazards=type(ground.hazards)(), avoid=type(ground.avoid)())
    text = words(printed(paper.pack(map=paper.map_page(ground=bare)))[0])
    assert "Not known: wires, areas to avoid." in text


def test_ground_off_the_grid_still_prints() -> None:
    far = paper.map_page(
        extent=(paper.EAST - 9000, paper.NORTH - 9000, paper.EAST + 9000, paper.NORTH + 9000)
    )
    page = printed(paper.pack(map=far))[0]
    assert overlaps(page) == []
    assert "Crew Alder, 12" in words(page)


def test_a_crowd_of_people_all_keep_their_words() -> None:
    crowd = tuple(
        replace(paper.map_page().people[0], name=f"Crew {name}", xy=paper.xy(1300 + 25 * i, 1010), ring_m=None)
        for i, name in enumerate(("Alder", "Birch", "Cedar", "Dogwood", "Elm", "Fir", "Gorse", "Hazel", "Ivy", "Juniper"))
    )  # fmt: skip
    page = printed(paper.pack(map=paper.map_page(people=crowd)))[0]
    text = words(page)
    assert all(each.name in text for each in crowd)
    assert overlaps(page) == []


def test_the_same_pack_gives_the_same_bytes(everything: BriefPack) -> None:
    assert pdf_bytes(everything) == pdf_bytes(everything)


def test_another_moment_gives_other_bytes(everything: BriefPack) -> None:
    assert pdf_bytes(replace(everything, made=everything.made + timedelta(minutes=1))) != pdf_bytes(
        everything
    )


def test_a_pack_is_written_whole_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    target = tmp_path / "brief.pdf"
    write_pack(paper.pack(), target)
    assert target.read_bytes() == pdf_bytes(paper.pack())
    assert [p.name for p in tmp_path.iterdir()] == ["brief.pdf"]


def test_a_pack_without_a_caution_is_refused(tmp_path: Path) -> None:
    target = tmp_path / "brief.pdf"
    with pytest.raises(InputError, match="carries no caution"):
        write_pack(paper.pack(cautions=()), target)
    assert list(tmp_path.iterdir()) == []


def test_two_sheets_of_one_number_are_refused() -> None:
    with pytest.raises(InputError, match="numbered 7"):
        pdf_bytes(paper.pack(paper.sheet(7), paper.sheet(7)))


def test_names_in_other_scripts_are_printed_not_boxed() -> None:
    text = words(printed(paper.pack(paper.sheet(task="Čierny potok – Κορυφή"), exercise=False))[1])
    assert "Čierny potok – Κορυφή" in text


@pytest.mark.parametrize("units", ["metric", "us"])
def test_other_units_keep_the_cockpit_height_and_fit(units: Any) -> None:
    page = printed(paper.pack(units=units))[1]
    text = words(page)
    assert "150 ft" in text
    assert ("1,590 US gal" in text) == (units == "us")
    assert overlaps(page) == []
