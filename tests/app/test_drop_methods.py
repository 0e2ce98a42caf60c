"""Two methods behind one call: one shape of answer, the same litres, the same sides."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from app.asking_drop import HEADING, answer_of, blown
from wetline.app.drop import DropAsk
from wetline.cli.tables import RENDER

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

_CROSS = 270.0


@pytest.fixture(scope="module")
def both() -> dict[str, Any]:
    """A load in a wind from the left, by both methods."""
    return blown(_CROSS, asked=DropAsk(method="both", level=2.5))


@pytest.fixture(scope="module")
def drops() -> dict[str, Any]:
    """The same by the drops alone, under leaves."""
    asked = DropAsk(method="droplets", level=2.5, target="47.2,-31.8")
    wind = (HEADING + _CROSS) % 360.0
    return answer_of(
        asked,
        "twin_engine_scooper",
        None,
        heading_deg=HEADING,
        wind_mps=5.0,
        wind_from_deg=wind,
        leaf_area=1.5,
    )


def test_both_methods_give_the_same_keys(both: dict[str, Any], drops: dict[str, Any]) -> None:
    own = {"methods", "target_position", "release_position", "release_from_target"}
    assert set(both) - own == set(drops) - own
    assert both["by"] == "planning"
    assert drops["by"] == "droplets"
    assert drops["seed"] == both["seed"] == 1


def test_every_litre_of_the_drops_is_accounted_for(drops: dict[str, Any]) -> None:
    shares = ("evaporated_pct", "canopy_pct", "reaching_ground_pct", "off_grid_pct")
    assert min(drops[key] for key in shares) >= 0.0
    assert sum(drops[key] for key in shares) == pytest.approx(100.0, abs=0.1)
    assert drops["canopy_pct"] == pytest.approx(31.3 * (100.0 - drops["evaporated_pct"]) / 100.0, abs=0.1)


def test_both_drift_to_the_same_side_and_open_on_the_other(
    both: dict[str, Any], drops: dict[str, Any]
) -> None:
    for answer in (both, drops):
        assert answer["drift_right_m"] > 0.0 > answer["release_offset_m"]["right"]
        assert answer["drift_right_m_low"] < answer["drift_right_m"] < answer["drift_right_m_high"]
        assert answer["release_offset_m"]["along"] < -50.0


def test_bands_of_the_drops_hold_their_middle_and_fall_with_the_level(drops: dict[str, Any]) -> None:
    for size in ("line_m", "width_m", "area_m2", "line_m_summed"):
        middle, low, high = (drops[f"{size}{end}_by_level"] for end in ("", "_low", "_high"))
        assert all(low[k] <= middle[k] <= high[k] for k in middle)
        assert list(low.values()) == sorted(low.values(), reverse=True)
        assert list(high.values()) == sorted(high.values(), reverse=True)


def test_the_lines_of_both_stand_beside_each_other(both: dict[str, Any]) -> None:
    lines = both["methods"]["lines"]
    assert lines["planning"]["2.5"]["line_m"] == both["line_m"]
    text = RENDER["drop"](both)
    assert "planning form" in text
    assert "drop by drop" in text
    apart = both["methods"]["differ_at"]
    assert ("take the shorter line" in text) == bool(apart)
    for level, first in lines["planning"].items():
        inside = first["line_m_low"] - 0.1 <= lines["droplets"][level]["line_m"] <= first["line_m_high"] + 0.1
        assert inside == (level not in apart)


def test_the_same_seed_gives_the_same_answer(both: dict[str, Any]) -> None:
    again = blown(_CROSS, asked=DropAsk(method="both", level=2.5))
    other = blown(_CROSS, asked=DropAsk(method="both", level=2.5, seed=2))
    assert again == both
    assert other["methods"]["lines"]["droplets"] != both["methods"]["lines"]["droplets"]
    assert other["methods"]["lines"]["planning"] == both["methods"]["lines"]["planning"]


def test_the_ladders_say_by_which_method_they_are(drops: dict[str, Any], both: dict[str, Any]) -> None:
    assert "From other heights (tank above canopy), by the planning form" in RENDER["drop"](drops)
    assert "by the planning form" not in RENDER["drop"](both)


def test_measured_lines_are_no_method_and_do_not_stand_for_one(both: dict[str, Any], tmp_path: Path) -> None:
    """Side by side stand form and drops, whatever was measured; the answer takes the measured line."""
    table = tmp_path / "own.csv"
    table.write_text(
        "class,liquid,load_l,height_ft,height_above,speed_kt,speed_kind,wind_mps,level_gpc,line_m,line_kind,source\n"
        "twin_engine_scooper,water,6100,100,ground,105,air,5,2.5,31,unbroken,Ketter trials\n"
    )
    own = blown(_CROSS, asked=DropAsk(method="both", level=2.5, drop_tests=table))
    assert own["line_m_by_level"]["2.5"] == 31.0
    assert own["methods"] == both["methods"]
