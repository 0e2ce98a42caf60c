"""How fast and how hard the fire spreads: rate, direction, shape, intensity, flame length."""

from wetline.behaviour.canadian import CanadianSystem
from wetline.behaviour.crown import (
    CrownFire,
    CrownKind,
    CrownRate,
    CrownSpread,
    active_rate_van_wagner_1977,
    base_within_reach_m,
    critical_intensity_van_wagner_1977,
    crown_eccentricity,
    crown_fire,
    crown_fraction_van_wagner_1993,
    crown_rate_cruz_2005,
    crown_rate_rothermel_1991,
)
from wetline.behaviour.crowning import CROWN_UNKNOWN, Crowning
from wetline.behaviour.fields import FireAt, FireFields
from wetline.behaviour.fuel import FuelModel, fuel_models
from wetline.behaviour.fuel_types import FBP_ASKS, FbpFuel, fbp_fuel, fbp_types
from wetline.behaviour.intensity import attack_class, attack_thresholds_kw_per_m, flame_length_m
from wetline.behaviour.over_ground import Because, Variation, explain, fire_fields
from wetline.behaviour.prepared import Pace, Prepared, prepare, prepare_surface
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
from wetline.behaviour.spotting import (
    SpotSource,
    Spotting,
    spotting_from,
    spotting_surface_albini_1983,
    spotting_torching_albini_1979,
)
from wetline.behaviour.system import SURFACE_MODELS, FireSystem, SurfaceModels
from wetline.behaviour.why import DRIVERS, Drivers, drivers, mean_drivers
from wetline.behaviour.wind import CROWN_RATIO_ASSUMED, TEN_METRE_OVER_TWENTY_FOOT, wind_adjustment

__all__ = [
    "CROWN_RATIO_ASSUMED",
    "CROWN_UNKNOWN",
    "DRIVERS",
    "FBP_ASKS",
    "LENGTH_TO_WIDTH_MAX",
    "SURFACE_MODELS",
    "TEN_METRE_OVER_TWENTY_FOOT",
    "Because",
    "CanadianSystem",
    "CrownFire",
    "CrownKind",
    "CrownRate",
    "CrownSpread",
    "Crowning",
    "Drivers",
    "FbpFuel",
    "FireAt",
    "FireFields",
    "FireSystem",
    "FuelModel",
    "Pace",
    "Prepared",
    "SpotSource",
    "Spotting",
    "SurfaceModels",
    "SurfaceSpread",
    "Variation",
    "WindLimit",
    "active_rate_van_wagner_1977",
    "attack_class",
    "attack_thresholds_kw_per_m",
    "base_within_reach_m",
    "critical_intensity_van_wagner_1977",
    "crown_eccentricity",
    "crown_fire",
    "crown_fraction_van_wagner_1993",
    "crown_rate_cruz_2005",
    "crown_rate_rothermel_1991",
    "cured_fraction",
    "drivers",
    "eccentricity",
    "explain",
    "fbp_fuel",
    "fbp_types",
    "fire_fields",
    "flame_length_m",
    "fuel_models",
    "intensity_toward",
    "length_to_width",
    "mean_drivers",
    "normal_rate",
    "prepare",
    "prepare_surface",
    "rate_from_ignition",
    "spotting_from",
    "spotting_surface_albini_1983",
    "spotting_torching_albini_1979",
    "surface_spread_rothermel_1972",
    "wind_adjustment",
]
