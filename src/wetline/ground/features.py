"""Things on the ground, each with a shape in grid metres. Unknown numbers are `None`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date, datetime

    from shapely.geometry import LineString, MultiLineString, MultiPolygon, Point, Polygon

__all__ = ["Avoid", "Base", "DipPlace", "Hazard", "Layer", "PeoplePlace", "Road", "Water"]

T = TypeVar("T")

_COARSE_SHORE_M = 30.0  # common practice, no source


@dataclass(frozen=True, slots=True)
class Layer(Generic[T]):
    """The features of one file.

    `present`: the file is there. `surveyed`: the day up to which somebody vouches that the layer
    covers the whole ground; without it, an empty place in the layer means unknown, not clear.
    """

    features: tuple[T, ...] = ()
    present: bool = False
    surveyed: date | None = None

    def __iter__(self) -> Iterator[T]:
        return iter(self.features)

    def __len__(self) -> int:
        return len(self.features)

    @property
    def tells(self) -> bool:
        """Whether it says anything: it holds features, or somebody vouches that there are none."""
        return self.present and (len(self.features) > 0 or self.surveyed is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """A lake, river, sea or pond. `depth_m`: least known depth; `depth_date`: when sounded.

    `looked_at`: when somebody last looked at boats, debris and waves; the look expires. `current_mps`:
    of a river. `swell_m`: significant height, running from `swell_from_deg` (grid), as told at `swell_at`.
    """

    name: str
    kind: Literal["lake", "river", "sea", "pond"]
    polygon: Polygon | MultiPolygon
    surface_m: float | None = None
    depth_m: float | None = None
    depth_date: date | None = None
    salt: bool = False
    closed: str | None = None
    looked_at: datetime | None = None
    current_mps: float | None = None
    swell_m: float | None = None
    swell_from_deg: float | None = None
    swell_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """Where aircraft stand, reload or refuel. `kind`: tanker base, helibase, airfield.

    `reload_min`: landing to take-off with a new load, as the base gives it (else the class's).
    `stock_l`: agent on hand, mixed; `mix_l_per_h`: how fast more is mixed. `fuel`: whether it has fuel.
    `load_while_fuelling`: whether the base manager lets both be done at once.
    """

    name: str
    kind: Literal["tanker_base", "helibase", "airfield", "water_base"]
    point: Point
    elevation_m: float | None = None
    runway_m: float | None = None
    agents: tuple[str, ...] = ()
    pits: int | None = None
    reload_min: float | None = None
    stock_l: float | None = None
    mix_l_per_h: float | None = None
    fuel: bool | None = None
    load_while_fuelling: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DipPlace:
    """A place known for dipping: natural water, or a tank set up for it.

    `volume_l`, `refill_l_per_min`: of a tank or a small pond; None for water that does not run short.
    `looked_at`: when somebody last looked at it; the look expires.
    """

    name: str
    kind: Literal["water", "pond", "tank"]
    point: Point
    depth_m: float | None = None
    depth_date: date | None = None
    volume_l: float | None = None
    refill_l_per_min: float | None = None
    salt: bool = False
    closed: str | None = None
    looked_at: datetime | None = None

    def on_land_m(self, waters: Layer[Water]) -> float | None:
        """How far [m] a place of natural water lies from any known water, infinite if there is none.

        None where nothing contradicts it: it is set up on land, lies in water or within 30 m of it (a shore
        drawn coarsely), or the layer does not tell.
        """
        if self.kind != "water" or not waters.tells:
            return None
        away_m = min((float(w.polygon.distance(self.point)) for w in waters), default=math.inf)
        return away_m if away_m > _COARSE_SHORE_M else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A wire, mast, cableway, turbine or other obstacle. `height_m` above ground."""

    name: str
    kind: Literal["wire", "mast", "cableway", "turbine", "crane", "other"]
    shape: LineString | MultiLineString | Point | Polygon
    height_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PeoplePlace:
    """A crew, houses, a camp or a place to protect. `seen`: when the place was last reported."""

    name: str
    kind: Literal["crew", "houses", "camp", "road_users", "place"]
    shape: Point | Polygon | MultiPolygon | LineString
    count: int | None = None
    weight: float = 1.0
    seen: datetime | None = None
    tools: Literal["hand", "engine", "dozer"] | None = None

    @property
    def moves(self) -> bool:
        """Whether they may walk away from where they were seen."""
        return self.kind in {"crew", "road_users"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Avoid:
    """An area with a rule: a waterway buffer, airspace, a protected area.

    `agents`: those that may not fall there; empty means every agent.
    """

    name: str
    kind: Literal["waterway_buffer", "airspace", "protected", "other"]
    polygon: Polygon | MultiPolygon
    rule: str
    agents: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """A road or track: a way out, an anchor, a break."""

    name: str
    line: LineString | MultiLineString
    width_m: float | None = None
