"""What holds for weather in whatever file it comes: one row an hour, no gap, values that can be."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import OutsideRangeError
from wetline.store.fields import Span
from wetline.store.problems import counted
from wetline.weather import Weather, relative_humidity_pct

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.store.problems import Complaints

__all__ = ["HOUR_S", "SPANS", "Intervals", "ModelColumns", "check_step", "weather_of"]

HOUR_S = 3600.0
_PERCENT = "Percent is asked for: 35, not 0.35."
SPANS: Mapping[str, Span] = MappingProxyType({
    "temperature_c": Span(-50.0, 60.0, "°C", "Degrees Celsius are asked for, not Fahrenheit or kelvin."),
    "humidity_pct": Span(1.0, 100.0, "%", _PERCENT),
    "wind_kt": Span(0.0, 150.0, "kt"),
    "wind_mps": Span(0.0, 77.0, "m/s"),
    "wind_kmh": Span(0.0, 278.0, "km/h"),
    "wind_from_deg": Span(0.0, 360.0, "°", "Give the true direction that the wind comes from, 0 to 360."),
    "gust_kt": Span(0.0, 200.0, "kt"),
    "gust_mps": Span(0.0, 103.0, "m/s"),
    "gust_kmh": Span(0.0, 370.0, "km/h"),
    "rain_mm": Span(0.0, 300.0, "mm", "Millimetres in that hour are asked for."),
    "cloud_pct": Span(0.0, 100.0, "%", _PERCENT),
    "visibility_km": Span(0.0, 200.0, "km", "Kilometres are asked for, not metres."),
    "live_herb_pct": Span(20.0, 400.0, "%", "Percent of dry weight is asked for: 90, not 0.9."),
    "live_woody_pct": Span(20.0, 400.0, "%", "Percent of dry weight is asked for: 120, not 1.2."),
})  # fmt: skip
"""Beyond these a slip is likelier than the weather. Common practice, no source."""
_COLUMNS = {
    "temperature_c": ("temperature_c", 1.0),
    "humidity_pct": ("humidity_pct", 1.0),
    "wind_mps": ("wind_mps", 1.0),
    "wind_from_deg": ("wind_from_deg", 1.0),
    "gust_mps": ("gust_mps", 1.0),
    "rain_mm": ("rain_mm", 1.0),
    "cloud_pct": ("cloud_pct", 1.0),
    "visibility_m": ("visibility_km", 1000.0),
}
"""The span by which a column is judged, and how many of ours make one of its unit."""
_NEEDED = ("temperature_c", "humidity_pct", "wind_mps", "wind_from_deg")
_OVERFULL_PCT = 2.0
"""Packed model fields pass 100 % by so much. Common practice, no source."""
_PACKING_MM = 0.05
"""A sum that falls by less from one hour to the next fell by packing. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Intervals:
    """What fell [mm] from `start_s` to `end_s` [s since 1970 UTC], each float64[n]."""

    start_s: NDArray[np.float64]
    end_s: NDArray[np.float64]
    amount_mm: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ModelColumns:
    """Weather of a file of arrays at one place, float64[n] by column, `time_s` [s since 1970 UTC].

    `values`: `temperature_c`, `humidity_pct` or `dew_point_c`, `wind_east_mps` and `wind_north_mps`
    (toward east and north), `gust_mps`, `cloud_pct`, `visibility_m`, `rain_mm`; NaN where not given.
    `names`: what each is called in the file.
    """

    time_s: NDArray[np.float64]
    values: Mapping[str, NDArray[np.float64]]
    names: Mapping[str, str] = field(default_factory=dict)
    rain: Intervals | None = None
    elevation_m: float | None = None


def check_step(step_s: float, row: int, text: str, complaints: Complaints) -> None:
    """Complain of a row that does not come exactly one hour after the one before."""
    if step_s == HOUR_S:
        return
    if step_s == 0:
        message, mend = "The hour stands twice.", "Keep the right row."
    elif step_s < 0:
        message, mend = "The hours are not in order.", "Sort the rows by time."
    elif step_s > HOUR_S:
        message = f"There is a gap of {step_s / 3600:g} h before this row."
        mend = "Add the hours between: weather is never carried over a gap."
    else:
        message, mend = f"The row comes {step_s / 60:g} min after the one before.", "Give one row an hour."
    complaints.error(message, mend, row=row, field="time", value=text, limit="1 h")


def weather_of(found: ModelColumns, complaints: Complaints) -> Weather | None:
    """The hours of a file of arrays, wind directions true; None if any of them is wrong."""
    before = sum(p.level == "error" for p in complaints.found)
    if not len(found.time_s):
        complaints.error("There is no hour in the file.", "Take one that holds the hours of the fire.")
        return None
    for row in range(1, len(found.time_s)):
        check_step(float(found.time_s[row] - found.time_s[row - 1]), row, _hour(found, row), complaints)
    columns = _derived(found, complaints)
    for name in _NEEDED:
        if name not in columns:
            complaints.error(f"The file holds no {_WORDS[name]}.", _LACKS, field=name)
    for name in _COLUMNS:
        if name in columns:
            _check(found, name, columns[name], complaints)
    if sum(p.level == "error" for p in complaints.found) > before:
        return None
    _warn_of_gusts(found, columns, complaints)
    nothing = np.full(len(found.time_s), np.nan)
    return Weather(
        time_s=found.time_s,
        temperature_c=columns["temperature_c"],
        humidity_pct=columns["humidity_pct"],
        wind_mps=columns["wind_mps"],
        wind_from_deg=columns["wind_from_deg"] % 360.0,
        gust_mps=columns.get("gust_mps", nothing),
        rain_mm=columns.get("rain_mm", nothing),
        cloud_pct=columns.get("cloud_pct", nothing),
        visibility_m=columns.get("visibility_m", nothing),
        elevation_m=found.elevation_m,
    )


def _derived(found: ModelColumns, complaints: Complaints) -> dict[str, NDArray[np.float64]]:
    """The columns of the file with those that follow from them."""
    columns = dict(found.values)
    _winds(columns)
    if "humidity_pct" not in columns and {"temperature_c", "dew_point_c"} <= set(columns):
        columns["humidity_pct"] = _humidity(found, complaints)
    if found.rain is not None:
        columns["rain_mm"] = _rain_by_hour(found, found.rain, complaints)
    for name in ("humidity_pct", "cloud_pct"):
        if name in columns:
            columns[name] = _not_overfull(found, name, columns[name], complaints)
    return columns


_WORDS = {
    "temperature_c": "air temperature at 2 m",
    "humidity_pct": "humidity or dew point at 2 m",
    "wind_mps": "wind speed at 10 m",
    "wind_from_deg": "wind direction at 10 m",
}
_LACKS = "Take a file that holds 2 m temperature, 2 m humidity or dew point and 10 m wind."


def _hour(found: ModelColumns, row: int) -> str:
    return f"{datetime.fromtimestamp(float(found.time_s[row]), UTC):%Y-%m-%dT%H:%M:%SZ}"


def _winds(columns: dict[str, NDArray[np.float64]]) -> None:
    """Speed and the direction it comes from, of the components toward east and north."""
    if {"wind_east_mps", "wind_north_mps"} <= set(columns):
        east, north = columns["wind_east_mps"], columns["wind_north_mps"]
        columns["wind_mps"] = np.hypot(east, north)
        columns["wind_from_deg"] = np.degrees(np.arctan2(-east, -north)) % 360.0


def _humidity(found: ModelColumns, complaints: Complaints) -> NDArray[np.float64]:
    """Relative humidity [%] of temperature and dew point; NaN after a complaint."""
    out = np.full(len(found.time_s), np.nan)
    pairs = zip(found.values["temperature_c"], found.values["dew_point_c"], strict=True)
    for row, (temperature_c, dew_point_c) in enumerate(pairs):
        if np.isfinite([temperature_c, dew_point_c]).all():
            try:
                out[row] = relative_humidity_pct(float(temperature_c), float(dew_point_c))
            except OutsideRangeError as error:
                complaints.take(error.problems, row=row)
                return out
    return out


def _not_overfull(
    found: ModelColumns, name: str, values: NDArray[np.float64], complaints: Complaints
) -> NDArray[np.float64]:
    """Shares just above 100 % taken as 100 %, and said."""
    over = (values > 100.0) & (values <= 100.0 + _OVERFULL_PCT)
    if over[values > 100.0 + 1e-3].any():
        row = int(np.argmax(over))
        complaints.warning(
            f"{name} is above 100 % in {counted(int(over.sum()), 'hour')}: taken as 100 %.",
            "See whether the file is sound.",
            row=row, field=found.names.get(name, name), value=f"{values[row]:g}", limit="100 %",
        )  # fmt: skip
    return np.where(over, 100.0, values)


def _check(found: ModelColumns, name: str, values: NDArray[np.float64], complaints: Complaints) -> None:
    """Complain of hours without a needed value and of values that cannot be; the first of each."""
    span_name, per_unit = _COLUMNS[name]
    span, called = SPANS[span_name], found.names.get(name, name)
    lost, judged = np.isnan(values), values / per_unit
    if name in _NEEDED and lost.any():
        complaints.error(
            f"{called} has no value in {counted(int(lost.sum()), 'hour')}.",
            "Take a file that holds it at the fire in every hour.",
            row=int(np.argmax(lost)), field=called, value=_hour(found, int(np.argmax(lost))),
        )  # fmt: skip
    wrong = ~lost & ~((judged >= span.low) & (judged <= span.high))
    if wrong.any():
        row = int(np.argmax(wrong))
        complaints.error(
            f"{called} is {judged[row]:g} {span.unit} in {counted(int(wrong.sum()), 'hour')}, outside {span.text()}.",
            "See its units attribute and its values.",
            row=row, field=called, value=f"{judged[row]:g} {span.unit}", limit=span.text(),
        )  # fmt: skip


def _rain_by_hour(found: ModelColumns, rain: Intervals, complaints: Complaints) -> NDArray[np.float64]:
    """Rain [mm] from each time to the next: of hourly sums, or of sums that begin together.

    NaN where the file does not tell it, as in the hour after the last sum.
    """
    called = found.names.get("rain_mm", "rain_mm")
    sums = {
        (float(s), float(e)): float(a)
        for s, e, a in zip(rain.start_s, rain.end_s, rain.amount_mm, strict=True)
        if np.isfinite(a)
    }
    hourly: dict[float, float] = {}
    for (start, end), amount in sums.items():
        before = 0.0 if end - start == HOUR_S else sums.get((start, end - HOUR_S))
        if end > start and before is not None:
            fell = amount - before
            if fell < -_PACKING_MM:
                complaints.error(
                    "The rain summed since one start becomes less.", "See what interval each sum covers.",
                    field=called, value=f"{fell:g} mm", limit="0 mm",
                )  # fmt: skip
                break
            hourly[end - HOUR_S] = max(fell, 0.0)
    out = np.array([hourly.get(float(t), np.nan) for t in found.time_s])
    lost = int(np.isnan(out[:-1]).sum())
    if lost:
        complaints.warning(
            f"The rain of {counted(lost, 'hour')} cannot be told: no sum over that hour, or over two that differ by it.",
            "Take a file with hourly sums; rain there is unknown.",
            field=called, value=counted(lost, "hour"),
        )  # fmt: skip
    return out


def _warn_of_gusts(
    found: ModelColumns, columns: Mapping[str, NDArray[np.float64]], complaints: Complaints
) -> None:
    if "gust_mps" in columns:
        weaker = columns["gust_mps"] < columns["wind_mps"] - 0.05
        if weaker.any():
            row = int(np.argmax(weaker))
            complaints.warning(
                f"The gust is weaker than the mean wind in {counted(int(weaker.sum()), 'hour')}.",
                "See whether the names are swapped.", row=row, field=found.names.get("gust_mps", "gust_mps"),
                value=f"{columns['gust_mps'][row]:.1f} m/s", limit=f"{columns['wind_mps'][row]:.1f} m/s",
            )  # fmt: skip
