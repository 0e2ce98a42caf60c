"""Tactics, rollouts of drops against the growing fire, the plan."""

from wetline.attack.edge_view import EdgeView, Stretch, view
from wetline.attack.futures import Future, futures
from wetline.attack.nouns import LineOption, Outcome, PlannedLoad, Refusal, RollSetting, Sample
from wetline.attack.plan import AttackPlan, make_plan
from wetline.attack.race import RacePoint, chance_band, state_of
from wetline.attack.rollout import roll
from wetline.attack.runs import HeldBack
from wetline.attack.scene import FreeGrowth, Outlook, Scene, free_growth, outlook, scene_round

__all__ = [
    "AttackPlan",
    "EdgeView",
    "FreeGrowth",
    "Future",
    "HeldBack",
    "LineOption",
    "Outcome",
    "Outlook",
    "PlannedLoad",
    "RacePoint",
    "Refusal",
    "RollSetting",
    "Sample",
    "Scene",
    "Stretch",
    "chance_band",
    "free_growth",
    "futures",
    "make_plan",
    "outlook",
    "roll",
    "scene_round",
    "state_of",
    "view",
]
