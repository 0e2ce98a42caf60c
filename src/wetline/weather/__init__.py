"""Hourly weather, fine fuel moisture, sun and daylight, air."""

from wetline.weather import fwi
from wetline.weather.air import (
    air_density_kg_per_m3,
    density_altitude_at,
    density_altitude_m,
    density_ratio,
    relative_humidity_pct,
    standard_pressure_pa,
)
from wetline.weather.equilibrium import (
    EquilibriumMoisture,
    equilibrium_moisture,
    equilibrium_moisture_simard_1968,
)
from wetline.weather.fwi import START_UP, Codes, NoonWeather, advance_day
from wetline.weather.fwi_days import CodesAt, DatedCodes, codes_through
from wetline.weather.fwi_season import overwintered_dc, season_start
from wetline.weather.horizon import Skyline, TerrainLight, skyline, terrain_light
from wetline.weather.hourly import Hour, Weather
from wetline.weather.mass_consistent import wind_over_terrain
from wetline.weather.moisture import (
    DeadChoice,
    DeadMoisture,
    LiveMoisture,
    Site,
    classes_from_one_hour_pct,
    corrections_pct,
    dead_moisture,
    from_one_hour_pct,
    live_moisture,
    reference_moisture_pct,
    site_index,
)
from wetline.weather.sun import Daylight, daylight, daylight_around, sun_position
from wetline.weather.terrain_wind import TerrainWind

__all__ = [
    "START_UP",
    "Codes",
    "CodesAt",
    "DatedCodes",
    "Daylight",
    "DeadChoice",
    "DeadMoisture",
    "EquilibriumMoisture",
    "Hour",
    "LiveMoisture",
    "NoonWeather",
    "Site",
    "Skyline",
    "TerrainLight",
    "TerrainWind",
    "Weather",
    "advance_day",
    "air_density_kg_per_m3",
    "classes_from_one_hour_pct",
    "codes_through",
    "corrections_pct",
    "daylight",
    "daylight_around",
    "dead_moisture",
    "density_altitude_at",
    "density_altitude_m",
    "density_ratio",
    "equilibrium_moisture",
    "equilibrium_moisture_simard_1968",
    "from_one_hour_pct",
    "fwi",
    "live_moisture",
    "overwintered_dc",
    "reference_moisture_pct",
    "relative_humidity_pct",
    "season_start",
    "site_index",
    "skyline",
    "standard_pressure_pa",
    "sun_position",
    "terrain_light",
    "wind_over_terrain",
]
