"""GRIB weather: 2 m air, 10 m wind, rain, gust, cloud and sight, from a grid of longitudes and latitudes."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pyproj

from wetline.store.raster_file import FAILURES
from wetline.store.weather_spot import Spot, spot_in
from wetline.store.weather_steps import HOUR_S, Intervals, ModelColumns, weather_of
from wetline.store.weather_units import to_ours

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.store.problems import Complaints
    from wetline.store.weather_units import Kind
    from wetline.weather import Weather

__all__ = ["read_grib"]

_SCREEN, _MAST, _GROUND = ("2-HTGL",), ("10-HTGL",), ("0-SFC",)
_WANTED: dict[str, tuple[str, tuple[str, ...], Kind]] = {
    "TMP": ("temperature_c", _SCREEN, "temperature"),
    "DPT": ("dew_point_c", _SCREEN, "temperature"),
    "RH": ("humidity_pct", _SCREEN, "share"),
    "UGRD": ("wind_east_mps", _MAST, "speed"),
    "VGRD": ("wind_north_mps", _MAST, "speed"),
    "GUST": ("gust_mps", (*_GROUND, *_MAST), "speed"),
    "TCDC": ("cloud_pct", ("0-EATM", *_GROUND), "share"),
    "VIS": ("visibility_m", _GROUND, "length"),
    "APCP": ("rain_mm", _GROUND, "amount"),
    "PRATE": ("rain_rate_mm_per_h", _GROUND, "rate"),
}
"""Column, levels in order of preference and kind of unit by element (WMO-No. 306, GRIB2 tables 4.2 and 4.5)."""
_SPAN_S = {0: 60.0, 1: HOUR_S, 13: 1.0}
"""Seconds of a unit of time: WMO-No. 306, GRIB2 code table 4.4."""
_INSTANT, _OVER_TIME = "0", "8"
"""Product templates at a moment and over an interval: WMO-No. 306, GRIB2 templates 4.0 and 4.8."""


@dataclass(slots=True)
class _Column:
    """Values of one element and level by time [s]: at a moment, or over an interval that begins there."""

    at: dict[float, float] = field(default_factory=dict)
    over: dict[tuple[float, float], float] = field(default_factory=dict)


def read_grib(path: Path, place: tuple[float, float] | None, complaints: Complaints) -> Weather | None:
    """The hours of a file at the fire's middle (lon, lat [deg]), wind directions true; None after a complaint."""
    import rasterio  # noqa: PLC0415  heavy

    try:
        if not _is_whole(path, complaints):
            return None
        with rasterio.open(path, driver="GRIB") as dataset:
            found = _columns(dataset, place, complaints)
    except FAILURES as error:
        reason = (str(error).splitlines() or [type(error).__name__])[0].replace(str(path), path.name)
        complaints.error(
            f"The file cannot be read as GRIB: {reason.rstrip('.')}.",
            "It is cut, damaged or of another format: take a whole copy, or give weather.csv.",
        )
        return None
    return None if found is None else weather_of(found, complaints)


def _is_whole(path: Path, complaints: Complaints) -> bool:
    """Whether the last message ends in the file: the library leaves out one that was cut, without a word.

    WMO-No. 306, section 0: length in octets 5 to 7 of the first edition, 9 to 16 of the second.
    """
    size, at = path.stat().st_size, 0
    with path.open("rb") as stream:
        while at < size:
            stream.seek(at)
            head = stream.read(16)
            if not head.startswith(b"GRIB"):
                break
            length = int.from_bytes(head[4:7] if head[7:8] == b"\x01" else head[8:16], "big")
            stream.seek(max(at + length - 4, 0))
            if len(head) < 16 or length < 16 or stream.read(4) != b"7777":
                complaints.error(
                    "A message of the file is cut short or damaged.", "Take a whole copy from where it came.",
                    field="message", value=f"byte {at}",
                )  # fmt: skip
                return False
            at += length
    return True


def _columns(ds: Any, place: tuple[float, float] | None, complaints: Complaints) -> ModelColumns | None:  # noqa: ANN401  the library is untyped
    if not _sound_grid(ds, complaints):
        return None
    if place is None:
        complaints.warning(
            "The weather is not placed: the fire's own place is not known.",
            "Mend the fire's file first.",
            field="place",
        )
        return None
    t = ds.transform
    spot = spot_in(
        t.c + t.a * (np.arange(ds.width) + 0.5), t.f + t.e * (np.arange(ds.height) + 0.5), place, complaints
    )
    if spot is None:
        return None
    before = len([p for p in complaints.found if p.level == "error"])
    columns = _read_bands(ds, spot, complaints)
    if len([p for p in complaints.found if p.level == "error"]) > before:
        return None
    hours = sorted(
        {time for name, column in columns.items() if name == "temperature_c" for time in column.at}
    )
    values = {
        name: np.array([column.at.get(time, np.nan) for time in hours])
        for name, column in columns.items()
        if column.at and name != "rain_mm"
    }
    if "rain_rate_mm_per_h" in values:
        values["rain_mm"] = values.pop("rain_rate_mm_per_h")
    fell = columns["rain_mm"].over if "rain_mm" in columns else {}
    rain = None
    if fell:
        ends = np.array(list(fell), np.float64)
        rain = Intervals(ends[:, 0], ends[:, 1], np.array(list(fell.values())))
    return ModelColumns(np.array(hours, np.float64), values, rain=rain)


def _sound_grid(ds: Any, complaints: Complaints) -> bool:  # noqa: ANN401  the library is untyped
    """Whether rows and columns are latitudes and longitudes, so that u and v are true."""
    crs = None if ds.crs is None else pyproj.CRS.from_wkt(ds.crs.to_wkt())
    t = ds.transform
    if crs is not None and crs.is_geographic and not crs.is_derived and t.b == 0 and t.d == 0:
        return True
    complaints.error(
        "The grid is projected or rotated: whether its winds follow it or true north is not certain.",
        "Bring it to longitudes and latitudes with true winds, or give weather.csv for the fire.",
        field="grid", value="no coordinate system" if crs is None else crs.name,
    )  # fmt: skip
    return False


def _read_bands(ds: Any, spot: Spot, complaints: Complaints) -> dict[str, _Column]:  # noqa: ANN401  the library is untyped
    """Every wanted value at the place, of the best level that has any."""
    found: dict[tuple[str, str], _Column] = defaultdict(_Column)
    unread: dict[str, int] = {}
    for band in range(1, ds.count + 1):
        tags = ds.tags(band)
        element = re.sub(r"\d+$", "", tags.get("GRIB_ELEMENT", ""))
        level = tags.get("GRIB_SHORT_NAME", "")
        if element not in _WANTED or level not in _WANTED[element][1]:
            continue
        name, _, kind = _WANTED[element]
        unit = to_ours(kind, tags.get("GRIB_UNIT"), element, complaints)
        if unit is None:
            return {}
        value = _value(ds, band, spot) * unit[0] + unit[1]
        column, when = found[name, level], _when(tags)
        if when is None or (name != "rain_mm" and when[1] - when[0] not in {0.0, HOUR_S}):
            unread[element] = unread.get(element, 0) + 1
            continue
        place = column.over if name == "rain_mm" else column.at
        key: Any = when if name == "rain_mm" else when[0]
        if key in place and place[key] != value:
            complaints.error(
                f"{element} stands twice for one time.", "Keep one run and one member of the model.",
                field=element, value=f"{datetime.fromtimestamp(when[0], UTC):%Y-%m-%dT%H:%MZ}",
            )  # fmt: skip
            return {}
        place[key] = value
    for element, count in unread.items():
        complaints.warning(
            f"{count} fields of {element} are not read: they hold for no moment and no hour that can be told.",
            "Take hourly fields; what is not read is unknown.", field=element, value=str(count),
        )  # fmt: skip
    best: dict[str, _Column] = {}
    for name, levels, _ in _WANTED.values():
        for level in reversed(levels):
            column = found.get((name, level), _Column())
            if column.at or column.over:
                best[name] = column
    return best


def _value(ds: Any, band: int, spot: Spot) -> float:  # noqa: ANN401  the library is untyped
    """The bilinear value of a band at the place; NaN where a point has none."""
    from rasterio.windows import Window  # noqa: PLC0415  loaded by now

    points = [
        np.ma.filled(
            np.ma.asarray(ds.read(band, window=Window(col, row, 1, 1), masked=True), np.float64), np.nan
        )
        for row in spot.rows
        for col in spot.cols
    ]
    return float(spot.mean(np.concatenate([p.ravel() for p in points])))


def _when(tags: dict[str, str]) -> tuple[float, float] | None:
    """From when to when [s since 1970 UTC] a field holds, alike for a moment; None where not told.

    The first edition of the format says no template: its sums are then not read.
    """
    match = re.match(r"\s*(-?\d+)", tags.get("GRIB_VALID_TIME", ""))
    if match is None:
        return None
    end = float(match[1])
    template = tags.get("GRIB_PDS_PDTN")
    if template == _INSTANT or (template is None and not tags.get("GRIB_ELEMENT", "").startswith("APCP")):
        return end, end
    numbers = [int(v) for v in tags.get("GRIB_PDS_TEMPLATE_ASSEMBLED_VALUES", "").split()]
    if template != _OVER_TIME or len(numbers) < 27 or numbers[21] != 1 or numbers[25] not in _SPAN_S:
        return None
    year, month, day, hour, minute, second = numbers[15:21]
    ends_at = datetime(year, month, day, hour, minute, second, tzinfo=UTC).timestamp()
    return ends_at - numbers[26] * _SPAN_S[numbers[25]], ends_at
