"""What the searches for lanes and dip sites share: water in reach, and the order of what is found."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.model import Finding
from wetline.water.lanes import mended

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.ground import Ground, Water

    Area = Polygon | MultiPolygon

__all__ = ["check_outline", "refer", "tier", "waters_within"]

_CUT_BEYOND_M = 5000.0  # water this far past the search is cut off: a cut acts as a shore


def waters_within(
    ground: Ground, near: tuple[float, float], within_m: float
) -> list[tuple[Water, Area, str | None]]:
    """Water in reach with a valid outline, cut to the search where it goes far beyond it."""
    out = []
    point = shapely.Point(near)
    reach_m = within_m + _CUT_BEYOND_M
    box = (near[0] - reach_m, near[1] - reach_m, near[0] + reach_m, near[1] + reach_m)
    shapes = np.array([water.polygon for water in ground.water], dtype=object)
    sound = shapely.is_valid(shapes)
    far = sound & (shapely.distance(shapes, point) > within_m)
    for i in np.flatnonzero(~far):
        water = ground.water.features[i]
        area: Area | None = water.polygon
        note = None
        if not sound[i]:
            area, note = (result := mended(water.polygon)).polygon, result.note
        if area is None or (not sound[i] and shapely.distance(area, point) > within_m):
            continue
        west, south, east, north = shapely.bounds(area)
        if west < box[0] or south < box[1] or east > box[2] or north > box[3]:
            area = mended(shapely.clip_by_rect(area, *box)).polygon
        if area is not None:
            out.append((water, area, note))
    return out


def tier(findings: Iterable[Finding]) -> tuple[int, int, int]:
    """Usable (0), to be looked at (1), blocked by something unknown (2), stopped (3); then how many doubts."""
    listed = list(findings)
    looks = sum(f.level == "unknown" for f in listed)
    cautions = sum(f.level == "caution" for f in listed)
    if any(f.level == "stop" for f in listed):
        return 3, looks, cautions
    if any(f.level == "unknown" and f.effect == "blocks" for f in listed):
        return 2, looks, cautions
    return int(looks > 0), looks, cautions


def refer(findings: tuple[Finding, ...], to: str) -> tuple[Finding, ...]:
    """The findings, said of the lane or site that has got its id."""
    return tuple(replace(f, refers_to=to) for f in findings)


def check_outline(note: str | None) -> tuple[Finding, ...]:
    """A repaired outline is a caution: nobody drew it so."""
    if note is None:
        return ()
    return (
        Finding(
            code="data_missing",
            level="caution",
            message=f"The water's outline was {note}; compare it with the chart.",
            source="the water layer",
            refers_to="",
        ),
    )
