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

__all__ = ["Feature", "avoid_features", "base_features", "dip_features", "fire_features", "geojson", "hazard_features",
           "people_features", "road_features", "water_features"]  # fmt: skip

Feature = tuple["BaseGeometry", dict[str, Any]]
Point = tuple[float, float]
BUFFER_M = 91.0
"""300 ft each side of a waterway (US Forest Service rule for aerial delivery)."""
KNOWN_ROOM_M = 60.0
BUFFERED = ["retardant", "gel", "foam"]


def geojson(land: Land, features: list[Feature], *, surveyed: date | None = None) -> str:
    """A feature collection (RFC 7946), longitude and latitude to 7 decimals, a feature a line."""
    lines = []
    for shape, properties in features:
        moved = land.grid.projection.geometry_to_lonlat(shape)
        if moved.area:
            moved = shapely.set_precision(moved, 1e-7)  # keeps rings sound where rounding would cross them
        placed = shapely.transform(moved, lambda points: np.round(points, 7))
        if isinstance(placed, shapely.Polygon):
            placed = orient(placed)
        elif isinstance(placed, shapely.MultiPolygon):
            placed = shapely.MultiPolygon([orient(part) for part in placed.geoms])
        known = {name: value for name, value in properties.items() if value is not None}
        lines.append(
            _json({"type": "Feature", "properties": known, "geometry": shapely.geometry.mapping(placed)})
        )
    head = '{"type": "FeatureCollection", '
    if surveyed is not None:
        head += f'"surveyed": "{surveyed.isoformat()}", '
    return head + '"features": [\n' + ",\n".join(lines) + "\n]}\n"


def _json(values: dict[str, Any]) -> str:
    import json  # noqa: PLC0415 - used here alone

    def plain(value: object) -> str:
        if isinstance(value, datetime):
            return value.isoformat(timespec="seconds")
        if isinstance(value, date):
            return value.isoformat()
        message = f"no JSON for {value!r}"
        raise TypeError(message)

    return json.dumps(values, default=plain, ensure_ascii=False)


def water_features(rng: np.random.Generator, land: Land, site: Site, namer: Namer) -> list[Feature]:
    """Lakes with their sounded depths, one good lake that nobody has sounded, and the river."""
    unsounded = int(site.near[min(2, len(site.near) - 1)].water)
    features: list[Feature] = []
    scooped = {int(lane.water) for lane in (*site.near, site.walled)}
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
                "fuel": True,
            },
        ),
        (
            shapely.Point(places.helibase),
            {
                "name": namer.with_tail("Meadow", "Croft"),
                "kind": "helibase",
                "agents": ["water", "foam"],
                "fuel": True,
            },
        ),
        (
            shapely.Point(places.tanker_base),
            {
                "name": namer.with_tail("Aerodrome"),
                "kind": "tanker_base",
                "runway_m": 2_300,
                "agents": ["retardant", "gel"],
                "pits": 3,
                "stock_l": 90_000,
                "mix_l_per_h": 18_000,
                "fuel": True,
                "load_while_fuelling": False,
            },
        ),
    ]


def dip_features(land: Land, site: Site, places: Places, now: datetime, namer: Namer) -> list[Feature]:
    """A tank that the helibase fills, a farm's tank that no bucket goes into, a place somebody knows in a lake."""
    lake = land.waters.lakes[int(site.near[0].water)].polygon
    deep = shapely.buffer(lake, -KNOWN_ROOM_M)
    place = shapely.shortest_line(lake if deep.is_empty else deep, shapely.Point(site.fire)).coords[0]
    tank: dict[str, Any] = {"kind": "tank", "depth_m": 2.4, "depth_date": now.date()}
    return [
        (
            shapely.Point(offset(places.helibase, 90.0, 90.0)),
            {
                "name": f"{namer.word()} tank",
                **tank,
                "volume_l": 9_000,
                "refill_l_per_min": 600,
                "looked_at": now - timedelta(minutes=35),
            },
        ),
        (shapely.Point(places.hamlets[0]), {"name": f"{namer.word()} cistern", **tank, "volume_l": 900}),
        (
            shapely.Point(place),
            {
                "name": f"{namer.word()} buoy",
                "kind": "water",
                "depth_m": 3.2,
                "depth_date": date(2026, 6, 20),
            },
        ),
    ]


def _power_line(rng: np.random.Generator, land: Land, site: Site, village: Point) -> LineString:
    """Pylons right across the map, between the nearest good lake and the fire, off the other lakes."""
    (x0, y0), (x1, y1) = site.near[0].start, site.near[0].end
    lake, fire = np.array([(x0 + x1) / 2, (y0 + y1) / 2]), np.array(site.fire)
    waters = shapely.union_all([each.polygon for each in land.waters.lakes if each.polygon.area > 3e5])
    across = float(np.degrees(np.arctan2(*(fire - lake)))) + 90.0

    def run(at: Point, heading: float) -> list[Point]:
        points = []
        while land.grid.holds(*at):
            points.append(at)
            heading += rng.uniform(-10, 10)
            at = offset(at, heading, float(rng.uniform(900, 2_300)))
        return points

    def cost(line: LineString) -> float:
        near_fire = 9_000.0 if line.distance(shapely.Point(site.fire)) < 1_900 else 0.0
        near_village = 3_000.0 if line.distance(shapely.Point(village)) < 500 else 0.0
        return float(line.intersection(waters).length) + near_fire + near_village + 0.05 * line.length

    lines = []
    for _ in range(100):
        x, y = (lake + (fire - lake) * rng.uniform(0.3, 0.62)).tolist()
        bearing = across + float(rng.uniform(-40, 40))
        one, other = run((x, y), bearing), run((x, y), bearing + 180.0)
        lines.append(shapely.LineString([*reversed(one[1:]), *other]))
    return min(lines, key=cost)


def _village_wire(power: LineString, site: Site, village: Point) -> LineString:
    """The low wire from the power line to the village, or a short one where that would pass the fire."""
    foot = power.interpolate(power.project(shapely.Point(village)))
    wire = shapely.LineString([(foot.x, foot.y), village])
    if wire.length > 300.0 and wire.distance(shapely.Point(site.fire)) > 2_500.0:
        return wire
    return shapely.LineString([village, offset(village, site.toward_deg + 60.0, 1_800.0)])


def hazard_features(
    rng: np.random.Generator, land: Land, site: Site, places: Places, namer: Namer
) -> list[Feature]:
    """A power line between the good water and the fire, the village's own wire, and a mast."""
    power = _power_line(rng, land, site, places.village)
    wire = _village_wire(power, site, places.village)
    return [
        (power, {"name": f"{namer.word()} power line", "kind": "wire", "height_m": 34}),
        (wire, {"name": f"{namer.word()} wire", "kind": "wire", "height_m": 14}),
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
    behind_heel = offset(burnt.heel, site.toward_deg + 125.0, 250)
    left_flank = offset(offset(burnt.heel, site.toward_deg, 550), site.toward_deg - 90, 900)
    spots = (
        (_beside(burnt.now, 48.0, behind_heel), "hand", 12, 8),
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
    features.append((places.houses, {"name": namer.word(), "kind": "houses", "count": 26, "weight": 5.0}))
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


def road_features(
    rng: np.random.Generator,
    land: Land,
    places: Places,
    burnt: BurntGround,
    namer: Namer,
    *,
    toward_deg: float,
) -> list[Feature]:
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
    heel = offset(burnt.heel, toward_deg + 180.0, 420.0)
    side = [places.camp, places.helibase, heel, *places.hamlets]
    roads = lay_roads(rng, land, places.village, [*main, *side], burnt.now.buffer(300.0))
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
