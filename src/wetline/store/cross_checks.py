"""Checks between files: fire on terrain, weather at its time, canopy layers together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.behaviour.stands import crowns_without_trees
from wetline.store.problems import counted
from wetline.store.shapes import lonlat_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.grid import Grid, Projection
    from wetline.model import Fire
    from wetline.store.problems import Complaints
    from wetline.store.shapes import Box
    from wetline.weather import Weather

__all__ = ["check_canopy", "check_fire_on_terrain", "check_fire_weather"]

_EDGE_NEAR_M = 5000.0
"""Less terrain than this beyond the fire is remarked: growth past its end is not seen."""
_FORECAST_H = 3.0
"""Weather that ends sooner than this after the newest perimeter is remarked: a plan looks further."""
_COVER_AT_LEAST = 0.10
"""Less cover is scattered trees, or the blur of interpolation at a wood's edge. Common practice, no source."""
_SIDES = ("west", "south", "east", "north")


def check_fire_on_terrain(
    fire: Fire | None, terrain: Box, projection: Projection, fire_notes: Complaints, terrain_notes: Complaints
) -> Box | None:
    """The box [m] round the fire if all of it lies on the terrain; complains and gives None if not."""
    if fire is None:
        return None
    ground = shapely.box(*terrain)
    off = [p for p in fire.perimeters if not ground.covers(p.polygon)]
    for perimeter in off:
        share = 1.0 - perimeter.polygon.intersection(ground).area / perimeter.polygon.area
        middle = perimeter.polygon.centroid
        fire_notes.error(
            f'"{perimeter.name}" lies {"" if share > 0.999 else f"to {share:.0%} "}outside the terrain.',
            "Take a terrain that covers it; see that its coordinates are [longitude, latitude].",
            field="coordinates",
            value=lonlat_text(projection, middle.x, middle.y),
            limit=f"{lonlat_text(projection, *terrain[:2])} to {lonlat_text(projection, *terrain[2:])}",
        )
    if off:
        return None
    west, south, east, north = shapely.total_bounds([p.polygon for p in fire.perimeters])
    room = (west - terrain[0], south - terrain[1], terrain[2] - east, terrain[3] - north)
    for side, left in zip(_SIDES, room, strict=True):
        if left < _EDGE_NEAR_M:
            terrain_notes.warning(
                f"The terrain ends {left / 1000:.1f} km {side} of the fire.",
                "Take a larger terrain if the fire may go there: beyond its end nothing is seen.",
                field="extent",
                value=f"{left / 1000:.1f} km",
                limit=f"{_EDGE_NEAR_M / 1000:g} km",
            )
    return float(west), float(south), float(east), float(north)


def check_fire_weather(fire: Fire | None, weather: Weather, notes: Complaints) -> None:
    """Complain where the table does not reach the newest perimeter, or hardly beyond it."""
    if fire is None:
        return
    span = f"{weather.first:%Y-%m-%dT%H:%MZ} to {weather.last:%Y-%m-%dT%H:%MZ}"
    if not weather.covers(fire.newest):
        notes.error(
            "The weather does not cover the time of the newest perimeter.",
            "Add its hours, or take the file out: the weather is then unknown.",
            field="time",
            value=f"{fire.newest:%Y-%m-%dT%H:%MZ}",
            limit=span,
        )
    elif (weather.last - fire.newest).total_seconds() < _FORECAST_H * 3600:
        notes.warning(
            "The weather ends soon after the newest perimeter.",
            "Add the hours of the forecast: nothing is computed past the last one.",
            field="time",
            value=f"{weather.last:%Y-%m-%dT%H:%MZ}",
            limit=f"{_FORECAST_H:g} h after {fire.newest:%Y-%m-%dT%H:%MZ}",
        )


def check_canopy(
    canopy: Mapping[str, NDArray[np.float32] | None], grid: Grid, notes: Mapping[str, Complaints]
) -> None:
    """Warn of canopy layers that contradict each other: how many cells, and where the first of them lies.

    `canopy`: layers on the grid by name, as `read_canopy` gives them, absent or None where not given.
    """
    layers = {name: values for name, values in canopy.items() if values is not None}
    cover, height = layers.get("canopy_cover"), layers.get("canopy_height")
    base, bulk = layers.get("canopy_base"), layers.get("canopy_bulk")

    def warn(layer: str, wrong: NDArray[np.bool_], message: str, mend: str) -> None:
        count = int(np.count_nonzero(wrong))
        if count:
            row, col = np.unravel_index(int(np.argmax(wrong)), wrong.shape)
            place = lonlat_text(grid.projection, *(float(v) for v in grid.xy(row, col)))
            notes[layer].warning(
                f"{message} in {counted(count, 'cell')}, the first at {place}.",
                mend, field=layer, value=counted(count, "cell"), limit="0 cells",
            )  # fmt: skip

    if base is not None and height is not None:
        warn(
            "canopy_base", (base >= height) & (height > 0.0), "The crowns begin at or above the trees' height",
            "See the unit of both layers, and that they are of one survey; crown fire is unknown there.",
        )  # fmt: skip
    if bulk is not None:
        lacking = bulk > 0.0 if base is None else (bulk > 0.0) & ~(base > 0.0)
        warn(
            "canopy_bulk", lacking, "Crowns have a density but no base",
            "Give canopy_base.tif there: 0 m is taken as crowns that reach the ground, no value as unknown.",
        )  # fmt: skip
    if cover is not None or height is not None:
        for layer, crowns in (("canopy_base", base), ("canopy_bulk", bulk)):
            if crowns is not None:
                none = np.full_like(crowns, np.nan)
                bare = (none if cover is None else cover, none if height is None else height)
                warn(
                    layer, crowns_without_trees(*bare, crowns, none), "Crowns stand where neither cover nor height has trees",
                    "See that the layers are of one survey and place: crown fire is unknown there.",
                )  # fmt: skip
    if cover is not None and height is not None:
        warn(
            "canopy_height", (cover >= _COVER_AT_LEAST) & ~(height > 0.0), "Trees have cover but no height",
            "Give their height: without it wind reaches the fuel as in the open, and obstacles are not seen.",
        )  # fmt: skip
        warn(
            "canopy_cover", (cover == 0.0) & (height > 0.0), "Trees have a height but no cover",
            "Give their cover: without it wind and sun reach the fuel as in the open.",
        )  # fmt: skip
