"""One incident as read from its folder: everything that the rooms below compute with."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime, time
    from pathlib import Path

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.behaviour import FireSystem
    from wetline.drops import DropTests
    from wetline.errors import Problem
    from wetline.ground import Ground
    from wetline.growth import Errors
    from wetline.model import Finding, Fire, Limits
    from wetline.weather import Weather

__all__ = ["Incident"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident:
    """An incident without errors. What the folder does not hold is None or an absent layer: unknown.

    `weather` has its wind directions turned to the grid (bearing on the grid = true − convergence).
    `system`: the published system that tells fire behaviour here; `terrain_wind`: whether the terrain bends its wind;
    `errors`: how far wind, moisture and spread may be off.
    `cut_off`: no drop later than this on any day, by the incident's own clock; None: the light alone says.
    `magnetic_variation_deg`: east positive. `warnings`: what was read with a remark.
    `classes`: every aircraft class by id, the shipped ones with the folder's own laid over them.
    `drop_tests`: the incident's own measured lines.
    `limit_findings`: limits, and numbers of classes, that are set looser than shipped.
    `present`: how much of each layer; `absent`: layers that are not there.
    """

    name: str
    place: str
    time_zone: str
    magnetic_variation_deg: float | None
    variation_date: date | None
    exercise: bool
    cut_off: time | None
    units: Literal["aviation", "metric", "us"]
    ground: Ground
    weather: Weather | None
    fire: Fire
    system: FireSystem
    terrain_wind: bool
    errors: Errors
    classes: Mapping[str, AircraftClass]
    fleet: tuple[Aircraft, ...]
    drop_tests: DropTests | None
    limits: Limits
    limit_findings: tuple[Finding, ...]
    frequencies: Mapping[str, str]
    folder: Path
    warnings: tuple[Problem, ...] = ()
    present: Mapping[str, int] = field(default_factory=dict)
    absent: tuple[str, ...] = ()

    @property
    def now(self) -> datetime:
        """The time that answers speak of unless another is asked for: the newest perimeter's (UTC)."""
        return self.fire.newest

    @property
    def zone(self) -> ZoneInfo:
        """The incident's clock, for what people read."""
        return ZoneInfo(self.time_zone)
