"""Weather as NetCDF and GRIB, written by independent writers (netCDF4, GDAL through rasterio)."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import netCDF4
import numpy as np
import rasterio

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

FIRST = datetime(2026, 8, 14, 12)  # noqa: DTZ001  both formats count in UTC
LONS, LATS = np.array([-32.0, -31.75, -31.5]), np.array([47.5, 47.25, 47.0, 46.75])
SERIES: dict[str, tuple[str, str, float, float | None]] = {
    "t2m": ("air_temperature", "K", 303.15, 2.0),
    "rh": ("relative_humidity", "%", 30.0, 2.0),
    "u10": ("eastward_wind", "m s-1", 3.0, 10.0),
    "v10": ("northward_wind", "m s-1", -4.0, 10.0),
}
"""Name, standard name, unit, value and height of the variables of a sound file."""


def write_netcdf(
    path: Path,
    *,
    grid: bool = True,
    hours: Sequence[float] = range(12),
    variables: Mapping[str, tuple[str, str, Any, float | None]] = SERIES,
    since: str = "hours since 2026-08-14 12:00:00",
    bounds: Sequence[tuple[float, float]] | None = None,
    place: tuple[Any, Any] = (-31.8, 47.2),
    lons: np.ndarray[Any, Any] = LONS,
    lats: np.ndarray[Any, Any] = LATS,
    form: Any = "NETCDF4",
    **attributes: str,
) -> None:
    """A file by the CF conventions; a value is a number, or an array over time (and the grid or the stations).

    Without a grid `place` is one, or the longitudes and latitudes of several stations.
    """
    with netCDF4.Dataset(str(path), "w", format=form) as ds:
        ds.createDimension("time", len(hours))
        time = ds.createVariable("time", "f8", ("time",))
        time.setncatts({"standard_name": "time", "units": since, **attributes})
        time[:] = np.array(hours)
        shape: tuple[str, ...] = ("time",)
        if bounds is not None:
            ds.createDimension("nv", 2)
            time.bounds = "time_bnds"
            ds.createVariable("time_bnds", "f8", ("time", "nv"))[:] = np.array(bounds)
        if grid:
            shape = ("time", "lat", "lon")
            for name, values, standard, unit in (
                ("lat", lats, "latitude", "degrees_north"),
                ("lon", lons, "longitude", "degrees_east"),
            ):
                ds.createDimension(name, len(values))
                axis = ds.createVariable(name, "f8", (name,))
                axis.setncatts({"standard_name": standard, "units": unit})
                axis[:] = values
        else:
            many = () if np.ndim(place[0]) == 0 else ("station",)
            shape += many
            for name in many:
                ds.createDimension(name, len(place[0]))
            for name, value, standard in (("lat", place[1], "latitude"), ("lon", place[0], "longitude")):
                axis = ds.createVariable(name, "f8", many)
                axis.setncatts({"standard_name": standard, "units": "degrees"})
                axis[...] = value
        for name, (standard, unit, values, height_m) in variables.items():
            variable = ds.createVariable(name, "f8", shape, fill_value=-9e9)
            near = [] if grid else ["lat", "lon"]
            if height_m is not None:
                at = f"height{height_m:g}"
                if at not in ds.variables:
                    axis = ds.createVariable(at, "f8", ())
                    axis.setncatts({"standard_name": "height", "units": "m"})
                    axis[...] = height_m
                near.append(at)
            variable.setncatts({"standard_name": standard, "units": unit, "coordinates": " ".join(near)})
            sizes = (len(hours), len(lats), len(lons)) if grid else (len(hours), *np.shape(place[0]))
            variable[...] = np.broadcast_to(np.asarray(values, float), sizes)


def moment(category: int, number: int, hour: int, surface: int, height: int) -> tuple[int, str]:
    """A field at a moment: GRIB2 product template 4.0."""
    return 0, f"{category} {number} 2 0 96 0 0 1 {hour} {surface} 0 {height} 255 0 0"


def over(category: int, number: int, start: int, end: int, statistic: int = 1) -> tuple[int, str]:
    """A sum at the ground from one forecast hour to another: GRIB2 product template 4.8."""
    e = FIRST + timedelta(hours=end)
    values = [category, number, 2, 0, 96, 0, 0, 1, start, 1, 0, 0, 255, 0, 0, e.year, e.month, e.day, e.hour,
              e.minute, e.second, 1, 0, statistic, 2, 1, end - start, 255, 0]  # fmt: skip
    return 8, " ".join(str(v) for v in values)


def sound_bands(hours: Sequence[int] = range(12)) -> list[tuple[tuple[int, str], Any]]:
    """2 m temperature [°C] and humidity, 10 m wind of each hour."""
    return [
        band
        for h in hours
        for band in (
            (moment(0, 0, h, 103, 2), 30.0),
            (moment(1, 1, h, 103, 2), 30.0),
            (moment(2, 2, h, 103, 10), 3.0),
            (moment(2, 3, h, 103, 10), -4.0),
        )
    ]


def write_grib(path: Path, bands: Sequence[tuple[tuple[int, str], Any]], *, crs: str = "EPSG:4326") -> None:
    """A GRIB2 file on the grid of `LONS` and `LATS`; a value is a number or an array [lat, lon]."""
    options: dict[str, str] = {}
    for k, ((template, numbers), _) in enumerate(bands, 1):
        options |= {
            f"BAND_{k}_DISCIPLINE": "0",
            f"BAND_{k}_IDS": f"CENTER=255 SUBCENTER=0 MASTER_TABLE=2 LOCAL_TABLE=0 SIGNF_REF_TIME=1 REF_TIME={FIRST:%Y-%m-%dT%H:%M:%SZ} PROD_STATUS=0 TYPE=1",
            f"BAND_{k}_PDS_PDTN": str(template),
            f"BAND_{k}_PDS_TEMPLATE_ASSEMBLED_VALUES": numbers,
            f"BAND_{k}_DATA_ENCODING": "IEEE_FLOATING_POINT",
        }
    step = 0.25 if crs == "EPSG:4326" else 2500.0
    corner = (LONS[0] - step / 2, LATS[0] + step / 2) if crs == "EPSG:4326" else (590_000.0, 5_230_000.0)
    with rasterio.open(path, "w", driver="GRIB", width=len(LONS), height=len(LATS), count=len(bands), dtype="float32",
                       crs=crs, transform=rasterio.Affine(step, 0, corner[0], 0, -step, corner[1]), **options) as ds:  # fmt: skip
        for k, (_, value) in enumerate(bands, 1):
            ds.write(np.broadcast_to(np.asarray(value, np.float32), (len(LATS), len(LONS))), k)
