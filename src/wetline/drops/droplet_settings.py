"""Settings of the droplet model, each with its range and source, from `drop/droplets`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from wetline.drops.planning import settings_of
from wetline.errors import OutsideRangeError

__all__ = ["DropletSettings", "droplet_settings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DropletSettings:
    """One value for each row of the table `drop/droplets`, which names range and source.

    Raises
    ------
    OutsideRangeError
        For a value outside the range of its row.
    """

    exit_speed_mps: float
    column_shape: float
    stripping_power: float
    spreading: float
    shelter: float
    entrainment: float
    curtain_turbulence: float
    wake_turbulence: float
    wake_reach_m: float
    wake_decay_s: float
    span_m: float
    tank_below_m: float
    line_m: float
    size_at_column: float
    largest_mm: float
    eddy_length_share: float
    eddy_intensity: float
    still_air_eddies_mps: float
    pressure_pa: float

    def __post_init__(self) -> None:
        for one in settings_of("drop/droplets").values():
            value = getattr(self, one.name)
            if not one.low <= value <= one.high:
                raise OutsideRangeError(
                    field=one.name, value=value, low=one.low, high=one.high, unit=one.unit
                )


@lru_cache(maxsize=1)
def droplet_settings() -> DropletSettings:
    """The shipped values."""
    return DropletSettings(**{name: one.value for name, one in settings_of("drop/droplets").items()})
