"""Whether a file is what its ending says, and whole, before anything of it is believed.

The libraries that read them give what they can of a file that was cut short, without a word.
"""

from __future__ import annotations

import sqlite3
import struct
from typing import TYPE_CHECKING
from urllib.parse import quote

from wetline.store.files import check_size

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.store.problems import Complaints

__all__ = ["is_whole", "is_whole_netcdf"]

_MEND = "Take a whole copy from where it came, or name it by what it is."


def is_whole(path: Path, complaints: Complaints, *, any_size: bool = False) -> bool:
    """Whether a file is of the format that its ending says, not cut and not too large; complains if not."""
    if not path.is_file():
        complaints.error("This is a folder, not a file.", "Put the file in its place.")
        return False
    if not any_size and not check_size(path.stat().st_size, complaints):
        return False
    ending = path.suffix.lower()
    try:
        if ending == ".gpkg":
            return _whole_geopackage(path, complaints)
        if ending == ".shp":
            return _whole_shapefile(path, complaints)
        with path.open("rb") as stream:
            return _begins(stream.read(8), b"fgb\x03", "FlatGeobuf", complaints)
    except OSError as error:
        complaints.error(f"The file cannot be read: {error.strerror or error}.", "See that you may read it.")
        return False


def is_whole_netcdf(path: Path, complaints: Complaints) -> bool:
    """Whether a file of the classic format holds all that its header promises.

    The reading library takes what lies beyond the end of such a file as zeros: a calm that never was.
    """
    with path.open("rb") as stream:
        head = stream.read(4)
    if not head.startswith(b"CDF"):
        return True
    if head not in {b"CDF\x01", b"CDF\x02"}:
        complaints.error(
            "The file is of a rare classic kind, whose wholeness is not checked here.", "Save it as NetCDF-4.",
            field="format", value=head[3:].hex(), limit="01, 02",
        )  # fmt: skip
        return False
    from scipy.io import netcdf_file  # noqa: PLC0415  only for this format

    try:
        with netcdf_file(str(path), mmap=False):
            return True
    except (ValueError, TypeError, KeyError, IndexError, OverflowError, MemoryError, AssertionError):
        complaints.error("The file is cut short or damaged.", "Take a whole copy from where it came.")
        return False


def _begins(head: bytes, magic: bytes, name: str, complaints: Complaints) -> bool:
    if not head:
        complaints.error("The file is empty.", "Fill it, or take it out of the folder.")
    elif not head.startswith(magic):
        complaints.error(f"The file is no {name}.", _MEND, field="first bytes")
    return head.startswith(magic)


def _whole_geopackage(path: Path, complaints: Complaints) -> bool:
    """A database whose pages agree: OGC GeoPackage 1.3, clause 1.1.1, is an SQLite file."""
    with path.open("rb") as stream:
        if not _begins(stream.read(16), b"SQLite format 3\0", "GeoPackage", complaints):
            return False
    try:
        database = sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True)
        try:
            (said,) = database.execute("PRAGMA quick_check(1)").fetchone()
        finally:
            database.close()
    except (sqlite3.Error, UnicodeDecodeError) as error:  # a damaged page may name itself in no letters
        said = str(error)
    if said != "ok":
        complaints.error(f"The GeoPackage is cut or damaged: {str(said).splitlines()[0]}.", _MEND)
    return bool(said == "ok")


def _whole_shapefile(path: Path, complaints: Complaints) -> bool:
    """The three files that belong together, each as long as its header says.

    Layout: ESRI Shapefile Technical Description (1998), p. 4 and 23; the table is dBASE III.
    """
    beside = {p.suffix.lower(): p for p in path.parent.iterdir() if p.stem == path.stem}
    for ending in (".shx", ".dbf"):
        if ending not in beside:
            complaints.error(
                f"{path.stem}{ending} is missing: a shapefile is several files.",
                "Copy all files of that name: .shp, .shx, .dbf and .prj.",
                field=ending,
            )
            return False
    counts = {}
    for ending in (".shp", ".shx"):
        with beside[ending].open("rb") as stream:
            head = stream.read(100)
        if not _begins(head, b"\0\0\x27\x0a", f"shapefile ({ending})", complaints):
            return False
        says = 2 * struct.unpack(">i", head[24:28])[0] if len(head) == 100 else 100
        if not _long_enough(beside[ending], says, complaints):
            return False
        counts[ending] = (says - 100) // 8
    with beside[".dbf"].open("rb") as stream:
        head = stream.read(32)
    if len(head) < 32:
        return _long_enough(beside[".dbf"], 32, complaints)
    rows, first, each = struct.unpack("<IHH", head[4:12])
    if rows != counts[".shx"]:
        complaints.error(
            f"The table has {rows} rows, the index {counts['.shx']} shapes: the files do not belong together.",
            "Copy all files of that name afresh.", field=".dbf", value=rows, limit=str(counts[".shx"]),
        )  # fmt: skip
        return False
    return _long_enough(beside[".dbf"], first + rows * each, complaints)


def _long_enough(path: Path, says: int, complaints: Complaints) -> bool:
    size = path.stat().st_size
    if size < says:
        complaints.error(
            f"{path.name} is cut short.",
            _MEND,
            field=path.suffix,
            value=f"{size} bytes",
            limit=f"{says} bytes",
        )
    return size >= says
