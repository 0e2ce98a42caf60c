"""Positions as people write them: decimal degrees, degrees and decimal minutes, UTM, MGRS.

Datum WGS 84 throughout. Aviation reads degrees and decimal minutes (DDM); crews on the ground read
UTM or MGRS.
"""

from __future__ import annotations

from functools import lru_cache

import mgrs as _mgrs

from wetline.grid.projection import utm_projection

__all__ = ["ddm", "decimal_degrees", "mgrs", "utm"]

_BANDS = "CDEFGHJKLMNPQRSTUVWX"


def decimal_degrees(lon: float, lat: float) -> str:
    """`47.19843, -31.81002`: latitude first, five decimals (about 1 m)."""
    return f"{lat:.5f}, {lon:.5f}"


def _ddm_part(value: float, positive: str, negative: str, width: int) -> str:
    minutes = round(abs(value) * 60, 3)
    degrees, minutes = divmod(minutes, 60)
    return f"{positive if value >= 0 else negative} {int(degrees):0{width}d}° {minutes:06.3f}'"


def ddm(lon: float, lat: float) -> str:
    """`N 47° 11.906'  W 031° 48.601'`: degrees and decimal minutes, three decimals (about 2 m)."""
    return f"{_ddm_part(lat, 'N', 'S', 2)}  {_ddm_part(lon, 'E', 'W', 3)}"


def utm(lon: float, lat: float) -> str:
    """`25T 590133 5227902`: zone and band, easting and northing to the metre below.

    Raises
    ------
    ValueError
        If the latitude lies outside UTM (80° S to 84° N).
    """
    projection = utm_projection(lon, lat)
    x, y = projection.from_lonlat(lon, lat)
    band = _BANDS[min(int((lat + 80) // 8), 19)]
    return f"{int(projection.code[-2:])}{band} {int(x):06d} {int(y):07d}"


@lru_cache(maxsize=1)
def _converter() -> _mgrs.MGRS:
    return _mgrs.MGRS()


def mgrs(lon: float, lat: float) -> str:
    """`25T EN 90133 27902`: military grid reference to the metre, in groups."""
    text = _converter().toMGRS(lat, lon, MGRSPrecision=5)
    if text[0].isalpha():  # polar squares carry no zone number
        return f"{text[0]} {text[1:3]} {text[3:8]} {text[8:]}"
    zone = text[: text.index(next(c for c in text if c.isalpha()))]
    rest = text[len(zone) :]
    return f"{int(zone)}{rest[0]} {rest[1:3]} {rest[3:8]} {rest[8:]}"
