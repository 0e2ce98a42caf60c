"""Slips of unit in a table of drop tests: feet told as metres, knots as metres a second, gallons as litres."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from wetline.aircraft import AircraftClass
    from wetline.drops import DropTest
    from wetline.store.problems import Complaints

__all__ = ["warn_of_units"]

_ROOM = 1.25
"""How far beyond a class's own range its tests are still taken as likely; common practice, no source."""
_OWN = (
    ("height_m", "drop_height_ft", FOOT),
    ("speed_mps", "drop_speed_kt", KNOT),
    ("load_l", "tank_volume_l", 1.0),
)
"""A number of a test, and the class's quantity that it should be like, with its factor to our unit."""


def warn_of_units(
    rows: Sequence[DropTest],
    units: Mapping[str, Mapping[str, float]],
    columns: Mapping[str, str],
    classes: Mapping[str, AircraftClass],
    complaints: Complaints,
) -> None:
    """Remark each class whose middle height, speed or load is like the class's own in another unit alone.

    `units`: the columns that may tell each number, with their factors; `columns`: the one that does.
    """
    for class_id in dict.fromkeys(row.class_id for row in rows):
        same = [row for row in rows if row.class_id == class_id]
        for name, quantity, factor in _OWN:
            own, told = classes[class_id].get(quantity), columns[name]
            if own is None:
                continue
            low = (own.value if own.low is None else own.low) * factor / _ROOM
            high = (own.value if own.high is None else own.high) * factor * _ROOM
            written = median(float(getattr(row, name)) for row in same) / units[name][told]
            likely = [unit for unit, f in units[name].items() if low <= written * f <= high]
            if likely and told not in likely:
                complaints.warning(
                    f"{told} of the {class_id} is {written:g} in the middle: that is like the class only as "
                    f"{likely[0]}.",
                    f"See which unit was written; if the numbers are {likely[0]}, rename the column.",
                    row=same[0].row, field=told, value=f"{written:g}",
                    limit=f"{low / units[name][told]:.0f} to {high / units[name][told]:.0f}",
                )  # fmt: skip
