"""Widths of words in the sheet's font, so that labels can be placed before they are printed.

Reads `cmap` (format 4) and `hmtx` of the font files that ship with the room (OpenType 1.9 spec).
"""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

__all__ = ["TEXT_PT", "font_folder", "text_width", "wrapped"]

TEXT_PT = 9.75
"""The smallest text on paper: 13 px at 0.75 pt."""
_BREAKS = re.compile(r"(?<!\d) |(?<=\d) (?!(?:m|ft|kt|ha|L|min|km|NM|h|s)\b|%)")
_FIGURE_EM = 0.632  # every tabular figure of this font, both weights
_WIDEST_EM = 1.0  # for characters that the font lacks, and a fallback draws


def font_folder() -> Traversable:
    """The folder of the font files."""
    return resources.files("wetline.briefing") / "fonts"


@dataclass(frozen=True, slots=True)
class _Face:
    em: int
    advance: tuple[int, ...]
    glyph: dict[int, int]


def _tables(data: bytes) -> dict[str, bytes]:
    (count,) = struct.unpack_from(">H", data, 4)
    found = {}
    for i in range(count):
        tag, _, start, length = struct.unpack_from(">4sLLL", data, 12 + 16 * i)
        found[tag.decode("ascii")] = data[start : start + length]
    return found


def _cmap(table: bytes) -> dict[int, int]:
    (count,) = struct.unpack_from(">H", table, 2)
    starts = [struct.unpack_from(">HHL", table, 4 + 8 * i)[2] for i in range(count)]
    start = next(s for s in starts if struct.unpack_from(">H", table, s)[0] == 4)
    segments = struct.unpack_from(">H", table, start + 6)[0] // 2
    ends = struct.unpack_from(f">{segments}H", table, start + 14)
    firsts = struct.unpack_from(f">{segments}H", table, start + 16 + 2 * segments)
    deltas = struct.unpack_from(f">{segments}h", table, start + 16 + 4 * segments)
    offsets_at = start + 16 + 6 * segments
    offsets = struct.unpack_from(f">{segments}H", table, offsets_at)
    glyph = {}
    for i in range(segments):
        for code in range(firsts[i], ends[i] + 1):
            index = code
            if offsets[i]:
                where = offsets_at + 2 * i + offsets[i] + 2 * (code - firsts[i])
                if where + 2 > len(table):
                    continue
                (index,) = struct.unpack_from(">H", table, where)
                if index == 0:
                    continue
            glyph[code] = (index + deltas[i]) & 0xFFFF
    return glyph


@lru_cache(maxsize=2)
def _face(weight: str) -> _Face:
    data = (font_folder() / f"AtkinsonHyperlegibleNext-{weight}.ttf").read_bytes()
    table = _tables(data)
    (em,) = struct.unpack_from(">H", table["head"], 18)
    (metrics,) = struct.unpack_from(">H", table["hhea"], 34)
    advance = struct.unpack_from(">" + "Hh" * metrics, table["hmtx"])[::2]
    return _Face(em, advance, _cmap(table["cmap"]))


def text_width(text: str, size_pt: float = TEXT_PT, *, bold: bool = False) -> float:
    """Width [pt] of a line of text, kerning left out (it only narrows)."""
    face = _face("Bold" if bold else "Regular")
    total = 0.0
    for letter in text:
        index = face.glyph.get(ord(letter))
        if letter.isascii() and letter.isdigit():
            total += _FIGURE_EM
        elif index is None:
            total += _WIDEST_EM
        else:
            total += face.advance[min(index, len(face.advance) - 1)] / face.em
    return total * size_pt


def wrapped(text: str, width_pt: float, size_pt: float = TEXT_PT, *, bold: bool = False) -> list[str]:
    """Text broken at spaces into lines no wider than `width_pt`; a longer word keeps a line of its own.

    A number stays with its unit.
    """
    lines: list[str] = []
    for word in _BREAKS.split(" ".join(text.split())):
        if lines and text_width(f"{lines[-1]} {word}", size_pt, bold=bold) <= width_pt:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines
