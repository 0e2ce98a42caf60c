"""Which measured conditions may speak of a release, but for height, speed and level."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from wetline.drops.measured import Curve, LineKind
    from wetline.drops.release import Resolved

__all__ = [
    "HEIGHT_REACH_M",
    "HOW",
    "LOAD_SHARE",
    "SPEED_REACH_MPS",
    "WIND_REACH_MPS",
    "apt_curves",
    "in_sets",
    "is_larger",
    "same_load",
    "serves",
]  # fmt: skip

HEIGHT_REACH_M = 3.0
"""How far [m] outside the heights measured a release still counts as one of them; this and the three
below are common practice, no source."""
SPEED_REACH_MPS = 2.5
WIND_REACH_MPS = 2.5
LOAD_SHARE = 0.05
HOW = ("system", "setting", "doors", "interval_s", "opening")
"""How a load is let go: in each, tests and release must agree."""


def _told(resolved: Resolved, name: str) -> float | str | None:
    used = resolved.inputs.get(name)
    if used is None:
        return resolved.mode if name == "system" else None
    return used.value


def apt_curves(
    all_curves: Sequence[Curve], resolved: Resolved, kind: LineKind
) -> tuple[list[Curve], str | None]:
    """The conditions that apply but for load, height, speed and level; or the first reason why none does."""
    own, shipped = ([c for c in all_curves if c.alike.class_id == name] for name in _ids(resolved))
    left = own or shipped
    if not left:
        return [], "no drop test of this class"
    if resolved.inputs["duration_s"].origin == "given":
        return [], "the flow time is given, and that of the drop tests is not known"
    steps: tuple[tuple[Callable[[Curve], bool], str], ...] = (
        (lambda c: c.alike.liquid == resolved.agent, f"no drop test with {resolved.agent}"),
        *((partial(_same_choice, resolved, name), _choice_words(resolved, name)) for name in HOW),
        (
            lambda c: _as_emptied(c, resolved),
            "part of the load stays on board, and the tests let all of it go",
        ),
        (lambda c: _same_wind(c, resolved), _wind_words(resolved)),
        (lambda c: _same_ground(c, resolved), _ground_words(resolved)),
        (lambda c: c.alike.line_kind == kind, f"the drop tests do not tell the {kind} line"),
    )
    for holds, why in steps:
        left = [c for c in left if holds(c)]
        if not left:
            return [], why
    return left, None


def _ids(resolved: Resolved) -> tuple[str, str]:
    return resolved.cls.id, resolved.class_id


def _same_choice(resolved: Resolved, name: str, curve: Curve) -> bool:
    """Let go in the way of the tests: as told in both, or in neither."""
    told, used = getattr(curve.alike, name), resolved.inputs.get(name)
    if told is None:
        return used is None or used.origin != "given"
    return bool(told == _told(resolved, name))


def _choice_words(resolved: Resolved, name: str) -> str:
    told = _told(resolved, name)
    return f"no drop test with {name.removesuffix('_s')} {f'{told:g}' if isinstance(told, float) else told}"


def _as_emptied(curve: Curve, resolved: Resolved) -> bool:
    """To the last of the tank, by a count of doors, or at a flow that what stays on board does not change."""
    stays = resolved.on_board_l > resolved.load_l * (1.0 + LOAD_SHARE)
    return not stays or _steady(resolved) or curve.alike.doors is not None


def _wind_mps(resolved: Resolved) -> float:
    return float(np.hypot(resolved.wind_along_mps, resolved.wind_right_mps))


def _same_wind(curve: Curve, resolved: Resolved) -> bool:
    """Within reach of the tests' wind; a wind that was not measured counts as calm, as one not given does."""
    return abs((curve.alike.wind_mps or 0.0) - _wind_mps(resolved)) <= WIND_REACH_MPS


def _wind_words(resolved: Resolved) -> str:
    return f"no drop test in a wind within {WIND_REACH_MPS:g} m/s of {_wind_mps(resolved):.1f} m/s"


def _same_ground(curve: Curve, resolved: Resolved) -> bool:
    """Over open ground for tests over open ground, over trees for tests over trees."""
    if curve.alike.height_above == "ground":
        return not resolved.leaf_area
    return bool(resolved.canopy_m)


def _ground_words(resolved: Resolved) -> str:
    if resolved.leaf_area:
        return "the drop tests were flown over open ground, and trees hold back a share here"
    return "the drop tests were flown over trees, and none are told here"


def _steady(resolved: Resolved) -> bool:
    """Whether the flow is the same whatever the load, so that a smaller load only ends sooner."""
    return resolved.mode == "constant"


def same_load(curve: Curve, resolved: Resolved) -> bool:
    """Whether as much was let go as in a release, within `LOAD_SHARE`."""
    return abs(curve.alike.load_l - resolved.load_l) <= LOAD_SHARE * curve.alike.load_l


def is_larger(curve: Curve, resolved: Resolved) -> bool:
    """Whether more was let go than in a release."""
    return curve.alike.load_l > resolved.load_l and not same_load(curve, resolved)


def serves(curve: Curve, resolved: Resolved) -> bool:
    """Whether the load is that of a release, or a larger one of the same flow that may be shortened."""
    return same_load(curve, resolved) or (_steady(resolved) and is_larger(curve, resolved))


def in_sets(apt: Sequence[Curve], resolved: Resolved) -> list[list[Curve]]:
    """Conditions that may be interpolated between, for height and speed. Most drops first.

    Larger loads, which must be shortened, come after the load itself, the smallest of them first.
    """
    sets: dict[tuple[object, ...], list[Curve]] = {}
    for curve in apt:
        a = curve.alike
        larger_l = 0.0 if same_load(curve, resolved) else a.load_l
        sets.setdefault((larger_l, a.height_above, a.speed_kind), []).append(curve)
    ordered = sorted(sets.items(), key=lambda item: (item[0][0], -sum(c.drops for c in item[1])))
    return [group for _, group in ordered]
