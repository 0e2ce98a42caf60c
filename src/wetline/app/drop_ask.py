"""What is asked of one load beside the release itself, checked before anything is reckoned."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NoReturn

from wetline.errors import InputError, OutsideRangeError, Problem

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["DropAsk", "heights_asked", "target_asked"]

_INTENSITY_MAX_KW_PER_M = 150_000.0
_HEIGHTS_MAX = 24
_SEED_MAX = 2**31 - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class DropAsk:
    """What a crew asks. `level`: coverage, US gal/100 ft², or `fuel` (a model number) that needs one.

    `target`: `LAT,LON`; `heights`: metres, separated by commas. `drop_tests`: a user's own table.
    """

    level: float | None = None
    fuel: int | None = None
    intensity_kw_per_m: float | None = None
    target: str | None = None
    heights: str | None = None
    method: Literal["planning", "droplets", "both"] = "planning"
    seed: int = 1
    picture: Path | None = None
    drop_tests: Path | None = None

    def check(self) -> None:
        """Say what cannot be asked.

        Raises
        ------
        InputError, OutsideRangeError
            For a level and a fuel at once, or a number outside its range.
        """
        if self.level is not None and self.fuel is not None:
            _refuse("level", f"{self.level:g}", "a level and a fuel are both given.", "Give one of them.")
        if self.level is not None and not 0.0 < self.level <= 20.0:
            raise OutsideRangeError(field="level", value=self.level, low=0, high=20, unit="", above_low=True)
        kw = self.intensity_kw_per_m
        if kw is not None and not 0.0 <= kw <= _INTENSITY_MAX_KW_PER_M:
            raise OutsideRangeError(
                field="intensity_kw_per_m", value=kw, low=0, high=_INTENSITY_MAX_KW_PER_M, unit="kW/m"
            )
        if not 0 <= self.seed <= _SEED_MAX:
            raise OutsideRangeError(field="seed", value=self.seed, low=0, high=_SEED_MAX, unit="")


def target_asked(text: str) -> tuple[float, float]:
    """Longitude and latitude [deg] of `LAT,LON`.

    Raises
    ------
    InputError
        For anything but two numbers, or a place that is not on the earth.
    """
    mend = "Give --target LAT,LON in decimal degrees, latitude first: --target 47.2,-31.8"
    parts = text.split(",")
    try:
        lat, lon = (float(part) for part in parts)
    except ValueError:
        _refuse("target", text, "this is no latitude and longitude.", mend)
    if not (math.isfinite(lat) and math.isfinite(lon)):
        _refuse("target", text, "this is no latitude and longitude.", mend)
    for field, value, most in (("target latitude", lat, 90.0), ("target longitude", lon, 180.0)):
        if abs(value) > most:
            raise OutsideRangeError(field=field, value=value, low=-most, high=most, unit="°")
    return lon, lat


def heights_asked(text: str) -> tuple[float, ...]:
    """Heights [m] of a list with commas.

    Raises
    ------
    InputError
        For anything but numbers, or more than 24; their range is that of a release.
    """
    try:
        heights = tuple(float(part) for part in text.split(","))
    except ValueError:
        _refuse(
            "heights", text, "these are no heights.", "Give metres, separated by commas: --heights 30,60,90"
        )
    if len(heights) > _HEIGHTS_MAX:
        message, mend = f"{len(heights)} heights are asked for.", f"Give at most {_HEIGHTS_MAX}."
        _refuse("heights", f"{len(heights)}", message, mend)
    return heights


def _refuse(field: str, value: str, message: str, mend: str) -> NoReturn:
    raise InputError.of([Problem(message=message, mend=mend, field=field, value=value)])
