"""Invented rows of drop tests for tests, and the release that they speak of."""

from __future__ import annotations

from datetime import date
from typing import Any

from wetline.drops import DropTest, DropTests, Release, Resolved, resolve

CLASS = "twin_engine_scooper"
LOAD_L, SPEED_MPS, HEIGHT_M = 6000.0, 55.0, 30.0


def row(level: float, line_m: float, **other: Any) -> DropTest:
    """A line measured over open ground with 6000 L of water at 55 m/s from 30 m."""
    usual: dict[str, Any] = {
        "class_id": CLASS, "liquid": "water", "load_l": LOAD_L, "height_m": HEIGHT_M, "height_above": "ground",
        "speed_mps": SPEED_MPS, "speed_kind": "air", "wind_mps": 0.0, "line_kind": "unbroken",
        "source": "Sorrin trials", "date": date(2025, 5, 1),
    }  # fmt: skip
    return DropTest(level=level, line_m=line_m, **{**usual, **other})


def table(*rows: DropTest) -> DropTests:
    """A table of these rows."""
    return DropTests(rows, "own.csv")


def release(**other: Any) -> Release:
    """The release of `row`, in calm."""
    usual: dict[str, Any] = {
        "class_id": CLASS, "load_l": LOAD_L, "height_m": HEIGHT_M, "speed_mps": SPEED_MPS,
    }  # fmt: skip
    return Release(**{**usual, **other})


def settled(**other: Any) -> Resolved:
    """`release`, resolved."""
    return resolve(release(**other))
