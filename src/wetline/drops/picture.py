"""A plain picture of one ground pattern: plan with contours, cross-section, lines by level.

Contours come from the form itself: at a place where the centre line carries c, the contour of a level
lies σ √(2 ln(c/level)) to each side. Blue is water on the ground; each contour has its number.
"""

from __future__ import annotations

import math
import os
import tempfile
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.result import EDGE_L_PER_M2, LEVELS
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.result import DropResult

__all__ = ["picture", "picture_svg"]

_WIDE, _HIGH = 900.0, 620.0
_INK, _RULE, _WET = "#14202B", "#C2CACF", "#0B4A86"
_FONT = "Atkinson Hyperlegible Next"
_PLAN = (70.0, 60.0, 780.0, 190.0)  # left, top, wide, high
_SECTION = (70.0, 330.0, 330.0, 220.0)
_BARS = (490.0, 330.0, 360.0, 220.0)


def _text(x: float, y: float, words: str, *, anchor: str = "start", size: int = 13) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="{_FONT}" font-size="{size}" fill="{_INK}" '
        f'text-anchor="{anchor}">{words}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, *, colour: str = _RULE, wide: float = 1.0) -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{wide}"/>'
    )


def _round_step(span: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts a span in about six."""
    raw = span / 6.0
    power = 10.0 ** math.floor(math.log10(raw))
    return next(k * power for k in (1.0, 2.0, 5.0, 10.0) if k * power >= raw)


def _centre(result: DropResult) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Coverage [L/m²] along the centre line, its places [m], and the spread across [m]."""
    raster = result.raster
    share = raster.coverage_l_per_m2.sum(axis=1) * (raster.right_m[1] - raster.right_m[0])  # L per metre
    spread = float(share.max()) / (math.sqrt(2.0 * math.pi) * result.pattern.peak_l_per_m2)
    return raster.along_m, share / (math.sqrt(2.0 * math.pi) * spread), spread


def _plan(result: DropResult) -> list[str]:
    left, top, wide, high = _PLAN
    x, c, spread = _centre(result)
    scale = min(wide / (x[-1] - x[0]), high / (2.0 * result.raster.right_m[-1]))
    mid_x, mid_y = left + wide / 2, top + high / 2
    fine = np.linspace(x[0], x[-1], 4001)
    fine_c = np.interp(fine, x, c)
    out = [_text(left, top - 12, "Pattern from above, flown left to right; figures are coverage levels")]
    for level in ("edge", *LEVELS):
        amount = EDGE_L_PER_M2 if level == "edge" else float(level) * COVERAGE_LEVEL
        on = fine_c > amount
        if level == "0.5" or not on.any():  # 0.204 L/m² lies on the edge of 0.2
            continue
        half = np.pad(spread * np.sqrt(2.0 * np.log(fine_c[on] / amount)), 1)
        along = np.pad(fine[on], 1, mode="reflect", reflect_type="odd")
        px, up, down = mid_x + along * scale, mid_y - half * scale, mid_y + half * scale
        ring = [*zip(px, up, strict=True), *zip(px[::-1], down[::-1], strict=True)]
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in ring)
        out.append(
            f'<polygon points="{points}" fill="{_WET}" fill-opacity="0.14" stroke="{_WET}" stroke-width="1"/>'
        )
        if level != "edge":
            out.append(_text(float(px[-1]) + 3, mid_y - 3, level))
    out.append(_line(left, mid_y, left + wide, mid_y))
    step = _round_step(x[-1] - x[0])
    base = top + high + 14
    out += [
        _line(mid_x - step * scale / 2, base, mid_x + step * scale / 2, base, colour=_INK, wide=2),
        _text(mid_x, base + 18, f"{step:g} m", anchor="middle"),
    ]
    return out


def _section(result: DropResult) -> list[str]:
    left, top, wide, high = _SECTION
    _, _, spread = _centre(result)
    peak, reach = result.pattern.peak_l_per_m2, 3.5 * spread
    y = np.linspace(-reach, reach, 121)
    px = left + wide * (y + reach) / (2 * reach)
    py = top + high * (1 - 0.95 * np.exp(-0.5 * (y / spread) ** 2))
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(px, py, strict=True))
    out = [_text(left, top - 12, "Across the middle, litres a square metre; metres to each side")]
    for level in LEVELS:
        at = top + high * (1 - 0.95 * float(level) * COVERAGE_LEVEL / peak)
        if at > top:
            out += [_line(left, at, left + wide, at), _text(left + wide + 4, at + 4, level)]
    out += [
        f'<polyline points="{points}" fill="none" stroke="{_WET}" stroke-width="2"/>',
        _text(left - 4, top + high * 0.05 + 4, f"{peak:.1f}", anchor="end"),
        _line(left, top + high, left + wide, top + high, colour=_INK),
    ]
    step = _round_step(2 * reach)
    for k in range(-math.floor(reach / step), math.floor(reach / step) + 1):
        at = left + wide * (k * step + reach) / (2 * reach)
        out.append(_text(at, top + high + 18, f"{abs(k * step):g}", anchor="middle"))
    return out


def _bars(result: DropResult) -> list[str]:
    left, top, wide, high = _BARS
    longest = max(*result.line_m_high_by_level.values(), 1.0)
    out = [_text(left, top - 12, "Unbroken line by coverage level, metres; thin: low to high")]
    row = high / len(LEVELS)
    for i, level in enumerate(LEVELS):
        y = top + (i + 0.5) * row
        middle = result.line_m_by_level[level]
        low, high_m = result.line_m_low_by_level[level], result.line_m_high_by_level[level]
        scale = (wide - 60) / longest
        out += [
            _text(left - 6, y + 5, level, anchor="end"),
            (
                f'<rect x="{left:.1f}" y="{y - 8:.1f}" width="{middle * scale:.1f}" height="16" fill="{_WET}" '
                'fill-opacity="0.5"/>'
            ),
            _line(left + low * scale, y, left + high_m * scale, y, colour=_INK, wide=1.5),
            _text(left + max(middle, high_m) * scale + 6, y + 5, f"{middle:.0f}"),
        ]
    out.append(_line(left, top, left, top + high, colour=_INK))
    return out


def picture_svg(result: DropResult) -> str:
    """The picture as SVG."""
    used = result.inputs
    load, height = used["load_l"].value, used["height_m"].value
    wind = used["wind_mps"].value
    title = (
        f"{used['class'].value}: {load:,.0f} L of {used['agent'].value} from {height:.0f} m, "
        f"{'wind not given' if wind is None else f'wind {wind:.0f} m/s'}"
    )
    body = [
        f'<rect width="{_WIDE:g}" height="{_HIGH:g}" fill="#FFFFFF"/>',
        _text(_PLAN[0], 28, title.replace("_", " "), size=16),
        *_plan(result),
        *_section(result),
        *_bars(result),
        _text(
            _PLAN[0],
            _HIGH - 16,
            "Planning form, not calibrated on drop tests: expect ±50 %. Level 1 is 1 US gal on 100 ft².",
        ),
    ]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:g} {_HIGH:g}">'
    return "\n".join([head, *body, "</svg>"])


def picture(result: DropResult, path: Path) -> None:
    """Write the picture as PNG, wholly or not at all."""
    import typst  # noqa: PLC0415  heavy, and needed for a picture alone

    fonts = resources.files("wetline") / "briefing" / "fonts"
    page = (
        f"#set page(width: {_WIDE:g}pt, height: {_HIGH:g}pt, margin: 0pt)\n"
        f'#image("pattern.svg", width: {_WIDE:g}pt)\n'
    )
    with tempfile.TemporaryDirectory() as folder, resources.as_file(fonts) as font_folder:
        root = Path(folder)
        (root / "pattern.svg").write_text(picture_svg(result), encoding="utf-8")
        (root / "main.typ").write_text(page, encoding="utf-8")
        png = typst.compile(
            root / "main.typ",
            root=root,
            font_paths=[font_folder],
            ignore_system_fonts=True,
            format="png",
            ppi=144.0,
        )
    beside = path.with_name(f".{path.name}.part")
    beside.write_bytes(png)
    os.replace(beside, path)  # noqa: PTH105  atomic on one file system, and says so
