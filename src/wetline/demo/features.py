"""Everything with a shape: water, bases, hazards, people, places to avoid, roads, the fire."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from wetline.demo.names import CREWS
from wetline.demo.roads import lay_roads
from wetline.demo.site import offset

if TYPE_CHECKING:
    from shapely.geometry import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

    from wetline.demo.fire import BurntGround
    from wetline.demo.land import Land
    from wetline.demo.names import Namer
    from wetline.demo.site import Places, Site

__all__ = ["Feature", "avoid_features", "base_features", "fire_features", "geojson", "hazard_features",
           "people_features", "road_features", "water_features"]  # fmt: skip

Feature = tuple["BaseGeometry", dict[str, Any]]
BUFFER_M = 91.0
"""300 ft each side of a waterway (US Forest Service rule for aerial delivery)."""
BUFFERED = ["retardant", "gel", "foam"]


def geojson(land: Land, features: list[Feature], *, surveyed: date | None = None) -> str:
    """A feature collection (RFC 7946), longitude and latitude to 7 decimals, a feature a line."""
    lines = []
    for shape, properties in features:
        moved = land.grid.projection.geometry_to_lonlat(shape)
        placed = shapely.transform(moved, lambda points: np.round(points, 7))
        if isinstance(placed, shapely.Polygon):
            placed = orient(placed)
        elif isinstance(placed, shapely.MultiPolygon):
            placed = shapely.MultiPolygon([orient(part) for part in placed.geoms])
        geometry = shapely.to_geojson(placed)
        text = _json({name: value for name, value in properties.items() if value is not None})
        lines.append(f'{{"type": "Feature", "properties": {text}, "geometry": {geometry}}}')
    head = '{"type": "FeatureCollection", '
    if surveyed is not None:
        head += f'"surveyed": "{surveyed.isoformat()}", '
    return head + '"features": [\n' + ",\n".join(lines) + "\n]}\n"


def _json(properties: dict[str, Any]) -> str:
    import json  # noqa: PLC0415 - used here alone

    def plain(value: object) -> str:
        if isinstance(value, datetime):
            return value.isoformat(timespec="seconds")
        if isinstance(value, date):
            return value.isoformat()
        message = f"no JSON for {value!r}"
        raise TypeError(message)

    return json.dumps(properties, default=plain, ensure_ascii=False)


def water_features(rng: np.random.Generator, land: Land, site: Site, namer: Namer) -> list[Feature]:
    """Lakes with their sounded depths, one good lake that nobody has sounded, and the river."""
    unsounded = next(
        (reach.lake for reach in site.near[2:] if reach.lake != site.near[0].lake), site.near[-1].lake
    )
    features: list[Feature] = []
    scooped = {reach.lake for reach in site.near}
    for number, lake in enumerate(land.waters.lakes):
        sounded = number != unsounded
        least = max(0.34 * lake.greatest_depth_m * rng.uniform(0.6, 1.0), 1.1)
        depth = max(least, 2.7) if number in scooped else least
        year, month = int(rng.integers(2019, 2026)), int(rng.integers(5, 10))
        features.append(
            (
                lake.polygon,
                {
                    "name": namer.lake(lake.polygon.area / 1e4),
                    "kind": "lake" if lake.polygon.area > 200_000 else "pond",
                    "depth_m": round(float(depth), 1) if sounded else None,
                    "depth_date": date(year, month, int(rng.integers(1, 29))) if sounded else None,
                },
            )
        )
    features.append(
        (
            land.waters.river,
            {
                "name": f"River {namer.word()}",
                "kind": "river",
                "depth_m": 0.8,
                "depth_date": date(2023, 8, 2),
            },
        )
    )
    return features


def base_features(places: Places, namer: Namer) -> list[Feature]:
    """An airfield, a helibase and a tanker base."""
    return [
        (
            shapely.Point(places.airfield),
            {
                "name": namer.with_tail("Field"),
                "kind": "airfield",
                "runway_m": 1_450,
                "agents": ["water", "foam"],
            },
        ),
        (
            shapely.Point(places.helibase),
            {"name": namer.with_tail("Meadow", "Croft"), "kind": "helibase", "agents": ["water", "foam"]},
        ),
        (
            shapely.Point(places.tanker_base),
            {
                "name": namer.with_tail("Aerodrome"),
                "kind": "tanker_base",
                "runway_m": 2_300,
                "agents": ["retardant", "gel"],
                "pits": 3,
            },
        ),
    ]


def _power_line(rng: np.random.Generator, land: Land, site: Site, village: tuple[float, float]) -> LineString:
    """A line of pylons across the way from the nearest good lake to the fire, then to the village."""
    (x0, y0), (x1, y1) = site.near[0].ends
    lake, fire = np.array([(x0 + x1) / 2, (y0 + y1) / 2]), np.array(site.fire)
    waters = shapely.union_all([each.polygon for each in land.waters.lakes if each.polygon.area > 3e5])
    across = np.degrees(np.arctan2(*(fire - lake))) + 90.0
    best: tuple[float, LineString] | None = None
    for _ in range(120):
        middle = lake + (fire - lake) * rng.uniform(0.3, 0.62)
        bearing = across + rng.uniform(-35, 35)
        points: list[tuple[float, float]] = []
        for side in (-1, 1):
            at, heading = (float(middle[0]), float(middle[1])), bearing + (180 if side < 0 else 0)
            run = []
            for _ in range(9):
                heading += rng.uniform(-9, 9)
                at = offset(at, heading, float(rng.uniform(900, 2_300)))
                if not land.grid.holds(*at):
                    break
                run.append(at)
            points = [*reversed(run), *points] if side < 0 else [*points, *run]
        ends = sorted((points[0], points[-1]), key=lambda p: np.hypot(p[0] - village[0], p[1] - village[1]))
        points = points if points[-1] == ends[0] else points[::-1]
        line = shapely.LineString([*points, village])
        cost = line.intersection(waters).length + 4_000 * (line.distance(shapely.Point(site.fire)) < 1_900)
        cost += 0.1 * line.length
        if best is None or cost < best[0]:
            best = float(cost), line
    if best is None:
        message = "no power line could be drawn"
        raise AssertionError(message)
    return best[1]


def hazard_features(
    rng: np.random.Generator, land: Land, site: Site, places: Places, namer: Namer
) -> list[Feature]:
    """A power line between the good water and the fire, the village's own wire, and a mast."""
    away = site.toward_deg + 60.0
    low = [places.village, offset(places.village, away, 900), offset(places.village, away + 25, 2_100)]
    return [
        (
            _power_line(rng, land, site, places.village),
            {"name": f"{namer.word()} power line", "kind": "wire", "height_m": 34},
        ),
        (shapely.LineString(low), {"name": "village line", "kind": "wire", "height_m": 11}),
        (shapely.Point(places.mast), {"name": namer.with_tail("mast"), "kind": "mast", "height_m": 62}),
    ]


def _beside(edge: Polygon, distance_m: float, toward: tuple[float, float]) -> BaseGeometry:
    """The point that far outside an edge which lies nearest to a place."""
    ring = edge.buffer(distance_m, quad_segs=32).exterior
    return shapely.line_interpolate_point(ring, shapely.line_locate_point(ring, shapely.Point(toward)))


def people_features(
    rng: np.random.Generator, site: Site, places: Places, burnt: BurntGround, now: datetime, namer: Namer
) -> list[Feature]:
    """Crews with the time they were seen, the village, single farms, the camp."""
    right_of_heel = offset(offset(burnt.heel, site.toward_deg, 150), site.toward_deg + 90, 400)
    left_flank = offset(offset(burnt.heel, site.toward_deg, 550), site.toward_deg - 90, 900)
    spots = (
        (_beside(burnt.now, 48.0, right_of_heel), "hand", 12, 8),
        (_beside(burnt.now, 140.0, left_flank), "engine", 6, 4),
        (shapely.Point(offset(burnt.heel, site.toward_deg + 180, 750)), "hand", 8, 18),
        (shapely.Point(offset(places.village, site.toward_deg + 180, 420)), "engine", 5, 26),
    )
    features: list[Feature] = [
        (
            point,
            {
                "name": f"Crew {name}",
                "kind": "crew",
                "count": count,
                "seen": now - timedelta(minutes=minutes),
                "tools": tools,
            },
        )
        for name, (point, tools, count, minutes) in zip(CREWS, spots, strict=True)
    ]
    ring = np.linspace(0, 2 * np.pi, 18, endpoint=False)
    radius = 260 * (1 + 0.18 * np.sin(2 * ring + 0.7) + rng.uniform(-0.08, 0.08, ring.size))
    village = shapely.Polygon(
        np.column_stack(
            [places.village[0] + radius * np.cos(ring), places.village[1] + radius * np.sin(ring)]
        )
    )
    features.append((village, {"name": namer.word(), "kind": "houses", "count": 26, "weight": 5.0}))
    for place in places.hamlets:
        houses = int(rng.integers(1, 4))
        name = namer.with_tail("End", "Farm", "Cot", "Steading")
        features.append(
            (shapely.Point(place), {"name": name, "kind": "houses", "count": houses, "weight": 1.0})
        )
    camp = {
        "name": namer.with_tail("Camp"),
        "kind": "camp",
        "count": 34,
        "weight": 2.0,
        "seen": now - timedelta(minutes=30),
    }
    features.append((shapely.Point(places.camp), camp))
    return features


def avoid_features(land: Land, water: list[Feature], site: Site, namer: Namer) -> list[Feature]:
    """The strip along every lake and river where only water may fall, and a reserve of springs."""
    rule = "No retardant, gel or foam within 91 m of water"
    features: list[Feature] = [
        (
            shape.buffer(BUFFER_M, quad_segs=4).simplify(3.0).intersection(shapely.box(*land.grid.bounds)),
            {
                "name": f"{properties['name']} bank",
                "kind": "waterway_buffer",
                "rule": rule,
                "agents": BUFFERED,
            },
        )
        for shape, properties in water
    ]
    middle = offset(site.fire, site.toward_deg - 75.0, 3_400)
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    reach = 620 * (1 + 0.22 * np.sin(3 * turn) + 0.1 * np.cos(5 * turn))
    springs = shapely.Polygon(
        np.column_stack([middle[0] + reach * np.cos(turn), middle[1] + reach * np.sin(turn)])
    )
    features.append(
        (
            springs,
            {
                "name": f"{namer.word()} Springs",
                "kind": "protected",
                "rule": "Drinking water: plain water only",
                "agents": BUFFERED,
            },
        )
    )
    return features


def road_features(land: Land, places: Places, burnt: BurntGround, namer: Namer) -> list[Feature]:
    """Roads from the village to the bases, the map's edges, the camp, the farms and the fire's heel."""
    west, south, east, north = land.grid.bounds
    main = [
        places.airfield,
        places.tanker_base,
        (east - 60.0, places.village[1]),
        (places.village[0], south + 60.0),
        (west + 60.0, places.camp[1]),
        (places.camp[0], north - 60.0),
    ]
    heel = offset(burnt.heel, 180.0, 300.0)
    side = [places.camp, places.helibase, heel, *places.hamlets]
    roads = lay_roads(land, places.village, [*main, *side])
    return [
        (road, {"name": f"{namer.word()} road" if i < len(main) else f"track {i - len(main) + 1}",
                "width_m": 8 if i < len(main) else 4})
        for i, road in enumerate(roads)
    ]  # fmt: skip


def fire_features(burnt: BurntGround, name: str, now: datetime) -> list[Feature]:
    """The fire as drawn 55 minutes ago and now, and the spot."""
    return [
        (burnt.earlier, {"name": name, "kind": "fire", "time": now - timedelta(minutes=55)}),
        (burnt.now, {"name": name, "kind": "fire", "time": now}),
        (burnt.spot, {"name": f"{name} spot", "kind": "spot", "time": now}),
    ]
