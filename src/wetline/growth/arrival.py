"""The two ways to ask for growth: arrival times over the map, and a front from event to event."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from wetline.errors import OutsideRangeError
from wetline.growth.front import Front

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy as np
    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.behaviour import FireFields
    from wetline.growth.places import Reached

    Line: TypeAlias = tuple[ArrayLike, float] | tuple[ArrayLike, float, float]
    Lit: TypeAlias = tuple[Polygon | MultiPolygon, float]

__all__ = ["Advance", "advance", "arrival"]


@dataclass(frozen=True, slots=True)
class Advance:
    """What an `advance` did. `pieces`: the number of each line given, None where it stopped before.

    `reached`: the place at which it stopped, None if it went on to the end.
    """

    pieces: tuple[int | None, ...]
    reached: Reached | None


def arrival(
    fields: FireFields,
    burnt: Polygon | MultiPolygon,
    *,
    at_s: float,
    until_s: float,
    lines: Iterable[Line] = (),
    lit: Iterable[Lit] = (),
    burn_out_s: float = math.inf,
) -> NDArray[np.float64]:
    """When the fire reaches each cell [s after the fields' start], float64[r, c].

    From the perimeter `burnt` [grid metres] seen at `at_s`; inf where the fire has not come by
    `until_s`, `at_s` within the perimeter. `lines`, `lit`: as in `advance`; `burn_out_s`: as in `Front`.

    Raises
    ------
    InputError
        As `Front` and `advance`.
    """
    front = Front(fields, burnt, at_s, burn_out_s=burn_out_s)
    advance(front, until_s, lines, lit=lit)
    return front.arrival_s


def advance(
    front: Front,
    until_s: float,
    blocked: Iterable[Line] = (),
    released: Iterable[tuple[int, float]] = (),
    *,
    lit: Iterable[Lit] = (),
    places: Sequence[NDArray[np.intp]] = (),
) -> Advance:
    """Grow until `until_s`, or until the fire comes to one of the `places`, through events on the way.

    At one time fires are lit first, then lines are laid. All times are s after the fields' start.

    Parameters
    ----------
    blocked
        Lines: points [n, 2] in grid metres, when it dries and, where it is not laid now, when it is.
    released
        Pieces given a new end now: the piece's number and that end.
    lit
        Further fires: a perimeter [grid metres], and when it is lit.
    places
        As in `Front.advance`.

    Raises
    ------
    InputError
        As `Front.hold_line`, `Front.release`, `Front.ignite` and `Front.advance`, or if a line is laid
        or a fire lit before now or after `until_s`.
    """
    now_s = front.now_s
    laid = [(line[2] if len(line) == 3 else now_s, j, line) for j, line in enumerate(blocked)]
    fires = [(at_s, burnt) for burnt, at_s in lit]
    _check_times("blocked", [t for t, _, _ in laid], now_s, until_s)
    _check_times("lit", [t for t, _ in fires], now_s, until_s)
    for piece, end_s in released:
        front.release(piece, end_s)
    pieces: list[int | None] = [None] * len(laid)
    for t_s in sorted({*(t for t, _, _ in laid), *(t for t, _ in fires), until_s}):
        reached = front.advance(t_s, places)
        if reached is not None:
            return Advance(tuple(pieces), reached)
        for at_s, burnt in fires:
            if at_s == t_s:
                front.ignite(burnt)
        for begin_s, j, line in laid:
            if begin_s == t_s:
                pieces[j] = front.hold_line(line[0], line[1])
    return Advance(tuple(pieces), None)


def _check_times(field: str, times_s: Iterable[float], now_s: float, until_s: float) -> None:
    for t_s in times_s:
        if not now_s <= t_s <= until_s:
            raise OutsideRangeError(field=field, value=t_s, low=now_s, high=until_s, unit="s")
