"""A PDF as a reader sees it: words, sizes, boxes and ink of each page."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pypdfium2
from pypdfium2 import raw

from wetline.briefing import pdf_bytes

if TYPE_CHECKING:
    from wetline.briefing import BriefPack


@dataclass(frozen=True)
class Letters:
    """Visible characters of one page: size [pt] and tight box (left, bottom, right, top) [pt]."""

    size: np.ndarray[Any, Any]
    box: np.ndarray[Any, Any]


@lru_cache(maxsize=16)
def document(pdf: bytes) -> Any:
    return pypdfium2.PdfDocument(pdf)


def printed(pack: BriefPack) -> Any:
    return document(pdf_bytes(pack))


def words(page: Any) -> str:
    """All words of a page on one line, as read."""
    return " ".join(page.get_textpage().get_text_range().split())


def letters(page: Any) -> Letters:
    text = page.get_textpage()
    sizes, boxes = [], []
    for i in range(text.count_chars()):
        if raw.FPDFText_IsGenerated(text, i) == 1:
            continue
        if chr(raw.FPDFText_GetUnicode(text, i)).isspace():
            continue
        sizes.append(raw.FPDFText_GetFontSize(text, i))
        boxes.append(text.get_charbox(i))
    return Letters(np.array(sizes), np.array(boxes))


def overlaps(page: Any, slack_pt: float = 0.4) -> list[str]:
    """Pairs of characters whose boxes lie over each other; neighbours in a word may, by kerning."""
    found = letters(page).box
    bad = []
    for i, (left, bottom, right, top) in enumerate(found):
        later = found[i + 2 :]
        wide = np.minimum(right, later[:, 2]) - np.maximum(left, later[:, 0])
        high = np.minimum(top, later[:, 3]) - np.maximum(bottom, later[:, 1])
        hit = np.flatnonzero((wide > slack_pt) & (high > slack_pt))
        bad += [f"at {left:.0f}, {bottom:.0f} and {later[j, 0]:.0f}, {later[j, 1]:.0f}" for j in hit]
    return bad


def colour(page: Any) -> int:
    """The largest difference between the colour channels of any pixel; 0 = grey."""
    pixels = page.render(scale=1.0, rev_byteorder=True).to_numpy()[..., :3].astype(int)
    return int((pixels.max(axis=-1) - pixels.min(axis=-1)).max())
