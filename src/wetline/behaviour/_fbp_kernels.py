"""Head fire in every cell and slot from tables over slope and wind. m/s, kW/m; angles as grid bearings."""

from __future__ import annotations

import math

import numba
import numpy as np


@numba.njit(cache=True, nogil=True)
def head_fire_by_table(
    entry, slope_tan, aspect_deg, wind_east, wind_north, response,
    slope_step, slope_wind, wind_step, rate_of, intensity_of, ratio_of, ratio_max,
    rate, toward, ecc, intensity, capped,
):  # fmt: skip
    """entry int16[r, c], −1 where nothing burns; slope, aspect float32[r, c].

    Per slot: the 10 m wind's parts [m/s] it blows to; response float32[r, c, 2, 2] bends them in each cell,
    or is empty. slope_wind[slot, entry, i] [m/s] at slope i · slope_step; rate_of, intensity_of
    [slot, entry, i] and ratio_of[entry, i] (length over breadth) at wind i · wind_step. Beyond a table's end
    its last value holds. Out: float32[s, r, c] each; capped int64[s]. Returns the number of values that are
    no finite number: 0 unless the input held one.
    """
    slots, rows, cols = rate.shape
    last_slope = slope_wind.shape[2] - 1
    last_wind = rate_of.shape[2] - 1
    bent = response.size > 0
    broken = 0
    for i in range(rows):
        for k in range(slots):
            for j in range(cols):
                m = entry[i, j]
                if m < 0:
                    rate[k, i, j] = 0.0
                    toward[k, i, j] = 0.0
                    ecc[k, i, j] = 0.0
                    intensity[k, i, j] = 0.0
                    continue
                if not slope_tan[i, j] >= 0.0:
                    broken += 1
                    continue
                at = min(slope_tan[i, j] / slope_step, float(last_slope))
                left = min(int(at), last_slope - 1)
                share = at - left
                push = slope_wind[k, m, left] + share * (slope_wind[k, m, left + 1] - slope_wind[k, m, left])
                down = math.radians(aspect_deg[i, j])
                east = wind_east[k]
                north = wind_north[k]
                if bent:
                    east = response[i, j, 0, 0] * wind_east[k] + response[i, j, 0, 1] * wind_north[k]
                    north = response[i, j, 1, 0] * wind_east[k] + response[i, j, 1, 1] * wind_north[k]
                east -= push * math.sin(down)
                north -= push * math.cos(down)
                wind = math.sqrt(east * east + north * north)
                if not math.isfinite(wind):
                    broken += 1
                    continue
                bearing = math.degrees(math.atan2(np.float32(east), np.float32(north)))
                if bearing < 0.0:
                    bearing += 360.0
                at = min(wind / wind_step, float(last_wind))
                left = min(int(at), last_wind - 1)
                share = at - left
                here = rate_of[k, m, left] + share * (rate_of[k, m, left + 1] - rate_of[k, m, left])
                ratio = ratio_of[m, left] + share * (ratio_of[m, left + 1] - ratio_of[m, left])
                if ratio > ratio_max:
                    ratio = ratio_max
                    capped[k] += 1
                rate[k, i, j] = here
                toward[k, i, j] = bearing
                ecc[k, i, j] = math.sqrt(1.0 - 1.0 / (ratio * ratio))
                intensity[k, i, j] = intensity_of[k, m, left] + share * (
                    intensity_of[k, m, left + 1] - intensity_of[k, m, left]
                )
                if not math.isfinite(here + bearing + ratio + intensity[k, i, j]):
                    broken += 1
    return broken
