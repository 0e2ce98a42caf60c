"""Labels placed without overlap: the first in rank first; one that does not fit is dropped.

People and stops (`must`) move away from their thing as far as they need to, on a leader line; if the
whole page has no room left, the caller prints their words elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.briefing.drawing import glyph, line, text
from wetline.briefing.metrics import TEXT_PT, text_width

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from wetline.briefing.drawing import Item

__all__ = ["Box", "Label", "Placed", "label_items", "place"]

LINE_PT = 12.0
_SIGN_PT = 13.0
_PAD_PT = 1.5
_BASELINE_PT = 9.4
_LED_RANK = 4  # up to this rank a label may stand off on a leader
_INK_COST = 1.5  # for each 3 pt of line work under the words
_SIDES = {
    "E": (1, 0), "W": (-1, 0), "N": (0, -1), "S": (0, 1),
    "NE": (1, -1), "NW": (-1, -1), "SE": (1, 1), "SW": (-1, 1),
}  # fmt: skip
ALL_SIDES = tuple(_SIDES)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page [pt], y down."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def inside(self, other: Box) -> bool:
        """Whether this lies wholly within the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words for a thing at a point [pt]. Lower `rank` is placed first.

    `sides`: where they may stand, best first. `gap`: free room between thing and words [pt].
    `also`: further points of the same thing that serve as well.
    `centred`: the words may lie on the points themselves. `sign`: a finding's glyph before the words.
    """

    lines: tuple[str, ...]
    at: tuple[float, float]
    also: tuple[tuple[float, float], ...] = ()
    rank: int = 5
    must: bool = False
    bold: bool = False
    bold_first: bool = False
    italic: bool = False
    gap: float = 4.0
    sides: tuple[str, ...] = ALL_SIDES
    centred: bool = False
    sign: str | None = None

    def size(self) -> tuple[float, float]:
        """Width and height [pt] of the words with their sign."""
        widths = [
            text_width(words, TEXT_PT, bold=self.bold or (self.bold_first and i == 0))
            + (_SIGN_PT if self.sign and i == 0 else 0.0)
            for i, words in enumerate(self.lines)
        ]
        return max(widths) + 2 * _PAD_PT, LINE_PT * len(self.lines) + _PAD_PT


@dataclass(frozen=True, slots=True)
class Placed:
    """A label and the box that it got; `leader` from the thing to a box that stands off."""

    label: Label
    box: Box
    leader: tuple[tuple[float, float], tuple[float, float]] | None = None


def _box(label: Label, at: tuple[float, float], side: str, gap: float, bounds: Box) -> Box:
    width, height = label.size()
    dx, dy = _SIDES[side]
    x, y = at
    reach = gap if dx == 0 or dy == 0 else gap * 0.6
    left = x + dx * reach - (width if dx < 0 else width / 2 if dx == 0 else 0.0)
    top = y + dy * reach - (height if dy < 0 else height / 2 if dy == 0 else 0.0)
    # At the edge of the page words slide along their thing rather than leave it.
    if dy == 0:
        top = min(max(top, bounds.top), bounds.bottom - height)
    if dx == 0:
        left = min(max(left, bounds.left), bounds.right - width)
    return Box(left, top, left + width, top + height)


def _on_ink(box: Box, ink: NDArray[np.float64]) -> int:
    x, y = ink[:, 0], ink[:, 1]
    return int(np.count_nonzero((x > box.left) & (x < box.right) & (y > box.top) & (y < box.bottom)))


@dataclass(frozen=True, slots=True)
class _Offer:
    """A box for a label, what it costs before ink, and the point that a leader would start from."""

    box: Box
    cost: float
    led_from: tuple[float, float] | None = None
    on_thing: bool = False


def _offers(label: Label, bounds: Box) -> Iterable[_Offer]:
    if label.centred:
        width, height = label.size()
        for further, (x, y) in enumerate((label.at, *label.also)):
            box = Box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            yield _Offer(box, 0.3 * further, on_thing=True)
    for further, at in enumerate((label.at, *label.also)):
        for order, side in enumerate(label.sides):
            cost = 1.0 + 0.3 * order + 0.4 * further
            yield _Offer(_box(label, at, side, label.gap, bounds), cost)
            yield _Offer(_box(label, at, side, label.gap + 8.0, bounds), cost + 4.0)
            if label.rank <= _LED_RANK:
                yield _Offer(_box(label, at, side, label.gap + 22.0, bounds), cost + 15.0, at)
    if label.must:
        for gap in np.arange(36.0, 700.0, 12.0):
            for side in ALL_SIDES:
                yield _Offer(_box(label, label.at, side, float(gap), bounds), float(gap), label.at)


def place(
    labels: Sequence[Label], bounds: Box, taken: Iterable[Box] = (), ink: NDArray[np.float64] | None = None
) -> list[Placed]:
    """Greedy placement: each label takes the cheapest free box inside `bounds`, by rank.

    `taken`: boxes that stay free of words (symbols, frames). `ink`: points float64[n, 2] [pt] of line
    work that words had better not cover. A label without room is missing from the result.
    """
    busy = list(taken)
    dots = np.empty((0, 2)) if ink is None else ink
    placed = []
    for label in sorted(labels, key=lambda each: (not each.must, each.rank)):
        best: tuple[float, _Offer] | None = None
        for offer in _offers(label, bounds):
            box = offer.box
            if best is not None and offer.cost >= best[0]:
                continue
            if not box.inside(bounds) or any(box.meets(other) for other in busy):
                continue
            total = offer.cost + (0.1 if offer.on_thing else 1.0) * _INK_COST * _on_ink(box, dots)
            if best is None or total < best[0]:
                best = (total, offer)
        if best is None:
            continue
        busy.append(best[1].box)
        placed.append(Placed(label, best[1].box, _leader(best[1])))
    return placed


def _leader(offer: _Offer) -> tuple[tuple[float, float], tuple[float, float]] | None:
    if offer.led_from is None:
        return None
    (x, y), box = offer.led_from, offer.box
    return (x, y), (min(max(x, box.left), box.right), min(max(y, box.top), box.bottom))


def label_items(placed: Iterable[Placed]) -> list[Item]:
    """The drawing items of placed labels: leaders first, words over them."""
    everything = list(placed)
    items = [line(*p.leader[0], *p.leader[1], 0.6) for p in everything if p.leader]
    for each in everything:
        label, box = each.label, each.box
        for i, words in enumerate(label.lines):
            signed = label.sign is not None and i == 0
            top = box.top + i * LINE_PT
            items.append(
                text(
                    box.left + _PAD_PT + (_SIGN_PT if signed else 0.0),
                    top + _BASELINE_PT,
                    words,
                    bold=label.bold or (label.bold_first and i == 0),
                    italic=label.italic,
                )
            )
            if signed and label.sign:
                items.append(glyph(label.sign, box.left + 0.5, top + 0.2, 11.5))
    return items
