"""Generic aircraft classes and the aircraft of one day."""

from wetline.aircraft.classes import CLASS_IDS, SOURCE_KINDS, aircraft_classes
from wetline.aircraft.fleet import Aircraft, AircraftClass, Quantity
from wetline.aircraft.performance import (
    LoadRule,
    Phases,
    climb_gradient,
    load_rule,
    phases,
    runway_needed_m,
)

__all__ = [
    "CLASS_IDS",
    "SOURCE_KINDS",
    "Aircraft",
    "AircraftClass",
    "LoadRule",
    "Phases",
    "Quantity",
    "aircraft_classes",
    "climb_gradient",
    "load_rule",
    "phases",
    "runway_needed_m",
]
