"""How fast and how hard the fire spreads: rate, direction, shape, intensity, flame length."""

from wetline.behaviour.canadian import CanadianSystem
from wetline.behaviour.fields import FireAt, FireFields
from wetline.behaviour.fuel import FuelModel, fuel_models
from wetline.behaviour.fuel_types import FBP_ASKS, FbpFuel, fbp_fuel, fbp_types
from wetline.behaviour.intensity import attack_class, attack_thresholds_kw_per_m, flame_length_m
from wetline.behaviour.over_ground import Because, Variation, explain, fire_fields
from wetline.behaviour.rothermel import (
    SurfaceSpread,
    WindLimit,
    cured_fraction,
    surface_spread_rothermel_1972,
)
from wetline.behaviour.shape import (
    LENGTH_TO_WIDTH_MAX,
    eccentricity,
    intensity_toward,
    length_to_width,
    normal_rate,
    rate_from_ignition,
)
from wetline.behaviour.system import SURFACE_MODELS, FireSystem, SurfaceModels
from wetline.behaviour.wind import CROWN_RATIO_ASSUMED, TEN_METRE_OVER_TWENTY_FOOT, wind_adjustment

__all__ = [
    "CROWN_RATIO_ASSUMED",
    "FBP_ASKS",
    "LENGTH_TO_WIDTH_MAX",
    "SURFACE_MODELS",
    "TEN_METRE_OVER_TWENTY_FOOT",
    "Because",
    "CanadianSystem",
    "FbpFuel",
    "FireAt",
    "FireFields",
    "FireSystem",
    "FuelModel",
    "SurfaceModels",
    "SurfaceSpread",
    "Variation",
    "WindLimit",
    "attack_class",
    "attack_thresholds_kw_per_m",
    "cured_fraction",
    "eccentricity",
    "explain",
    "fbp_fuel",
    "fbp_types",
    "fire_fields",
    "flame_length_m",
    "fuel_models",
    "intensity_toward",
    "length_to_width",
    "normal_rate",
    "rate_from_ignition",
    "surface_spread_rothermel_1972",
    "wind_adjustment",
]
