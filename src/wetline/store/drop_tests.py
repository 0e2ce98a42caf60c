"""`drop_tests.csv`: a user's own measured lines, every cell checked, every problem named at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, get_args

from wetline.aircraft import aircraft_classes
from wetline.drops import AGENTS, DropTest, DropTests, HeightAbove, LineKind, SpeedKind, System, own_faults
from wetline.drops.systems import CHOICES, flow_settings, systems_of
from wetline.errors import InputError
from wetline.store.csv_table import csv_table
from wetline.store.drop_tests_units import warn_of_units
from wetline.store.fields import Fields, Span
from wetline.store.files import read_text
from wetline.store.problems import Complaints, suggestion
from wetline.units import COVERAGE_LEVEL, FOOT, KM_PER_HOUR, KNOT, US_GALLON_L

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.aircraft import AircraftClass
    from wetline.errors import Problem
    from wetline.store.csv_table import CsvTable

__all__ = ["EXAMPLE", "OPTIONAL", "QUANTITIES", "WORDS", "Quantity", "drop_tests_in", "read_drop_tests"]

EXAMPLE = "INVENTED EXAMPLE"
"""Words in `source` by which the row of the template is known, and refused."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number of the table: its names in the header with the factor to our unit, and what it may be."""

    units: Mapping[str, float]
    span: Span
    needed: bool = True


_METRES = {"m": 1.0, "ft": FOOT}
_SPEEDS = {"mps": 1.0, "kt": KNOT, "kmh": KM_PER_HOUR}


def _named(stem: str, units: Mapping[str, float]) -> dict[str, float]:
    return {f"{stem}_{unit}": factor for unit, factor in units.items()}


QUANTITIES: Mapping[str, Quantity] = {
    "load_l": Quantity({"load_l": 1.0, "load_gal": US_GALLON_L}, Span(50.0, 100_000.0, "L")),
    "height_m": Quantity(_named("height", _METRES), Span(3.0, 400.0, "m")),
    "speed_mps": Quantity(_named("speed", _SPEEDS), Span(0.0, 100.0, "m/s")),
    "level": Quantity({"level_gpc": 1.0, "coverage_l_per_m2": 1.0 / COVERAGE_LEVEL}, Span(0.1, 20.0, "US gal/100 ft²")),
    "line_m": Quantity(_named("line", _METRES), Span(0.0, 3_000.0, "m")),
    "line_low_m": Quantity(_named("line_low", _METRES), Span(0.0, 3_000.0, "m"), needed=False),
    "line_high_m": Quantity(_named("line_high", _METRES), Span(0.0, 3_000.0, "m"), needed=False),
    "width_m": Quantity(_named("width", _METRES), Span(0.5, 300.0, "m"), needed=False),
    "wind_mps": Quantity(_named("wind", _SPEEDS), Span(0.0, 20.0, "m/s"), needed=False),
}  # fmt: skip
"""Numbers by our name; spans in our unit."""
WORDS = ("class", "liquid", "height_above", "speed_kind", "line_kind", "source")
OPTIONAL = ("system", "setting", "doors", "interval_s", "opening", "drops", "date")
_TEXT = frozenset({*WORDS, "system", "date"})
_NEEDED = frozenset(name for name, quantity in QUANTITIES.items() if quantity.needed)
_SETTING = Span(0.1, 20.0, "US gal/100 ft²")
_INTERVAL, _OPENING, _MOST_DOORS = Span(0.05, 10.0, "s"), Span(0.1, 1.0, "share"), 100
_MOST_DROPS = 1000


def drop_tests_in(
    path: Path, complaints: Complaints, *, classes: Mapping[str, AircraftClass]
) -> DropTests | None:
    """The tests of a file; None if anything in it blocks. `classes`: those that it may speak of, by id."""
    text = read_text(path, complaints)
    table = None if text is None else csv_table(text, complaints, words=_TEXT)
    if table is None:
        return None
    columns = _columns(table, complaints)
    if columns is None:
        return None
    if not table.rows and not complaints.blocked:
        complaints.error("There is no drop in the table.", "Add a row for each line, or take the file out.")
    read = [_row(i, Fields(cells, complaints, row=i), columns, classes) for i, cells in table.fields()]
    rows = _once([row for row in read if row is not None], complaints)
    _take_faults(own_faults(rows), columns, complaints)
    units = {name: quantity.units for name, quantity in QUANTITIES.items()}
    warn_of_units(rows, units, columns, classes, complaints)
    return None if complaints.blocked else DropTests(tuple(rows), complaints.file)


def read_drop_tests(
    path: Path, *, classes: Mapping[str, AircraftClass] | None = None
) -> tuple[DropTests, tuple[Problem, ...]]:
    """The tests of a file of its own, and the warnings that stand against it.

    Raises
    ------
    InputError
        With every problem, errors first, if any of them blocks.
    """
    complaints = Complaints(Path(path).name, "drop_tests")
    tests = drop_tests_in(path, complaints, classes=aircraft_classes() if classes is None else classes)
    if tests is None:
        raise InputError.of(sorted(complaints.found, key=lambda p: p.level != "error"))
    return tests, tuple(complaints.found)


def _columns(table: CsvTable, complaints: Complaints) -> dict[str, str] | None:
    """Which column of the table tells each quantity; None where one that is needed is missing."""
    sound, columns = True, {}
    for name, quantity in QUANTITIES.items():
        given = [column for column in table.names if column in quantity.units]
        if len(given) > 1:
            complaints.error(
                f"The table gives one thing in {len(given)} units.", "Keep one of them.",
                field=given[0], value=", ".join(given), limit=" or ".join(quantity.units),
            )  # fmt: skip
            sound = False
        elif given:
            columns[name] = given[0]
        elif quantity.needed:
            either = " or ".join(quantity.units)
            complaints.error(
                f"The column {either} is missing.", f"Add {either}.", field=next(iter(quantity.units))
            )
            sound = False
    for name in WORDS:
        if name not in table.names:
            complaints.error(f"The column {name} is missing.", f"Add {name} to the header.", field=name)
            sound = False
    known = {*WORDS, *OPTIONAL, *(unit for quantity in QUANTITIES.values() for unit in quantity.units)}
    for name in table.names:
        if name not in known:
            complaints.warning(
                f'The column "{name}" is not read.{suggestion(name, known)}', "Mend its name, or leave it.",
                field=name,
            )  # fmt: skip
    return columns if sound else None


def _number(fields: Fields, name: str, columns: Mapping[str, str]) -> float | None:
    """A quantity in our unit, judged in the unit of the file."""
    quantity, column = QUANTITIES[name], columns.get(name)
    if column is None:
        return None
    factor, span = quantity.units[column], quantity.span
    unit = span.unit if factor == 1.0 else column.rpartition("_")[2]
    told = fields.number(column, Span(span.low / factor, span.high / factor, unit), required=quantity.needed)
    return None if told is None else told * factor


def _row(
    i: int, fields: Fields, columns: Mapping[str, str], classes: Mapping[str, AircraftClass]
) -> DropTest | None:
    """One line; None after a complaint."""
    source = fields.text("source", required=True)
    if source is not None and EXAMPLE.casefold() in source.casefold():
        fields.error("source", "This is the template's example, which is invented.", "Delete the row.")
        return None
    class_id = fields.choice("class", tuple(c for c in classes if classes[c].fills != "none"), required=True)
    liquid = fields.choice("liquid", AGENTS, required=True)
    height_above: HeightAbove | None = fields.choice("height_above", get_args(HeightAbove), required=True)
    speed_kind: SpeedKind | None = fields.choice("speed_kind", get_args(SpeedKind), required=True)
    line_kind: LineKind | None = fields.choice("line_kind", get_args(LineKind), required=True)
    read = {name: _number(fields, name, columns) for name in QUANTITIES}
    how = _how(fields, None if class_id is None else classes[class_id])
    drops, day = _drops(fields), fields.day("date")
    _check_ends(fields, columns, read)
    numbers = {name: value for name, value in read.items() if value is not None}
    if class_id is None or liquid is None or height_above is None or speed_kind is None:
        return None
    if line_kind is None or source is None or not numbers.keys() >= _NEEDED:
        return None
    return DropTest(
        class_id=class_id, liquid=liquid, height_above=height_above, speed_kind=speed_kind, line_kind=line_kind,
        load_l=numbers["load_l"], height_m=numbers["height_m"], speed_mps=numbers["speed_mps"],
        level=numbers["level"], line_m=numbers["line_m"], line_low_m=numbers.get("line_low_m"),
        line_high_m=numbers.get("line_high_m"), width_m=numbers.get("width_m"), wind_mps=numbers.get("wind_mps"),
        system=how.system, setting=how.setting, doors=how.doors, interval_s=how.interval_s, opening=how.opening,
        drops=drops, source=source, date=day, row=i,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _How:
    """How a load was let go, as `Release` tells it; None: as the class does it unless told.

    `system`: the first of the class where the row names none; None only beside a complaint.
    """

    system: System | None
    setting: float | None
    doors: int | None
    interval_s: float | None
    opening: float | None


def _how(fields: Fields, cls: AircraftClass | None) -> _How:
    """The way of letting go; complains of what the class or its system has not."""
    known = get_args(System) if cls is None else systems_of(cls.drops_as, cls)
    system: System | None = fields.choice("system", known)
    how = _How(
        system=system,
        setting=fields.number("setting", _SETTING),
        doors=fields.count("doors", _MOST_DOORS),
        interval_s=fields.number("interval_s", _INTERVAL),
        opening=fields.number("opening", _OPENING),
    )
    if cls is None or (system is None and fields.raw("system") is not None):
        return how
    if system is None and len(cls.ways) > 1:
        message = f"A {cls.name.lower()} drops from a bucket or from a tank, and the row does not say which."
        fields.error("system", message, f"Give {' or '.join(known)}.", limit=", ".join(known))
        return how
    used = system or known[0]
    for name in ("setting", "doors", "interval_s", "opening"):
        if getattr(how, name) is not None and name not in CHOICES[used]:
            fields.error(
                name, f"The system {used} takes no {name}.", "Leave the cell empty, or tell the system."
            )
    if used == "constant":
        _check_setting(fields, how.setting, flow_settings(cls.drops_as))
    return replace(how, system=used)


def _check_setting(fields: Fields, setting: float | None, known: tuple[float, ...]) -> None:
    """A constant flow is that of a setting, one that its panel has."""
    listed = ", ".join(f"{each:g}" for each in known)
    if setting is None and fields.raw("setting") is None:
        fields.error(
            "setting",
            "The flow setting is missing.",
            "Add the setting on the panel at the drop.",
            limit=listed,
        )
    elif setting is not None and setting not in known:
        fields.error(
            "setting", f"This class has no flow setting {setting:g}.", f"Give one of {listed}.", limit=listed
        )


def _drops(fields: Fields) -> int:
    """How many drops a line is the mean of; 1 unless told."""
    drops = fields.count("drops", _MOST_DROPS)
    if drops == 0:
        fields.error(
            "drops", "A line of no drop is none.", "Count the drops, or leave the cell empty for one."
        )
    return drops or 1


def _check_ends(fields: Fields, columns: Mapping[str, str], numbers: Mapping[str, float | None]) -> None:
    """Both ends or neither, on either side of the line."""
    line, low, high = (numbers[name] for name in ("line_m", "line_low_m", "line_high_m"))
    if (low is None) != (high is None):
        missing = "line_low_m" if low is None else "line_high_m"
        fields.error(
            columns.get(missing, missing), "Only one end of the band is told.", "Give both ends or neither."
        )
    elif line is not None and low is not None and high is not None and not low <= line <= high:
        fields.error(
            columns["line_m"], "The line lies outside its own low and high end.", "See whether cells are swapped.",
            limit=f"{low:g} to {high:g} m",
        )  # fmt: skip


def _once(rows: list[DropTest], complaints: Complaints) -> list[DropTest]:
    """Rows without word-for-word repeats; remarks those, and lines that several rows tell."""
    seen: dict[DropTest, DropTest] = {}
    for row in rows:
        first = seen.setdefault(replace(row, row=0), row)
        if first is not row:
            complaints.warning(
                f"The row says word for word what row {first.row} says: it is counted once.",
                "Take it out; or, if they were two drops, write one row with their number in drops.",
                row=row.row,
            )
    kept = list(seen.values())
    told: dict[object, list[int]] = {}
    for row in kept:
        told.setdefault((row.alike, row.level), []).append(row.row)
    several = [places for places in told.values() if len(places) > 1]
    if several:
        complaints.warning(
            f"{len(several)} of {len(told)} lines are told by several rows each and averaged, the first by rows "
            f"{', '.join(map(str, several[0]))}.",
            "Nothing, if the drops were flown alike: their spread gives the band.",
            row=several[0][0],
        )
    return kept


def _take_faults(faults: list[Problem], columns: Mapping[str, str], complaints: Complaints) -> None:
    """Faults of the table as a whole, called by the file's own column names."""
    for fault in faults:
        field = columns.get(fault.field or "", fault.field)
        complaints.error(
            fault.message, fault.mend, row=fault.row, field=field, value=fault.value, limit=fault.limit
        )
