"""Generic aircraft classes and the aircraft of one day."""

from wetline.aircraft.fleet import Aircraft, AircraftClass, Quantity

__all__ = ["Aircraft", "AircraftClass", "Quantity"]
