"""How far firebrands may fly and kindle: from torching trees, and from a surface fire in the wind.

The reports' coefficients are recalled and have not been seen in print, and what is remembered of one of
them contradicts itself. So no single number is given: every reading that is doubted is computed, and the
answer is their middle with their whole span. `LOW_CONFIDENCE` goes with every answer.

References
----------
Albini 1979, INT-56 (torching trees); Albini 1983, INT-309 (wind-driven surface fire); Chase 1981, INT-310.
All from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline import tables
from wetline.behaviour.cells import window
from wetline.behaviour.crowning import CROWN_UNKNOWN
from wetline.behaviour.wind import TEN_METRE_OVER_TWENTY_FOOT
from wetline.errors import OutsideRangeError
from wetline.grid import along
from wetline.units import BTU_PER_FT_S, FOOT, MILE, MILE_PER_HOUR

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import ArrayLike, NDArray

    from wetline.behaviour.fields import FireFields
    from wetline.ground import Ground
    from wetline.weather import TerrainWind, Weather

__all__ = [
    "LOW_CONFIDENCE",
    "SpotSource",
    "Spotting",
    "spotting_from",
    "spotting_surface_albini_1983",
    "spotting_torching_albini_1979",
]

SpotSource = Literal["torching trees", "wind-driven surface fire", "nothing spreads"]

LOW_CONFIDENCE = (
    "Spotting distance: low confidence. Albini's models (1979, 1983) from memory, never checked against the"
    " print; the band spans every reading that is doubted. Level ground; the farthest spot, not the usual one."
)
_STEMS_IN = (
    6.0,
    12.0,
    20.0,
)  # stem diameters 15 to 50 cm: not known, so spanned (common practice, no source)
_TREES = (1.0, 10.0)  # one tree, or a group that torches together (common practice, no source)
_LOWEST_COVER_FT = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spotting:
    """The farthest spot fire [m] ahead of an edge: middle, low and high of the readings that are doubted."""

    distance_m: float
    low_m: float
    high_m: float
    from_what: SpotSource
    notes: tuple[str, ...]


def _check(field: str, value: float, high: float, unit: str) -> float:
    if not 0.0 <= value <= high:
        raise OutsideRangeError(field=field, value=value, low=0.0, high=high, unit=unit)
    return value


def spotting_torching_albini_1979(tree_height_m: float, wind_20ft_mps: float) -> Spotting:
    """The farthest spot from torching trees of a height [m, 0-120] in a 20-ft wind [m/s, 0-100].

    Species, stem and number of trees are not asked for: the published trees, stems of 15 to 50 cm and groups
    of 1 and 10 are spanned, with both indexings of the lofting table.

    Raises
    ------
    OutsideRangeError
        Outside these ranges.
    """
    height = np.array([_check("tree_height_m", tree_height_m, 120.0, "m")])
    wind = np.array([_check("wind_20ft_mps", wind_20ft_mps, 100.0, "m/s")])
    return _band(_torching_m(height, wind), "torching trees")


def spotting_surface_albini_1983(
    intensity_kw_per_m: float, wind_20ft_mps: float, *, cover_m: float = 0.0
) -> Spotting:
    """The farthest spot from a surface fire of an intensity [kW/m, 0-200 000] in a 20-ft wind [m/s, 0-100].

    `cover_m`: height of what grows downwind [m, 0-120]; open ground is spanned too.

    Raises
    ------
    OutsideRangeError
        Outside these ranges.
    """
    intensity = np.array([_check("intensity_kw_per_m", intensity_kw_per_m, 2e5, "kW/m")])
    wind = np.array([_check("wind_20ft_mps", wind_20ft_mps, 100.0, "m/s")])
    cover = np.array([_check("cover_m", cover_m, 120.0, "m")])
    return _band(_surface_m(intensity, wind, cover), "wind-driven surface fire")


def _band(readings_m: NDArray[np.float64], from_what: SpotSource, *notes: str) -> Spotting:
    """Of each place [readings, place] middle and ends, and of these the farthest."""
    return Spotting(
        distance_m=float(np.median(readings_m, axis=0).max()),
        low_m=float(readings_m.min(axis=0).max()),
        high_m=float(readings_m.max()),
        from_what=from_what,
        notes=(LOW_CONFIDENCE, *notes),
    )


def _flight_mi(
    rise_ft: NDArray[np.float64],
    cover_ft: NDArray[np.float64],
    wind_mph: NDArray[np.float64],
    *,
    at_top: bool,
) -> NDArray[np.float64]:
    """Flight [mi] over level ground from a height [ft]; `at_top`: the 20-ft wind blows at the cover's top.

    Else the wind there follows the profile of the wind adjustment (displacement 0.64, roughness 0.13 of the
    height, from memory).
    """
    cover = np.maximum(np.maximum(cover_ft, 2.2 * rise_ft**0.337 - 4.0), _LOWEST_COVER_FT)
    slowed = math.log(0.36 / 0.13) / np.log((20.0 + 0.36 * cover) / (0.13 * cover))
    top_mph = wind_mph if at_top else wind_mph * np.minimum(slowed, 1.0)
    ratio = np.maximum(rise_ft / cover, 1.0)  # a brand that stays below the tops comes down at once
    return np.asarray(0.000718 * top_mph * np.sqrt(cover) * (0.362 + 0.5 * np.sqrt(ratio) * np.log(ratio)))


def _lofting(ratio: NDArray[np.float64], duration: float) -> NDArray[np.float64]:
    """Firebrand height over flame height, without the half of the tree, by ratio of heights and duration."""
    out = np.full(ratio.shape, np.nan)
    for row in tables.load("spotting/lofting").rows():
        to_ratio = math.inf if row["to_ratio"] is None else row["to_ratio"]
        to_duration = math.inf if row["to_duration"] is None else row["to_duration"]
        if row["from_duration"] <= duration < to_duration:
            here = (ratio >= row["from_ratio"]) & (ratio < to_ratio)
            out[here] = row["a"] * duration ** row["b"]
    return out


def _torching_m(height_m: NDArray[np.float64], wind_mps: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distances [m] by [reading, place] from trees of a height in a 20-ft wind."""
    height_ft, wind_mph = height_m / FOOT, wind_mps / MILE_PER_HOUR
    readings = []
    for tree, stem_in, trees in product(tables.load("spotting/torching_trees").rows(), _STEMS_IN, _TREES):
        flame_ft = tree["flame_ft_a"] * stem_in ** tree["flame_ft_b"] * trees**0.4
        duration = tree["duration_c"] * stem_in ** tree["duration_d"] * trees**-0.2
        for ratio in (height_ft / flame_ft, flame_ft / np.maximum(height_ft, 1e-9)):
            rise_ft = _lofting(ratio, duration) * flame_ft + height_ft / 2.0
            for cover_ft, at_top in product((height_ft, np.zeros_like(height_ft)), (False, True)):
                readings.append(_flight_mi(rise_ft, cover_ft, wind_mph, at_top=at_top) * MILE)
    return np.array(readings)


def _surface_m(
    intensity_kw_per_m: NDArray[np.float64], wind_mps: NDArray[np.float64], cover_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Distances [m] by [reading, place] from a surface fire in a 20-ft wind."""
    blows = wind_mps > 0.0
    wind_mph = np.where(blows, wind_mps, 1.0) / MILE_PER_HOUR
    intensity = intensity_kw_per_m * 1000.0 / BTU_PER_FT_S
    rise_ft = 1.055 * np.sqrt(322.0 * (0.474 * wind_mph) ** -1.01 * intensity)
    drift_mi = 0.000278 * wind_mph * rise_ft**0.643
    readings = []
    for cover_ft, at_top in product((cover_m / FOOT, np.zeros_like(cover_m)), (False, True)):
        flight_mi = _flight_mi(rise_ft, cover_ft, wind_mph, at_top=at_top)
        readings += [flight_mi, flight_mi + drift_mi]
    spreads = blows & (intensity_kw_per_m > 0.0)
    return np.where(spreads, np.array(readings), 0.0) * MILE


def _wind_20ft_mps(
    weather: Weather,
    time: datetime,
    response: NDArray[np.float32] | None,
    cells: tuple[NDArray[np.intp], NDArray[np.intp]],
) -> NDArray[np.float64]:
    """The 20-ft wind of cells of a window; `response` of terrain over the same window."""
    hour = weather.at(time)
    if response is None:
        return np.full(cells[0].shape, hour.wind_mps / TEN_METRE_OVER_TWENTY_FOOT)
    blowing = np.array(along(hour.wind_from_deg + 180.0)) * hour.wind_mps
    here = response[cells].astype(float) @ blowing
    return np.asarray(np.hypot(here[..., 0], here[..., 1]) / TEN_METRE_OVER_TWENTY_FOOT)


def spotting_from(
    ground: Ground,
    weather: Weather,
    fields: FireFields,
    time: datetime,
    xy: ArrayLike,
    *,
    wind: TerrainWind | None = None,
) -> Spotting | None:
    """The farthest spot ahead of a fire's edge given by points [n, 2] [m]; None where it is unknown.

    Unknown: there are no points, the height of no tree along the spreading edge is known, or all that may
    burn there is of unknown fuel. A cell with trees sends brands where `fields.crown` lets them torch or
    does not know; where it does not, torching only makes the high end, because crown fire is known to be told
    too late. A cell without trees sends those of its surface fire at the head's intensity.

    Raises
    ------
    LookupError
        If a point lies off the fields' grid, or fields or weather do not cover the time.
    """
    points = np.asarray(xy, float).reshape(-1, 2)
    if not points.size:
        return None
    k = fields.slot((time - fields.start).total_seconds())
    intensity = np.asarray(fields.at(k, points[:, 0], points[:, 1]).head_intensity_kw_per_m, float)
    cells = fields.grid.index(points[:, 0], points[:, 1])
    spreads = intensity > 0.0
    if not spreads.any():
        unseen = fields.unknown is not None and bool(fields.unknown[cells].any())
        nothing = np.zeros((1, 1))
        return None if unseen else _band(nothing, "nothing spreads", "No fire spreads along this edge.")
    if ground.canopy_height_m is None:
        return None
    _, rows, cols = window(ground.grid, fields.grid)
    height_m = ground.canopy_height_m[rows, cols][cells].astype(float)
    known = spreads & np.isfinite(height_m)
    if not known.any():
        return None
    crown = None if fields.crown is None else fields.crown[k][cells]
    response = None if wind is None else wind.at(rows, cols)
    wind_mps = _wind_20ft_mps(weather, time, response, cells)
    edge = _Edge(intensity, height_m, wind_mps, known, crown)
    notes = _edge_notes(edge, unknown=int(np.count_nonzero(spreads & ~known)))
    return edge.farthest(notes)


@dataclass(frozen=True, slots=True)
class _Edge:
    """Points of an edge: head intensity, trees' height, 20-ft wind, whether they spread and are known, crowns."""

    intensity_kw_per_m: NDArray[np.float64]
    height_m: NDArray[np.float64]
    wind_mps: NDArray[np.float64]
    known: NDArray[np.bool_]
    crown: NDArray[np.uint8] | None

    @property
    def trees(self) -> NDArray[np.bool_]:
        return self.known & (self.height_m > 0.0)

    @property
    def torching(self) -> NDArray[np.bool_]:
        """Where trees torch, or may for all that is known."""
        return self.trees if self.crown is None else self.trees & (self.crown > 0)

    def farthest(self, notes: tuple[str, ...]) -> Spotting:
        """The farthest of all points."""
        found = []
        if self.torching.any():
            found.append(_band(self._torching_m(self.torching), "torching trees"))
        open_ground = self.known & ~self.trees
        if open_ground.any():
            readings = _surface_m(
                self.intensity_kw_per_m[open_ground], self.wind_mps[open_ground], self.height_m[open_ground]
            )
            found.append(_band(readings, "wind-driven surface fire"))
        high_m = 0.0
        if (self.trees & ~self.torching).any():
            high_m = float(self._torching_m(self.trees & ~self.torching).max())
        if not found:
            return Spotting(
                distance_m=0.0, low_m=0.0, high_m=high_m, from_what="torching trees",
                notes=(LOW_CONFIDENCE, *notes),
            )  # fmt: skip
        best = max(found, key=lambda s: s.distance_m)
        return Spotting(
            distance_m=best.distance_m,
            low_m=max(s.low_m for s in found),
            high_m=max(high_m, *(s.high_m for s in found)),
            from_what=best.from_what,
            notes=(LOW_CONFIDENCE, *notes),
        )

    def _torching_m(self, where: NDArray[np.bool_]) -> NDArray[np.float64]:
        alike = np.unique(np.column_stack([self.height_m[where], self.wind_mps[where]]), axis=0)
        return _torching_m(alike[:, 0], alike[:, 1])


def _edge_notes(edge: _Edge, *, unknown: int) -> tuple[str, ...]:
    notes = []
    if unknown:
        notes.append(
            f"Height of trees unknown at {unknown} points of the edge: spots from there may land farther."
        )
    if edge.crown is None and edge.trees.any():
        notes.append("Crown fire is not told here: every tree along the edge is taken as torching.")
    if edge.crown is not None:
        if np.any(edge.trees & (edge.crown == CROWN_UNKNOWN)):
            notes.append("Where it is not known whether trees torch, they are taken as torching.")
        if np.any(edge.trees & (edge.crown == 2)):
            notes.append(
                "An active crown fire throws brands farther than these models tell: no upper end is known."
            )
        if np.any(edge.trees & (edge.crown == 0)):
            notes.append(
                "Trees that do not torch by the models, which start crown fire too late, count for the high end."
            )
    return tuple(notes)
