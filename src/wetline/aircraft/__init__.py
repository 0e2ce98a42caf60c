"""Generic aircraft classes and the aircraft of one day."""

from wetline.aircraft.classes import CLASS_IDS, SOURCE_KINDS, aircraft_classes
from wetline.aircraft.fleet import Aircraft, AircraftClass, Quantity

__all__ = ["CLASS_IDS", "SOURCE_KINDS", "Aircraft", "AircraftClass", "Quantity", "aircraft_classes"]
