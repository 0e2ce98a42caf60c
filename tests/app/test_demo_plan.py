"""What the invented incident must contain, found from its own answers; and what no plan may break."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

import pytest

from wetline.app.demo import make_demo
from wetline.app.plan import plan_of, planned

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

Answer = dict[str, Any]


def stops(item: Answer, code: str) -> list[Answer]:
    return [f for f in item["findings"] if f["level"] == "stop" and f["code"] == code]


def test_a_drop_is_held_back_because_a_crew_is_near_its_run(demo_plan: Answer) -> None:
    near = [f for held in demo_plan["held_back"] for f in stops(held, "people")]
    assert any("Crew" in f["message"] and f["distance_m"] <= 60 for f in near)
    assert all(held["release"] for held in demo_plan["held_back"])


def test_a_lake_of_unknown_depth_asks_for_a_look(demo_water: Answer) -> None:
    unsounded = [lane for lane in demo_water["lanes"] if lane["depth_m"] is None]
    assert unsounded
    for lane in unsounded:
        depth = [f for f in lane["findings"] if f["code"] == "depth"]
        assert [(f["level"], f["effect"]) for f in depth] == [("unknown", "look")]
        assert lane["level"] != "clear"


def test_a_wire_stands_near_a_circuit(demo_plan: Answer) -> None:
    call_signs = {row["aircraft"] for row in demo_plan["day"]}
    wires = [f for f in demo_plan["findings"] if f["code"] == "wire" and f["refers_to"] in call_signs]
    assert any(f["level"] == "caution" for f in wires)


def test_a_lane_is_rejected_by_terrain(demo_water: Answer) -> None:
    assert [lane["id"] for lane in demo_water["lanes"] if stops(lane, "terrain_exit")]


def test_an_aircraft_is_limited_by_crew_hours(demo_plan: Answer) -> None:
    limited = [row for row in demo_plan["day"] if row["limited_by"] == "crew_hours"]
    assert limited
    for row in limited:
        assert row["last_drop"] < row["land_by"] < row["crew_hours_end"] < demo_plan["cut_off"]


def test_nobody_is_clear_and_nothing_stopped_is_in_use(demo_plan: Answer) -> None:
    assert demo_plan["drops"]
    for drop in demo_plan["drops"]:
        people = [f for f in drop["findings"] if f["code"] == "people"]
        assert [(f["level"], f["effect"]) for f in people] == [("unknown", "blocks")]
        assert drop["people"]["confirmed_by"] is None
        assert all(f["level"] != "stop" for f in drop["findings"])
    assert "not released" in demo_plan["answers"]["next_load"]


def test_loads_fall_in_order_between_now_and_the_cut_off(demo_plan: Answer) -> None:
    times = [drop["time"] for drop in demo_plan["drops"]]
    assert times == sorted(times)
    assert demo_plan["time"] <= times[0]
    assert times[-1] <= demo_plan["cut_off"]
    assert demo_plan["next_load"]["drop"] == demo_plan["drops"][0]["id"]
    used = len(demo_plan["drops"]) + demo_plan["loads_without_a_place"]
    assert used == demo_plan["loads_planned"]


def test_the_race_adds_up_at_every_moment(demo_plan: Answer) -> None:
    for point in demo_plan["race"]:
        assert point["open_m"] == pytest.approx(point["edge_m"] - point["held_m"], abs=2)
        assert point["secured_m"] is None
        parts = point["barrier_m"] + point["retardant_m"] + point["wet_only_m"]
        assert parts == pytest.approx(point["held_m"], abs=3)
        for key in ("edge_m", "held_m", "open_m"):
            assert point[f"{key}_low"] <= point[key] <= point[f"{key}_high"]
    minutes = {
        (datetime.fromisoformat(b["time"]) - datetime.fromisoformat(a["time"])).total_seconds() / 60
        for a, b in zip(demo_plan["race"], demo_plan["race"][1:], strict=False)
    }
    assert max(minutes) <= 15


def test_what_is_not_computed_is_null_and_named(demo_plan: Answer) -> None:
    named = {n["key"] for n in demo_plan["not_yet"]}
    assert {"rejected", "secured_m"} <= named
    assert demo_plan["rejected"] == []


def test_drops_lie_at_the_edge_grown_to_their_time(demo_plan: Answer) -> None:
    """A line laid hours later cannot lie where the edge is now: drops move outward with the fire."""
    first, last = demo_plan["drops"][0], demo_plan["drops"][-1]
    assert first["line"] != last["line"]


@pytest.mark.parametrize("seed", [2, 3, 4, 5])
def test_other_seeds_run_the_whole_path(seed: int, tmp_path: Path) -> None:
    make_demo(tmp_path / "incident", seed=seed, force=False)
    plan = plan_of(planned(tmp_path / "incident", at=None, members=0, seed=seed))
    assert plan["drops"]
    assert plan["race"]
    assert plan["reaches"]
    assert plan["answers"]["winning"] == "unknown"  # no varied futures were asked for


def test_what_holds_for_all_whom_the_fire_reaches_is_said_once(demo_plan: dict[str, Any]) -> None:
    hurt = demo_plan["answers"]["hurt"]
    assert hurt.count("Fire reaches") >= 2
    assert hurt.count("if nothing more is stopped; it may be sooner.") == 1
