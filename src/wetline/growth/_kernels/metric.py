"""From fields of head rate, bearing and eccentricity to the metric of a slot. Layout: `layout`."""

import math

import numpy as np
from numba import njit

_ONE, _ZERO = np.float32(1.0), np.float32(0.0)
_QUARTER = np.float32(math.pi / 2.0)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract", "nsz"})
def _row(work, cell_m, standing_mps):
    """Rate, bearing and eccentricity become (a, w along columns, w along rows), in place: one array, so
    that the loop runs several cells at once. Sine and cosine by their series over an eighth of a turn
    either way: good to float32.
    """
    rate, toward, eccentricity = work[0], work[1], work[2]
    for j in range(rate.size):
        e = eccentricity[j]
        turns = toward[j] * np.float32(1.0 / 90.0)
        quarter = np.floor(turns + np.float32(0.5))
        x = (turns - quarter) * _QUARTER
        s = x * x
        sine = np.float32(1.0 / 362880.0)
        sine = sine * s - np.float32(1.0 / 5040.0)
        sine = sine * s + np.float32(1.0 / 120.0)
        sine = sine * s - np.float32(1.0 / 6.0)
        sine = sine * s * x + x
        cosine = np.float32(1.0 / 40320.0)
        cosine = cosine * s - np.float32(1.0 / 720.0)
        cosine = cosine * s + np.float32(1.0 / 24.0)
        cosine = cosine * s - np.float32(0.5)
        cosine = cosine * s + _ONE
        within = quarter - np.float32(4.0) * np.floor(quarter * np.float32(0.25))  # 0 to 3
        odd = within == _ONE or within == np.float32(3.0)
        east = cosine if odd else sine
        north = sine if odd else cosine
        east = -east if within >= np.float32(2.0) else east
        north = -north if within == _ONE or within == np.float32(2.0) else north
        moves = rate[j] >= standing_mps
        pace = cell_m / (rate[j] * (_ONE - e)) if moves else cell_m / standing_mps
        w = pace * e if moves else _ZERO
        rate[j] = pace
        toward[j] = w * east
        eccentricity[j] = -w * north


@njit(cache=True, nogil=True, error_model="numpy")
def fill_metric(rate, toward, eccentricity, burnable, cell_m, standing_mps, pace):
    """(a, w along columns, w along rows) [s per cell] into float32[r, c, 3]; a = inf where nothing burns.

    Rates [m/s], bearings [deg]: float32. A rate below `standing_mps` counts as that, in all directions.
    Returns the number of burnable cells with a value that is no number or out of range.
    """
    rows, cols = rate.shape
    work = np.empty((3, cols), np.float32)
    bad = 0
    for i in range(rows):
        work[0] = rate[i]
        work[1] = toward[i]
        work[2] = eccentricity[i]
        _row(work, cell_m, standing_mps)
        for j in range(cols):
            if burnable[i, j]:
                in_range = _ZERO <= rate[i, j] < np.inf and _ZERO <= eccentricity[i, j] < _ONE
                bad += not (in_range and abs(toward[i, j]) < np.inf)
                pace[i, j, 0] = work[0, j]
                pace[i, j, 1] = work[1, j]
                pace[i, j, 2] = work[2, j]
            else:
                pace[i, j, 0] = np.inf
                pace[i, j, 1] = _ZERO
                pace[i, j, 2] = _ZERO
    return bad
