"""The page `docs/aircraft.md`, made from the shipped classes and their rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.aircraft import (
    Aircraft,
    aircraft_classes,
    climb_rate_mps,
    known_quantities,
    load_rule,
    phases,
    runway_needed_m,
)
from wetline.aircraft.rules import NEEDED, ORDER
from wetline.units import FOOT, HOUR, MINUTE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from wetline.aircraft import AircraftClass, Quantity
    from wetline.model import Band

__all__ = ["aircraft_page"]

_HEIGHTS_FT = (0, 2000, 4000, 6000, 8000)
_SLOPES = {"approach_slope": 0.10, "climb_slope": 0.04}
_HEAD = """# Aircraft classes

A class says what a kind of aircraft can do. Ten are shipped, as data (`src/wetline/aircraft/data/`): every number
with its unit, the range seen within the class and where it comes from. None of them is a flight manual: they are
for planning, and the crew's own figures go before them. What is not known is not there, never 0 and never a guess;
what rests on it then says so. A class has no cost: rates are the user's own.

Sources, best first: *public copy*; *second-hand public copy* (press, forum, association); *common practice, no source*;
*derived*; *from memory*.

## An incident's own classes

Put a folder `classes` into the incident folder, with one TOML file for each class, named by its identifier (small
letters, digits, `_`). `wetline check` counts them. The numbers of a shipped class are changed by a file of its name that
is based on it:

```toml
# classes/twin_engine_scooper.toml
based_on = "twin_engine_scooper"

[quantities]
lane_needed_m = { value = 1700, low = 1500, high = 2000, unit = "m", source = "Sorrin air base order 4", date = 2026-05-01 }
```

A new class has a name of its own, and `fleet.toml` calls it by its identifier:

```toml
# classes/long_line_heavy.toml
name = "Heavy helicopter, long line"
based_on = "heavy_helicopter"         # whatever is not told below is as there
without = ["full_load_to_ft"]         # numbers of that class that nobody vouches for here

[quantities]
hang_m = { value = 40, unit = "m", source = "Sorrin air base order 4" }
cruise_loaded_kt = { value = 80, low = 70, high = 90, unit = "kt", source = "Sorrin air base order 4" }
```

A class that is based on none says `name`, `fills` (`scoop`, `dip`, `base`) and `drops_like`, the shipped class by whose tank or
bucket its load falls and by whose rule people stand off. `way = "snorkel"` makes a helicopter one with a snorkel and
a tank; `[ways.snorkel]` changes what differs from the bucket. `unit` must be the unit of the name; `low` and `high` may
be left out (there is then no band); `source` is asked for, `date` is welcome. `systems = ["gate", "salvo"]` names the
tank and door systems that it has, the usual one first, of those of the class it drops like (`docs/tank-systems.md`).

A number that is looser than the shipped class's is used, and stands as a caution (`limit_changed`) on every sheet, as a
looser limit does. *Looser*, below, says which way that is. Numbers that cannot all be true are refused, and nothing is
computed until they are mended:

"""
_THIN_AIR = """
## What thin air does

Density altitude is the height at which standard air is as thin as the air here: hot days and high places raise it.
Of aeroplanes thin air takes metres and climb, of helicopters litres.

- *Runs.* An aeroplane flies off at the same indicated speed, which is a greater true one, with less thrust. Filling grows
  with 1/√σ (σ: density over that at sea level), settling with 1/σ, the run to lift-off with σ^-2.5 (with σ^-1.5 as
  far up as an engine is flat rated, `flat_rated_to_ft`). The long end of the band takes 10 % for each 1,000 ft, the
  planning rule of light aeroplanes (from memory).
- *Climb* falls in a straight line to 100 ft/min at `ceiling_ft`, loaded or not.
- *A rotor* lifts in proportion to density above `full_load_to_ft`, and what the whole `gross_kg` loses is load. Below,
  nothing is cut.
- For scoopers and land tankers nothing is shipped that cuts litres for thin air: whether the longer run and the
  lower climb leave room is what is checked. Every load says so (`not_counted`).

"""
_FUEL = """
## What fuel does

With fuel for the whole endurance a class carries `load_full_fuel_l`. Each kilogram burnt may be a kilogram of water, until
the tank is full. Retardant (1.08 kg/L) is carried in fewer litres where weight limits; a land tanker's litres are of
retardant already. How much agent a land tanker leaves behind for fuel is not known here, and every load says so.

"""


def aircraft_page() -> str:
    """Every class and quantity with value, range and source; how to add one; what thin air and fuel take."""
    classes = aircraft_classes()
    return "".join(
        (
            _HEAD,
            _rules(),
            "\n## Quantities\n\n",
            _table(("name", "unit", "looser", "what"), _quantity_rows()),
            _THIN_AIR,
            _table(("density altitude", *_air_head()), _air_rows(classes)),
            _FUEL,
            _table(("class", "load at full fuel", "an hour later", "with the fuel low"), _fuel_rows(classes)),
            *(_class(cls) for cls in classes.values()),
        )
    )


def _table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    titles = tuple(head)
    lines = (titles, ("---",) * len(titles), *rows)
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def _rules() -> str:
    lines = ["- `low` ≤ `value` ≤ `high`, all above 0, in the unit of the name"]
    lines += [
        f"- `{small}` ≤ {'' if factor == 1.0 else f'{factor:g} × '}`{large}`"
        for small, large, factor, _ in ORDER
    ]
    lines += [
        "- `fill_time_s` × the speed on the water gives `fill_run_m`, within a factor of 1.6",
        "- `tank_volume_l` within a third and three times what its like carries",
        "- no runway for a helicopter, no lane for what does not scoop",
    ]
    for fills, names in NEEDED.items():
        if names:
            lines.append(f'- needed where `fills = "{fills}"`: {", ".join(f"`{name}`" for name in names)}')
    return "\n".join(lines) + "\n"


def _quantity_rows() -> Iterable[tuple[str, ...]]:
    return ((f"`{k.name}`", k.unit, k.looser, k.what) for k in known_quantities().values())


def _air_head() -> tuple[str, ...]:
    return (
        "twin-engine scooper: water needed, m",
        "its climb loaded, ft/min",
        "its climb with the load gone, ft/min",
        "large tanker: runway, m",
        "heavy helicopter, fuel low: bucket, L",
        "the same, full fuel",
    )


def _air_rows(classes: Mapping[str, AircraftClass]) -> Iterable[tuple[str, ...]]:
    twin, large, heavy = (
        classes[name] for name in ("twin_engine_scooper", "large_tanker", "heavy_helicopter")
    )
    for height_ft in _HEIGHTS_FT:
        air_m = height_ft * FOOT
        lane, rule = phases(twin, air_m, **_SLOPES), load_rule(heavy, _any(heavy), air_m)
        yield (
            f"{height_ft:,} ft",
            _band(None if lane is None else lane.needed_m),
            _band(climb_rate_mps(twin, air_m), FOOT / MINUTE),
            _band(climb_rate_mps(twin, air_m, loaded=False), FOOT / MINUTE),
            _band(runway_needed_m(large, air_m)),
            "–" if rule is None else f"{rule.most_l:.0f}",
            "–" if rule is None else f"{rule.full_fuel_l:.0f}",
        )


def _fuel_rows(classes: Mapping[str, AircraftClass]) -> Iterable[tuple[str, ...]]:
    for cls in classes.values():
        rule = load_rule(cls, _any(cls), 0.0)
        if rule is not None and "load_full_fuel_l" in cls.quantities:
            later_l = rule.litres(rule.full_fuel_s - HOUR)
            yield cls.name, f"{rule.full_fuel_l:.0f} L", f"{later_l:.0f} L", f"{rule.most_l:.0f} L"


def _any(cls: AircraftClass) -> Aircraft:
    return Aircraft(call_sign="", class_id=cls.id, base="")


def _band(band: Band | None, factor: float = 1.0) -> str:
    if band is None:
        return "–"
    middle = f"{band.middle / factor:.0f}"
    if band.low is None or band.high is None:
        return middle
    return f"{middle} ({band.low / factor:.0f} to {band.high / factor:.0f})"


def _class(cls: AircraftClass) -> str:
    way = "" if cls.way is None else f", with a {cls.way}"
    out = f"\n## {cls.name}\n\n`{cls.id}`, fills: {cls.fills}{way}\n\n{_values(cls.quantities)}"
    for other, quantities in cls.other_ways.items():
        out += f"\nWith a {other} this differs:\n\n{_values(quantities)}"
    return out


def _values(quantities: Mapping[str, Quantity]) -> str:
    rows = (
        (f"`{name}`", f"{q.value:g} {q.unit}", _range(q), q.source)
        for name in known_quantities()
        if (q := quantities.get(name)) is not None
    )
    return _table(("quantity", "value", "range", "source"), rows)


def _range(quantity: Quantity) -> str:
    if quantity.low is None or quantity.high is None:
        return "–"
    return f"{quantity.low:g} to {quantity.high:g}"
