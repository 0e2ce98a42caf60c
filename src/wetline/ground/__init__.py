"""The ground: terrain, fuels, canopy, water, hazards, people, places to avoid, bases."""

from wetline.ground.features import Avoid, Base, DipPlace, Hazard, Layer, PeoplePlace, Road, Water
from wetline.ground.ground import Ground
from wetline.ground.relief import shaded_relief, slope_aspect

__all__ = [
    "Avoid",
    "Base",
    "DipPlace",
    "Ground",
    "Hazard",
    "Layer",
    "PeoplePlace",
    "Road",
    "Water",
    "shaded_relief",
    "slope_aspect",
]
