"""The air that the aircraft leaves behind it: two vortices that push the air between them down."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.release import Resolved

__all__ = ["Wake", "full_mass_kg", "vortex_pair", "wake_of"]

_GRAVITY = 9.81


@dataclass(frozen=True, slots=True, kw_only=True)
class Wake:
    """A vortex pair. `above_m`: over the tank door where it is made."""

    circulation_m2_per_s: float
    spacing_m: float
    above_m: float

    @property
    def descent_mps(self) -> float:
        """Speed at which each vortex carries the other down: Γ/(2π b₀)."""
        return self.circulation_m2_per_s / (2.0 * math.pi * self.spacing_m)

    @property
    def middle_mps(self) -> float:
        """Downward air midway between the vortices: 2 Γ/(π b₀), four times the descent."""
        return 4.0 * self.descent_mps


def vortex_pair(
    mass_kg: float, span_m: float, speed_mps: float, air_kg_per_m3: float, *, above_m: float = 0.0
) -> Wake:
    """The pair behind a wing with elliptic lift: spacing π/4 of the span, Γ = m g/(ρ V b₀).

    At low speed V is that of the air through the disc of the span, which momentum theory gives:
    v (V² + v²)^½ = m g/(2 ρ A). It keeps the circulation of a hovering rotor finite.

    References
    ----------
    Lifting line and momentum theory, textbook (from memory).
    """
    weight = mass_kg * _GRAVITY
    spacing = 0.25 * math.pi * span_m
    induced2 = weight / (2.0 * air_kg_per_m3 * 0.25 * math.pi * span_m**2)
    through2 = 0.5 * (speed_mps**2 + math.sqrt(speed_mps**4 + 4.0 * induced2**2))
    return Wake(
        circulation_m2_per_s=weight / (air_kg_per_m3 * math.sqrt(through2) * spacing),
        spacing_m=spacing,
        above_m=above_m,
    )


def full_mass_kg(resolved: Resolved) -> float:
    """Mass [kg] of the class at full load; four times what is on board where it is not told."""
    gross = resolved.cls.get("gross_kg")
    if gross is not None:
        return gross.value
    return 4e-3 * resolved.on_board_l * resolved.liquid.density_kg_per_m3


def wake_of(resolved: Resolved, air_kg_per_m3: float, settings: DropletSettings) -> Wake:
    """The pair of a class, with half of its load gone; none weighs less than its load.

    Where no rotor is told, the span is a default.
    """
    load_kg = 1e-3 * resolved.load_l * resolved.liquid.density_kg_per_m3
    mass = max(full_mass_kg(resolved) - 0.5 * load_kg, load_kg)
    rotor = resolved.cls.get("rotor_diameter_m")
    if rotor is None:
        span, above = settings.span_m * (mass / 1000.0) ** (1.0 / 3.0), settings.tank_below_m
    else:
        span = rotor.value
        above = settings.line_m if resolved.system == "bucket" else settings.tank_below_m
    return vortex_pair(mass, span, resolved.speed_mps, air_kg_per_m3, above_m=above)
