"""The pack as one PDF: contents to data, data to the page template, bytes to the disk."""

from __future__ import annotations

import json
import os
import tempfile
from datetime import UTC
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from wetline.briefing.glyphs import GLYPHS
from wetline.briefing.map_page import map_content
from wetline.briefing.metrics import font_folder, text_width, wrapped
from wetline.briefing.sheet import sheet_content
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from wetline.briefing.pack import BriefPack

__all__ = ["pdf_bytes", "write_pack"]


def pdf_bytes(pack: BriefPack) -> bytes:
    """The papers as a PDF. The same pack gives the same bytes.

    Raises
    ------
    InputError
        If the pack carries no caution, or two sheets bear one number.
    """
    import typst  # noqa: PLC0415 - late: the command line starts without it

    _check(pack)
    content, picture = map_content(pack)
    data = {
        "title": f"{pack.incident}, {pack.made.astimezone(pack.zone):%Y-%m-%d %H:%M}",
        "glyphs": GLYPHS,
        "foot_pt": _foot_pt(pack),
        "map": content,
        "sheets": [{**sheet_content(s, pack), "index": i} for i, s in enumerate(pack.sheets)],
    }
    template = (resources.files("wetline.briefing") / "pack.typ").read_bytes()
    files = {"main.typ": template, "pack.json": json.dumps(data, allow_nan=False).encode()}
    if picture is not None:
        files["ground.png"] = picture
    with tempfile.TemporaryDirectory() as folder, resources.as_file(font_folder()) as fonts:
        for name, content_bytes in files.items():
            (Path(folder) / name).write_bytes(content_bytes)
        pdf: bytes = typst.compile(
            Path(folder) / "main.typ",
            root=Path(folder),
            font_paths=[fonts],
            ignore_system_fonts=True,
            timestamp=pack.made.astimezone(UTC),
        )
    return pdf


def write_pack(pack: BriefPack, path: Path) -> None:
    """Write the papers to `path`, wholly or not at all; its folder is made where it is missing.

    Raises
    ------
    InputError
        As `pdf_bytes`.
    OSError
        If the folder cannot be written.
    """
    pdf = pdf_bytes(pack)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(pdf)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(0o644)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def _foot_pt(pack: BriefPack) -> float:
    """Height [pt] of the foot of a sheet: the caution beside the page's number, on one line or more."""
    number = text_width(f"Sheet {max((s.number for s in pack.sheets), default=0)}, page 9 of 9")
    lines = len(wrapped(pack.cautions[0], 190 / 25.4 * 72 - 9 - number, bold=True))
    return 7.5 + 12.75 * lines


def _check(pack: BriefPack) -> None:
    numbers = [s.number for s in pack.sheets]
    problems = []
    if not pack.cautions:
        problems.append(
            Problem(
                message="The pack carries no caution.", mend="Give the cautions that stand on every sheet."
            )
        )
    problems += [
        Problem(message=f"Two sheets are numbered {n}.", mend="Give each sheet its own number.", value=str(n))
        for n in sorted(set(numbers))
        if numbers.count(n) > 1
    ]
    if problems:
        raise InputError.of(problems)
