"""The aircraft of the day: generic classes, invented call signs."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["fleet_toml"]

Value = str | float | bool | datetime


def _aircraft(midnight: datetime, bases: Mapping[str, str]) -> list[dict[str, Value]]:
    """One table an aircraft; `bases`: the names of airfield, helibase and tanker_base."""

    def at(hour: int, minute: int) -> datetime:
        return midnight + timedelta(hours=hour, minutes=minute)

    def one(call_sign: str, class_id: str, base: str, **more: Value) -> dict[str, Value]:
        return {"call_sign": call_sign, "class": class_id, "base": bases[base], **more}

    limits = {
        "flight_limit_h": 8.0, "duty_limit_h": 14.0, "flown_7d_h": 21.5, "flown_28d_h": 58.0, "rested_h": 11.0,
    }  # fmt: skip
    return [
        one("Tern 1", "twin_engine_scooper", "airfield", agent="water", load_l=5_600.0, pair="Tern",
            available_from=at(13, 30), fuel_h=3.7, duty_start=at(9, 0), flown_h=0.6, **limits),
        one("Tern 2", "twin_engine_scooper", "airfield", agent="water", load_l=5_600.0, pair="Tern",
            available_from=at(13, 30), fuel_h=3.7, duty_start=at(9, 0), flown_h=0.6, **limits),
        one("Coot 3", "single_engine_scooper", "airfield", agent="foam", load_l=2_600.0, pair="Coot",
            available_from=at(13, 45), fuel_h=2.8, duty_start=at(8, 0), flown_h=1.4, **limits),
        one("Coot 4", "single_engine_scooper", "airfield", agent="foam", load_l=2_600.0, pair="Coot",
            available_from=at(13, 45), fuel_h=2.8, duty_start=at(8, 0), flown_h=1.4, **limits),
        one("Plover 5", "medium_helicopter", "helibase", agent="water", available_from=at(13, 30),
            fuel_h=1.9, duty_start=at(4, 40), flown_h=2.2, **limits),
        one("Siskin 6", "single_engine_tanker", "tanker_base", agent="retardant",
            available_from=at(13, 40), fuel_h=2.9, duty_start=at(8, 30), flown_h=0.5, **limits),
        one("Gannet 7", "large_tanker", "tanker_base", agent="retardant",
            available_from=at(14, 20), fuel_h=3.9, duty_start=at(10, 0), flown_h=0.0, **limits),
        one("Heron 8", "supervision", "airfield", airborne=True, fuel_h=3.0,
            duty_start=at(9, 0), flown_h=0.9, **limits),
    ]  # fmt: skip


def _text(value: Value) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    return f'"{value}"' if isinstance(value, str) else f"{value:g}" if value % 1 else f"{value:.1f}"


def fleet_toml(midnight: datetime, bases: Mapping[str, str]) -> str:
    """The text of `fleet.toml`. Plover 5's duty ends before sunset: it flies the shortest day."""
    blocks = []
    for aircraft in _aircraft(midnight, bases):
        lines = [f"{name} = {_text(value)}" for name, value in aircraft.items()]
        blocks.append("\n".join(["[[aircraft]]", *lines]))
    return "\n\n".join(blocks) + "\n"
