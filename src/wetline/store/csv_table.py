"""A table as people save it from a spreadsheet: commas, semicolons or tabs, points or decimal commas."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.store.fields import Untyped
from wetline.store.files import remark_open_end

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Sequence

    from wetline.store.problems import Complaints

__all__ = ["CsvTable", "csv_table"]

_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_COMMA_NUMBER = re.compile(r"[-+]?\d+,\d+")
_POINT_NUMBER = re.compile(r"[-+]?\d*\.\d+")
_TWO_WAYS = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}")


@dataclass(frozen=True, slots=True)
class CsvTable:
    """Small names of the columns, and the cells of each data row by name, trimmed; rows count from 0."""

    names: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]

    def fields(self) -> Iterator[tuple[int, dict[str, object]]]:
        """Each row as values of which nobody knows the type yet."""
        for row, cells in self.rows:
            yield row, {name: Untyped(cell) for name, cell in cells.items()}


def csv_table(text: str, complaints: Complaints, *, words: Container[str]) -> CsvTable | None:
    """The cells of a text; None after a complaint that leaves nothing to read.

    Lines that begin with `# ` are remarks. Empty rows, and empty cells behind the last column, are left
    out. Between semicolons or tabs decimal commas are read as points, except in the columns `words`.
    """
    remark_open_end(text, complaints)
    lines = text.split("\n")
    if lines and re.fullmatch(r'"?sep=.?"?', lines[0].strip(), re.IGNORECASE):
        lines = lines[1:]
    head = next((line for line in lines if line.strip(' \t,;"') and not _is_remark(line.lstrip('"'))), None)
    if head is None:
        complaints.error("The table has no header.", "Fill it, or take it out of the folder.")
        return None
    separator = max(_SEPARATORS, key=head.count)
    try:
        read = [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=separator, strict=True)]
    except csv.Error as error:
        complaints.error(f"The file is no table of cells: {error}.", "Mend its quotation marks.")
        return None
    header, *rows = [row for row in read if any(row) and not _is_remark(row[0])]
    names = [name.lower() for name in header]
    while names and not names[-1]:
        names.pop()
    if not _names_are_sound(names, complaints):
        return None
    sound = _rows_of(rows, names, separator, complaints)
    if separator != ",":
        sound = _with_points(sound, complaints, words)
    return CsvTable(tuple(names), tuple(sound))


def _is_remark(cell: str) -> bool:
    return cell == "#" or cell.startswith("# ")


def _names_are_sound(names: Sequence[str], complaints: Complaints) -> bool:
    sound = True
    for name in dict.fromkeys(names):
        if not name:
            complaints.error(
                "A column has no name.", "Name it in the header, or take it out.", field="header"
            )
            sound = False
        elif names.count(name) > 1:
            complaints.error(f'The column "{name}" stands twice.', "Keep the right one.", field=name)
            sound = False
    return sound


def _rows_of(
    rows: Sequence[Sequence[str]], names: Sequence[str], separator: str, complaints: Complaints
) -> list[tuple[int, dict[str, str]]]:
    """The rows with as many cells as the header; complains of the others."""
    out = []
    for i, cells in enumerate(rows):
        if len(cells) < len(names) or any(cells[len(names) :]):
            mend = (
                "Decimals need a point: 3.8, not 3,8. Put words with a comma in quotation marks."
                if len(cells) > len(names) and separator == ","
                else "Fill the row up with empty cells; see that the file is whole."
            )
            complaints.error(
                f"The row has {len(cells)} cells, the header {len(names)}, parted by {_SEPARATORS[separator]}.",
                mend, row=i, value=separator.join(cells), limit=f"{len(names)} cells",
            )  # fmt: skip
            continue
        out.append((i, dict(zip(names, cells, strict=False))))
    return out


def _with_points(
    rows: list[tuple[int, dict[str, str]]], complaints: Complaints, words: Container[str]
) -> list[tuple[int, dict[str, str]]]:
    """Decimal commas as points. Complains of numbers that can be read in two ways, and leaves their rows out."""
    numbers = [(i, name, cell) for i, row in rows for name, cell in row.items() if name not in words]
    if not any(_COMMA_NUMBER.fullmatch(cell) for _, _, cell in numbers):
        return rows
    unclear = set()
    for i, name, cell in numbers:
        if _TWO_WAYS.fullmatch(cell):
            why, mend = (
                "The comma may part thousands or decimals.",
                "Write no thousands mark; write decimals with a point throughout.",
            )
        elif _POINT_NUMBER.fullmatch(cell):
            why, mend = (
                "The table has decimal commas, and a point here.",
                "Use one of the two throughout, and no thousands mark.",
            )
        else:
            continue
        unclear.add(i)
        complaints.error(why, mend, row=i, field=name, value=cell)
    return [(i, _pointed(row, words)) for i, row in rows if i not in unclear]


def _pointed(row: dict[str, str], words: Container[str]) -> dict[str, str]:
    return {
        name: cell.replace(",", ".") if name not in words and _COMMA_NUMBER.fullmatch(cell) else cell
        for name, cell in row.items()
    }
