"""`[fire]` with `system = "canadian"`: the codes and their day, and what each fuel number means."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from wetline.behaviour import CanadianSystem, fbp_fuel, fbp_types, fuel_models
from wetline.behaviour.fbp import buildup_effect, foliar_moisture_by_date_pct
from wetline.behaviour.fuel_types import cured_factor
from wetline.errors import InputError, OutsideRangeError
from wetline.store.fields import Fields, Span
from wetline.store.problems import suggestion
from wetline.weather import START_UP, Codes, DatedCodes, codes_through, fwi

if TYPE_CHECKING:
    from wetline.behaviour import FbpFuel, FireSystem
    from wetline.grid import Grid
    from wetline.model import Fire
    from wetline.store.problems import Complaints
    from wetline.weather import Weather

__all__ = ["check_codes", "read_canadian"]

_CODES = {
    "ffmc": Span(0.0, 101.0, "", "The fine fuel moisture code ends at 101."),
    "dmc": Span(0.0, 500.0),
    "dc": Span(0.0, 2000.0),
}
_FOLIAR = Span(50.0, 200.0, "%", "Needles hold 70 to 130 % of their dry mass in most seasons.")
_PERCENT_MEND = "Percent is asked for: 60, not 0.6."
_PERCENT = Span(0.0, 100.0, "%", _PERCENT_MEND)
_LOAD = Span(0.01, 5.0, "kg/m²")
_HARDLY = 0.10
"""Less than this part of its full rate, and a fire's spread hangs on the code alone: it is remarked. In grass that
is 50 % cured, below which the edition of 1992 knew no spread at all (ST-X-3 eq. 35; from memory)."""
_NOTHING_BURNS = ("none", "water")
_FUELS_MEND = 'Write the table [fire.fuels] with a line for each number of fuels.tif: 1 = "C-2".'


def read_canadian(fields: Fields, complaints: Complaints) -> CanadianSystem:
    """The system as the table says; what was refused stands as a filler beside its complaint."""
    stands, coverage = _stands(fields, complaints)
    _warn_of_coverage(stands, coverage, complaints)
    told = _told(fields)
    if not complaints.blocked:
        _warn_of_wet_duff(fields, stands, told)
    return CanadianSystem(
        stands=stands,
        told=told,
        foliar_moisture_pct=fields.number("foliar_moisture_pct", _FOLIAR),
        coverage_models=coverage,
    )


def _told(fields: Fields) -> DatedCodes:
    """The codes of a day; the published start-up values only where they are asked for."""
    start_up = fields.flag("start_up")
    given = {name: fields.number(name, span) for name, span in _CODES.items()}
    missing = [name for name in given if fields.raw(name) is None]
    if start_up and len(missing) < len(given):
        fields.error(
            "start_up", "Codes are given beside start_up.", "Take start_up away, or the codes ffmc, dmc, dc."
        )
    elif not start_up:
        for name in missing:
            fields.error(
                name,
                f"The code {name} is missing.",
                f"Give {name} of the day codes_day; start_up = true takes the published start of a season instead.",
            )
    day = fields.day("codes_day")
    if day is None and fields.raw("codes_day") is None:
        fields.error(
            "codes_day",
            "The day of the codes is missing.",
            "Add codes_day = 2026-08-14, the day for whose noon they were told.",
        )
    hourly = fields.choice("ffmc_holds", ("day", "hour")) == "hour"
    f, p, d = (given[name] for name in _CODES)
    codes = START_UP if f is None or p is None or d is None else Codes(ffmc=f, dmc=p, dc=d)
    return DatedCodes(codes=codes, day=day or date(1970, 1, 1), hourly=hourly, start_up=start_up)


def _stands(fields: Fields, complaints: Complaints) -> tuple[dict[int, FbpFuel | None], dict[int, int]]:
    """What each number means, and the surface fuel model whose coverage it takes, where one is named."""
    cured = _percent(fields, "cured_pct")
    table = fields.raw("fuels")
    if not isinstance(table, dict) or not table:
        fields.error("fuels", "What the numbers of fuels.tif mean is not told.", _FUELS_MEND)
        return {}, {}
    stands: dict[int, FbpFuel | None] = {}
    coverage: dict[int, int] = {}
    for key, value in table.items():
        if not re.fullmatch(r"0|[1-9]\d{0,4}", key) or int(key) > 32767:
            complaints.error(
                f'"{key}" is no fuel number.', "Give a whole number from 0 to 32767.",
                field=f"fire.fuels.{key}", value=key, limit="0 to 32767",
            )  # fmt: skip
            continue
        number = int(key)
        entry = {"type": value} if isinstance(value, str) else value
        if not isinstance(entry, dict):
            complaints.error(
                f"{key} must be a fuel type.", 'Write 1 = "C-2", or 1 = { type = "M-1", conifer_pct = 60 }.',
                field=f"fire.fuels.{key}", value=value,
            )  # fmt: skip
            stands[number] = None
            continue
        inner = Fields(entry, complaints, within=f"fire.fuels.{key}.")
        stands[number] = _stand(inner, cured, complaints, f"fire.fuels.{key}.")
        model = inner.count("coverage_model", 204)
        if model is not None and _known_model(inner, model):
            coverage[number] = model
        inner.rest()
    return stands, coverage


def _percent(fields: Fields, name: str) -> float | None:
    """A share [%]. One above 0 and up to 1 is taken for a fraction, and refused: it would put grass fires out."""
    value = fields.number(name, _PERCENT)
    if value is not None and _fraction(value):
        fields.error(
            name, f"{name} is {value:g} %: it looks like a fraction.", _PERCENT_MEND,
            limit="0, or above 1 to 100 %",
        )  # fmt: skip
    return value


def _fraction(pct: float) -> bool:
    return 0.0 < pct <= 1.0


def _stand(inner: Fields, cured_pct: float | None, complaints: Complaints, within: str) -> FbpFuel | None:
    code = inner.text("type", required=True)
    shares = {name: _percent(inner, name) for name in ("conifer_pct", "dead_fir_pct", "cured_pct")}
    load = inner.number("grass_load_kg_per_m2", _LOAD)
    if code is None or code in _NOTHING_BURNS:
        return None
    if code not in fbp_types():
        known = (*fbp_types(), *_NOTHING_BURNS)
        inner.error(
            "type", f'"{code}" is no fuel type of this system.{_nearest(code)}',
            f"Give one of: {', '.join(known)}.", limit=", ".join(known),
        )  # fmt: skip
        return None
    if code.startswith("O-1") and shares["cured_pct"] is None:
        shares["cured_pct"] = cured_pct
    _warn_of_green_grass(code, shares["cured_pct"], complaints, within)
    try:
        return fbp_fuel(code, **shares, grass_load_kg_per_m2=load)
    except InputError as error:
        for problem in error.problems:
            complaints.error(
                problem.message, problem.mend, field=within + (problem.field or ""), value=problem.value
            )
        return None


def _warn_of_green_grass(code: str, cured_pct: float | None, complaints: Complaints, within: str) -> None:
    if not code.startswith("O-1") or cured_pct is None or _fraction(cured_pct):
        return
    part = cured_factor(cured_pct)
    if part < _HARDLY:
        complaints.warning(
            f"{code}, {cured_pct:g} % cured, is given {100.0 * part:.1f} % of the rate of dead grass: hardly any spread.",
            "See that the share is right: grass that cures while the fire burns spreads many times as fast.",
            field=f"{within}cured_pct", value=cured_pct, limit=f"at least {100.0 * _HARDLY:.0f} % of the rate",
        )  # fmt: skip


def _warn_of_wet_duff(fields: Fields, stands: dict[int, FbpFuel | None], told: DatedCodes) -> None:
    index = fwi.bui(told.codes.dmc, told.codes.dc)
    still = dict.fromkeys(
        stand.code for stand in stands.values() if stand and buildup_effect(stand, index) < _HARDLY
    )
    if still:
        fields.warning(
            "start_up" if told.start_up else "dmc",
            f"At the buildup index {index:.1f} of dmc and dc hardly any spread is told in {', '.join(still)}.",
            "See that the codes are those of the fire's place and day: real fuel may smoulder or flare up.",
            limit=f"at least {100.0 * _HARDLY:.0f} % of the rate",
        )


def _nearest(code: str) -> str:
    plain = {name.lower().replace("-", "_"): name for name in fbp_types()}
    found = suggestion(code, plain)
    return next((f' Did you mean "{name}"?' for short, name in plain.items() if f'"{short}"' in found), "")


def _known_model(inner: Fields, model: int) -> bool:
    known = fuel_models().get(model)
    if known is not None and known.burnable:
        return True
    inner.error(
        "coverage_model",
        f"{model} is no surface fuel model that burns.",
        "Give the published model (1 to 13, or one of the 40) that is most like the stand.",
        limit="1–13, 101–204",
    )
    return False


def _warn_of_coverage(
    stands: dict[int, FbpFuel | None], coverage: dict[int, int], complaints: Complaints
) -> None:
    codes = dict.fromkeys(s.code for n, s in stands.items() if s is not None and n not in coverage)
    if codes:
        complaints.warning(
            f"No drop guide names a coverage for {', '.join(codes)}: drops there are planned at the heaviest.",
            "Give coverage_model in the fuel's entry: the published surface fuel model most like it.",
            field="fire.fuels", value=", ".join(codes),
        )  # fmt: skip


def check_codes(
    system: FireSystem, weather: Weather, fire: Fire | None, grid: Grid, notes: Complaints, table: Complaints
) -> None:
    """Complain where the codes cannot be carried through the hours after the newest perimeter.

    `notes`: on `incident.toml`, `table`: on `weather.csv`.
    """
    if not isinstance(system, CanadianSystem) or notes.blocked:
        return  # a complaint on what is a filler would mislead
    if fire is None or not weather.covers(fire.newest):
        return
    west, south, east, north = grid.bounds
    lon, lat = (float(v) for v in grid.projection.to_lonlat((west + east) / 2, (south + north) / 2))
    first = weather.at(fire.newest).time
    hours = [datetime.fromtimestamp(float(s), UTC) for s in weather.time_s if s >= first.timestamp()]
    try:
        codes_through(system.told, weather, hours, lat_deg=lat, lon_deg=lon)
    except InputError as error:
        for p in error.problems:
            about = notes if p.field == "fire.codes_day" else table
            about.error(p.message, p.mend, field=p.field, value=p.value, limit=p.limit)
    crowns = any(stand is not None and stand.crown_base_m is not None for stand in system.stands.values())
    if crowns and system.foliar_moisture_pct is None:
        try:
            foliar_moisture_by_date_pct((first + timedelta(hours=lon / 15.0)).date(), lat, lon, None)
        except OutsideRangeError:
            notes.error(
                "The foliar moisture is not given, and away from Canada it is not told by date and place.",
                "Give foliar_moisture_pct of the conifers' needles [%].",
                field="fire.foliar_moisture_pct",
            )
