"""Plain text in columns, no wider than `WIDTH`: nothing is cut off, long words wrap inside their column."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["NO_BREAK", "WIDTH", "columns", "paragraph", "plain", "section"]

WIDTH = 100
NO_BREAK = "\u00a0"
"""Keeps a number with its unit on one line; a plain space in what is printed."""
_GAP = 2
_DEEPEST = 16


def plain(text: object) -> str:
    """Text from a folder without characters that could steer a terminal."""
    return "".join(c if c.isprintable() or c == NO_BREAK else " " for c in str(text))


def paragraph(text: object, *, first: str = "", indent: int = 0) -> list[str]:
    """Wrapped text; `first` stands before the first line, the others are indented alike."""
    lead = " " * indent + plain(first)
    deep = len(lead) if len(lead) <= _DEEPEST else indent + 4
    words = textwrap.wrap(plain(text), WIDTH, initial_indent=lead, subsequent_indent=" " * deep)
    return words or [lead.rstrip()]


def section(title: str, lines: Iterable[str]) -> list[str]:
    """An empty line, a title, and lines below it."""
    return ["", title, *lines]


def columns(header: Sequence[str], rows: Sequence[Sequence[object]], *, right: str = "") -> list[str]:
    """A table with a rule under its header.

    Parameters
    ----------
    right
        The titles of the columns that stand to the right, separated by commas.
    """
    to_right = {title.strip() for title in right.split(",")}
    cells = [[plain(cell) for cell in row] for row in rows]
    widths = _widths([list(header), *cells])
    out = [*_row(list(header), widths, header, to_right), "  ".join("─" * w for w in widths)]
    for row in cells:
        out += _row(row, widths, header, to_right)
    return out


def _widths(rows: list[list[str]]) -> list[int]:
    """What each column asks for; the widest give way until all fit, whole words while that is possible."""
    across = list(zip(*rows, strict=True))
    widths = [max(len(cell) for cell in column) for column in across]
    words = [max(len(word) for cell in column for word in cell.split(" ")) for column in across]
    room = WIDTH - _GAP * (len(widths) - 1)
    for least in (words, [1] * len(widths)):
        while sum(widths) > room:
            wide = [i for i, width in enumerate(widths) if width > least[i]]
            if not wide:
                break
            widths[max(wide, key=lambda i: widths[i])] -= 1
    return widths


def _row(row: list[str], widths: list[int], header: Sequence[str], to_right: set[str]) -> list[str]:
    wrapped = [
        textwrap.wrap(cell, width, break_on_hyphens=False) or [""]
        for cell, width in zip(row, widths, strict=True)
    ]
    height = max(len(lines) for lines in wrapped)
    out = []
    for i in range(height):
        parts = [
            (lines[i] if i < len(lines) else "").rjust(width)
            if title in to_right
            else (lines[i] if i < len(lines) else "").ljust(width)
            for lines, width, title in zip(wrapped, widths, header, strict=True)
        ]
        out.append((" " * _GAP).join(parts).rstrip())
    return out
