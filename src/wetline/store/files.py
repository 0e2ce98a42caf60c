"""Reading text that people saved with any editor, and writing so that no half file is ever left."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wetline.store.problems import Complaints

__all__ = [
    "MOST_BYTES",
    "check_size",
    "read_bytes",
    "read_text",
    "remark_open_end",
    "write_bytes_atomic",
    "write_text_atomic",
]

MOST_BYTES = 512 * 2**20
"""Far above any hand-readable incident file; guards the memory of a laptop."""
_UTF8_BOM, _UTF16_BOMS = b"\xef\xbb\xbf", (b"\xff\xfe", b"\xfe\xff")


def check_size(size: int, complaints: Complaints) -> bool:
    """Whether a file of so many bytes may be read; complains if not."""
    if size > MOST_BYTES:
        complaints.error(
            "The file is too large to read.",
            "Cut it to the surroundings of the fire.",
            value=f"{size / 2**20:.0f} MiB",
            limit=f"{MOST_BYTES // 2**20} MiB",
        )
    return size <= MOST_BYTES


def read_bytes(path: Path, complaints: Complaints) -> bytes | None:
    """The bytes of a file that is not too large; None after a complaint."""
    try:
        return path.read_bytes() if check_size(path.stat().st_size, complaints) else None
    except OSError as error:
        complaints.error(
            f"The file cannot be read: {error.strerror or error}.",
            "See that it is a plain file that you may read.",
        )
        return None


def read_text(path: Path, complaints: Complaints) -> str | None:
    """The text of a UTF-8 file, byte-order mark and CRLF taken away; None after a complaint."""
    data = read_bytes(path, complaints)
    if data is None:
        return None
    if data.startswith(_UTF16_BOMS):
        complaints.error("The file is saved as UTF-16.", "Save it as UTF-8.")
        return None
    try:
        text = data.removeprefix(_UTF8_BOM).decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        complaints.error(f"Line {line} is not UTF-8 text.", "Save the file as UTF-8.", value=f"line {line}")
        return None
    if not text.strip("\0 \t\r\n"):
        complaints.error("The file is empty.", "Fill it, or take it out of the folder.")
        return None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        complaints.error(
            f"Line {line} holds a zero byte: the file is damaged or no text.",
            "Take a whole copy from where it came.",
            value=f"line {line}",
        )
        return None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def remark_open_end(text: str, complaints: Complaints) -> None:
    """Warn of a text by lines that does not end with a line end: its last number may lack digits."""
    if not text.endswith("\n"):
        complaints.warning(
            "The file does not end with a line end: it may be cut short.",
            "Compare its last line with the source, then end it with a line end.",
            field="last line",
            value=text.rpartition("\n")[2],
        )


def write_bytes_atomic(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: beside it first, flushed to the disk, then renamed over it.

    Raises
    ------
    OSError
        If the folder cannot be written to; an older file then stands as it was.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(path.stat().st_mode if path.exists() else 0o644)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def write_text_atomic(path: Path, text: str) -> None:
    """Write UTF-8 text whole or not at all."""
    write_bytes_atomic(path, text.encode("utf-8"))
