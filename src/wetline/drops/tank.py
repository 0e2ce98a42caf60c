"""What a tank or bucket lets go: the load on board, the part that leaves, and the numbers of its system."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.drops.release import Input
from wetline.drops.systems import CHOICES, flow_settings, parameters
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.aircraft import AircraftClass
    from wetline.drops.release import Release, System

__all__ = ["of_class", "refused", "tank_inputs"]

_MAKES_TIME = frozenset({"empty_s", "gate_m2", "head_m", "discharge", "middle_gal_per_s", "tested_gal"})
"""What a class's own drop time takes the place of."""
_UNUSED = frozenset({"empty_s", "setting", "flow_held"})
"""What a time that is told takes the place of."""
_WHOLE_DOORS = 1e-6
_BEYOND_TANK_L = 1e-6


def refused(
    *, field: str, message: str, mend: str, value: object = None, limit: str | None = None
) -> InputError:
    """One thing that cannot be let go so, as an error to raise."""
    shown = None if value is None else str(value)
    return InputError.of([Problem(message=message, mend=mend, field=field, value=shown, limit=limit)])


def of_class(given: float | None, cls: AircraftClass, name: str, factor: float, unit: str) -> Input:
    """A given value, or the class's own brought to SI."""
    if given is not None:
        return Input(given, unit, "given", "given")
    quantity = cls.get(name)
    if quantity is None:
        raise refused(field=name, message=f"class {cls.id} has no {name}.", mend="Give the value itself.")
    return Input(
        quantity.value * factor,
        unit,
        "class",
        quantity.source,
        None if quantity.low is None else quantity.low * factor,
        None if quantity.high is None else quantity.high * factor,
    )


def _tank(cls: AircraftClass, on_board_l: float) -> Input:
    """The tank that the load is in: the class's, or one as large as the load within the class's range."""
    tank = cls.get("tank_volume_l")
    if tank is None:
        return Input(on_board_l, "L", "computed", "the class's tank is not known: taken as full")
    most_l = tank.value if tank.high is None else tank.high
    if on_board_l > most_l + _BEYOND_TANK_L:
        message = f"{on_board_l:g} L is more than the tank of a {cls.name.lower()} holds ({tank.source})."
        mend = "See the load and its unit (1 US gallon is 3.785 L), or give tank_volume_l in the class's own file."
        raise refused(
            field="load_l", message=message, mend=mend, value=f"{on_board_l:g} L", limit=f"{most_l:g} L"
        )
    if on_board_l > tank.value:
        return Input(on_board_l, "L", "computed", f"a full tank, larger than the class's {tank.value:g} L")
    return Input(tank.value, "L", "class", tank.source)


def _let_go(
    release: Release, on_board_l: float, doors: Input | None, of_doors: int
) -> tuple[Input, Input | None]:
    """What this drop takes, and by how many doors."""
    given = release.let_go_l
    if given is not None and given > on_board_l:
        message = f"{given:g} L are to be let go, and {on_board_l:g} L are on board."
        raise refused(
            field="let_go_l",
            message=message,
            mend="Let go no more than load_l.",
            value=f"{given:g} L",
            limit=f"{on_board_l:g} L",
        )
    if doors is None:
        if given is not None:
            return Input(given, "L", "given", "given"), None
        return Input(on_board_l, "L", "default", "the whole load"), None
    if given is None:
        taken = on_board_l * doors.number / of_doors
        whole = doors.number == of_doors
        source = "the whole load" if whole else f"{doors.number:g} of {of_doors} doors"
        return Input(taken, "L", "default" if whole else "computed", source), doors
    if release.doors is not None:
        raise refused(
            field="let_go_l", message="doors and let_go_l both say how much leaves.", mend="Give one of them."
        )
    count = given * of_doors / on_board_l
    if abs(count - round(count)) > _WHOLE_DOORS or round(count) < 1:
        parts = ", ".join(f"{on_board_l * k / of_doors:g}" for k in range(1, of_doors + 1))
        mend = f"Let go one of {parts} L, or give doors."
        raise refused(
            field="let_go_l", message="doors let go whole compartments.", mend=mend, value=f"{given:g} L"
        )
    opened = Input(round(count), "", "computed", f"let_go_l, of {of_doors} doors")
    return Input(given, "L", "given", "given"), opened


def _doors(release: Release, found: dict[str, Input]) -> tuple[Input | None, int]:
    """The doors that open, and how many there are."""
    have = found.get("doors")
    if have is None:
        return None, 1
    count = round(have.number)
    if release.doors is None:
        return Input(count, "", "default", f"all doors; {have.source}"), count
    if not isinstance(release.doors, int) or not 1 <= release.doors <= count:
        limit = f"1 to {count}"
        message = f"{release.doors} doors are to open, and there are {count} ({have.source})."
        raise refused(
            field="doors", message=message, mend=f"Give doors from {limit}.", value=release.doors, limit=limit
        )
    return Input(release.doors, "", "given", f"given, of {count}"), count


def _setting(release: Release, default: Input) -> Input:
    if release.setting is None:
        return Input(default.value, "level", "default", default.source)
    settings = flow_settings(release.class_id)
    if release.setting not in settings:
        known = ", ".join(f"{level:g}" for level in settings)
        message = f"the panel has no setting {release.setting:g}."
        raise refused(
            field="setting",
            message=message,
            mend=f"Give one of {known}.",
            value=f"{release.setting:g}",
            limit=known,
        )
    return Input(
        release.setting, "level", "given", "given; flow by MTDC 0057-2852, extrapolated above level 4"
    )


def _timed(
    release: Release, cls: AircraftClass, system: System, known: Mapping[str, Input]
) -> dict[str, Input]:
    """The numbers that say how fast it flows: told, the class's own, or those of its system."""
    found = {name: used for name, used in known.items() if name not in {"setting_max", "duration_held"}}
    if release.duration_s is not None:
        found["duration_s"] = Input(release.duration_s, "s", "given", "given")
        found["duration_held"] = known["duration_held"]
        if system in {"salvo", "constant"}:
            return {name: used for name, used in found.items() if name not in _UNUSED}
    if "setting" in found:
        found["setting"] = _setting(release, found["setting"])
    if system != "constant" and (cls.get("drop_time_s") is not None or not found.keys() & _MAKES_TIME):
        found = {name: used for name, used in found.items() if name not in _MAKES_TIME}
        found["empty_s"] = of_class(None, cls, "drop_time_s", 1.0, "s")
    return found


def tank_inputs(release: Release, cls: AircraftClass, system: System, on_board_l: float) -> dict[str, Input]:
    """Every number that makes the flow, chosen, the class's or a default."""
    found = _timed(release, cls, system, parameters(release.class_id, system))
    if release.interval_s is not None:
        found["interval_s"] = Input(release.interval_s, "s", "given", "given")
    if "opening" in CHOICES[system]:
        whole = Input(1.0, "share", "default", "opened in full")
        told = release.opening
        found["opening"] = whole if told is None else Input(told, "share", "given", "given")
    doors, of_doors = _doors(release, found)
    found["let_go_l"], opened = _let_go(release, on_board_l, doors, of_doors)
    if opened is not None:
        found["doors"] = opened
    found["tank_l"] = _tank(cls, on_board_l)
    stays = on_board_l - found["let_go_l"].number
    found["stays_on_board_l"] = Input(stays, "L", "computed", "load_l less let_go_l")
    return found
