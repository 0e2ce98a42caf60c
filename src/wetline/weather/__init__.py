"""Hourly weather, fine fuel moisture, sun and daylight, air."""

from wetline.weather.hourly import Hour, Weather

__all__ = ["Hour", "Weather"]
