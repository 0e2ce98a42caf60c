"""Marks as KML 2.2: a folder a layer, every fact as a value of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from wetline.store.export import fact_words

if TYPE_CHECKING:
    from wetline.store.export import Mark, Sheet

__all__ = ["kml_text"]

_NAMESPACE = "http://www.opengis.net/kml/2.2"
_DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>\n'


def kml_text(sheet: Sheet) -> str:
    """A KML document; elements in the order that the schema asks for."""
    root = ET.Element("kml", {"xmlns": _NAMESPACE})
    document = ET.SubElement(root, "Document")
    ET.SubElement(document, "name").text = sheet.title_of()
    ET.SubElement(document, "description").text = sheet.words()
    for layer in dict.fromkeys(mark.layer for mark in sheet.marks):
        folder = ET.SubElement(document, "Folder")
        ET.SubElement(folder, "name").text = layer
        for mark in sheet.marks:
            if mark.layer == layer:
                _placemark(folder, mark, sheet)
    return _DECLARATION + ET.tostring(root, encoding="unicode") + "\n"


def _placemark(folder: ET.Element, mark: Mark, sheet: Sheet) -> None:
    place = ET.SubElement(folder, "Placemark")
    ET.SubElement(place, "name").text = sheet.title_of(mark)
    ET.SubElement(place, "description").text = f"{mark.words()}\n{sheet.words()}"
    values = ET.SubElement(place, "ExtendedData")
    for name, fact in {"id": mark.id, "level": mark.level, "for_time": sheet.time, **mark.facts}.items():
        data = ET.SubElement(values, "Data", {"name": name})
        ET.SubElement(data, "value").text = fact_words(fact)
    line = len(mark.places) > 1
    shape = ET.SubElement(place, "LineString" if line else "Point")
    if line:
        ET.SubElement(shape, "tessellate").text = "1"
    ET.SubElement(shape, "coordinates").text = " ".join(f"{lon:.7f},{lat:.7f}" for lon, lat in mark.places)
