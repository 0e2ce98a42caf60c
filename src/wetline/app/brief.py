"""The brief, as an answer: one PDF with the incident map and one sheet a crew, and the runs as files."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from wetline.app.answer import Answer, envelope
from wetline.app.brief_basis import basis_of, crews_of
from wetline.app.brief_files import runs_sheet
from wetline.app.brief_findings import pack_findings, stop_stands
from wetline.app.brief_map import map_page, wind_now
from wetline.app.brief_sheet import crew_sheet
from wetline.app.marks import file_bytes, write_files
from wetline.app.plan import planned
from wetline.briefing import BriefPack, write_pack
from wetline.cautions import CAUTIONS
from wetline.errors import InputError, Problem
from wetline.model import NotYet

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.app.plan import Planned
    from wetline.briefing import Units

__all__ = ["NOT_YET", "brief_answer", "pack_of"]

NOT_YET = (
    NotYet(
        "circuit",
        "circuits are sketches: terrain does not choose their hand, and airspace along them is not checked",
    ),
    NotYet("changed", "sheets are not compared with earlier ones yet"),
    NotYet("looks", "looks at water and confirmations are not logged yet"),
)


def pack_of(done: Planned, units: Units | None) -> tuple[BriefPack, bool]:
    """The papers of a plan, and whether a stop stands against what they tell people to do."""
    basis, incident = basis_of(done, units), done.situation.incident
    crews = crews_of(done)
    sheets = [crew_sheet(basis, crew, crews) for crew in crews]
    everywhere = pack_findings(basis)
    pack = BriefPack(
        incident=incident.name,
        made=done.situation.now,
        zone=incident.zone,
        projection=incident.ground.grid.projection,
        map=map_page(basis, crews),
        sheets=tuple(sheet for sheet, _ in sheets),
        cautions=CAUTIONS,
        place=incident.place or None,
        exercise=incident.exercise,
        version=f"{done.members} varied futures, seed {done.seed}",
        variation_deg=incident.magnetic_variation_deg,
        variation_date=incident.variation_date,
        wind=wind_now(basis),
        units=basis.units,
        findings=everywhere,
    )
    standing = (*everywhere, *(f for _, found in sheets for f in found))
    return pack, stop_stands(basis, standing)


def brief_answer(
    folder: Path, *, out: Path | None, units: Units | None, members: int, at: str | None, seed: int
) -> Answer:
    """Plan, and write `brief.pdf` and the sheets' runs, `runs.gpx`, `.kml` and `.gpkg`, into `out`.

    `out` None: into `brief` in the incident folder. Files of runs are written where there are none, too: an
    earlier brief's would be taken for this one's.

    Raises
    ------
    InputError, OutsideRangeError
        As `planned`, or if the folder for the files cannot be written. Nothing is then half written.
    """
    done = planned(folder, at=at, members=members, seed=seed)
    pack, stopped = pack_of(done, units)
    files = file_bytes(runs_sheet(basis_of(done, units), crews_of(done)))
    path = (folder / "brief" if out is None else out) / "brief.pdf"
    try:
        write_pack(pack, path)
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        runs = write_files(path.parent, "runs", files, digest=True)
    except OSError as error:
        problem = Problem(
            message=f"The brief cannot be written: {error.strerror or error}.",
            mend="Give a folder that you may write with --out.",
            file=str(path),
        )
        raise InputError.of([problem]) from error
    answer = envelope(
        incident=pack.incident,
        time=done.situation.now,
        zone=done.situation.incident.zone,
        seed=seed,
        members=members,
        cell_m=done.situation.incident.ground.grid.cell_m,
        not_yet=NOT_YET,
    )
    answer["files"] = [{"kind": "pdf", "path": str(path), "sha256": digest}, *runs]
    answer["sheets"] = [
        {"number": s.number, "call_signs": list(s.call_signs), "run": s.run.id if s.run else None}
        for s in pack.sheets
    ]
    answer["why_unknown"] = done.why
    answer["exit_code"] = 3 if stopped else 0
    return answer
