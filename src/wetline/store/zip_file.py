"""Members of an archive, read within the limit that holds for any file."""

from __future__ import annotations

import zipfile
import zlib
from typing import TYPE_CHECKING

from wetline.store.files import MOST_BYTES, check_size

if TYPE_CHECKING:
    from wetline.store.problems import Complaints

__all__ = ["ARCHIVE_FAILURES", "member_bytes", "why"]

ARCHIVE_FAILURES = (
    zipfile.BadZipFile, OSError, EOFError, RuntimeError, NotImplementedError, ValueError, zlib.error,
)  # fmt: skip
"""What a damaged, locked or strangely packed archive raises."""


def member_bytes(archive: zipfile.ZipFile, name: str, complaints: Complaints) -> bytes | None:
    """The bytes of a member; None after a complaint that it is too large when unpacked.

    Raises
    ------
    ARCHIVE_FAILURES
        If the member is damaged, locked by a password or packed in an unknown way.
    """
    if not check_size(archive.getinfo(name).file_size, complaints):
        return None
    with archive.open(name) as stream:
        data = stream.read(MOST_BYTES + 1)
    return data if check_size(len(data), complaints) else None


def why(error: BaseException) -> str:
    """The reason alone, without the path that the system adds."""
    return str(error.strerror if isinstance(error, OSError) and error.strerror else error).rstrip(".")
