"""A picture of one ground pattern on one page: plan with contours, cross-section, line by level.

Drawn from the raster, so that it serves every method. Blue is water on the ground, violet retardant.
"""

from __future__ import annotations

import math
import os
import tempfile
import textwrap
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from wetline.drops.ink import CAUTION, CAUTION_LINE, INK, INK_2, RETARDANT, STOP, WET, path, text
from wetline.drops.picture_figures import across, lines_by_level
from wetline.drops.picture_plan import plan
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from wetline.drops.result import DropResult

__all__ = ["picture", "picture_svg"]

_WIDE, _HIGH = 1120.0, 880.0
_LEFT = 40.0
_PLAN = (_LEFT, 128.0, _WIDE - 2 * _LEFT, 290.0)  # left, top, wide, high
_SECTION = (_LEFT + 30.0, 492.0, 420.0, 230.0)
_LINES = (590.0, 492.0, 490.0, 230.0)
_FOOT = 774.0
_TOLD = 2
_STOPS = 3
_CHARACTERS = 132
_SMALL_CHARACTERS = 148


def picture_svg(result: DropResult, beside: DropResult | None = None) -> str:
    """The picture as SVG. `beside`: the same load by the other method."""
    ink = RETARDANT if result.inputs["agent"].value == "retardant" else WET
    body = [
        f'<rect width="{_WIDE:g}" height="{_HIGH:g}" fill="#FFFFFF"/>',
        *_title(result),
        *plan(result, _PLAN, ink),
        *across(result, beside, _SECTION, ink),
        *lines_by_level(result, beside, _LINES, ink),
        *_foot(result),
    ]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE:g} {_HIGH:g}">'
    return "\n".join([head, *body, "</svg>"])


def _number(result: DropResult, name: str) -> float | None:
    value = result.inputs[name].value
    return value if isinstance(value, float | int) else None


def _title(result: DropResult) -> list[str]:
    used = result.inputs
    height, speed = _number(result, "height_m") or 0.0, _number(result, "speed_mps") or 0.0
    load = _number(result, "let_go_l") or 0.0
    what = f"{used['class'].value}".replace("_", " ").capitalize()
    title = f"{what}: {load:,.0f} L of {used['agent'].value} from {height:.0f} m ({height / FOOT:.0f} ft)"
    return [
        text(_LEFT, 38, title, size=22, strong=True),
        text(
            _LEFT,
            62,
            f"{speed:.0f} m/s ({speed / KNOT:.0f} kt) through the air; {_wind(result)}; {_trees(result)}",
            size=16,
        ),
        text(_LEFT, 85, _clear(result), size=16, strong=True),
    ]


def _wind(result: DropResult) -> str:
    wind, origin = _number(result, "wind_mps"), _number(result, "wind_from_deg")
    if wind is None:
        return "wind not given: drift unknown"
    if not wind or origin is None:
        return "calm"
    return f"wind {wind:.0f} m/s ({wind / KNOT:.0f} kt) from {round(origin) % 360 or 360:03d}°"


def _trees(result: DropResult) -> str:
    fall, height = result.fall, _number(result, "canopy_m")
    if not fall.canopy_known:
        return f"trees of {height or 0.0:.0f} m, what they hold unknown (up to {fall.canopy_pct.high or 0.0:.0f} %)"
    if _number(result, "leaf_area") is None:
        return "no trees told of"
    return f"trees hold {fall.canopy_pct.middle:.0f} %"


def _clear(result: DropResult) -> str:
    clear = result.clear
    sides, ahead, behind = (10 * math.ceil(d / 10) for d in (clear.sides_m, clear.ahead_m, clear.behind_m))
    drift = "" if _number(result, "wind_mps") is not None else ", and more for the drift"
    return (
        f"Stand clear: {sides} m to each side, {ahead} m ahead of the target and {behind} m behind it{drift}"
    )


def _foot(result: DropResult) -> list[str]:
    """What stands against the drop, gravest first, and how sure the picture is."""
    levels = {"stop": "Stop", "caution": "Caution"}
    told = [f for level in levels for f in result.findings if f.level == level]
    stops, unknown = (sum(f.level == level for f in result.findings) for level in ("stop", "unknown"))
    out, y = [], _FOOT
    shown = max(_TOLD, min(stops, _STOPS))
    for finding in told[:shown]:
        out += _sign(finding.level == "stop", _LEFT + 9, y - 5)
        parts = textwrap.wrap(f"{levels[finding.level]}: {finding.message}", _CHARACTERS)
        out += [text(_LEFT + 26, y + 18 * i, part, strong=True) for i, part in enumerate(parts)]
        y += 18 * len(parts) + 4
    counts = {"stops": stops - shown, "cautions": len(told) - max(shown, stops), "unknown": unknown}
    rest = ", ".join(
        f"{count} {name.removesuffix('s') if count == 1 else name}"
        for name, count in counts.items()
        if count > 0
    )
    sure = "Planning form, not calibrated on drop tests: expect ±50 %." if result.by == "planning" else (
        "Drop by drop, calibrated on few and weak anchors: expect ±50 %."
    )  # fmt: skip
    own = [name for name, source in result.line_from.items() if source == "table"]
    if own:
        sure = f"Lines at level {', '.join(own)}: your own drop tests. The rest: {sure[0].lower()}{sure[1:]}"
    elif result.line_notes:
        sure = f"Your drop tests tell no line of this drop. {sure}"
    scale = "Level 1 is 1 US gal on 100 ft² (0.41 L/m²). Bands are 80 %."
    words = f"{sure} {scale}{f' In the answer besides: {rest}.' if rest else ''}"
    last = textwrap.wrap(words, _SMALL_CHARACTERS)
    lowest = _HIGH - 20 - 18 * (len(last) - 1)
    return [*out, *(text(_LEFT, lowest + 18 * i, part, colour=INK_2) for i, part in enumerate(last))]


def _sign(stop: bool, x: float, y: float) -> list[str]:
    """An octagon for a stop, a triangle for a caution."""
    if stop:
        corners = [(math.pi / 8 + k * math.pi / 4) for k in range(8)]
        ring = [(x + 9 * math.cos(a), y + 9 * math.sin(a)) for a in corners]
        return [
            path(ring, close=True, fill=STOP),
            text(x, y + 5, "–", anchor="middle", strong=True, colour="#FFFFFF"),
        ]
    triangle = [(x, y - 9), (x + 10, y + 8), (x - 10, y + 8)]
    return [
        path(triangle, close=True, fill=CAUTION, stroke=CAUTION_LINE),
        text(x, y + 6, "!", anchor="middle", size=13, strong=True, colour=INK),
    ]


def picture(result: DropResult, file: Path, beside: DropResult | None = None) -> None:
    """Write the picture as PNG, wholly or not at all."""
    import typst  # noqa: PLC0415  heavy, and needed for a picture alone

    fonts = resources.files("wetline") / "briefing" / "fonts"
    page = (
        f"#set page(width: {_WIDE:g}pt, height: {_HIGH:g}pt, margin: 0pt)\n"
        f'#image("pattern.svg", width: {_WIDE:g}pt)\n'
    )
    with tempfile.TemporaryDirectory() as folder, resources.as_file(fonts) as font_folder:
        root = Path(folder)
        (root / "pattern.svg").write_text(picture_svg(result, beside), encoding="utf-8")
        (root / "main.typ").write_text(page, encoding="utf-8")
        png = typst.compile(
            root / "main.typ",
            root=root,
            font_paths=[font_folder],
            ignore_system_fonts=True,
            format="png",
            ppi=144.0,
        )
    part = file.with_name(f".{file.name}.part")
    try:
        part.write_bytes(png)
        os.replace(part, file)  # noqa: PTH105  atomic on one file system, and says so
    finally:
        part.unlink(missing_ok=True)
