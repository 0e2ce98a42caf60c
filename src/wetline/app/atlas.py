"""All lanes of a country or the world, found once; then the lanes near a place, for a class and a wind."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, NoReturn, cast

import shapely

from wetline import __version__
from wetline.aircraft import aircraft_classes
from wetline.app.answer import Answer, envelope, number
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.growth import map_stream
from wetline.model import Finding
from wetline.store import CHUNK, AtlasAbout, AtlasFile, AtlasWriter, is_database, open_water_source
from wetline.units import KNOT
from wetline.water import Ask, Wind, judged, lanes_in, rank, search_chunk

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from wetline.aircraft import AircraftClass
    from wetline.growth import Cluster
    from wetline.water import NearLane

__all__ = ["AtlasOptions", "NearOptions", "atlas_answer", "lanes_near", "make_atlas"]

_STEP_DEG = 5.0
_WITHIN_KM, _MOST = 60.0, 20
_PROBLEMS_NAMED = 50
_LONLAT_DIGITS = 7  # a centimetre


@dataclass(frozen=True, slots=True, kw_only=True)
class AtlasOptions:
    """What may be said about making an atlas. `cluster`: the address of a Dask scheduler."""

    class_id: str | None = None
    length_m: float | None = None
    clear_m: float | None = None
    step_deg: float | None = None
    layer: str | None = None
    jobs: int | None = None
    cluster: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NearOptions:
    """What may be said about lanes near a place (lon, lat) [deg]."""

    near: tuple[float, float] | None = None
    within_km: float | None = None
    class_id: str | None = None
    wind_kt: float | None = None
    wind_from_deg: float | None = None
    most: int | None = None


def atlas_answer(
    path: Path,
    *,
    out: Path | None,
    making: AtlasOptions,
    asking: NearOptions,
    now: datetime,
    tell: Callable[[int, int], None],
) -> Answer:
    """Make an atlas of a water file (`out`), or ask one (`asking.near`).

    Raises
    ------
    InputError
        If neither or both are given, or an option that the other one takes: nothing is left unheard.
    """
    if out is None and asking.near is None:
        what = (
            "Give --near LON LAT to ask an atlas, or --out FILE to make one."
            if is_database(path)
            else "Give --out FILE, the name of the atlas to make."
        )
        _refuse("It is not said what to do with this file.", what, file=str(path))
    beside: AtlasOptions | NearOptions = asking if out is not None else making
    mine = {"class_id"}
    unheard = [
        Problem(
            message=f"{name} does not go with {'--out' if out is not None else '--near'}.",
            mend="Leave it out, or see `wetline atlas --help`.",
            field=name,
            value=str(value),
        )
        for name in beside.__dataclass_fields__
        if name not in mine and (value := getattr(beside, name)) is not None
    ]
    if unheard:
        raise InputError.of(unheard)
    if out is not None:
        return make_atlas(path, out, making, now=now, tell=tell)
    return lanes_near(path, asking)


def make_atlas(
    path: Path, out: Path, options: AtlasOptions, *, now: datetime, tell: Callable[[int, int], None]
) -> Answer:
    """Search a water file and write its atlas, or go on with an unfinished one.

    `now`: written into the file as its date. `tell`: called with features done and in all.

    Raises
    ------
    InputError, OutsideRangeError
        For a file that cannot be read or written, an atlas that stands already, or asks that make no sense.
    """
    asks, step_deg = _asks(options), _STEP_DEG if options.step_deg is None else options.step_deg
    for ask in asks:
        ask.check(step_deg)
    if options.jobs is not None and not 1 <= options.jobs <= 1024:
        raise OutsideRangeError(field="jobs", value=options.jobs, low=1, high=1024, unit="")
    source = open_water_source(path, options.layer)
    if not source.features:
        _refuse("The file holds no features.", "Give water as polygons.", file=str(path))
    about = AtlasAbout(
        source=path.name,
        layer=source.layer,
        features=source.features,
        source_bytes=source.size_bytes,
        source_sha256=source.sha256,
        asks=asks,
        step_deg=step_deg,
        chunk=CHUNK,
        version=__version__,
    )
    with AtlasWriter(out, about) as writer, _cluster(options.cluster) as client:
        begun_at = writer.done
        few = source.features - begun_at <= CHUNK
        if client is None:
            _load_kernels()
        search = partial(search_chunk, asks=asks, step_deg=step_deg)
        tell(begun_at, source.features)
        found = map_stream(search, source.chunks(begun_at), workers=1 if few else options.jobs, client=client)
        for searched in found:
            writer.add(searched)
            tell(searched.first + searched.count, source.features)
        writer.finish(now)
    with AtlasFile(out) as atlas:
        answer = envelope(incident=None, time=None)
        answer["atlas"] = {"file": str(out), "went_on_from": begun_at or None, **_about(atlas)}
        answer["problems"] = [p.given() for p in atlas.problems(_PROBLEMS_NAMED)]
    return answer


def lanes_near(path: Path, options: NearOptions) -> Answer:
    """The lanes of an atlas within reach of a place, nearest water first, those against the wind last.

    Raises
    ------
    InputError, OutsideRangeError
        For a file that is no sound atlas, or a place, reach, class or wind that makes no sense.
    """
    here, wind = _place(options), _wind(options)
    within_km = _WITHIN_KM if options.within_km is None else options.within_km
    most = _MOST if options.most is None else options.most
    for field, value, low, high, unit in (
        ("within_km", within_km, 0.1, 1000.0, "km"),
        ("most", most, 1.0, 10_000.0, ""),
    ):
        if not low <= value <= high:
            raise OutsideRangeError(field=field, value=value, low=low, high=high, unit=unit)
    classes = _scoopers(options.class_id)
    answer = envelope(incident=None, time=None)
    with AtlasFile(path) as atlas:
        reach = atlas.near(*here, within_km * 1000.0)
        lanes: list[NearLane] = []
        answer["counts"] = []
        findings = _of_the_whole(atlas)
        for cls in classes:
            serving, missing = _ask_for(atlas.about.asks, cls)
            findings += missing
            ranked = rank(reach, serving, cls, wind, here=here, most=most)
            lanes += judged(atlas.lanes(reach.records[ranked.chosen]), here, cls, wind)
            answer["counts"].append(
                {"class": cls.id, "lanes": ranked.lanes, "waters": ranked.waters,
                 "against_wind": ranked.against_wind, "shown": len(ranked.chosen)}
            )  # fmt: skip
        answer["atlas"] = {"file": str(path), **_about(atlas)}
        answer["problems"] = [p.given() for p in atlas.problems_near(*here, within_km * 1000.0)]
    answer["near"], answer["within_km"] = list(here), number(within_km, 3)
    answer["wind_kt"], answer["wind_from_deg"] = options.wind_kt, options.wind_from_deg
    answer["lanes"] = [_lane(lane) for lane in lanes]
    answer["findings"] = [_finding(f) for f in findings]
    if not lanes:
        answer["reason"] = _why_none(len(reach), within_km, classes)
    return answer


def _asks(options: AtlasOptions) -> tuple[Ask, ...]:
    """What is asked for: by the numbers given, by the class given, or by every class that scoops."""
    given = {"length_m": options.length_m, "clear_m": options.clear_m}
    if options.length_m is not None and options.clear_m is not None and options.class_id is None:
        return (Ask(options.length_m, options.clear_m),)
    if any(value is not None for value in given.values()):
        _refuse(
            "Length and half-width go together, and not with a class.",
            "Give --length-m and --clear-m, or --class, or none of them.",
        )
    return tuple(sorted({_need(cls) for cls in _scoopers(options.class_id)}))


def _need(cls: AircraftClass) -> Ask:
    return Ask(cls.value("lane_needed_m"), cls.value("lane_half_width_m"))


def _scoopers(class_id: str | None) -> list[AircraftClass]:
    """The class asked for, or every one that scoops and knows the water it needs."""
    fit = {
        cls.id: cls
        for cls in aircraft_classes().values()
        if cls.fills == "scoop" and {"lane_needed_m", "lane_half_width_m"} <= cls.quantities.keys()
    }
    if class_id is None:
        return list(fit.values())
    if class_id not in fit:
        _refuse(
            f"{class_id!r} is no aircraft class that scoops.",
            f"Give one of {', '.join(fit)}.",
            field="class",
            value=class_id,
        )
    return [fit[class_id]]


def _ask_for(asks: Sequence[Ask], cls: AircraftClass) -> tuple[int, list[Finding]]:
    """Number of the ask that serves a class, and what is missing where none is made for it."""
    need = _need(cls)
    if need in asks:
        return asks.index(need), []
    narrower = [ask for ask in asks if ask.clear_m <= need.clear_m]
    best = (
        max(narrower, key=lambda a: (a.clear_m, -a.length_m))
        if narrower
        else min(asks, key=lambda a: (a.clear_m, a.length_m))
    )
    message = (
        f"The atlas was not made for a {cls.name.lower()} ({need.length_m:g} m by {2 * need.clear_m:g} m): of "
        f"lanes {best.length_m:g} m by {2 * best.clear_m:g} m those that fit are listed; others may be missing."
    )
    missing = Finding(
        code="data_missing",
        level="unknown",
        effect="noted",
        message=message,
        source="the atlas",
        refers_to=cls.id,
    )
    return asks.index(best), [missing]


def _of_the_whole(atlas: AtlasFile) -> list[Finding]:
    """What holds for every answer of an atlas that is unfinished, or of a file whose waters lie nowhere."""
    messages = []
    if not atlas.whole:
        messages.append(
            f"The atlas is unfinished: {atlas.done} of {atlas.about.features} waters were searched. "
            "What the others hold is unknown."
        )
    if nowhere := atlas.nowhere():
        messages.append(
            f"{nowhere} of {atlas.done} waters in {atlas.about.source} have no place that could be read, and were not "
            "searched: they may lie here."
        )
    return [
        Finding(
            code="data_missing",
            level="unknown",
            effect="look",
            message=message,
            source="the atlas",
            refers_to="",
        )
        for message in messages
    ]


def _place(options: NearOptions) -> tuple[float, float]:
    lon, lat = cast("tuple[float, float]", options.near)
    for field, value, end in (("longitude", lon, 180.0), ("latitude", lat, 90.0)):
        if not -end <= value <= end:
            raise OutsideRangeError(field=field, value=value, low=-end, high=end, unit="deg")
    return lon, lat


def _wind(options: NearOptions) -> Wind | None:
    speed_kt, from_deg = options.wind_kt, options.wind_from_deg
    if speed_kt is None and from_deg is None:
        return None
    if speed_kt is None or from_deg is None:
        _refuse("A wind has a speed and a direction.", "Give --wind-kt and --wind-from-deg, or neither.")
    for field, value, high, unit in (
        ("wind_kt", speed_kt, 100.0, "kt"),
        ("wind_from_deg", from_deg, 360.0, "deg"),
    ):
        if not 0.0 <= value <= high:
            raise OutsideRangeError(field=field, value=value, low=0.0, high=high, unit=unit)
    return Wind(speed_kt * KNOT, from_deg)


def _why_none(in_reach: int, within_km: float, classes: Sequence[AircraftClass]) -> str:
    if not in_reach:
        return f"the atlas holds no lane within {within_km:g} km"
    needs = " or ".join(f"{_need(c).length_m:g} m by {2 * _need(c).clear_m:g} m" for c in classes)
    return f"none of the {in_reach} lanes within {within_km:g} km is {needs}"


def _load_kernels() -> None:
    """Before processes are forked, so that each need not load them anew."""
    lanes_in(shapely.box(0.0, 0.0, 20.0, 20.0), length_m=10.0, clear_m=2.0, step_deg=90.0)


@contextmanager
def _cluster(address: str | None) -> Iterator[Cluster | None]:
    """A client of the Dask cluster at an address, or None."""
    if address is None:
        yield None
        return
    try:
        from distributed import Client  # noqa: PLC0415  an optional part, loaded when it is asked for
    except ImportError:
        _refuse("Dask is not installed.", "Install wetline with its extra `cluster`.", field="cluster")
    try:
        client: Any = Client(address, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        _refuse(f"No cluster answers: {error}.", "See the address.", field="cluster", value=address)
    with client:
        yield client


def _about(atlas: AtlasFile) -> Answer:
    about = atlas.about
    return {
        "whole": atlas.whole,
        "source": about.source,
        "source_sha256": about.source_sha256,
        "step_deg": about.step_deg,
        "asks": [
            {
                "length_m": ask.length_m,
                "clear_m": ask.clear_m,
                "classes": [cls.id for cls in _scoopers(None) if _need(cls) == ask],
            }
            for ask in about.asks
        ],
        "features": about.features,
        "lanes": atlas.lanes_held,
        **atlas.counts(),
    }


def _lane(near: NearLane) -> Answer:
    lane = near.lane
    return {
        "class": near.class_id,
        "water": lane.row if lane.water is None else lane.water,
        "row": lane.row,
        "distance_m": number(near.distance_m, 0),
        "toward_deg": number(near.toward_deg, 1),
        "heading_deg": number(near.heading_deg, 1),
        "other_way": near.other_way,
        "length_m": number(lane.length_m, 1),
        "needed_m": number(near.needed_m, 0),
        "clear_m": number(lane.clear_m, 1),
        "width_m": number(lane.width_m, 1),
        "start": [round(v, _LONLAT_DIGITS) for v in near.start],
        "end": [round(v, _LONLAT_DIGITS) for v in near.end],
        "level": near.level,
        "headwind_kt": None if near.headwind_mps is None else number(near.headwind_mps / KNOT, 1),
        "crosswind_kt": None if near.crosswind_mps is None else number(near.crosswind_mps / KNOT, 1),
        "depth_m": None,
        "findings": [_finding(f) for f in near.findings],
    }


def _finding(finding: Finding) -> Answer:
    keys = ("code", "level", "effect", "message", "limit", "value", "source", "refers_to")
    found: Mapping[str, Any] = {key: getattr(finding, key) for key in keys}
    return {key: value for key, value in found.items() if value is not None}


def _refuse(message: str, mend: str, **where: str) -> NoReturn:
    raise InputError.of([Problem(message=message, mend=mend, **where)])  # type: ignore[arg-type]
