"""The shipped aircraft classes: one TOML a class, every number with its unit, range and source.

The kinds of source, best first: `public copy`, `second-hand public copy`, `common practice, no
source`, `derived`, `from memory`; a colon and a remark may follow.
"""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, cast

from wetline.aircraft.fleet import AircraftClass, Fill, Quantity
from wetline.aircraft.rules import quantity_problems
from wetline.errors import WetlineError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CLASS_IDS", "FILLS", "SOURCE_KINDS", "WAYS", "aircraft_classes"]

CLASS_IDS = (
    "single_engine_scooper",
    "twin_engine_scooper",
    "light_helicopter",
    "medium_helicopter",
    "heavy_helicopter",
    "single_engine_tanker",
    "medium_tanker",
    "large_tanker",
    "very_large_tanker",
    "supervision",
)

SOURCE_KINDS = (
    "public copy",
    "second-hand public copy",
    "common practice, no source",
    "derived",
    "from memory",
)

FILLS: tuple[Fill, ...] = ("scoop", "dip", "base", "none")

WAYS = ("bucket", "snorkel")
"""With what a class may dip."""


def _quantity(name: str, row: Mapping[str, Any], faults: list[str]) -> Quantity | None:
    """One quantity of a shipped file; None after its faults are noted."""
    keys = {"value", "unit", "source"}
    if not keys <= row.keys() <= keys | {"low", "high"}:
        faults.append(f"{name} needs value, unit, source and may have low, high")
        return None
    if str(row["source"]).partition(":")[0] not in SOURCE_KINDS:
        faults.append(f"{name} has no known kind of source: {row['source']!r}")
    quantity = Quantity(**row)
    faults += [problem.message for problem in quantity_problems(name, quantity)]
    return quantity


def _quantities(rows: Mapping[str, Mapping[str, Any]], faults: list[str]) -> Mapping[str, Quantity]:
    read = {name: _quantity(name, row, faults) for name, row in rows.items()}
    return MappingProxyType({name: quantity for name, quantity in read.items() if quantity is not None})


def _class_from(text: str, class_id: str) -> AircraftClass:
    """One class out of its TOML.

    Raises
    ------
    WetlineError
        If the file breaks a rule: the message lists every fault.
    """
    about = tomllib.loads(text)
    faults: list[str] = []
    quantities = _quantities(about.get("quantities", {}), faults)
    ways = {way: _quantities(rows, faults) for way, rows in about.get("ways", {}).items()}
    if about.get("id") != class_id:
        faults.append(f"id {about.get('id')!r} is not the file's name")
    if not about.get("name"):
        faults.append("name is missing")
    if about.get("fills") not in FILLS:
        faults.append(f"fills {about.get('fills')!r} is none of {', '.join(FILLS)}")
    if faults:
        message = f"aircraft class {class_id}: {'; '.join(faults)}"
        raise WetlineError(message)
    return AircraftClass(
        id=class_id,
        name=about["name"],
        fills=cast("Fill", about["fills"]),
        quantities=quantities,
        way=about.get("way"),
        other_ways=MappingProxyType(ways),
    )


@lru_cache(maxsize=1)
def aircraft_classes() -> Mapping[str, AircraftClass]:
    """Every generic class by id, in the order of `CLASS_IDS`.

    Raises
    ------
    WetlineError
        If a shipped file breaks a rule.
    """
    folder = resources.files("wetline.aircraft") / "data"
    return MappingProxyType(
        {
            class_id: _class_from((folder / f"{class_id}.toml").read_text(encoding="utf-8"), class_id)
            for class_id in CLASS_IDS
        }
    )
