"""The cross-section through the thickest place, and the line by level with its band."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.ink import INK, INK_2, dot, line, path, round_step, text
from wetline.drops.measure import centre_line
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.result import DropResult

__all__ = ["across", "lines_by_level", "section"]

Box = tuple[float, float, float, float]
_LEAST_SHARE = 0.004
_FINE = 6
_TENTH = 0.095
_NAMES = {"planning": "planning form", "droplets": "drop by drop"}


def section(result: DropResult) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Metres right of the middle of the pattern, and the coverage [L/m²] there, across its thickest place.

    Between cell middles by a smooth curve. The middle of a trail of doors may be a gap.
    """
    from scipy.interpolate import Akima1DInterpolator  # noqa: PLC0415  slow to import, for a picture alone

    raster, offset = result.raster, result.release_offset_m
    thickest = int(centre_line(raster, -offset["right"]).argmax())
    fine = np.linspace(raster.right_m[0], raster.right_m[-1], _FINE * raster.right_m.size)
    coverage = Akima1DInterpolator(raster.right_m, raster.coverage_l_per_m2[thickest])(fine)
    return fine + offset["right"], np.maximum(coverage, 0.0)


def across(result: DropResult, beside: DropResult | None, box: Box, ink: str) -> list[str]:
    """Coverage across the thickest place: filled, and the other method as a broken line."""
    left, top, wide, high = box
    shown = [section(r) for r in (result, beside) if r is not None]
    top_l = max(float(c.max()) for _, c in shown)
    reach = max(float(np.abs(y[c > _LEAST_SHARE * top_l]).max()) for y, c in shown)
    out = [text(left - 30, top - 16, "Across the thickest place: litres a square metre", strong=True)]
    for name in result.fall.levels:
        at = top + high * (1.0 - 0.94 * float(name) * COVERAGE_LEVEL / top_l)
        if at >= top:
            out += [line(left, at, left + wide, at), text(left + wide + 6, at + 5, name, colour=INK_2)]
    for i, (y, c) in enumerate(shown):
        inside = np.abs(y) <= reach
        px = left + wide * (y[inside] + reach) / (2 * reach)
        py = top + high * (1.0 - 0.94 * c[inside] / top_l)
        curve = [*zip(px, py, strict=True)]
        if i == 0:
            ground = [(px[0], top + high), *curve, (px[-1], top + high)]
            out.append(path(ground, close=True, fill=ink, fill_opacity=0.18))
        colour, dash = (ink, "none") if i == 0 else (INK, "7 5")
        out.append(path(curve, fill="none", stroke=colour, stroke_width=2.5, stroke_dasharray=dash))
    out.append(line(left, top + high, left + wide, top + high, colour=INK, wide=1.5))
    out.append(
        text(
            left - 6,
            top + 0.06 * high + 5,
            f"{top_l:.1f}" if top_l >= _TENTH else f"{top_l:.2g}",
            anchor="end",
            strong=True,
        )
    )
    step = round_step(2 * reach)
    for k in range(-math.floor(reach / step), math.floor(reach / step) + 1):
        at = left + wide * (k * step + reach) / (2 * reach)
        words = "middle" if k == 0 else f"{abs(k * step):g} m"
        out += [
            line(at, top + high, at, top + high + 6, colour=INK),
            text(at, top + high + 22, words, anchor="middle"),
        ]
    return [*out, text(left + wide + 6, top - 2, "level", colour=INK_2)]


def lines_by_level(result: DropResult, beside: DropResult | None, box: Box, ink: str) -> list[str]:
    """A dot for the middle, a whisker for the band, the figures beside; the other method hollow below."""
    left, top, wide, high = box
    shown = [(result, ink, False)] + ([] if beside is None else [(beside, INK, True)])
    room = wide - 150.0
    longest = max(at.line_m.high or at.line_m.middle for r, _, _ in shown for at in r.fall.levels.values())
    scale = room / max(longest, 1.0)
    row = high / len(result.fall.levels)
    out = [text(left - 30, top - 16, "Unbroken line by coverage level, metres", strong=True)]
    step = round_step(max(longest, 1.0), 4.0)
    for k in range(math.floor(longest / step) + 1):
        x = left + k * step * scale
        out += [
            line(x, top, x, top + high),
            text(x, top + high + 18, f"{k * step:g}", anchor="middle", colour=INK_2),
        ]
    for i, name in enumerate(result.fall.levels):
        y = top + (i + 0.5) * row
        out.append(text(left - 10, y + 5, name, anchor="end", strong=True))
        for j, (r, colour, hollow) in enumerate(shown):
            out += _whisker(
                r, name, (left, y + (j - 0.5 * (len(shown) - 1)) * 0.46 * row), scale, (colour, hollow)
            )
    if beside is not None:
        out += _key(shown, left + room - 60, top - 16)
    return out


def _whisker(
    result: DropResult, name: str, start: tuple[float, float], scale: float, look: tuple[str, bool]
) -> list[str]:
    (left, y), band = start, result.fall.levels[name].line_m
    middle, (colour, hollow) = band.middle, look
    low, high = (middle if end is None else end for end in (band.low, band.high))
    ends = "" if band.low is None or band.high is None else f" ({low:.0f}–{high:.0f})"
    at = left + high * scale + 10
    return [
        line(left + low * scale, y, left + high * scale, y, colour=colour, wide=2.5),
        dot(left + middle * scale, y, colour=colour, hollow=hollow),
        text(at, y + 5, f"{middle:.0f}", strong=True),
        text(at + 9.4 * len(f"{middle:.0f}") + 3, y + 5, ends.strip(), colour=INK_2),
    ]


def _key(shown: list[tuple[DropResult, str, bool]], x: float, y: float) -> list[str]:
    out = []
    for i, (result, colour, hollow) in enumerate(shown):
        at = x + 125 * i
        out += [
            dot(at, y - 5, colour=colour, hollow=hollow),
            text(at + 10, y, "tests and form" if _measured(result) else _NAMES[result.by], colour=INK_2),
        ]
    return out


def _measured(result: DropResult) -> bool:
    """Whether own drop tests tell any line, as the foot of the page says level by level."""
    return "table" in result.line_from.values()
