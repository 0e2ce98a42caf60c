"""Many futures of one fire, counted: where it burns by when, in how many of them.

The counts are shares of modelled futures: "of N modelled futures, uncalibrated". They are no measured
chances, and never become them by more members. Varied futures alone are counted; the middle one is no draw.
Memory is bounded by the counts; no member's map is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

import numpy as np

from wetline.behaviour import Variation
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.growth.front import Front
from wetline.growth.members import DEFAULT_ERRORS, Errors, member
from wetline.growth.pool import cores_of, map_futures

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.behaviour import FireFields
    from wetline.growth.metric import Paced
    from wetline.growth.pool import Cluster
    from wetline.growth.ring import Ring

__all__ = ["Ensemble", "Grown", "ensemble", "ensemble_of", "grow"]

Noted = TypeVar("Noted")

STEPS_AN_HOUR = 4
"""Counts between two of the hours asked for, so that arrival quantiles are good to a quarter of them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grown(Generic[Noted]):
    """One future. `area_m2` and `noted` at each hour, `place_s` earliest arrival at each place [s].

    `place_s` is inf where the fire does not come within the hours, NaN for a place without cells.
    `reached_edge`: it came to the grid's edge, beyond which it is not followed; `edge_s`: when [s], else inf.
    `parts_lost`: as in `Front`.
    `arrival_s` float64[r, c]: kept of the middle future alone.
    """

    number: int
    area_m2: NDArray[np.float64]
    place_s: NDArray[np.float64]
    reached_edge: bool
    parts_lost: int
    noted: tuple[Noted, ...]
    edge_s: float = np.inf
    arrival_s: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ensemble(Generic[Noted]):
    """Every future of a fire, the middle one first, and how many of them burn each cell by when.

    `hours_s`: as asked [s after the fields' start]. `counted_s` float64[n]: the start, then equal steps
    between the hours; `burnt_in` uint16[n, r, c]: varied futures in which a cell has burnt by then (of none,
    the middle one). `unknown` bool[r, c] or None: ground of unknown fuel or height, which no future burns and none clears.
    """

    grown: tuple[Grown[Noted], ...]
    hours_s: tuple[float, ...]
    counted_s: NDArray[np.float64]
    burnt_in: NDArray[np.uint16]
    unknown: NDArray[np.bool_] | None

    @property
    def of(self) -> int:
        """How many futures are counted: the varied ones, or the middle one where there is no other."""
        return max(len(self.grown) - 1, 1)

    @property
    def probability(self) -> NDArray[np.float32]:
        """float32[h, r, c]: share of the futures in which a cell has burnt by each hour.

        NaN on unknown ground. Where a future reached the edge of the grid, what it would have brought
        back from beyond is missing: see `left_map`.
        """
        share = np.divide(self.burnt_in[STEPS_AN_HOUR::STEPS_AN_HOUR], self.of, dtype=np.float32)
        if self.unknown is not None:
            share[:, self.unknown] = np.nan
        return share

    @property
    def left_map(self) -> int:
        """Futures that reached the edge of the grid, the middle one among them."""
        return sum(grown.reached_edge for grown in self.grown)

    @property
    def place_s(self) -> NDArray[np.float64]:
        """float64[futures, places]: earliest arrival, as in `Grown`; row 0 is the middle future."""
        return np.array([grown.place_s for grown in self.grown])

    @property
    def area_m2(self) -> NDArray[np.float64]:
        """float64[futures, hours]; row 0 is the middle future."""
        return np.array([grown.area_m2 for grown in self.grown])

    def reached_in(self) -> NDArray[np.intp]:
        """int[places]: futures counted that reach each place within the hours; −1 for a place without cells."""
        times = self.place_s[-self.of :]
        counts: NDArray[np.intp] = np.where(np.isnan(times).any(axis=0), -1, np.isfinite(times).sum(axis=0))
        return counts

    def arrival_s(self, share: float) -> NDArray[np.float64]:
        """float64[r, c]: when the fire has come in `share` (0-1, not 0) of the futures counted.

        Straight between the counts, so good to one of their steps; inf where fewer burn within the hours,
        NaN on unknown ground.

        Raises
        ------
        OutsideRangeError
            If the share is not above 0 and up to 1.
        """
        _check_share(share)
        wanted = np.uint16(max(np.ceil(share * self.of - 1e-9), 1))
        enough = self.burnt_in >= wanted
        at = np.argmax(enough, axis=0)
        before = np.maximum(at - 1, 0)
        row, col = np.indices(at.shape)
        had = np.where(at > 0, self.burnt_in[before, row, col], 0).astype(float)
        part = (float(wanted) - had) / np.maximum(self.burnt_in[at, row, col] - had, 1.0)
        time: NDArray[np.float64] = self.counted_s[before] + part * (
            self.counted_s[at] - self.counted_s[before]
        )
        time[~enough[-1]] = np.inf
        if self.unknown is not None:
            time[self.unknown] = np.nan
        return time


def _check_share(share: float) -> None:
    if not 0.0 < share <= 1.0:
        raise OutsideRangeError(field="share", value=share, low=0.0, high=1.0, unit="")


def _no_note(_number: int, _front: Front, _rings: Sequence[Ring]) -> None:
    """Note nothing."""


def grow(
    front: Front,
    number: int,
    hours_s: Sequence[float],
    place_cells: Sequence[NDArray[np.intp]],
    note: Callable[[int, Front, Sequence[Ring]], Noted],
) -> Grown[Noted]:
    """Grow a front through the hours [s after its fields' start]; `note` looks at it at each of them.

    `place_cells`: flat indices of the grid's cells at each place.
    """
    areas, noted = [], []
    for t_s in hours_s:
        front.advance(t_s)
        rings = front.trace()
        areas.append(sum(ring.area_m2 for ring in rings))
        noted.append(note(number, front, rings))
    arrival = front.arrival_s
    times = [arrival.ravel()[cells].min() if cells.size else np.nan for cells in place_cells]
    return Grown(
        number=number,
        area_m2=np.array(areas, float),
        place_s=np.array(times, float),
        reached_edge=front.reached_edge,
        parts_lost=front.parts_lost,
        noted=tuple(noted),
        edge_s=min(float(side.min()) for side in (arrival[0], arrival[-1], arrival[:, 0], arrival[:, -1])),
        arrival_s=arrival if number == 0 else None,
    )


@dataclass(frozen=True, slots=True)
class _Work(Generic[Noted]):
    """What a worker needs to play any of the futures; it pickles if its parts do."""

    front_of: Callable[[Variation], Front]
    hours_s: tuple[float, ...]
    counted_s: NDArray[np.float64]
    seed: int
    errors: Errors
    place_cells: tuple[NDArray[np.intp], ...]
    note: Callable[[int, Front, Sequence[Ring]], Noted]

    def __call__(self, numbers: Sequence[int]) -> tuple[list[Grown[Noted]], NDArray[np.uint16]]:
        """Those futures, and how many of them burn each cell first within each step."""
        grown, counts = [], None
        for number in numbers:
            front = self.front_of(member(number, self.seed, self.errors))
            grown.append(grow(front, number, self.hours_s, self.place_cells, self.note))
            arrival = front.arrival_s
            if counts is None:
                counts = np.zeros((len(self.counted_s), arrival.size), np.uint16)
            burnt = np.flatnonzero(arrival.ravel() <= self.counted_s[-1])
            counts[np.searchsorted(self.counted_s, arrival.ravel()[burnt]), burnt] += 1
        assert counts is not None
        return grown, counts.reshape(len(self.counted_s), *arrival.shape)


@dataclass(frozen=True, slots=True)
class _Lit:
    """A fire of one perimeter at one time."""

    fields_of: Callable[[Variation], FireFields | Paced]
    burnt: Polygon | MultiPolygon
    at_s: float

    def __call__(self, variation: Variation) -> Front:
        return Front(self.fields_of(variation), self.burnt, self.at_s)


def ensemble(
    fields_of: Callable[[Variation], FireFields | Paced],
    burnt: Polygon | MultiPolygon,
    *,
    at_s: float,
    hours_s: Sequence[float],
    members: int,
    seed: int,
    errors: Errors = DEFAULT_ERRORS,
    place_cells: Sequence[NDArray[np.intp]] = (),
    workers: int | None = None,
    client: Cluster | None = None,
) -> Ensemble[None]:
    """The middle future and `members` varied ones, from a perimeter [grid metres] seen at `at_s`.

    Parameters
    ----------
    fields_of
        Fire behaviour of a member (`behaviour.prepare_surface`, or `FireSystem.fields` with the rest filled in).

    The rest, and Raises: as `ensemble_of`, `Front`.
    """
    return ensemble_of(
        _Lit(fields_of, burnt, at_s),
        at_s=at_s,
        hours_s=hours_s,
        members=members,
        seed=seed,
        errors=errors,
        place_cells=place_cells,
        unknown=fields_of(Variation()).unknown,
        note=_no_note,
        workers=workers,
        client=client,
    )


def ensemble_of(
    front_of: Callable[[Variation], Front],
    *,
    at_s: float,
    hours_s: Sequence[float],
    members: int,
    seed: int,
    note: Callable[[int, Front, Sequence[Ring]], Noted],
    unknown: NDArray[np.bool_] | None,
    errors: Errors = DEFAULT_ERRORS,
    place_cells: Sequence[NDArray[np.intp]] = (),
    workers: int | None = None,
    client: Cluster | None = None,
) -> Ensemble[Noted]:
    """The middle future and `members` varied ones, from any front: with line on it, or grown already.

    Parameters
    ----------
    hours_s
        Hours to count at [s after the fields' start], increasing, the first after `at_s`.
    place_cells
        Flat indices of the grid's cells at each place whose arrival is wanted.
    note
        What else to keep of each future (its number, front and contours) at each hour.
    unknown
        Ground of unknown fuel or height: `FireFields.unknown`.
    workers, client
        As `pool.map_futures`; the result is the same byte for byte.

    Raises
    ------
    InputError
        If the hours do not increase from `at_s`.
    OutsideRangeError
        If `members` is not 0 to 65,534.
    """
    hours = np.asarray(hours_s, float)
    if hours.size == 0 or not np.all(np.diff(hours, prepend=at_s) > 0.0):
        problem = Problem(
            message="The hours do not increase from the fire's own time.",
            mend="Give one or more, in order.",
            field="hours_s",
        )
        raise InputError.of([problem])
    if not 0 <= members <= 65_534:
        raise OutsideRangeError(field="members", value=members, low=0, high=65_534, unit="")
    steps = np.linspace(np.append(at_s, hours[:-1]), hours, STEPS_AN_HOUR + 1)[1:]
    counted_s = np.append(at_s, steps.T.ravel())
    work = _Work(
        front_of, tuple(hours.tolist()), counted_s, seed, errors, tuple(place_cells), note
    )  # fmt: skip
    middle = work([0])  # in this process, so that kernels are loaded before it is forked
    shares = min(cores_of(workers, client), members)
    dealt = [range(1 + first, members + 1, shares) for first in range(shares)]
    parts = [middle, *map_futures(work, dealt, workers=workers, client=client, few=2)]
    grown = sorted((g for some, _ in parts for g in some), key=lambda g: g.number)
    counts = middle[1] if members == 0 else np.zeros_like(middle[1])
    for _, more in parts[1:]:
        counts += more
    np.cumsum(counts, axis=0, out=counts)
    return Ensemble(
        grown=tuple(grown),
        hours_s=work.hours_s,
        counted_s=counted_s,
        burnt_in=counts,
        unknown=unknown,
    )
