"""The few marks that the picture of a pattern is drawn with, as SVG; inks that stand sunlight."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "CAUTION",
    "CAUTION_LINE",
    "INK",
    "INK_2",
    "RETARDANT",
    "RULE",
    "STOP",
    "WET",
    "arrow",
    "dot",
    "line",
    "path",
    "round_step",
    "text",
]

INK, INK_2, RULE = "#14202B", "#44515C", "#C2CACF"
WET, RETARDANT = "#0B4A86", "#6B2C7A"
STOP, CAUTION, CAUTION_LINE = "#98104E", "#F4B52A", "#7A5200"
_FONT = "Atkinson Hyperlegible Next"


def text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    size: float = 14.0,
    strong: bool = False,
    colour: str = INK,
    halo: bool = False,
) -> str:
    """Words with their base line at `y`; `halo`: paper around the letters, over lines."""
    style = f'font-family="{_FONT}" font-size="{size:g}" text-anchor="{anchor}"'
    if strong:
        style += ' font-weight="700"'
    body = f'<text x="{x:.1f}" y="{y:.1f}" {style} fill="{colour}">{escape(words)}</text>'
    if not halo:
        return body
    ring = (
        f'<text x="{x:.1f}" y="{y:.1f}" {style} fill="#FFFFFF" stroke="#FFFFFF" stroke-width="4" '
        f'stroke-linejoin="round" aria-hidden="true">{escape(words)}</text>'
    )
    return f"{ring}\n{body}"


def line(
    x1: float, y1: float, x2: float, y2: float, *, colour: str = RULE, wide: float = 1.0, dash: str = ""
) -> str:
    """A straight line."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{wide:g}"{dashed}/>'
    )


def path(points: Iterable[tuple[float, float]], *, close: bool = False, **style: str | float) -> str:
    """A line through points; attributes with `_` for `-`."""
    steps = "L".join(f"{x:.1f},{y:.1f}" for x, y in points)
    attributes = " ".join(f'{name.replace("_", "-")}="{value}"' for name, value in style.items())
    return f'<path d="M{steps}{"Z" if close else ""}" {attributes}/>'


def dot(x: float, y: float, *, colour: str, hollow: bool = False) -> str:
    """A full or hollow disc."""
    fill = "#FFFFFF" if hollow else colour
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{fill}" stroke="{colour}" stroke-width="2"/>'


def arrow(x: float, y: float, dx: float, dy: float, *, colour: str = INK, wide: float = 2.5) -> str:
    """An arrow from a place by a step, its head at the end."""
    size = math.hypot(dx, dy)
    ux, uy = dx / size, dy / size
    tip = x + dx, y + dy
    left = tip[0] - 11 * ux - 5.5 * uy, tip[1] - 11 * uy + 5.5 * ux
    right = tip[0] - 11 * ux + 5.5 * uy, tip[1] - 11 * uy - 5.5 * ux
    head = path([tip, left, right], close=True, fill=colour)
    return f"{line(x, y, tip[0] - 8 * ux, tip[1] - 8 * uy, colour=colour, wide=wide)}\n{head}"


def round_step(span: float, parts: float = 6.0) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts a span into about `parts`."""
    raw = span / parts
    power = 10.0 ** math.floor(math.log10(raw))
    return next(k * power for k in (1.0, 2.0, 5.0, 10.0) if k * power >= raw)
