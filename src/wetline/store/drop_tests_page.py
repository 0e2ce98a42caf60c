"""The template of `drop_tests.csv`: remarks, the header, and one invented row that must be deleted."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from wetline.drops.systems import flow_settings, systems_of
from wetline.store.drop_tests import EXAMPLE

if TYPE_CHECKING:
    from wetline.aircraft import AircraftClass

__all__ = ["drop_tests_template"]

_COLUMNS = (
    ("class", "aircraft class"),
    ("liquid", "water, foam, gel or retardant"),
    ("system", "salvo, trail, gate, constant, bucket or belly_tank; empty: the first that the class has"),
    ("setting", "of a constant flow: coverage level on the panel"),
    ("doors", "how many opened; empty: all"),
    ("interval_s", "between the doors of a trail; empty: as the class does it"),
    ("opening", "of a gate or belly tank, share from 0 to 1; empty: in full"),
    ("load_l", "what was let go (or load_gal, US gallons)"),
    ("height_ft", "tank above what height_above says (or height_m)"),
    ("height_above", "canopy (top of the trees) or ground (open)"),
    ("speed_kt", "at the drop (or speed_mps, speed_kmh)"),
    ("speed_kind", "air (true airspeed) or ground"),
    ("wind_kt", "at 10 m (or wind_mps, wind_kmh); empty: not measured"),
    ("level_gpc", "coverage level, US gal/100 ft² (or coverage_l_per_m2)"),
    ("line_m", "length of the line at that level; 0 if it was not reached (or line_ft)"),
    ("line_kind", "unbroken (longest piece) or summed (all pieces)"),
    ("width_m", "widest at that level (or width_ft); may be empty"),
    ("drops", "how many drops the line is the mean of; empty: one"),
    ("line_low_m", "8 of 10 drops lie between this and line_high_m; both empty: not known (or line_low_ft)"),
    ("line_high_m", "see line_low_m (or line_high_ft)"),
    ("source", "who measured it, in which report"),
    ("date", "day of the drops, as 2026-05-01; may be empty"),
)


def drop_tests_template(cls: AircraftClass) -> str:
    """The text of a template for one class. As it stands it is refused: its example is invented."""
    system = systems_of(cls.drops_as, cls)[0]
    setting = f"{flow_settings(cls.drops_as)[0]:g}" if system == "constant" else ""
    load, height, speed = (
        cls.quantities[name].value for name in ("tank_volume_l", "drop_height_ft", "drop_speed_kt")
    )
    example = {
        "class": cls.id, "liquid": "water", "system": system, "setting": setting, "load_l": f"{load:g}",
        "height_ft": f"{height:g}", "height_above": "ground", "speed_kt": f"{speed:g}", "speed_kind": "air",
        "wind_kt": "3", "level_gpc": "1", "line_m": "50", "line_kind": "unbroken", "drops": "3",
        "line_low_m": "40", "line_high_m": "60", "source": f"{EXAMPLE}: delete this row", "date": "2026-05-01",
    }  # fmt: skip
    out = io.StringIO()
    out.write(
        f"# Drop tests of a {cls.name.lower()}: one row a coverage level of one drop or of drops flown alike.\n"
    )
    out.write("# How to measure and how the rows are used: docs/drop-tests.md.\n")
    out.writelines(f"# {name}: {what}\n" for name, what in _COLUMNS)
    table = csv.DictWriter(out, [name for name, _ in _COLUMNS], lineterminator="\n")
    table.writeheader()
    table.writerow(example)
    return out.getvalue()
