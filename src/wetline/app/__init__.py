"""Use cases: one function per thing a person can ask. Files and physics meet only here.

Each is loaded when first asked for, so that a command loads only what it needs.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wetline.app.brief import brief_answer
    from wetline.app.check import check_incident
    from wetline.app.circuits import circuits_answer
    from wetline.app.demo import make_demo
    from wetline.app.drop import drop_answer
    from wetline.app.plan import plan_answer
    from wetline.app.sizeup import size_up
    from wetline.app.water import water_of_file, water_of_incident

__all__ = [
    "brief_answer",
    "check_incident",
    "circuits_answer",
    "drop_answer",
    "make_demo",
    "plan_answer",
    "size_up",
    "water_of_file",
    "water_of_incident",
]

_WHERE = {
    "brief_answer": "brief",
    "check_incident": "check",
    "circuits_answer": "circuits",
    "drop_answer": "drop",
    "make_demo": "demo",
    "plan_answer": "plan",
    "size_up": "sizeup",
    "water_of_file": "water",
    "water_of_incident": "water",
}


def __getattr__(name: str) -> object:
    if name not in _WHERE:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    return getattr(import_module(f"wetline.app.{_WHERE[name]}"), name)
