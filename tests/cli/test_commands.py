"""What every command gives with `--json`: its keys, its shapes, and the same again when asked again."""

from __future__ import annotations

import hashlib
import json
import re
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from cli.asking_commands import Said, ask, ask_apart
from cli.valley_maker import make_valley
from wetline.cautions import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

pytestmark = pytest.mark.behaviour

COMMANDS = ("demo", "check", "sizeup", "water", "drop", "circuits", "plan", "brief")
ENVELOPE = ("incident", "time", "seed", "members", "cell_m", "band", "not_yet", "cautions")
KEYS = {
    "demo": "files",
    "check": "problems present absent",
    "sizeup": "area_ha perimeter_m perimeter_drawn edge fastest fronts reaches spotting_m attack by_direction"
    " good_until asked_until looked_until",
    "water": "lanes dip_sites bases",
    "drop": "pattern line_m_by_level line_m_summed_by_level line_m_low_by_level line_m_high_by_level "
    "drift_right_m drift_along_m release_offset_m evaporated_pct canopy_pct reaching_ground_pct off_grid_pct "
    "safe_height_m stand_off_m inputs findings method",
    "circuits": "circuits day first_drop",
    "plan": "answers tactic chance_of_holding chance_low chance_high chance_contained area_ha_at_cut_off "
    "area_ha_low area_ha_high loads_needed race next_load drops held_back rejected findings seconds",
    "brief": "files",
}
ROWS = {
    ("demo", "files"): "kind path",
    ("sizeup", "edge"): "id part length_m rate_m_per_min flame_length_m intensity_kw_per_m attack attack_m",
    ("sizeup", "fastest"): "position toward_deg rate_m_per_min because run",
    ("sizeup", "fronts"): "time area_ha area_ha_low area_ha_high",
    ("sizeup", "reaches"): "name kind time time_low time_high reached_in futures",
    ("water", "lanes"): "water heading_deg length_m clear_m start end level findings depth_m",
    ("drop", "pattern"): "length_m width_m mean_l_per_m2 peak_l_per_m2",
    ("drop", "line_m_by_level"): "0.5 1 2 3 4 6",
    ("circuits", "circuits"): "aircraft class source cycle_min cycle_min_low cycle_min_high loads_per_hour "
    "litres_per_hour litres_per_load",
    ("circuits", "day"): "aircraft loads litres flight_h first_drop last_drop land_by limited_by",
    ("circuits", "first_drop"): "time aircraft",
    ("plan", "answers"): "next_load winning hurt",
    ("plan", "tactic"): "anchor direction mode stand_off_m agent",
    ("plan", "race"): "time edge_m held_m open_m secured_m wet_only_m",
    ("plan", "next_load"): "drop aircraft time",
    ("plan", "drops"): "id order time aircraft source edge_part position release_position run_heading_deg "
    "approach exit height_above_canopy_m height_amsl_m speed_mps agent coverage_level line_m line_m_low "
    "line_m_high hold_min hold_min_low hold_min_high people findings",
    ("plan", "held_back"): "drop findings release",
    ("brief", "files"): "kind path sha256",
}
FINDING_CODES = {
    "people", "entrapment", "wire", "terrain_exit", "height_min", "height_safe", "waterway", "agent", "wind",
    "gust", "visibility", "density_altitude", "fuel", "duty", "daylight", "intensity", "anchor", "gap",
    "outflank", "follow_up", "separation", "supervision", "refusal", "drone", "drying", "depth", "waves",
    "data_missing", "limit_changed",
}  # fmt: skip
WEST, EAST, SOUTH, NORTH = -31.83, -31.72, 47.13, 47.23  # the valley and what circuits need round it


def walk(value: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of a document with the key under which it lies."""
    yield key, value
    if isinstance(value, dict):
        for inner, each in value.items():
            yield from walk(each, inner)
    elif isinstance(value, list):
        for each in value:
            yield from walk(each, key)


def dicts(value: Any) -> Iterator[dict[str, Any]]:
    return (each for _, each in walk(value) if isinstance(each, dict))


def without_seconds(text: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(text)
    document.pop("seconds", None)
    return document


@pytest.mark.parametrize("command", COMMANDS)
def test_stdout_is_one_json_document_and_nothing_else(command: str, said: Mapping[str, Said]) -> None:
    assert said[command].code in {0, 3}
    assert said[command].out.count("\n") == 1
    assert said[command].answer
    assert said[command].err == ""


@pytest.mark.parametrize("command", COMMANDS)
def test_an_answer_has_the_envelope_and_the_documented_keys(command: str, said: Mapping[str, Said]) -> None:
    answer = said[command].answer
    assert [key for key in (*ENVELOPE, *KEYS[command].split()) if key not in answer] == []
    assert answer["cautions"] == list(CAUTIONS)
    assert all(set(item) == {"key", "why"} for item in answer["not_yet"])


@pytest.mark.parametrize(("command", "key"), ROWS)
def test_a_row_has_the_documented_keys(command: str, key: str, said: Mapping[str, Said]) -> None:
    value = said[command].answer[key]
    rows = value if isinstance(value, list) else [value]
    assert rows
    for row in rows:
        assert [name for name in ROWS[command, key].split() if name not in row] == []


@pytest.mark.parametrize("command", COMMANDS)
def test_what_is_null_at_the_top_is_told_or_unknowable(command: str, said: Mapping[str, Said]) -> None:
    answer = said[command].answer
    told = {item["key"] for item in answer["not_yet"]}
    untold = {key for key in KEYS[command].split() if key in answer and answer[key] is None} - told
    assert untold <= {"loads_needed", "next_load", "first_drop"}  # none: that is what the answer says


@pytest.mark.parametrize("command", COMMANDS)
def test_times_are_utc_and_end_in_z(command: str, said: Mapping[str, Said]) -> None:
    times = [
        v for _, v in walk(said[command].answer) if isinstance(v, str) and re.match(r"\d{4}-\d\d-\d\dT", v)
    ]
    assert [t for t in times if not re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", t)] == []
    assert times or command in {"demo", "check", "drop"}


@pytest.mark.parametrize("command", ["sizeup", "water", "plan"])
def test_positions_are_longitude_latitude_in_the_valley(command: str, said: Mapping[str, Said]) -> None:
    places = [
        v
        for _, v in walk(said[command].answer)
        if isinstance(v, list) and len(v) == 2 and all(isinstance(c, float) for c in v)
    ]
    assert len(places) > 5
    assert [p for p in places if not (WEST < p[0] < EAST and SOUTH < p[1] < NORTH)] == []


@pytest.mark.parametrize("command", ["sizeup", "water", "drop", "plan"])
def test_bearings_are_from_0_to_below_360(command: str, said: Mapping[str, Said]) -> None:
    bearings = [
        v for k, v in walk(said[command].answer) if k.endswith("_deg") and isinstance(v, (int, float))
    ]
    assert bearings
    assert [b for b in bearings if not 0 <= b < 360] == []


@pytest.mark.parametrize("command", ["sizeup", "water", "drop", "circuits", "plan"])
def test_a_finding_says_what_how_bad_and_by_whose_limit(command: str, said: Mapping[str, Said]) -> None:
    found = [d for d in dicts(said[command].answer) if "code" in d and "level" in d]
    for finding in found:
        assert finding["code"] in FINDING_CODES
        assert finding["level"] in {"clear", "caution", "stop", "unknown"}
        assert (finding.get("effect") in {"blocks", "look", "noted"}) == (finding["level"] == "unknown")
        assert finding["message"]
        assert finding["source"]
        assert finding["refers_to"]
        assert (finding["code"], finding["level"]) != ("people", "clear")
    assert found or command == "sizeup"


@pytest.mark.parametrize("command", ["sizeup", "circuits", "plan"])
def test_a_band_holds_its_middle(command: str, said: Mapping[str, Said]) -> None:
    bands = 0
    for each in dicts(said[command].answer):
        for key, middle in each.items():
            low, high = each.get(f"{key}_low"), each.get(f"{key}_high")
            if None not in {low, high} and middle is not None:
                assert low <= middle <= high, key
                bands += 1
    assert bands


def test_shares_of_a_load_make_the_whole(said: Mapping[str, Said]) -> None:
    answer = said["drop"].answer
    shares = ("evaporated_pct", "canopy_pct", "reaching_ground_pct", "off_grid_pct")
    assert sum(answer[key] for key in shares) == pytest.approx(100.0, abs=0.1)


def test_lines_shorten_as_the_coverage_asked_for_rises(said: Mapping[str, Said]) -> None:
    answer = said["drop"].answer
    middle = answer["line_m_by_level"]
    assert all(a >= b for a, b in pairwise(middle.values()))
    assert all(
        answer["line_m_low_by_level"][k] <= middle[k] <= answer["line_m_high_by_level"][k] for k in middle
    )


def test_open_edge_is_edge_less_line(said: Mapping[str, Said]) -> None:
    for point in said["plan"].answer["race"]:
        assert point["open_m"] == pytest.approx(point["edge_m"] - point["held_m"], abs=1.5)


def test_no_drop_is_released_without_a_named_confirmation(said: Mapping[str, Said]) -> None:
    drops = said["plan"].answer["drops"]
    assert drops
    for drop in drops:
        assert drop["people"]["confirmed_by"] is None
        assert any(f["code"] == "people" and f.get("effect") == "blocks" for f in drop["findings"])
        assert not any(f["level"] == "stop" for f in drop["findings"])


def test_plan_writes_what_it_says(said: Mapping[str, Said]) -> None:
    answer = said["plan"].answer
    files = {f["kind"]: Path(f["path"]) for f in answer["files"]}
    written = json.loads(files["plan"].read_text(encoding="utf-8"))
    assert written["drops"] == answer["drops"]
    layers = json.loads(files["layers"].read_text(encoding="utf-8"))
    assert layers["cautions"] == list(CAUTIONS)
    assert {f["properties"]["id"] for f in layers["features"]} >= {d["id"] for d in answer["drops"]}


def test_brief_gives_a_pdf_with_its_digest(said: Mapping[str, Said]) -> None:
    first = said["brief"].answer["files"][0]
    content = Path(first["path"]).read_bytes()
    assert first["kind"] == "pdf"
    assert content.startswith(b"%PDF-")
    assert first["sha256"] == hashlib.sha256(content).hexdigest()


def test_demo_writes_the_documented_files(said: Mapping[str, Said]) -> None:
    names = {Path(f["path"]).name for f in said["demo"].answer["files"]}
    assert names >= {
        "incident.toml", "terrain.tif", "fuels.tif", "water.geojson", "bases.geojson", "hazards.geojson",
        "people.geojson", "avoid.geojson", "fire.geojson", "weather.csv", "fleet.toml",
    }  # fmt: skip
    assert all(Path(f["path"]).is_file() for f in said["demo"].answer["files"])


@pytest.mark.parametrize("command", ["sizeup", "water", "circuits", "plan"])
def test_the_same_folder_and_seed_give_the_same_bytes(
    command: str, said: Mapping[str, Said], words: Mapping[str, tuple[object, ...]]
) -> None:
    """In a process of its own with another hash seed, so that no set or dict order can leak."""
    again = ask_apart(*words[command], "--json", PYTHONHASHSEED="7")
    assert again.code == said[command].code
    assert json.dumps(without_seconds(again.out)) == json.dumps(without_seconds(said[command].out))


def test_another_seed_gives_other_bands(valley: Path, said: Mapping[str, Said]) -> None:
    other = ask("sizeup", valley, "--hours", "2", "--members", "4", "--seed", "2", "--json").answer
    mine = said["sizeup"].answer
    assert [f["area_ha"] for f in other["fronts"]] == [f["area_ha"] for f in mine["fronts"]]
    assert [f["area_ha_high"] for f in other["fronts"]] != [f["area_ha_high"] for f in mine["fronts"]]


def test_without_futures_there_is_no_band_and_no_chance(valley: Path) -> None:
    answer = ask("sizeup", valley, "--hours", "1", "--members", "0", "--json").answer
    assert answer["band"] is None
    assert all(f["area_ha_low"] is None and f["area_ha_high"] is None for f in answer["fronts"])


def test_a_later_moment_is_answered_from_the_fire_grown_to_it(valley: Path, said: Mapping[str, Said]) -> None:
    later = ask(
        "sizeup", valley, "--at", "2026-08-14T12:00:00-01:00", "--hours", "1", "--members", "0", "--json"
    )
    assert later.answer["time"] == "2026-08-14T13:00:00Z"
    assert later.answer["perimeter_drawn"] == "2026-08-14T12:00:00Z"
    assert later.answer["area_ha"] > said["sizeup"].answer["area_ha"]


def test_a_plan_on_an_old_perimeter_says_unknown(valley: Path) -> None:
    """INTERFACE: unknown where the perimeter is over 60 min old."""
    answer = ask("plan", valley, "--at", "2026-08-14T13:30:00Z", "--members", "0", "--json").answer
    assert answer["answers"]["winning"] == "unknown"
    assert "90 min old" in answer["why_unknown"]


@pytest.mark.parametrize("command", ["sizeup", "plan"])
def test_people_whom_the_fire_reaches_soon_leave_with_code_3(command: str, tmp_path: Path) -> None:
    folder = make_valley(tmp_path / "incident", crew_ahead_m=350.0)
    said = ask(command, folder, "--members", "0", "--json")
    assert said.code == 3
    stops = [f for f in said.answer["findings"] if f["code"] == "entrapment" and f["level"] == "stop"]
    assert [f["refers_to"] for f in stops] == ["Crew Aldo"]


def test_a_drop_under_its_least_height_leaves_with_code_3() -> None:
    said = ask("drop", "--class", "large_tanker", "--height-m", "20", "--json")
    assert said.code == 3
    assert any(f["level"] == "stop" for f in said.answer["findings"])


@pytest.mark.parametrize("option", ["--doors", "--fuel"])
def test_a_count_that_is_no_whole_number_is_refused_and_not_cut(option: str) -> None:
    said = ask("drop", "--class", "twin_engine_scooper", option, "2.5", "--json")
    assert said.code == 2


def test_what_is_given_and_what_is_a_default_is_told() -> None:
    about = ask("drop", "--class", "medium_helicopter", "--load-l", "900", "--json").answer["inputs_from"]
    assert about["load_l"]["origin"] == "given"
    assert about["speed_mps"]["origin"] == "class"
    assert about["agent"]["origin"] == "default"
    assert about["temperature_c"]["origin"] == "default"
