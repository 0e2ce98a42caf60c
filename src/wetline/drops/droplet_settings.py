"""Settings of the droplet model, each with its range and source, from `drop/droplets`."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache

from wetline import tables
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
        for row in tables.load("drop/droplets").rows():
            value = getattr(self, row["name"])
            if not row["low"] <= value <= row["high"]:
                raise OutsideRangeError(
                    field=row["name"], value=value, low=row["low"], high=row["high"], unit=row["unit"]
                )


@lru_cache(maxsize=1)
def droplet_settings() -> DropletSettings:
    """The shipped values."""
    values = {row["name"]: row["value"] for row in tables.load("drop/droplets").rows()}
    return DropletSettings(**{field.name: values[field.name] for field in fields(DropletSettings)})
