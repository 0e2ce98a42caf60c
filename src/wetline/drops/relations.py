"""The compact relations of the planning form, fitted to the droplet model: `drop/form`.

Each is a product of powers, y = y₀ Π (feature/reference)^power. Some are lengths that grow under the tank by
1 − exp(−height/depth), the depth a product of powers too. They are made, with the scatter that the droplet
model leaves about them, by `tools/fit_drop_form.py`.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from wetline import tables
from wetline.drops.fall import wind_share
from wetline.drops.moist_air import saturation_pa
from wetline.drops.wake import full_mass_kg

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from wetline.drops.release import Resolved

__all__ = [
    "FEATURES",
    "crabbed",
    "features",
    "fitted",
    "fitted_range",
    "scatter",
    "thirst_kpa",
]

FEATURES: tuple[str, ...] = ("flow", "height", "speed", "drop", "gross", "thirst", "wind")
"""Litres on each metre flown through the air, height [m], true airspeed [m/s], median drop [mm], mass of
the class at full load [kg], `thirst_kpa`, wind [m/s]."""


_DEPTH = "_depth"


@lru_cache(maxsize=1)
def _rows() -> Mapping[str, Mapping[str, Any]]:
    return {row["name"]: row for row in tables.load("drop/form").rows()}


@lru_cache(maxsize=1)
def _powers() -> tuple[tuple[str, ...], NDArray[np.float64], NDArray[np.float64]]:
    """Names of the relations; float64[feature, relation] powers; their ln y where every feature is 1."""
    rows = {name: row for name, row in _rows().items() if row["at_reference"] is not None}
    powers = np.array([[row[feature] or 0.0 for feature in FEATURES] for row in rows.values()]).T
    reference = np.log([_rows()["reference"][feature] for feature in FEATURES])
    at_one = np.log([row["at_reference"] for row in rows.values()]) - reference @ powers
    return tuple(rows), powers, np.asarray(at_one, float)


def fitted(numbers: NDArray[np.float64]) -> dict[str, NDArray[np.float64]]:
    """Every relation by name, for float64[load, feature] in the order of `FEATURES`: float64[load] each.

    Lengths with a depth are told as they are from that height.
    """
    names, powers, total = _powers()
    logs = np.log(numbers)
    for i in range(len(FEATURES)):  # feature by feature: a load's numbers do not hang on the loads beside it
        total = total + logs[:, i, None] * powers[i]
    out = dict(zip(names, np.exp(total).T, strict=True))
    height = numbers[:, FEATURES.index("height")]
    for name in [name for name in names if name.endswith(_DEPTH)]:
        out[name.removesuffix(_DEPTH)] *= -np.expm1(-height / out.pop(name))
    return out


def scatter(name: str) -> float:
    """Standard deviation of the droplet model about a relation, in ln y; of a loss, in the share itself."""
    return float(_rows()[name]["scatter"])


@lru_cache(maxsize=1)
def fitted_range() -> Mapping[str, tuple[float, float]]:
    """Least and greatest of each feature among the loads that the relations were fitted to."""
    low, high = _rows()["low"], _rows()["high"]
    return {feature: (low[feature], high[feature]) for feature in FEATURES}


def thirst_kpa(temperature_c: NDArray[np.float64], humidity_pct: NDArray[np.float64]) -> NDArray[np.float64]:
    """Vapour pressure that the air lacks [kPa]: saturation times what is dry."""
    saturated = 1e-3 * np.array([saturation_pa(float(t)) for t in temperature_c])
    # wholly moist air still takes a little here, so that its logarithm stands
    return np.asarray(saturated * np.maximum(1.0 - humidity_pct / 100.0, 1e-3), float)


def features(resolved: Sequence[Resolved]) -> NDArray[np.float64]:
    """What the relations ask of each load: float64[load, feature] in the order of `FEATURES`."""
    given = np.array(
        [
            (
                r.load_l / (r.duration_s * r.speed_mps),
                r.height_m,
                r.speed_mps,
                r.liquid.median_mm.middle,
                full_mass_kg(r),
                r.temperature_c,
                r.humidity_pct,
                r.wind_along_mps,
                r.wind_right_mps,
            )
            for r in resolved
        ]
    )
    thirst = thirst_kpa(given[:, 5], given[:, 6])
    wind = np.maximum(np.hypot(given[:, 7], given[:, 8]), 0.1)
    return np.column_stack((given[:, :5], thirst, wind))


def crabbed(resolved: Sequence[Resolved]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cosine and sine of the angle by which each aircraft points into a crosswind to keep to its track.

    What it throws forward goes that way through the air: sin of it to windward. A wind to the right is
    positive.
    """
    given = np.array([(r.wind_right_mps, r.height_m, r.speed_mps) for r in resolved])
    sine = given[:, 0] * wind_share(given[:, 1]) / given[:, 2]
    return np.sqrt(1.0 - sine**2), sine
