"""The picture of a pattern: a whole PNG, with the figures of the answer in it."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

from wetline.drops import LEVELS, Release, pattern, picture
from wetline.drops.picture import picture_svg

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

_SVG = "{http://www.w3.org/2000/svg}"


def test_a_picture_is_a_png_and_nothing_else_is_left(tmp_path: Path) -> None:
    path = tmp_path / "pattern.png"
    picture(pattern(Release(class_id="twin_engine_scooper")), path)
    assert path.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("class_id", ["twin_engine_scooper", "light_helicopter", "very_large_tanker"])
def test_the_picture_draws_a_contour_and_a_number_for_every_level_reached(class_id: str) -> None:
    result = pattern(Release(class_id=class_id))
    tree = ET.fromstring(picture_svg(result))  # noqa: S314  our own text, not a stranger's
    words = [element.text for element in tree.iter(f"{_SVG}text")]
    reached = [k for k in LEVELS if k != "0.5" and result.line_m_by_level[k] > 0.0]
    assert len(list(tree.iter(f"{_SVG}polygon"))) == len(reached) + 1
    for level in LEVELS:
        assert f"{result.line_m_by_level[level]:.0f}" in words
    assert any("not calibrated" in (w or "") for w in words)
    assert any("wind not given" in (w or "") for w in words)


def test_contours_are_as_long_as_the_lines() -> None:
    result = pattern(Release(class_id="twin_engine_scooper"))
    tree = ET.fromstring(picture_svg(result))  # noqa: S314  the same
    lengths = []
    for polygon in tree.iter(f"{_SVG}polygon"):
        xs = [float(pair.split(",")[0]) for pair in polygon.attrib["points"].split()]
        lengths.append(max(xs) - min(xs))
    lines = [result.pattern.length_m, *(result.line_m_by_level[k] for k in LEVELS if k != "0.5")]
    scale = lengths[0] / lines[0]
    assert [length / scale for length in lengths] == pytest.approx(lines, rel=0.01, abs=0.6)
