"""What is dropped: water and the agents mixed into it, as liquids that break up and fall."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, cast

from wetline import tables
from wetline.errors import InputError, Problem
from wetline.model import Band

__all__ = ["AGENTS", "Agent", "Liquid", "liquid"]

Agent = Literal["water", "foam", "gel", "retardant"]
AGENTS: tuple[Agent, ...] = ("water", "foam", "gel", "retardant")


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """An agent as mixed. `median_mm`: drop diameter that halves the volume, at the ground from a salvo.

    `exponent`: of the Rosin-Rammler spectrum by volume, 1 − exp(−ln 2 (d/median)^exponent).
    `viscosity_pa_s`: at low shear; thickened liquids thin in shear, so that it is a guide only.
    """

    agent: Agent
    density_kg_per_m3: float
    viscosity_pa_s: float
    surface_tension_n_per_m: float
    median_mm: Band
    exponent: float


@lru_cache(maxsize=1)
def _liquids() -> dict[str, Liquid]:
    return {
        row["agent"]: Liquid(
            agent=cast("Agent", row["agent"]),
            density_kg_per_m3=row["density_kg_per_m3"],
            viscosity_pa_s=row["viscosity_mpa_s"] / 1000.0,
            surface_tension_n_per_m=row["surface_tension_mn_per_m"] / 1000.0,
            median_mm=Band(row["median_mm"], row["median_low_mm"], row["median_high_mm"]),
            exponent=row["exponent"],
        )
        for row in tables.load("drop/liquids").rows()
    }


def liquid(agent: str) -> Liquid:
    """The liquid of an agent.

    Raises
    ------
    InputError
        For an unknown agent.
    """
    found = _liquids().get(agent)
    if found is None:
        mend = f"Give one of {', '.join(AGENTS)}."
        raise InputError.of(
            [Problem(message=f"unknown agent {agent!r}.", mend=mend, field="agent", value=agent)]
        )
    return found
