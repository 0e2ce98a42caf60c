"""Short tables for people, rendered from the JSON of an answer alone."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from wetline.cli.tables.atlas import atlas_table
from wetline.cli.tables.circuits import circuits_table
from wetline.cli.tables.drop import drop_table
from wetline.cli.tables.drop_tests import drop_tests_table
from wetline.cli.tables.folder import brief_table, check_table, demo_table
from wetline.cli.tables.plan import plan_table
from wetline.cli.tables.sizeup import sizeup_table
from wetline.cli.tables.water import water_table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["RENDER"]

RENDER: Mapping[str, Callable[[dict[str, Any]], str]] = MappingProxyType(
    {
        "demo": demo_table,
        "check": check_table,
        "sizeup": sizeup_table,
        "water": water_table,
        "drop": drop_table,
        "circuits": circuits_table,
        "plan": plan_table,
        "brief": brief_table,
        "atlas": atlas_table,
        "drop-tests": drop_tests_table,
    }
)
"""The table of each command."""
