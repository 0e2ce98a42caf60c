"""Units of weather as files name them: each read from the file, none guessed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from wetline.units import KM_PER_HOUR, KNOT

if TYPE_CHECKING:
    from wetline.store.problems import Complaints

__all__ = ["Kind", "to_ours"]

Kind = Literal["temperature", "share", "speed", "angle", "length", "amount", "rate"]

_UNITS: dict[Kind, dict[str, tuple[float, float]]] = {
    "temperature": {
        **dict.fromkeys(("k", "kelvin", "degree_kelvin", "degk"), (1.0, -273.15)),
        **dict.fromkeys(("c", "degc", "celsius", "degree_celsius", "degrees_celsius", "deg_c", "°c"), (1.0, 0.0)),
        **dict.fromkeys(("f", "degf", "fahrenheit", "degree_fahrenheit"), (5.0 / 9.0, -32.0 * 5.0 / 9.0)),
    },
    "share": {
        **dict.fromkeys(("%", "percent"), (1.0, 0.0)),
        **dict.fromkeys(("1", "fraction", "(0-1)"), (100.0, 0.0)),
        **dict.fromkeys(("okta", "oktas"), (12.5, 0.0)),
    },
    "speed": {
        **dict.fromkeys(("m/s", "m s-1", "m.s-1", "m s**-1", "m s^-1", "meter second-1"), (1.0, 0.0)),
        **dict.fromkeys(("kt", "knot", "knots", "kn"), (KNOT, 0.0)),
        **dict.fromkeys(("km/h", "km h-1"), (KM_PER_HOUR, 0.0)),
    },
    "angle": dict.fromkeys(("degree", "degrees", "deg", "degree_true", "degrees_true", "°"), (1.0, 0.0)),
    "length": {**dict.fromkeys(("m", "metre", "meter", "meters"), (1.0, 0.0)), "km": (1000.0, 0.0)},
    "amount": {
        **dict.fromkeys(("kg m-2", "kg/m2", "kg m**-2", "kg/(m^2)", "kg m^-2", "mm"), (1.0, 0.0)),
        **dict.fromkeys(("m", "m of water equivalent"), (1000.0, 0.0)),
    },
    "rate": {
        **dict.fromkeys(("kg m-2 s-1", "kg m**-2 s**-1", "kg/(m^2*s)", "kg/(m^2 s)", "mm s-1", "mm/s"), (3600.0, 0.0)),
        **dict.fromkeys(("mm/h", "mm h-1", "mm/hr", "kg m-2 h-1"), (1.0, 0.0)),
        **dict.fromkeys(("m s-1", "m/s"), (3_600_000.0, 0.0)),
    },
}  # fmt: skip
"""Factor and what is added after it, to °C, %, m/s, degrees, m, mm and mm/h: kg/m² of water is a millimetre."""


def to_ours(kind: Kind, unit: str | None, called: str, complaints: Complaints) -> tuple[float, float] | None:
    """Factor and offset from a unit of the file to ours; None after a complaint."""
    known = _UNITS[kind]
    found = None if unit is None else known.get(" ".join(unit.strip().lower().strip("[]").split()))
    if found is None:
        complaints.error(
            f"{called} is in a unit that is not known here." if unit else f"{called} does not say its unit.",
            "Set its units attribute to one of the known ones, as its values are.",
            field=called, value=unit, limit=", ".join(known),
        )  # fmt: skip
    return found
