"""The edge of the fire as crews name it: head, flanks, heel, fingers, spots and islands.

The main fire is the largest part. Its own head direction is that in which its edge runs, taken over the
whole edge by rate and by how much faster the head is than the heel. Looking along it from heel to head,
the outer contour is cut into four unbroken pieces, each where the outward normal best fits: head within
45° of the head direction, heel beyond 135°, flanks between. The cut is the best one over the whole
contour, so that a ragged edge keeps one head, two flanks and one heel. Narrow outward tongues are cut
out as fingers. A fire without a direction of its own gets no head and no heel.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from shapely.geometry import Polygon

from wetline.behaviour import attack_class, flame_length_m, intensity_toward, normal_rate
from wetline.errors import InputError, Problem
from wetline.grid import along, bearing_deg
from wetline.growth.contour import burnt_parts, drawn_ring, edge_length_m, islands, normals_deg

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import LinearRing, MultiPolygon

    from wetline.behaviour import FireFields
    from wetline.growth.contour import DrawnRing

__all__ = [
    "EdgePiece",
    "FastestPoint",
    "Part",
    "edge_length_m",
    "edge_pieces",
    "fastest_point",
    "head_direction",
]

Part = Literal["head", "left_flank", "right_flank", "heel", "finger", "spot", "island"]

NO_DIRECTION = 0.2
"""Below this share of head less heel rate, the fire has no direction of its own (derived: L/W 1.006)."""
_LETTER = {
    "head": "H", "left_flank": "L", "right_flank": "R", "heel": "B", "finger": "F", "spot": "S", "island": "I",
}  # fmt: skip
_AROUND: tuple[Part, ...] = ("head", "left_flank", "heel", "right_flank")
"""In the order of a walk with burnt ground on the left."""
_MIDDLE_DEG = (0.0, 270.0, 180.0, 90.0)
_HALF_SECTOR_DEG = 45.0
_STEP_M = 10.0
_FEWEST, _MOST = 96, 720
_COARSE = 120
_FINGER_HALF_WIDTH_M = 30.0
_FINGER_SHARE = 0.05  # of the square root of the area, for large fires


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgePiece:
    """One piece of the edge, burnt on its left.

    `line` float64[n, 2] [m] as drawn; closed for spots and islands. `length_m` is measured on the contour
    simplified to 30 m, so that lengths add up to `edge_length_m`. `rate_mps` is the fastest rate normal to
    the edge, `mean_rate_mps` the mean by length; `intensity_kw_per_m` the greatest, with its
    `flame_length_m` and class of `attack`. All are NaN, and `attack` is `unknown`, where the piece lies off
    the fields. `directed` is False where the fire has no direction of its own and the flanks are only the
    halves seen from the south.
    """

    id: str
    part: Part
    line: NDArray[np.float64]
    length_m: float
    rate_mps: float
    mean_rate_mps: float
    intensity_kw_per_m: float
    flame_length_m: float
    attack: str
    directed: bool = True


@dataclass(frozen=True, slots=True)
class FastestPoint:
    """Where the edge moves fastest. `toward_deg`: the head's bearing there, or the normal beside a flank."""

    position: tuple[float, float]
    toward_deg: float
    rate_mps: float
    intensity_kw_per_m: float


@dataclass(frozen=True, slots=True)
class _Contour:
    """A ring sampled at even steps of its simplified length: points, outward normals, behaviour."""

    ring: DrawnRing
    xy: NDArray[np.float64]
    normal_deg: NDArray[np.float64]
    rate_mps: NDArray[np.float64]
    intensity_kw_per_m: NDArray[np.float64]
    head_toward_deg: NDArray[np.float64]
    eccentricity: NDArray[np.float64]

    @property
    def step_m(self) -> float:
        """Simplified length [m] that one sample stands for."""
        return self.ring.length_m / len(self.xy)


def _contour(line: LinearRing, fields: FireFields, at_s: float) -> _Contour:
    """A ring with burnt ground on its left, sampled, with the behaviour just outside it."""
    ring = drawn_ring(line)
    n = int(np.clip(round(ring.length_m / _STEP_M), _FEWEST, _MOST))
    at_m = ring.on_drawn_m((np.arange(n) + 0.5) * ring.length_m / n)
    xy, normal = ring.at(at_m), normals_deg(ring, at_m)
    rate, intensity, toward, ecc = _behaviour(xy, normal, fields, at_s)
    return _Contour(ring, xy, normal, rate, intensity, toward, ecc)


def _behaviour(
    xy: NDArray[np.float64], normal_deg: NDArray[np.float64], fields: FireFields, at_s: float
) -> tuple[NDArray[np.float64], ...]:
    """Rate and intensity along the outward normal, head bearing and eccentricity; NaN off the grid.

    Read half a cell outside the edge: what burns next, not what has burnt.
    """
    east, north = along(normal_deg)
    x, y = xy[:, 0] + 0.5 * fields.grid.cell_m * east, xy[:, 1] + 0.5 * fields.grid.cell_m * north
    out = np.full((4, len(xy)), np.nan)
    on = fields.grid.holds(x, y)
    here = fields.at(fields.slot(at_s), x[on], y[on])
    angle = normal_deg[on] - here.head_toward_deg
    out[0, on] = normal_rate(here.head_rate_mps, here.eccentricity, angle)
    out[1, on] = intensity_toward(here.head_intensity_kw_per_m, here.eccentricity, angle)
    out[2, on] = here.head_toward_deg
    out[3, on] = here.eccentricity
    return tuple(out)


def _direction(contour: _Contour) -> float | None:
    """The contour's own head bearing [deg], or None. Each place counts by its rate and its head-heel contrast."""
    known = np.isfinite(contour.rate_mps)
    rate = contour.rate_mps[known]
    if not rate.sum() > 0.0:
        return None
    ecc = contour.eccentricity[known]
    contrast = 2.0 * ecc / (1.0 + ecc)  # (head − heel)/head rate of the ellipse lit at its rear focus
    east, north = along(contour.head_toward_deg[known])
    pull = np.array([(rate * contrast * east).sum(), (rate * contrast * north).sum()]) / rate.sum()
    if float(np.hypot(*pull)) < NO_DIRECTION:
        return None
    return float(bearing_deg(pull[0], pull[1]))


def _labels(normal_deg: NDArray[np.float64], head_deg: float, counts: NDArray[np.bool_]) -> NDArray[np.intp]:
    """The index in `_AROUND` of each sample: the four unbroken arcs that fit the normals best.

    The misfit of a sample is how far [deg] its normal lies outside its sector; the sum over the samples
    that count is the least of all ways to cut the ring into head, left flank, heel and right flank in
    this order.
    """
    n = len(normal_deg)
    off = (normal_deg[:, None] - head_deg - np.array(_MIDDLE_DEG) + 180.0) % 360.0 - 180.0
    misfit = np.maximum(np.abs(off) - _HALF_SECTOR_DEG, 0.0)
    misfit += 1e-3 * np.abs(off)  # breaks ties
    misfit[~counts] = 0.0
    total = np.vstack([np.zeros(4), np.cumsum(np.vstack([misfit, misfit]), axis=0)])
    # cuts a ≤ b ≤ c ≤ d ≤ a + n: what each adds by itself, so that a coarse best can be refined cut by cut
    adds = np.array([np.append(total[n:, 3], np.full(n, np.inf)) - total[:, 0], *-np.diff(total, axis=1).T])
    places = np.round(np.linspace(0, n, min(n, _COARSE) + 1)).astype(np.intp)
    cuts = _best_cuts(adds, places, n)
    width = math.ceil(n / _COARSE)
    for k, cut in enumerate(cuts):
        low = max(cut - width, cuts[k - 1] if k else cuts[-1] - n, 0)
        high = min(cut + width, cuts[k + 1] if k < 3 else cuts[0] + n)
        cuts[k] = low + int(np.argmin(adds[k, low : high + 1]))
    labels = np.empty(n, dtype=np.intp)
    for k, (first, last) in enumerate(itertools.pairwise([*cuts, cuts[0] + n])):
        labels[np.arange(first, last) % n] = k
    return labels


def _best_cuts(adds: NDArray[np.float64], places: NDArray[np.intp], n: int) -> list[int]:
    """The four cuts with the least sum of what each adds, in order within one turn, among coarse places."""
    m = len(places) - 1
    twice = np.concatenate([places, places[1:] + n])
    turn = twice[np.arange(m)[:, None] + np.arange(m + 1)[None, :]]

    def least_on(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.minimum.accumulate(values[:, ::-1], axis=1)[:, ::-1])

    at_d = adds[3][turn]
    after_c = adds[2][turn] + least_on(at_d)
    after_b = adds[1][turn] + least_on(after_c)
    a = int(np.argmin(adds[0][places[:m]] + after_b.min(axis=1)))
    b = int(np.argmin(after_b[a]))
    c = b + int(np.argmin(after_c[a, b:]))
    d = c + int(np.argmin(at_d[a, c:]))
    return [int(turn[a, step]) for step in (0, b, c, d)]


def _halves(contour: _Contour) -> NDArray[np.intp]:
    """West half as left flank, east half as right flank: a fire without direction, seen from the south."""
    n = len(contour.xy)
    north, south = int(np.argmax(contour.xy[:, 1])), int(np.argmin(contour.xy[:, 1]))
    labels = np.full(n, _AROUND.index("right_flank"), dtype=np.intp)
    labels[(north + np.arange((south - north) % n)) % n] = _AROUND.index("left_flank")
    return labels


def _fingers(polygon: Polygon, xy: NDArray[np.float64], head_deg: float | None) -> NDArray[np.bool_]:
    """Samples on narrow outward tongues at least as long as they are wide.

    The tongue that reaches farthest ahead is the head itself, and the one farthest back the heel.
    """
    solid = Polygon(polygon.exterior)
    half = max(_FINGER_HALF_WIDTH_M, _FINGER_SHARE * math.sqrt(solid.area))
    out = np.zeros(len(xy), dtype=np.bool_)
    core = solid.buffer(-half)
    if core.is_empty:
        return out  # all of the fire is narrow: there is no body to tell a finger from
    reach = np.asarray(shapely.distance(shapely.points(xy), core.buffer(half)), float)
    on = np.asarray(reach > 0.1 * half)
    if on.all():
        return out
    ends: set[int] = set()
    if head_deg is not None:
        ahead = xy @ np.array(along(head_deg))
        ends = {int(np.argmax(ahead)), int(np.argmin(ahead))}
    start = int(np.flatnonzero(~on)[0])
    order = (start + np.arange(len(on))) % len(on)
    edges = np.diff(np.concatenate([[0], on[order].astype(int), [0]]))
    for first, last in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        tongue = order[first:last]
        out[tongue] = reach[tongue].max() >= 2.0 * half and not ends.intersection(tongue.tolist())
    return out


def _piece(
    identity: str,
    part: Part,
    line: NDArray[np.float64],
    length_m: float,
    contour: _Contour,
    where: NDArray[np.intp],
    *,
    directed: bool = True,
) -> EdgePiece:
    rate, intensity = contour.rate_mps[where], contour.intensity_kw_per_m[where]
    known = np.isfinite(rate)
    if not known.any():
        nan = math.nan
        return EdgePiece(
            id=identity,
            part=part,
            line=line,
            length_m=length_m,
            rate_mps=nan,
            mean_rate_mps=nan,
            intensity_kw_per_m=nan,
            flame_length_m=nan,
            attack="unknown",
            directed=directed,
        )
    hottest = float(intensity[known].max())
    return EdgePiece(
        id=identity,
        part=part,
        line=line,
        length_m=length_m,
        rate_mps=float(rate[known].max()),
        mean_rate_mps=float(rate[known].mean()),
        intensity_kw_per_m=hottest,
        flame_length_m=float(flame_length_m(hottest)),
        attack=attack_class(hottest),
        directed=directed,
    )


def _runs(parts: list[Part]) -> list[tuple[Part, int, int]]:
    """Runs of equal parts round a ring as (part, first, last + 1), the first at its own beginning."""
    n = len(parts)
    starts = [i for i in range(n) if parts[i] != parts[i - 1]]
    if not starts:
        return [(parts[0], 0, n)]
    return [
        (parts[first], first, first + (after - first) % n)
        for first, after in zip(starts, [*starts[1:], starts[0]], strict=True)
    ]


def _main_pieces(polygon: Polygon, fields: FireFields, at_s: float) -> list[EdgePiece]:
    """The outer contour of the main fire in pieces: head, flanks, heel, fingers."""
    contour = _contour(polygon.exterior, fields, at_s)
    head_deg = _direction(contour)
    finger = _fingers(polygon, contour.xy, head_deg)
    labels = _halves(contour) if head_deg is None else _labels(contour.normal_deg, head_deg, ~finger)
    parts: list[Part] = ["finger" if finger[i] else _AROUND[label] for i, label in enumerate(labels)]
    runs = sorted(_runs(parts), key=lambda run: list(_LETTER).index(run[0]))
    count: dict[Part, int] = {}
    pieces = []
    for part, first, last in runs:
        count[part] = count.get(part, 0) + 1
        line = contour.ring.between(first * contour.step_m, last * contour.step_m)
        where = np.arange(first, last) % len(parts)
        identity = f"{_LETTER[part]}{count[part]}"
        length = (last - first) * contour.step_m
        pieces.append(_piece(identity, part, line, length, contour, where, directed=head_deg is not None))
    return pieces


def _whole(ring: LinearRing, part: Part, number: int, fields: FireFields, at_s: float) -> EdgePiece:
    """A spot or an island: one closed piece."""
    contour = _contour(ring, fields, at_s)
    line = np.vstack([contour.ring.drawn, contour.ring.drawn[:1]])
    where = np.arange(len(contour.xy))
    return _piece(f"{_LETTER[part]}{number}", part, line, contour.ring.length_m, contour, where)


def _checked(burnt: Polygon | MultiPolygon) -> list[Polygon]:
    found = burnt_parts(burnt)
    if not found:
        message = "the fire has no burnt area."
        raise InputError.of([Problem(message=message, mend="Give a perimeter with an area.", field="fire")])
    return found


def edge_pieces(burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float) -> list[EdgePiece]:
    """The edge of a burnt area [m] in named pieces, with behaviour at `at_s` seconds after `fields.start`.

    The largest part is the main fire; each smaller part is a spot, each hole from 1 ha on an island, whole.
    Order: head, left flank, right flank, heel, fingers, spots, islands; ids are their letter and a number.

    Raises
    ------
    InputError
        If there is no burnt area.
    LookupError
        If the fields do not cover that time.
    """
    main, *spots = _checked(burnt)
    pieces = _main_pieces(main, fields, at_s)
    pieces += [_whole(p.exterior, "spot", i, fields, at_s) for i, p in enumerate(spots, start=1)]
    holes = [ring for p in (main, *spots) for ring in islands(p)]
    pieces += [_whole(ring, "island", i, fields, at_s) for i, ring in enumerate(holes, start=1)]
    return pieces


def head_direction(burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float) -> float | None:
    """The main fire's own head bearing [deg], or None where it has no direction of its own.

    Raises
    ------
    InputError, LookupError
        As `edge_pieces`.
    """
    return _direction(_contour(_checked(burnt)[0].exterior, fields, at_s))


def fastest_point(burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float) -> FastestPoint | None:
    """Where on any part of the edge the fire moves fastest outward; None where nothing is known to move.

    Raises
    ------
    InputError, LookupError
        As `edge_pieces`.
    """
    rings = [ring for p in _checked(burnt) for ring in (p.exterior, *islands(p))]
    best: FastestPoint | None = None
    for ring in rings:
        contour = _contour(ring, fields, at_s)
        rate = np.nan_to_num(contour.rate_mps, nan=-1.0)
        i = int(np.argmax(rate))
        if rate[i] <= 0.0 or (best is not None and rate[i] <= best.rate_mps):
            continue
        normal, head = float(contour.normal_deg[i]), float(contour.head_toward_deg[i])
        beside = abs((normal - head + 180.0) % 360.0 - 180.0) > _HALF_SECTOR_DEG
        best = FastestPoint(
            position=(float(contour.xy[i, 0]), float(contour.xy[i, 1])),
            toward_deg=normal if beside else head,
            rate_mps=float(rate[i]),
            intensity_kw_per_m=float(contour.intensity_kw_per_m[i]),
        )
    return best
