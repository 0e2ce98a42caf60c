"""The way out of a run: turns, and what climb the ground asks for along a track."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.errors import OutsideRangeError
from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground

__all__ = ["STRAIGHT_S", "Relief", "Turn", "turn_radius_m", "way_out"]

Turn = Literal["left", "right", "straight"]

GRAVITY = 9.80665
"""m/s², standard gravity, exact (3rd CGPM, 1901)."""

_BANK_DEG = 30.0  # common practice, no source
_EXIT_M = 3000.0  # how far the climb-out is judged; common practice, no source
STRAIGHT_S = 10.0  # flown straight on after the line before the turn; common practice, no source
_TURN_DEG = 90.0
_SAMPLE_M = 20.0


def turn_radius_m(speed_mps: float, bank_deg: float = _BANK_DEG) -> float:
    """Radius [m] of a level turn: r = v² / (g tan φ); bank over 0° and under 90°.

    Raises
    ------
    OutsideRangeError
        If the bank is not between 0° and 90°.
    """
    if not 0.0 < bank_deg < 90.0:
        raise OutsideRangeError(field="bank_deg", value=bank_deg, low=0.0, high=90.0, unit="deg")
    return speed_mps**2 / (GRAVITY * float(np.tan(np.radians(bank_deg))))


class Relief:
    """Heights [m] of ground with trees along polylines; NaN where the ground is not known."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.canopy_known = ground.canopy_height_m is not None

    def along(self, path: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Distance from the start [m] and height of ground and trees [m] every few metres."""
        step = np.hypot(*np.diff(path, axis=0).T)
        at = np.concatenate([[0.0], np.cumsum(step)])
        s = np.linspace(0.0, at[-1], max(2, int(at[-1] / _SAMPLE_M) + 1))
        x, y = np.interp(s, at, path[:, 0]), np.interp(s, at, path[:, 1])
        z = self.ground.grid.sample(self.ground.elevation_m, x, y)
        canopy = self.ground.canopy_height_m
        if canopy is not None:
            z = z + np.asarray(self.ground.grid.nearest(canopy, x, y), float)
        return s, z

    def climb(self, path: NDArray[np.float64], over_m: float) -> tuple[float | None, float]:
        """Steepest climb [m/m] from a level `over_m` at the start that clears all of a path.

        0 where the ground stays below; None where some of it is not known. With the mean height [m]
        of the ground along it, infinite where the climb is not known.
        """
        s, z = self.along(path)
        if np.isnan(z).any() or not np.isfinite(over_m):
            return None, np.inf
        return max(0.0, float(np.max((z[1:] - over_m) / s[1:]))), float(z.mean())


def _arc(
    start: NDArray[np.float64], heading_deg: float, radius_m: float, side: float, angle_deg: float
) -> NDArray[np.float64]:
    """Points of a level turn from `start`; `side` 1 to the right, −1 to the left."""
    east, north = along(heading_deg)
    centre = start + side * radius_m * np.array([north, -east])
    turned = np.radians(np.linspace(0.0, angle_deg, 13)[1:])
    back = start - centre
    cos, sin = np.cos(side * turned), np.sin(side * turned)  # clockwise on the map for side 1
    turned_xy: NDArray[np.float64] = centre + np.column_stack(
        [cos * back[0] + sin * back[1], cos * back[1] - sin * back[0]]
    )
    return turned_xy


def _exit_path(
    end: NDArray[np.float64], heading_deg: float, speed_mps: float, turn: Turn
) -> NDArray[np.float64]:
    """Straight on, a quarter turn, straight again: `_EXIT_M` in all."""
    ahead = np.array(along(heading_deg))
    if turn == "straight":
        return np.vstack([end, end + _EXIT_M * ahead])
    radius, straight = turn_radius_m(speed_mps), STRAIGHT_S * speed_mps
    side = 1.0 if turn == "right" else -1.0
    begin = end + straight * ahead
    arc = _arc(begin, heading_deg, radius, side, _TURN_DEG)
    rest = max(0.0, _EXIT_M - straight - radius * np.radians(_TURN_DEG))
    last = arc[-1] + rest * np.array(along(heading_deg + side * _TURN_DEG))
    return np.vstack([end, begin, arc, last])


def way_out(
    relief: Relief, start: NDArray[np.float64], heading_deg: float, speed_mps: float, top_m: float
) -> tuple[NDArray[np.float64], Turn, float | None]:
    """The exit that asks for the least climb; among equals a turn over lower ground, then left.

    Left keeps the target in the captain's view.
    """
    choices: list[tuple[tuple[float, int, float, int], NDArray[np.float64], Turn, float | None]] = []
    turns: tuple[Turn, ...] = ("left", "right", "straight")
    for order, turn in enumerate(turns):
        path = _exit_path(start, heading_deg, speed_mps, turn)
        needed, mean = relief.climb(path, top_m)
        key = (np.inf if needed is None else needed, int(turn == "straight"), mean, order)
        choices.append((key, path, turn, needed))
    _, path, turn, needed = min(choices, key=lambda choice: choice[0])
    return path, turn, needed
