"""What the ground pattern is held to, and how far each method misses it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, cast

import numpy as np

from wetline import tables
from wetline.drops.droplets import droplets
from wetline.drops.form import middle_shapes, middles
from wetline.drops.profile import longest_and_total_m
from wetline.drops.release import Release
from wetline.drops.resolve import resolve
from wetline.errors import WetlineError
from wetline.units import COVERAGE_LEVEL, FOOT, KNOT, US_GALLON_L

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.droplets import Droplets
    from wetline.drops.liquid import Agent
    from wetline.drops.release import Resolved

__all__ = [
    "Anchor",
    "Measured",
    "Method",
    "anchors",
    "by_droplets",
    "by_planning",
    "measured",
    "misfit",
    "misfit_rows",
    "value_of",
]

Kind = Literal["value", "range", "upper", "lower"]
_SPEEDS_KT = range(15, 91, 5)
_MOVED = {"speed_kt": (19.0, 54.0, 89.0), "height_ft": (25.0, 70.0, 120.0)}
_GUM_FT, _WATER_FT = (112.0, 315.0), (144.0, 201.0)  # Suter 2003
_TENTH = 0.1
_CORE_M = 20.0
_ACROSS_M = 6.0  # evens out single drops


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """One figure of `drop/anchors` and the release that it speaks of."""

    name: str
    quantity: str
    kind: Kind
    value: float | None
    low: float | None
    high: float | None
    unit: str
    level: float | None
    use: Literal["calibrate", "hold out"]
    known: str
    what: str
    source: str
    release: Release


def _release(row: Mapping[str, float | str | None]) -> Release:
    def number(name: str, factor: float) -> float | None:
        value = row[name]
        return None if value is None else float(value) * factor

    load, flow = number("load_gal", US_GALLON_L), number("flow_gal_per_s", US_GALLON_L)
    wind = number("wind_mps", 1.0)
    return Release(
        class_id=str(row["class_id"]),
        agent=cast("Agent", row["agent"]),
        load_l=load,
        duration_s=None if load is None or flow is None else load / flow,
        speed_mps=number("speed_kt", KNOT),
        height_m=number("height_ft", FOOT),
        wind_mps=wind,
        wind_from_deg=270.0,
        heading_deg=0.0,
        temperature_c=number("temperature_c", 1.0),
        humidity_pct=number("humidity_pct", 1.0),
    )


@lru_cache(maxsize=1)
def anchors() -> tuple[Anchor, ...]:
    """Every anchor, in the order of its table."""
    told = (
        "name",
        "quantity",
        "kind",
        "value",
        "low",
        "high",
        "unit",
        "level",
        "use",
        "known",
        "what",
        "source",
    )
    return tuple(
        Anchor(**{key: row[key] for key in told}, release=_release(row))
        for row in tables.load("drop/anchors").rows()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A pattern as an anchor asks for it, by either method. None: the method does not say.

    `coverage_l_per_m2`: float64[along, right] at `along_m` and `right_m`.
    """

    kurtosis_across: float
    drift_right_m: float
    evaporated_share: float
    ground_share: float
    forward_over_down: float | None
    vertical_depth_m: float | None
    along_m: NDArray[np.float64]
    right_m: NDArray[np.float64]
    coverage_l_per_m2: NDArray[np.float64]

    @property
    def _section(self) -> NDArray[np.float64]:
        """Mean coverage across the wettest `_CORE_M` of track, each point that of `_ACROSS_M`: float64[right]."""
        rows = max(round(_CORE_M / (self.along_m[1] - self.along_m[0])), 1)
        through = np.cumsum(np.vstack((np.zeros(self.right_m.size), self.coverage_l_per_m2)), axis=0)
        mean = (through[rows:] - through[:-rows]) / rows
        points = max(round(_ACROSS_M / (self.right_m[1] - self.right_m[0])), 1)
        return np.convolve(mean[mean.sum(axis=1).argmax()], np.full(points, 1.0 / points), mode="same")

    @property
    def spread_across_m(self) -> float:
        """Spread [m] of the Gaussian with the peak and the litres a metre of that section."""
        section = self._section
        litres_per_m = float(section.sum()) * float(self.right_m[1] - self.right_m[0])
        return litres_per_m / (math.sqrt(2.0 * math.pi) * float(section.max()))

    @property
    def peak_l_per_m2(self) -> float:
        """Greatest coverage [L/m²] of that section."""
        return float(self._section.max())

    def width_m(self, coverage_l_per_m2: float) -> float:
        """Width [m] of that section at a coverage."""
        return longest_and_total_m(self.right_m, self._section, coverage_l_per_m2)[1]

    def line_m(self, level: float) -> float:
        """Unbroken line [m] at a coverage level, where the section is wettest."""
        wettest = int(self._section.argmax())
        centre = self.coverage_l_per_m2[:, max(wettest - 1, 0) : wettest + 2].mean(axis=1)
        return longest_and_total_m(self.along_m, np.asarray(centre, float), level * COVERAGE_LEVEL)[0]


Method: TypeAlias = "Callable[[Release], Measured]"


def by_planning(release: Release) -> Measured:
    """A pattern by the planning form."""
    resolved = resolve(release)
    shape, found = middle_shapes([resolved]), middles([resolved])
    along, across = float(shape.spread_along_m[0]), float(shape.spread_across_m[0])
    reach = float(shape.track.reach_m[0]) + 5.0 * along
    x = np.arange(-reach, reach, 1.0)
    y = np.arange(-5.0 * across, 5.0 * across, 0.5)
    section = np.exp(-0.5 * (y / across) ** 2)
    return Measured(
        kurtosis_across=3.0,
        drift_right_m=float(found.drift_right_m[0]),
        evaporated_share=float(found.lost_share[0]),
        ground_share=1.0 - float(found.lost_share[0]),
        forward_over_down=None,
        vertical_depth_m=None,
        along_m=x,
        right_m=y,
        coverage_l_per_m2=np.outer(shape.centre_l_per_m2(x)[0], section),
    )


def by_droplets(
    release: Release, *, parcels: int = 100_000, settings: DropletSettings | None = None
) -> Measured:
    """A pattern by the droplet model."""
    resolved = resolve(release)
    return measured(resolved, droplets(resolved, parcels=parcels, settings=settings))


def measured(resolved: Resolved, found: Droplets) -> Measured:
    """What the droplet model found of a load, as an anchor asks for it."""
    return Measured(
        kurtosis_across=found.kurtosis_across,
        drift_right_m=found.drift_right_m,
        evaporated_share=found.evaporated_l / resolved.load_l,
        ground_share=found.landed_l / resolved.load_l,
        forward_over_down=found.forward_over_down,
        vertical_depth_m=found.vertical_depth_m,
        along_m=found.raster.along_m,
        right_m=found.raster.right_m,
        coverage_l_per_m2=found.raster.coverage_l_per_m2,
    )


def _line(method: Method, anchor: Anchor, **changed: Any) -> float:  # noqa: ANN401  fields of a release
    return method(replace(anchor.release, **changed)).line_m(_level(anchor))


def _level(anchor: Anchor) -> float:
    if anchor.level is None:
        message = f"anchor {anchor.name} names no level"
        raise WetlineError(message)
    return anchor.level


def _width(anchor: Anchor, method: Method) -> float:
    return method(anchor.release).width_m(_level(anchor) * COVERAGE_LEVEL)


def _best_speed_kt(anchor: Anchor, method: Method) -> float | None:
    """The speed with the longest line; None where no speed reaches the level."""
    lines = [_line(method, anchor, speed_mps=kt * KNOT) for kt in _SPEEDS_KT]
    return float(_SPEEDS_KT[int(np.argmax(lines))]) if max(lines) > 0.0 else None


def _speed_over_height(anchor: Anchor, method: Method) -> float:
    speeds = [_line(method, anchor, speed_mps=kt * KNOT) for kt in _MOVED["speed_kt"]]
    middle = _MOVED["speed_kt"][1] * KNOT
    heights = [_line(method, anchor, speed_mps=middle, height_m=ft * FOOT) for ft in _MOVED["height_ft"]]
    moved = max(heights) - min(heights)
    return (max(speeds) - min(speeds)) / moved if moved else math.inf


def _in_calm(anchor: Anchor, method: Method) -> tuple[Measured, Measured]:
    return method(anchor.release), method(replace(anchor.release, wind_mps=0.0))


def _wind_width_ratio(anchor: Anchor, method: Method) -> float:
    windy, calm = _in_calm(anchor, method)
    return windy.width_m(_TENTH * windy.peak_l_per_m2) / calm.width_m(_TENTH * calm.peak_l_per_m2)


def _wind_peak_ratio(anchor: Anchor, method: Method) -> float:
    windy, calm = _in_calm(anchor, method)
    return windy.peak_l_per_m2 / calm.peak_l_per_m2


def _gum_and_water(anchor: Anchor, method: Method) -> tuple[list[float], list[float]]:
    """Lines of gum and of water from the heights of the test, lower first, at flow setting 6."""
    gum, water = (
        [_line(method, anchor, agent=agent, height_m=feet * FOOT, setting=6.0) for feet in heights]
        for agent, heights in ((anchor.release.agent, _GUM_FT), ("water", _WATER_FT))
    )
    return gum, water


def _gum_over_water(anchor: Anchor, method: Method) -> float:
    gum, water = _gum_and_water(anchor, method)
    moved = abs(water[1] - water[0])
    return abs(gum[1] - gum[0]) / moved if moved else math.inf


def _gum_line_ratio(anchor: Anchor, method: Method) -> float:
    gum, water = _gum_and_water(anchor, method)
    return gum[1] / water[0] if water[0] else math.inf


_QUANTITIES: Mapping[str, Callable[[Anchor, Method], float | None]] = {
    "best_speed_kt": _best_speed_kt,
    "gum_line_ratio": _gum_line_ratio,
    "gum_over_water": _gum_over_water,
    "line_m": lambda anchor, method: _line(method, anchor),
    "speed_over_height": _speed_over_height,
    "width_m": _width,
    "wind_peak_ratio": _wind_peak_ratio,
    "wind_width_ratio": _wind_width_ratio,
}
"""Quantities that take more than one release, or a level. Others are fields of `Measured`."""


def value_of(anchor: Anchor, method: Method) -> float | None:
    """What a method gives for an anchor. None: the method does not say, or no case reaches the level."""
    found = _QUANTITIES.get(anchor.quantity)
    if found is not None:
        return found(anchor, method)
    return cast("float | None", getattr(method(anchor.release), anchor.quantity))


def misfit(anchor: Anchor, value: float | None) -> str:
    """How a value stands to an anchor, in words."""
    if value is None:
        return "does not say"
    if anchor.kind == "value":
        aim = anchor.value or 0.0
        return f"{100.0 * (value / aim - 1.0):+.0f} %"
    if anchor.low is not None and value < anchor.low:
        return f"missed: {100.0 * (value / anchor.low - 1.0):+.0f} % under the least"
    if anchor.high is not None and value > anchor.high:
        return f"missed: {100.0 * (value / anchor.high - 1.0):+.0f} % over the most"
    return "held"


def _held_to(anchor: Anchor) -> str:
    unit = f" {anchor.unit}".rstrip()
    if anchor.kind == "value":
        return f"{anchor.value:g}{unit}"
    if anchor.kind == "range":
        return f"{anchor.low:.3g} to {anchor.high:.3g}{unit}"
    return (
        f"at most {anchor.high:.3g}{unit}" if anchor.kind == "upper" else f"at least {anchor.low:.3g}{unit}"
    )


def _given(anchor: Anchor, method: Method) -> str:
    value = value_of(anchor, method)
    stands = misfit(anchor, value)
    return stands if value is None else f"{value:.2g}: {stands}" if value < 1 else f"{value:.3g}: {stands}"


def misfit_rows(parcels: int) -> list[str]:
    """The table of `docs/drop-model.md`: every anchor, what each method gives, and how it stands to it."""
    ways = (by_planning, lambda release: by_droplets(release, parcels=parcels))
    rows = [
        "| anchor | held to | planning form | droplet model | use | known | source |",
        "|---|---|---|---|---|---|---|",
    ]
    for anchor in anchors():
        planning, model = (_given(anchor, way) for way in ways)
        cells = (anchor.what, _held_to(anchor), planning, model, anchor.use, anchor.known, anchor.source)
        rows.append("| " + " | ".join(cells) + " |")
    return rows
