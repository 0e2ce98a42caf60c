"""weather.csv: every cell, the hours in order and whole, and the fire's time covered."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from store.asking import edit, errors, the_error, warnings_of
from store.folder_maker import FIRE_TIME, weather_csv
from wetline.store import read_incident
from wetline.store.problems import Complaints
from wetline.store.weather_csv import read_table

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.weather import Weather

pytestmark = pytest.mark.behaviour

ROW = "2026-08-14T13:00:00Z,30,30,10,270,15,0,20,30\n"


def read(folder: Path) -> Weather:
    weather = read_table(folder / "weather.csv", Complaints("weather.csv", "weather"))
    assert weather is not None
    return weather


def test_the_table_is_read_in_si(folder: Path) -> None:
    """10 kt is 5.1444 m/s, 15 kt 7.7167 m/s (1 kt = 1852 m an hour, exact)."""
    weather = read(folder)
    hour = weather.at(FIRE_TIME + timedelta(minutes=90))
    assert hour.time == FIRE_TIME + timedelta(hours=1)
    assert hour.wind_mps == pytest.approx(5.14444, abs=1e-5)
    assert hour.gust_mps == pytest.approx(7.71667, abs=1e-5)
    assert (hour.temperature_c, hour.humidity_pct, hour.wind_from_deg) == (30, 30, 270)
    assert (hour.rain_mm, hour.cloud_pct, hour.visibility_m) == (0, 20, 30_000)


@pytest.mark.parametrize(("unit", "mps"), [("mps", 10.0), ("kmh", 10 / 3.6), ("kt", 10 * 1852 / 3600)])
def test_wind_may_stand_in_three_units(folder: Path, unit: str, mps: float) -> None:
    edit(folder / "weather.csv", "wind_kt", f"wind_{unit}")
    np.testing.assert_allclose(read(folder).wind_mps, mps)


def test_offsets_are_followed(folder: Path) -> None:
    path = folder / "weather.csv"
    path.write_text(path.read_text().replace(":00:00Z", ":00:00-01:00"))
    assert read(folder).first == FIRE_TIME + timedelta(hours=1)


def test_what_may_be_left_out_is_not_known(folder: Path) -> None:
    head = "time,temperature_c,humidity_pct,wind_mps,wind_from_deg\n"
    (folder / "weather.csv").write_text(
        head + "".join(f"2026-08-14T{h}:00:00Z,30,30,5,270\n" for h in range(12, 20))
    )
    assert warnings_of(folder, "weather.csv") == []
    hour = read(folder).at(FIRE_TIME)
    assert (hour.gust_mps, hour.cloud_pct, hour.visibility_m) == (None, None, None)


def test_live_moisture_comes_from_the_first_row(folder: Path) -> None:
    path = folder / "weather.csv"
    lines = path.read_text().splitlines()
    lines = [f"{lines[0]},live_herb_pct,live_woody_pct", f"{lines[1]},75,110", *(f"{x},," for x in lines[2:])]
    path.write_text("\n".join(lines))
    weather = read(folder)
    assert (weather.live_herb_pct, weather.live_woody_pct) == (75, 110)


def test_a_calm_hour_needs_no_direction(folder: Path) -> None:
    edit(folder / "weather.csv", "T13:00:00Z,30,30,10,270,15", "T13:00:00Z,30,30,0,,")
    assert read(folder).wind_from_deg[1] == 0.0


def test_north_may_be_360(folder: Path) -> None:
    edit(folder / "weather.csv", "T13:00:00Z,30,30,10,270", "T13:00:00Z,30,30,10,360")
    assert read(folder).wind_from_deg[1] == 0.0


@pytest.mark.parametrize(
    ("cells", "field", "hint"),
    [
        ("30,140,10,270,15,0,20,30", "humidity_pct", "Percent"),
        ("30,0.35,10,270,15,0,20,30", "humidity_pct", "0.35"),
        ("30,30,-5,270,15,0,20,30", "wind_kt", "0 to 150"),
        ("30,30,10,400,15,0,20,30", "wind_from_deg", "360"),
        ("303,30,10,270,15,0,20,30", "temperature_c", "Celsius"),
        ("86,30,10,270,15,0,20,30", "temperature_c", "Celsius"),
        ("30,30,10,270,15,0,20,9999", "visibility_km", "Kilometres"),
        ("30,30,10,270,15,-1,20,30", "rain_mm", "Millimetres"),
        ("30,30,10,270,15,0,101,30", "cloud_pct", "Percent"),
        ("warm,30,10,270,15,0,20,30", "temperature_c", "number"),
        ("30,30,10 kt,270,15,0,20,30", "wind_kt", "alone"),
        ('"30,5",30,10,270,15,0,20,30', "temperature_c", "point"),
        ("30,30,10,W,15,0,20,30", "wind_from_deg", "number"),
        ("nan,30,10,270,15,0,20,30", "temperature_c", ""),
        ("30,inf,10,270,15,0,20,30", "humidity_pct", ""),
        (",30,10,270,15,0,20,30", "temperature_c", "°C"),
        ("30,,10,270,15,0,20,30", "humidity_pct", "%"),
        ("30,30,,270,15,0,20,30", "wind_kt", "kt"),
        ("30,30,10,,15,0,20,30", "wind_from_deg", "true direction"),
        ("30,30,10,nan,15,0,20,30", "wind_from_deg", ""),
    ],
)
def test_a_cell_that_cannot_be_is_named(folder: Path, cells: str, field: str, hint: str) -> None:
    edit(folder / "weather.csv", ROW, f"2026-08-14T13:00:00Z,{cells}\n")
    problem = the_error(folder)
    assert (problem.file, problem.row, problem.field) == ("weather.csv", 1, field)
    assert hint in problem.mend


@pytest.mark.parametrize(
    ("old", "new", "row", "said"),
    [
        (ROW, "", 1, "gap of 2 h"),
        (ROW, ROW + ROW, 2, "twice"),
        ("T13:00:00Z", "T11:00:00Z", 1, "not in order"),
        ("T13:00:00Z", "T12:30:00Z", 1, "30 min"),
    ],
)
def test_hours_out_of_step_are_named(folder: Path, old: str, new: str, row: int, said: str) -> None:
    edit(folder / "weather.csv", old, new)
    found = errors(folder)
    assert (found[0].row, found[0].field) == (row, "time")
    assert said in found[0].message


@pytest.mark.parametrize("time", ["2026-08-14T13:00:00", "13:00", "", "2026-08-14 13h", "14/08/2026 13:00"])
def test_a_time_without_zone_or_sense_is_named(folder: Path, time: str) -> None:
    edit(folder / "weather.csv", "2026-08-14T13:00:00Z", time)
    found = errors(folder)
    assert (found[0].row, found[0].field) == (1, "time")


def test_every_wrong_cell_is_named(folder: Path) -> None:
    edit(folder / "weather.csv", ROW, "2026-08-14T13:00:00,300,140,-5,400,-1,-1,-1,-1\n")
    fields = [p.field for p in errors(folder)]
    assert set(fields) == {
        "time", "temperature_c", "humidity_pct", "wind_kt", "wind_from_deg", "gust_kt", "rain_mm", "cloud_pct",
        "visibility_km",
    }  # fmt: skip


def test_weather_before_the_fire_is_refused(folder: Path) -> None:
    (folder / "weather.csv").write_text(weather_csv(6, FIRE_TIME - timedelta(hours=6)))
    problem = the_error(folder)
    assert "does not cover" in problem.message
    assert problem.value == "2026-08-14T12:00Z"
    assert problem.limit == "2026-08-14T06:00Z to 2026-08-14T12:00Z"


def test_weather_after_the_fire_is_refused(folder: Path) -> None:
    (folder / "weather.csv").write_text(weather_csv(6, FIRE_TIME + timedelta(hours=1)))
    assert "does not cover" in the_error(folder).message


def test_weather_that_ends_soon_is_remarked(folder: Path) -> None:
    (folder / "weather.csv").write_text(weather_csv(2))
    assert [p.field for p in warnings_of(folder, "weather.csv")] == ["time"]


@pytest.mark.parametrize("column", ["time", "temperature_c", "humidity_pct", "wind_kt", "wind_from_deg"])
def test_a_missing_column_is_named(folder: Path, column: str) -> None:
    edit(folder / "weather.csv", f"{column},", "other,")
    assert column in {p.field for p in errors(folder)}


def test_two_units_of_wind_are_refused(folder: Path) -> None:
    edit(folder / "weather.csv", "visibility_km", "wind_mps")
    problem = the_error(folder)
    assert problem.value == "wind_kt, wind_mps"


def test_a_column_that_stands_twice_is_refused(folder: Path) -> None:
    edit(folder / "weather.csv", "cloud_pct", "rain_mm")
    assert the_error(folder).field == "rain_mm"


def test_an_unknown_column_is_remarked_with_what_may_be_meant(folder: Path) -> None:
    edit(folder / "weather.csv", "gust_kt", "gusts_kt")
    (problem,) = warnings_of(folder, "weather.csv")
    assert '"gust_kt"' in problem.message


def test_semicolons_and_comma_decimals_are_named(folder: Path) -> None:
    path = folder / "weather.csv"
    path.write_text(path.read_text().replace(",", ";").replace("30;30", "30,5;30,5"))
    assert "commas between the cells" in the_error(folder).mend


def test_a_comma_decimal_that_makes_a_cell_too_many_is_named(folder: Path) -> None:
    edit(folder / "weather.csv", ROW, "2026-08-14T13:00:00Z,30,5,30,10,270,15,0,20,30\n")
    problem = next(p for p in errors(folder) if p.limit == "9 cells")
    assert problem.row == 1
    assert "3,8" in problem.mend


def test_a_row_cut_short_is_named(folder: Path) -> None:
    path = folder / "weather.csv"
    path.write_text(path.read_text()[:-15])
    problem = the_error(folder)
    assert problem.row == 11
    assert "cut short" in problem.mend


def test_a_last_row_without_line_end_is_remarked(folder: Path) -> None:
    """Cut within its last cell, a row still reads: 30 km of visibility would become 3."""
    path = folder / "weather.csv"
    path.write_text(path.read_text()[:-2])
    (problem,) = warnings_of(folder, "weather.csv")
    assert problem.field == "last line"


def test_a_table_of_empty_cells_is_named(folder: Path) -> None:
    (folder / "weather.csv").write_text(",,\n")
    assert "no cell" in the_error(folder).message


def test_a_header_alone_is_named(folder: Path) -> None:
    (folder / "weather.csv").write_text(weather_csv(0))
    assert "no hour" in the_error(folder).message


def test_a_gust_below_the_wind_is_remarked(folder: Path) -> None:
    edit(folder / "weather.csv", "T13:00:00Z,30,30,10,270,15", "T13:00:00Z,30,30,10,270,5")
    (problem,) = warnings_of(folder, "weather.csv")
    assert (problem.row, problem.field) == (1, "gust_kt")


def test_a_bad_table_leaves_no_weather(folder: Path) -> None:
    edit(folder / "weather.csv", ROW, "")
    assert read_table(folder / "weather.csv", Complaints("weather.csv", "weather")) is None
    (folder / "weather.csv").unlink()
    assert read_incident(folder).weather is None
