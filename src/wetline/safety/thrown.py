"""People so near that thrown fire may reach them before the front does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.model import Finding
from wetline.safety.reach import NO_PEOPLE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.safety.reach import Place

__all__ = ["check_thrown", "people_within"]


def people_within(
    places: Iterable[Place], burnt: Polygon | MultiPolygon, reach_m: float
) -> tuple[tuple[Place, float], ...]:
    """People and houses within a distance [m] of the burnt area, nearest first, whichever way the wind blows."""
    near = [
        (place, float(shapely.distance(place.shape, burnt)))
        for place in places
        if place.kind not in NO_PEOPLE and place.kind != "road"
    ]
    return tuple(sorted((n for n in near if n[1] <= reach_m), key=lambda n: (n[1], n[0].name)))


def check_thrown(near: Sequence[tuple[Place, float]], reach_m: float | None) -> tuple[Finding, ...]:
    """A caution that names everybody within the farthest that fire may be thrown [m]; None: unknown how far."""
    if reach_m is None or reach_m <= 0.0 or not near:
        return ()
    names = ", ".join(dict.fromkeys(place.name for place, _ in near))
    return (
        Finding(
            code="entrapment",
            level="caution",
            message=f"Thrown fire may reach {names} (up to {round(reach_m, -1):,.0f} m, low confidence).",
            source="common practice, no source: whoever is nearer than the farthest throw, whatever the wind",
            refers_to="thrown fire",
            distance_m=near[0][1],
            limit=f"{round(reach_m, -1):,.0f} m",
        ),
    )
