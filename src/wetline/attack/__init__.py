"""Tactics, rollouts of drops against the growing fire, the plan."""

from wetline.attack.edge_view import EdgeView, Stretch, view
from wetline.attack.futures import Future, futures
from wetline.attack.plan import AttackPlan, make_plan
from wetline.attack.pool import map_futures
from wetline.attack.race import RacePoint, chance_band, state_of
from wetline.attack.rollout import LineOption, Outcome, PlannedLoad, RollSetting, Sample, roll
from wetline.attack.runs import HeldBack
from wetline.attack.scene import FreeGrowth, Scene, free_growth, scene_round

__all__ = [
    "AttackPlan",
    "EdgeView",
    "FreeGrowth",
    "Future",
    "HeldBack",
    "LineOption",
    "Outcome",
    "PlannedLoad",
    "RacePoint",
    "RollSetting",
    "Sample",
    "Scene",
    "Stretch",
    "chance_band",
    "free_growth",
    "futures",
    "make_plan",
    "map_futures",
    "roll",
    "scene_round",
    "state_of",
    "view",
]
