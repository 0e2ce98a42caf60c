"""Where the doors open for a target on the ground, in WGS 84."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import pyproj

from wetline.app.answer import Answer, number
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from wetline.drops import DropResult

__all__ = ["release_place"]


@lru_cache(maxsize=1)
def _geod() -> pyproj.Geod:
    return pyproj.Geod(ellps="WGS84")


def release_place(result: DropResult, target: tuple[float, float], *, heading_deg: float | None) -> Answer:
    """The place where the doors open so that the middle of the pattern lies on the target.

    `target`: longitude and latitude [deg]; `heading_deg`: true, of the run over the ground.

    Raises
    ------
    InputError
        Without a heading.
    """
    if heading_deg is None:
        problem = Problem(
            message="a target says nothing of the release without the heading of the run.",
            mend="Give --heading-deg, degrees true.",
            field="target",
        )
        raise InputError.of([problem])
    offset = result.release_offset_m
    bearing = (heading_deg + math.degrees(math.atan2(offset["right"], offset["along"]))) % 360.0
    distance = math.hypot(offset["along"], offset["right"])
    lon, lat, _ = _geod().fwd(target[0], target[1], bearing, distance)
    return {
        "target_position": [number(target[0], 6), number(target[1], 6)],
        "release_position": [number(lon, 6), number(lat, 6)],
        "release_from_target": {"bearing_deg": number(bearing) or 0.0, "distance_m": number(distance)},
    }
