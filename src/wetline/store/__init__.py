"""The incident folder: read, checked and written."""

from wetline.store.class_page import aircraft_page
from wetline.store.files import write_bytes_atomic, write_text_atomic
from wetline.store.folder import CheckResult, check_folder, read_incident
from wetline.store.growth_maps import geotiff
from wetline.store.incident import Incident
from wetline.store.limits import limits_page
from wetline.store.water_file import WaterFile, read_water_file

__all__ = [
    "CheckResult",
    "Incident",
    "WaterFile",
    "aircraft_page",
    "check_folder",
    "geotiff",
    "limits_page",
    "read_incident",
    "read_water_file",
    "write_bytes_atomic",
    "write_text_atomic",
]
