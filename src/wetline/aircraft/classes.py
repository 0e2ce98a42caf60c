"""The shipped aircraft classes: one TOML a class, every number with its unit, range and source.

The kinds of source, best first: `public copy`, `second-hand public copy`, `common practice, no
source`, `derived`, `from memory`; a colon and a remark may follow.
"""

from __future__ import annotations

import math
import tomllib
from functools import lru_cache
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, cast

from wetline.aircraft.fleet import AircraftClass, Quantity
from wetline.errors import WetlineError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Literal

__all__ = ["CLASS_IDS", "SOURCE_KINDS", "aircraft_classes"]

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

_FILLS = ("scoop", "dip", "base", "none")

_NAME_ENDS = {
    "L": "_l",
    "m": "_m",
    "s": "_s",
    "ft": "_ft",
    "kt": "_kt",
    "ft/min": "_fpm",
    "min": "_min",
    "h": "_h",
}
"""The end of a quantity's name for each unit."""


def _faults(name: str, row: Mapping[str, Any]) -> list[str]:
    """What is wrong with one quantity, in words."""
    keys = {"value", "unit", "source"}
    if not keys <= row.keys() <= keys | {"low", "high"}:
        return [f"{name} needs value, unit, source and may have low, high"]
    faults = []
    end = _NAME_ENDS.get(row["unit"])
    if end is None:
        faults.append(f"{name} has an unknown unit {row['unit']!r}")
    elif not name.endswith(end):
        faults.append(f"{name} does not end in {end}")
    if str(row["source"]).partition(":")[0] not in SOURCE_KINDS:
        faults.append(f"{name} has no known kind of source: {row['source']!r}")
    low, value, high = row.get("low", row["value"]), row["value"], row.get("high", row["value"])
    if not (all(math.isfinite(v) for v in (low, value, high)) and 0 < low <= value <= high):
        faults.append(f"{name} breaks 0 < low ≤ value ≤ high")
    return faults


def _class_from(text: str, class_id: str) -> AircraftClass:
    """One class out of its TOML.

    Raises
    ------
    WetlineError
        If the file breaks a rule: the message lists every fault.
    """
    about = tomllib.loads(text)
    quantities: dict[str, dict[str, Any]] = about.get("quantities", {})
    faults = [fault for name, row in quantities.items() for fault in _faults(name, row)]
    if about.get("id") != class_id:
        faults.append(f"id {about.get('id')!r} is not the file's name")
    if not about.get("name"):
        faults.append("name is missing")
    if about.get("fills") not in _FILLS:
        faults.append(f"fills {about.get('fills')!r} is none of {', '.join(_FILLS)}")
    if faults:
        message = f"aircraft class {class_id}: {'; '.join(faults)}"
        raise WetlineError(message)
    return AircraftClass(
        id=class_id,
        name=about["name"],
        fills=cast("Literal['scoop', 'dip', 'base', 'none']", about["fills"]),
        quantities=MappingProxyType({name: Quantity(**row) for name, row in quantities.items()}),
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
