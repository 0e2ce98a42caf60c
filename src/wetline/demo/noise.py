"""Fractal noise on a lattice, from a seed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["fractal", "smoothstep"]


def fractal(
    rng: np.random.Generator,
    shape: tuple[int, int],
    *,
    cell_m: float,
    longest_m: float,
    shortest_m: float,
    slope: float,
    stretch: float = 1.0,
    grain_deg: float = 0.0,
) -> NDArray[np.float64]:
    """Noise of mean 0 and deviation 1 whose power falls with wave number to the power −`slope`.

    Waves are between `shortest_m` and `longest_m` long; with `stretch` > 1 they are that much
    longer along the bearing `grain_deg`. Opposite borders fit each other.
    """
    from scipy import fft  # noqa: PLC0415 - heavy, and wanted by nobody but the builder

    white = fft.rfft2(rng.standard_normal(shape))
    north = -fft.fftfreq(shape[0], cell_m)[:, None]
    east = fft.rfftfreq(shape[1], cell_m)[None, :]
    angle = np.radians(grain_deg)
    along = east * np.sin(angle) + north * np.cos(angle)
    across = east * np.cos(angle) - north * np.sin(angle)
    wave = np.hypot(along * np.sqrt(stretch), across / np.sqrt(stretch))
    wave[0, 0] = 1.0
    gain = wave ** (-slope / 2) * np.exp(-((wave * shortest_m) ** 2) / 4)
    gain *= 1 - np.exp(-((wave * longest_m) ** 4))
    gain[0, 0] = 0.0
    z = fft.irfft2(white * gain, s=shape)
    return np.asarray((z - z.mean()) / z.std(), float)


def smoothstep(value: NDArray[np.float64], low: float, high: float) -> NDArray[np.float64]:
    """0 at and below `low`, 1 at and above `high`, smooth between."""
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    return t * t * (3 - 2 * t)
