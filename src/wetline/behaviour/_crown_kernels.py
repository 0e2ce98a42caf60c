"""Crown fire in every cell and slot, over the surface fire's fields. m, s, kW, kJ; grid bearings in degrees."""

from __future__ import annotations

import math

import numba


@numba.njit(cache=True, nogil=True)
def crown_over_surface(
    trees, critical, bulk, heat,
    model, site, slope_tan, aspect_deg,
    wind_mps, wind_east, wind_north, response,
    by_wind_alone, base, wind_k, wind_b, slope_k,
    canopy_wind, mile_per_hour, lw_max,
    rate, toward, ecc, intensity, crown, counts,
):  # fmt: skip
    """Raises rate and intensity [s, r, c] where crowns burn; fills crown uint8[s, r, c].

    trees bool[r, c]; critical [kW/m], bulk [kg/m³], heat of the crowns [kJ/m²]: float32[r, c], NaN unknown.
    base [s, site]: with by_wind_alone, rate [m/s] over (20-ft wind)^0.9 · bulk^0.19; else rate without wind or
    slope, pushed by wind_k · (canopy_wind · wind)^wind_b and slope_k · tan². Wind and response as in
    `head_fire`. counts int64[s, 4]: passive, active, unknown, length to width cut.
    Returns the number of values that are no finite number.
    """
    slots, rows, cols = rate.shape
    bent = response.size > 0
    broken = 0
    widest = math.sqrt(1.0 - 1.0 / (lw_max * lw_max))
    for i in range(rows):
        any_trees = False
        for j in range(cols):
            any_trees = any_trees or trees[i, j]
        if not any_trees:
            continue
        for k in range(slots):
            for j in range(cols):
                surface_kw = intensity[k, i, j]
                if not trees[i, j] or model[i, j] < 0 or surface_kw <= 0.0 or surface_kw < critical[i, j]:
                    continue
                if not math.isfinite(critical[i, j] + bulk[i, j] + heat[i, j]):
                    crown[k, i, j] = 255
                    counts[k, 2] += 1
                    continue
                surface = rate[k, i, j]
                to_east = wind_east[k]
                to_north = wind_north[k]
                if bent:
                    to_east = response[i, j, 0, 0] * wind_east[k] + response[i, j, 0, 1] * wind_north[k]
                    to_north = response[i, j, 1, 0] * wind_east[k] + response[i, j, 1, 1] * wind_north[k]
                speed_up = math.sqrt(to_east * to_east + to_north * to_north)
                wind = wind_mps[k] * speed_up
                if by_wind_alone:
                    crown_rate = base[k, site[i, j]] * wind**0.9 * bulk[i, j] ** 0.19
                    east = to_east
                    north = to_north
                    effective = canopy_wind * wind
                else:
                    push = wind_k * (canopy_wind * wind) ** wind_b
                    slope = slope_k * slope_tan[i, j] * slope_tan[i, j]
                    down = math.radians(aspect_deg[i, j])
                    east = -slope * math.sin(down)
                    north = -slope * math.cos(down)
                    if speed_up > 0.0:
                        east += push * to_east / speed_up
                        north += push * to_north / speed_up
                    factor = math.sqrt(east * east + north * north)
                    crown_rate = base[k, site[i, j]] * (1.0 + factor)
                    effective = (factor / wind_k) ** (1.0 / wind_b)
                active_rate = 3.0 / bulk[i, j] / 60.0
                faster = max(surface, crown_rate)
                fraction = 1.0
                if faster >= active_rate:
                    crown[k, i, j] = 2
                    counts[k, 1] += 1
                else:
                    crown[k, i, j] = 1
                    counts[k, 0] += 1
                    initiation = surface * critical[i, j] / surface_kw
                    if active_rate > initiation:
                        steep = math.log(0.1) / (0.9 * (active_rate - initiation))
                        fraction = 1.0 - math.exp(steep * (surface - initiation))
                here = surface + fraction * (faster - surface)
                rate[k, i, j] = here
                intensity[k, i, j] = (surface_kw / surface + fraction * heat[i, j]) * here
                if not math.isfinite(here + intensity[k, i, j]):
                    broken += 1
                    continue
                if crown[k, i, j] == 1 or crown_rate <= surface:
                    continue
                u = effective / mile_per_hour
                lw = 0.936 * math.exp(0.1147 * u) + 0.461 * math.exp(-0.0692 * u) - 0.397
                lw = max(lw, 1.0)
                if lw > lw_max:
                    lw = lw_max
                    if ecc[k, i, j] < 0.999 * widest:
                        counts[k, 3] += 1
                by_wind = math.sqrt(1.0 - 1.0 / (lw * lw))
                bearing = math.degrees(math.atan2(east, north))
                if bearing < 0.0:
                    bearing += 360.0
                turn = math.radians(bearing - toward[k, i, j])
                e = ecc[k, i, j]
                gap = 1.0 / surface - 1.0 / here
                b = e / (1.0 - e) / surface
                most = gap * (gap + 2.0 * b) / (2.0 * (gap + b * (1.0 - math.cos(turn))))
                toward[k, i, j] = bearing
                ecc[k, i, j] = min(by_wind, most / (1.0 / here + most))
                if not math.isfinite(bearing + ecc[k, i, j]):
                    broken += 1
    return broken
