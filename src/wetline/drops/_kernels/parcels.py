"""Parcels of drops: the near field step by step, the long fall in closed form, and the deposit.

Metres, seconds, kilograms. x forward, y right, z up from the top of the growth; all in the frame of
the air at each height, in which the aircraft flies along x. A parcel stands for the same volume of
liquid as every other; `share` is what of it is still liquid.
"""

import math

import numpy as np
from numba import njit

# Reordering of sums only: infinities keep their meaning.
SUMS = {"contract", "reassoc", "arcp", "nsz"}
FLYING, LANDED, AS_COLUMN, GONE = 0, 1, 2, 3
NORMALS = 1024  # a power of two: three indices come out of one random number
GRAVITY = 9.81
LEAST_M = 1e-5  # smaller drops are vapour for every purpose
CALM2 = 0.25  # square of the air's local speed [m²/s²] under which a parcel is in the open air
STEADY2 = 0.5  # square of sideways slip [m²/s²] under which a parcel falls as a lone drop
FIRST_OUT = 6  # no parcel leaves the near field before this step
SEGMENTS = 6  # of the long fall, equal in height
STEEP = 0.2
EDGE = 16.0  # the curtain's lower edge is a quarter as thick as the curtain is wide: 1/0.25²
# columns of the table of air along a parcel's way
U, W, PER_B2, FRONT, EDDY, KEEP, RENEW, DRY, SWIRL, PAIR, WAKE_EDDY = range(11)
COLUMNS = 11
# columns of the state of a parcel under way
X, Y, Z, VX, VY, VZ, NX, NY, NZ, MIDDLE, AGE, WIND, STEEPLY, BROKEN, SCALE, WHOLE = range(16)
LANES = 32  # parcels taken side by side, so that the processor need not wait for any one of them


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def pair_velocity(y, z, half, height, swirl, core2):
    """Sideways and upward air of two counter-rotating vortices at ±half, and of their images in the ground.

    swirl: circulation over 2π [m²/s], for a pair that pushes the air between it down.
    """
    right, left = y - half, y + half
    up, mirrored = z - height, z + height
    r2, l2, u2, m2 = right * right + core2, left * left + core2, up * up, mirrored * mirrored
    # one division for two vortices
    above = swirl / ((r2 + u2) * (l2 + u2))
    under = swirl / ((r2 + m2) * (l2 + m2))
    a, b = above * (l2 + u2), above * (r2 + u2)
    c, d = under * (l2 + m2), under * (r2 + m2)
    return (b - a) * up + (c - d) * mirrored, (a - c) * right + (d - b) * left


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _bell(q):
    """(1 − q/8)⁸: exp(−q) within 0.07, and nothing beyond 8."""
    f = max(1.0 - 0.125 * q, 0.0)
    f *= f
    f *= f
    return f * f


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _decay(q):
    """exp(−q) for q ≥ 0, within 0.0006 of it up to q = 1 and 0.004 anywhere; falls to 0."""
    return 1.0 / (1.0 + q * (1.0 + q * (0.5 + q * (1.0 / 6.0 + q * (1.0 / 24.0 + q * (1.0 / 120.0))))))


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _break_time(we, critical):
    """Pilch and Erdman's time to total break-up, in units of (d/V)√(ρ_l/ρ_a); see `column.break_up_time`."""
    we = we * 12.0 / critical
    over = we - 12.0
    if we < 18.0:
        return 6.0 * over**-0.25
    if we < 45.0:
        return 2.45 * over**0.25
    if we < 351.0:
        return 14.1 * over**-0.25
    if we < 2670.0:
        return 0.766 * over**0.25
    return 5.5


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _mixed(word):
    """A word of a counter to one whose bits look random (splitmix64, Steele and others 2014, from memory)."""
    word = (word ^ (word >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    word = (word ^ (word >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return word ^ (word >> np.uint64(31))


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _drag(re, root, we, sphere, per_root, flattening, per_we, flat_drag):
    """Drag coefficient times Reynolds number, `root` its root, of a drop that flattens at Weber number `we`."""
    last = sphere.shape[0] - 2
    q = min(root * per_root, last + 0.999)
    i = int(q)
    hard = sphere[i] + (q - i) * (sphere[i + 1] - sphere[i])
    last = flattening.shape[0] - 2
    q = min(we * per_we, last + 0.999)
    i = int(q)
    drag = hard * (flattening[i] + (q - i) * (flattening[i + 1] - flattening[i]))
    return min(drag, max(hard, flat_drag * re))


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _settle(lane, d, terminal, per_d):
    """Take a parcel on to where it falls at terminal speed with the air about it."""
    q = min(d * per_d, terminal.shape[0] - 2 + 0.999)
    i = int(q)
    speed = terminal[i] + (q - i) * (terminal[i + 1] - terminal[i])
    lag = speed / GRAVITY
    lane[X] += lane[VX] * lag
    lane[Y] += lane[VY] * lag
    lane[Z] += (lane[VZ] + speed) * lag


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _begin(lane, start, size, height, profile, per_z, out):
    """Set a parcel on its way; see `near_field` for `start` and `out`. Returns its state."""
    z = height - start[2]
    q = min(max(0.5 * (height + z), 0.0) * per_z, profile.shape[0] - 1.001)
    i = int(q)
    lane[WIND] = start[6] * (profile[i] + (q - i) * (profile[i + 1] - profile[i]))
    lane[AGE] = start[6]
    lane[X], lane[Y], lane[Z] = start[0], start[1], z
    lane[VX], lane[VY], lane[VZ] = start[3], start[4], -start[5]
    lane[NX], lane[NY], lane[NZ] = 0.0, 0.0, 0.0
    lane[MIDDLE] = start[8]
    lane[BROKEN], lane[SCALE], lane[WHOLE] = 0.0, 1.0, size
    lane[STEEPLY] = start[2] if start[3] < STEEP * start[5] else -1.0
    out[5], out[6], out[7] = 0.0, height, 1.0
    if start[7] > 0.0:
        lane[Z] = 0.0
        out[5] = start[3] / max(start[5], 1e-9)
        return AS_COLUMN
    return FLYING


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _tell(lane, size, height, as_column, out):
    """Where a parcel has come to, and what of it is still liquid; see `near_field` for `out`."""
    out[0], out[1], out[2] = lane[X], lane[Y], max(lane[Z], 0.0)
    out[3], out[4] = lane[AGE], lane[WIND]
    if not as_column:
        out[6] = lane[STEEPLY] if lane[STEEPLY] >= 0.0 else height - max(lane[Z], 0.0)
        out[7] = lane[SCALE] * (size / lane[WHOLE]) ** 3


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy", inline="always")
def _steep(lane, vx, vz, before, z, height):
    """Note the depth at which a parcel first falls steeply, straight between the heights of a step."""
    leans = lane[VX] + STEEP * lane[VZ]
    part = leans / (leans - vx - STEEP * vz)
    lane[STEEPLY] = height - max(before + part * (z - before), 0.0)


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy")
def _broken(lane, d, slip2, dt, air_density, liquid_density, viscosity, tension):
    """Diameter after a step at a slip: once its break-up time has passed, the largest that holds there."""
    oh = viscosity / math.sqrt(liquid_density * d * tension)
    critical = 12.0 * (1.0 + 1.077 * oh**1.6)
    we = air_density * slip2 * d / tension
    if we <= critical:
        return d
    life = _break_time(we, critical) * d * math.sqrt(liquid_density / (air_density * slip2))
    lane[BROKEN] += dt / life
    child = max(critical * tension / (air_density * slip2), 1e-4)
    if lane[BROKEN] < 1.0 or child >= d:
        return d
    lane[BROKEN] = 0.0
    lane[SCALE] *= (d / lane[WHOLE]) ** 3
    lane[WHOLE] = child
    return child


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy")
def near_field(
    seed,
    height,
    steps,
    air,
    layer_of,
    start,
    size,
    profile,
    profile_step,
    normals,
    sphere,
    root_step,
    flattening,
    we_step,
    terminal,
    size_step,
    air_density,
    viscosity,
    liquid_density,
    tension,
    liquid_viscosity,
    schmidt_root,
    loss,
    flat_drag,
    half,
    core2,
    above,
    reach,
    out,
    state,
):
    """Follow parcels from where they leave the column until they fall as lone drops in open air.

    steps[j]: seconds of step j after leaving. air[layer, j, column]: see the names above. start[p]: x, y,
    depth, forward, sideways, down, seconds of column, 1 if still column at the ground, y of its
    curtain's middle. size[p]: drop diameter, changed in place. half, core2, above, reach: half the spacing of the vortices, the square of
    their cores, how far over the tank they start, how far the body's own wake reaches. out[p]: x, y, z, seconds, wind-seconds, forward/down, depth where steep, share.
    """
    count = size.shape[0]
    last_z = profile.shape[0] - 2
    per_root, per_we, per_z, per_d = 1.0 / root_step, 1.0 / we_step, 1.0 / profile_step, 1.0 / size_step
    re_factor, we_factor = air_density / viscosity, air_density / tension
    drag_factor = 0.75 * viscosity / liquid_density
    per_reach2 = 1.0 / (reach * reach)
    golden = np.uint64(0x9E3779B97F4A7C15)
    mask = np.uint64(NORMALS - 1)
    lanes = np.empty((LANES, 16))
    words = np.empty(LANES, np.uint64)
    active = np.empty(LANES, np.int64)
    for block in range(0, count, LANES):
        alive = 0
        for p in range(block, min(block + LANES, count)):
            lane = lanes[p - block]
            state[p] = _begin(lane, start[p], size[p], height, profile, per_z, out[p])
            if state[p] == FLYING:
                active[alive] = p
                alive += 1
            word = np.uint64(seed) + golden * np.uint64(p + 1)
            words[p - block] = (word ^ (word >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        for j in range(steps.shape[0]):
            n = 0
            while n < alive:
                p = active[n]
                lane = lanes[p - block]
                air_now = air[layer_of[p], j]
                dt = steps[j]
                words[p - block] += golden
                draw = _mixed(words[p - block])
                keep, renew = air_now[KEEP], air_now[RENEW]
                nx = keep * lane[NX] + renew * normals[np.int64(draw & mask)]
                ny = keep * lane[NY] + renew * normals[np.int64((draw >> np.uint64(12)) & mask)]
                nz = keep * lane[NZ] + renew * normals[np.int64((draw >> np.uint64(24)) & mask)]
                y, z, vx, vy, vz, d = lane[Y], lane[Z], lane[VX], lane[VY], lane[VZ], size[p]
                off = y - lane[MIDDLE]
                q = off * off * air_now[PER_B2]
                beyond = max(height - z - air_now[FRONT], 0.0)
                f = _bell(q + beyond * beyond * (EDGE * air_now[PER_B2]))
                pair = height - air_now[PAIR]
                wy, wz = pair_velocity(y, z, half, pair, air_now[SWIRL], core2)
                away = z - pair + above
                near = 1.0 / (1.0 + (away * away + y * y) * per_reach2)
                g = air_now[WAKE_EDDY] * near * near
                own = f * air_now[EDDY]
                eddy = math.sqrt(own * own + g * g) + 1e-6
                # eddies weaken outwards: without this drift parcels would gather where they are weak
                outward = own * own * off * air_now[PER_B2] + 2.0 * g * g * near * y * per_reach2
                ny -= 2.0 * outward / eddy * dt
                gx = f * air_now[U] + eddy * nx
                gy = wy + eddy * ny
                gz = wz - f * air_now[W] + 0.7 * eddy * nz
                ux, uy, uz = gx - vx, gy - vy, gz - vz
                slip2 = ux * ux + uy * uy + uz * uz + 1e-12
                re = re_factor * math.sqrt(slip2) * d
                we = we_factor * slip2 * d
                root = math.sqrt(re)
                drag = _drag(re, root, we, sphere, per_root, flattening, per_we, flat_drag)
                k = drag_factor * drag / (d * d)
                a = _decay(k * dt)
                still = (1.0 - a) / k
                fall = gz - GRAVITY / k
                before = z
                x = lane[X] + gx * dt + (vx - gx) * still
                y += gy * dt + (vy - gy) * still
                z += fall * dt + (vz - fall) * still
                vx = gx + (vx - gx) * a
                vy = gy + (vy - gy) * a
                vz = fall + (vz - fall) * a
                if z <= 0.0:
                    part = before / (before - z)
                    x -= (1.0 - part) * vx * dt
                    y -= (1.0 - part) * vy * dt
                    dt *= part
                q = min(max(0.5 * (before + z), 0.0) * per_z, last_z + 0.999)
                i = int(q)
                lane[WIND] += dt * (profile[i] + (q - i) * (profile[i + 1] - profile[i]))
                lane[AGE] += dt
                lane[MIDDLE] += wy * dt
                if lane[STEEPLY] < 0.0 and vx < STEEP * -vz:
                    _steep(lane, vx, vz, before, z, height)
                lane[X], lane[Y], lane[Z], lane[VX], lane[VY], lane[VZ] = x, y, z, vx, vy, vz
                lane[NX], lane[NY], lane[NZ] = nx, ny, nz
                square = d * d - loss * air_now[DRY] * (2.0 + 0.6 * schmidt_root * root) * dt
                done = False
                if square < LEAST_M * LEAST_M:
                    state[p] = GONE
                    lane[SCALE] = 0.0
                    done = True
                else:
                    d = math.sqrt(square)
                    if z <= 0.0:
                        state[p] = LANDED
                        out[p, 5] = max(vx, 0.0) / max(-vz, 1e-9)
                        done = True
                    elif we > 12.0:
                        # eddies turn about a drop sooner than it breaks: the mean slip is what breaks it
                        mx, my, mz = ux - eddy * nx, uy - eddy * ny, uz - 0.7 * eddy * nz
                        slip2 = min(slip2, mx * mx + my * my + mz * mz)
                        d = _broken(
                            lane, d, slip2, dt, air_density, liquid_density, liquid_viscosity, tension
                        )
                size[p] = d
                if j >= FIRST_OUT and vx * vx + vy * vy < STEADY2:
                    done = done or gx * gx + wy * wy + wz * wz + eddy * eddy < CALM2
                if done:
                    alive -= 1
                    active[n] = active[alive]
                else:
                    n += 1
            if alive == 0:
                break
        for p in range(block, min(block + LANES, count)):
            lane = lanes[p - block]
            if state[p] == FLYING:
                _settle(lane, size[p], terminal, per_d)
            _tell(lane, size[p], height, state[p] == AS_COLUMN, out[p])


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy")
def long_fall(dryness, reach, terminal, size_step, integral, integral_step, rough, per_log, out, size, state):
    """Let every flying parcel fall to the ground at terminal speed through the open air, in place.

    reach[i]: metres of fall in which a drop of size i dries up under a reference deficit; dryness[p]: deficit
    over that one. integral: ∫ w/w₁₀ dz from the ground, by height; per_log: 1/ln(1 + 10/rough).
    """
    last_d = terminal.shape[0] - 2
    last_z = integral.shape[0] - 2
    for p in range(size.shape[0]):
        if state[p] != FLYING:
            continue
        z, d, seconds, wind = out[p, 2], size[p], out[p, 3], out[p, 4]
        q = min(d / size_step, last_d + 0.999)
        i = int(q)
        speed = terminal[i] + (q - i) * (terminal[i + 1] - terminal[i])
        wind += speed / GRAVITY * math.log1p(z / rough) * per_log
        left = reach[i] + (q - i) * (reach[i + 1] - reach[i])
        d0 = d
        step = z / SEGMENTS
        q = min(z / integral_step, last_z + 0.999)
        k = int(q)
        above = integral[k] + (q - k) * (integral[k + 1] - integral[k])
        for _ in range(SEGMENTS):
            left -= step * dryness[p]
            if left <= reach[1]:
                state[p] = GONE
                break
            while reach[i] > left:
                i -= 1
            part = (left - reach[i]) / (reach[i + 1] - reach[i])
            d = size_step * (i + part)
            slower = terminal[i] + part * (terminal[i + 1] - terminal[i])
            z = max(z - step, 0.0)
            q = min(z / integral_step, last_z + 0.999)
            k = int(q)
            under = integral[k] + (q - k) * (integral[k + 1] - integral[k])
            mean = 0.5 * (speed + slower)
            seconds += step / mean
            wind += (above - under) / mean
            above, speed = under, slower
        if state[p] == GONE:
            out[p, 7] = 0.0
            continue
        lag = speed / GRAVITY
        wind -= lag * math.log1p(0.5615 * speed * lag / rough) * per_log
        out[p, 2], out[p, 3], out[p, 4] = 0.0, seconds, wind
        out[p, 7] *= (d / d0) ** 3
        size[p] = d
        state[p] = LANDED


@njit(cache=True, nogil=True, fastmath=SUMS, error_model="numpy")
def deposit(x, y, litres, group, shift, times, ground_speed, copies, x0, y0, cell, raster):
    """Lay parcels on cells, shared linearly among four; returns the litres laid.

    Where a parcel lands does not hang on when it left within its group of like flow, so that each is laid
    down `copies` times, evenly over times[group]. x: from where its door opened to it. x0, y0: first middles.
    """
    rows, cols = raster.shape
    count = times.shape[1]
    laid = 0.0
    per_area = 1.0 / (cell * cell)
    for p in range(x.shape[0]):
        if litres[p] <= 0.0:
            continue
        v = (y[p] - y0) / cell
        if v < 0.0 or v >= cols - 1:
            continue
        c = int(v)
        v -= c
        amount = litres[p] / copies
        for r in range(copies):
            q = (shift[p] + r / copies) % 1.0 * (count - 1)
            i = min(int(q), count - 2)
            t = times[group[p], i] + (q - i) * (times[group[p], i + 1] - times[group[p], i])
            u = (x[p] + ground_speed * t - x0) / cell
            if u < 0.0 or u >= rows - 1:
                continue
            k = int(u)
            u -= k
            share = amount * per_area
            raster[k, c] += share * (1.0 - u) * (1.0 - v)
            raster[k, c + 1] += share * (1.0 - u) * v
            raster[k + 1, c] += share * u * (1.0 - v)
            raster[k + 1, c + 1] += share * u * v
            laid += amount
    return laid
