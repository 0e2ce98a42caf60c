"""weather.nc and weather.grib give the same hours as a table would, or are refused."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import psychrolib
import pytest

from store.asking import the_error
from store.model_files import LATS, LONS, SERIES, moment, over, sound_bands, write_grib, write_netcdf
from wetline.store import read_incident
from wetline.store.problems import Complaints
from wetline.store.weather_file import read_weather

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.weather import Weather

psychrolib.SetUnitSystem(psychrolib.SI)

PLACE = (-31.8, 47.2)


def read(path: Path, place: tuple[float, float] | None = PLACE) -> tuple[Weather | None, Complaints]:
    notes = Complaints(path.name, "weather")
    return read_weather(path, notes, place=place), notes


def sound(path: Path, place: tuple[float, float] = PLACE) -> Weather:
    weather, notes = read(path, place)
    assert weather is not None, [p.sentence() for p in notes.found]
    return weather


def refusal(path: Path) -> Any:
    weather, notes = read(path)
    wrong = [p for p in notes.found if p.level == "error"]
    assert weather is None
    assert len(wrong) == 1, [p.sentence() for p in wrong]
    assert wrong[0].mend
    return wrong[0]


@pytest.fixture(params=["nc", "grib"])
def file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / f"weather.{request.param}"
    if request.param == "nc":
        write_netcdf(path)
    else:
        write_grib(path, sound_bands())
    return path


@pytest.mark.derived
def test_hours_of_a_grid(file: Path) -> None:
    """Wind toward east 3 and toward south 4 m/s: 5 m/s from atan2(-3, 4), by hand 323.13°."""
    weather = sound(file)
    assert weather.first == datetime(2026, 8, 14, 12, tzinfo=UTC)
    assert len(weather.time_s) == 12
    np.testing.assert_allclose(weather.temperature_c, 30.0, atol=1e-4)
    np.testing.assert_allclose(weather.humidity_pct, 30.0)
    np.testing.assert_allclose(weather.wind_mps, 5.0)
    np.testing.assert_allclose(weather.wind_from_deg, 323.1301, atol=1e-3)
    assert np.isnan(weather.gust_mps).all()
    assert np.isnan(weather.rain_mm).all()


@pytest.mark.behaviour
@pytest.mark.parametrize("name", ["weather.nc", "weather.grb", "weather.GRIB2"])
def test_an_incident_takes_either(folder: Path, name: str) -> None:
    (folder / "weather.csv").unlink()
    if name.endswith("nc"):
        write_netcdf(folder / name)
    else:
        write_grib(folder / name, sound_bands())
    incident = read_incident(folder)
    assert incident.weather is not None
    told = {p.field for p in incident.warnings if p.file == name}
    assert "place" in told
    turn = (323.1301 - incident.ground.grid.convergence_deg) % 360.0
    np.testing.assert_allclose(incident.weather.wind_from_deg, turn, atol=1e-3)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("east", "north", "from_deg"),
    [
        (0, -1, 0),
        (-1, -1, 45),
        (-1, 0, 90),
        (-1, 1, 135),
        (0, 1, 180),
        (1, 1, 225),
        (1, 0, 270),
        (1, -1, 315),
    ],
)
@pytest.mark.parametrize("ending", ["nc", "grib"])
def test_wind_comes_from_where_it_does_not_go(
    tmp_path: Path, ending: str, east: float, north: float, from_deg: float
) -> None:
    path = tmp_path / f"weather.{ending}"
    if ending == "nc":
        write_netcdf(path, variables=SERIES | {"u10": ("eastward_wind", "m s-1", east, 10.0),
                                               "v10": ("northward_wind", "m s-1", north, 10.0)})  # fmt: skip
    else:
        bands = [(moment(0, 0, 0, 103, 2), 30.0), (moment(1, 1, 0, 103, 2), 30.0),
                 (moment(2, 2, 0, 103, 10), east), (moment(2, 3, 0, 103, 10), north)]  # fmt: skip
        write_grib(path, bands)
    turned = (sound(path).wind_from_deg - from_deg + 180.0) % 360.0 - 180.0
    np.testing.assert_allclose(turned, 0.0, atol=1e-6)


@pytest.mark.derived
@pytest.mark.parametrize("ending", ["nc", "grib"])
@pytest.mark.parametrize("place", [PLACE, (-31.75, 47.25), (-31.5, 46.75), (-31.9, 46.8)])
def test_a_plane_is_taken_exactly_at_the_place(
    tmp_path: Path, ending: str, place: tuple[float, float]
) -> None:
    """Bilinear interpolation keeps a plane: 30 + 4 (lon + 32) − 6 (lat − 47)."""
    plane = 30.0 + 4.0 * (LONS[None, :] + 32.0) - 6.0 * (LATS[:, None] - 47.0)
    path = tmp_path / f"weather.{ending}"
    if ending == "nc":
        write_netcdf(path, variables=SERIES | {"t2m": ("air_temperature", "degC", plane, 2.0)})
    else:
        write_grib(path, [(moment(0, 0, 0, 103, 2), plane), *sound_bands([0])[1:]])
    expected = 30.0 + 4.0 * (place[0] + 32.0) - 6.0 * (place[1] - 47.0)
    np.testing.assert_allclose(sound(path, place).temperature_c, expected, atol=1e-4)


@pytest.mark.derived
def test_longitudes_from_0_to_360_and_round_the_earth(tmp_path: Path) -> None:
    lons = np.arange(0.0, 360.0, 30.0)
    around = 20.0 + 10.0 * np.cos(np.radians(lons))
    path = tmp_path / "weather.nc"
    write_netcdf(path, lons=lons, variables=SERIES | {"t2m": ("air_temperature", "degC", around, 2.0)})
    between = 20.0 + 10.0 * (np.cos(np.radians(330.0)) + 1.0) / 2
    np.testing.assert_allclose(sound(path, (-15.0, 47.1)).temperature_c, between)


@pytest.mark.derived
def test_directions_either_side_of_north_do_not_cancel(tmp_path: Path) -> None:
    """350° and 10° of equal speed: 0°, and cos 10° of the speed."""
    turn = np.where(LONS < -31.8, 350.0, 10.0)
    variables = {k: SERIES[k] for k in ("t2m", "rh")} | {
        "ws": ("wind_speed", "kt", 10.0, 10.0), "wd": ("wind_from_direction", "degree", turn, 10.0),
    }  # fmt: skip
    path = tmp_path / "weather.nc"
    write_netcdf(path, variables=variables)
    weather = sound(path, (-31.875, 47.2))
    np.testing.assert_allclose(np.sin(np.radians(weather.wind_from_deg)), 0.0, atol=1e-9)
    np.testing.assert_allclose(weather.wind_mps, 10.0 * 1852 / 3600 * np.cos(np.radians(10.0)))


@pytest.mark.derived
@pytest.mark.parametrize(
    ("temperature_c", "dew_point_c"), [(35.0, 5.0), (20.0, 18.0), (5.0, 1.0), (30.0, 30.0)]
)
@pytest.mark.parametrize("ending", ["nc", "grib"])
def test_humidity_of_a_dew_point(
    tmp_path: Path, ending: str, temperature_c: float, dew_point_c: float
) -> None:
    """Within 0.5 % of psychrolib (ASHRAE Handbook of Fundamentals 2017, ch. 1)."""
    expected = 100.0 * psychrolib.GetRelHumFromTDewPoint(temperature_c, dew_point_c)
    path = tmp_path / f"weather.{ending}"
    if ending == "nc":
        dry = {k: v for k, v in SERIES.items() if k != "rh"}
        write_netcdf(path, variables=dry | {"t2m": ("air_temperature", "degF", temperature_c * 1.8 + 32, 2.0),
                                            "d2m": ("dew_point_temperature", "K", dew_point_c + 273.15, 2.0)})  # fmt: skip
    else:
        write_grib(path, [(moment(0, 0, 0, 103, 2), temperature_c), (moment(0, 6, 0, 103, 2), dew_point_c),
                          *sound_bands([0])[2:]])  # fmt: skip
    np.testing.assert_allclose(sound(path).humidity_pct, expected, rtol=5e-3)


@pytest.mark.derived
@pytest.mark.parametrize("every", [1, 6, 12])
def test_rain_of_an_hour_stands_at_its_beginning(tmp_path: Path, every: int) -> None:
    """Hour k has k mm, whether told by the hour, since the start, or since every sixth hour."""
    path = tmp_path / "weather.grib"
    starts = [(h - 1) // every * every for h in range(1, 12)]
    fell = [(over(1, 8, start, h), float(sum(range(start, h)))) for h, start in enumerate(starts, 1)]
    write_grib(path, [*sound_bands(), *fell])
    np.testing.assert_allclose(sound(path).rain_mm, [*range(11), np.nan])


@pytest.mark.derived
@pytest.mark.parametrize(
    ("standard", "unit", "value", "mm"),
    [
        ("precipitation_amount", "kg m-2", 2.0, 2.0),
        ("lwe_thickness_of_precipitation_amount", "m", 0.003, 3.0),
        ("precipitation_flux", "kg m-2 s-1", 1.0 / 3600, 1.0),
        ("lwe_precipitation_rate", "m s-1", 0.004 / 3600, 4.0),
    ],
)
def test_sums_and_rates_of_a_netcdf(
    tmp_path: Path, standard: str, unit: str, value: float, mm: float
) -> None:
    path = tmp_path / "weather.nc"
    hours = [(h - 1.0, float(h)) for h in range(12)]
    write_netcdf(path, variables=SERIES | {"pr": (standard, unit, value, None)}, bounds=hours)
    np.testing.assert_allclose(sound(path).rain_mm, [mm] * 11 + [np.nan])


@pytest.mark.derived
def test_what_may_be_left_out_is_read_where_it_is_given(tmp_path: Path) -> None:
    more = {"g": ("wind_speed_of_gust", "km/h", 36.0, None), "c": ("cloud_area_fraction", "1", 0.25, None),
            "vis": ("visibility_in_air", "km", 20.0, None)}  # fmt: skip
    path, other = tmp_path / "weather.nc", tmp_path / "weather.grib"
    write_netcdf(path, variables=SERIES | more)
    write_grib(other, [*sound_bands([0]), (moment(2, 22, 0, 1, 0), 10.0), (moment(6, 1, 0, 10, 0), 25.0),
                       (moment(19, 0, 0, 1, 0), 20_000.0)])  # fmt: skip
    for weather in (sound(path), sound(other)):
        np.testing.assert_allclose(weather.gust_mps, 10.0)
        np.testing.assert_allclose(weather.cloud_pct, 25.0)
        np.testing.assert_allclose(weather.visibility_m, 20_000.0)


@pytest.mark.behaviour
def test_a_point_says_how_far_it_lies(tmp_path: Path) -> None:
    path = tmp_path / "weather.nc"
    write_netcdf(path, grid=False, place=(-31.8, 48.2))
    weather, notes = read(path)
    assert weather is not None
    (told,) = (p for p in notes.found if p.field == "place")
    assert "111 km" in told.message
    assert told.value == "[-31.8000, 48.2000]"


@pytest.mark.derived
@pytest.mark.parametrize(
    ("place", "lons"),
    [
        (PLACE, [328.0, 328.2, 328.4]),
        (PLACE, [-32.0, -31.8, -31.6]),
        ((179.99, 47.2), [179.0, -179.99, 170.0]),
        ((-179.99, 47.2), [-179.0, 179.99, 181.5]),
    ],
)
def test_the_nearest_station_is_read_however_longitudes_are_counted(
    tmp_path: Path, place: tuple[float, float], lons: list[float]
) -> None:
    """The second lies within 2 km by the length of a degree, the others beyond 10 km."""
    path = tmp_path / "weather.nc"
    air = ("air_temperature", "degC", [10.0, 20.0, 30.0], 2.0)
    write_netcdf(path, grid=False, place=(lons, [47.2] * 3), variables=SERIES | {"t2m": air})
    np.testing.assert_allclose(sound(path, place).temperature_c, 20.0)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("zone", "hour"),
    [("", 12), ("Z", 12), (" UTC", 12), (" +00:00", 12), (" +02:00", 10), ("-0330", 15), (" -01", 13)],
)
def test_times_count_from_their_zone(tmp_path: Path, zone: str, hour: int) -> None:
    """ISO 8601: an offset is what local time is ahead of UTC; 12:00 at -03:30 is 15:30 UTC."""
    path = tmp_path / "weather.nc"
    write_netcdf(path, since=f"hours since 2026-08-14 12:00:00{zone}")
    minute = 30 if zone.endswith("30") else 0
    assert sound(path).first == datetime(2026, 8, 14, hour, minute, tzinfo=UTC)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "when", ["12:00:00 CEST", "12:00 +2", "12:00 2:00", "12:00 UTC+2", "12:00 -9:30", "12"]
)
def test_a_zone_or_hour_that_might_be_dropped_is_refused(tmp_path: Path, when: str) -> None:
    path = tmp_path / "weather.nc"
    write_netcdf(path, since=f"hours since 2026-08-14 {when}")
    assert refusal(path).field == "time"


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"hours": [0, 3, 6]}, "time"),
        ({"hours": [0, 1, 3]}, "time"),
        ({"hours": [0, 1, 1]}, "time"),
        ({"hours": []}, None),
        ({"calendar": "360_day"}, None),
        ({"since": "1"}, "time"),
        ({"variables": {k: v for k, v in SERIES.items() if k != "t2m"}}, "standard_name"),
        ({"variables": {k: v for k, v in SERIES.items() if k != "rh"}}, "humidity_pct"),
        ({"variables": SERIES | {"t2m": ("air_temperature", "degC", 303.15, 2.0)}}, "t2m"),
        ({"variables": SERIES | {"t2m": ("air_temperature", "", 303.15, 2.0)}}, "t2m"),
        ({"variables": SERIES | {"t2m": ("air_temperature", "furlong", 303.15, 2.0)}}, "t2m"),
        ({"variables": SERIES | {"rh": ("relative_humidity", "1", 30.0, 2.0)}}, "rh"),
        ({"variables": SERIES | {"rh": ("relative_humidity", "%", np.nan, 2.0)}}, "rh"),
        ({"variables": SERIES | {"u100": ("eastward_wind", "m s-1", 3.0, 10.0)}}, "standard_name"),
        ({"variables": SERIES | {"pr": ("precipitation_amount", "mm", 1.0, None)}}, "pr"),
        ({"lons": np.array([10.0, 11.0])}, "longitude"),
        ({"lons": np.array([-31.0, -32.0])}, "longitude"),
    ],
)  # fmt: skip
def test_a_netcdf_that_would_mislead_is_refused(
    tmp_path: Path, change: dict[str, Any], field: str | None
) -> None:
    path = tmp_path / "weather.nc"
    write_netcdf(path, **change)
    _, notes = read(path)
    wrong = [p for p in notes.found if p.level == "error"]
    assert wrong
    assert wrong[0].field == field
    assert wrong[0].mend


@pytest.mark.behaviour
def test_wind_at_another_height_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "weather.nc"
    write_netcdf(path, variables=SERIES | {"u10": ("eastward_wind", "m s-1", 3.0, 100.0),
                                           "v10": ("northward_wind", "m s-1", 3.0, 100.0)})  # fmt: skip
    _, notes = read(path)
    assert {"u10", "v10"} <= {p.field for p in notes.found if p.level == "error"}


@pytest.mark.behaviour
def test_air_without_a_height_is_taken_and_told(tmp_path: Path) -> None:
    path = tmp_path / "weather.nc"
    write_netcdf(path, variables={k: (*v[:3], None) for k, v in SERIES.items()})
    weather, notes = read(path)
    assert weather is not None
    assert any("say no height" in p.message for p in notes.found)


@pytest.mark.behaviour
def test_three_hourly_grib_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "weather.grib"
    write_grib(path, sound_bands([0, 3]))
    problem = refusal(path)
    assert (problem.field, problem.limit) == ("time", "1 h")
    assert "gap of 3 h" in problem.message


@pytest.mark.behaviour
def test_winds_of_a_projected_grib_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "weather.grib"
    write_grib(path, sound_bands([0]), crs="EPSG:32625")
    assert refusal(path).field == "grid"


@pytest.mark.behaviour
def test_two_runs_in_one_grib_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "weather.grib"
    write_grib(path, [*sound_bands([0]), (moment(0, 0, 0, 103, 2), 20.0)])
    assert refusal(path).field == "TMP"


@pytest.mark.behaviour
def test_rain_that_cannot_be_told_by_the_hour_is_unknown(tmp_path: Path) -> None:
    path = tmp_path / "weather.grib"
    write_grib(path, [*sound_bands(range(7)), (over(1, 8, 0, 3), 3.0), (over(1, 8, 3, 6), 3.0)])
    weather, notes = read(path)
    assert weather is not None
    assert np.isnan(weather.rain_mm).all()
    assert any("rain of 6 hours" in p.message for p in notes.found)


@pytest.mark.behaviour
def test_rain_that_is_taken_back_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "weather.grib"
    write_grib(path, [*sound_bands(range(3)), (over(1, 8, 0, 1), 3.0), (over(1, 8, 0, 2), 1.0)])
    assert "less" in refusal(path).message


@pytest.mark.property
@pytest.mark.parametrize("share", [0.0, 0.01, 0.51, 0.9])
def test_a_file_cut_short_is_refused(file: Path, share: float, capfd: Any) -> None:
    capfd.readouterr()
    file.write_bytes(file.read_bytes()[: int(file.stat().st_size * share)])
    weather, notes = read(file)
    assert weather is None
    assert notes.blocked
    assert capfd.readouterr().err == ""


@pytest.mark.property
@pytest.mark.parametrize("form", ["NETCDF3_CLASSIC", "NETCDF3_64BIT_OFFSET"])
@pytest.mark.parametrize("share", [0.3, 0.5, 0.7, 0.9, 0.97])
def test_a_classic_file_cut_short_is_no_calm(tmp_path: Path, form: str, share: float) -> None:
    """The reading library gives zeros for what is not there."""
    path = tmp_path / "weather.nc"
    write_netcdf(path, form=form)
    np.testing.assert_allclose(sound(path).wind_mps, 5.0)
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    weather, notes = read(path)
    assert weather is None
    assert notes.blocked


@pytest.mark.behaviour
def test_a_classic_file_of_the_fifth_kind_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "weather.nc"
    write_netcdf(path, form="NETCDF3_64BIT_DATA")
    assert refusal(path).field == "format"


@pytest.mark.property
@pytest.mark.parametrize("name", ["weather.nc", "weather.grib"])
def test_noise_is_no_weather(folder: Path, name: str, capfd: Any) -> None:
    (folder / "weather.csv").unlink()
    capfd.readouterr()
    (folder / name).write_bytes(np.random.default_rng(3).bytes(3000))
    assert the_error(folder).file == name
    assert capfd.readouterr().err == ""
