"""Marks as GPX 1.1: points as waypoints, lines as routes in the direction flown."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from wetline.store.export import Mark, Sheet

__all__ = ["gpx_text"]

_NAMESPACE = "http://www.topografix.com/GPX/1/1"
_DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>\n'


def gpx_text(sheet: Sheet) -> str:
    """A GPX document; elements in the order that the schema asks for, metadata and waypoints first."""
    root = ET.Element("gpx", {"version": "1.1", "creator": "Wetline", "xmlns": _NAMESPACE})
    about = ET.SubElement(root, "metadata")
    _add(about, name=sheet.title_of(), desc=sheet.words(), time=sheet.time)
    for mark in sheet.marks:
        if len(mark.places) == 1:
            point = ET.SubElement(root, "wpt", _place(mark.places[0]))
            _add(point, name=sheet.title_of(mark), desc=mark.words(), type=mark.layer)
    for mark in sheet.marks:
        if len(mark.places) > 1:
            _route(root, mark, sheet)
    return _DECLARATION + ET.tostring(root, encoding="unicode") + "\n"


def _route(root: ET.Element, mark: Mark, sheet: Sheet) -> None:
    route = ET.SubElement(root, "rte")
    _add(route, name=sheet.title_of(mark), desc=mark.words(), type=mark.layer)
    for k, place in enumerate(mark.places):
        end = "start" if k == 0 else "end" if k == len(mark.places) - 1 else str(k)
        _add(ET.SubElement(route, "rtept", _place(place)), name=f"{mark.id} {end}")


def _add(parent: ET.Element, **texts: str) -> None:
    for name, text in texts.items():
        ET.SubElement(parent, name).text = text


def _place(place: tuple[float, float]) -> dict[str, str]:
    return {"lat": f"{place[1]:.7f}", "lon": f"{place[0]:.7f}"}
