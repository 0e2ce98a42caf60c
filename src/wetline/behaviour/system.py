"""The published systems that tell fire behaviour from ground and weather, behind one face.

A system turns ground and weather into `FireFields`: head rate, direction, eccentricity and intensity per
cell and slot. An incident names its system in `incident.toml`, table `[fire]`; growth, size-up and attack
never ask which one it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from wetline.behaviour.crowning import Crowning
from wetline.behaviour.fuel import fuel_models
from wetline.behaviour.over_ground import AS_GIVEN, Because, Variation, explain, fire_fields

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from wetline.behaviour.crown import CrownRate
    from wetline.behaviour.fields import FireFields
    from wetline.behaviour.rothermel import WindLimit
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.weather import DeadChoice, TerrainWind, Weather

__all__ = ["SURFACE_MODELS", "FireSystem", "SurfaceModels"]


class FireSystem(Protocol):
    """One published way to tell head fire behaviour; every one passes the same tests."""

    @property
    def name(self) -> str:
        """The word that names it in `incident.toml` and in answers."""

    @property
    def fuels(self) -> Mapping[int, str]:
        """The numbers it knows in `fuels.tif`, each with its code and name in words."""

    @property
    def drop_guide(self) -> Mapping[int, int | None]:
        """Each number that burns, with the published fuel model whose coverage level holds for its drops.

        None where no drop guide knows the fuel.
        """

    def fields(
        self,
        ground: Ground,
        weather: Weather,
        *,
        start: datetime,
        until: datetime,
        grid: Grid | None = None,
        variation: Variation = AS_GIVEN,
        wind: TerrainWind | None = None,
    ) -> FireFields:
        """Head fire in every cell of the ground or a window of it; raises as `fire_fields` does."""

    def explain(
        self,
        ground: Ground,
        weather: Weather,
        time: datetime,
        x: float,
        y: float,
        *,
        wind: TerrainWind | None = None,
    ) -> Because:
        """Why the head runs as it does at a place and time; raises as `behaviour.explain` does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceModels:
    """Rothermel's surface fire with the 13 and 40 published fuel models, and crown fire above it.

    `wind_limit`: the cap on wind that the reaction intensity allows, None for none. `dead_moisture`: how the
    moisture of dead fuel is told. `crown_fire`: whether trees catch fire where the ground's canopy tells enough;
    `crown_rate`: whose rate they then run at; `foliar_moisture_pct` of their needles [%, 50-200].

    Raises
    ------
    OutsideRangeError
        If foliar moisture is out of range.
    """

    wind_limit: WindLimit | None = None
    dead_moisture: DeadChoice = "day_tables"
    crown_fire: bool = True
    crown_rate: CrownRate = "rothermel_1991"
    foliar_moisture_pct: float = 100.0

    def __post_init__(self) -> None:
        Crowning(rate=self.crown_rate, foliar_moisture_pct=self.foliar_moisture_pct)

    @property
    def crowning(self) -> Crowning | None:
        """How crown fire is told, None where it is not."""
        if not self.crown_fire:
            return None
        return Crowning(rate=self.crown_rate, foliar_moisture_pct=self.foliar_moisture_pct)

    @property
    def name(self) -> str:
        """`surface_models`."""
        return "surface_models"

    @property
    def fuels(self) -> Mapping[int, str]:
        """Every published fuel model."""
        return {number: f"{model.code} {model.name}" for number, model in fuel_models().items()}

    @property
    def drop_guide(self) -> Mapping[int, int | None]:
        """Every burnable model, itself."""
        return {number: number for number, model in fuel_models().items() if model.burnable}

    def fields(
        self,
        ground: Ground,
        weather: Weather,
        *,
        start: datetime,
        until: datetime,
        grid: Grid | None = None,
        variation: Variation = AS_GIVEN,
        wind: TerrainWind | None = None,
    ) -> FireFields:
        """See `fire_fields`."""
        return fire_fields(
            ground,
            weather,
            start=start,
            until=until,
            grid=grid,
            variation=variation,
            wind=wind,
            wind_limit=self.wind_limit,
            dead=self.dead_moisture,
            crowning=self.crowning,
        )

    def explain(
        self,
        ground: Ground,
        weather: Weather,
        time: datetime,
        x: float,
        y: float,
        *,
        wind: TerrainWind | None = None,
    ) -> Because:
        """See `behaviour.explain`."""
        return explain(
            ground,
            weather,
            time,
            x,
            y,
            wind=wind,
            wind_limit=self.wind_limit,
            dead=self.dead_moisture,
            crowning=self.crowning,
        )


SURFACE_MODELS = SurfaceModels()
"""What holds where an incident chooses nothing."""
