"""The compact relations of the planning form, fitted to the droplet model: `drop/form`.

Each is a product of powers, y = y₀ Π (feature/reference)^power. They are made, with the scatter that
the droplet model leaves about them, by `tools/fit_drop_form.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from wetline import tables
from wetline.drops.fall import terminal_speed_mps
from wetline.drops.planning import setting

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from wetline.drops.release import Resolved

__all__ = ["FEATURES", "Relation", "features", "relation", "thirst_kpa", "wind_drift_s"]

FEATURES: tuple[str, ...] = ("flow", "height", "speed", "drop", "tension", "load", "thirst", "wind")
"""Litres a metre of track, height [m], true airspeed [m/s], median drop [mm], surface tension [mN/m], load
[L], `thirst_kpa`, wind [m/s]."""


@dataclass(frozen=True, slots=True)
class Relation:
    """One fitted product of powers. `scatter`: standard deviation of the model about it, in ln y."""

    at_reference: float
    powers: NDArray[np.float64]
    references: NDArray[np.float64]
    scatter: float

    def __call__(self, numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values for float64[load, feature] in the order of `FEATURES`."""
        used = self.powers != 0.0
        logs = np.log(numbers[:, used] / self.references[used])
        return np.asarray(self.at_reference * np.exp(logs @ self.powers[used]), float)


@lru_cache(maxsize=1)
def _rows() -> Mapping[str, Mapping[str, Any]]:
    return {row["name"]: row for row in tables.load("drop/form").rows()}


@lru_cache(maxsize=16)
def relation(name: str) -> Relation:
    """A relation of the planning form by name."""
    row, reference = _rows()[name], _rows()["reference"]
    return Relation(
        at_reference=row["at_reference"],
        powers=np.array([row[feature] or 0.0 for feature in FEATURES]),
        references=np.array([reference[feature] for feature in FEATURES]),
        scatter=row["scatter"],
    )


def thirst_kpa(temperature_c: NDArray[np.float64], humidity_pct: NDArray[np.float64]) -> NDArray[np.float64]:
    """Vapour pressure that the air lacks [kPa]: Bolton 1980 saturation (from memory) times what is dry."""
    saturated = 0.6112 * np.exp(17.67 * temperature_c / (temperature_c + 243.5))
    # wholly moist air still takes a little here, so that its logarithm stands
    return np.asarray(saturated * np.maximum(1.0 - humidity_pct / 100.0, 1e-3), float)


def features(resolved: Sequence[Resolved]) -> NDArray[np.float64]:
    """What the relations ask of each load: float64[load, feature] in the order of `FEATURES`."""
    given = np.array(
        [
            (
                r.load_l / (r.duration_s * r.ground_speed_mps),
                r.height_m,
                r.speed_mps,
                r.liquid.median_mm.middle,
                1000.0 * r.liquid.surface_tension_n_per_m,
                r.load_l,
                r.temperature_c,
                r.humidity_pct,
                r.wind_along_mps,
                r.wind_right_mps,
            )
            for r in resolved
        ]
    )
    thirst = thirst_kpa(given[:, 6], given[:, 7])
    wind = np.maximum(np.hypot(given[:, 8], given[:, 9]), 0.1)
    return np.column_stack((given[:, :6], thirst, wind))


def wind_drift_s(height_m: NDArray[np.float64], drop_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Drift [m] for each m/s of 10 m wind of a drop of this size at terminal speed from the tank on."""
    rough = setting("roughness_m").value
    mean = ((height_m + rough) * np.log1p(height_m / rough) - height_m) / np.log1p(10.0 / rough)
    return np.asarray(mean / terminal_speed_mps(drop_mm), float)
