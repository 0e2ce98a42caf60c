"""The weather of an incident, read by what its file's ending says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.store.files import check_size
from wetline.store.weather_csv import read_table

if TYPE_CHECKING:
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from wetline.store.problems import Complaints
    from wetline.weather import Weather

__all__ = ["read_weather"]


def read_weather(
    path: Path,
    complaints: Complaints,
    *,
    zone: ZoneInfo | None = None,
    place: tuple[float, float] | None = None,
) -> Weather | None:
    """The hours of a file, wind directions true; None if any of them is wrong.

    `place`: the fire's middle (lon, lat [deg]), where a grid is read; None where it is not known.
    """
    ending = path.suffix.lower()
    if ending not in {".nc", ".grib", ".grib2", ".grb", ".grb2"}:
        return read_table(path, complaints, zone=zone)
    if not path.is_file() or path.stat().st_size == 0:
        complaints.error("The file is empty or no file.", "Take a whole copy from where it came.")
        return None
    if not check_size(path.stat().st_size, complaints):
        return None
    if ending == ".nc":
        from wetline.store.weather_netcdf import read_netcdf  # noqa: PLC0415  only where it is asked for

        return read_netcdf(path, place, complaints)
    from wetline.store.weather_grib import read_grib  # noqa: PLC0415  the same

    return read_grib(path, place, complaints)
