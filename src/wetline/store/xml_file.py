"""XML read with its faults named by line; declarations that could make it grow are refused."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from collections.abc import Iterator

    from wetline.store.problems import Complaints

__all__ = ["child", "children", "local", "parse_xml", "text_of"]

_DOCTYPE = re.compile(rb"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)


def local(element: ET.Element) -> str:
    """An element's name without its namespace."""
    return str(element.tag).rpartition("}")[2]


def children(element: ET.Element, name: str) -> Iterator[ET.Element]:
    """The elements of a name directly below another."""
    return (part for part in element if local(part) == name)


def child(element: ET.Element, name: str) -> ET.Element | None:
    """The first element of a name directly below another."""
    return next(children(element, name), None)


def text_of(element: ET.Element | None) -> str:
    """The words of an element without children, stripped."""
    return "" if element is None or element.text is None else element.text.strip()


def parse_xml(data: bytes, root: str, complaints: Complaints) -> ET.Element | None:
    """The root of an XML document that must have that name; None after a complaint.

    A document type is refused: it may hold entities that grow without end or read other files, and
    neither KML nor GPX has one.
    """
    if not data.strip(b"\0 \t\r\n"):
        complaints.error("The file is empty.", "Fill it, or take it out of the folder.")
        return None
    if _DOCTYPE.search(data.replace(b"\0", b"")):
        complaints.error("The file declares a document type.", "Take the declaration out.", field="DOCTYPE")
        return None
    try:
        found = ET.fromstring(data)  # noqa: S314  declarations of entities were refused above
    except ET.ParseError as error:
        line, column = error.position
        reason = str(error).partition(":")[0]
        complaints.error(
            f"Line {line}, column {column + 1} is not XML: {reason}.",
            "The file may be cut short or of another format: take a whole copy, or mend that line.",
            field=f"line {line}",
        )
        return None
    except (LookupError, ValueError, RecursionError) as error:
        complaints.error(f"The file is not XML that can be read: {error}.", "Save it as UTF-8.")
        return None
    if local(found) != root:
        complaints.error(
            f"The file is no {root.upper()}: its root element is <{local(found)}>.",
            f"Save it as {root.upper()}, or name it by what it is.",
            field="root",
            value=local(found),
            limit=root,
        )
        return None
    return found
