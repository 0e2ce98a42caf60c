"""`[fire]` of `incident.toml`: which published system tells the fire's behaviour, and its choices."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from wetline.behaviour import SurfaceModels
from wetline.growth import Errors
from wetline.store.canadian_system import read_canadian
from wetline.store.fields import Fields, Span

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.behaviour import CrownRate, FireSystem, WindLimit
    from wetline.store.problems import Complaints
    from wetline.weather import DeadChoice

__all__ = ["read_errors", "read_fire_system", "read_terrain_wind"]

_SYSTEMS = ("surface_models", "canadian")
_WIND_LIMITS: Mapping[str, WindLimit | None] = MappingProxyType(
    {"none": None, "rothermel_1972": "rothermel_1972", "andrews_2013": "andrews_2013"}
)
_DEAD_MOISTURE: tuple[DeadChoice, ...] = ("day_tables", "equilibrium")
_CROWN_RATES: tuple[CrownRate, ...] = ("rothermel_1991", "cruz_2005")
_ERRORS: Mapping[str, Span] = MappingProxyType(
    {
        "wind_speed": Span(0.0, 0.4, "", "One standard deviation of a factor: 0.2 is about 20 %."),
        "wind_turn_deg": Span(0.0, 90.0, "°"),
        "moisture_pct": Span(0.0, 20.0, "%", "Percentage points of dead fuel moisture."),
        "spread": Span(0.0, 0.4, "", "One standard deviation of a factor: 0.2 is about 20 %."),
    }
)
_CANADIAN_ALONE = ("codes_day", "ffmc", "dmc", "dc", "start_up", "ffmc_holds", "cured_pct", "fuels")
_SURFACE_ALONE = ("wind_limit", "dead_moisture", "crown_fire", "crown_rate")
_FOLIAR = Span(50.0, 200.0, "%", "Needles hold 70 to 130 % of their dry mass in most seasons.")


def read_fire_system(table: object, complaints: Complaints) -> FireSystem:
    """The system that an incident chooses; the surface models where it says nothing or is refused."""
    if table is None:
        return SurfaceModels()
    if not isinstance(table, dict):
        complaints.error("fire must be a table.", "Write [fire] on a line of its own.", field="fire")
        return SurfaceModels()
    fields = Fields(table, complaints, within="fire.")
    for elsewhere in ("wind", "errors"):  # read by `read_terrain_wind`, `read_errors`
        fields.raw(elsewhere)
    named = fields.choice("system", _SYSTEMS)
    if named == "canadian":
        canadian = read_canadian(fields, complaints)
        _warn_of_surface_choices(fields)
        fields.rest()
        return canadian
    _refuse_canadian_fields(fields, named)
    limit = fields.choice("wind_limit", tuple(_WIND_LIMITS))
    system = SurfaceModels(
        wind_limit=None if limit is None else _WIND_LIMITS[limit],
        dead_moisture=fields.choice("dead_moisture", _DEAD_MOISTURE) or "day_tables",
        crown_fire=fields.flag("crown_fire", default=True),
        crown_rate=fields.choice("crown_rate", _CROWN_RATES) or "rothermel_1991",
        foliar_moisture_pct=fields.number("foliar_moisture_pct", _FOLIAR) or 100.0,
    )
    if not system.crown_fire:
        for name in ("crown_rate", "foliar_moisture_pct"):
            if fields.raw(name) is not None:
                fields.warning(
                    name, f"{name} has no effect: crown fire is switched off.",
                    "Take it away, or set crown_fire = true.",
                )  # fmt: skip
    fields.rest()
    return system


def _refuse_canadian_fields(fields: Fields, named: str | None) -> None:
    """Numbers of `fuels.tif` may be fuels of both systems: whoever gives codes or types must name the system."""
    given = [name for name in _CANADIAN_ALONE if fields.raw(name) is not None]
    if given and (named is not None or fields.raw("system") is None):  # else `choice` has complained
        fields.error(
            "system",
            f"Only the Canadian system reads {', '.join(given)}, but the system is"
            f" {named or 'not named'}: which system is meant?",
            f'Add system = "canadian", or take {"it" if len(given) == 1 else "them"} away.',
            limit=", ".join(_SYSTEMS),
        )


def _warn_of_surface_choices(fields: Fields) -> None:
    """A remark will do: the codes and types name the system beyond doubt, and the choice leaves no fire out."""
    for name in _SURFACE_ALONE:
        if fields.raw(name) is not None:
            fields.warning(
                name,
                f"{name} has no effect under the Canadian system: it is a choice of the surface models. Here the"
                " codes tell the moisture, and crowns burn as their fuel type tells, without a wind limit.",
                "Take it away.",
            )


def read_terrain_wind(table: object, complaints: Complaints) -> bool:
    """Whether the terrain bends the fire's wind, or the table's wind blows over all of it alike."""
    if not isinstance(table, dict):  # `read_fire_system` complains
        return False
    return Fields(table, complaints, within="fire.").choice("wind", ("table", "terrain")) == "terrain"


def read_errors(table: object, complaints: Complaints) -> Errors:
    """How far wind, moisture and spread may be off: what varied futures are drawn from."""
    given = table.get("errors") if isinstance(table, dict) else None
    if given is None:
        return Errors()
    if not isinstance(given, dict):
        complaints.error(
            "errors must be a table.", "Write [fire.errors] on a line of its own.", field="fire.errors"
        )
        return Errors()
    fields = Fields(given, complaints, within="fire.errors.")
    found = {name: fields.number(name, span) for name, span in _ERRORS.items()}
    fields.rest()
    return Errors(**{name: value for name, value in found.items() if value is not None})
