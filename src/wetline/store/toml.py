"""TOML with the line and the mend named when it is malformed."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from wetline.store.files import read_text, remark_open_end

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.store.problems import Complaints

__all__ = ["read_toml"]

_LINE = re.compile(r"at line (\d+)")
_COMMA_DECIMAL = re.compile(r"=\s*-?\d+,\d+\s*(#.*)?$")
_BARE_WORD = re.compile(r"=\s*[A-Za-z][^\"'\[\]{}]*$")


def read_toml(path: Path, complaints: Complaints) -> dict[str, Any] | None:
    """The tables of a TOML file; None after a complaint that names the line."""
    text = read_text(path, complaints)
    if text is None:
        return None
    remark_open_end(text, complaints)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _complain(text, str(error), complaints)
    except (RecursionError, ValueError, OverflowError):
        complaints.error("The file nests too deeply or holds an impossible number.", "Write it afresh.")
    return None


def _complain(text: str, reason: str, complaints: Complaints) -> None:
    lines = text.split("\n")
    match = _LINE.search(reason)
    number = int(match.group(1)) if match else len(lines)
    line = lines[number - 1].strip()
    if _COMMA_DECIMAL.search(line):
        mend = "Write decimals with a point: 3.8, not 3,8."
    elif _BARE_WORD.search(line) and not re.search(r"=\s*(true|false)\b", line):
        mend = 'Put words in quotation marks: name = "Halm Field".'
    else:
        mend = f"Mend line {number}: each line is `name = value`, words in quotation marks."
    said = reason.partition(" (at ")[0].rstrip(".")
    complaints.error(f"Line {number} is not TOML: {said}.", mend, field=f"line {number}", value=line)
