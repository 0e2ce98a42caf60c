"""The edge of the fire as crews name it: head, flanks, heel, fingers, spots and islands.

The main fire is the largest part. Its own head direction is that in which its edge runs, taken over the
whole edge by rate and by how much faster the head is than the heel. Looking along it from heel to head,
the outer contour is cut into four unbroken pieces, each where the outward normal best fits: head within
45° of the head direction, heel beyond 135°, flanks between. The cut is the best one over the whole
contour, so that a ragged edge keeps one head, two flanks and one heel. Narrow outward tongues are cut
out as fingers; what is left between two of them and is too short to matter joins its neighbour. A fire
without a direction of its own gets no head and no heel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

import numpy as np
import shapely

from wetline.behaviour import flame_length_m
from wetline.errors import InputError, Problem
from wetline.grid import along
from wetline.growth.contour import burnt_parts, edge_length_m, islands
from wetline.growth.edge_arcs import AROUND, HALF_SECTOR_DEG, arcs, halves
from wetline.growth.edge_samples import by_attack_m, direction_of, hottest_attack, samples_of
from wetline.growth.fingers import fingers

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from shapely.geometry import LinearRing, MultiPolygon, Polygon

    from wetline.behaviour import FireFields
    from wetline.growth.edge_samples import Samples

__all__ = [
    "LEAST_PIECE_M",
    "EdgePiece",
    "EdgeSector",
    "FastestPoint",
    "Part",
    "edge_by_direction",
    "edge_length_m",
    "edge_pieces",
    "fastest_point",
    "head_direction",
]

Part = Literal["head", "left_flank", "right_flank", "heel", "finger", "spot", "island"]

LEAST_PIECE_M = 200.0
"""A shorter piece of the main fire's edge joins its neighbour; common practice, no source."""
_LEAST_SHARE = 0.05  # of the outer contour, for small fires
_POCKET_S = 1_800.0
"""A run that meets burnt ground within this time burns out a pocket; common practice, no source."""
_TINY_M = 60.0
"""Edge between two fingers that is shorter than the narrowest finger is wide is no piece; common practice."""
_MOST_TRIED = 400
_LETTER = {
    "head": "H", "left_flank": "L", "right_flank": "R", "heel": "B", "finger": "F", "spot": "S", "island": "I",
}  # fmt: skip
_Run = tuple[Part, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgePiece:
    """One piece of the edge, burnt on its left.

    `line` float64[n, 2] [m] as drawn; closed for spots and islands. `length_m` is measured on the contour
    simplified to 30 m, so that lengths add up to `edge_length_m`. `rate_mps` is the fastest rate normal to
    the edge, `mean_rate_mps` the mean by length; `intensity_kw_per_m` the greatest, with its
    `flame_length_m` and class of `attack`. All are NaN, and `attack` is `unknown`, where nothing is known
    of the ground beside the piece. `attack_m`: its length by what can attack it (see `by_attack_m`).
    `xy` float64[k, 2] [m], `normal_deg` float64[k]: even samples and their outward normals, for
    `behaviour_along` in another future. `directed` is False where the fire has no direction of its own and
    the flanks are only the halves seen from the south.
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
    attack_m: Mapping[str, float]
    xy: NDArray[np.float64]
    normal_deg: NDArray[np.float64]
    directed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeSector:
    """All outer edge that faces within 22.5° of one of eight directions; units as `EdgePiece`.

    `toward_deg`: clockwise from the north that was asked for. Nothing faces there where `length_m` is 0.
    """

    toward_deg: float
    length_m: float
    rate_mps: float
    mean_rate_mps: float
    intensity_kw_per_m: float
    flame_length_m: float
    attack: str
    attack_m: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class FastestPoint:
    """Where the edge moves fastest. `toward_deg`: the head's bearing there, or the normal beside a flank."""

    position: tuple[float, float]
    toward_deg: float
    normal_deg: float
    rate_mps: float
    intensity_kw_per_m: float


def _piece(
    identity: str,
    part: Part,
    line: NDArray[np.float64],
    length_m: float,
    samples: Samples,
    where: NDArray[np.intp],
    *,
    directed: bool = True,
) -> EdgePiece:
    rate, intensity = samples.fire.rate_mps[where], samples.fire.intensity_kw_per_m[where]
    hottest, attack = hottest_attack(rate, intensity)
    known = rate[np.isfinite(rate)]
    return EdgePiece(
        id=identity,
        part=part,
        line=line,
        length_m=length_m,
        rate_mps=float(known.max()) if known.size else np.nan,
        mean_rate_mps=float(known.mean()) if known.size else np.nan,
        intensity_kw_per_m=hottest,
        flame_length_m=float(flame_length_m(hottest)),
        attack=attack,
        attack_m=by_attack_m(rate, intensity, length_m),
        xy=samples.xy[where],
        normal_deg=samples.normal_deg[where],
        directed=directed,
    )


def _runs(parts: list[Part]) -> list[_Run]:
    """Runs of equal parts round a ring as (part, first, last + 1), the first at its own beginning."""
    n = len(parts)
    starts = [i for i in range(n) if parts[i] != parts[i - 1]]
    if not starts:
        return [(parts[0], 0, n)]
    return [
        (parts[first], first, first + (after - first) % n)
        for first, after in zip(starts, [*starts[1:], starts[0]], strict=True)
    ]


def _without_slivers(parts: list[Part], least: float, tiny: float) -> list[Part]:
    """The parts of samples with each run under `least` samples given to its longer neighbour.

    Only where its part has a longer run elsewhere, so that none vanishes, and never to a finger. Between two
    fingers a run under `tiny` samples takes in the shorter one: so ragged an edge is the flank's own.
    """
    parts = list(parts)
    while True:
        runs = _runs(parts)
        longest = {part: max(b - a for p, a, b in runs if p == part) for part, _, _ in runs}
        for i, (part, first, last) in sorted(enumerate(runs), key=lambda run: run[1][2] - run[1][1]):
            beside = [runs[i - 1], runs[(i + 1) % len(runs)]]
            takers = [run for run in beside if run[0] != "finger"]
            if part == "finger" or last - first >= min(least, longest[part]):
                continue
            if takers:
                taken, a, b = max(takers, key=lambda run: run[2] - run[1])[0], first, last
            elif last - first < tiny:
                taken, (_, a, b) = part, min(beside, key=lambda run: run[2] - run[1])
            else:
                continue
            for k in range(a, b):
                parts[k % len(parts)] = taken
            break
        else:
            return parts


def _main_pieces(polygon: Polygon, fields: FireFields, at_s: float, least_m: float) -> list[EdgePiece]:
    """The outer contour of the main fire in pieces: head, flanks, heel, fingers."""
    samples = samples_of(polygon.exterior, fields, at_s)
    head_deg = direction_of(samples.fire)
    finger = fingers(polygon, samples.xy, head_deg)
    labels = halves(samples.xy) if head_deg is None else arcs(samples.normal_deg, head_deg, ~finger)
    parts = [cast("Part", "finger" if finger[i] else AROUND[label]) for i, label in enumerate(labels)]
    least_m = min(least_m, _LEAST_SHARE * samples.ring.length_m)
    runs = _runs(_without_slivers(parts, least_m / samples.step_m, _TINY_M / samples.step_m))
    count: dict[Part, int] = {}
    pieces = []
    ahead = samples.xy @ np.array(along(head_deg or 0.0))  # without a head, from north to south

    def order(run: _Run) -> tuple[int, float]:
        return list(_LETTER).index(run[0]), -float(ahead[np.arange(run[1], run[2]) % len(parts)].mean())

    for part, first, last in sorted(runs, key=order):
        count[part] = count.get(part, 0) + 1
        line = samples.ring.between(first * samples.step_m, last * samples.step_m)
        where = np.arange(first, last) % len(parts)
        identity = f"{_LETTER[part]}{count[part]}"
        length = (last - first) * samples.step_m
        pieces.append(_piece(identity, part, line, length, samples, where, directed=head_deg is not None))
    return pieces


def _whole(ring: LinearRing, part: Part, number: int, fields: FireFields, at_s: float) -> EdgePiece:
    """A spot or an island: one closed piece."""
    samples = samples_of(ring, fields, at_s)
    line = np.vstack([samples.ring.drawn, samples.ring.drawn[:1]])
    where = np.arange(len(samples.xy))
    return _piece(f"{_LETTER[part]}{number}", part, line, samples.ring.length_m, samples, where)


def _checked(burnt: Polygon | MultiPolygon) -> list[Polygon]:
    found = burnt_parts(burnt)
    if not found:
        message = "the fire has no burnt area."
        raise InputError.of([Problem(message=message, mend="Give a perimeter with an area.", field="fire")])
    return found


def edge_pieces(
    burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float, *, least_m: float = LEAST_PIECE_M
) -> list[EdgePiece]:
    """The edge of a burnt area [m] in named pieces, with behaviour at `at_s` seconds after `fields.start`.

    The largest part is the main fire; each smaller part is a spot, each hole from 1 ha on an island, whole.
    Order: head, left flank, right flank, heel, fingers, spots, islands; ids are their letter and a number,
    counted from the head back, spots and islands from the largest down.
    `least_m`: pieces of the main fire between fingers that are shorter, or shorter than a twentieth of the
    contour of a small fire, join their neighbour.

    Raises
    ------
    InputError
        If there is no burnt area.
    LookupError
        If the fields do not cover that time.
    """
    main, *spots = _checked(burnt)
    pieces = _main_pieces(main, fields, at_s, least_m)
    pieces += [_whole(p.exterior, "spot", i, fields, at_s) for i, p in enumerate(spots, start=1)]
    holes = [ring for p in (main, *spots) for ring in islands(p)]
    pieces += [_whole(ring, "island", i, fields, at_s) for i, ring in enumerate(holes, start=1)]
    return pieces


def edge_by_direction(
    burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float, *, north_deg: float = 0.0
) -> tuple[EdgeSector, ...]:
    """The outer edge of all parts by the direction it faces: eight sectors clockwise from north.

    `north_deg`: grid bearing of the north meant, so that sectors can be those of true north. Islands are
    left out: their edge faces inward.

    Raises
    ------
    InputError, LookupError
        As `edge_pieces`.
    """
    all_samples = [samples_of(p.exterior, fields, at_s) for p in _checked(burnt)]
    rate = np.concatenate([s.fire.rate_mps for s in all_samples])
    intensity = np.concatenate([s.fire.intensity_kw_per_m for s in all_samples])
    step_m = np.concatenate([np.full(len(s.xy), s.step_m) for s in all_samples])
    normal = np.concatenate([s.normal_deg for s in all_samples]) - north_deg
    sector = np.floor((normal / 45.0 + 0.5) % 8.0).astype(int) % 8
    return tuple(
        _sector(45.0 * k, rate[sector == k], intensity[sector == k], step_m[sector == k]) for k in range(8)
    )


def _sector(
    toward_deg: float,
    rate_mps: NDArray[np.float64],
    intensity_kw_per_m: NDArray[np.float64],
    step_m: NDArray[np.float64],
) -> EdgeSector:
    known = np.isfinite(rate_mps)
    hottest, attack = hottest_attack(rate_mps, intensity_kw_per_m)
    steps, of_step = np.unique(step_m, return_inverse=True)
    shares = [
        by_attack_m(
            rate_mps[of_step == i], intensity_kw_per_m[of_step == i], step * int((of_step == i).sum())
        )
        for i, step in enumerate(steps)
    ]
    weight = step_m[known]
    return EdgeSector(
        toward_deg=toward_deg,
        length_m=float(step_m.sum()),
        rate_mps=float(rate_mps[known].max()) if known.any() else np.nan,
        mean_rate_mps=float((rate_mps[known] * weight).sum() / weight.sum()) if known.any() else np.nan,
        intensity_kw_per_m=hottest,
        flame_length_m=float(flame_length_m(hottest)),
        attack=attack,
        attack_m={key: sum(share[key] for share in shares) for key in shares[0]} if shares else {},
    )


def head_direction(burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float) -> float | None:
    """The main fire's own head bearing [deg], or None where it has no direction of its own.

    Raises
    ------
    InputError, LookupError
        As `edge_pieces`.
    """
    return direction_of(samples_of(_checked(burnt)[0].exterior, fields, at_s).fire)


def fastest_point(
    burnt: Polygon | MultiPolygon, fields: FireFields, at_s: float, *, pockets: bool = False
) -> FastestPoint | None:
    """Where on the outer edge of any part the fire moves fastest; None where nothing is known to move.

    Edge from which half an hour's run leads back into the area burnt is left out, as islands are: it only
    burns out a pocket. Where there is no other, or `pockets` count too, the fastest of all is taken.

    Raises
    ------
    InputError, LookupError
        As `edge_pieces`.
    """
    all_samples = [samples_of(part.exterior, fields, at_s) for part in _checked(burnt)]
    rates = [np.nan_to_num(samples.fire.rate_mps, nan=-1.0) for samples in all_samples]
    ring = np.concatenate([np.full(len(rate), k) for k, rate in enumerate(rates)])
    place = np.concatenate([np.arange(len(rate)) for rate in rates])
    rate = np.concatenate(rates)
    order = np.argsort(-rate, kind="stable")
    order = order[rate[order] > 0.0]
    if not len(order):
        return None
    found = [_point(all_samples[ring[i]], int(place[i])) for i in order[: 1 if pockets else _MOST_TRIED]]
    if pockets:
        return found[0]
    shapely.prepare(burnt)
    return next((point for point in found if not _into_pocket(point, burnt, fields.grid.cell_m)), found[0])


def _point(samples: Samples, i: int) -> FastestPoint:
    normal, head = float(samples.normal_deg[i]), float(samples.fire.head_toward_deg[i])
    beside = abs((normal - head + 180.0) % 360.0 - 180.0) > HALF_SECTOR_DEG
    return FastestPoint(
        position=(float(samples.xy[i, 0]), float(samples.xy[i, 1])),
        toward_deg=normal if beside else head,
        normal_deg=normal,
        rate_mps=float(samples.fire.rate_mps[i]),
        intensity_kw_per_m=float(samples.fire.intensity_kw_per_m[i]),
    )


def _into_pocket(point: FastestPoint, burnt: Polygon | MultiPolygon, cell_m: float) -> bool:
    """Whether half an hour's straight run from a point leads through more than a cell of burnt ground."""
    step = np.array(along(point.toward_deg))
    first = np.array(point.position) + 0.5 * cell_m * step
    way = shapely.LineString([first, first + (point.rate_mps * _POCKET_S + cell_m) * step])
    return bool(shapely.intersects(burnt, way)) and shapely.intersection(burnt, way).length > cell_m
