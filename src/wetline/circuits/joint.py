"""A way from one heading to another: a level turn, a straight, a level turn of one radius.

Shortest curves of bounded curvature between two headings (Dubins 1957, Am. J. Math. 79(3):497-516), those
with a straight in the middle.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Point = tuple[float, float]

__all__ = ["WORDS", "Joint", "Word", "arc", "heading_of", "joint"]

Word = Literal["LSL", "RSR", "LSR", "RSL"]
WORDS: tuple[Word, ...] = ("LSL", "RSR", "LSR", "RSL")
_STEP_DEG = 12.0
_WHOLE_TURN_DEG = 360.0 - 1e-6


class Joint(NamedTuple):
    """From `start` on a heading to `end` on a heading. Turns [deg], right positive; the straight runs `off` → `on`."""

    start: Point
    start_deg: float
    first_deg: float
    off: Point
    course_deg: float
    straight_m: float
    on: Point
    last_deg: float
    end: Point
    radius_m: float

    @property
    def turned_deg(self) -> float:
        """Both turns together [deg], right positive."""
        return self.first_deg + self.last_deg

    @property
    def first_m(self) -> float:
        """Length of the first turn."""
        return math.radians(abs(self.first_deg)) * self.radius_m

    @property
    def last_m(self) -> float:
        """Length of the last turn."""
        return math.radians(abs(self.last_deg)) * self.radius_m

    @property
    def length_m(self) -> float:
        """Length of the whole."""
        return self.first_m + self.straight_m + self.last_m

    def first_xy(self) -> NDArray[np.float64]:
        """The first turn as points, `off` the last of them; its start is left out."""
        return arc(self.start, self.start_deg, self.first_deg, self.radius_m)

    def last_xy(self) -> NDArray[np.float64]:
        """The last turn as points, `end` the last of them; `on` is left out."""
        return arc(self.on, self.course_deg, self.last_deg, self.radius_m)

    def path(self) -> NDArray[np.float64]:
        """The whole as points, both ends included."""
        return np.vstack((self.start, self.first_xy(), self.off, self.on, self.last_xy(), self.end))


def heading_of(a: NDArray[np.float64] | Point, b: NDArray[np.float64] | Point) -> float:
    """Bearing [deg] of the step from a to b."""
    return math.degrees(math.atan2(b[0] - a[0], b[1] - a[1])) % 360.0


def arc(start: Point, heading_deg: float, turn_deg: float, radius_m: float) -> NDArray[np.float64]:
    """Points of a level turn after `start`; `turn_deg` > 0 to the right."""
    if abs(turn_deg) < 1e-6:
        return np.empty((0, 2))
    side = math.copysign(1.0, turn_deg)
    centre = _beside(start, heading_deg, side * radius_m)
    turned = np.linspace(0.0, turn_deg, max(2, int(abs(turn_deg) / _STEP_DEG) + 2))[1:]
    headings = np.radians(heading_deg + turned)
    return np.asarray(centre, float) + side * radius_m * np.column_stack(
        (-np.cos(headings), np.sin(headings))
    )


def _beside(point: Point, heading_deg: float, right_m: float) -> Point:
    angle = math.radians(heading_deg)
    return point[0] + right_m * math.cos(angle), point[1] - right_m * math.sin(angle)


def joint(
    start: Point, start_deg: float, end: Point, end_deg: float, *, radius_m: float, word: Word
) -> Joint | None:
    """The way of one word (L left, R right, S straight); None where the two turns overlap."""
    sides = [1.0 if turn == "R" else -1.0 for turn in (word[0], word[2])]
    centres = [
        _beside(point, heading, side * radius_m)
        for point, heading, side in zip((start, end), (start_deg, end_deg), sides, strict=True)
    ]
    apart = math.hypot(centres[1][0] - centres[0][0], centres[1][1] - centres[0][1])
    course = heading_of(*centres)
    straight = apart
    if sides[0] != sides[1]:
        if apart < 2.0 * radius_m:
            return None
        straight = math.sqrt(apart**2 - 4.0 * radius_m**2)
        # The inner tangent leans off the line between the centres, away from the first turn's side.
        course += sides[0] * math.degrees(math.asin(2.0 * radius_m / apart))
    first = sides[0] * (sides[0] * (course - start_deg) % 360.0)
    last = sides[1] * (sides[1] * (end_deg - course) % 360.0)
    first, last = (0.0 if abs(turn) > _WHOLE_TURN_DEG else turn for turn in (first, last))
    off = _beside(centres[0], course, -sides[0] * radius_m)
    on = _beside(centres[1], course, -sides[1] * radius_m)
    return Joint(start, start_deg, first, off, course, straight, on, last, end, radius_m)
