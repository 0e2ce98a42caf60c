"""The two ways to ask for growth: arrival times over the map, and a front from event to event."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.growth.front import Front

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np
    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.behaviour import FireFields

__all__ = ["advance", "arrival"]


def arrival(
    fields: FireFields,
    burnt: Polygon | MultiPolygon,
    *,
    at_s: float,
    until_s: float,
    lines: Iterable[tuple[ArrayLike, float]] = (),
) -> NDArray[np.float64]:
    """When the fire reaches each cell [s after the fields' start], float64[r, c].

    From the perimeter `burnt` [grid metres] seen at `at_s`; inf where the fire has not come by
    `until_s`, `at_s` within the perimeter. `lines`: (points [n, 2] in grid metres, when it dries [s])
    of line that lies there from the start.

    Raises
    ------
    InputError
        As `Front` and `Front.hold_line`.
    """
    front = Front(fields, burnt, at_s)
    advance(front, until_s, blocked=lines)
    return front.arrival_s


def advance(
    front: Front,
    until_s: float,
    blocked: Iterable[tuple[ArrayLike, float]] = (),
    released: Iterable[tuple[int, float]] = (),
) -> tuple[int, ...]:
    """Lay lines, give pieces new ends, then grow until `until_s`. The numbers of the lines laid.

    `blocked`: (points [n, 2] in grid metres, when it dries [s]); `released`: (piece, its new end [s]).

    Raises
    ------
    InputError
        As `Front.hold_line`, `Front.release` and `Front.advance`.
    """
    pieces = tuple(front.hold_line(xy, end_s) for xy, end_s in blocked)
    for piece, end_s in released:
        front.release(piece, end_s)
    front.advance(until_s)
    return pieces
