"""What a class's numbers must not contradict, and which of them give up safety against the shipped ones."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from wetline import tables
from wetline.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from wetline.aircraft.fleet import AircraftClass, Quantity

__all__ = ["NEEDED", "ORDER", "Known", "contradictions", "known_quantities", "looser", "quantity_problems"]

_FILL_FACTOR = 1.6
"""Fill time × speed on the water against the fill run: shipped ones lie within 1.13. Common practice, no source."""
_TANK_FACTOR = 3.0
"""A load beyond its like by this is a slip of unit: a US gallon is 3.785 L."""
_LOADED_FACTOR = 1.2
"""No load makes an aircraft faster; a fifth covers a bucket and a tank told in one class. Common practice."""

_SCOOPS = ("lane_needed_m", "lane_half_width_m", "fill_run_m", "touchdown_speed_kt", "liftoff_speed_kt")
_DROPS = ("tank_volume_l", "cruise_kt", "drop_speed_kt", "drop_height_ft")
NEEDED: Mapping[str, tuple[str, ...]] = {
    "scoop": (*_DROPS, "circuit_overhead_min", "lane_needed_m", "lane_half_width_m"),
    "dip": (*_DROPS, "circuit_overhead_min"),
    "base": (*_DROPS, "ground_time_min", "air_overhead_min"),
    "none": (),
}
_STRANGE: Mapping[str, tuple[str, ...]] = {
    "scoop": ("rotor_diameter_m", "hang_m"),
    "dip": (*_SCOOPS, "runway_needed_m", "reload_time_min", "ground_time_min"),
    "base": (*_SCOOPS, "fill_time_s", "rotor_diameter_m", "hang_m"),
    "none": (*_SCOOPS, "tank_volume_l", "load_full_fuel_l"),
}
_KIND = {"scoop": "a scooper", "dip": "a helicopter", "base": "a land tanker", "none": "supervision"}
ORDER = (
    ("fill_run_m", "lane_needed_m", 1.0, "The fill run is part of the lane."),
    ("cruise_loaded_kt", "cruise_kt", _LOADED_FACTOR, "A load makes no aircraft that much faster."),
    ("touchdown_speed_kt", "cruise_kt", 1.0, "It touches down slower than it cruises."),
    ("touchdown_speed_kt", "liftoff_speed_kt", 1.0, "It lifts off heavier than it touched down."),
    ("liftoff_speed_kt", "cruise_kt", 1.0, "It lifts off slower than it cruises."),
    ("drop_speed_kt", "cruise_kt", 1.0, "It drops slower than it cruises."),
    ("drop_height_min_ft", "drop_height_ft", 1.0, "It plans to drop no lower than its minimum."),
    ("load_full_fuel_l", "tank_volume_l", 1.0, "Full fuel leaves no more than a full tank."),
    ("climb_fpm", "climb_empty_fpm", 1.0, "It climbs no worse with the load let go."),
    ("reload_time_min", "ground_time_min", 1.0, "The reload is part of the time on the ground."),
)
"""(smaller, larger, factor, why): `smaller` may not exceed `larger` × factor."""


@dataclass(frozen=True, slots=True)
class Known:
    """One quantity that a class may know. `looser`: which way a change gives up safety."""

    name: str
    unit: str
    looser: Literal["higher", "lower", "neither"]
    what: str


@lru_cache(maxsize=1)
def known_quantities() -> Mapping[str, Known]:
    """Every quantity by name, in the order in which people are shown them."""
    return {row["name"]: Known(**row) for row in tables.load("aircraft/quantities").rows()}


def quantity_problems(name: str, quantity: Quantity) -> tuple[Problem, ...]:
    """What is wrong with one quantity by itself: its unit, or the order of its range."""
    found = []
    known = known_quantities().get(name)
    if known is None:
        mend = "Take a name from docs/aircraft.md."
        found.append(Problem(message=f'"{name}" is no quantity of a class.', mend=mend, field=name))
    elif quantity.unit != known.unit:
        found.append(
            Problem(
                message=f"{name} is in {known.unit}, not in {quantity.unit}.",
                mend=f'Convert the numbers and write unit = "{known.unit}".',
                field=f"{name}.unit",
                value=quantity.unit,
                limit=known.unit,
            )
        )
    low = quantity.value if quantity.low is None else quantity.low
    high = quantity.value if quantity.high is None else quantity.high
    if not 0.0 < low <= quantity.value <= high:
        found.append(
            Problem(
                message=f"{name} breaks 0 < low ≤ value ≤ high.",
                mend="Put the value within its range.",
                field=name,
                value=f"{low:g}, {quantity.value:g}, {high:g} {quantity.unit}",
            )
        )
    return tuple(found)


def contradictions(cls: AircraftClass, peers: Iterable[AircraftClass]) -> tuple[Problem, ...]:
    """What of a class cannot all be true, way by way; `peers`: the classes whose loads it is measured by."""
    seen: dict[Problem, None] = {}
    likes = [peer for peer in peers if peer.fills == cls.fills]
    for way in cls.ways or (None,):
        flown = cls.filling_by(way)
        for rule in (_lacks(flown), _strange(flown), _out_of_order(flown), _fill(flown), _tank(flown, likes)):
            seen.update(dict.fromkeys(rule))
    return tuple(seen)


def looser(cls: AircraftClass, shipped: AircraftClass) -> tuple[tuple[str, Quantity, Quantity], ...]:
    """(name, own, shipped) of every quantity whose value gives up safety against the shipped class."""
    found = []
    for way in cls.ways or (None,):
        if way is not None and way not in shipped.ways:
            continue
        own, theirs = cls.filling_by(way).quantities, shipped.filling_by(way).quantities
        for name, known in known_quantities().items():
            if name not in own or name not in theirs or known.looser == "neither":
                continue
            gain = own[name].value - theirs[name].value
            if (gain > 0.0) if known.looser == "higher" else (gain < 0.0):
                found.append((name, own[name], theirs[name]))
    return tuple({(name, own.value, was.value): (name, own, was) for name, own, was in found}.values())


def _lacks(cls: AircraftClass) -> Iterator[Problem]:
    for name in NEEDED[cls.fills]:
        if name not in cls.quantities:
            yield Problem(
                message=f"{name} is missing: {_KIND[cls.fills]} cannot be planned without it.",
                mend=f"Add {name}, or base the class on a shipped one.",
                field=name,
            )


def _strange(cls: AircraftClass) -> Iterator[Problem]:
    for name in _STRANGE[cls.fills]:
        if name in cls.quantities:
            yield Problem(
                message=f"{name} does not go with {_KIND[cls.fills]}.",
                mend="Take it out, or see `fills`.",
                field=name,
                value=_text(cls.quantities[name]),
            )


def _out_of_order(cls: AircraftClass) -> Iterator[Problem]:
    for small, large, factor, why in ORDER:
        one, other = cls.get(small), cls.get(large)
        if one is None or other is None or one.si() <= other.si() * factor:
            continue
        by = "" if factor == 1.0 else f"{factor:g} times "
        yield Problem(
            message=f"{small} ({_text(one)}) exceeds {by}{large} ({_text(other)}). {why}",
            mend="See both numbers and their units.",
            field=small,
            value=_text(one),
            limit=_text(other),
        )


def _fill(cls: AircraftClass) -> Iterator[Problem]:
    """Fill time times the mean speed on the water must give the fill run, about."""
    time, run = cls.get("fill_time_s"), cls.get("fill_run_m")
    speeds = [q.si() for name in ("touchdown_speed_kt", "liftoff_speed_kt") if (q := cls.get(name))]
    if time is None or run is None or not speeds:
        return
    way_m = time.si() * sum(speeds) / len(speeds)
    if not 1.0 / _FILL_FACTOR <= way_m / run.si() <= _FILL_FACTOR:
        yield Problem(
            message=f"At its speed on the water it runs {way_m:.0f} m in fill_time_s, not fill_run_m.",
            mend="See fill_time_s, fill_run_m and the speeds.",
            field="fill_run_m",
            value=_text(run),
            limit=f"{way_m / _FILL_FACTOR:.0f} to {way_m * _FILL_FACTOR:.0f} m",
        )


def _tank(cls: AircraftClass, likes: Iterable[AircraftClass]) -> Iterator[Problem]:
    tank = cls.get("tank_volume_l")
    theirs = [q for like in likes if (q := like.get("tank_volume_l"))]
    if tank is None or not theirs:
        return
    least = min(q.value if q.low is None else q.low for q in theirs) / _TANK_FACTOR
    most = max(q.value if q.high is None else q.high for q in theirs) * _TANK_FACTOR
    if not least <= tank.value <= most:
        yield Problem(
            message=f"No aircraft of its like carries {_text(tank)}.",
            mend="See the unit: litres are asked for (1 US gallon is 3.785 L).",
            field="tank_volume_l",
            value=_text(tank),
            limit=f"{least:.0f} to {most:.0f} L",
        )


def _text(quantity: Quantity) -> str:
    return f"{quantity.value:g} {quantity.unit}"
