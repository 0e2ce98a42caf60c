"""The incident folder: read, checked and written."""

from wetline.store.atlas_base import AtlasAbout, is_database, unfinished
from wetline.store.atlas_file import AtlasFile
from wetline.store.atlas_source import CHUNK, WaterSource, open_water_source
from wetline.store.atlas_writer import AtlasWriter
from wetline.store.class_page import aircraft_page
from wetline.store.drop_tests import read_drop_tests
from wetline.store.drop_tests_page import drop_tests_template
from wetline.store.export import Fact, Layer, Mark, Sheet
from wetline.store.export_geopackage import geopackage_bytes
from wetline.store.export_gpx import gpx_text
from wetline.store.export_kml import kml_text
from wetline.store.files import write_bytes_atomic, write_text_atomic
from wetline.store.folder import CheckResult, check_folder, read_incident
from wetline.store.growth_maps import geotiff
from wetline.store.incident import Incident
from wetline.store.limits import limits_page
from wetline.store.water_file import WaterFile, read_water_file

__all__ = [
    "CHUNK",
    "AtlasAbout",
    "AtlasFile",
    "AtlasWriter",
    "CheckResult",
    "Fact",
    "Incident",
    "Layer",
    "Mark",
    "Sheet",
    "WaterFile",
    "WaterSource",
    "aircraft_page",
    "check_folder",
    "drop_tests_template",
    "geopackage_bytes",
    "geotiff",
    "gpx_text",
    "is_database",
    "kml_text",
    "limits_page",
    "open_water_source",
    "read_drop_tests",
    "read_incident",
    "read_water_file",
    "unfinished",
    "write_bytes_atomic",
    "write_text_atomic",
]
