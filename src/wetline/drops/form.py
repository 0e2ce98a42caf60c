"""The planning form: litres along the track, Gaussian across it, with each input varied in turn.

c(x, y) = G q(x)/(√(2π) σ_y) exp(−(y − y_d)²/2σ_y²): q the load a metre of track, smeared; G the share
that reaches the ground; y_d the drift. The Gaussian cross-section is the finding of Legendre et al.
2014, Int. J. Wildland Fire 23:272 (abstract). Width, smear, throw, drift and loss are relations fitted to
the droplet model (`relations`). Drift widens the pattern, for small drops drift farther than large ones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.fall import wind_drift_s
from wetline.drops.planning import setting
from wetline.drops.profile import lengths_m, peak_per_m, smeared_per_m, tracks_of
from wetline.drops.relations import FEATURES, crabbed, features, fitted, scatter
from wetline.model import Band
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.drops.profile import Track
    from wetline.drops.release import Resolved

__all__ = [
    "BAND_FROM",
    "VARIED",
    "FormParameters",
    "Middles",
    "Shape",
    "bands_and_sums_m",
    "bands_m",
    "bands_of",
    "edge_m",
    "joined_band",
    "middle_shapes",
    "middles",
    "parameters",
    "shape_of",
    "shapes_of",
    "slack",
    "varied_shapes",
]

BAND_FROM = (
    "each of spread across, smear, drift spread, share reaching the ground, canopy, load and flow time "
    "moved alone to the ends of its range, which holds the scatter of the droplet model about the form, the "
    "changes joined as the root of the sum of their squares"
)
VARIED = ("across", "smear", "drift", "ground", "canopy", "load", "duration")
"""What is moved for a band, in the order of the variants of a shape: middle, then low and high of each."""
_VARIANTS = 1 + 2 * len(VARIED)
_BAND_80 = 1.2816  # standard deviations of a normal on either side of the middle 80 %


@dataclass(frozen=True, slots=True, kw_only=True)
class Middles:
    """Middle values of the form: float64[load] each, lengths [m] in calm, drift [m] in the wind told.

    `smear_along_m`: beyond the length over which the load leaves. `throw_m`: how far ahead of where it
    leaves the load comes down, along the track. `carried_*`: by the wind alone; `drift_*`: with what is
    thrown to windward, as far as the aircraft points there. `drift_spread`: spread [m] for each metre that the wind
    carries it that way, as small drops go farther; `eddy_spread`: for each metre carried any way.
    `lost_share`: of the load, evaporated on the way.
    """

    spread_across_m: NDArray[np.float64]
    smear_along_m: NDArray[np.float64]
    throw_m: NDArray[np.float64]
    carried_along_m: NDArray[np.float64]
    carried_right_m: NDArray[np.float64]
    drift_along_m: NDArray[np.float64]
    drift_right_m: NDArray[np.float64]
    drift_spread: NDArray[np.float64]
    eddy_spread: NDArray[np.float64]
    lost_share: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormParameters:
    """The same of one load, each with its band. `ground_share`: of the load, before any canopy.

    A drift's band is that of the drop sizes of the agent and the scatter of the fit.
    """

    spread_across_m: Band
    smear_along_m: Band
    throw_m: Band
    drift_along_m: Band
    drift_right_m: Band
    drift_spread: Band
    ground_share: Band


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


def middles(
    resolved: Sequence[Resolved], drop_mm: NDArray[np.float64] | None = None, *, carried: float = 1.0
) -> Middles:
    """The middle of every parameter of many loads at once.

    `drop_mm`: for other median drops than theirs; `carried`: times as far by the wind.
    """
    numbers = features(resolved)
    if drop_mm is not None:
        numbers[:, FEATURES.index("drop")] = drop_mm
    height, drop = (numbers[:, FEATURES.index(name)] for name in ("height", "drop"))
    form = fitted(numbers)
    seconds = carried * form["drift_ratio"] * wind_drift_s(height, drop)
    along = seconds * np.array([r.wind_along_mps for r in resolved])
    right = seconds * np.array([r.wind_right_mps for r in resolved])
    ahead, windward = crabbed(resolved)
    return Middles(
        spread_across_m=form["spread_across_m"],
        smear_along_m=form["smear_along_m"],
        throw_m=ahead * form["throw_m"],
        carried_along_m=along,
        carried_right_m=right,
        drift_along_m=along,
        drift_right_m=right - windward * form["throw_m"],
        drift_spread=form["drift_spread"],
        eddy_spread=form["eddy_spread"],
        lost_share=-np.expm1(-form["lost"] - form["lost_broken"]),
    )


def edge_m(resolved: Sequence[Resolved]) -> NDArray[np.float64]:
    """From the line to where all but half a per cent of each load lies [m], drift included: float64[load].

    The high end: nine loads in ten of the droplet model keep within it. Fine drops go about twice as far as
    the middle, so that spreads across do not tell it.
    """
    form, found = fitted(features(resolved)), middles(resolved)
    right, anyway = np.abs(found.carried_right_m), np.hypot(found.carried_along_m, found.carried_right_m)
    blown = form["drift_edge"] * right + form["eddy_edge"] * anyway
    calm, windy = (math.exp(_BAND_80 * scatter(n)) for n in ("edge_across_m", "drift_edge"))
    return np.asarray(calm * form["edge_across_m"] + windy * blown, float)


@lru_cache(maxsize=16)
def slack(prior: str, relation: str) -> tuple[float, float]:
    """Factors by which a fitted parameter may be less and more than its middle.

    `prior`: the row of `drop/planning` with the factors that what nobody knows allows; `relation`: the
    fitted one, whose scatter joins them (80 %), as the root of the sum of squares of the logarithms.
    """
    known, apart = setting(prior), _BAND_80 * scatter(relation)
    low, high = (math.hypot(math.log(end), apart) for end in (known.low, known.high))
    return math.exp(-low), math.exp(high)


def _across_slack(resolved: Resolved) -> str:
    return "across_slack_constant" if resolved.mode == "constant" else "across_slack_salvo"


def _ground(lost: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share that comes down: middle, low and high, float64[3, load].

    Its range is the one that drop tests are said to find again, and at least the scatter of the fit.
    """
    known, middle = setting("ground_fraction"), 1.0 - lost
    apart = _BAND_80 * scatter("lost")
    high = np.minimum(np.maximum(middle + apart, known.high), 1.0)  # no more than the load comes down
    return np.stack((middle, np.clip(middle - apart, 0.0, known.low), high))


def parameters(resolved: Resolved) -> FormParameters:
    """The parameters of one load with their bands."""
    found, size = middles([resolved]), resolved.liquid.median_mm
    ends = (size.middle if size.low is None else size.low, size.middle if size.high is None else size.high)
    farther = math.exp(_BAND_80 * scatter("drift_ratio"))
    small, large = (
        middles([resolved], np.array([end]), carried=share)
        for end, share in zip(ends, (farther, 1.0 / farther), strict=True)
    )
    middle, low, high = _ground(found.lost_share)

    def scaled(value: NDArray[np.float64], prior: str, relation: str) -> Band:
        down, up = slack(prior, relation)
        return Band(float(value[0]), down * float(value[0]), up * float(value[0]))

    def drifted(name: str) -> Band:
        mean, far, near = (float(getattr(m, name)[0]) for m in (found, small, large))
        low_m, high_m = sorted((far, near))
        return Band(mean, min(low_m, mean), max(high_m, mean))

    return FormParameters(
        spread_across_m=scaled(found.spread_across_m, _across_slack(resolved), "spread_across_m"),
        smear_along_m=scaled(found.smear_along_m, "smear_slack", "smear_along_m"),
        throw_m=scaled(found.throw_m, "throw_slack", "throw_m"),
        drift_along_m=drifted("drift_along_m"),
        drift_right_m=drifted("drift_right_m"),
        drift_spread=scaled(found.drift_spread, "drift_spread_slack", "drift_spread"),
        ground_share=Band(float(middle[0]), float(low[0]), float(high[0])),
    )


def _ranges(resolved: Sequence[Resolved], found: Middles) -> NDArray[np.float64]:
    """Middle, low and high of each of `VARIED`, `drift` and `duration` as factors: float64[load, varied, 3]."""
    out = np.empty((len(resolved), len(VARIED), 3))
    out[:, 0, 0], out[:, 1, 0], out[:, 2, 0] = found.spread_across_m, found.smear_along_m, 1.0
    out[:, 0, 1:] = [slack(_across_slack(r), "spread_across_m") for r in resolved]
    out[:, 1, 1:] = slack("smear_slack", "smear_along_m")
    out[:, 2, 1:] = slack("drift_spread_slack", "drift_spread")
    out[:, :3, 1:] *= out[:, :3, :1]
    out[:, 3] = _ground(found.lost_share).T
    for i, name in ((4, "canopy_k"), (5, "load_share")):
        known = setting(name)
        out[:, i] = known.value, known.low, known.high
    out[:, 6] = [(1.0, r.duration_low_s / r.duration_s, r.duration_high_s / r.duration_s) for r in resolved]
    return out


def _shape(resolved: Sequence[Resolved], found: Middles, values: NDArray[np.float64]) -> Shape:
    """Loads with their `VARIED` values: float64[load, variant, varied]; a row for each load and variant."""
    variants = values.shape[1]
    across, smear, drift, ground, canopy, load, stretch = values.reshape(-1, len(VARIED)).T
    along_m, right_m = found.carried_along_m, found.carried_right_m
    eddies = found.eddy_spread * np.hypot(along_m, right_m)
    blown_along, blown_right = (
        drift * np.repeat(np.hypot(found.drift_spread * m, eddies), variants) for m in (along_m, right_m)
    )
    litres, leaf_area, ground_speed, duration = np.repeat(
        [(r.load_l, r.leaf_area or 0.0, r.ground_speed_mps, r.duration_s) for r in resolved], variants, axis=0
    ).T
    return Shape(
        litres=litres * load * ground * np.exp(-canopy * leaf_area),
        length_m=ground_speed * stretch * duration,
        spread_along_m=np.hypot(smear, blown_along),
        spread_across_m=np.hypot(across, blown_right),
        track=tracks_of([r.flow for r in resolved for _ in range(variants)], ground_speed, stretch),
    )


def middle_shapes(resolved: Sequence[Resolved]) -> Shape:
    """The middle of each load, a row each."""
    found = middles(resolved)
    return _shape(resolved, found, _ranges(resolved, found)[:, None, :, 0])


def varied_shapes(resolved: Sequence[Resolved]) -> Shape:
    """Each load's middle, then each of `VARIED` at its low and its high end: as many rows for every load."""
    found = middles(resolved)
    ranges = _ranges(resolved, found)
    values = np.repeat(ranges[:, None, :, 0], _VARIANTS, axis=1)
    for i in range(len(VARIED)):
        values[:, 1 + 2 * i : 3 + 2 * i, i] = ranges[:, i, 1:]
    return _shape(resolved, found, values)


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
    levels, where = _with_ladder(levels_l_per_m2)
    return _bands(shapes.lines_m(levels)[0], where)


def bands_and_sums_m(
    shapes: Shape, levels_l_per_m2: NDArray[np.float64]
) -> tuple[list[Band], NDArray[np.float64]]:
    """`bands_of` for the shapes of one load, and each variant's summed line [m]: float64[variant, level]."""
    levels, where = _with_ladder(levels_l_per_m2)
    longest, summed = shapes.lines_m(levels)
    return _bands(longest, where)[0], summed[:, where]


def _with_ladder(levels_l_per_m2: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """The levels and the lower steps of the ladder, in order, and which of them were asked for."""
    asked = np.asarray(levels_l_per_m2, float)
    levels, where = np.unique(np.append(asked, _LADDER[asked.max() > _LADDER]), return_inverse=True)
    return levels, where[: asked.size]


def _bands(longest_m: NDArray[np.float64], where: NDArray[np.intp]) -> list[list[Band]]:
    middle, low, high = joined_band(longest_m.reshape(-1, _VARIANTS, longest_m.shape[1]))
    low, high = np.minimum.accumulate(low, axis=1), np.minimum.accumulate(high, axis=1)
    return [
        [Band(float(m[i]), float(max(lo[i], 0.0)), float(hi[i])) for i in where]
        for m, lo, hi in zip(middle, low, high, strict=True)
    ]


def joined_band(variants: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Middle, low and high of float64[load, variant, …], the variants as in `varied_shapes`.

    Of each input the greater change to either side counts; changes of different inputs join as the root
    of the sum of their squares.
    """
    middle = variants[:, 0]
    change = variants[:, 1:] - variants[:, :1]
    ends = change.reshape(change.shape[0], -1, 2, *change.shape[2:])
    down = np.sqrt((np.minimum(ends, 0.0).min(axis=2) ** 2).sum(axis=1))
    up = np.sqrt((np.maximum(ends, 0.0).max(axis=2) ** 2).sum(axis=1))
    return middle, middle - down, middle + up


def bands_m(shapes: Shape, levels_l_per_m2: NDArray[np.float64]) -> list[Band]:
    """Lines [m] with their bands at each level for the shapes of one load."""
    return bands_of(shapes, levels_l_per_m2)[0]
