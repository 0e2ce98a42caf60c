"""The first screen of the size-up in the cases that once read wrong."""

from __future__ import annotations

import copy
import re
from typing import TYPE_CHECKING, Any

import pytest

from wetline.cli.tables import RENDER
from wetline.cli.tables.sizeup_first import MOST_LINES
from wetline.cli.text import WIDTH

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cli.asking_commands import Said

pytestmark = pytest.mark.behaviour


@pytest.fixture
def answer(said: Mapping[str, Said]) -> dict[str, Any]:
    return copy.deepcopy(said["sizeup"].answer)


def screen(answer: dict[str, Any]) -> str:
    text = RENDER["sizeup"](answer).partition("─" * WIDTH)[0]
    assert len(text.splitlines()) <= MOST_LINES
    assert all(len(line) <= WIDTH for line in text.splitlines())
    return " ".join(text.split())


def reach(name: str, kind: str, earliest: str, **more: Any) -> dict[str, Any]:
    base = {"name": name, "kind": kind, "position": [-31.0, 47.0], "time": earliest, "time_low": earliest,
            "time_high": None, "earliest": earliest, "on_map": True, "reached_in": 3, "reached_in_by_now": 0,
            "futures": 4}  # fmt: skip
    return base | more


def test_modelled_fire_never_reads_as_drawn(answer: dict[str, Any]) -> None:
    assert "Burnt" in screen(answer)
    answer |= {"modelled": True, "area_ha": 553.0, "area_ha_low": 421.0, "area_ha_high": 719.0,
               "perimeter_m": 9004, "perimeter_m_low": 8004, "perimeter_m_high": 9904,
               "perimeter_drawn": "2026-08-14T06:00:00Z",
               "drawn": {"area_ha": 119.3, "perimeter_m": 5590, "age_min": 360.0, "newest": "2026-08-14T06:00:00Z"}}  # fmt: skip
    text = screen(answer)
    assert (
        "Modelled at 12:00Z: 550 ha (420–720), edge 9,000 m (8,000–9,900); last drawn 06:00Z, 120 ha, 6 h old."
        in text
    )
    assert "Burnt" not in text
    answer |= {"area_ha_low": None, "area_ha_high": None, "drawn": answer["drawn"] | {"age_min": 75.2}}
    assert "550 ha (no band)" in screen(answer)
    assert "76 min old" in screen(answer)
    answer["drawn"]["newest"] = "2026-08-14T12:00:00Z"
    assert "last drawn 06:00Z to 12:00Z, part by part, 120 ha, up to 76 min old." in screen(answer)


def test_at_night_nobody_flies_and_first_light_is_told(answer: dict[str, Any]) -> None:
    assert "Dark now" not in screen(answer)
    answer["light"] = {"sun_down": True, "first_light": "2026-08-15T06:33:00Z"}
    assert "Dark now: no flying; first light 06:33Z 15 Aug." in screen(answer)


def test_a_fire_that_leaves_the_map_says_so_before_its_run(answer: dict[str, Any]) -> None:
    answer["leaves_map"] = {"time": "2026-08-14T12:39:39Z", "in": 3, "of": 4}
    assert "Runs leaves the map at 12:39Z in 3 of 4 futures; beyond it unknown; by " in screen(answer)
    answer["leaves_map"]["time"] = answer["warned_until"]
    assert "leaves the map" not in screen(answer)


def test_nobody_reached_names_its_bounds(answer: dict[str, Any]) -> None:
    answer["findings"] = []
    said = "nobody given in the folder is reached within 60 min in 4 futures; thrown fire and people not in the folder"
    assert said in screen(answer)
    blocks = {"code": "entrapment", "level": "unknown", "effect": "blocks", "message": "The layer is empty.",
              "source": "x", "refers_to": "people"}  # fmt: skip
    answer["findings"] = [blocks]
    assert "nobody given" not in screen(answer)
    assert "blocks: The layer is empty." in screen(answer)
    off = {**blocks, "effect": "noted", "refers_to": "Farholm", "message": "Farholm lies off."}
    answer["findings"] = [off]
    assert "nobody given" not in screen(answer)
    assert "Farholm: at least in part off the modelled ground" in screen(answer)


def test_roads_never_push_people_off_the_screen_and_the_past_is_one_line(answer: dict[str, Any]) -> None:
    roads = [reach(f"Road {i}", "road", f"2026-08-14T12:{10 + i}:00Z") for i in range(12)]
    crew = reach("Crew Late", "crew", "2026-08-14T13:50:00Z")
    gone = reach("Crew Gone", "crew", "2026-08-14T11:30:00Z", reached_in_by_now=2)
    answer["reaches"] = [gone, *roads, crew]
    text = screen(answer)
    assert re.search(r"Crew Late crew 13:50Z 13:50Z not by 14:00Z 3 of 4", text)
    assert "by now it may have reached Crew Gone (2 of 4)" in text
    assert text.index("Road 0") < text.index("Crew Late") < text.index("Crew Gone")


def test_without_enough_futures_nine_of_ten_is_not_told(answer: dict[str, Any]) -> None:
    answer["reaches"] = [reach("Crew Late", "crew", "2026-08-14T13:50:00Z", futures=2, reached_in=2)]
    answer["band"] = None
    assert "Crew Late crew 13:50Z 13:50Z no band 2 of 2" in screen(answer)


def test_the_pieces_add_up_where_some_edge_cannot_burn(answer: dict[str, Any]) -> None:
    assert "no fire" not in screen(answer)
    answer["edge"][0]["attack_m"]["not_burning"] = 670
    assert "no fire" in screen(answer)
    assert "670 m" in screen(answer)


def test_what_holds_the_fire_back_does_not_drive_it(answer: dict[str, Any]) -> None:
    shares = answer["fastest"]["run"]["drivers"]
    shares |= {"wind": 0.8, "slope": -0.1, "fuel": 0.2, "dryness": 0.05, "rest": 0.05}
    text = screen(answer)
    assert "driven by wind 80 %, fuel 20 %, dryness 5 % of its rate; held back by slope −10 %;" in text
    assert "5 % left without them" in text


def test_futures_that_run_elsewhere_are_counted(answer: dict[str, Any]) -> None:
    answer["fastest"]["run"]["directions"] = {
        "of": 16, "within_deg": 45.0, "still": 1,
        "with_middle": {"in": 12, "toward_low_deg": 77.0, "toward_high_deg": 107.0, "longest_m": 300,
                        "start": [-31.0, 47.0]},
        "others": [{"in": 3, "toward_low_deg": 6.0, "toward_high_deg": 6.0, "longest_m": 200,
                    "start": [-31.0, 47.0]}],
    }  # fmt: skip
    text = screen(answer)
    assert "12 of 16 futures run 077–107° T; 3 toward 006° T from N 47° 00.000'" in text
    assert "1 of 16 futures hardly move" in text


def test_thrown_fire_that_is_none_and_its_span_are_rounded(answer: dict[str, Any]) -> None:
    answer |= {"spotting_m": 0, "spotting_m_low": 0, "spotting_m_high": 0}
    assert "fire thrown: none by the model" in screen(answer)
    answer["spotting_m_high"] = 969
    assert "fire thrown up to 0 m (0–970)" in screen(answer)


def test_the_place_of_the_fastest_edge_is_always_told(answer: dict[str, Any]) -> None:
    answer["edge"][-1]["rate_m_per_min"] = answer["fastest"]["rate_m_per_min"] + 12.0
    answer["fastest"]["anywhere"] = {"position": [-31.5, 47.25], "rate_m_per_min": 20.0}
    assert "across pockets of the fire, at N 47° 15.000' W 031° 30.000'" in screen(answer)


def test_one_piece_more_is_one_piece(answer: dict[str, Any]) -> None:
    answer["edge"] = [{**answer["edge"][0], "id": f"F{i}"} for i in range(7)]
    assert re.search(r"\b1 more piece below|\b[2-9] more pieces below", screen(answer))
    assert "1 more pieces" not in screen(answer)


def test_what_the_heat_allows_sends_nobody(answer: dict[str, Any]) -> None:
    text = RENDER["sizeup"](answer)
    assert "by heat alone: within the published limit for hand tools" in " ".join(text.split())
    assert "can work" not in text


def test_a_very_full_answer_still_is_one_screen(answer: dict[str, Any]) -> None:
    """Line that may fail, unknown edge that blocks, runs every way, many fuels: rows give way, no stop does."""
    base = {"code": "entrapment", "source": "x"}
    line = "; it may be sooner. Nobody can guarantee the line, and it is all that stands between."
    soon = "in 14 min in the soonest of 16 futures, 12:14Z"
    answer["findings"] = [
        {**base, "level": "unknown", "effect": "blocks", "refers_to": "people",
         "message": "1,090 m of the fire's edge come to lie against ground of unknown fuel or height: whom the fire "
         "reaches beyond it is unknown."},
        *({**base, "level": "stop", "refers_to": f"Crew {i}",
           "message": f"If crews' line does not hold, fire reaches Crew {i} {soon}{line}"} for i in range(9)),
        {**base, "level": "caution", "refers_to": "thrown fire",
         "message": f"Thrown fire may reach {', '.join(f'Crew {i}' for i in range(9))} (up to 970 m, low confidence)."},
    ]  # fmt: skip
    answer["unknown_edge_m"] = 1090
    run = answer["fastest"]["run"]
    run["fuels"] = [{"fuel": f"GR{i} grass", "share": 0.1} for i in range(9)]
    run["directions"] = {
        "of": 16, "within_deg": 45.0, "still": 1, "with_middle": {"in": 6, "toward_low_deg": 77.0,
        "toward_high_deg": 107.0, "longest_m": 300, "start": [-31.0, 47.0]},
        "others": [{"in": 3, "toward_low_deg": 6.0, "toward_high_deg": 9.0, "longest_m": 200,
                    "start": [-31.0, 47.0]}] * 3,
    }  # fmt: skip
    text = screen(answer)
    assert all(f"Crew {i}" in text for i in range(9))
    assert text.count("Nobody can guarantee the line") == 1
    assert "blocks: 1,090 m" in text
    assert "and 5 more" in text
