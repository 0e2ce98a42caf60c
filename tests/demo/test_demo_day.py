"""The demo's weather and fleet."""

from __future__ import annotations

import csv
import tomllib
from collections import Counter
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest

from wetline.aircraft import aircraft_classes
from wetline.weather import daylight

if TYPE_CHECKING:
    from collections.abc import Callable

    from demo.written import Written

pytestmark = pytest.mark.behaviour


def _rows(demo: Written) -> list[dict[str, str]]:
    with (demo.folder / "weather.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _toml(demo: Written, name: str) -> dict[str, Any]:
    return tomllib.loads((demo.folder / name).read_text(encoding="utf-8"))


def _fleet(demo: Written) -> list[dict[str, Any]]:
    fleet: list[dict[str, Any]] = _toml(demo, "fleet.toml")["aircraft"]
    return fleet


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_two_days_of_hours_with_a_dry_afternoon_and_a_shift(
    written: Callable[[int], Written], seed: int
) -> None:
    demo = written(seed)
    rows = _rows(demo)
    times = [datetime.fromisoformat(row["time"]) for row in rows]
    zone = ZoneInfo(_toml(demo, "incident.toml")["time_zone"])
    assert len(rows) == 48
    assert times[0].astimezone(zone).hour == 0
    assert {b - a for a, b in pairwise(times)} == {timedelta(hours=1)}
    afternoon = rows[13:19]
    assert all(22 <= float(row["humidity_pct"]) <= 35 for row in afternoon)
    assert all(8 <= float(row["wind_kt"]) <= 16.5 for row in afternoon)
    assert max(float(row["gust_kt"]) for row in rows) <= 22
    assert all(float(row["gust_kt"]) >= float(row["wind_kt"]) for row in rows)
    before, after = rows[16], rows[18]
    shift = (float(after["wind_from_deg"]) - float(before["wind_from_deg"])) % 360
    assert 40 <= shift <= 60
    assert float(after["wind_kt"]) > float(before["wind_kt"])


def test_the_fleet_is_two_pairs_a_helicopter_two_tankers_and_supervision(demo: Written) -> None:
    fleet = _fleet(demo)
    assert Counter(a["class"] for a in fleet) == {
        "twin_engine_scooper": 2,
        "single_engine_scooper": 2,
        "medium_helicopter": 1,
        "single_engine_tanker": 1,
        "large_tanker": 1,
        "supervision": 1,
    }
    assert {a["class"] for a in fleet} <= set(aircraft_classes())
    pairs = Counter(a["pair"] for a in fleet if "pair" in a)
    assert sorted(pairs.values()) == [2, 2]
    assert len({a["call_sign"] for a in fleet}) == len(fleet)
    bases = {p["name"]: p for _, p in demo.layer("bases")}
    assert {a["base"] for a in fleet} <= set(bases)
    for a in fleet:
        if a["class"].endswith("tanker"):
            assert a["agent"] in bases[a["base"]]["agents"]


def test_one_crew_alone_runs_out_of_hours_before_sunset(demo: Written) -> None:
    settings = _toml(demo, "incident.toml")
    zone = ZoneInfo(settings["time_zone"])
    (x0, y0, x1, y1) = demo.grid.bounds
    lon, lat = demo.grid.projection.to_lonlat((x0 + x1) / 2, (y0 + y1) / 2)
    day = _fleet(demo)[0]["duty_start"].date()
    sunset = daylight(float(lon), float(lat), day, zone).sunset
    assert sunset is not None
    ends = {a["call_sign"]: a["duty_start"] + timedelta(hours=a["duty_limit_h"]) for a in _fleet(demo)}
    assert [name for name, end in ends.items() if end < sunset] == ["Plover 5"]


def test_everything_says_that_it_is_an_exercise(demo: Written) -> None:
    settings = _toml(demo, "incident.toml")
    assert settings["exercise"] is True
    assert {"name", "place", "time_zone", "magnetic_variation_deg", "variation_date"} <= set(settings)
    assert "hazards" in settings["cover"]
