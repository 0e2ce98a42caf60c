"""The feature layers: rows of GeoJSON made into water, bases, hazards, people, areas and roads."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar

import shapely

from wetline.ground import Avoid, Base, DipPlace, Hazard, Layer, PeoplePlace, Road, Water
from wetline.store.fields import Fields, Span
from wetline.store.fleet import AGENTS
from wetline.store.shapes import parts_of, shape_on_grid, sound_polygon

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from datetime import date
    from zoneinfo import ZoneInfo

    from wetline.grid import Projection
    from wetline.store.geojson import Collection
    from wetline.store.problems import Complaints
    from wetline.store.shapes import Box

__all__ = [
    "AVOID",
    "BASES",
    "DIPS",
    "HAZARDS",
    "PEOPLE",
    "ROADS",
    "WATER",
    "LayerKind",
    "Surroundings",
    "check_dips_on_water",
    "read_layer",
]

T = TypeVar("T", Water, Base, DipPlace, Hazard, PeoplePlace, Avoid, Road)
W = TypeVar("W", bound=str)

_DEPTH_M = Span(0.0, 2000.0, "m")
_RUNWAY_M = Span(50.0, 6000.0, "m", "Metres are asked for: 1 ft is 0.3048 m.")
_ELEVATION_M = Span(-500.0, 6000.0, "m", "Metres above the sea are asked for: 1 ft is 0.3048 m.")
_HEIGHT_M = Span(0.0, 700.0, "m", "Metres above ground are asked for: 1 ft is 0.3048 m.")
_SWELL_M = Span(0.0, 20.0, "m", "Metres are asked for: 1 ft is 0.3048 m.")
_CURRENT_MPS = Span(0.0, 15.0, "m/s")
_TURN_DEG = Span(0.0, 360.0, "deg")
_RELOAD_MIN = Span(1.0, 240.0, "min")
_STOCK_L = Span(0.0, 1e7, "L", "Litres are asked for: 1 US gallon is 3.785 L.")
_MIX_L_PER_H = Span(0.0, 1e6, "L/h", "Litres are asked for: 1 US gallon is 3.785 L.")
_REFILL_L_PER_MIN = Span(0.0, 1e5, "L/min", "Litres are asked for: 1 US gallon is 3.785 L.")
_WEIGHT = Span(1e-6, 1000.0)
_WIDTH_M = Span(0.5, 200.0, "m")
_MOST_PEOPLE = 1_000_000

_WaterKind = Literal["lake", "river", "sea", "pond"]
_DipKind = Literal["water", "pond", "tank"]
_BaseKind = Literal["tanker_base", "helibase", "airfield", "water_base"]
_HazardKind = Literal["wire", "mast", "cableway", "turbine", "crane", "other"]
_PeopleKind = Literal["crew", "houses", "camp", "road_users", "place"]
_AvoidKind = Literal["waterway_buffer", "airspace", "protected", "other"]
_Tools = Literal["hand", "engine", "dozer"]
_WATER: tuple[_WaterKind, ...] = ("lake", "river", "sea", "pond")
_DIPS: tuple[_DipKind, ...] = ("water", "pond", "tank")
_BASES: tuple[_BaseKind, ...] = ("tanker_base", "helibase", "airfield", "water_base")
_HAZARDS: tuple[_HazardKind, ...] = ("wire", "mast", "cableway", "turbine", "crane", "other")
_PEOPLE: tuple[_PeopleKind, ...] = ("crew", "houses", "camp", "road_users", "place")
_AVOID: tuple[_AvoidKind, ...] = ("waterway_buffer", "airspace", "protected", "other")
_TOOLS: tuple[_Tools, ...] = ("hand", "engine", "dozer")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What every layer needs: the working CRS, the clock, what is vouched for, the terrain's box [m]."""

    projection: Projection
    zone: ZoneInfo
    cover: Mapping[str, date]
    terrain: Box | None = None


@dataclass(frozen=True, slots=True)
class LayerKind(Generic[T]):
    """How the rows of one layer become things: the shapes wanted, the shape's attribute, the maker.

    `unique`: other files name these things, so that no name may stand twice.
    """

    name: str
    shapes: tuple[str, ...]
    attribute: str
    make: Callable[[Fields, Any, str], T]
    unique: bool = False


def read_layer(
    kind: LayerKind[T], collection: Collection, around: Surroundings, complaints: Complaints
) -> Layer[T]:
    """The features of one file, complaining of each that is not sound."""
    features: list[T] = []
    rows: dict[str, int] = {}
    for feature in collection.features:
        shape = shape_on_grid(
            feature, collection.crs, around.projection, kind.shapes, complaints, terrain=around.terrain
        )
        if shape is not None and "Polygon" in shape.geom_type:
            shape = sound_polygon(shape, around.projection, complaints, row=feature.row, crossing="repair")
        parts = () if shape is None else parts_of(shape, kind.shapes)
        fields = Fields(feature.properties, complaints, row=feature.row, zone=around.zone)
        made = kind.make(fields, parts[0] if parts else shapely.Point(), f"{kind.name} {feature.row}")
        if kind.unique:
            _check_name(fields, made.name, rows)
        rows.setdefault(made.name, feature.row)
        fields.rest()
        for part in parts:
            change: dict[str, Any] = {kind.attribute: part}
            features.append(replace(made, **change))
    surveyed = _surveyed(kind.name, collection, around, complaints)
    if not features and surveyed is None:
        complaints.warning(
            "The layer is empty and nobody vouches for it: it counts as unknown, never as clear.",
            f'Add "{kind.name} = <day>" to [cover] in incident.toml if the whole ground was surveyed.',
        )
    return Layer(tuple(features), present=True, surveyed=surveyed)


def _check_name(fields: Fields, name: str, rows: Mapping[str, int]) -> None:
    """Names that stand twice, or that nobody can tell apart on the radio."""
    if name in rows:
        fields.error(
            "name", f"The name stands in row {rows[name]} too.", "Give each its own: others call it by name."
        )
        return
    heard = "".join(name.casefold().split())
    alike = next((other for other in rows if "".join(other.casefold().split()) == heard), None)
    if alike is not None:
        fields.warning(
            "name",
            f'"{name}" is hardly told apart from "{alike}" in row {rows[alike]}.',
            "Give each a name of its own, or take one out if they are the same.",
        )


def _surveyed(name: str, collection: Collection, around: Surroundings, complaints: Complaints) -> date | None:
    own = Fields(collection.members, complaints).day("surveyed")
    declared = around.cover.get(name)
    if own and declared and own != declared:
        complaints.warning(
            f"The file says surveyed {own}, incident.toml says {declared}; the older day counts.",
            "Keep one of them.",
            field="surveyed",
            value=str(own),
            limit=str(declared),
        )
        return min(own, declared)
    return own or declared


def _name(fields: Fields, otherwise: str) -> str:
    """The feature's name; one without is called by its layer and row, and that is said."""
    name = fields.text("name")
    if name is None:
        fields.warning("name", f'There is no name; it is called "{otherwise}".', "Give it a name.")
    return name or otherwise


def _kind(fields: Fields, words: tuple[W, ...], otherwise: W) -> W:
    """The feature's kind; one without is taken as `otherwise`, and that is said."""
    kind = fields.choice("kind", words)
    if kind is None and fields.raw("kind") is None:
        fields.warning(
            "kind", f'There is no kind; it is taken as "{otherwise}".', f"Give one of: {', '.join(words)}."
        )
    return kind or otherwise


def _water(fields: Fields, shape: Any, called: str) -> Water:  # noqa: ANN401  the kind was checked
    return Water(
        name=_name(fields, called),
        kind=_kind(fields, _WATER, "lake"),
        polygon=shape,
        depth_m=fields.number("depth_m", _DEPTH_M),
        depth_date=fields.day("depth_date"),
        salt=fields.flag("salt"),
        closed=fields.text("closed"),
        looked_at=fields.moment("looked_at"),
        current_mps=fields.number("current_mps", _CURRENT_MPS),
        swell_m=fields.number("swell_m", _SWELL_M),
        swell_from_deg=fields.number("swell_from_deg", _TURN_DEG),
        swell_at=fields.moment("swell_at"),
    )


def _dip(fields: Fields, shape: Any, called: str) -> DipPlace:  # noqa: ANN401  the kind was checked
    place = DipPlace(
        name=_name(fields, called),
        kind=_kind(fields, _DIPS, "water"),
        point=shape,
        depth_m=fields.number("depth_m", _DEPTH_M),
        depth_date=fields.day("depth_date"),
        volume_l=fields.number("volume_l", _STOCK_L),
        refill_l_per_min=fields.number("refill_l_per_min", _REFILL_L_PER_MIN),
        salt=fields.flag("salt"),
        closed=fields.text("closed"),
        looked_at=fields.moment("looked_at"),
    )
    if place.refill_l_per_min is not None and place.volume_l is None:
        fields.warning(
            "refill_l_per_min", "It is filled again, but its volume is not told: how long it lasts is unknown.",
            "Add volume_l.",
        )  # fmt: skip
    if place.kind == "tank" and place.volume_l is None:
        fields.warning("volume_l", "A tank without a volume: it may run dry unseen.", "Add volume_l [L].")
    return place


def _told(fields: Fields, name: str) -> bool | None:
    """`true` or `false` where it is given: absent is not known."""
    return None if fields.raw(name) is None else fields.flag(name)


def _base(fields: Fields, shape: Any, called: str) -> Base:  # noqa: ANN401  the kind was checked
    base = Base(
        name=fields.text("name", required=True) or called,
        kind=fields.choice("kind", _BASES, required=True) or "airfield",
        point=shape,
        elevation_m=fields.number("elevation_m", _ELEVATION_M),
        runway_m=fields.number("runway_m", _RUNWAY_M),
        agents=fields.words("agents", AGENTS),
        pits=fields.count("pits", 100),
        reload_min=fields.number("reload_min", _RELOAD_MIN),
        stock_l=fields.number("stock_l", _STOCK_L),
        mix_l_per_h=fields.number("mix_l_per_h", _MIX_L_PER_H),
        fuel=_told(fields, "fuel"),
        load_while_fuelling=_told(fields, "load_while_fuelling"),
    )
    for name, message, mend in _doubts(base):
        fields.warning(name, message, mend)
    return base


def _doubts(base: Base) -> Iterator[tuple[str, str, str]]:
    """What a base lacks for its kind, or says against itself: (field, message, mend)."""
    if base.kind == "tanker_base":
        if base.runway_m is None:
            yield (
                "runway_m",
                "No runway length: whoever loads here must ask the base first.",
                "Add runway_m [m].",
            )
        if base.pits == 0:
            yield "pits", "No pit: nobody loads here.", "Give the pits in use, or call it an airfield."
        if base.stock_l is None and base.mix_l_per_h is not None:
            yield "mix_l_per_h", "Mixing is told, the stock is not: it counts as unknown.", "Add stock_l [L]."
    else:
        for name in ("reload_min", "stock_l", "mix_l_per_h", "load_while_fuelling"):
            if getattr(base, name) is not None:
                yield name, f"Aircraft load at a tanker_base alone, this is a {base.kind}.", "See the kind."
    if base.kind == "water_base" and base.runway_m is not None:
        yield "runway_m", "A water base with a runway.", "See the kind: an airfield has a runway."
    if base.load_while_fuelling and base.fuel is False:
        yield "load_while_fuelling", "Loading while fuelling, but no fuel here.", "Mend one of the two."


def check_dips_on_water(dips: Layer[DipPlace], waters: Layer[Water], complaints: Complaints) -> None:
    """Warn of places of natural water that lie on land by a water layer that tells of any."""
    for place in dips:
        away_m = place.on_land_m(waters)
        if away_m is not None:
            complaints.warning(
                f'"{place.name}" lies on land by the water layer.',
                "See its coordinates, [longitude, latitude]; if it is a tank or a pond, say so by its kind.",
                field="coordinates",
                value="no water known" if math.isinf(away_m) else f"{away_m:.0f} m from water",
            )


def _hazard(fields: Fields, shape: Any, called: str) -> Hazard:  # noqa: ANN401  the kind was checked
    return Hazard(
        name=_name(fields, called),
        kind=_kind(fields, _HAZARDS, "other"),
        shape=shape,
        height_m=fields.number("height_m", _HEIGHT_M),
    )


def _people(fields: Fields, shape: Any, called: str) -> PeoplePlace:  # noqa: ANN401  the kind was checked
    weight = fields.number("weight", _WEIGHT)
    kind = fields.choice("kind", _PEOPLE, required=True) or "crew"
    place = PeoplePlace(
        name=_name(fields, called),
        kind=kind,
        shape=shape,
        count=fields.count("count", _MOST_PEOPLE),
        weight=1.0 if weight is None else weight,
        seen=fields.moment("seen"),
        tools=fields.choice("tools", _TOOLS),
    )
    if place.moves and fields.raw("seen") is None:
        fields.warning(
            "seen", "Nothing says when they were seen there: where they are now is unknown.",
            "Add seen = a time with its zone.",
        )  # fmt: skip
    return place


def _avoid(fields: Fields, shape: Any, called: str) -> Avoid:  # noqa: ANN401  the kind was checked
    rule = fields.text("rule")
    if rule is None:
        fields.warning("rule", "There is no rule: nothing may fall there.", "Say the rule in words.")
    return Avoid(
        name=_name(fields, called),
        kind=_kind(fields, _AVOID, "other"),
        polygon=shape,
        rule=rule or "no rule given",
        agents=fields.words("agents", AGENTS),
    )


def _road(fields: Fields, shape: Any, called: str) -> Road:  # noqa: ANN401  the kind was checked
    return Road(name=fields.text("name") or called, line=shape, width_m=fields.number("width_m", _WIDTH_M))


WATER = LayerKind("water", ("Polygon", "MultiPolygon"), "polygon", _water)
BASES = LayerKind("bases", ("Point",), "point", _base, unique=True)
DIPS = LayerKind("dips", ("Point",), "point", _dip, unique=True)
HAZARDS = LayerKind("hazards", ("Point", "LineString", "MultiLineString", "Polygon"), "shape", _hazard)
PEOPLE = LayerKind("people", ("Point", "LineString", "Polygon", "MultiPolygon"), "shape", _people)
AVOID = LayerKind("avoid", ("Polygon", "MultiPolygon"), "polygon", _avoid)
ROADS = LayerKind("roads", ("LineString", "MultiLineString"), "line", _road)
