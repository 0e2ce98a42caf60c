"""Chords of clear water along one heading: one sweep over the shore, from low v to high.

Metres. `u` runs along the heading and `v` to its right. A *chord* lies between two shore edges that
are neighbours with water between them; it lasts from the level where they become neighbours to the
level where they cease to be. Rows of chords: (v from, v to, left u at both, right u at both).
Water is inside by the even-odd rule; edge i runs from point i to point `following[i]` of its ring.

`points` float64[2, n]: u and v. `edges` float64[n, 8]: u and v of the lower and the upper end, du/dv;
then, of the chord to the right of the edge, where it began: v, left u, right u. `order` int64[2, n]:
points by rising v, and the level of each point. `net` int64[5, n + 2]: edges across the level by
rising u, the place of each edge there, its neighbour across the water, and work.
"""

import numpy as np
from numba import njit

FULL = -1
ODD = -2
"""Status: an odd number of shores across a level; the outline crosses itself."""

ACTIVE, PLACE, MATE, KEPT, MARK = range(5)

_LEVEL = 1e-9  # points nearer in v than this lie on one level: the noise of turning
_TIE = 1e-6  # edges nearer than this at a level are told apart where they are further apart
_CROWD = 48  # more points in one bucket than this are sorted otherwise


@njit(cache=True, nogil=True)
def _sort(v, low, high, order, tally):
    """`order`: the points by rising v. Buckets first, then insertion over what is nearly sorted."""
    n = v.size
    scale = (n - 1) / (high - low) if high > low else 0.0
    tally[: n + 1] = 0
    for i in range(n):
        tally[int((v[i] - low) * scale) + 1] += 1
    worst = 0
    for b in range(n):
        worst = max(worst, tally[b + 1])
        tally[b + 1] += tally[b]
    if worst > _CROWD:
        order[:n] = np.argsort(v)
        return
    for i in range(n):
        b = int((v[i] - low) * scale)
        order[tally[b]] = i
        tally[b] += 1
    for i in range(1, n):
        p = order[i]
        key = v[p]
        j = i
        while j > 0 and v[order[j - 1]] > key:
            order[j] = order[j - 1]
            j -= 1
        order[j] = p


@njit(cache=True, nogil=True)
def turn(x, y, following, sine, cosine, points, edges, order, net):
    """The shore turned to the heading; returns low and high u. Levels are snapped together."""
    n = x.size
    u, v = points[0], points[1]
    u_low = v_low = np.inf
    u_high = v_high = -np.inf
    for i in range(n):
        u[i] = x[i] * sine + y[i] * cosine
        v[i] = x[i] * cosine - y[i] * sine
        u_low = min(u_low, u[i])
        u_high = max(u_high, u[i])
        v_low = min(v_low, v[i])
        v_high = max(v_high, v[i])
    ranked, level = order[0], order[1]
    _sort(v, v_low, v_high, ranked, net[KEPT])
    at = v[ranked[0]]
    number = 0
    for k in range(n):
        p = ranked[k]
        if v[p] - at > _LEVEL:
            at = v[p]
            number += 1
        v[p] = at
        level[p] = number
    for i in range(n):
        j = following[i]
        p, q = (i, j) if level[i] < level[j] else (j, i)
        edges[i, 0] = u[p]
        edges[i, 1] = v[p]
        edges[i, 2] = u[q]
        edges[i, 3] = v[q]
        edges[i, 4] = (u[q] - u[p]) / (v[q] - v[p]) if v[q] > v[p] else 0.0
    return u_low, u_high


@njit(cache=True, nogil=True)
def _u_at(edges, i, t):
    """Where an edge that is not level crosses t: exact at its ends."""
    if t <= edges[i, 1]:
        return edges[i, 0]
    if t >= edges[i, 3]:
        return edges[i, 2]
    return edges[i, 0] + edges[i, 4] * (t - edges[i, 1])


@njit(cache=True, nogil=True)
def _before(edges, one, other, t):
    """True if an edge that begins at t lies at lower u than the other just above t."""
    apart = edges[one, 0] - _u_at(edges, other, t)
    if abs(apart) <= _TIE:
        above = min(edges[one, 3], edges[other, 3])
        apart = _u_at(edges, one, above) - _u_at(edges, other, above)
    return apart < 0.0


@njit(cache=True, nogil=True)
def _place(edges, net, one, t, count):
    """Where among the edges across the level an edge that begins at t belongs."""
    i = 0
    while i < count and not _before(edges, one, net[ACTIVE, i], t):
        i += 1
    return i


@njit(cache=True, nogil=True)
def _open(edges, net, left, right, t, left_u, right_u):
    edges[left, 5] = t
    edges[left, 6] = left_u
    edges[left, 7] = right_u
    net[MATE, left] = right


@njit(cache=True, nogil=True)
def _close(edges, left, t, left_u, right_u, least, rows, used):
    """Add the chord to the right of an edge if it is long enough anywhere; returns the rows used."""
    if t <= edges[left, 5] or max(edges[left, 7] - edges[left, 6], right_u - left_u) < least:
        return used
    rows[used, 0] = edges[left, 5]
    rows[used, 1] = t
    rows[used, 2] = edges[left, 6]
    rows[used, 3] = left_u
    rows[used, 4] = edges[left, 7]
    rows[used, 5] = right_u
    return used + 1


@njit(cache=True, nogil=True)
def _pass(edges, net, down, up, u, t, least, rows, used):
    """A shore goes on: one edge takes the place of another."""
    i = net[PLACE, down]
    net[ACTIVE, i] = up
    net[PLACE, up] = i
    if i & 1:
        left = net[ACTIVE, i - 1]
        left_u = _u_at(edges, left, t)
        used = _close(edges, left, t, left_u, u, least, rows, used)
        _open(edges, net, left, up, t, left_u, u)
    else:
        right = net[ACTIVE, i + 1]
        right_u = _u_at(edges, right, t)
        used = _close(edges, down, t, u, right_u, least, rows, used)
        _open(edges, net, up, right, t, u, right_u)
    return used


@njit(cache=True, nogil=True)
def _end(edges, net, one, two, u, t, least, rows, used, count):
    """Two edges meet and end: water that closes, or land, whose chords become one."""
    i = min(net[PLACE, one], net[PLACE, two])
    if i & 1:
        left, right = net[ACTIVE, i - 1], net[ACTIVE, i + 2]
        left_u, right_u = _u_at(edges, left, t), _u_at(edges, right, t)
        used = _close(edges, left, t, left_u, u, least, rows, used)
        used = _close(edges, net[ACTIVE, i + 1], t, u, right_u, least, rows, used)
        _open(edges, net, left, right, t, left_u, right_u)
    else:
        used = _close(edges, net[ACTIVE, i], t, u, u, least, rows, used)
    for j in range(i, count - 2):
        edge = net[ACTIVE, j + 2]
        net[ACTIVE, j] = edge
        net[PLACE, edge] = j
    return used


@njit(cache=True, nogil=True)
def _begin(edges, net, one, two, u, t, least, rows, used, count):
    """Two edges part: water that opens, or land that parts a chord in two."""
    if not _before(edges, one, two, t):
        one, two = two, one
    i = _place(edges, net, one, t, count)
    for j in range(count - 1, i - 1, -1):
        edge = net[ACTIVE, j]
        net[ACTIVE, j + 2] = edge
        net[PLACE, edge] = j + 2
    net[ACTIVE, i] = one
    net[ACTIVE, i + 1] = two
    net[PLACE, one] = i
    net[PLACE, two] = i + 1
    if i & 1:
        left, right = net[ACTIVE, i - 1], net[ACTIVE, i + 2]
        left_u, right_u = _u_at(edges, left, t), _u_at(edges, right, t)
        used = _close(edges, left, t, left_u, right_u, least, rows, used)
        _open(edges, net, left, one, t, left_u, u)
        _open(edges, net, two, right, t, u, right_u)
    else:
        _open(edges, net, one, two, t, u, u)
    return used


@njit(cache=True, nogil=True)
def _swap(following, leading, edges, order, net, k, stop, t, count):
    """Take out the edges that end at a level and put in those that begin; returns how many there are."""
    ranked, level = order[0], order[1]
    now = level[ranked[k]]
    for m in range(k, stop):
        p = ranked[m]
        for side in range(2):
            edge = leading[p] if side == 0 else p
            far = leading[p] if side == 0 else following[p]
            if level[far] < now:
                count -= 1
                for j in range(net[PLACE, edge], count):
                    net[ACTIVE, j] = net[ACTIVE, j + 1]
                    net[PLACE, net[ACTIVE, j]] = j
    for m in range(k, stop):
        p = ranked[m]
        for side in range(2):
            edge = leading[p] if side == 0 else p
            far = leading[p] if side == 0 else following[p]
            if level[far] > now:
                i = _place(edges, net, edge, t, count)
                for j in range(count, i, -1):
                    net[ACTIVE, j] = net[ACTIVE, j - 1]
                    net[PLACE, net[ACTIVE, j]] = j
                net[ACTIVE, i] = edge
                net[PLACE, edge] = i
                count += 1
    return count


@njit(cache=True, nogil=True)
def _level(following, leading, edges, order, net, k, stop, t, least, rows, used, count):
    """All changes of a level that several points share; returns rows used and edges across."""
    active, kept, mate, mark = net[ACTIVE], net[KEPT], net[MATE], net[MARK]
    before = count
    kept[:before] = active[:before]
    count = _swap(following, leading, edges, order, net, k, stop, t, count)
    if count & 1:
        return used, count
    for i in range(0, before, 2):
        mark[kept[i]] = 1
    for i in range(0, count, 2):
        if mark[active[i]] == 1 and mate[active[i]] == active[i + 1]:
            mark[active[i]] = 2
    for i in range(0, before, 2):
        left = kept[i]
        if mark[left] == 1:
            right_u = _u_at(edges, mate[left], t)
            used = _close(edges, left, t, _u_at(edges, left, t), right_u, least, rows, used)
    for i in range(0, count, 2):
        left, right = active[i], active[i + 1]
        if mark[left] != 2:
            _open(edges, net, left, right, t, _u_at(edges, left, t), _u_at(edges, right, t))
    for i in range(0, before, 2):
        mark[kept[i]] = 0
    return used, count


@njit(cache=True, nogil=True)
def chords(following, leading, points, edges, order, net, least, rows):
    """All chords at least `least` long somewhere, by rising end; returns how many, or a status.

    `leading[i]`: the point before point i, so that edge `leading[i]` ends there.
    """
    ranked, level = order[0], order[1]
    net[MARK] = 0
    n = leading.size
    count = 0
    used = 0
    k = 0
    while k < n:
        p = ranked[k]
        now = level[p]
        t = points[1, p]
        u = points[0, p]
        stop = k + 1
        while stop < n and level[ranked[stop]] == now:
            stop += 1
        if used + (count >> 1) + 2 > rows.shape[0]:
            return FULL
        back = leading[p]
        rises_back = level[back] > now
        rises = level[following[p]] > now
        if stop > k + 1:
            used, count = _level(following, leading, edges, order, net, k, stop, t, least, rows, used, count)
            if count & 1:
                return ODD
        elif rises_back != rises:
            down, up = (p, back) if rises_back else (back, p)
            used = _pass(edges, net, down, up, u, t, least, rows, used)
        elif rises:
            used = _begin(edges, net, back, p, u, t, least, rows, used, count)
            count += 2
        else:
            used = _end(edges, net, back, p, u, t, least, rows, used, count)
            count -= 2
        k = stop
    return used
