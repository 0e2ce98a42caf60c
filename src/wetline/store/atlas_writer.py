"""An atlas being written, a chunk at a time, so that a kill loses one chunk at most.

While it is made it stands beside its name with `.part` at the end; whole, it is renamed. A chunk's lanes,
its index and the note that it is done are one transaction.
"""

from __future__ import annotations

import sqlite3
import zlib
from contextlib import contextmanager
from typing import TYPE_CHECKING, Self

import numpy as np

from wetline.errors import InputError, Problem
from wetline.store.atlas_base import (
    about_of,
    check_kind,
    damaged,
    features_done,
    lanes_held,
    state_of,
    tables_of,
    told,
    unfinished,
)
from wetline.store.atlas_schema import CREATE, GUARD, LANES_ARE, PROBLEMS_ARE, drawn, srs_rows
from wetline.water import RECORD, cell_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from wetline.store.atlas_base import AtlasAbout
    from wetline.water import Searched

__all__ = ["AtlasWriter"]


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
        with told(self._part):
            self._base = sqlite3.connect(self._part, isolation_level=None)
            try:
                if tables_of(self._base):
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
        with told(self._part):
            return features_done(self._base)

    @property
    def lanes(self) -> int:
        """How many lanes stand in it."""
        with told(self._part):
            return lanes_held(self._base)

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
        with told(self._part), _transaction(self._base):
            if features_done(self._base) != searched.first:
                raise sqlite3.IntegrityError
            fid = lanes_held(self._base) + 1
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
        with told(self._part):
            if features_done(self._base) != self._about.features:
                raise damaged(
                    self._part, f"{features_done(self._base)} of {self._about.features} features are in it"
                )
            if state_of(self._base) != "whole":
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
        check_kind(self._base, self._part)
        stands = about_of(self._base, self._part).written()
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
                "INSERT INTO problems VALUES (NULL, ?, ?, ?, ?, ?)",
                (problem.row, trouble.water, problem.message, problem.mend, trouble.box is not None),
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
