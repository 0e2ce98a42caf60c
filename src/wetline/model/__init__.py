"""Frozen nouns shared by three or more rooms. No physics, no files."""

from wetline.model.answer import LEAST_FUTURES, Band, NotYet
from wetline.model.finding import Code, Effect, Finding, Level, worst
from wetline.model.fire import CrewLine, Drawn, Fire, Perimeter
from wetline.model.limits import Limit, Limits, shipped_limits
from wetline.model.run import DropRun, PeopleCheck, StandClear

__all__ = [
    "LEAST_FUTURES",
    "Band",
    "Code",
    "CrewLine",
    "Drawn",
    "DropRun",
    "Effect",
    "Finding",
    "Fire",
    "Level",
    "Limit",
    "Limits",
    "NotYet",
    "PeopleCheck",
    "Perimeter",
    "StandClear",
    "shipped_limits",
    "worst",
]
