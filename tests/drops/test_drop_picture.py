"""The picture of a pattern: a whole PNG, with the figures of the answer in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from shapely import Polygon

from drops.own_rows import row
from wetline.drops import LEVELS, DropResult, DropTests, Release, flame_findings, pattern, picture
from wetline.drops.picture import picture_svg
from wetline.drops.picture_figures import section
from wetline.drops.picture_plan import contours
from wetline.model import shipped_limits
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

_SVG = "{http://www.w3.org/2000/svg}"
WINDY = Release(class_id="twin_engine_scooper", heading_deg=340.0, wind_mps=5.0, wind_from_deg=250.0)


def _words(result: DropResult, beside: DropResult | None = None) -> list[str]:
    tree = ET.fromstring(picture_svg(result, beside))  # noqa: S314  our own text, not a stranger's
    return [element.text or "" for element in tree.iter(f"{_SVG}text")]


def test_a_picture_is_a_png_and_nothing_else_is_left(tmp_path: Path) -> None:
    path = tmp_path / "pattern.png"
    picture(pattern(Release(class_id="twin_engine_scooper")), path)
    assert path.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    assert list(tmp_path.iterdir()) == [path]


def test_a_picture_that_cannot_be_put_in_its_place_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "pattern.png"
    path.mkdir()
    with pytest.raises(OSError, match=r"pattern\.png"):
        picture(pattern(Release(class_id="twin_engine_scooper")), path)
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("class_id", ["twin_engine_scooper", "light_helicopter", "very_large_tanker"])
def test_every_line_stands_in_the_picture_with_its_band(class_id: str) -> None:
    result = pattern(Release(class_id=class_id))
    words = _words(result)
    for at in result.fall.levels.values():
        assert f"{at.line_m.middle:.0f}" in words
        assert f"({at.line_m.low or 0.0:.0f}–{at.line_m.high or 0.0:.0f})" in words
    assert any("not calibrated" in w for w in words)
    assert any("wind not given" in w for w in words)


def test_the_plan_says_where_the_doors_open_and_where_it_drifts() -> None:
    result = pattern(WINDY)
    words = _words(result)
    assert f"drift {result.drift_right_m:.0f} m right" in words
    assert any(
        f"{-result.release_offset_m['along']:.0f} m (" in w and "short of the target" in w for w in words
    )
    assert {"doors open", "target", "N", "wind 5 m/s"} <= set(words)
    left = _words(pattern(replace(WINDY, wind_from_deg=70.0)))
    assert any(w.startswith("drift ") and w.endswith(" left") for w in left)


def test_what_trees_hold_is_unknown_until_their_leaves_are_told() -> None:
    assert any("what they hold unknown" in w for w in _words(pattern(replace(WINDY, canopy_m=20.0))))
    result = pattern(replace(WINDY, canopy_m=20.0, leaf_area=2.0))
    assert any(f"trees hold {result.canopy_pct:.0f} %" in w for w in _words(result))


def test_a_stop_is_told_before_a_caution() -> None:
    low = pattern(replace(WINDY, height_m=25.0))
    told = [w for w in _words(low) if w.startswith(("Stop:", "Caution:"))]
    assert told[0].startswith("Stop:")


def test_every_stop_is_told_and_what_is_not_is_counted_by_its_kind() -> None:
    stormy = pattern(replace(WINDY, height_m=25.0, wind_mps=17.0, agent="gel"))
    flame = flame_findings(9000.0, "gel", shipped_limits(), refers_to="twin_engine_scooper")
    words = _words(replace(stormy, findings=(*stormy.findings, *flame)))
    assert sum(w.startswith("Stop:") for w in words) == 3
    assert any("In the answer besides:" in w and "caution" in w for w in [" ".join(words)])


@pytest.mark.parametrize("level", ["1", "2", "4"])
def test_contours_are_as_long_and_as_large_as_the_answer_says(level: str) -> None:
    result = pattern(WINDY)
    ring = contours(result, float(level) * COVERAGE_LEVEL)[0]
    at = result.fall.levels[level]
    assert np.ptp(ring[:, 0]) == pytest.approx(at.line_m.middle, abs=1.0)
    assert np.ptp(ring[:, 1]) == pytest.approx(at.width_m.middle, abs=1.0)
    assert Polygon(ring).area == pytest.approx(at.area_m2.middle, rel=0.03)


TRAIL = Release(class_id="large_tanker", system="trail", interval_s=3.0)


@pytest.mark.parametrize("release", [WINDY, TRAIL, Release(class_id="light_helicopter", speed_mps=15.0)])
def test_the_cross_section_stands_over_the_line_and_reaches_the_peak(release: Release) -> None:
    """The middle of a trail of doors is a gap, and a bucket lays most before its middle."""
    result = pattern(release)
    right_m, coverage = section(result)
    assert right_m[coverage.argmax()] == pytest.approx(0.0, abs=1.0)
    assert coverage.max() == pytest.approx(result.pattern.peak_l_per_m2, rel=0.02)


def test_two_methods_stand_beside_each_other() -> None:
    result = pattern(WINDY)
    words = _words(result, replace(result, by="droplets"))
    assert {"planning form", "drop by drop"} <= set(words)
    assert all(words.count(f"{at.line_m.middle:.0f}") >= 2 for at in result.fall.levels.values())
    assert tuple(result.fall.levels) == LEVELS


def test_the_picture_names_what_is_let_go_and_not_what_is_on_board() -> None:
    words = _words(pattern(replace(WINDY, doors=2)))
    assert any("3,050 L of water" in w for w in words)


def test_a_load_too_thin_for_any_contour_is_called_so() -> None:
    thin = replace(WINDY, class_id="very_large_tanker", height_m=390.0, wind_mps=15.0)
    assert any("too thin for any coverage level" in w for w in _words(pattern(thin)))
    assert "0.0" not in _words(pattern(thin))


def test_own_tests_are_told_apart_from_the_contours_and_no_words_leave_the_page() -> None:
    lines = zip(("0.5", "1", "2", "3", "4", "6"), (150.0, 130.0, 100.0, 80.0, 50.0, 20.0), strict=True)
    tests = DropTests(tuple(row(float(level), line, load_l=6100.0) for level, line in lines))
    result = pattern(Release(class_id="twin_engine_scooper", height_m=30.0, drop_tests=tests))
    words = _words(result, replace(result, by="droplets"))
    assert set(result.line_from.values()) == {"table"}
    assert any("by physics, not by your drop tests" in w for w in words)
    assert "tests and form" in words
    assert any("your own drop tests" in w for w in words)
    assert max(map(len, words)) <= 150
