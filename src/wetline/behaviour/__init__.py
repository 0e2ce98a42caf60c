"""How fast and how hard the fire spreads: rate, direction, shape, intensity, flame length."""

from wetline.behaviour.fields import FireAt, FireFields

__all__ = ["FireAt", "FireFields"]
