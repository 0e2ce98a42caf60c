"""What a crew asks of one load: the line, where the doors open, who stands clear, from what height."""

from __future__ import annotations

import errno
import math
from typing import TYPE_CHECKING

import pyproj
import pytest

from app.asking_drop import HEADING, answer_of, blown, spaced
from wetline.app.drop import DropAsk, drop_answer
from wetline.cli.tables import RENDER
from wetline.errors import InputError, OutsideRangeError

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

_GEOD = pyproj.Geod(ellps="WGS84")
OCTANTS = range(0, 360, 45)
TARGET = (-31.8, 47.2)


@pytest.mark.parametrize("off", OCTANTS)
def test_the_load_drifts_where_the_wind_blows_to(off: int) -> None:
    """From the right it goes left, from the nose it goes back; in the numbers and in the words."""
    answer = blown(off)
    across, along = -math.sin(math.radians(off)), -math.cos(math.radians(off))
    words = spaced(RENDER["drop"](answer))
    for key, part, positive, negative in (
        ("drift_right_m", across, "to the right", "to the left"),
        ("drift_along_m", along, "onward", "back"),
    ):
        drift = answer[key]
        if abs(part) < 1e-9:
            assert drift == pytest.approx(0.0, abs=0.1)
            continue
        assert math.copysign(1.0, drift) == math.copysign(1.0, part)
        whole = {math.floor(abs(drift)), math.ceil(abs(drift))}  # the answer is rounded before the words are
        assert any(f"{metres} m {positive if part > 0 else negative}" in words for metres in whole)


@pytest.mark.parametrize("off", OCTANTS)
def test_the_doors_open_short_of_the_target_and_upwind(off: int) -> None:
    """The geodesic from the target to the release, against the same load let go in a calm."""
    asked = DropAsk(target=f"{TARGET[1]},{TARGET[0]}")
    places = {wind: blown(off, wind, asked)["release_position"] for wind in (0.0, 5.0)}

    def seen(place: list[float]) -> tuple[float, float]:
        azimuth, _, distance = _GEOD.inv(TARGET[0], TARGET[1], place[0], place[1])
        return distance * math.cos(math.radians(azimuth - HEADING)), distance * math.sin(
            math.radians(azimuth - HEADING)
        )

    calm, windy = seen(places[0.0]), seen(places[5.0])
    assert calm[0] < -50.0
    assert calm[1] == pytest.approx(0.0, abs=0.3)
    assert windy[0] < 0.0
    toward_wind = math.cos(math.radians(off)), math.sin(math.radians(off))
    moved = windy[0] - calm[0], windy[1] - calm[1]
    # along the run the ground speed counts too; across it drift is all there is
    if abs(toward_wind[1]) > 1e-9:
        assert math.copysign(1.0, moved[1]) == math.copysign(1.0, toward_wind[1])
    if abs(toward_wind[0]) > 1e-9:
        assert math.copysign(1.0, moved[0]) == math.copysign(1.0, toward_wind[0])


@pytest.mark.parametrize("off", [45, 135, 225, 315])
def test_the_words_name_the_side_on_which_the_doors_open(off: int) -> None:
    words = spaced(RENDER["drop"](blown(off, asked=DropAsk(target="47.2,-31.8"))))
    side = "to its right" if off < 180 else "to its left"
    assert "before the middle of the pattern" in words
    assert side in words
    assert "upwind." in words
    assert "from the target on" in words


def test_release_and_target_lie_as_far_apart_as_told() -> None:
    answer = blown(30, asked=DropAsk(target="47.2,-31.8"))
    (lon1, lat1), (lon2, lat2) = answer["target_position"], answer["release_position"]
    azimuth, _, distance = _GEOD.inv(lon1, lat1, lon2, lat2)
    seen = answer["release_from_target"]
    assert distance == pytest.approx(seen["distance_m"], abs=0.2)
    assert (azimuth - seen["bearing_deg"] + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.2)
    offset = answer["release_offset_m"]
    assert math.hypot(offset["along"], offset["right"]) == pytest.approx(seen["distance_m"], abs=0.1)


def test_without_a_wind_the_release_says_that_it_does_not_know_it() -> None:
    answer = answer_of(DropAsk(target="47.2,-31.8"), heading_deg=10.0)
    words = spaced(RENDER["drop"](answer))
    assert "The wind is not given: shift it upwind by the drift that is seen." in words
    assert "drift as flown: unknown" in words
    assert answer["drift_right_m_low"] is answer["drift_right_m_high"] is None
    assert "Drift comes on top: the wind is not given." in words


def test_the_line_at_the_level_needed_comes_first() -> None:
    answer = answer_of(DropAsk(level=2.0), wind_mps=0.0)
    words = RENDER["drop"](answer)
    assert words.index("Your line") < words.index("Where the doors open") < words.index("Who stands clear")
    assert (
        words.index("Who stands clear") < words.index("From other heights") < words.index("By coverage level")
    )
    assert answer["line_m"] == answer["line_m_by_level"]["2"]
    assert answer["loads"] == 1
    assert answer["overlap_m"] > 0.0
    assert all(
        row["line_m"] is not None and row["level"] == 2.0 for row in answer["heights"] + answer["speeds"]
    )


def test_a_fuel_asks_for_its_level_and_loads_are_stacked_until_it_is_reached() -> None:
    """Chaparral (model 4) on a hot edge asks for more than one scooper lays."""
    answer = answer_of(DropAsk(fuel=4, intensity_kw_per_m=2200.0), wind_mps=0.0)
    assert answer["level"] == answer["need"]["level"] > 4.0
    assert answer["loads"] > 1
    assert answer["stack_line_m"] > 0.0 == answer["line_m"]
    assert answer["hold"]["chance_low"] <= answer["hold"]["chance"] <= answer["hold"]["chance_high"]
    assert f"{answer['loads']} on the same line make" in spaced(RENDER["drop"](answer))


def test_a_level_beside_the_six_is_measured_too() -> None:
    answer = answer_of(DropAsk(level=2.5), wind_mps=0.0)
    lines = answer["line_m_by_level"]
    assert lines["2"] >= lines["2.5"] >= lines["3"]
    assert set(lines) == {"0.5", "1", "2", "2.5", "3", "4", "6"}


def test_a_flow_setting_chosen_for_the_level_is_told_as_chosen() -> None:
    answer = answer_of(DropAsk(level=1.0), "large_tanker", "retardant", wind_mps=0.0)
    setting = answer["inputs_from"].get("setting")
    assert setting is None or setting["origin"] != "given"
    given = answer_of(DropAsk(level=1.0), "large_tanker", "retardant", wind_mps=0.0, setting=4.0)
    assert given["line_m"] < answer["line_m"]


@pytest.mark.parametrize("leaf_area", [None, 1.5])
@pytest.mark.parametrize("wind", [0.0, 7.0])
def test_every_litre_is_accounted_for(leaf_area: float | None, wind: float) -> None:
    given = {} if leaf_area is None else {"leaf_area": leaf_area}
    answer = answer_of(
        None, "twin_engine_scooper", None, heading_deg=0.0, wind_mps=wind, wind_from_deg=40.0, **given
    )
    shares = ("evaporated_pct", "canopy_pct", "reaching_ground_pct", "off_grid_pct")
    assert sum(answer[key] for key in shares) == pytest.approx(100.0, abs=0.1)


def test_what_trees_of_unknown_leaves_hold_is_unknown_and_not_nothing() -> None:
    answer = answer_of(canopy_m=20.0)
    assert answer["canopy_known"] is False
    assert answer["canopy_pct_high"] > 60.0
    assert "held by the trees unknown, up to" in spaced(RENDER["drop"](answer))


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        (DropAsk(level=2.0, fuel=4), "level"),
        (DropAsk(level=0.0), "level"),
        (DropAsk(level=math.nan), "level"),
        (DropAsk(level=25.0), "level"),
        (DropAsk(fuel=91), "fuel"),
        (DropAsk(intensity_kw_per_m=-1.0), "intensity_kw_per_m"),
        (DropAsk(intensity_kw_per_m=math.inf), "intensity_kw_per_m"),
        (DropAsk(target="47.2"), "target"),
        (DropAsk(target="somewhere"), "target"),
        (DropAsk(target="nan,3"), "target"),
        (DropAsk(target="95,3"), "target latitude"),
        (DropAsk(target="45,190"), "target longitude"),
        (DropAsk(heights="30,tall"), "heights"),
        (DropAsk(heights=",".join(["30"] * 25)), "heights"),
        (DropAsk(heights="30,1000"), "height_m"),
        (DropAsk(heights="nan"), "height_m"),
        (DropAsk(heights="inf"), "height_m"),
        (DropAsk(seed=-1), "seed"),
    ],
)
def test_what_cannot_be_asked_is_named_with_its_mend(asked: DropAsk, field: str) -> None:
    with pytest.raises(InputError) as refused:
        answer_of(asked, heading_deg=10.0)
    (problem,) = refused.value.problems
    assert problem.field == field
    assert problem.mend
    if isinstance(refused.value, OutsideRangeError):
        assert problem.limit


def test_doors_in_sequence_lay_a_longer_thinner_line() -> None:
    salvo, trail = answer_of(wind_mps=0.0), answer_of(None, wind_mps=0.0, system="trail", interval_s=1.0)
    assert trail["inputs"]["system"] == "trail"
    assert trail["pattern"]["length_m"] > salvo["pattern"]["length_m"]
    assert trail["pattern"]["peak_l_per_m2"] < salvo["pattern"]["peak_l_per_m2"]
    half = answer_of(None, wind_mps=0.0, doors=2)
    assert half["inputs"]["stays_on_board_l"] == pytest.approx(0.5 * half["inputs"]["load_l"])


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"system": "gate"}, "system"),
        ({"doors": 9}, "doors"),
        ({"setting": 3.0}, "setting"),
        ({"let_go_l": 9000.0}, "let_go_l"),
        ({"load_l": 20_000.0}, "load_l"),
        ({"leaf_area": -1.0}, "leaf_area"),
    ],
)
def test_what_the_tank_cannot_do_is_named_with_its_mend(given: dict[str, float | str], field: str) -> None:
    with pytest.raises(InputError) as refused:
        drop_answer("twin_engine_scooper", agent=None, given=given)
    (problem,) = refused.value.problems
    assert problem.field == field
    assert problem.mend


def test_hotter_and_drier_air_dries_the_line_sooner() -> None:
    asked = DropAsk(level=2.0, intensity_kw_per_m=800.0)
    cool = answer_of(asked, wind_mps=0.0, temperature_c=12.0, humidity_pct=80.0)["hold"]
    hot = answer_of(asked, wind_mps=0.0, temperature_c=36.0, humidity_pct=15.0)["hold"]
    assert hot["minutes"] < cool["minutes"]
    assert hot["because"]


def test_the_chance_says_that_gaps_and_the_leaves_of_trees_are_not_known() -> None:
    asked = DropAsk(level=2.0, intensity_kw_per_m=800.0)
    bare, trees = (answer_of(asked, wind_mps=0.0, canopy_m=m)["hold"] for m in (0.0, 20.0))
    assert "Gaps in the line are not known." in bare["notes"]
    assert bare["because"]["gaps"]["chance"] < 1.0
    assert trees["chance_low"] < bare["chance_low"]


def test_a_target_needs_the_heading_of_the_run() -> None:
    with pytest.raises(InputError, match="heading"):
        answer_of(DropAsk(target="47.2,-31.8"))


def test_a_refused_question_writes_no_picture(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        answer_of(DropAsk(target="nowhere", picture=tmp_path / "new" / "pattern.png"), heading_deg=10.0)
    assert not list(tmp_path.rglob("*.png*"))


def test_a_picture_in_a_folder_that_may_not_be_written_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        answer_of(DropAsk(picture=tmp_path))
    assert refused.value.problems[0].field == "picture"


@pytest.mark.parametrize("name", ["fleet.toml", "pattern", "drop_tests.csv"])
def test_a_picture_takes_the_place_of_no_other_file(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text("measured")
    with pytest.raises(InputError, match=r"does not end in \.png"):
        answer_of(DropAsk(picture=tmp_path / name))
    assert (tmp_path / name).read_text() == "measured"


def test_a_picture_that_cannot_be_written_is_no_fault_of_the_tool(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_self: Path, _data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_bytes", full)
    with pytest.raises(InputError, match="No space left"):
        answer_of(DropAsk(picture=tmp_path / "pattern.png"))
    assert not list(tmp_path.iterdir())


def test_a_picture_carries_the_stop_of_the_flame(tmp_path: Path) -> None:
    file = tmp_path / "pattern.png"
    answer = answer_of(DropAsk(picture=file, intensity_kw_per_m=6000.0), wind_mps=0.0)
    assert answer["picture"] == str(file)
    assert file.stat().st_size > 10_000
