"""An atlas to ask, in milliseconds. Whoever reads an unfinished one is told so, and damage is never believed."""

from __future__ import annotations

import sqlite3
import zlib
from typing import TYPE_CHECKING, Self

import numpy as np

from wetline.errors import InputError, Problem
from wetline.store.atlas_base import (
    about_of,
    check_kind,
    damaged,
    features_done,
    is_database,
    lanes_held,
    no_atlas,
    state_of,
    told,
)
from wetline.store.atlas_schema import ends_of
from wetline.water import RECORD, AtlasLane, boxes_near, cells_near, in_reach

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from wetline.water import Reach

__all__ = ["AtlasFile"]


class AtlasFile:
    """An atlas to ask, whole or not. `about`: how it was made; `done`: features searched; `lanes_held`.

    Raises
    ------
    InputError
        If the file is missing, is no atlas, or is damaged.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        if not path.is_file():
            problem = Problem(
                message="There is no such file.", mend="See the spelling of the path.", file=str(path)
            )
            raise InputError.of([problem])
        if not is_database(path):
            raise no_atlas(path)
        with told(path):
            self._base = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None)
            try:
                check_kind(self._base, path)
                self.about = about_of(self._base, path)
                self.whole = state_of(self._base) == "whole"
                self.done = features_done(self._base)
                self.lanes_held = lanes_held(self._base)
            except BaseException:
                self._base.close()
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._base.close()

    def near(self, lon: float, lat: float, within_m: float) -> Reach:
        """The records of every lane whose middle lies within a geodesic distance [m] of a place.

        Raises
        ------
        InputError
            If the atlas is damaged there.
        """
        shelves: list[bytes] = []
        with told(self._path):
            for run in cells_near(lon, lat, within_m):
                for records, checksum in self._base.execute(
                    "SELECT records, checksum FROM atlas_shelves WHERE cell BETWEEN ? AND ?", run
                ):
                    if zlib.crc32(records) != checksum:
                        raise damaged(self._path, "a shelf of its index does not sum up")
                    shelves.append(records)
        return in_reach(np.frombuffer(b"".join(shelves), RECORD), lon, lat, within_m)

    def lanes(self, records: NDArray[np.void]) -> list[AtlasLane]:
        """The lanes of some records, in their order.

        Raises
        ------
        InputError
            If a lane is missing or says otherwise than its record.
        """
        return [self._lane(record) for record in records]

    def problems_near(self, lon: float, lat: float, within_m: float) -> list[Problem]:
        """What is wrong with waters whose box comes near a place, by row; those `nowhere` are not among them."""
        rows: set[tuple[int, str, str]] = set()
        with told(self._path):
            for west, south, east, north in boxes_near(lon, lat, within_m):
                rows |= set(
                    self._base.execute(
                        "SELECT source_row, message, mend FROM problems WHERE fid IN (SELECT id FROM "
                        "atlas_problem_boxes WHERE east >= ? AND west <= ? AND north >= ? AND south <= ?)",
                        (west, east, south, north),
                    )
                )
        return [self._problem(*row) for row in sorted(rows)]

    def nowhere(self) -> int:
        """How many waters have no place that could be read: they may lie anywhere."""
        with told(self._path):
            (count,) = self._base.execute(
                "SELECT COUNT(DISTINCT source_row) FROM problems WHERE has_place = 0"
            ).fetchone()
        return int(count)

    def problems(self, most: int) -> list[Problem]:
        """The first problems of its waters, by row."""
        with told(self._path):
            rows = self._base.execute(
                "SELECT source_row, message, mend FROM problems ORDER BY fid LIMIT ?", (most,)
            ).fetchall()
        return [self._problem(*row) for row in rows]

    def _problem(self, row: int, message: str, mend: str) -> Problem:
        return Problem(level="warning", message=message, mend=mend, file=self.about.source, row=row)

    def counts(self) -> dict[str, int]:
        """How many waters were searched, were too small for any lane, and have a problem."""
        with told(self._path):
            (too_small,) = self._base.execute(
                "SELECT COALESCE(SUM(too_small), 0) FROM atlas_chunks"
            ).fetchone()
            (problems,) = self._base.execute("SELECT COUNT(DISTINCT source_row) FROM problems").fetchone()
        return {"waters": self.done, "too_small": int(too_small), "with_problems": int(problems)}

    def _lane(self, record: np.void) -> AtlasLane:
        with told(self._path):
            row = self._base.execute(
                "SELECT geom, water, source_row, ask, heading_deg, length_m, clear_m, width_m, middle_lon, "
                "middle_lat, note FROM lanes WHERE fid = ?",
                (int(record["id"]),),
            ).fetchone()
            if row is None or (row[2], row[3], row[5], row[7], row[8], row[9]) != tuple(
                record[name].item() for name in ("row", "ask", "length_m", "width_m", "lon", "lat")
            ):
                raise damaged(self._path, f"lane {int(record['id'])} and its index differ")
        start, end = ends_of(row[0]) or (None, None)
        if start is None or end is None:
            raise damaged(self._path, f"lane {int(record['id'])} has no shape")
        return AtlasLane(
            row=row[2],
            ask=row[3],
            water=row[1],
            heading_deg=row[4],
            length_m=row[5],
            clear_m=row[6],
            width_m=row[7],
            start=start,
            end=end,
            middle=(row[8], row[9]),
            note=row[10],
        )
