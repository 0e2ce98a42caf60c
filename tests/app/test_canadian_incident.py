"""The invented incident under the Canadian system: every command runs, and what is unknown is said."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from wetline.app.plan import plan_of, planned
from wetline.app.sizeup import size_up
from wetline.store import check_folder

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

FIRE = """
[fire]
system = "canadian"
codes_day = 2026-08-14
ffmc = 90.0
dmc = 45
dc = 320
foliar_moisture_pct = 105
cured_pct = 85

[fire.fuels]
91 = "none"
93 = "none"
98 = "water"
99 = "none"
101 = { type = "O-1a", coverage_model = 1 }
102 = { type = "O-1a", coverage_model = 1 }
104 = { type = "O-1b", coverage_model = 3 }
122 = { type = "O-1b", cured_pct = 65, coverage_model = 2 }
142 = "D-1"
144 = { type = "M-2", conifer_pct = 30, coverage_model = 5 }
145 = { type = "M-2", conifer_pct = 60, coverage_model = 4 }
162 = { type = "M-2", conifer_pct = 50, coverage_model = 8 }
165 = { type = "C-3", coverage_model = 10 }
183 = { type = "C-3", coverage_model = 8 }
186 = { type = "D-1", coverage_model = 9 }
188 = { type = "C-7", coverage_model = 9 }
202 = { type = "S-1", coverage_model = 11 }
"""


@pytest.fixture(scope="module")
def canadian(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("canadian") / "incident"
    shutil.copytree(demo_folder, folder)
    with (folder / "incident.toml").open("a", encoding="utf-8") as file:
        file.write(FIRE)
    return folder


def test_check_remarks_the_fuel_without_coverage_alone(canadian: Path) -> None:
    (problem,) = check_folder(canadian).problems
    assert (problem.level, problem.value) == ("warning", "D-1")


def test_size_up_tells_the_fastest_run_by_its_own_fuel(canadian: Path) -> None:
    seen = size_up(canadian, at=None, hours=3.0, members=0, seed=1)
    assert seen["unknown_cells"] == 0
    assert seen["fastest"]["because"]["fuel"][:2] in {"C-", "D-", "M-", "S-", "O-"}
    assert 0.0 < seen["fastest"]["because"]["wind_share"] < 1.0
    assert "crown_fire" not in {entry["key"] for entry in seen["not_yet"]}
    assert any("ST-X-3" in note for note in seen["notes"])
    assert seen["fronts"][-1]["area_ha"] > seen["area_ha"]


def test_a_plan_is_made_and_says_which_coverage_nobody_knows(canadian: Path) -> None:
    plan = plan_of(planned(canadian, at=None, members=0, seed=1))
    assert plan["drops"]
    (missing,) = [f for f in plan["findings"] if "No drop guide names a coverage" in f["message"]]
    assert missing["level"] == "unknown"
    assert "D-1" in missing["message"]
    assert "C-3" not in missing["message"]
