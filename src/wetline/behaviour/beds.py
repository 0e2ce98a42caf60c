"""Fuel beds over many moistures at once: what `rothermel.reaction` tells one by one. Printed units inside."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.rothermel import (
    BTU_PER_FT2,
    FT_PER_MIN,
    PARTICLE_DENSITY,
    fine_dead_over_live,
    greatest_wind,
    live_extinction,
    mean_by_area,
    moisture_damping,
    preignition,
    reaction,
    size_classes,
)
from wetline.weather import DeadMoisture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.behaviour.fuel import FuelModel
    from wetline.behaviour.rothermel import Reaction, WindLimit
    from wetline.weather import LiveMoisture

__all__ = ["beds_over", "reaction_over"]

_DRY = DeadMoisture(one_h=0.0, ten_h=0.0, hundred_h=0.0)


@dataclass(frozen=True, slots=True)
class _MakeUp:
    """What dead moisture does not change in a bed, and how much each dead class weighs [float64[3]].

    `mean`, `fine`: in the mean moisture of the dead fuel and of its fine part; `sink`: in the heat sink.
    `per_load`: reaction intensity over the net loads that burn. `green`: mean live moisture, None without
    live fuel.
    """

    dry: Reaction
    per_load: float
    mean: NDArray[np.float64]
    fine: NDArray[np.float64]
    sink: NDArray[np.float64]
    dead_over_live: float
    green: float | None


@lru_cache(maxsize=256)
def _make_up(model: FuelModel, live: LiveMoisture) -> _MakeUp:
    dry = reaction(model, _DRY, live)
    dead, green = size_classes(model, _DRY, live)
    # each weight is the value where that class alone is at 1: everything here is linear in the moistures
    alone = [
        size_classes(model, DeadMoisture(one_h=a, ten_h=b, hundred_h=c), live)[0]
        for a, b, c in np.eye(3).tolist()
    ]
    dead_share = sum(c.area for c in dead) / sum(c.area for c in dead + green)
    bulk_density = dry.beta * PARTICLE_DENSITY
    wet = [preignition(classes) - preignition(dead) for classes in alone]
    return _MakeUp(
        dry=dry,
        per_load=dry.i_r / (dry.wn_dead * dry.eta_m_dead + dry.wn_live * dry.eta_m_live),
        mean=np.array([mean_by_area(classes, [c.moisture for c in classes]) for classes in alone]),
        fine=np.array([fine_dead_over_live(classes, green)[1] for classes in alone])
        if green
        else np.zeros(3),
        sink=bulk_density * dead_share * np.array(wet),
        dead_over_live=fine_dead_over_live(dead, green)[0] if green else 0.0,
        green=mean_by_area(green, [c.moisture for c in green]) if green else None,
    )


def reaction_over(
    model: FuelModel, dead_pct: NDArray[np.float64], live: LiveMoisture, limit: WindLimit | None
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """`no_wind_mps`, `heat_kj_per_m2` and `factor_max` of `reaction`, one of each a moisture.

    `dead_pct` [%, float64[3, ...]]: of the 1-h, 10-h and 100-h classes.
    """
    assert model.mx_dead is not None
    bed, moisture = _make_up(model, live), dead_pct / 100.0
    burning = bed.dry.wn_dead * moisture_damping(np.tensordot(bed.mean, moisture, axes=1) / model.mx_dead)
    if bed.green is not None:
        fine = np.tensordot(bed.fine, moisture, axes=1)
        extinction = live_extinction(bed.dead_over_live, fine, model.mx_dead)
        burning = burning + bed.dry.wn_live * moisture_damping(bed.green / extinction)
    i_r = bed.per_load * burning
    sink = bed.dry.sink + np.tensordot(bed.sink, moisture, axes=1)
    most = np.full(i_r.shape, np.inf)
    if limit is not None:
        most = bed.dry.wind_c * greatest_wind(i_r, limit) ** bed.dry.wind_b * bed.dry.rr**-bed.dry.wind_e
    heat = i_r * bed.dry.residence_min * BTU_PER_FT2 / 1000.0
    return i_r * bed.dry.xi / sink * FT_PER_MIN, heat, most


def beds_over(
    models: Sequence[FuelModel], dead_pct: NDArray[np.float64], live: LiveMoisture, limit: WindLimit | None
) -> NDArray[np.float64]:
    """`reaction_over` of every model: float64[3, slot, model, site] of `dead_pct` [%, float64[slot, 3, site]]."""
    slots, _, sites = dead_pct.shape
    found = np.zeros((3, slots, len(models), sites))
    by_class = np.ascontiguousarray(dead_pct.swapaxes(0, 1))
    for m, model in enumerate(models):
        found[:, :, m] = reaction_over(model, by_class, live, limit)
    return found
