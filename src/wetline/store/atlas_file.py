"""An atlas on disk: written a chunk at a time so that a kill loses one chunk at most, and asked in milliseconds.

While it is made it stands beside its name with `.part` at the end; whole, it is renamed. A chunk's lanes,
its index and the note that it is done are one transaction. Whoever reads an unfinished atlas is told so.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from wetline.errors import InputError, Problem
from wetline.store.atlas_schema import (
    APPLICATION_ID,
    CREATE,
    GUARD,
    LANES_ARE,
    PROBLEMS_ARE,
    drawn,
    ends_of,
    srs_rows,
)
from wetline.water import RECORD, Ask, AtlasLane, boxes_near, cell_of, cells_near, in_reach

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from numpy.typing import NDArray

    from wetline.water import Reach, Searched

__all__ = ["AtlasAbout", "AtlasFile", "AtlasWriter", "is_database", "unfinished"]

_MAGIC = b"SQLite format 3\0"
_DAMAGED = "The atlas is damaged"
_ANEW = "Make it anew from its water file, or take a whole copy."
_TOLD = {
    "SQLITE_FULL": (
        "The disk is full.",
        "Make room and give the same command again: it goes on where it stopped.",
    ),
    "SQLITE_CANTOPEN": ("The file cannot be opened.", "See that its folder exists and that you may use it."),
    "SQLITE_READONLY": ("The file may not be written.", "See the rights of the file and of its folder."),
    "SQLITE_READONLY_ROLLBACK": (
        "The atlas was left in the middle of writing.",
        "Give the command that makes it again: it goes on where it stopped.",
    ),
    "SQLITE_BUSY": ("Another run is writing this atlas.", "Wait for it to end."),
    "SQLITE_CONSTRAINT": ("Another run has written to this atlas.", "Let one run alone make it."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AtlasAbout:
    """How an atlas is made: of which file, for which asks, with which step between headings [deg], by which release.

    An unfinished one is gone on with only where all of this is the same.
    """

    source: str
    layer: str
    features: int
    source_bytes: int
    source_sha256: str
    asks: tuple[Ask, ...]
    step_deg: float
    chunk: int
    version: str

    def written(self) -> dict[str, str]:
        """Every field as JSON text, by name."""
        return {name: json.dumps(value) for name, value in asdict(self).items()}

    @classmethod
    def read(cls, rows: dict[str, str]) -> AtlasAbout:
        """From what `written` gave.

        Raises
        ------
        KeyError, TypeError, ValueError
            If a field is missing or is none.
        """
        values: dict[str, Any] = {name: json.loads(rows[name]) for name in cls.__dataclass_fields__}
        values["asks"] = tuple(Ask(**ask) for ask in values["asks"])
        if not values["asks"]:
            message = "nothing was asked for"
            raise ValueError(message)
        return cls(**values)


def unfinished(out: Path) -> Path:
    """Where an atlas stands while it is made."""
    return out.with_name(f"{out.name}.part")


def is_database(path: Path) -> bool:
    """Whether a file is of the kind that an atlas is: GeoPackages are, GeoJSON is not."""
    try:
        with path.open("rb") as stream:
            return stream.read(len(_MAGIC)) == _MAGIC
    except OSError:
        return False


class AtlasWriter:
    """One atlas being made, or gone on with: `done` features of the source stand in it.

    Raises
    ------
    InputError
        If `out` stands already (it is never overwritten), if what is unfinished there was made
        otherwise, or if the disk refuses.
    """

    def __init__(self, out: Path, about: AtlasAbout) -> None:
        self._out, self._part, self._about = out, unfinished(out), about
        self._refuse_existing()
        stood = self._part.exists()
        with _told(self._part):
            self._base = sqlite3.connect(self._part, isolation_level=None)
            try:
                if _tables(self._base):
                    self._resume()
                else:  # nothing there, or killed before the first word was written
                    self._create()
            except BaseException:
                self._base.close()
                if not stood:
                    self._part.unlink(missing_ok=True)
                raise

    @property
    def done(self) -> int:
        """How many features of the source have been searched, from the first one on."""
        with _told(self._part):
            return _done(self._base)

    @property
    def lanes(self) -> int:
        """How many lanes stand in it."""
        with _told(self._part):
            return _count(self._base)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._base.close()

    def add(self, searched: Searched) -> None:
        """Keep what a chunk gave; chunks come in the order of the file.

        Raises
        ------
        InputError
            If the disk refuses, or another run writes the same atlas. What was kept before stays.
        """
        with _told(self._part), _transaction(self._base):
            if _done(self._base) != searched.first:
                raise sqlite3.IntegrityError
            fid = _count(self._base) + 1
            self._keep_lanes(fid, searched)
            self._keep_troubles(searched)
            self._base.execute(
                "INSERT INTO atlas_chunks VALUES (?, ?, ?, ?)",
                (searched.first, searched.count, len(searched.lanes), searched.too_small),
            )

    def finish(self, now: datetime) -> None:
        """Mark the atlas whole, close it and give it its name.

        Raises
        ------
        InputError
            If features are missing, or the disk refuses.
        """
        with _told(self._part):
            if _done(self._base) != self._about.features:
                raise _broken(self._part, f"{_done(self._base)} of {self._about.features} features are in it")
            if _state(self._base) != "whole":
                self._seal(now)
            self._base.close()
        self._refuse_existing()
        self._part.replace(self._out)

    def _refuse_existing(self) -> None:
        if self._out.exists():
            problem = Problem(
                message="This file stands already; it is not overwritten.",
                mend="Give another name after --out, or take the file away first.",
                file=str(self._out),
            )
            raise InputError.of([problem])

    def _create(self) -> None:
        self._base.executescript(f"BEGIN IMMEDIATE; {CREATE}")
        with _transaction(self._base, begun=True):
            self._base.executemany("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", srs_rows())
            rows = {**self._about.written(), "state": "unfinished"}
            self._base.executemany("INSERT INTO atlas_about VALUES (?, ?)", rows.items())

    def _resume(self) -> None:
        _check_kind(self._base, self._part)
        stands = _about(self._base, self._part).written()
        problems = [
            Problem(
                message=f"An unfinished atlas stands there, made with another {name.replace('_', ' ')}.",
                mend=f"Give the same again, or take {self._part.name} away to begin anew.",
                file=str(self._part),
                field=name,
                value=value,
                limit=stands[name],
            )
            for name, value in self._about.written().items()
            if stands[name] != value
        ]
        if problems:
            raise InputError.of(problems)

    def _keep_lanes(self, fid: int, searched: Searched) -> None:
        lanes = searched.lanes
        if not lanes:
            return
        shapes = [drawn(lane.start, lane.end) for lane in lanes]
        self._base.executemany(
            "INSERT INTO lanes VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'unknown', ?)",
            [
                (fid + i, blob, lane.water, lane.row, lane.ask, lane.heading_deg, lane.length_m,
                 lane.clear_m, lane.width_m, *lane.middle, lane.note)
                for i, (lane, (blob, _)) in enumerate(zip(lanes, shapes, strict=True))
            ],
        )  # fmt: skip
        boxes = [
            (fid + i, west, east, south, north) for i, (_, (west, south, east, north)) in enumerate(shapes)
        ]
        self._base.executemany("INSERT INTO rtree_lanes_geom VALUES (?, ?, ?, ?, ?)", boxes)
        records = np.array(
            [
                (fid + i, lane.row, lane.ask, lane.heading_deg, lane.length_m, lane.width_m, *lane.middle)
                for i, lane in enumerate(lanes)
            ],
            RECORD,
        )
        cells = cell_of(records["lon"], records["lat"])
        for cell in np.unique(cells).tolist():
            shelf = records[cells == cell].tobytes()
            row = (cell, searched.first, shelf, zlib.crc32(shelf))
            self._base.execute("INSERT INTO atlas_shelves VALUES (?, ?, ?, ?)", row)

    def _keep_troubles(self, searched: Searched) -> None:
        for trouble in searched.troubles:
            problem = trouble.problem
            kept = self._base.execute(
                "INSERT INTO problems VALUES (NULL, ?, ?, ?, ?)",
                (problem.row, trouble.water, problem.message, problem.mend),
            )
            if trouble.box is not None:
                west, south, east, north = trouble.box
                self._base.execute(
                    "INSERT INTO atlas_problem_boxes VALUES (?, ?, ?, ?, ?)",
                    (kept.lastrowid, west, east, south, north),
                )

    def _seal(self, now: datetime) -> None:
        box = self._base.execute(
            "SELECT MIN(minx), MIN(miny), MAX(maxx), MAX(maxy) FROM rtree_lanes_geom"
        ).fetchone()
        changed = now.strftime("%Y-%m-%dT%H:%M:%S.000Z")
        self._base.executescript(f"BEGIN IMMEDIATE; {GUARD}")
        with _transaction(self._base, begun=True):
            self._base.executemany(
                "INSERT INTO gpkg_contents VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                [
                    ("lanes", "features", "lanes", LANES_ARE, changed, *box, 4326),
                    (
                        "problems",
                        "attributes",
                        "problems",
                        PROBLEMS_ARE,
                        changed,
                        None,
                        None,
                        None,
                        None,
                        None,
                    ),
                ],
            )
            self._base.execute("UPDATE atlas_about SET value = 'whole' WHERE key = 'state'")


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
            raise _no_atlas(path)
        with _told(path):
            self._base = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None)
            try:
                _check_kind(self._base, path)
                self.about = _about(self._base, path)
                self.whole = _state(self._base) == "whole"
                self.done = _done(self._base)
                self.lanes_held = _count(self._base)
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
        with _told(self._path):
            for run in cells_near(lon, lat, within_m):
                for records, checksum in self._base.execute(
                    "SELECT records, checksum FROM atlas_shelves WHERE cell BETWEEN ? AND ?", run
                ):
                    if zlib.crc32(records) != checksum:
                        raise _broken(self._path, "a shelf of its index does not sum up")
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
        """What is wrong with waters whose box comes near a place, by row; those without a place are left out."""
        rows: set[tuple[int, str, str]] = set()
        with _told(self._path):
            for west, south, east, north in boxes_near(lon, lat, within_m):
                rows |= set(
                    self._base.execute(
                        "SELECT source_row, message, mend FROM problems WHERE fid IN (SELECT id FROM "
                        "atlas_problem_boxes WHERE east >= ? AND west <= ? AND north >= ? AND south <= ?)",
                        (west, east, south, north),
                    )
                )
        return [self._problem(*row) for row in sorted(rows)]

    def problems(self, most: int) -> list[Problem]:
        """The first problems of its waters, by row."""
        with _told(self._path):
            rows = self._base.execute(
                "SELECT source_row, message, mend FROM problems ORDER BY fid LIMIT ?", (most,)
            ).fetchall()
        return [self._problem(*row) for row in rows]

    def _problem(self, row: int, message: str, mend: str) -> Problem:
        return Problem(level="warning", message=message, mend=mend, file=self.about.source, row=row)

    def counts(self) -> dict[str, int]:
        """How many waters were searched, were too small for any lane, and have a problem."""
        with _told(self._path):
            (too_small,) = self._base.execute(
                "SELECT COALESCE(SUM(too_small), 0) FROM atlas_chunks"
            ).fetchone()
            (problems,) = self._base.execute("SELECT COUNT(DISTINCT source_row) FROM problems").fetchone()
        return {"waters": self.done, "too_small": int(too_small), "with_problems": int(problems)}

    def _lane(self, record: np.void) -> AtlasLane:
        with _told(self._path):
            row = self._base.execute(
                "SELECT geom, water, source_row, ask, heading_deg, length_m, clear_m, width_m, middle_lon, "
                "middle_lat, note FROM lanes WHERE fid = ?",
                (int(record["id"]),),
            ).fetchone()
            if row is None or (row[2], row[3], row[5], row[7], row[8], row[9]) != tuple(
                record[name].item() for name in ("row", "ask", "length_m", "width_m", "lon", "lat")
            ):
                raise _broken(self._path, f"lane {int(record['id'])} and its index differ")
        start, end = ends_of(row[0]) or (None, None)
        if start is None or end is None:
            raise _broken(self._path, f"lane {int(record['id'])} has no shape")
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


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Whatever the disk or the file refuses, in words."""
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "SQLITE_CONSTRAINT")
        known = _TOLD.get(name) or _TOLD.get("_".join(name.split("_")[:2]))
        if known is None:
            raise _broken(path, str(error)) from error
        raise InputError.of([Problem(message=known[0], mend=known[1], file=str(path))]) from error


@contextmanager
def _transaction(base: sqlite3.Connection, *, begun: bool = False) -> Iterator[None]:
    if not begun:
        base.execute("BEGIN IMMEDIATE")
    try:
        yield
        base.execute("COMMIT")
    except BaseException:
        if base.in_transaction:
            base.execute("ROLLBACK")
        raise


def _check_kind(base: sqlite3.Connection, path: Path) -> None:
    """Refuse another kind of database, and one that was cut short."""
    (application,) = base.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION_ID or not {"lanes", "atlas_about", "atlas_shelves"} <= _tables(base):
        raise _no_atlas(path)
    (pages,), (size,) = (base.execute(f"PRAGMA {name}").fetchone() for name in ("page_count", "page_size"))
    if path.stat().st_size < pages * size:
        raise _broken(path, f"{path.stat().st_size} of {pages * size} bytes are there")


def _tables(base: sqlite3.Connection) -> set[str]:
    return {name for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


def _about(base: sqlite3.Connection, path: Path) -> AtlasAbout:
    try:
        return AtlasAbout.read(dict(base.execute("SELECT key, value FROM atlas_about")))
    except (KeyError, TypeError, ValueError) as error:
        raise _broken(path, f"it does not say how it was made: {error}") from error


def _state(base: sqlite3.Connection) -> str:
    row = base.execute("SELECT value FROM atlas_about WHERE key = 'state'").fetchone()
    return "" if row is None else str(row[0])


def _done(base: sqlite3.Connection) -> int:
    row = base.execute("SELECT first + count FROM atlas_chunks ORDER BY first DESC LIMIT 1").fetchone()
    return 0 if row is None else int(row[0])


def _count(base: sqlite3.Connection) -> int:
    row = base.execute("SELECT MAX(fid) FROM lanes").fetchone()
    return int(row[0] or 0)


def _no_atlas(path: Path) -> InputError:
    problem = Problem(
        message="This is no atlas.",
        mend="Make one with `wetline atlas WATER --out FILE` and give its name.",
        file=str(path),
    )
    return InputError.of([problem])


def _broken(path: Path, how: str) -> InputError:
    return InputError.of([Problem(message=f"{_DAMAGED}: {how}.", mend=_ANEW, file=str(path))])
