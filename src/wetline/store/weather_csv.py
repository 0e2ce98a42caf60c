"""`weather.csv`: hourly weather, every cell checked, wind left true as written."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from wetline.store.fields import number_hint, parse_moment
from wetline.store.files import read_text, remark_open_end
from wetline.store.problems import suggestion
from wetline.store.weather_steps import SPANS, check_step
from wetline.units import KM_PER_HOUR, KNOT
from wetline.weather import Weather

if TYPE_CHECKING:
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from numpy.typing import NDArray

    from wetline.store.problems import Complaints

__all__ = ["read_table"]

_SPEED_UNITS = {"kt": KNOT, "mps": 1.0, "kmh": KM_PER_HOUR}
_NEEDED = ("time", "temperature_c", "humidity_pct", "wind_from_deg")
_MAY_BE_EMPTY = frozenset(
    {"rain_mm", "cloud_pct", "visibility_km", "live_herb_pct", "live_woody_pct"}
    | {f"gust_{unit}" for unit in _SPEED_UNITS}
)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The header's names with their places, and the rows that have the right number of cells."""

    places: dict[str, int]
    rows: list[tuple[int, list[str]]]
    wind: str
    gust: str | None


def read_table(path: Path, complaints: Complaints, *, zone: ZoneInfo | None = None) -> Weather | None:
    """The hours of a file, wind directions true; None if any cell of them is wrong."""
    text = read_text(path, complaints)
    sheet = None if text is None else _sheet(text, complaints)
    if sheet is None:
        return None
    before = sum(p.level == "error" for p in complaints.found)
    times = _times(sheet, complaints, zone)
    columns = {
        name: _column(sheet, name, complaints)
        for name in sheet.places
        if name in SPANS and not name.startswith("live_")
    }
    herb, woody = (_first(sheet, name, complaints) for name in ("live_herb_pct", "live_woody_pct"))
    _fill_calm(sheet, columns, complaints)
    if sum(p.level == "error" for p in complaints.found) > before or not sheet.rows:
        return None
    nothing = np.full(len(times), np.nan)
    wind = columns[sheet.wind] * _SPEED_UNITS[sheet.wind.removeprefix("wind_")]
    gust = (
        nothing
        if sheet.gust is None
        else columns[sheet.gust] * _SPEED_UNITS[sheet.gust.removeprefix("gust_")]
    )
    _warn_of_gusts(sheet, wind, gust, complaints)
    return Weather(
        time_s=times,
        temperature_c=columns["temperature_c"],
        humidity_pct=columns["humidity_pct"],
        wind_mps=wind,
        wind_from_deg=columns["wind_from_deg"] % 360.0,
        gust_mps=gust,
        rain_mm=columns.get("rain_mm", nothing),
        cloud_pct=columns.get("cloud_pct", nothing),
        visibility_m=columns.get("visibility_km", nothing) * 1000.0,
        live_herb_pct=herb,
        live_woody_pct=woody,
    )


def _sheet(text: str, complaints: Complaints) -> _Sheet | None:
    remark_open_end(text, complaints)
    try:
        lines = [
            row for row in csv.reader(text.split("\n"), strict=True) if any(cell.strip() for cell in row)
        ]
    except csv.Error as error:
        complaints.error(f"The file is no table of cells: {error}.", "Mend its quotation marks.")
        return None
    if not lines:
        complaints.error("The table holds no cell.", "Fill it, or take it out of the folder.")
        return None
    names = [name.strip().lower() for name in lines[0]]
    if len(names) == 1 and ";" in names[0]:
        complaints.error(
            "The cells are parted by semicolons.",
            "Save it with commas between the cells and points in the decimals.",
            field="header",
            value=lines[0][0],
        )
        return None
    if not _check_header(names, complaints):
        return None
    rows = []
    for i, row in enumerate(lines[1:]):
        if len(row) == len(names):
            rows.append((i, row))
            continue
        more = (
            "Decimals need a point: 3.8, not 3,8." if len(row) > len(names) else "The file may be cut short."
        )
        complaints.error(
            f"The row has {len(row)} cells, the header {len(names)}.", more,
            row=i, value=",".join(row), limit=f"{len(names)} cells",
        )  # fmt: skip
    if len(lines) == 1:
        complaints.error("There is no hour in the table.", "Add a row for each hour, or take the file out.")
    places = {name: i for i, name in enumerate(names)}
    wind = next(name for name in names if name in {f"wind_{u}" for u in _SPEED_UNITS})
    gust = next((name for name in names if name in {f"gust_{u}" for u in _SPEED_UNITS}), None)
    return _Sheet(places, rows, wind, gust)


def _check_header(names: list[str], complaints: Complaints) -> bool:
    sound = True
    for name in _NEEDED:
        if name not in names:
            complaints.error(f"The column {name} is missing.", f"Add {name} to the header.", field=name)
            sound = False
    for what, least in (("wind", 1), ("gust", 0)):
        given = [name for name in names if name in {f"{what}_{unit}" for unit in _SPEED_UNITS}]
        if not least <= len(given) <= 1:
            complaints.error(
                f"The table gives {what} in {len(given)} units." if given else f"The {what} speed is missing.",
                f"Keep one of {what}_kt, {what}_mps, {what}_kmh.", field=f"{what}_kt", value=", ".join(given),
            )  # fmt: skip
            sound = False
    known = {"time", *SPANS}
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            complaints.error(f'The column "{name}" stands twice.', "Keep the right one.", field=name)
            sound = False
        if name not in known:
            complaints.warning(
                f'The column "{name}" is not read.{suggestion(name, known)}', "Mend its name, or leave it.",
                field=name,
            )  # fmt: skip
    return sound


def _times(sheet: _Sheet, complaints: Complaints, zone: ZoneInfo | None) -> NDArray[np.float64]:
    """Seconds since 1970 UTC of each row, complaining of gaps, repeats and disorder."""
    seconds: list[float] = []
    for i, row in sheet.rows:
        text = row[sheet.places["time"]].strip()
        time, why = parse_moment(text)
        if time is None:
            complaints.error(
                f"The time {why}.", "Write it as 2026-08-14T12:00:00Z, or with an offset such as -01:00.",
                row=i, field="time", value=text,
            )  # fmt: skip
            continue
        given = datetime.fromisoformat(text).utcoffset()
        if zone and given and given != time.astimezone(zone).utcoffset():
            complaints.warning(
                f"The time is written with another offset than the incident's clock ({time.astimezone(zone):%z}).",
                "See which is meant. Mind that Etc/GMT+1 is one hour *behind* UTC.",
                row=i, field="time", value=text,
            )  # fmt: skip
        if seconds:
            check_step(time.timestamp() - seconds[-1], i, text, complaints)
        seconds.append(time.timestamp())
    return np.array(seconds, np.float64)


def _column(sheet: _Sheet, name: str, complaints: Complaints) -> NDArray[np.float64]:
    """The numbers of one column; NaN for an empty cell where empty is allowed."""
    may_be_empty = name in _MAY_BE_EMPTY or name == "wind_from_deg"
    place = sheet.places[name]
    return np.array(
        [_cell(row[place], i, name, may_be_empty, complaints) for i, row in sheet.rows], np.float64
    )


def _cell(text: str, row: int, name: str, may_be_empty: bool, complaints: Complaints) -> float:
    text, span = text.strip(), SPANS[name]
    if not text:
        if not may_be_empty:
            complaints.error(f"{name} is missing.", f"Give it [{span.unit}].", row=row, field=name)
        return math.nan
    try:
        value = float(text)
    except ValueError:
        complaints.error(
            f"{name} is text where a number belongs.", number_hint(text), row=row, field=name, value=text
        )
        return math.nan
    if not span.low <= value <= span.high:
        complaints.error(
            f"{name} is {text}, outside {span.text()}.", span.hint or f"Give {name} within {span.text()}.",
            row=row, field=name, value=text, limit=span.text(),
        )  # fmt: skip
    return value


def _first(sheet: _Sheet, name: str, complaints: Complaints) -> float | None:
    """The first row's value of a column that counts for the whole day."""
    if name not in sheet.places or not sheet.rows:
        return None
    row, cells = sheet.rows[0]
    value = _cell(cells[sheet.places[name]], row, name, True, complaints)
    return None if math.isnan(value) else value


def _fill_calm(sheet: _Sheet, columns: dict[str, NDArray[np.float64]], complaints: Complaints) -> None:
    """A calm hour needs no direction; any other does."""
    wind, direction = columns[sheet.wind], columns["wind_from_deg"]
    for k, (i, row) in enumerate(sheet.rows):
        if np.isnan(direction[k]) and not row[sheet.places["wind_from_deg"]].strip():
            if wind[k] == 0:
                direction[k] = 0.0
            else:
                complaints.error(
                    "wind_from_deg is missing.", "Give the true direction that the wind comes from.",
                    row=i, field="wind_from_deg",
                )  # fmt: skip


def _warn_of_gusts(
    sheet: _Sheet, wind: NDArray[np.float64], gust: NDArray[np.float64], complaints: Complaints
) -> None:
    for k in np.flatnonzero(gust < wind):
        row, cells = sheet.rows[int(k)]
        name = sheet.gust or "gust_kt"
        complaints.warning(
            "The gust is weaker than the mean wind.", "See whether the columns are swapped.",
            row=row, field=name, value=cells[sheet.places[name]], limit=cells[sheet.places[sheet.wind]],
        )  # fmt: skip
