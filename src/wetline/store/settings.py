"""`incident.toml`: name, place, clock, variation, working CRS, cover and limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time
from typing import TYPE_CHECKING, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pyproj

from wetline.behaviour import FireSystem, SurfaceModels
from wetline.grid import Projection
from wetline.growth import Errors
from wetline.model import Finding, Limits, shipped_limits
from wetline.store.fields import Fields, Span
from wetline.store.fire_system import read_errors, read_fire_system, read_terrain_wind
from wetline.store.limits import read_limits
from wetline.store.problems import suggestion
from wetline.store.toml import read_toml

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from wetline.store.problems import Complaints

__all__ = ["COVERED", "Settings", "read_settings"]

COVERED = ("water", "bases", "dips", "hazards", "people", "avoid", "roads")
"""Layers of which somebody may vouch that they cover the whole ground."""
_VARIATION = Span(-90.0, 90.0, "°", "East is positive, west negative; beyond 90° a compass is no use.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What `incident.toml` says; the defaults stand where it was refused, `read` false if it is no TOML."""

    read: bool = True
    name: str = ""
    place: str = ""
    exercise: bool = False
    time_zone: str = "UTC"
    magnetic_variation_deg: float | None = None
    variation_date: date | None = None
    projection: Projection | None = None
    cut_off: time | None = None
    units: Literal["aviation", "metric", "us"] = "aviation"
    terrain_in_metres: bool = False
    cover: Mapping[str, date] = field(default_factory=dict)
    limits: Limits = field(default_factory=shipped_limits)
    limit_findings: tuple[Finding, ...] = ()
    frequencies: Mapping[str, str] = field(default_factory=dict)
    system: FireSystem = field(default_factory=SurfaceModels)
    terrain_wind: bool = False
    errors: Errors = field(default_factory=Errors)

    @property
    def zone(self) -> ZoneInfo:
        """The incident's clock."""
        return ZoneInfo(self.time_zone)


def read_settings(path: Path, complaints: Complaints) -> Settings:
    """The settings of an incident, complaining of all that is wrong with them."""
    values = read_toml(path, complaints)
    if values is None:
        return Settings(read=False)
    fields = Fields(values, complaints)
    limits, findings = read_limits(fields.raw("limits"), complaints)
    variation = fields.number("magnetic_variation_deg", _VARIATION)
    variation_date = fields.day("variation_date")
    if variation is not None and "variation_date" not in values:
        fields.warning(
            "variation_date",
            "The magnetic variation has no date; it drifts by up to a quarter of a degree a year.",
            "Add variation_date = 2026-01-01.",
        )
    settings = Settings(
        name=fields.text("name", required=True) or "",
        place=fields.text("place", required=True) or "",
        exercise=fields.flag("exercise"),
        time_zone=_zone(fields) or "UTC",
        magnetic_variation_deg=variation,
        variation_date=variation_date,
        cut_off=_cut_off(fields),
        projection=_projection(fields),
        units=fields.choice("units", ("aviation", "metric", "us")) or "aviation",
        terrain_in_metres=fields.choice("terrain_unit", ("m",)) == "m",
        cover=_cover(fields, complaints),
        limits=limits,
        limit_findings=findings,
        frequencies=_frequencies(fields, complaints),
        system=read_fire_system(fields.raw("fire"), complaints),
        terrain_wind=read_terrain_wind(fields.raw("fire"), complaints),
        errors=read_errors(fields.raw("fire"), complaints),
    )
    fields.rest()
    return settings


def _zone(fields: Fields) -> str | None:
    name = fields.text("time_zone", required=True)
    if name is None:
        return None
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        fields.error(
            "time_zone",
            f'"{name}" is no time zone.',
            'Give an IANA name: "Europe/Lisbon", or "Etc/GMT+1" for one hour behind UTC.',
        )
        return None
    return name


def _cut_off(fields: Fields) -> time | None:
    """The last drop of any day by the incident's own clock."""
    value = fields.raw("cut_off")
    if value is None or (isinstance(value, time) and value.tzinfo is None):
        return value
    fields.error(
        "cut_off", "cut_off must be a time of day.", "Write it by the local clock: cut_off = 20:30:00."
    )
    return None


def _projection(fields: Fields) -> Projection | None:
    code = fields.text("crs")
    if code is None:
        return None
    try:
        crs = pyproj.CRS.from_user_input(code)
    except pyproj.exceptions.CRSError:
        fields.error("crs", f'"{code}" is no coordinate system that is known.', 'Write it as "EPSG:32625".')
        return None
    authority = crs.to_authority()
    metres = all(axis.unit_name == "metre" for axis in crs.axis_info[:2])
    if not crs.is_projected or not metres or authority is None:
        fields.error(
            "crs",
            f'"{code}" is not a projected system in metres.',
            "Give the EPSG code of one, or leave crs out: the UTM zone of the terrain is then used.",
            limit="projected, metres",
        )
        return None
    return Projection(":".join(authority))


def _table(fields: Fields, name: str) -> dict[str, Any]:
    value = fields.raw(name)
    if value is None:
        return {}
    if not isinstance(value, dict):
        fields.error(name, f"{name} must be a table.", f"Write [{name}] on a line of its own.")
        return {}
    return value


def _cover(fields: Fields, complaints: Complaints) -> dict[str, date]:
    table = _table(fields, "cover")
    inner = Fields(table, complaints, within="cover.")
    days = {name: inner.day(name) for name in table if name in COVERED}
    for name in table:
        if name not in COVERED:
            inner.error(
                name,
                f'"{name}" is no layer that can be vouched for.{suggestion(name, COVERED)}',
                f"Give one of: {', '.join(COVERED)}.",
            )
    return {name: day for name, day in days.items() if day is not None}


def _frequencies(fields: Fields, complaints: Complaints) -> dict[str, str]:
    table = _table(fields, "frequencies")
    inner = Fields(table, complaints, within="frequencies.")
    found = {name: inner.text(name) for name in table}
    return {name: text for name, text in found.items() if text is not None}
