"""Generic aircraft classes and the aircraft of one day."""

from wetline.aircraft.classes import CLASS_IDS, FILLS, SOURCE_KINDS, WAYS, aircraft_classes
from wetline.aircraft.fleet import Aircraft, AircraftClass, Fill, Quantity, Rates, Relief
from wetline.aircraft.performance import (
    LoadRule,
    Phases,
    climb_gradient,
    climb_rate_mps,
    load_rule,
    phases,
    runway_needed_m,
)
from wetline.aircraft.rules import Known, contradictions, known_quantities, looser, quantity_problems

__all__ = [
    "CLASS_IDS",
    "FILLS",
    "SOURCE_KINDS",
    "WAYS",
    "Aircraft",
    "AircraftClass",
    "Fill",
    "Known",
    "LoadRule",
    "Phases",
    "Quantity",
    "Rates",
    "Relief",
    "aircraft_classes",
    "climb_gradient",
    "climb_rate_mps",
    "contradictions",
    "known_quantities",
    "load_rule",
    "looser",
    "phases",
    "quantity_problems",
    "runway_needed_m",
]
