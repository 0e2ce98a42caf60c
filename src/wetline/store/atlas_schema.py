"""The tables of an atlas: a GeoPackage of lanes, and beside them what makes it resumable and quick to ask.

Standard: OGC 12-128r18, GeoPackage Encoding 1.3 (clause 2 and the extension for R-tree indexes).
"""

from __future__ import annotations

import math
import struct
from typing import TYPE_CHECKING

import pyproj

if TYPE_CHECKING:
    Place = tuple[float, float]
    Box = tuple[float, float, float, float]

__all__ = [
    "APPLICATION_ID",
    "CREATE",
    "GUARD",
    "LANES_ARE",
    "PROBLEMS_ARE",
    "drawn",
    "ends_of",
    "parts_of_line",
    "srs_rows",
]

APPLICATION_ID = 0x47504B47
"""`GPKG`, 1196444487: OGC 12-128r18, requirement 2."""
LANES_ARE = (
    "Straight clear water, each lane proved against the drawn shore. "
    "Only the shore is known: depth, wires, boats, closures and terrain are not."
)
PROBLEMS_ARE = "Waters that were repaired or not searched, and why."

_HEADER = struct.Struct("<2sBBi4d")
_MULTI, _LINE = struct.Struct("<BII"), struct.Struct("<BII4d")  # well-known binary, little-endian
_PLACE = struct.Struct("<2d")
_LEAST_BYTES = _HEADER.size + _MULTI.size + _LINE.size
_LITTLE_ENDIAN_WITH_BOX = 0b00000011
_WGS84 = 4326

_GEOPACKAGE = """
PRAGMA application_id = 1196444487;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '', last_change DATETIME NOT NULL,
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  PRIMARY KEY (table_name, column_name), UNIQUE (table_name),
  FOREIGN KEY (table_name) REFERENCES gpkg_contents (table_name),
  FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_extensions (
  table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL,
  scope TEXT NOT NULL, UNIQUE (table_name, column_name, extension_name));
INSERT INTO gpkg_geometry_columns VALUES ('lanes', 'geom', 'MULTILINESTRING', 4326, 0, 0);
INSERT INTO gpkg_extensions VALUES ('lanes', 'geom', 'gpkg_rtree_index',
  'http://www.geopackage.org/spec120/#extension_rtree', 'write-only');
"""
_LANES = """
CREATE TABLE lanes (
  fid INTEGER PRIMARY KEY, geom BLOB NOT NULL, water TEXT, source_row INTEGER NOT NULL, ask INTEGER NOT NULL,
  heading_deg REAL NOT NULL, length_m REAL NOT NULL, clear_m REAL NOT NULL, width_m REAL NOT NULL,
  middle_lon REAL NOT NULL, middle_lat REAL NOT NULL, level TEXT NOT NULL, note TEXT);
CREATE VIRTUAL TABLE rtree_lanes_geom USING rtree(id, minx, maxx, miny, maxy);
CREATE TABLE problems (
  fid INTEGER PRIMARY KEY, source_row INTEGER NOT NULL, water TEXT, message TEXT NOT NULL, mend TEXT NOT NULL,
  has_place INTEGER NOT NULL);
CREATE INDEX atlas_problems_nowhere ON problems (source_row) WHERE has_place = 0;
CREATE VIRTUAL TABLE atlas_problem_boxes USING rtree(id, west, east, south, north);
"""
_ATLAS = """
CREATE TABLE atlas_about (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE atlas_chunks (
  first INTEGER PRIMARY KEY, count INTEGER NOT NULL, lanes INTEGER NOT NULL, too_small INTEGER NOT NULL);
CREATE TABLE atlas_shelves (
  cell INTEGER NOT NULL, chunk INTEGER NOT NULL, records BLOB NOT NULL, checksum INTEGER NOT NULL,
  PRIMARY KEY (cell, chunk)) WITHOUT ROWID;
"""
CREATE = _GEOPACKAGE + _LANES + _ATLAS

GUARD = "".join(
    f"CREATE TRIGGER no_{verb.lower()}_of_{table} BEFORE {verb} ON {table} "
    "BEGIN SELECT RAISE(ABORT, 'an atlas is made anew, not edited'); END;\n"
    for table in ("lanes", "atlas_shelves", "problems")
    for verb in ("INSERT", "UPDATE", "DELETE")
)
"""A whole atlas refuses edits: its lanes were proved against the shore, and two indexes stand for them.

They stand in place of the triggers that keep an R-tree in step, which the extension asks for.
"""


def srs_rows() -> list[tuple[str, int, str, int, str, str | None]]:
    """The three reference systems that every GeoPackage names (requirement 11)."""
    wgs84 = pyproj.CRS.from_epsg(_WGS84).to_wkt("WKT1_GDAL")
    return [
        ("Undefined cartesian SRS", -1, "NONE", -1, "undefined", None),
        ("Undefined geographic SRS", 0, "NONE", 0, "undefined", None),
        ("WGS 84 geodetic", _WGS84, "EPSG", _WGS84, wgs84, "longitude, latitude [deg]"),
    ]


def drawn(start: Place, end: Place) -> tuple[bytes, Box]:
    """A lane as the GeoPackage binary of a MultiLineString (clause 2.1.3), and its box.

    One across the antimeridian stands in two parts, cut at ±180°.
    """
    parts = parts_of_line(start, end)
    lons = [place[0] for part in parts for place in part]
    lats = [place[1] for part in parts for place in part]
    box = (min(lons), min(lats), max(lons), max(lats))
    header = _HEADER.pack(b"GP", 0, _LITTLE_ENDIAN_WITH_BOX, _WGS84, box[0], box[2], box[1], box[3])
    lines = (_LINE.pack(1, 2, 2, *a, *b) for a, b in parts)
    return b"".join([header, _MULTI.pack(1, 5, len(parts)), *lines]), box


def parts_of_line(start: Place, end: Place) -> list[tuple[Place, Place]]:
    """A line between two places; one across the antimeridian in two parts, cut at ±180° (RFC 7946, 3.1.9)."""
    if abs(start[0] - end[0]) <= 180.0:
        return [(start, end)]
    side = 180.0 if start[0] > 0.0 else -180.0
    beyond = end[0] + 2.0 * side
    share = (side - start[0]) / (beyond - start[0])
    lat = start[1] + share * (end[1] - start[1])
    return [(start, (side, lat)), ((-side, lat), end)]


def ends_of(blob: bytes) -> tuple[Place, Place] | None:
    """Start and end of a lane out of its GeoPackage binary; None of bytes that are none of ours."""
    if len(blob) < _LEAST_BYTES or blob[:2] != b"GP":
        return None
    first, last = (
        _PLACE.unpack_from(blob, _LEAST_BYTES - 2 * _PLACE.size),
        _PLACE.unpack(blob[-_PLACE.size :]),
    )
    if not all(map(math.isfinite, (*first, *last))):
        return None
    return (first[0], first[1]), (last[0], last[1])
