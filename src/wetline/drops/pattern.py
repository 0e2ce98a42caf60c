"""The ground pattern of one load: size, line by coverage level, drift, and where every litre goes."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.checks import release_findings
from wetline.drops.danger import safe_height_m, stand_off_m
from wetline.drops.form import (
    BAND_FROM,
    bands_m,
    drift_m,
    drop_size,
    evaporated_share,
    shape_of,
    shapes_of,
    spread_setting,
)
from wetline.drops.planning import setting
from wetline.drops.profile import longest_and_total_m, smeared_share_per_m
from wetline.drops.release import Input, resolve
from wetline.model import shipped_limits
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.drops.form import Shape
    from wetline.drops.release import Release, Resolved
    from wetline.model import Finding, Limits

__all__ = [
    "EDGE_L_PER_M2",
    "LEVELS",
    "METHOD",
    "DropResult",
    "PatternRaster",
    "PatternSize",
    "half_width_m",
    "pattern",
]

LEVELS = ("0.5", "1", "2", "3", "4", "6")
"""Coverage levels of every answer, US gal/100 ft²."""
EDGE_L_PER_M2 = 0.2
"""The contour that is called the edge of the pattern."""
_REACH = 4.5
_CELL_M = 2.0

METHOD = (
    "Planning form, not calibrated on drop tests: expect ±50 % against a measured drop. A trapezoid of flow "
    "is laid along the track and smeared, with a Gaussian across it (Legendre et al. 2014, abstract) whose "
    "spread does not grow with height in calm air, as no relation could be read. Lines lie on the centre "
    "line. Evaporation is an upper bound for the drop sizes assumed. The target is the middle of the "
    "pattern; release_offset_m is where the doors open, along the run and to its right, seen from there. "
    f"Bands: {BAND_FROM}."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternSize:
    """The contour of 0.2 L/m²: length and width [m], mean inside it and peak [L/m²]. No contour, no mean."""

    length_m: float
    width_m: float
    mean_l_per_m2: float | None
    peak_l_per_m2: float


@dataclass(frozen=True, slots=True)
class PatternRaster:
    """Coverage [L/m²], float64[along, right], at cell middles [m] from the middle of the pattern."""

    along_m: NDArray[np.float64]
    right_m: NDArray[np.float64]
    coverage_l_per_m2: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class DropResult:
    """What one load does. Names are those of the JSON answer; `raster` and `half_width_m` are extra.

    `line_m_by_level`: longest unbroken line on the centre line [m] by coverage level; `_summed` adds
    what lies beyond gaps. `drift_*_m`: of the planning drop size. `release_offset_m`: where the doors
    open, from the target. The four shares [%] are counted on the raster, not forced to 100.
    `half_width_m`: from the line to the edge of everything wetted, drift included.
    """

    pattern: PatternSize
    line_m_by_level: Mapping[str, float]
    line_m_summed_by_level: Mapping[str, float]
    line_m_low_by_level: Mapping[str, float]
    line_m_high_by_level: Mapping[str, float]
    drift_right_m: float
    drift_along_m: float
    release_offset_m: Mapping[str, float]
    evaporated_pct: float
    canopy_pct: float
    reaching_ground_pct: float
    off_grid_pct: float
    safe_height_m: float
    stand_off_m: float
    half_width_m: float
    inputs: Mapping[str, Input]
    findings: tuple[Finding, ...]
    method: str = METHOD
    raster: PatternRaster = field(repr=False, compare=False)


def _raster(shape: Shape) -> tuple[PatternRaster, float]:
    """The pattern on cells, and the litres that the form lays beyond them."""
    length, ramp = float(shape.length_m[0]), float(shape.ramp_m[0])
    along, across = float(shape.spread_along_m[0]), float(shape.spread_across_m[0])
    cell = min(_CELL_M, along / 2.0, across / 2.0)
    rows = math.ceil((0.5 * (length + ramp) + _REACH * along) / cell)
    cols = math.ceil(_REACH * across / cell)
    x = np.asarray((np.arange(-rows, rows) + 0.5) * cell, float)
    y = np.asarray((np.arange(-cols, cols) + 0.5) * cell, float)
    share = smeared_share_per_m(x, length, ramp, along)
    section = np.exp(-0.5 * (y / across) ** 2) / (math.sqrt(2.0 * math.pi) * across)
    litres = float(shape.litres[0])
    tail = _tail(rows * cell, length, ramp, along)
    inside = (1.0 - tail) * math.erf(cols * cell / (math.sqrt(2.0) * across))
    return PatternRaster(x, y, litres * np.outer(share, section)), litres * (1.0 - inside)


def _tail(end_m: float, length_m: float, ramp_m: float, spread_m: float) -> float:
    """Share of the load that falls beyond ±`end_m` along the track; at most that of its longest flow."""
    nearest = (end_m - 0.5 * (length_m + ramp_m)) / spread_m
    return math.erfc(nearest / math.sqrt(2.0))


def half_width_m(resolved: Resolved) -> float:
    """From the line to the edge of everything wetted [m]: three spreads across, and the whole drift."""
    return 3.0 * float(shape_of(resolved).spread_across_m[0]) + abs(drift_m(resolved)[1])


def _size(shape: Shape, raster: PatternRaster, length_m: float) -> PatternSize:
    peak = float(shape.peak_l_per_m2[0])
    width = 0.0
    if peak > EDGE_L_PER_M2:
        width = 2.0 * float(shape.spread_across_m[0]) * math.sqrt(2.0 * math.log(peak / EDGE_L_PER_M2))
    wet = raster.coverage_l_per_m2[raster.coverage_l_per_m2 >= EDGE_L_PER_M2]
    return PatternSize(
        length_m=length_m,
        width_m=width,
        mean_l_per_m2=float(wet.mean()) if wet.size else None,
        peak_l_per_m2=peak,
    )


def _form_inputs(resolved: Resolved) -> dict[str, Input]:
    """Every parameter of the form that was used, with its range and source."""
    used = {
        "spread_across_m": spread_setting(resolved),
        "smear_along_s": setting("smear_along_s"),
        "drift_spread": setting("drift_spread"),
        "door_ramp_s": setting("door_ramp_s"),
        "forward_throw_s": setting("forward_throw_s"),
        "drop_size_mm": drop_size(resolved),
        "drop_size_exponent": setting("drop_size_exponent"),
        "roughness_m": setting("roughness_m"),
        "canopy_k": setting("canopy_k"),
        "load_share": setting("load_share"),
    }
    out = {name: Input(s.value, s.unit, "default", s.source, s.low, s.high) for name, s in used.items()}
    ground = setting("ground_fraction")
    out["ground_fraction"] = Input(
        1.0 - evaporated_share(resolved), ground.unit, "computed", ground.source, ground.low, ground.high
    )
    return out


def pattern(release: Release, limits: Limits | None = None) -> DropResult:
    """The ground pattern of one load, in the planning form.

    Raises
    ------
    InputError
        For an unknown class or agent, or a wind without direction.
    OutsideRangeError
        For a number outside the range in which the form makes sense.
    """
    limits = limits or shipped_limits()
    resolved = resolve(release)
    shape, shapes = shape_of(resolved), shapes_of(resolved)
    levels = np.array([float(level) * COVERAGE_LEVEL for level in LEVELS])
    *bands, edge = bands_m(shapes, np.append(levels, EDGE_L_PER_M2))
    raster, off_l = _raster(shape)
    centre = _centre_line(shape, raster)
    cell_m2 = float((raster.along_m[1] - raster.along_m[0]) ** 2)
    evaporated = evaporated_share(resolved)
    kept = 1.0 - math.exp(-setting("canopy_k").value * (resolved.leaf_area or 0.0))
    along, right = drift_m(resolved)
    throw = setting("forward_throw_s").value * resolved.speed_mps
    safe = safe_height_m(resolved.load_l, resolved.flow_l_per_s)
    half_width = half_width_m(resolved)
    return DropResult(
        pattern=_size(shape, raster, edge.middle),
        line_m_by_level={name: band.middle for name, band in zip(LEVELS, bands, strict=True)},
        line_m_summed_by_level={
            name: longest_and_total_m(raster.along_m, centre, level)[1]
            for name, level in zip(LEVELS, levels, strict=True)
        },
        line_m_low_by_level={name: float(band.low or 0.0) for name, band in zip(LEVELS, bands, strict=True)},
        line_m_high_by_level={
            name: float(band.high or 0.0) for name, band in zip(LEVELS, bands, strict=True)
        },
        drift_right_m=right,
        drift_along_m=along,
        release_offset_m={"along": -(along + throw + 0.5 * float(shape.length_m[0])), "right": 0.0 - right},
        evaporated_pct=100.0 * evaporated,
        canopy_pct=100.0 * (1.0 - evaporated) * kept,
        reaching_ground_pct=100.0 * float(raster.coverage_l_per_m2.sum()) * cell_m2 / resolved.load_l,
        off_grid_pct=100.0 * off_l / resolved.load_l,
        safe_height_m=safe,
        stand_off_m=stand_off_m(resolved.class_id, half_width, limits),
        half_width_m=half_width,
        inputs={**resolved.inputs, **_form_inputs(resolved)},
        findings=release_findings(resolved, safe, limits),
        raster=raster,
    )


def _centre_line(shape: Shape, raster: PatternRaster) -> NDArray[np.float64]:
    """Coverage [L/m²] on the centre line itself, which runs between two rows of cells."""
    share = smeared_share_per_m(raster.along_m, shape.length_m[0], shape.ramp_m[0], shape.spread_along_m[0])
    return np.asarray(share * shape.litres[0] / (math.sqrt(2.0 * math.pi) * shape.spread_across_m[0]), float)
