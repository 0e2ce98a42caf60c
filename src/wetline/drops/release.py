"""The nouns of a release: what was asked for, one value used, and the release with all settled."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.aircraft import AircraftClass
    from wetline.drops.flow import Flow
    from wetline.drops.liquid import Agent, Liquid
    from wetline.drops.own_table import DropTests

__all__ = ["Input", "Release", "Resolved", "System"]

System = Literal["salvo", "trail", "gate", "constant", "bucket", "belly_tank"]
Mode = Literal["salvo", "constant", "bucket"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """A load let go on a straight run. None takes the class's value or a stated default.

    `height_m`: the tank above the top of canopy or obstacle. `speed_mps`: true airspeed.
    `wind_mps`: at 10 m above open ground, from `wind_from_deg`; heading and wind from the same north.
    `canopy_m`: height of the trees below; `leaf_area`: their leaf area index, if known.
    `drop_tests`: measured lines, which stand in place of the form's where they apply.
    `class_id`: a shipped class, by which it falls. `cls`: whose numbers are taken, if not the shipped ones.

    `system`: one that the class has (see `wetline.drops.systems`). `load_l`: on board; `let_go_l`: of it,
    what this drop takes; the rest stays on board. `doors`: how many open, of a salvo or a trail;
    `interval_s`: between the doors of a trail. `opening`: of a gate or a belly tank, share from 0 to 1.
    `setting`: coverage level on the panel of a constant flow. `duration_s`: how long the flow
    lasts, of any system: between half-flow points, or the middle 80 % of the litres over 0.8.
    """

    class_id: str
    cls: AircraftClass | None = field(default=None, hash=False)
    load_l: float | None = None
    height_m: float | None = None
    speed_mps: float | None = None
    heading_deg: float | None = None
    wind_mps: float | None = None
    wind_from_deg: float | None = None
    temperature_c: float | None = None
    humidity_pct: float | None = None
    agent: Agent = "water"
    canopy_m: float | None = None
    leaf_area: float | None = None
    duration_s: float | None = None
    setting: float | None = None
    system: System | None = None
    let_go_l: float | None = None
    doors: int | None = None
    interval_s: float | None = None
    opening: float | None = None
    drop_tests: DropTests | None = None


@dataclass(frozen=True, slots=True)
class Input:
    """One value used. `origin`: given, the class's, a default, or computed from the others."""

    value: float | str | None
    unit: str
    origin: Literal["given", "class", "default", "computed"]
    source: str
    low: float | None = None
    high: float | None = None

    @property
    def number(self) -> float:
        """The value as a number.

        Raises
        ------
        TypeError
            If it is none.
        """
        if not isinstance(self.value, float | int):
            message = f"{self.value!r} is no number"
            raise TypeError(message)
        return float(self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolved:
    """A release with every number settled. Wind components [m/s] at 10 m: along and right of the heading.

    `load_l`: what this drop lets go, the integral of `flow`; `on_board_l`: before it.
    `duration_s`: how long the flow lasts (`Flow.lasting_s`), with the range it is varied over.
    """

    class_id: str
    cls: AircraftClass
    system: System
    agent: Agent
    liquid: Liquid
    load_l: float
    on_board_l: float
    height_m: float
    speed_mps: float
    ground_speed_mps: float
    wind_known: bool
    wind_along_mps: float
    wind_right_mps: float
    temperature_c: float
    humidity_pct: float
    canopy_m: float | None
    leaf_area: float | None
    duration_s: float
    duration_low_s: float
    duration_high_s: float
    flow: Flow
    inputs: Mapping[str, Input]

    @property
    def mode(self) -> Mode:
        """The kind of release that the ground pattern knows: doors, constant flow, or under a rotor."""
        if self.system == "constant":
            return "constant"
        return "bucket" if self.system in {"bucket", "belly_tank"} else "salvo"

    @property
    def stays_l(self) -> float:
        """What stays on board [L]."""
        return self.on_board_l - self.load_l

    @property
    def flow_l_per_s(self) -> float:
        """The greatest flow [L/s]."""
        return self.flow.peak_l_per_s
        """Flow [L/s] at the full opening."""
        return self.load_l / self.duration_s


@lru_cache(maxsize=1)
def _releases() -> dict[str, dict[str, Any]]:
    return {row["class_id"]: row for row in tables.load("drop/release").rows()}


def flow_settings(class_id: str) -> tuple[float, ...]:
    """The coverage settings on a class's panel; empty for salvos and buckets."""
    top = _releases()[class_id]["setting_max"]
    if top is None:
        return ()
    return tuple(float(level) for level in tables.load("drop/levels")["level"] if level <= top)


def flow_l_per_m(level: float) -> float:
    """Litres a metre of track that a constant-flow tank lets go at a coverage setting.

    A power of the level through the two published settings: 77 gal/s at 0.5 and 450 gal/s at 4, at
    84 kt (MTDC 0057-2852). Above level 4 it is an extrapolation.
    """
    table = tables.load("drop/flow")
    litres = table["flow_gal_per_s"] * US_GALLON_L / (table["speed_kt"] * KNOT)
    power = math.log(litres[1] / litres[0]) / math.log(table["level"][1] / table["level"][0])
    return float(litres[1] * (level / table["level"][1]) ** power)


def _checked(release: Release) -> AircraftClass:
    """The class of a release whose given numbers are all in range."""
    classes = aircraft_classes()
    if release.class_id not in classes or release.class_id not in _releases():
        known = ", ".join(_releases())
        raise InputError.of(
            [
                Problem(
                    message=f"{release.class_id!r} is no class that drops.",
                    mend=f"Give one of {known}.",
                    field="class",
                    value=release.class_id,
                )
            ]
        )
    liquid(release.agent)
    for name, (low, high, unit) in _RANGES.items():
        value = getattr(release, name)
        if value is not None and not low <= value <= high:
            raise OutsideRangeError(field=name, value=value, low=low, high=high, unit=unit)
    if release.wind_mps and (release.wind_from_deg is None or release.heading_deg is None):
        message = "a wind says nothing without the direction it comes from and the heading of the run."
        mend = "Give wind_from_deg and heading_deg with wind_mps."
        raise InputError.of([Problem(message=message, mend=mend, field="wind_mps")])
    return release.cls or classes[release.class_id]


def _of_class(given: float | None, cls: AircraftClass, name: str, factor: float, unit: str) -> Input:
    """A given value, or the class's own brought to SI."""
    if given is not None:
        return Input(given, unit, "given", "given")
    quantity = cls.get(name)
    if quantity is None:
        message = f"class {cls.id} has no {name}."
        raise InputError.of([Problem(message=message, mend="Give the value itself.", field=name)])
    return Input(
        quantity.value * factor,
        unit,
        "class",
        quantity.source,
        None if quantity.low is None else quantity.low * factor,
        None if quantity.high is None else quantity.high * factor,
    )


def _duration(release: Release, cls: AircraftClass, load_l: float, ground_speed_mps: float) -> Input:
    """The time [s] between half-flow points, with the range it is varied over."""
    row = _releases()[release.class_id]
    low, high = setting("flow_share").low, setting("flow_share").high
    if release.duration_s is not None:
        t = release.duration_s
        return Input(t, "s", "given", "given; varied as a constant flow is", t / high, t / low)
    if row["setting"] is not None:
        level = row["setting"] if release.setting is None else release.setting
        if level not in flow_settings(release.class_id):
            raise OutsideRangeError(field="setting", value=level, low=0.5, high=row["setting_max"], unit="")
        t = load_l / (flow_l_per_m(level) * ground_speed_mps)
        return Input(t, "s", "computed", f"flow setting {level:g}; {row['source']}", t / high, t / low)
    if row["flow_gal_per_s"] is not None:
        t = load_l / (row["flow_gal_per_s"] * US_GALLON_L)
        return Input(t, "s", "computed", row["source"], t / high, t / low)
    if row["duration_s"] is None:
        return _of_class(None, cls, "drop_time_s", 1.0, "s")
    return Input(
        row["duration_s"], "s", "default", row["source"], row["duration_low_s"], row["duration_high_s"]
    )


def _setting(release: Release) -> Input:
    """The flow setting that counts: the given one, else the class's usual one; none without a panel."""
    row = _releases()[release.class_id]
    if release.setting is not None:
        return Input(release.setting, "US gal/100 ft²", "given", "given")
    return Input(row["setting"], "US gal/100 ft²", "class", row["source"])


def _wind(release: Release, speed_mps: float, height_m: float) -> tuple[float, float, float]:
    """10 m wind along and right of the heading, and the speed over the ground at the tank [m/s]."""
    wind = release.wind_mps or 0.0
    angle = math.radians((release.wind_from_deg or 0.0) + 180.0 - (release.heading_deg or 0.0))
    along, right = wind * math.cos(angle), wind * math.sin(angle)
    at_tank = wind_at_height_mps(1.0, height_m)
    cross = right * at_tank
    if abs(cross) >= speed_mps:
        raise OutsideRangeError(field="wind_mps", value=wind, low=0, high=speed_mps / at_tank, unit="m/s")
    over_ground = math.sqrt(speed_mps**2 - cross**2) + along * at_tank
    if over_ground < _LEAST_GROUND_SPEED_MPS:
        raise OutsideRangeError(
            field="ground speed", value=over_ground, low=_LEAST_GROUND_SPEED_MPS, high=np.inf, unit="m/s"
        )
    return along, right, over_ground


def _default(given: float | None, name: str) -> Input:
    if given is not None:
        return Input(given, setting(name).unit, "given", "given")
    return Input(setting(name).value, setting(name).unit, "default", setting(name).source)


def _number(entry: Input) -> float:
    return float(entry.value or 0.0)


def resolve(release: Release) -> Resolved:
    """A release with every number settled and its origin noted.

    Raises
    ------
    InputError
        For an unknown class or agent, a class that carries no load, or a wind without direction.
    OutsideRangeError
        For a number outside the range in which the planning form makes sense.
    """
    cls = _checked(release)
    load = _of_class(release.load_l, cls, "tank_volume_l", 1.0, "L")
    height = _of_class(release.height_m, cls, "drop_height_ft", FOOT, "m")
    speed = _of_class(release.speed_mps, cls, "drop_speed_kt", KNOT, "m/s")
    along, right, over_ground = _wind(release, _number(speed), _number(height))
    duration = _duration(release, cls, _number(load), over_ground)
    temperature = _default(release.temperature_c, "temperature_c")
    humidity = _default(release.humidity_pct, "humidity_pct")
    inputs = {
        "class": Input(release.class_id, "", "given", "given"),
        "agent": Input(release.agent, "", "given", "given or the default, water"),
        "load_l": load,
        "height_m": height,
        "speed_mps": speed,
        "ground_speed_mps": Input(over_ground, "m/s", "computed", "speed, and the wind at tank height"),
        "duration_s": duration,
        "setting": _setting(release),
        "heading_deg": _told(release.heading_deg, "deg", "along the run"),
        "wind_mps": _told(release.wind_mps, "m/s", "calm is assumed: the wind is not given"),
        "wind_from_deg": _told(release.wind_from_deg, "deg", "no wind given"),
        "temperature_c": temperature,
        "humidity_pct": humidity,
        "canopy_m": _told(release.canopy_m, "m", "no canopy given: none is counted"),
        "leaf_area": _told(release.leaf_area, "LAI", "not given: the canopy holds nothing back here"),
    }
    return Resolved(
        class_id=release.class_id,
        cls=cls,
        mode=_releases()[release.class_id]["mode"],
        agent=release.agent,
        liquid=liquid(release.agent),
        load_l=_number(load),
        height_m=_number(height),
        speed_mps=_number(speed),
        ground_speed_mps=over_ground,
        wind_known=release.wind_mps is not None,
        wind_along_mps=along,
        wind_right_mps=right,
        temperature_c=_number(temperature),
        humidity_pct=_number(humidity),
        canopy_m=release.canopy_m,
        leaf_area=release.leaf_area,
        duration_s=_number(duration),
        duration_low_s=_number(duration) if duration.low is None else duration.low,
        duration_high_s=_number(duration) if duration.high is None else duration.high,
        flow=_trapezoid(_number(load), _number(duration)),
        inputs=inputs,
    )


def _trapezoid(load_l: float, duration_s: float) -> Flow:
    """Doors that open and close in a ramp, with `duration_s` between the points of half flow."""
    ramp = min(setting("door_ramp_s").value, 0.999 * duration_s)
    full = load_l / duration_s
    return Flow((0.0, ramp, duration_s, duration_s + ramp), (0.0, full, full, 0.0))


def _told(value: float | None, unit: str, otherwise: str) -> Input:
    return Input(
        value, unit, "given" if value is not None else "default", "given" if value is not None else otherwise
    )
