"""The ground as a pale grey picture: relief, contours, dots where the ground is not known."""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

import numpy as np

from wetline.ground import shaded_relief

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground

__all__ = ["contour_step", "ground_picture", "png_grey"]

_PAPER, _OFF_MAP = 255, 246
_RELIEF_DEPTH = 62.0  # grey steps between lit and shaded: all ink over it stays readable
_CONTOUR, _CONTOUR_STRONG = 205, 165
_UNKNOWN_DOT = 120


def png_grey(pixels: NDArray[np.uint8]) -> bytes:
    """An 8-bit grey PNG (RFC 2083) of `pixels[row, col]`, rows filtered "up"."""
    height, width = pixels.shape
    above = np.vstack((np.zeros((1, width), np.uint8), pixels[:-1]))
    rows = np.empty((height, width + 1), np.uint8)
    rows[:, 0] = 2
    rows[:, 1:] = pixels - above
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(rows.tobytes(), 6)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )


def contour_step(low_m: float, high_m: float) -> float:
    """Height between contours [m]: 10, 20, 50 or 100, at most 25 of them; every fifth is strong."""
    return next((s for s in (10.0, 20.0, 50.0) if (high_m - low_m) / s <= 25), 100.0)


def ground_picture(
    ground: Ground, window: tuple[float, float, float, float], width_px: int, height_px: int
) -> tuple[NDArray[np.uint8], NDArray[np.float64], float]:
    """Grey pixels of a window (west, south, east, north) [m], the heights under them, contour step.

    Off the grid the picture is hatched faintly; unknown height or fuel is dotted.
    """
    west, south, east, north = window
    x = west + (np.arange(width_px) + 0.5) * (east - west) / width_px
    y = north - (np.arange(height_px) + 0.5) * (north - south) / height_px
    xx, yy = np.meshgrid(x, y)
    grid = ground.grid
    height = grid.sample(ground.elevation_m, xx, yy)
    shade = grid.sample(shaded_relief(ground.elevation_m, grid.cell_m), xx, yy)
    flat = float(np.sin(np.radians(45.0)))
    grey = _PAPER - _RELIEF_DEPTH * np.clip((flat - shade) / flat + 0.12, 0.0, 1.0)
    known = np.isfinite(height)
    pixels = np.where(known, np.nan_to_num(grey, nan=_PAPER), _PAPER).astype(np.uint8)
    step = 20.0
    if known.any():
        step = contour_step(float(height[known].min()), float(height[known].max()))
        _contours(pixels, height, step)
    holds = grid.holds(xx, yy)
    rows, cols = np.indices(pixels.shape)
    pixels[~holds] = _OFF_MAP
    pixels[~holds & ((rows + cols) % 24 < 2)] = 190
    fuel = grid.nearest(ground.fuel, xx, yy)
    dots = holds & (~known | (fuel == -1)) & (rows % 11 < 2) & (((cols + 5 * (rows // 11)) % 11) < 2)
    pixels[dots] = _UNKNOWN_DOT
    return pixels, height, step


def _contours(pixels: NDArray[np.uint8], height: NDArray[np.float64], step: float) -> None:
    """Darken the pixels in which a contour is crossed, in place."""
    # A lake or plain that lies on a contour's own height is no speckle of contours.
    height = np.round(height, 2)
    for every, tone in ((step, _CONTOUR), (5 * step, _CONTOUR_STRONG)):
        band = np.floor(height / every)
        crossed = np.zeros(height.shape, bool)
        with np.errstate(invalid="ignore"):
            crossed[:, 1:] |= np.abs(np.diff(band, axis=1)) > 0
            crossed[1:] |= np.abs(np.diff(band, axis=0)) > 0
        pixels[crossed] = np.minimum(pixels[crossed], tone)
