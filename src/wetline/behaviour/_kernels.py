"""Head fire in every cell and slot. m, s, kW; angles in degrees as grid bearings; factors dimensionless."""

from __future__ import annotations

import math

import numba
import numpy as np


@numba.njit(cache=True, nogil=True)
def head_fire(
    model, site, slope_tan, aspect_deg, adjustment,
    wind_k, wind_b, slope_k,
    wind_mps, wind_east, wind_north, response,
    no_wind_mps, heat_kj_per_m2, factor_max,
    mile_per_hour, lw_max,
    rate, toward, ecc, intensity, capped,
):  # fmt: skip
    """model int16[r, c], −1 where nothing burns; site int8[r, c]; slope, aspect, adjustment float32[r, c].

    Per model m: wind factor = wind_k[m] · U^wind_b[m], slope factor = slope_k[m] · tan².
    Per slot s: 20-ft wind [m/s] and the unit step it blows to; response float32[r, c, 2, 2] bends it in
    each cell, or is empty. Per [s, m, site]: rate and heat without
    wind or slope, greatest factor allowed (inf: none). Out: float32[s, r, c] each; capped int64[s].
    Returns the number of values that are no finite number: 0 unless the input held one.
    """
    # atan2 and the power run in float32, twice as fast and as fine as the float32 they end in
    slots, rows, cols = rate.shape
    models = wind_k.size
    broken = 0
    bent = response.size > 0
    blown = np.empty((slots, models))
    for k in range(slots):
        for m in range(models):
            blown[k, m] = wind_k[m] * wind_mps[k] ** wind_b[m]
    sheltered = np.empty(cols)
    up_east = np.empty(cols)
    up_north = np.empty(cols)
    for i in range(rows):
        for j in range(cols):
            m = model[i, j]
            if m < 0:
                continue
            sheltered[j] = adjustment[i, j] ** wind_b[m]
            slope = slope_k[m] * slope_tan[i, j] * slope_tan[i, j]
            down = math.radians(aspect_deg[i, j])
            up_east[j] = -slope * math.sin(down)
            up_north[j] = -slope * math.cos(down)
        for k in range(slots):
            for j in range(cols):
                m = model[i, j]
                if m < 0:
                    rate[k, i, j] = 0.0
                    toward[k, i, j] = 0.0
                    ecc[k, i, j] = 0.0
                    intensity[k, i, j] = 0.0
                    continue
                wind = blown[k, m] * sheltered[j]
                to_east = wind_east[k]
                to_north = wind_north[k]
                if bent:
                    to_east = response[i, j, 0, 0] * wind_east[k] + response[i, j, 0, 1] * wind_north[k]
                    to_north = response[i, j, 1, 0] * wind_east[k] + response[i, j, 1, 1] * wind_north[k]
                    speed_up = math.sqrt(to_east * to_east + to_north * to_north)
                    if speed_up > 0.0:
                        wind *= speed_up ** (wind_b[m] - 1.0)
                east = up_east[j] + wind * to_east
                north = up_north[j] + wind * to_north
                factor = math.sqrt(east * east + north * north)
                bearing = math.degrees(math.atan2(np.float32(east), np.float32(north)))
                if bearing < 0.0:
                    bearing += 360.0
                s = site[i, j]
                factor = min(factor, factor_max[k, m, s])
                lw = 1.0
                if factor > 0.0:
                    u = float(np.float32(factor / wind_k[m]) ** np.float32(1.0 / wind_b[m])) / mile_per_hour
                    lw = 0.936 * math.exp(0.1147 * u) + 0.461 * math.exp(-0.0692 * u) - 0.397
                    if lw < 1.0:
                        lw = 1.0
                    if lw > lw_max:
                        lw = lw_max
                        capped[k] += 1
                here = no_wind_mps[k, m, s] * (1.0 + factor)
                rate[k, i, j] = here
                toward[k, i, j] = bearing
                ecc[k, i, j] = math.sqrt(1.0 - 1.0 / (lw * lw))
                intensity[k, i, j] = heat_kj_per_m2[k, m, s] * here
                if not math.isfinite(here + bearing + lw):
                    broken += 1
    return broken
