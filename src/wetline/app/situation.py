"""One incident at one moment: what every use case starts from."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

from wetline.app.answer import Answer, iso
from wetline.circuits import first_light, plan_day, sources_from
from wetline.errors import InputError, Problem
from wetline.store import read_incident
from wetline.water import dip_sites, lanes_for, with_traffic
from wetline.weather.horizon import terrain_light
from wetline.weather.sun import HORIZON_DEG, daylight, daylight_around, sun_position

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.circuits import Day, Source
    from wetline.store import Incident
    from wetline.water import DipSite, Lane
    from wetline.weather import Daylight, Hour, TerrainLight

T = TypeVar("T")

__all__ = ["Situation", "Waters", "light_now", "look", "moment", "plan_the_day", "waters_for"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """An incident read, the moment asked about, the hour's weather and the day's light."""

    incident: Incident
    now: datetime
    hour: Hour | None
    light: Daylight | None
    middle: tuple[float, float]
    suns: dict[tuple[float, float], TerrainLight] = field(default_factory=dict)

    @property
    def until(self) -> datetime | None:
        """The incident's own cut-off of the day that the light belongs to."""
        cut_off = self.incident.cut_off
        if cut_off is None:
            return None
        sunrise = None if self.light is None else self.light.sunrise
        begins = self.now if sunrise is None else sunrise
        until = datetime.combine(begins.astimezone(self.incident.zone), cut_off, self.incident.zone)
        if sunrise is not None and until < sunrise:
            until += timedelta(days=1)
        return until.astimezone(UTC)

    def shade(self, place: tuple[float, float]) -> TerrainLight:
        """First and last direct sun of the day at a place (x, y) [m] over the terrain, looked up once."""
        if place not in self.suns:
            ground, day = self.incident.ground, self.light
            if day is None:
                message = "no daylight to shade"
                raise ValueError(message)
            self.suns[place] = terrain_light(ground.elevation_m, ground.grid, place, day)
        return self.suns[place]


@dataclass(frozen=True, slots=True)
class Waters:
    """Where the fleet may fill: lanes by class, dip sites, and all of them as sources."""

    lanes: tuple[tuple[str, Lane], ...]
    dips: tuple[DipSite, ...]
    sources: tuple[Source, ...]


def moment(at: str | None, default: datetime) -> datetime:
    """The moment asked about.

    Raises
    ------
    InputError
        If the text is no ISO 8601 time with a zone.
    """
    if at is None:
        return default
    try:
        time = datetime.fromisoformat(at)
        utc = time.astimezone(UTC) if time.tzinfo is not None else None
    except (ValueError, OverflowError):
        utc = None
    if utc is None:
        problem = Problem(
            message="the time is not ISO 8601 with a zone.",
            mend="Write it as 2026-08-14T14:00:00Z or with an offset such as -01:00.",
            field="at",
            value=at,
        )
        raise InputError.of([problem])
    return utc


def look(folder: Path, at: str | None) -> Situation:
    """Read an incident folder for a moment; default the newest perimeter's time.

    Raises
    ------
    InputError
        For a folder with problems, or a moment before the newest perimeter.
    """
    incident = read_incident(folder)
    now = moment(at, incident.now)
    if now < incident.now:
        problem = Problem(
            message=f"the moment lies before the newest perimeter, {incident.now:%Y-%m-%dT%H:%MZ}.",
            mend="Ask about that time or a later one.",
            field="at",
            value=f"{now:%Y-%m-%dT%H:%MZ}",
        )
        raise InputError.of([problem])
    weather = incident.weather
    centre = incident.fire.burnt_at(incident.now).centroid
    lon, lat = incident.ground.grid.projection.to_lonlat(centre.x, centre.y)
    return Situation(
        incident=incident,
        now=now,
        hour=weather.at(now) if weather is not None and weather.covers(now) else None,
        light=daylight_around(float(lon), float(lat), now, incident.zone),
        middle=(centre.x, centre.y),
    )


def _numbered(lanes: Iterable[Lane]) -> list[Lane]:
    """Lanes with numbers that go on from class to class."""
    out = []
    for i, lane in enumerate(lanes, 1):
        name = f"S{i}"
        findings = tuple(replace(f, refers_to=name) for f in lane.findings)
        out.append(replace(lane, id=name, findings=findings))
    return out


def _numbered_dips(dips: Iterable[DipSite]) -> list[DipSite]:
    """Dip sites with numbers that go on from class to class."""
    return [
        replace(dip, id=f"D{i}", findings=tuple(replace(f, refers_to=f"D{i}") for f in dip.findings))
        for i, dip in enumerate(dips, 1)
    ]


def waters_for(situation: Situation, class_ids: Iterable[str]) -> Waters:
    """Lanes for each scooping class, dip sites for each that dips, bases: all checked for this hour."""
    incident, classes = situation.incident, situation.incident.classes
    wanted = [classes[c] for c in dict.fromkeys(class_ids)]
    lanes = [
        (cls.id, lane)
        for cls in wanted
        if cls.fills == "scoop"
        for lane in _around(lanes_for, situation, cls)
    ]
    named = _numbered(lane for _, lane in lanes)
    dipping = [flown for cls in wanted if cls.fills == "dip" for flown in _as_they_fill(situation, cls)]
    dips = _numbered_dips(dip for cls in dipping for dip in _around(dip_sites, situation, cls))
    apart, sites = with_traffic(named, dips, incident.limits)
    by_class = tuple((class_id, lane) for (class_id, _), lane in zip(lanes, apart, strict=True))
    sources = [
        source
        for class_id, lane in by_class
        for source in sources_from(lanes=[lane], classes={class_id}, hour=situation.hour)
    ]
    sources += sources_from(dips=sites, bases=incident.ground.bases, hour=situation.hour)
    return Waters(by_class, sites, tuple(sources))


def _as_they_fill(situation: Situation, cls: AircraftClass) -> list[AircraftClass]:
    """The class in each way in which its aircraft of the fleet dip; its first way where there are none."""
    ways = dict.fromkeys(a.fill or cls.way for a in situation.incident.fleet if a.class_id == cls.id)
    return [cls.filling_by(way) for way in ways or (cls.way,)]


def _around(search: Callable[..., list[T]], situation: Situation, cls: AircraftClass) -> list[T]:
    """What a search gives for one class in reach of the fire, now."""
    incident = situation.incident
    return search(
        incident.ground,
        cls,
        situation.hour,
        incident.limits,
        near=situation.middle,
        within_m=incident.limits.value("water_search_km") * 1000.0,
        at=situation.now,
    )


def plan_the_day(
    situation: Situation,
    waters: Waters,
    *,
    fleet: Iterable[Aircraft] | None = None,
    sources: Iterable[Source] | None = None,
) -> Day:
    """Every load of the fleet from now to the cut-off, on the middle of the fire.

    `fleet`, `sources`: others than those of the incident, to ask what if.
    """
    incident = situation.incident
    return plan_day(
        incident.fleet if fleet is None else tuple(fleet),
        incident.classes,
        waters.sources if sources is None else tuple(sources),
        situation.middle,
        now=situation.now,
        ground=incident.ground,
        weather=incident.weather,
        daylight=situation.light,
        limits=incident.limits,
        until=situation.until,
        shade=None if situation.light is None else situation.shade,
    )


def light_now(situation: Situation) -> Answer:
    """Whether the sun is down, and when the first take-off of the coming day may be; null where no sun rises."""
    incident = situation.incident
    lon, lat = (float(v) for v in incident.ground.grid.projection.to_lonlat(*situation.middle))
    elevation_deg, _ = sun_position(situation.now, lon, lat)
    day = situation.now.astimezone(incident.zone).date()
    days = (daylight(lon, lat, day + timedelta(days=ahead), incident.zone) for ahead in (0, 1))
    starts = [start for one in days if (start := first_light(one, incident.limits)) is not None]
    coming = next((start for start in starts if start > situation.now), None)
    down = bool(elevation_deg < HORIZON_DEG)
    return {"sun_down": down, "first_light": iso(coming)}
