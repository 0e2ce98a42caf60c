"""Head fire in every cell and slot. m, s, kW; angles in degrees as grid bearings; factors dimensionless.

Cells of one fuel model and one site of the moisture tables are a *class*; whatever hangs on weather and
moisture is a number a class and slot. Powers and length to width are read from tables over the bits of a
float32 (exponent and the first bits of the mantissa number a node; between nodes it runs straight), so
that the loops over a row hold no call and run several cells at once. What is gathered by class is kept in
loops of its own for the same reason.
"""

import math

import numba
import numpy as np

NODE_BITS = 7  # 128 nodes from one power of two to the next
FIRST_EXPONENT = -62  # of the least node
OCTAVES = 82
NODES = OCTAVES << NODE_BITS
FIRST_NODE = (FIRST_EXPONENT + 127) << NODE_BITS
_SHIFT = np.int32(23 - NODE_BITS)
_REST = np.int32((1 << (23 - NODE_BITS)) - 1)
_WIDTH = np.float32(2.0 ** (NODE_BITS - 23))
_FIRST = np.int32(FIRST_NODE)
_LAST = np.int32(NODES - 2)
_ZERO, _ONE, _TWO = np.float32(0.0), np.float32(1.0), np.float32(2.0)
_QUARTER = np.float32(math.pi / 2.0)

# The arc tangent of r, 0 to 1, is r times this polynomial of r²: least squares on Chebyshev's nodes.
ATAN = (
    0.999999898, -0.333319597, 0.199692354, -0.14016585, 0.099060969, -0.0593671008, 0.0241661895, -0.00466877331,
)  # fmt: skip

# Rows of the work space.
EAST, NORTH, LENGTH, FACTOR, SHAPE, BED, WIND, LOW, HIGH, BENT, A, B = range(12)
ROWS = 12

# Reordering of sums only: infinities and what is no number keep their meaning.
SUMS = {"contract", "nsz"}


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _by_class(cls, values, out):
    for j in range(cls.size):
        out[j] = values[cls[j]]


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _nodes(cls, row_of, bits, table, low, high):
    """The two nodes of a table beside each value, whose bits are given; the ends hold beyond."""
    for j in range(cls.size):
        node = min(max((bits[j] >> _SHIFT) - _FIRST, np.int32(0)), _LAST)
        at = np.uint32(row_of[cls[j]] * np.int32(NODES) + node)
        low[j] = table[at]
        high[j] = table[at + np.uint32(1)]


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _between(bits, low, high, out):
    for j in range(bits.size):
        out[j] = low[j] + np.float32(bits[j] & _REST) * _WIDTH * (high[j] - low[j])


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _push(wind, shelter, up_east, up_north, wind_east, wind_north, work):
    """Wind and slope as one vector; its length."""
    east, north, length = work[EAST], work[NORTH], work[LENGTH]
    for j in range(wind.size):
        blown = wind[j] * shelter[j]
        e = up_east[j] + blown * wind_east
        n = up_north[j] + blown * wind_north
        east[j] = e
        north[j] = n
        length[j] = math.sqrt(e * e + n * n)


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _bend(bend, i, wind_east, wind_north, work):
    """The wind of each cell for a wind of the table: where it blows to, and its speed squared."""
    a, b, squared = work[A], work[B], work[BENT]
    ee, en, ne, nn = bend[0, 0, i], bend[0, 1, i], bend[1, 0, i], bend[1, 1, i]
    for j in range(a.size):
        e = ee[j] * wind_east + en[j] * wind_north
        n = ne[j] * wind_east + nn[j] * wind_north
        a[j] = e
        b[j] = n
        squared[j] = e * e + n * n


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _push_bent(wind, shelter, up_east, up_north, power, work):
    east, north, length, a, b = work[EAST], work[NORTH], work[LENGTH], work[A], work[B]
    for j in range(wind.size):
        blown = wind[j] * shelter[j] * power[j]
        e = up_east[j] + blown * a[j]
        n = up_north[j] + blown * b[j]
        east[j] = e
        north[j] = n
        length[j] = math.sqrt(e * e + n * n)


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _limit(cls, factor_max, length, factor):
    for j in range(cls.size):
        factor[j] = min(length[j], factor_max[cls[j]])


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _row(i, ground, tables, wind_east, wind_north, blown, bed, factor_max, work):
    """Head fire of row `i`: EAST, NORTH, LENGTH, FACTOR, SHAPE (length to width less 1) and BED filled."""
    cls, shelter, up_east, up_north, bend = ground
    row_of, shape, power = tables
    _by_class(cls[i], bed, work[BED])
    _by_class(cls[i], blown, work[WIND])
    if bend.size:
        _bend(bend, i, wind_east, wind_north, work)
        bits = work[BENT].view(np.int32)
        _nodes(cls[i], row_of, bits, power, work[LOW], work[HIGH])
        _between(bits, work[LOW], work[HIGH], work[FACTOR])
        _push_bent(work[WIND], shelter[i], up_east[i], up_north[i], work[FACTOR], work)
    else:
        _push(work[WIND], shelter[i], up_east[i], up_north[i], wind_east, wind_north, work)
    if factor_max.size:
        _limit(cls[i], factor_max, work[LENGTH], work[FACTOR])
    else:
        work[FACTOR][:] = work[LENGTH]
    bits = work[FACTOR].view(np.int32)
    _nodes(cls[i], row_of, bits, shape, work[LOW], work[HIGH])
    _between(bits, work[LOW], work[HIGH], work[SHAPE])


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _rates(work, shape_max, rate, ecc):
    """Rate and eccentricity. Returns how many cells are cut at the greatest length to width."""
    factor, shape, bed = work[FACTOR], work[SHAPE], work[BED]
    capped = 0
    for j in range(rate.size):
        rate[j] = bed[j] * (_ONE + factor[j])
        more = shape[j] if factor[j] > _ZERO else _ZERO
        capped += more > shape_max
        more = min(more, shape_max)
        ecc[j] = math.sqrt(more * (more + _TWO)) / (more + _ONE)
    return capped


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _bearings(east, north, out):
    """Bearing [deg, 0 to 360) of each vector; 0 for none."""
    turn = np.float32(57.29577951308232)
    for j in range(out.size):
        x = abs(east[j])
        y = abs(north[j])
        most = max(x, y)
        r = min(x, y) / most if most > _ZERO else _ZERO
        s = r * r
        p = np.float32(ATAN[7])
        p = p * s + np.float32(ATAN[6])
        p = p * s + np.float32(ATAN[5])
        p = p * s + np.float32(ATAN[4])
        p = p * s + np.float32(ATAN[3])
        p = p * s + np.float32(ATAN[2])
        p = p * s + np.float32(ATAN[1])
        p = p * s + np.float32(ATAN[0])
        angle = p * r * turn
        angle = np.float32(90.0) - angle if x > y else angle
        angle = np.float32(180.0) - angle if north[j] < _ZERO else angle
        angle = np.float32(360.0) - angle if east[j] < _ZERO else angle
        out[j] = angle if angle < np.float32(360.0) else _ZERO


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _heat(cls, heat_kj_per_m2, rate, out):
    for j in range(cls.size):
        out[j] = heat_kj_per_m2[cls[j]] * rate[j]


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _not_finite(values):
    bad = 0
    for j in range(values.size):
        bad += not abs(values[j]) < np.float32(np.inf)
    return bad


@numba.njit(cache=True, nogil=True, error_model="numpy")
def _no_paces(length, a):
    bad = 0
    for j in range(a.size):
        bad += not (_ZERO < a[j] < np.float32(np.inf) and length[j] < np.float32(np.inf))
    return bad


@numba.njit(cache=True, nogil=True, error_model="numpy")
def head_fire(
    ground, tables,
    wind_east, wind_north, blown, no_wind_mps, factor_max, heat_kj_per_m2, shape_max,
    rate, toward, ecc, intensity, capped,
):  # fmt: skip
    """ground: (class uint16[r, c], shelter, slope factor up the slope to the east, north float32[r, c],
    bend float32[2, 2, r, c] or empty). tables: (row of each class int32, length to width less 1 over the
    factor, (speed²) to wind's power, float32[rows · NODES] each).

    Per slot: unit step that the wind blows to. Per [slot, class], float32: wind factor of unsheltered wind,
    rate and heat without wind or slope, greatest factor allowed ([slots, 0]: no limit). Out: float32[s, r, c] each;
    capped int64[s]. Returns how many rates are no finite number: 0 unless the input held one.
    """
    slots, rows, cols = rate.shape
    work = np.empty((ROWS, cols), np.float32)
    broken = 0
    for i in range(rows):
        for k in range(slots):
            _row(
                i, ground, tables, wind_east[k], wind_north[k], blown[k], no_wind_mps[k], factor_max[k], work
            )  # fmt: skip
            capped[k] += _rates(work, shape_max, rate[k, i], ecc[k, i])
            _bearings(work[EAST], work[NORTH], toward[k, i])
            _heat(ground[0][i], heat_kj_per_m2[k], rate[k, i], intensity[k, i])
            broken += _not_finite(rate[k, i])
    return broken


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _paces(work, shape_max, cell_m, standing_mps):
    """Into A, EAST, NORTH: seconds a cell, (a, w) of the metric |step| a − step · w."""
    east, north, length, a_out = work[EAST], work[NORTH], work[LENGTH], work[A]
    factor, shape, bed = work[FACTOR], work[SHAPE], work[BED]
    standing = cell_m / standing_mps
    for j in range(a_out.size):
        rate = bed[j] * (_ONE + factor[j])
        more = min(shape[j], shape_max)
        ratio = more + _ONE
        e = math.sqrt(more * (more + _TWO)) / ratio
        # 1 − e = 1 / (ratio² (1 + e)): without the difference of two numbers near 1
        a = cell_m * ratio * ratio * (_ONE + e) / rate
        moves = not rate < standing_mps  # so is what is no number, to be found by the caller
        w = e * a / length[j] if moves and factor[j] > _ZERO else _ZERO
        a_out[j] = a if moves else standing
        east[j] *= w
        north[j] *= w


@numba.njit(cache=True, nogil=True, error_model="numpy")
def head_pace(
    ground, tables, wind_east, wind_north, blown, no_wind_mps, factor_max, never,
    shape_max, cell_m, standing_mps, pace,
):  # fmt: skip
    """As `head_fire` for one slot, straight to what growth reads: pace float32[r, c, 3].

    (a, w along columns, w along rows) [s per cell]; a = inf in classes that `never` (uint8) burn. A rate
    below `standing_mps` counts as that, in all directions. Returns how many rates are no finite number.
    """
    rows, cols, _ = pace.shape
    work = np.empty((ROWS, cols), np.float32)
    a, east, north = work[A], work[EAST], work[NORTH]
    broken = 0
    for i in range(rows):
        _row(i, ground, tables, wind_east, wind_north, blown, no_wind_mps, factor_max, work)
        _paces(work, shape_max, cell_m, standing_mps)
        broken += _no_paces(work[LENGTH], a)
        cls = ground[0][i]
        for j in range(cols):
            pace[i, j, 0] = np.float32(np.inf) if never[cls[j]] else a[j]
            pace[i, j, 1] = east[j]
            pace[i, j, 2] = -north[j]
    return broken


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=SUMS)
def _turned(work, cell_m, standing_mps):
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


@numba.njit(cache=True, nogil=True, error_model="numpy")
def fields_pace(rate, toward, eccentricity, burnable, cell_m, standing_mps, pace):
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
        _turned(work, cell_m, standing_mps)
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
