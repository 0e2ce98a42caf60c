"""What frames the map: its window and scale, latitude and longitude ticks, scale bar, north, words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.briefing import drawing as d
from wetline.briefing.labels import Box
from wetline.briefing.metrics import text_width, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.briefing.drawing import Item
    from wetline.briefing.format import Style
    from wetline.grid import Projection

__all__ = ["SCALES", "SIDE_PT", "map_view", "side_items", "tick_items"]

SCALES = (5000, 7500, 10000, 12500, 15000, 20000, 25000, 30000, 40000, 50000, 75000, 100000,
          150000, 200000, 250000, 300000, 400000, 500000, 750000, 1000000, 2000000)  # fmt: skip
"""Scales that a ruler reads; the finest one that holds the extent is taken."""
SIDE_PT = 126.0
_M_PER_PT = 0.0254 / 72
_MINUTES = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0)


def map_view(
    extent: tuple[float, float, float, float], width_pt: float, height_pt: float
) -> tuple[d.View, int]:
    """The window around an extent [m] at a whole scale, and that scale's denominator."""
    west, south, east, north = extent
    scale = next(
        (
            s
            for s in SCALES
            if s * _M_PER_PT * width_pt >= east - west and s * _M_PER_PT * height_pt >= north - south
        ),
        SCALES[-1],
    )
    half_x, half_y = scale * _M_PER_PT * width_pt / 2, scale * _M_PER_PT * height_pt / 2
    x, y = (west + east) / 2, (south + north) / 2
    return d.View(x - half_x, y - half_y, x + half_x, y + half_y, 0.0, 0.0, width_pt, height_pt), scale


def _ticks(values: NDArray[np.float64], room: float) -> tuple[NDArray[np.float64], float]:
    """Whole steps [deg] within monotone values, and the step [min]."""
    low, high = float(values.min()), float(values.max())
    step = next((m for m in _MINUTES if (high - low) * 60 / m <= room), 120.0)
    first = np.ceil(low * 60 / step - 1e-9)
    return np.arange(first, high * 60 / step + 1e-9) * step / 60, step


def _degrees_minutes(value: float, positive: str, negative: str, width: int) -> str:
    tenths = round(abs(value) * 600)
    degrees, rest = divmod(tenths, 600)
    return f"{positive if value >= 0 else negative} {degrees:0{width}d}° {rest / 10:04.1f}'"


def tick_items(view: d.View, projection: Projection, symbols: Sequence[Box]) -> tuple[list[Item], list[Box]]:
    """Ticks and words of latitude (left) and longitude (bottom), small crosses where they meet.

    Words that would cover a symbol are left out.
    """
    count = 101
    xs, ys = np.linspace(view.west, view.east, count), np.linspace(view.south, view.north, count)
    lon_low, _ = projection.to_lonlat(xs, np.full(count, view.south))
    _, lat_left = projection.to_lonlat(np.full(count, view.west), ys)
    lons, _ = _ticks(lon_low, 5.5)
    lats, _ = _ticks(lat_left, 5.5)
    items: list[Item] = []
    taken = []
    for lon in lons:
        x = view.one(float(np.interp(lon, lon_low, xs)), view.south)[0]
        words = _degrees_minutes(float(lon), "E", "W", 3)
        half = text_width(words) / 2 + 2
        box = Box(x - half, view.bottom - 18, x + half, view.bottom)
        if half + 70 < x < view.right - half and not any(box.meets(s) for s in symbols):
            items.append(d.text(x, view.bottom - 8, words, anchor="middle"))
            taken.append(box)
        items += [d.line(x, view.bottom, x, view.bottom - 5, 0.9), d.line(x, view.top, x, view.top + 5, 0.9)]
    for lat in lats:
        y = view.one(view.west, float(np.interp(lat, lat_left, ys)))[1]
        words = _degrees_minutes(float(lat), "N", "S", 2)
        box = Box(0, y - 7, 10 + text_width(words), y + 7)
        if view.top + 8 < y < view.bottom - 8 and not any(box.meets(s) for s in symbols):
            items.append(d.text(8.0, y + 3.2, words))
            taken.append(box)
        items += [d.line(0, y, 5, y, 0.9), d.line(view.right, y, view.right - 5, y, 0.9)]
    crosses = []
    for lon in lons:
        for lat in lats:
            x, y = view.one(*(float(v) for v in projection.from_lonlat(lon, lat)))
            if view.left + 12 < x < view.right - 12 and view.top + 12 < y < view.bottom - 22:
                crosses += [np.array([[x - 3, y], [x + 3, y]]), np.array([[x, y - 3], [x, y + 3]])]
    items.append(d.path(crosses, width=0.6))
    return items, taken


def side_items(
    view: d.View, scale: int, style: Style, projection: Projection, paragraphs: Sequence[tuple[str, bool]]
) -> list[Item]:
    """The column right of the map: scale, north, then paragraphs (words, bold)."""
    left, width = view.right + 8.0, SIDE_PT - 8.0
    metres = d.axis_step((view.east - view.west) * width / (view.right - view.left), 1.6)
    pt_per_m = view.scale[0]
    while metres * pt_per_m > width - 34:
        metres /= 2
    bar = metres * pt_per_m
    unit = f"{metres:,.0f} m" if metres < 10000 else f"{metres / 1000:,.0f} km"
    items = [
        d.text(left, 9, f"1:{scale:,} on A4", bold=True),
        d.line(left, 20, left + bar, 20, 2.2),
        *(d.line(left + bar * f, 16, left + bar * f, 24, 0.9) for f in (0.0, 0.5, 1.0)),
        d.text(left, 34, "0", halo=False),
        d.text(left + bar, 34, unit, anchor="middle" if bar < width - 20 else "end", halo=False),
    ]
    middle = ((view.west + view.east) / 2, (view.south + view.north) / 2)
    convergence = projection.convergence_deg(*middle)
    items += _north_items(left, 46.0, style, convergence)
    y = 128.0
    for words, bold in paragraphs:
        for row in (row for line in words.split("\n") for row in wrapped(line, width, bold=bold)):
            items.append(d.text(left, y, row, bold=bold, halo=False))
            y += 12.5
        y += 3.5
    return items


def _north_items(left: float, top: float, style: Style, convergence_deg: float) -> list[Item]:
    """Grid north straight up; true and magnetic north at their angles, and in words."""
    foot = (left + 34.0, top + 40.0)
    arms = [("grid", 0.0, 38.0, 1.4)]
    arms.append(("true", -convergence_deg, 30.0, 0.9))
    if style.variation_deg is not None:
        arms.append(("magnetic", style.variation_deg - convergence_deg, 38.0, 0.9))
    items: list[Item] = []
    for name, angle, length, width in arms:
        step = np.array([np.sin(np.radians(angle)), -np.cos(np.radians(angle))])
        tip = np.array(foot) + length * step
        items.append(
            d.line(
                foot[0], foot[1], float(tip[0]), float(tip[1]), width, (2.0, 2.0) if name == "true" else ()
            )
        )
        if name != "true":
            back = tip - 5.2 * step
            items.append(
                d.arrow(float(back[0]), float(back[1]), (step[0], step[1]), hollow=name == "magnetic")
            )
    items.append(d.text(left + 46, top + 10, "grid north up", halo=False))
    items.append(d.text(left, top + 54, f"True north: {_off(-convergence_deg, 'grid')}", halo=False))
    words = "not given" if style.variation_deg is None else _off(style.variation_deg, "true")
    items.append(d.text(left, top + 66.5, f"Magnetic: {words}", halo=False))
    return items


def _off(angle_deg: float, of: str) -> str:
    tenths = round(abs(angle_deg), 1)
    if tenths == 0:
        return f"as {of}"
    return f"{tenths:g}° {'E' if angle_deg > 0 else 'W'} of {of}"
