"""Water drawn in pieces: lanes that cross from one feature into the next.

A lake mapped in tiles or a river mapped in reaches is searched piece by piece, and once more as a whole
for the lanes that no piece holds. What is known of such a lane is what is known of every piece it lies in:
the least depth, the oldest look, and nothing where one piece does not tell. A closed piece joins nobody.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

from wetline.water.joined import joined, united
from wetline.water.lanes import mended

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from wetline.ground import Water
    from wetline.water.circumstances import Circumstances
    from wetline.water.lanes import Strip

    Area = Polygon | MultiPolygon

T = TypeVar("T", "float", "datetime", "date")

__all__ = ["Piece", "Whole", "in_pieces", "wholes"]

_GAP_M = 0.01
"""Pieces no farther apart than this touch: what cutting and projecting leaves between them."""
_SAME_LEVEL_M = 1.0  # pieces whose surfaces differ by more have no one height


@dataclass(frozen=True, slots=True)
class Piece:
    """One feature: its water, its valid outline, and what was mended of it."""

    water: Water
    area: Area
    note: str | None


@dataclass(frozen=True, slots=True)
class Whole:
    """Pieces that touch, all of them as one water, and where they touch or overlap."""

    pieces: tuple[Piece, ...]
    as_one: Piece
    cuts: BaseGeometry


def wholes(pieces: Sequence[Piece], circumstances: Circumstances, *, reach_m: float) -> list[Whole]:
    """The waters drawn in two or more open pieces that touch, out to `reach_m` from where they do."""
    open_ones = [piece for piece in pieces if piece.water.closed is None]
    out = []
    for group in joined([piece.area for piece in open_ones], gap=_GAP_M):
        members = tuple(open_ones[i] for i in group)
        if len(members) > 1:
            areas = [piece.area for piece in members]
            cuts = _cuts(areas)
            area = _near(united(areas, gap=_GAP_M), cuts, reach_m)
            out.append(Whole(members, _as_one(members, area, circumstances), shapely.union_all(cuts)))
    return out


def _cuts(areas: Sequence[Area]) -> NDArray[np.object_]:
    """Where pieces touch or overlap, pair by pair."""
    shapes = np.asarray(areas, dtype=object)
    one, two = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=_GAP_M)
    pair = one < two
    return np.asarray(
        shapely.intersection(shapely.buffer(shapes[one[pair]], 2.0 * _GAP_M), shapes[two[pair]])
    )


def _near(whole: Area, cuts: NDArray[np.object_], reach_m: float) -> Area:
    """The outline cut off, as if at a shore, where no lane that crosses from piece to piece comes."""
    west, south, east, north = shapely.bounds(cuts).T
    around = shapely.union_all(shapely.box(west - reach_m, south - reach_m, east + reach_m, north + reach_m))
    near = mended(shapely.intersection(whole, around)).polygon
    return whole if near is None else near


def in_pieces(
    whole: Whole, strips: Sequence[Strip], circumstances: Circumstances
) -> list[tuple[Piece, list[Strip]]]:
    """The strips that cross from piece to piece, by the pieces they lie in, each group as one water."""
    areas = np.asarray([piece.area for piece in whole.pieces], dtype=object)
    groups: dict[tuple[int, ...], list[Strip]] = {}
    ends = np.array([[strip.start, strip.end] for strip in strips]).reshape(-1, 2, 2)
    lines = shapely.linestrings(ends)
    lanes = shapely.buffer(lines, [strip.clear_m for strip in strips], cap_style="flat")
    shapely.prepare(whole.cuts)
    for i in np.flatnonzero(shapely.intersects(whole.cuts, lanes)).tolist():
        strip, lane = strips[i], lanes[i]
        held = shapely.area(shapely.intersection(areas, lane))
        sliver = _GAP_M * lane.length  # what uniting the pieces may have moved their shores
        if held.max() >= lane.area - sliver:
            continue
        inside = held > sliver
        groups.setdefault(tuple(np.flatnonzero(inside).tolist()), []).append(strip)
    return [
        (_as_one([whole.pieces[i] for i in members], whole.as_one.area, circumstances), found)
        for members, found in groups.items()
    ]


def _as_one(pieces: Sequence[Piece], area: Area, circumstances: Circumstances) -> Piece:
    waters = [piece.water for piece in pieces]
    looks = [circumstances.look_at(water) for water in waters]
    surfaces = [water.surface_m for water in waters]
    levels = [surface for surface in surfaces if surface is not None]
    level = len(levels) == len(surfaces) and max(levels) - min(levels) <= _SAME_LEVEL_M
    swells = [water.swell_m for water in waters]
    currents = [flow for water in waters if (flow := water.current_mps) is not None]
    roughest = max(waters, key=lambda water: water.swell_m or 0.0)
    water = replace(
        waters[0],
        name=" + ".join(dict.fromkeys(water.name for water in waters)),
        polygon=area,
        surface_m=sum(levels) / len(levels) if level else None,
        depth_m=_least([water.depth_m for water in waters]),
        depth_date=_least([water.depth_date for water in waters]),
        salt=any(water.salt for water in waters),
        looked_at=_least(looks),
        current_mps=max(currents) if currents else None,
        swell_m=roughest.swell_m if None not in swells else None,
        swell_from_deg=roughest.swell_from_deg,
        swell_at=_least([water.swell_at for water in waters]),
    )
    notes = [piece.note for piece in pieces if piece.note is not None]
    return Piece(water, area, "; ".join(dict.fromkeys(notes)) or None)


def _least(values: Sequence[T | None]) -> T | None:
    """The least of what every piece tells; None where one tells nothing."""
    known = [value for value in values if value is not None]
    return min(known) if len(known) == len(values) else None
