"""The loader: `data/<source>/<table>.csv` with its `<table>.toml`, handed out frozen.

The CSV holds values as printed, units in the header. The TOML holds `citation`, `table`, `page`,
`printed_precision`, `how_read` (print | public copy | memory | derived), `note`, `errata`, and
optionally `monotone` (a list of columns that must increase). An empty cell is NaN in a column of
numbers: absent, never 0.
"""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import numpy as np

from wetline.errors import WetlineError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

__all__ = ["Provenance", "Table", "load", "names"]

_REQUIRED = ("citation", "table", "how_read")


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where a table comes from and how surely it is known."""

    citation: str
    table: str
    how_read: str
    page: str | None = None
    printed_precision: str | None = None
    note: str | None = None
    errata: str | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """Columns by header name: float64 arrays where every cell is a number or empty, else text."""

    name: str
    columns: Mapping[str, NDArray[Any]]
    provenance: Provenance

    def __getitem__(self, column: str) -> NDArray[Any]:
        return self.columns[column]

    def rows(self) -> list[dict[str, Any]]:
        """One mapping a row, numbers as float and absent numbers as None."""
        keys = list(self.columns)
        count = len(self.columns[keys[0]])
        return [{k: _plain(self.columns[k][i]) for k in keys} for i in range(count)]


def _plain(value: Any) -> Any:  # noqa: ANN401  a cell is a number or a text
    if isinstance(value, np.floating):
        return None if np.isnan(value) else float(value)
    return str(value)


def _column(cells: list[str]) -> NDArray[Any]:
    try:
        out: NDArray[Any] = np.array([float(c) if c.strip() else np.nan for c in cells])
    except ValueError:
        out = np.array([c.strip() for c in cells])
    out.setflags(write=False)
    return out


def names() -> list[str]:
    """Every table shipped, as `source/table`."""
    root = resources.files("wetline.tables") / "data"
    return sorted(
        f"{folder.name}/{entry.name[:-4]}"
        for folder in root.iterdir()
        if folder.is_dir()
        for entry in folder.iterdir()
        if entry.name.endswith(".csv")
    )


@lru_cache(maxsize=64)
def load(name: str) -> Table:
    """A shipped table by `source/table`, checked.

    Raises
    ------
    WetlineError
        If the file is ragged, lacks its provenance, or breaks a declared monotone column.
    """
    root = resources.files("wetline.tables") / "data"
    text = (root / f"{name}.csv").read_text(encoding="utf-8")
    about = tomllib.loads((root / f"{name}.toml").read_text(encoding="utf-8"))
    missing = [key for key in _REQUIRED if not about.get(key)]
    if missing:
        message = f"table {name}: provenance lacks {', '.join(missing)}"
        raise WetlineError(message)
    lines = list(csv.reader(line for line in text.splitlines() if line and not line.startswith("#")))
    header, body = lines[0], lines[1:]
    ragged = [i for i, row in enumerate(body) if len(row) != len(header)]
    if ragged:
        message = f"table {name}: data row {ragged[0]} has not {len(header)} cells"
        raise WetlineError(message)
    columns = {key.strip(): _column([row[i] for row in body]) for i, key in enumerate(header)}
    for key in about.get("monotone", ()):
        if not np.all(np.diff(columns[key]) > 0):
            message = f"table {name}: column {key} does not increase"
            raise WetlineError(message)
    fields = {k: about[k] for k in Provenance.__dataclass_fields__ if k in about}
    return Table(name, columns, Provenance(**fields))
