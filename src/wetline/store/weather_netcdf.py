"""NetCDF weather by the CF conventions: found by standard name, in the units that the file gives."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wetline.store.weather_spot import Spot, far_remark, spot_in
from wetline.store.weather_steps import HOUR_S, Intervals, ModelColumns, weather_of
from wetline.store.weather_units import to_ours
from wetline.store.whole_file import is_whole_netcdf
from wetline.store.zip_file import why

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from wetline.store.problems import Complaints
    from wetline.store.weather_units import Kind
    from wetline.weather import Weather

__all__ = ["read_netcdf"]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A column of ours, the CF standard names that give it, and the heights [m] at which it counts."""

    column: str
    names: tuple[str, ...]
    kind: Kind
    heights_m: tuple[float, float] | None = None


_SCREEN_M = (1.25, 2.0)
"""Height of a screen: WMO-No. 8, ch. 2 (from memory)."""
_MAST_M = (10.0, 10.0)
_TEMPERATURE = _Wanted("temperature_c", ("air_temperature",), "temperature", _SCREEN_M)
_OTHERS = (
    _Wanted("humidity_pct", ("relative_humidity",), "share", _SCREEN_M),
    _Wanted("dew_point_c", ("dew_point_temperature",), "temperature", _SCREEN_M),
    _Wanted("wind_east_mps", ("eastward_wind",), "speed", _MAST_M),
    _Wanted("wind_north_mps", ("northward_wind",), "speed", _MAST_M),
    _Wanted("wind_mps", ("wind_speed",), "speed", _MAST_M),
    _Wanted("wind_from_deg", ("wind_from_direction",), "angle", _MAST_M),
    _Wanted("gust_mps", ("wind_speed_of_gust",), "speed"),
    _Wanted("cloud_pct", ("cloud_area_fraction",), "share"),
    _Wanted("visibility_m", ("visibility_in_air",), "length"),
)
_AMOUNT = _Wanted(
    "rain_mm", ("precipitation_amount", "rainfall_amount", "lwe_thickness_of_precipitation_amount"), "amount"
)
_RATE = _Wanted(
    "rain_mm", ("precipitation_flux", "rainfall_flux", "lwe_precipitation_rate", "rainfall_rate"), "rate"
)
_GROUND = ("surface_altitude",)
_SINCE = re.compile(
    r"\s*\w+ since \s*\d{4}-\d{1,2}-\d{1,2}"
    r"([T ]\s*\d{1,2}:\d{2}(:\d{1,2}(\.\d*)?)?)?"
    r"(\s*(Z|UTC|GMT|[+-]\d{2}(:?\d{2})?))?\s*",
    re.IGNORECASE,
)
"""Units of time whose hour and zone the library reads: it drops any other zone, and an hour alone, without a word."""


def read_netcdf(path: Path, place: tuple[float, float] | None, complaints: Complaints) -> Weather | None:
    """The hours of a file at the fire's middle (lon, lat [deg]), wind directions true; None after a complaint."""
    import netCDF4  # noqa: PLC0415  heavy, and a table does without

    try:
        if not is_whole_netcdf(path, complaints):
            return None
        with netCDF4.Dataset(str(path)) as dataset:
            found = _File(dataset, place, complaints).columns()
    except (
        OSError,
        RuntimeError,
        ValueError,
        KeyError,
        IndexError,
        TypeError,
        OverflowError,
        MemoryError,
    ) as error:
        complaints.error(
            f"The file cannot be read as NetCDF: {why(error)}.",
            "It is cut, damaged or of another format: take a whole copy, or give weather.csv.",
        )
        return None
    return None if found is None else weather_of(found, complaints)


class _File:
    """One open file, the time axis and the place in it that its temperature lies on."""

    def __init__(self, dataset: Any, place: tuple[float, float] | None, complaints: Complaints) -> None:  # noqa: ANN401  the library is untyped
        self._ds = dataset
        self._place = place
        self._complaints = complaints
        self._names: dict[str, str] = {}
        self._no_height: list[str] = []
        self._time: Any = None
        self._time_s = np.zeros(0)
        self._flat: dict[str, Spot | int] = {}

    def columns(self) -> ModelColumns | None:
        """Every column that the file gives; None after a complaint."""
        first = self._find(_TEMPERATURE)
        if first is None:
            self._complain_of_names()
            return None
        if not (self._read_time(first) and self._read_place(first)):
            return None
        found = {}
        for wanted in (_TEMPERATURE, *_OTHERS):
            variable = self._find(wanted)
            values = None if variable is None else self._values(variable, wanted)
            if values is not None:
                found[wanted.column] = values
        if self._no_height:
            self._complaints.warning(
                f"{', '.join(self._no_height)} say no height: taken as 2 m for air and 10 m for wind.",
                "Add a height coordinate (standard_name height) to each.", field=self._no_height[0],
            )  # fmt: skip
        self._mean_winds(found)
        reduced = {name: self._at_place(values) for name, values in found.items()}
        rain = self._rain()
        return ModelColumns(self._time_s, reduced | rain[1], self._names, rain[0], self._ground_m())

    def _complain_of_names(self) -> None:
        named = sorted({n for v in self._ds.variables.values() if (n := getattr(v, "standard_name", ""))})
        self._complaints.error(
            "No variable has the standard name air_temperature.",
            "Name the variables by the CF conventions: air_temperature, relative_humidity, eastward_wind and so on.",
            field="standard_name", value=", ".join(named) or "none", limit="air_temperature",
        )  # fmt: skip

    def _find(self, wanted: _Wanted) -> Any:  # noqa: ANN401  the library is untyped
        """The one variable of a standard name at the right height; None if there is none."""
        named = [v for v in self._ds.variables.values() if getattr(v, "standard_name", None) in wanted.names]
        fit = [v for v in named if wanted.heights_m is None or self._fits(v, wanted.heights_m)]
        if len(fit) > 1:
            self._complaints.error(
                f"{len(fit)} variables are called {wanted.names[0]}.", "Keep the one that counts.",
                field="standard_name", value=", ".join(v.name for v in fit), limit="1",
            )  # fmt: skip
        elif named and not fit:
            self._complaints.error(
                f"{named[0].name} stands at no height that counts.", "Give air at 2 m and wind at 10 m.",
                field=named[0].name, limit="{:g} to {:g} m".format(*(wanted.heights_m or (0, 0))),
            )  # fmt: skip
        if len(fit) != 1:
            return None
        self._names[wanted.column] = fit[0].name
        return fit[0]

    def _fits(self, variable: Any, heights_m: tuple[float, float]) -> bool:  # noqa: ANN401  the same
        heights = self._heights_m(variable)
        return heights is None or bool(_within(heights, heights_m).any())

    def _heights_m(self, variable: Any) -> NDArray[np.float64] | None:  # noqa: ANN401  the same
        """The heights [m] that a variable stands at; None if it says none."""
        for name in (*variable.dimensions, *str(getattr(variable, "coordinates", "")).split()):
            axis = self._ds.variables.get(name)
            if axis is not None and getattr(axis, "standard_name", "") == "height":
                unit = to_ours("length", getattr(axis, "units", None), name, self._complaints)
                return None if unit is None else np.atleast_1d(_plain(axis[:])) * unit[0]
        return None

    def _read_time(self, variable: Any) -> bool:  # noqa: ANN401  the same
        """The time axis; False after a complaint."""
        import netCDF4  # noqa: PLC0415  loaded by now

        for name in variable.dimensions:
            axis = self._ds.variables.get(name)
            if axis is not None and " since " in str(getattr(axis, "units", "")):
                self._time = axis
        if self._time is None:
            self._complaints.error(
                f"{variable.name} has no time axis.", 'Give its time coordinate units such as "hours since ...".',
                field="time",
            )  # fmt: skip
            return False
        if _SINCE.fullmatch(str(self._time.units)) is None:
            self._complaints.error(
                "The day, hour or zone from which times count cannot be read for certain.",
                "Write the units of time as `hours since 2026-08-14 12:00:00 +00:00`.",
                field="time", value=str(self._time.units),
            )  # fmt: skip
            return False
        self._time_s = self._seconds(_plain(self._time[:]), netCDF4)
        return True

    def _seconds(self, values: NDArray[np.float64], library: Any) -> NDArray[np.float64]:  # noqa: ANN401  the same
        """Seconds since 1970 UTC: CF takes a time without a zone as UTC (CF 1.11, 4.4)."""
        calendar = getattr(self._time, "calendar", "standard")
        times = library.num2date(values, self._time.units, calendar, only_use_cftime_datetimes=False,
                                 only_use_python_datetimes=True)  # fmt: skip
        stamps = np.array(times, "datetime64[us]").astype(np.int64) / 1e6
        return np.asarray(np.round(stamps), np.float64)

    def _read_place(self, variable: Any) -> bool:  # noqa: ANN401  the same
        """Where on the variable's other axes the fire lies; False after a complaint."""
        lons, lats = self._coordinate(variable, "longitude"), self._coordinate(variable, "latitude")
        if lons is None or lats is None:
            self._complaints.warning(
                "The file does not say where its weather holds.", "Add longitude and latitude.", field="place"
            )
            return True
        axes = (lons.dimensions, lats.dimensions)
        lon, lat = _plain(lons[:]), _plain(lats[:])
        if axes == ((), ()) or (axes[0] == axes[1] and len(axes[0]) == 1) or lon.size == lat.size == 1:
            return self._read_stations(axes, np.atleast_1d(lon).ravel(), np.atleast_1d(lat).ravel())
        if axes[0] == axes[1] or any(len(a) != 1 for a in axes):
            self._complaints.error(
                "The grid is not one of rows of equal latitude.",
                "Bring it to a grid of longitudes and latitudes, or give weather.csv for the fire.",
                field=lons.name, value=f"{lons.ndim} dimensions", limit="1",
            )  # fmt: skip
            return False
        if self._place is None:
            return self._nowhere()
        spot = spot_in(lon, lat, self._place, self._complaints)
        if spot is not None:
            self._flat = {axes[1][0]: spot, axes[0][0]: spot}
        return spot is not None

    def _read_stations(
        self, axes: tuple[Any, Any], lon: NDArray[np.float64], lat: NDArray[np.float64]
    ) -> bool:
        if len(lon) > 1 and self._place is None:
            return self._nowhere()
        nearest = 0
        if self._place is not None and len(lon) > 1:
            turn = (lon - self._place[0] + 180.0) % 360.0 - 180.0
            apart = np.hypot(turn * np.cos(np.radians(self._place[1])), lat - self._place[1])
            nearest = int(np.nanargmin(apart))
        far_remark(float(lon[nearest]), float(lat[nearest]), self._place, self._complaints)
        self._flat = {name: nearest for axis in axes for name in axis}
        return True

    def _nowhere(self) -> bool:
        self._complaints.warning(
            "The weather is not placed: the fire's own place is not known.",
            "Mend the fire's file first.",
            field="place",
        )
        return False

    def _coordinate(self, variable: Any, standard_name: str) -> Any:  # noqa: ANN401  the same
        """The coordinate of a variable that is its longitude or latitude, by name or by unit."""
        unit = "degrees_east" if standard_name == "longitude" else "degrees_north"
        names = (*variable.dimensions, *str(getattr(variable, "coordinates", "")).split(), standard_name)
        for name in names:
            axis = self._ds.variables.get(name)
            if axis is not None and (
                getattr(axis, "standard_name", "") == standard_name or getattr(axis, "units", "") == unit
            ):
                return axis
        return None

    def _values(self, variable: Any, wanted: _Wanted) -> NDArray[np.float64] | None:  # noqa: ANN401  the same
        """Values [time, points round the place] in our unit; None after a complaint."""
        unit = to_ours(wanted.kind, getattr(variable, "units", None), variable.name, self._complaints)
        if unit is None or self._time.dimensions[0] not in variable.dimensions:
            if unit is not None:
                self._complaints.error(
                    f"{variable.name} lies on another time axis.",
                    "Give every variable on one.",
                    field=variable.name,
                )
            return None
        if wanted.heights_m is not None and self._heights_m(variable) is None:
            self._no_height.append(variable.name)
        steps = []
        corners = list(self._corners())
        for corner in corners:
            index = self._index(variable, wanted, corner)
            if index is None:
                return None
            steps.append(_plain(variable[index]))
        return np.stack(steps, axis=-1) * unit[0] + unit[1]

    def _corners(self) -> Iterator[dict[str, int]]:
        """Positions on the axes of the place: one, or four round it, row by row."""
        spots = [(name, at) for name, at in self._flat.items() if isinstance(at, Spot)]
        if not spots:
            yield {name: at for name, at in self._flat.items() if isinstance(at, int)}
            return
        (down, spot), (across, _) = spots
        for row in spot.rows:
            for col in spot.cols:
                yield {down: row, across: col}

    def _index(self, variable: Any, wanted: _Wanted, corner: dict[str, int]) -> tuple[Any, ...] | None:  # noqa: ANN401  the same
        """Where to read a variable for one point: all its times, one place on each other axis."""
        index: list[Any] = []
        for name, size in zip(variable.dimensions, variable.shape, strict=True):
            axis = self._ds.variables.get(name)
            if name == self._time.dimensions[0]:
                index.append(slice(None))
            elif name in corner:
                index.append(corner[name])
            elif wanted.heights_m and axis is not None and getattr(axis, "standard_name", "") == "height":
                index.append(int(np.argmax(_within(self._heights_m(variable), wanted.heights_m))))
            elif size == 1:
                index.append(0)
            else:
                self._complaints.error(
                    f"{variable.name} has {size} values along {name}: which counts is not known.",
                    "Keep one, at the ground.", field=variable.name, value=f"{name} of {size}", limit="1",
                )  # fmt: skip
                return None
        return tuple(index)

    def _at_place(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        spot = next((at for at in self._flat.values() if isinstance(at, Spot)), None)
        return values[:, 0] if spot is None else spot.mean(values)

    def _mean_winds(self, found: dict[str, NDArray[np.float64]]) -> None:
        """Speeds with directions as components, so that a mean of 350° and 10° is 0°, not 180°."""
        speed, turn = found.get("wind_mps"), found.get("wind_from_deg")
        if speed is None or turn is None or speed.shape[1] == 1 or "wind_east_mps" in found:
            return
        found["wind_east_mps"] = -speed * np.sin(np.radians(turn))
        found["wind_north_mps"] = -speed * np.cos(np.radians(turn))
        del found["wind_mps"], found["wind_from_deg"]

    def _rain(self) -> tuple[Intervals | None, dict[str, NDArray[np.float64]]]:
        """Sums with their intervals, or a rate that holds from each time to the next."""
        rate = self._find(_RATE)
        if rate is not None:
            values = self._values(rate, _RATE)
            bounds = self._bounds()
            if values is None:
                return None, {}
            mm_per_h = self._at_place(values)
            if bounds is None:
                return None, {"rain_mm": mm_per_h}
            return Intervals(*bounds, mm_per_h * (bounds[1] - bounds[0]) / HOUR_S), {}
        amount = self._find(_AMOUNT)
        values = None if amount is None else self._values(amount, _AMOUNT)
        if amount is None or values is None:
            return None, {}
        bounds = self._bounds()
        if bounds is None:
            self._complaints.error(
                f"{amount.name} does not say over what time each sum runs.",
                "Add the bounds of the time axis (CF, 7.1), or take the variable out: rain is then unknown.",
                field=amount.name,
            )  # fmt: skip
            return None, {}
        return Intervals(*bounds, self._at_place(values)), {}

    def _bounds(self) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        import netCDF4  # noqa: PLC0415  loaded by now

        edges = self._ds.variables.get(getattr(self._time, "bounds", ""))
        if edges is None or edges.ndim != 2 or edges.shape[1] != 2:
            return None
        values = _plain(edges[:])
        return self._seconds(values[:, 0], netCDF4), self._seconds(values[:, 1], netCDF4)

    def _ground_m(self) -> float | None:
        """Height [m] of the model's ground or of the station, where the file gives it."""
        named = [v for v in self._ds.variables.values() if getattr(v, "standard_name", None) in _GROUND]
        if len(named) != 1:
            return None
        unit = to_ours("length", getattr(named[0], "units", None), named[0].name, self._complaints)
        others = set(named[0].dimensions) - set(self._flat)
        if unit is None or any(self._ds.dimensions[name].size != 1 for name in others):
            return None
        points = [
            _plain(named[0][tuple(corner.get(name, 0) for name in named[0].dimensions)])
            for corner in self._corners()
        ]
        height_m = float(self._at_place(np.array([points], np.float64))[0]) * unit[0]
        return height_m if np.isfinite(height_m) else None


def _within(heights_m: NDArray[np.float64] | None, span_m: tuple[float, float]) -> NDArray[np.bool_]:
    at = np.zeros(0) if heights_m is None else heights_m
    return (at >= span_m[0] - 1e-6) & (at <= span_m[1] + 1e-6)


def _plain(values: Any) -> NDArray[np.float64]:  # noqa: ANN401  the library is untyped
    """Numbers as float64, NaN where masked."""
    return np.ma.filled(np.ma.asarray(values, np.float64), np.nan)
