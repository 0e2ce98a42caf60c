"""`fleet.toml`: the aircraft of the day and their crews."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from wetline.aircraft import WAYS, Aircraft, Rates, Relief
from wetline.errors import InputError
from wetline.store.fields import Fields, Span
from wetline.store.problems import suggestion
from wetline.store.toml import read_toml
from wetline.units import HOUR

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from wetline.aircraft import AircraftClass
    from wetline.model import Limits
    from wetline.store.problems import Complaints

__all__ = ["AGENTS", "read_fleet"]

AGENTS = ("water", "foam", "gel", "retardant")
_LOAD_L = Span(1.0, 80_000.0, "L", "Litres are asked for: 1 US gallon is 3.785 L.")
"""No class of the shipped table carries more than 75 000 L; more is a slip."""
_MONEY = Span(0.0, 10_000_000.0, "of the currency")
_WEEK_H = Span(0.0, 168.0, "h", "Hours are asked for, not minutes.")
_MONTH_H = Span(0.0, 672.0, "h", "Hours are asked for, not minutes.")
_DAY_H = Span(0.0, 24.0, "h", "Hours are asked for, not minutes.")


def read_fleet(
    path: Path,
    complaints: Complaints,
    *,
    classes: Mapping[str, AircraftClass],
    bases: Collection[str] | None,
    limits: Limits,
    zone: ZoneInfo | None = None,
    now: datetime | None = None,
) -> tuple[Aircraft, ...]:
    """Every readable aircraft.

    `bases`: names of bases.geojson, None where there is no such file. `now`: the newest perimeter's
    time, beside which duty and readiness are judged.
    """
    values = read_toml(path, complaints)
    if values is None:
        return ()
    top = Fields(values, complaints)
    rows = top.raw("aircraft")
    top.rest()
    if rows is None or rows == []:
        complaints.warning(
            "There is no aircraft in the fleet.", "Add [[aircraft]] for each.", field="aircraft"
        )
        return ()
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        complaints.error("aircraft must be a list of tables.", "Write [[aircraft]].", field="aircraft")
        return ()
    fleet = [
        _aircraft(Fields(row, complaints, row=i, zone=zone), complaints, i, classes, bases, limits, zone)
        for i, row in enumerate(rows)
    ]
    _check_names(fleet, complaints)
    if now is not None:
        _check_days(fleet, now, complaints)
    return tuple(aircraft for aircraft in fleet if aircraft is not None)


def _aircraft(
    fields: Fields,
    complaints: Complaints,
    row: int,
    classes: Mapping[str, AircraftClass],
    bases: Collection[str] | None,
    limits: Limits,
    zone: ZoneInfo | None,
) -> Aircraft | None:
    call_sign = fields.text("call_sign", required=True)
    class_id = fields.choice("class", tuple(classes), required=True)
    base = fields.text("base", required=True)
    fill = fields.choice("fill", WAYS)
    _check_base(fields, base, bases)
    aircraft = Aircraft(
        call_sign=call_sign or "",
        class_id=class_id or "",
        base=base or "",
        agent=fields.choice("agent", AGENTS) or "water",
        load_l=fields.number("load_l", _LOAD_L),
        fill=fill,
        available_from=fields.moment("available_from"),
        airborne=fields.flag("airborne"),
        fuel_h=fields.number("fuel_h", _DAY_H),
        duty_start=fields.moment("duty_start"),
        flown_h=fields.number("flown_h", _DAY_H),
        flight_limit_h=_stricter(fields, "flight_limit_h", limits.value("flight_day_h")),
        duty_limit_h=_stricter(fields, "duty_limit_h", limits.value("duty_day_h")),
        **_rolling(fields),
        out_of_service=fields.text("out_of_service"),
        pair=fields.text("pair"),
        relief=_reliefs(fields, complaints, row, limits, zone),
        rates=_rates(fields, complaints, row),
    )
    _check_hours(fields, aircraft)
    _check_load(fields, aircraft.load_l, _flown(fields, classes.get(class_id or ""), fill))
    fields.rest()
    return aircraft if call_sign and class_id and base else None


def _flown(fields: Fields, kind: AircraftClass | None, fill: str | None) -> AircraftClass | None:
    """The class as it fills; the class itself after a complaint."""
    if kind is None:
        return None
    try:
        return kind.filling_by(fill)
    except InputError as error:
        for problem in error.problems:
            fields.error("fill", problem.message, problem.mend, limit=problem.limit)
        return kind


def _rolling(fields: Fields) -> dict[str, float | None]:
    """Hours of the last days, and rest before duty."""
    return {
        "flown_7d_h": fields.number("flown_7d_h", _WEEK_H),
        "flown_28d_h": fields.number("flown_28d_h", _MONTH_H),
        "rested_h": fields.number("rested_h", _MONTH_H),
    }


def _tables(fields: Fields, name: str) -> list[dict[str, object]]:
    """The tables of a list `[[aircraft.name]]`, or none after a complaint."""
    given = fields.raw(name)
    if given is None:
        return []
    if not isinstance(given, list) or not all(isinstance(one, dict) for one in given):
        fields.error(name, f"{name} must be a list of tables.", f"Write [[aircraft.{name}]].")
        return []
    return given


def _reliefs(
    fields: Fields, complaints: Complaints, row: int, limits: Limits, zone: ZoneInfo | None
) -> tuple[Relief, ...]:
    """Crews that take over, in the order of their times."""
    out: list[Relief] = []
    for k, table in enumerate(_tables(fields, "relief")):
        own = Fields(table, complaints, row=row, within=f"relief[{k}].", zone=zone)
        begins = own.moment("from", required=True)
        relief = Relief(
            available_from=begins or datetime.max.replace(tzinfo=UTC),
            duty_start=own.moment("duty_start"),
            flown_h=own.number("flown_h", _DAY_H),
            flight_limit_h=_stricter(own, "flight_limit_h", limits.value("flight_day_h")),
            duty_limit_h=_stricter(own, "duty_limit_h", limits.value("duty_day_h")),
            **_rolling(own),
        )
        _check_hours(own, relief)
        if begins is not None and relief.duty_start is not None and relief.duty_start > begins:
            own.error(
                "duty_start", "The crew takes over before its duty begins.", "See `from` and `duty_start`."
            )
        if begins is not None and out and begins <= out[-1].available_from:
            own.error(
                "from", "This crew takes over no later than the one before it.", "Put them in order of time."
            )
        own.rest()
        if begins is not None:
            out.append(relief)
    return tuple(out)


def _rates(fields: Fields, complaints: Complaints, row: int) -> Rates | None:
    """What it costs; a rate left out stays unknown."""
    given = fields.raw("rates")
    if given is None:
        return None
    if not isinstance(given, dict):
        fields.error("rates", "rates must be a table.", "Write [aircraft.rates].")
        return None
    own = Fields(given, complaints, row=row, within="rates.")
    numbers = {name: own.number(name, _MONEY) for name in ("per_flight_hour", "per_day", "per_litre_agent")}
    currency = own.text("currency", required=any(v is not None for v in numbers.values()))
    source = own.text("source")
    if currency is not None and not (len(currency) == 3 and currency.isascii() and currency.isalpha()):
        own.error("currency", f'"{currency}" is no currency code.', "Write three letters, as EUR.")
    if source is None and currency is not None:
        own.warning("source", "The rates name no source.", "Say whose rates they are, and of when.")
    own.rest()
    if currency is None or all(v is None for v in numbers.values()):
        return None
    return Rates(currency=currency.upper(), source=source or "not given", **numbers)


def _check_hours(fields: Fields, crew: Aircraft | Relief) -> None:
    """Hours that contradict each other: less in more days."""
    for short, longer in (("flown_h", "flown_7d_h"), ("flown_7d_h", "flown_28d_h")):
        few, many = getattr(crew, short), getattr(crew, longer)
        if few is not None and many is not None and few > many:
            fields.error(
                longer,
                f"{longer} is less than {short}, which lies within it.",
                f"{longer} counts every hour of {short} too.",
                limit=f"at least {few:g} h",
            )


def _check_base(fields: Fields, base: str | None, bases: Collection[str] | None) -> None:
    if base is None or (bases is not None and base in bases):
        return
    if bases is None:
        fields.warning(
            "base",
            "There is no bases.geojson: where this base lies is unknown.",
            "Add the file with this base in it.",
        )
        return
    fields.error(
        "base",
        f'"{base}" is no base of bases.geojson.{suggestion(base, bases)}',
        f"Give one of: {', '.join(sorted(bases))}." if bases else "Add it to bases.geojson.",
        limit=", ".join(sorted(bases)),
    )


def _check_load(fields: Fields, load_l: float | None, kind: AircraftClass | None) -> None:
    """Compare a load with what its class carries: no more than its tank; half as little is a slip of unit."""
    if load_l is None or kind is None:
        return
    tank = kind.get("tank_volume_l")
    low, high = (0.0, 0.0) if tank is None else (tank.low or tank.value, tank.high or tank.value)
    limit = f"{low:g} to {high:g} L"
    mend = "See the class and the unit: litres are asked for (1 US gallon is 3.785 L)."
    if load_l > high:
        fields.error("load_l", f"No {kind.name.lower()} carries {load_l:g} L.", mend, limit=limit)
    elif load_l < low / 2:
        fields.warning("load_l", f"{load_l:g} L is unusual for a {kind.name.lower()}.", mend, limit=limit)


def _stricter(fields: Fields, name: str, limit_h: float) -> float | None:
    value = fields.number(name, _DAY_H)
    if value is not None and value > limit_h:
        fields.warning(
            name,
            f"{name} is looser than the incident's limit; the stricter one counts.",
            "Change the limit in incident.toml with its source, if it is wrong.",
            limit=f"{limit_h:g} h",
        )
    return value


def _check_days(fleet: Sequence[Aircraft | None], now: datetime, complaints: Complaints) -> None:
    """Remark on duty or readiness of another day: crew hours would come out wrong by a day."""
    for i, aircraft in enumerate(fleet):
        if aircraft is None:
            continue
        for name, time in (("duty_start", aircraft.duty_start), ("available_from", aircraft.available_from)):
            if time is not None and abs((time - now).total_seconds()) > _DAY_H.high * HOUR:
                complaints.warning(
                    f"{name} lies more than a day from the newest perimeter.", "See the date.",
                    row=i, field=name, value=f"{time:%Y-%m-%dT%H:%MZ}", limit=f"24 h from {now:%Y-%m-%dT%H:%MZ}",
                )  # fmt: skip


def _check_names(fleet: Sequence[Aircraft | None], complaints: Complaints) -> None:
    seen: dict[str, int] = {}
    for i, aircraft in enumerate(fleet):
        if aircraft is None:
            continue
        key = " ".join(aircraft.call_sign.casefold().split())
        if key in seen:
            complaints.error(
                f"The call sign stands in row {seen[key]} too.",
                "Give each aircraft its own.",
                row=i,
                field="call_sign",
                value=aircraft.call_sign,
            )
        seen.setdefault(key, i)
    pairs = Counter(aircraft.pair for aircraft in fleet if aircraft and aircraft.pair)
    for i, aircraft in enumerate(fleet):
        if aircraft and aircraft.pair and pairs[aircraft.pair] == 1:
            complaints.warning(
                "No other aircraft flies in this pair.", "Mend the name of the pair, or take it out.",
                row=i, field="pair", value=aircraft.pair,
            )  # fmt: skip
