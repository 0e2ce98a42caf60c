"""The options that several commands share, and how their words are read."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cyclopts import Token

__all__ = ["At", "Folder", "Json", "Members", "Seed", "whole_number"]


def whole_number(_type: type, tokens: Sequence[Token]) -> int:
    """A whole number as written: 2.5 is refused, where rounding it would answer another question."""
    if not re.fullmatch(r"[+-]?\d{1,9}", tokens[0].value):
        message = "not a whole number of at most 9 digits"
        raise ValueError(message)
    return int(tokens[0].value)


def _seed(type_: type, tokens: Sequence[Token]) -> int:
    value = whole_number(type_, tokens)
    if value < 0:
        message = "a seed is 0 or more"
        raise ValueError(message)
    return value


Json = Annotated[
    bool, Parameter(name="--json", negative=(), help="One JSON document on stdout, nothing else.")
]
At = Annotated[
    str | None, Parameter(help="The moment asked about, ISO 8601 with zone. Default: newest perimeter.")
]
Members = Annotated[
    int,
    Parameter(
        converter=whole_number, help="Varied futures for bands and chances; 0 for the middle future alone."
    ),
]
Seed = Annotated[int, Parameter(converter=_seed, help="Seed of everything that is drawn.")]
Folder = Annotated[Path, Parameter(help="The incident folder.")]
