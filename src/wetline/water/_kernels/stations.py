"""Bands of lanes along one heading, from its chords: lines across the heading, a little less than a lane apart.

Every lane crosses a *station*, a line u = const, and belongs to the first that it crosses. Seen from
a station the shore to the left is a function L(v), to the right R(v), each made of straight *pieces*.
A lane at offset v reaches from the largest L to the smallest R within the open strip |v' - v| < half:
the larger of L at both sides of the strip and at the breaks between, so that between two offsets at
which a break enters or leaves, its length is the difference of three-fold extremes of straight lines,
concave, and its peak lies where two of them cross. Nothing is sampled.
"""

import numpy as np
from numba import njit

FULL = -1
SPACING = 0.96
"""Stations lie this part of the least lane apart: every lane crosses one well inside its ends."""

_TOUCH = 1e-6


@njit(cache=True, nogil=True)
def spread(rows, count, origin, spacing, stations, links, first):
    """Which chords each station meets, in their order: `first` offsets, `links` chord numbers.

    Returns how many links there are, or FULL. `links` row 0: sorted; rows 1 and 2: work.
    """
    used = 0
    first[: stations + 1] = 0
    for c in range(count):
        low = min(rows[c, 2], rows[c, 3])
        high = max(rows[c, 4], rows[c, 5])
        j = max(int((low - origin) / spacing), 0)
        while j < stations and origin + j * spacing < high:
            if origin + j * spacing >= low:
                if used == links.shape[1]:
                    return FULL
                links[1, used] = c
                links[2, used] = j
                first[j + 1] += 1
                used += 1
            j += 1
    for j in range(stations):
        first[j + 1] += first[j]
    for i in range(used):
        j = links[2, i]
        links[0, first[j]] = links[1, i]
        first[j] += 1
    for j in range(stations, 0, -1):
        first[j] = first[j - 1]
    first[0] = 0
    return used


@njit(cache=True, nogil=True)
def _add(piece, used, a, b, c0, c1, l0, l1, r0, r1, own):
    """Add the part from v = a to b of a chord that lasts from c0 to c1."""
    piece[used, 0] = a
    piece[used, 1] = b
    if a != c0 or b != c1:
        p = (a - c0) / (c1 - c0)
        q = (b - c0) / (c1 - c0)
        l0, l1 = l0 + p * (l1 - l0), l0 + q * (l1 - l0)
        r0, r1 = r0 + p * (r1 - r0), r0 + q * (r1 - r0)
    piece[used, 2] = l0
    piece[used, 3] = l1
    piece[used, 4] = r0
    piece[used, 5] = r1
    piece[used, 6] = own
    piece[used, 7] = 1.0 / (b - a)
    return used + 1


@njit(cache=True, nogil=True)
def _cut(rows, c, station, before, piece, used):
    """Add the parts of a chord that hold water at the station: split where L crosses the station before.

    Columns of `piece`: v from, v to, L at both, R at both, 1 where the station before is out of sight,
    1 / (v to - v from), and the largest L and the smallest R at its upper end.
    """
    t0, t1 = rows[c, 0], rows[c, 1]
    l0, l1 = rows[c, 2], rows[c, 3]
    r0, r1 = rows[c, 4], rows[c, 5]
    low, high = min(l0, l1), max(l0, l1)
    if high <= station < min(r0, r1) and (low > before or high <= before):
        return _add(piece, used, t0, t1, t0, t1, l0, l1, r0, r1, 1.0 if low > before else 0.0)
    begin, end = t0, t1
    for side in range(2):
        e0 = station - l0 if side == 0 else r0 - station
        e1 = station - l1 if side == 0 else r1 - station
        if e0 >= 0.0 and e1 >= 0.0:
            continue
        if e0 < 0.0 and e1 < 0.0:
            return used
        cross = t0 + (e0 / (e0 - e1)) * (t1 - t0)
        if e0 < 0.0:
            begin = max(begin, cross)
        else:
            end = min(end, cross)
    if end <= begin:
        return used
    if low > before or high <= before:
        own = 1.0 if l0 > before else 0.0
        return _add(piece, used, begin, end, t0, t1, l0, l1, r0, r1, own)
    e0 = before - l0
    e1 = before - l1
    cross = min(max(t0 + (e0 / (e0 - e1)) * (t1 - t0), begin), end)
    if cross > begin:
        used = _add(piece, used, begin, cross, t0, t1, l0, l1, r0, r1, 1.0 if l0 > before else 0.0)
    if cross < end:
        used = _add(piece, used, cross, end, t0, t1, l0, l1, r0, r1, 1.0 if l1 > before else 0.0)
    return used


@njit(cache=True, nogil=True)
def _order(piece, used):
    """Pieces by rising v: a chord that ends late may have left the station early."""
    for i in range(1, used):
        j = i
        while j > 0 and piece[j, 0] < piece[j - 1, 0]:
            for column in range(8):
                piece[j, column], piece[j - 1, column] = piece[j - 1, column], piece[j, column]
            j -= 1


@njit(cache=True, nogil=True)
def _peak(la0, la1, lb0, lb1, lm, ra0, ra1, rb0, rb1, rm):
    """The fraction of a slab at which min of the rights less max of the lefts is largest, and both there."""
    best_s = 0.0
    best_l = max(la0, lb0, lm)
    best_r = min(ra0, rb0, rm)
    left = max(la1, lb1, lm)
    right = min(ra1, rb1, rm)
    if right - left > best_r - best_l:
        best_s, best_l, best_r = 1.0, left, right
    for d0, d1 in (
        (la0 - lb0, la1 - lb1),
        (la0 - lm, la1 - lm),
        (lb0 - lm, lb1 - lm),
        (ra0 - rb0, ra1 - rb1),
        (ra0 - rm, ra1 - rm),
        (rb0 - rm, rb1 - rm),
    ):
        if not d0 * d1 < 0.0:
            continue
        s = d0 / (d0 - d1)
        left = max(la0 + s * (la1 - la0), lb0 + s * (lb1 - lb0), lm)
        right = min(ra0 + s * (ra1 - ra0), rb0 + s * (rb1 - rb0), rm)
        if right - left > best_r - best_l:
            best_s, best_l, best_r = s, left, right
    return best_s, best_l, best_r


@njit(cache=True, nogil=True)
def _note(ends, n, v, left, right, band):
    ends[n, 0] = v
    ends[n, 1] = left
    ends[n, 2] = right
    ends[n, 3] = band
    return n + 1


@njit(cache=True, nogil=True)
def _push(piece, q, lefts, rights, ends):
    """Let the break above piece q into the strip: `lefts` keeps falling L, `rights` rising R."""
    left = max(piece[q, 3], piece[q + 1, 2])
    right = min(piece[q, 5], piece[q + 1, 4])
    piece[q, 8] = left
    piece[q, 9] = right
    last = ends[1]
    while last > ends[0] and piece[lefts[last - 1], 8] <= left:
        last -= 1
    lefts[last] = q
    ends[1] = last + 1
    last = ends[3]
    while last > ends[2] and piece[rights[last - 1], 9] >= right:
        last -= 1
    rights[last] = q
    ends[3] = last + 1


@njit(cache=True, nogil=True)
def _pop(q, lefts, rights, ends):
    """Let the break above piece q out of the strip."""
    if ends[1] > ends[0] and lefts[ends[0]] == q:
        ends[0] += 1
    if ends[3] > ends[2] and rights[ends[2]] == q:
        ends[2] += 1


@njit(cache=True, nogil=True)
def _on(piece, q, v):
    """L and R of a piece at v."""
    part = min(max((v - piece[q, 0]) * piece[q, 7], 0.0), 1.0)
    return piece[q, 2] + part * (piece[q, 3] - piece[q, 2]), piece[q, 4] + part * (piece[q, 5] - piece[q, 4])


@njit(cache=True, nogil=True)
def _run(piece, a, v0, stop, half, least, work, out, tally):
    """The bands at offsets v0 to `stop`, in pieces without a break; the strip begins in piece a.

    `tally`: bands, starts and ends so far. Bands go to `out` rows (length, from u, to u, v). Where one
    begins or ends with a gap still long enough, that gap is noted: it may go on at another station.
    Returns False if there is no room.
    """
    lefts, rights, queue, starts, ends = work.lefts, work.rights, work.queue, work.starts, work.ends
    bands, n_starts, n_ends = tally[0], tally[1], tally[2]
    queue[:] = 0
    b = a
    while piece[b, 1] - half <= v0:
        _push(piece, b, lefts, rights, queue)
        b += 1
    band = -1
    gap_l = gap_r = 0.0
    while v0 < stop:
        leave = piece[a, 1] + half
        enter = piece[b, 1] - half
        v1 = min(leave, enter)
        if v1 > v0:
            lm = piece[lefts[queue[0]], 8] if queue[1] > queue[0] else -np.inf
            rm = piece[rights[queue[2]], 9] if queue[3] > queue[2] else np.inf
            la0 = lb0 = la1 = lb1 = lm
            ra0 = rb0 = ra1 = rb1 = rm
            reach = rm - lm
            if reach >= least:
                la0, ra0 = _on(piece, a, v0 - half)
                la1, ra1 = _on(piece, a, v1 - half)
                lb0, rb0 = _on(piece, b, v0 + half)
                lb1, rb1 = _on(piece, b, v1 + half)
                reach = min(max(ra0, ra1), max(rb0, rb1), rm) - max(min(la0, la1), min(lb0, lb1), lm)
            if reach < least:
                if band >= 0:
                    n_ends = _note(ends, n_ends, v0, gap_l, gap_r, band)
                band = -1
            else:
                left = max(la0, lb0, lm)
                right = min(ra0, rb0, rm)
                alive = right - left >= least
                same = (
                    band >= 0
                    and min(right, gap_r) - max(left, gap_l) >= least
                    and abs(left - gap_l) < least
                    and abs(right - gap_r) < least
                )
                if band >= 0 and not same:
                    n_ends = _note(ends, n_ends, v0, gap_l, gap_r, band)
                    band = -1
                if band < 0 or reach > out[band, 0]:
                    s, u0, u1 = _peak(la0, la1, lb0, lb1, lm, ra0, ra1, rb0, rb1, rm)
                    if band < 0 and u1 - u0 >= least:
                        if bands == out.shape[0] or max(n_starts, n_ends) + 2 > starts.shape[0]:
                            return False
                        band = bands
                        bands += 1
                        out[band, 0] = -1.0
                        if alive:
                            n_starts = _note(starts, n_starts, v0, left, right, band)
                    if band >= 0 and u1 - u0 > out[band, 0]:
                        out[band, 0] = u1 - u0
                        out[band, 1] = u0
                        out[band, 2] = u1
                        out[band, 3] = v0 + s * (v1 - v0)
                gap_l = max(la1, lb1, lm)
                gap_r = min(ra1, rb1, rm)
                if gap_r - gap_l < least:
                    band = -1
            v0 = v1
        if v0 >= stop:
            break
        if enter <= v1:
            _push(piece, b, lefts, rights, queue)
            b += 1
        if leave <= v1:
            _pop(a, lefts, rights, queue)
            a += 1
    if band >= 0:
        n_ends = _note(ends, n_ends, v0, gap_l, gap_r, band)
    tally[0], tally[1], tally[2] = bands, n_starts, n_ends
    return True


@njit(cache=True, nogil=True)
def _runs(piece, used, half, least, work, out, tally):
    """The bands of all pieces of a station: wherever the strip meets a piece that is the station's own."""
    begin = 0
    while begin < used:
        end = begin + 1
        while end < used and piece[end, 0] == piece[end - 1, 1]:
            end += 1
        i = begin
        while i < end:
            if piece[i, 6] == 0.0:
                i += 1
                continue
            last = i
            k = i + 1
            while k < end and piece[k, 0] - half <= piece[last, 1] + half:
                if piece[k, 6] > 0.0:
                    last = k
                k += 1
            start = max(piece[begin, 0] + half, piece[i, 0] - half)
            stop = min(piece[end - 1, 1] - half, piece[last, 1] + half)
            if start < stop:
                a = i
                while a > begin and piece[a - 1, 1] + half > start:
                    a -= 1
                if not _run(piece, a, start, stop, half, least, work, out, tally):
                    return False
            i = k
        begin = end
    return True


@njit(cache=True, nogil=True)
def root(parent, i):
    while parent[i] != i:
        i = parent[i]
    return i


@njit(cache=True, nogil=True)
def _overlap(one, other):
    return min(one[2], other[2]) - max(one[1], other[1])


@njit(cache=True, nogil=True)
def _join(starts, n_starts, ends, n_ends, least, parent):
    """Make one of the bands that end and begin at one offset with gaps that go on, one to one."""
    if n_starts == 0 or n_ends == 0:
        return
    by_start = np.argsort(starts[:n_starts, 0])
    by_end = np.argsort(ends[:n_ends, 0])
    i = 0
    j = 0
    while i < n_ends and j < n_starts:
        v = ends[by_end[i], 0]
        w = starts[by_start[j], 0]
        if v < w:
            i += 1
            continue
        if w < v:
            j += 1
            continue
        last_i = i
        while last_i < n_ends and ends[by_end[last_i], 0] == v:
            last_i += 1
        last_j = j
        while last_j < n_starts and starts[by_start[last_j], 0] == v:
            last_j += 1
        for jj in range(j, last_j):
            start = starts[by_start[jj]]
            met = -1
            count = 0
            for ii in range(i, last_i):
                if _overlap(ends[by_end[ii]], start) >= least - _TOUCH:
                    met = ii
                    count += 1
            if count != 1:
                continue
            count = 0
            for other in range(j, last_j):
                if _overlap(ends[by_end[met]], starts[by_start[other]]) >= least - _TOUCH:
                    count += 1
            if count == 1:
                one = root(parent, int(ends[by_end[met], 3]))
                two = root(parent, int(start[3]))
                parent[max(one, two)] = min(one, two)
        i = last_i
        j = last_j


@njit(cache=True, nogil=True)
def bands(rows, count, low_u, high_u, half, least, work, out):
    """The bands of one heading: `out` rows (length, from u, to u, v), `work.parent` their joints.

    Returns how many rows there are, or FULL.
    """
    spacing = SPACING * least
    origin = low_u + 0.37 * spacing
    stations = int((high_u - origin) / spacing) + 1
    if stations + 1 > work.first.size:
        return FULL
    if spread(rows, count, origin, spacing, stations, work.links, work.first) == FULL:
        return FULL
    tally = work.tally
    tally[:] = 0
    piece = work.piece
    for j in range(stations):
        if 2 * (work.first[j + 1] - work.first[j]) > piece.shape[0]:
            return FULL
        used = 0
        station = origin + j * spacing
        before = origin + (j - 1) * spacing
        for i in range(work.first[j], work.first[j + 1]):
            used = _cut(rows, work.links[0, i], station, before, piece, used)
        _order(piece, used)
        if not _runs(piece, used, half, least, work, out, tally):
            return FULL
    for i in range(tally[0]):
        work.parent[i] = i
    _join(work.starts, tally[1], work.ends, tally[2], least, work.parent)
    return tally[0]
