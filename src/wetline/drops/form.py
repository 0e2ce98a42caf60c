"""The planning form: litres along the track, Gaussian across it, with each input varied in turn.

c(x, y) = G q(x)/(√(2π) σ_y) exp(−(y − y_d)²/2σ_y²): q the load a metre of track, smeared; G the share
that reaches the ground; y_d the drift. The Gaussian cross-section is the finding of Legendre et al.
2014, Int. J. Wildland Fire 23:272 (abstract). σ_y does not grow with height in calm air: how it does
is unknown. It grows with drift, for small drops drift farther than large ones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.fall import drift_per_wind_s, evaporated_fraction
from wetline.drops.planning import setting
from wetline.drops.profile import lengths_m, peak_per_m, smeared_per_m, tracks_of
from wetline.model import Band
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.drops.planning import Setting
    from wetline.drops.profile import Track
    from wetline.drops.release import Resolved

__all__ = [
    "BAND_FROM",
    "VARIED",
    "Shape",
    "bands_m",
    "bands_of",
    "drift_m",
    "drop_size",
    "evaporated_share",
    "joined_band",
    "middle_shapes",
    "shape_of",
    "shapes_of",
    "spread_setting",
    "varied_shapes",
]

BAND_FROM = (
    "each of spread across, smear, drift spread, share reaching the ground, canopy, load and flow time "
    "moved alone to the ends of its range, the changes joined as the root of the sum of their squares"
)


VARIED = ("across", "smear", "drift", "ground", "canopy", "load", "duration")
"""What is moved for a band, in the order of the variants of a shape: middle, then low and high of each."""
_VARIANTS = 1 + 2 * len(VARIED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What the form needs: float64[row] each, a row for a load or for one variant of it.

    `litres`: on the ground. `length_m`: of track between the points of half flow. Along the track, 0 is
    the mean place of the litres.
    """

    litres: NDArray[np.float64]
    length_m: NDArray[np.float64]
    spread_along_m: NDArray[np.float64]
    spread_across_m: NDArray[np.float64]
    track: Track

    @property
    def _across(self) -> NDArray[np.float64]:
        """Coverage on the centre line [L/m²] for each share a metre [1/m]."""
        return np.asarray(self.litres / (math.sqrt(2.0 * math.pi) * self.spread_across_m), float)

    @property
    def peak_l_per_m2(self) -> NDArray[np.float64]:
        """The greatest coverage [L/m²]."""
        return self._across * peak_per_m(self.track, self.spread_along_m)

    def centre_l_per_m2(self, x_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Coverage [L/m²] on the centre line at places along it: float64[row, point]."""
        return self._across[:, None] * smeared_per_m(x_m, self.track, self.spread_along_m)

    def lines_m(
        self, levels_l_per_m2: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Longest unbroken and summed line [m] at each level: float64[row, level]."""
        wanted = np.asarray(levels_l_per_m2, float) / self._across[:, None]
        return lengths_m(wanted, self.track, self.spread_along_m)


def drop_size(resolved: Resolved) -> Setting:
    """The planning drop size [mm] of the agent."""
    return setting("drop_size_gum_mm" if resolved.agent in {"gel", "retardant"} else "drop_size_water_mm")


def drift_m(resolved: Resolved) -> tuple[float, float]:
    """Drift along and right of the heading [m] of the planning drop size."""
    seconds = drift_per_wind_s(resolved.height_m, drop_size(resolved).value)
    return resolved.wind_along_mps * seconds, resolved.wind_right_mps * seconds


def evaporated_share(resolved: Resolved) -> float:
    """Share of the load that evaporates: an upper bound for the drop sizes assumed."""
    return evaporated_fraction(
        resolved.height_m,
        resolved.temperature_c,
        resolved.humidity_pct,
        drop_size(resolved).value,
        setting("drop_size_exponent").value,
    )


def spread_setting(resolved: Resolved) -> Setting:
    """The spread across [m] for the way the load is let go; a bucket takes the salvo's."""
    return setting("sigma_across_constant_m" if resolved.mode == "constant" else "sigma_across_salvo_m")


def _ranges(resolved: Resolved) -> list[tuple[float, float, float]]:
    """Middle, low and high of each of `VARIED`; `duration` as a factor."""
    across, ground = spread_setting(resolved), setting("ground_fraction")
    reaching = 1.0 - evaporated_share(resolved)
    settings = (across, *(setting(name) for name in ("smear_along_s", "drift_spread")))
    least, most = resolved.duration_low_s, resolved.duration_high_s
    return [
        *((s.value, s.low, s.high) for s in settings),
        (reaching, min(reaching, ground.low), max(reaching, ground.high)),
        *((s.value, s.low, s.high) for s in (setting("canopy_k"), setting("load_share"))),
        (1.0, least / resolved.duration_s, most / resolved.duration_s),
    ]


def _shape(resolved: Sequence[Resolved], values: NDArray[np.float64]) -> Shape:
    """Loads with their `VARIED` values: float64[load, variant, varied]; a row for each load and variant."""
    variants = values.shape[1]
    rows = values.reshape(-1, len(VARIED)).T

    def each(numbers: list[float]) -> NDArray[np.float64]:
        return np.repeat(np.array(numbers), variants)

    across, smear, drift, ground, canopy, load, stretch = rows
    along_m, right_m = (each(list(m)) for m in zip(*(drift_m(r) for r in resolved), strict=True))
    ground_speed = each([r.ground_speed_mps for r in resolved])
    return Shape(
        litres=each([r.load_l for r in resolved])
        * load
        * ground
        * np.exp(-canopy * each([r.leaf_area or 0.0 for r in resolved])),
        length_m=ground_speed * stretch * each([r.duration_s for r in resolved]),
        spread_along_m=np.hypot(smear * each([r.speed_mps for r in resolved]), drift * along_m),
        spread_across_m=np.hypot(across, drift * right_m),
        track=tracks_of([r.flow for r in resolved for _ in range(variants)], ground_speed, stretch),
    )


def middle_shapes(resolved: Sequence[Resolved]) -> Shape:
    """The middle of each load, a row each."""
    ranges = np.array([_ranges(r) for r in resolved])
    return _shape(resolved, ranges[:, None, :, 0])


def varied_shapes(resolved: Sequence[Resolved]) -> Shape:
    """Each load's middle, then each of `VARIED` at its low and its high end: as many rows for every load."""
    ranges = np.array([_ranges(r) for r in resolved])
    values = np.repeat(ranges[:, None, :, 0], _VARIANTS, axis=1)
    for i in range(len(VARIED)):
        values[:, 1 + 2 * i : 3 + 2 * i, i] = ranges[:, i, 1:]
    return _shape(resolved, values)


def shape_of(resolved: Resolved) -> Shape:
    """The middle of one load, as arrays of one."""
    return middle_shapes([resolved])


def shapes_of(resolved: Resolved) -> Shape:
    """The middle of one load, then its variants."""
    return varied_shapes([resolved])


_LADDER = COVERAGE_LEVEL * np.array([0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0])
"""Steps [L/m²] at which a band is held to fall with the level."""


def bands_of(shapes: Shape, levels_l_per_m2: NDArray[np.float64]) -> list[list[Band]]:
    """Lines [m] with their bands, by load of `varied_shapes` and level: see `BAND_FROM`.

    No end of a band grows with the level: each is at most that of every lower step of `_LADDER`.
    """
    asked = np.asarray(levels_l_per_m2, float)
    levels, where = np.unique(np.append(asked, _LADDER[asked.max() > _LADDER]), return_inverse=True)
    lines = shapes.lines_m(levels)[0].reshape(-1, _VARIANTS, levels.size)
    middle, low, high = joined_band(lines)
    low, high = np.minimum.accumulate(low, axis=1), np.minimum.accumulate(high, axis=1)
    return [
        [Band(float(m[i]), float(max(lo[i], 0.0)), float(hi[i])) for i in where[: asked.size]]
        for m, lo, hi in zip(middle, low, high, strict=True)
    ]


def joined_band(variants: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Middle, low and high of float64[load, variant, …]: changes joined as the root of their squares."""
    middle, change = variants[:, 0], variants[:, 1:] - variants[:, :1]
    down = np.sqrt((np.minimum(change, 0.0) ** 2).sum(axis=1))
    up = np.sqrt((np.maximum(change, 0.0) ** 2).sum(axis=1))
    return middle, middle - down, middle + up


def bands_m(shapes: Shape, levels_l_per_m2: NDArray[np.float64]) -> list[Band]:
    """Lines [m] with their bands at each level for the shapes of one load."""
    return bands_of(shapes, levels_l_per_m2)[0]
