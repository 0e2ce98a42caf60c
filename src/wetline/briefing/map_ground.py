"""What stands on the ground of the map: water, areas to avoid, roads, wires and masts, bases."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.briefing import drawing as d
from wetline.briefing.draw_run import wire_items
from wetline.briefing.labels import Label
from wetline.briefing.map_layers import cut_lines, inside, off_map, on_line
from wetline.briefing.pack import Wire

if TYPE_CHECKING:
    from wetline.briefing.format import Style
    from wetline.briefing.map_layers import Layers
    from wetline.ground import Base, Ground, Hazard

__all__ = ["ground_layer"]


def ground_layer(layers: Layers, ground: Ground, view: d.View, style: Style) -> None:
    """Water, avoid areas, roads, wires and masts, bases."""
    for water in ground.water:
        layers.items += d.area(view, water.polygon, "water")
        spot = inside(view, water.polygon)
        if spot is not None:
            layers.labels.append(
                Label(lines=(water.name,), at=spot, rank=8, italic=True, centred=True, gap=8.0)
            )
    for avoid in ground.avoid:
        layers.items += d.area(view, avoid.polygon, "avoid", width=0.0)
    layers.labels += _rules(ground, view)
    for road in ground.roads:
        layers.items.append(d.path(cut_lines(view, road.line), width=1.1))
    for hazard in ground.hazards:
        _hazard(layers, hazard, view, style)
    for base in ground.bases:
        _base(layers, base, view)


def _rules(ground: Ground, view: d.View) -> list[Label]:
    """The rule of areas to avoid, said once: where it has most room, else in the next largest area."""
    by_rule: dict[str, list[tuple[float, tuple[float, float]]]] = {}
    for avoid in ground.avoid:
        spot = inside(view, avoid.polygon)
        if spot is not None:
            seen = shapely.intersection(shapely.make_valid(avoid.polygon), view.window).area
            by_rule.setdefault(avoid.rule, []).append((seen, spot))
    labels = []
    for rule, places in by_rule.items():
        spots = [spot for _, spot in sorted(places, reverse=True)]
        labels.append(
            Label(lines=(rule,), at=spots[0], also=tuple(spots[1:9]), rank=6, centred=True, gap=10.0)
        )
    return labels


def _hazard(layers: Layers, hazard: Hazard, view: d.View, style: Style) -> None:
    height = "height not known" if hazard.height_m is None else style.tall(hazard.height_m)
    words = f"{hazard.kind.capitalize()}, {height}"
    for part in shapely.get_parts(hazard.shape):
        ring = part.exterior if part.geom_type == "Polygon" else part
        wire = Wire(words, shapely.get_coordinates(ring))
        layers.items += wire_items(wire, view)
        at = on_line(view, wire.line)
        if at is not None:
            layers.labels.append(Label(lines=(words,), at=at, rank=3, gap=7.0))
            layers.ink += [d.resampled(p, 3.0) for p in view.lines(wire.line)] if len(wire.line) > 1 else []


def _base(layers: Layers, base: Base, view: d.View) -> None:
    xy = (float(base.point.x), float(base.point.y))
    if not view.holds(*xy):
        off_map(layers, view, xy, (f"Base {base.name}",))
        return
    x, y = view.one(*xy)
    square = [[x - 4.5, y - 4.5], [x + 4.5, y - 4.5], [x + 4.5, y + 4.5], [x - 4.5, y + 4.5]]
    layers.items += [d.path([square], width=1.4, fill="white"), d.line(x - 7, y + 7, x + 7, y - 7, 1.2)]
    layers.spare(x, y)
    layers.labels.append(Label(lines=(base.name,), at=(x, y), rank=4, bold=True, gap=8.0))
