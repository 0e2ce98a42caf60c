"""Where to release, in numbers, in the words of the sheet and in its drawing: every wind, every heading."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

import numpy as np
import pyproj
import pytest

from app.release_case import (
    FAR,
    ahead_right,
    far_ground,
    planned_run,
    recorder_and_load,
    steady,
    style_of_paper,
    view_of,
)
from safety.run_maker import weather
from wetline.app.answer import Outside
from wetline.app.plan_drop import drop_of
from wetline.briefing.draw_run import draw_run, wind_items
from wetline.briefing.sheet_run import aim_words, drift_words, run_rows

if TYPE_CHECKING:
    from wetline.briefing import RunView
    from wetline.model import DropRun

OCTANTS = [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0]
HEADINGS = [0.0, 70.0, 160.0, 250.0, 305.0]
WIND_MPS = 6.0
STYLE = style_of_paper()
EVERY = pytest.mark.parametrize("heading", HEADINGS)
WIND = pytest.mark.parametrize("from_deg", OCTANTS)


_DOWN_WIND = math.cos(math.radians(15.0))


def _case(heading: float, from_deg: float) -> tuple[DropRun, RunView]:
    hours = steady(WIND_MPS, from_deg)
    run = planned_run(heading, hours)
    return run, view_of(run, hours)


def _toward(from_deg: float) -> np.ndarray[Any, Any]:
    """Unit vector (east, north) of the way the wind goes."""
    return np.array([-np.sin(np.radians(from_deg)), -np.cos(np.radians(from_deg))])


def _said(words: str, plus: str, minus: str) -> float:
    """The signed metres of `12 m left (5–20)`; nothing said of it is none."""
    found = re.search(rf"(\d+) m ({plus}|{minus})\b", words)
    if found is None:
        return 0.0
    return float(found[1]) * (1.0 if found[2] == plus else -1.0)


@pytest.mark.derived
@EVERY
@WIND
def test_the_load_drifts_the_way_the_wind_goes(heading: float, from_deg: float) -> None:
    """The sum of both drifts is a vector; by the meaning of *wind from* it points away from there.

    Not to the degree: an aircraft that crabs into a crosswind throws its load a little to windward.
    """
    run, _ = _case(heading, from_deg)
    assert run.drift_along_m is not None
    assert run.drift_right_m is not None
    ahead, right = ahead_right(heading)
    drift = run.drift_along_m.middle * ahead + run.drift_right_m.middle * right
    assert drift @ _toward(from_deg) > _DOWN_WIND * np.hypot(*drift)
    assert np.hypot(*drift) > 10.0


@pytest.mark.derived
@EVERY
@WIND
def test_the_release_lies_upwind_of_where_it_lies_in_calm_and_short_of_the_line(
    heading: float, from_deg: float
) -> None:
    run, _ = _case(heading, from_deg)
    calm = planned_run(heading, steady(0.0, from_deg))
    moved = np.subtract(run.release_position, calm.release_position)
    ahead, right = ahead_right(heading)
    # across the run only the drift counts; along it the ground speed moves the flow's own middle too
    assert moved @ right == pytest.approx(
        -(run.drift_right_m.middle if run.drift_right_m else np.nan), abs=1e-6
    )
    cross = float(_toward(from_deg) @ right)
    if abs(cross) > 0.1:
        assert np.sign(moved @ right) == -np.sign(cross)
    start = run.line[0]
    assert run.release_early_m is not None
    assert run.release_right_m is not None
    assert (start - run.release_position) @ ahead == pytest.approx(run.release_early_m.middle, abs=1e-6)
    assert (np.array(run.release_position) - start) @ right == pytest.approx(
        run.release_right_m.middle, abs=1e-6
    )
    assert run.release_early_m.middle > 0.0  # doors open before the line: throw and flow outweigh 6 m/s


@pytest.mark.derived
@pytest.mark.parametrize("heading", HEADINGS)
def test_a_headwind_brings_the_release_nearer_the_line_than_a_tailwind(heading: float) -> None:
    """Into wind the load falls short of calm, so that the doors open later."""
    early = [
        planned_run(heading, steady(WIND_MPS, (heading + off) % 360.0)).release_early_m
        for off in (0.0, 180.0)
    ]
    assert early[0] is not None
    assert early[1] is not None
    assert early[0].middle < early[1].middle


@pytest.mark.derived
@EVERY
@WIND
def test_the_words_lead_to_the_release_point(heading: float, from_deg: float) -> None:
    """A crew that reads `35 m early, 12 m left` and measures from the line comes to the point on the sheet."""
    run, view = _case(heading, from_deg)
    words = aim_words(view, STYLE)
    ahead, right = ahead_right(heading)
    read = run.line[0] - _said(words, "early", "late") * ahead + _said(words, "right", "left") * right
    assert read == pytest.approx(np.array(run.release_position), abs=0.75)


@pytest.mark.derived
@EVERY
@WIND
def test_the_words_of_drift_point_down_wind(heading: float, from_deg: float) -> None:
    _, view = _case(heading, from_deg)
    words = drift_words(view, STYLE)
    ahead, right = ahead_right(heading)
    drift = _said(words, "long", "short") * ahead + _said(words, "right", "left") * right
    assert drift @ _toward(from_deg) > _DOWN_WIND * np.hypot(*drift)
    assert np.hypot(*drift) > 10.0


@pytest.mark.derived
@EVERY
@WIND
def test_the_drawing_shows_wind_and_line_on_the_right_side(heading: float, from_deg: float) -> None:
    """Flown left to right: ahead is to the right of the page and left of the run is up it."""
    run, view = _case(heading, from_deg)
    ahead, right = ahead_right(heading)
    (shaft, _), label, _ = wind_items(view, STYLE)
    (x0, y0), (x1, y1) = shaft["d"][0]  # type: ignore[index]
    blown = np.array([x1 - x0, y1 - y0]) / np.hypot(x1 - x0, y1 - y0)
    toward = _toward(from_deg)
    assert blown == pytest.approx([toward @ ahead, toward @ right], abs=2e-3)
    assert label.lines == ("wind 12 kt",)
    drawing, _ = draw_run(view, STYLE)
    bars = [item["d"][0] for item in drawing.items if item.get("w") == 6.0]  # type: ignore[index]
    gate = next(item["d"][0] for item in drawing.items if item.get("w") == 2.4)  # type: ignore[index]
    (bar,) = bars
    side = float((run.line[0] - run.release_position) @ right)
    below = bar[0][1] - 0.5 * (gate[0][1] + gate[1][1])
    assert np.sign(round(below, 1)) == np.sign(round(side * 0.22, 1)) or abs(side) < 2.0
    assert bar[0][0] > gate[0][0]


@pytest.mark.derived
@EVERY
@WIND
def test_every_band_holds_its_middle_and_crosses_none_only_when_the_wind_may(
    heading: float, from_deg: float
) -> None:
    run, _ = _case(heading, from_deg)
    for band in (run.drift_right_m, run.drift_along_m, run.release_right_m, run.release_early_m):
        assert band is not None
        assert band.low is not None
        assert band.high is not None
        assert band.low - 1e-9 <= band.middle <= band.high + 1e-9
    assert run.drift_right_m is not None
    off = abs(float(_toward(from_deg) @ ahead_right(heading)[1]))
    if off < 0.05:  # head or tail wind: its direction is known to some 20°, so that it may drift either way
        assert (run.drift_right_m.low or 0.0) < -1.0
        assert (run.drift_right_m.high or 0.0) > 1.0
        assert "left to" in drift_words(_case(heading, from_deg)[1], STYLE)


@pytest.mark.derived
def test_the_heading_on_paper_is_true_and_that_of_the_plan_is_of_the_grid() -> None:
    """Against geodesics of pyproj, where grid and true north lie 2° apart; variation 14° W on top."""
    run, view = _case(70.0, 270.0)
    to_lonlat = pyproj.Transformer.from_crs("EPSG:32625", "EPSG:4326", always_xy=True)
    (lon0, lat0), (lon1, lat1) = (to_lonlat.transform(*run.approach[i]) for i in (0, -1))
    azimuth, _, _ = pyproj.Geod(ellps="WGS84").inv(lon0, lat0, lon1, lat1)
    assert abs(azimuth % 360.0 - 70.0) > 1.5
    assert view.heading_true_deg == pytest.approx(azimuth % 360.0, abs=0.1)
    assert STYLE.bearing(view.heading_true_deg).startswith(f"{round(azimuth % 360.0 + 14.0):03d}° M")
    # head and cross wind are taken on one north: 270° on the grid against 70° on the grid is 20° off the tail
    assert view.headwind_mps == pytest.approx(WIND_MPS * np.cos(np.radians(200.0)))
    assert view.crosswind_mps == pytest.approx(WIND_MPS * np.sin(np.radians(200.0)))


@pytest.mark.behaviour
def test_without_a_known_wind_no_drift_is_told() -> None:
    run = planned_run(70.0, None)
    view = view_of(run, None)
    assert run.drift_right_m is None
    assert run.drift_along_m is None
    assert run.release_right_m is None
    assert run.line_here_m is None
    assert drift_words(view, STYLE) == "not known: no wind is known here"
    assert "drift not corrected" in aim_words(view, STYLE)
    items, label, _ = wind_items(view, STYLE)
    assert items == []
    assert label.lines == ("wind not known",)


@pytest.mark.behaviour
def test_in_calm_air_nothing_drifts_and_the_words_say_so() -> None:
    hours = steady(0.0, 0.0)
    run = planned_run(70.0, hours)
    view = view_of(run, hours)
    assert drift_words(view, STYLE) == "none sideways, none along"
    assert re.fullmatch(r"\d+ m early \(\d+–\d+\), on its axis", aim_words(view, STYLE))
    assert wind_items(view, STYLE)[1].lines == ("no wind",)


@pytest.mark.behaviour
def test_trees_of_unknown_leaves_are_told_and_trees_of_unknown_height_are_not_none() -> None:
    hours = steady(WIND_MPS, 250.0)
    wooded = far_ground(canopy_m=18.0)
    run = planned_run(70.0, hours, ground=wooded)
    assert run.canopy_m == pytest.approx(18.0)
    (said,) = [f for f in run.findings if f.code == "data_missing"]
    assert said.level == "unknown"
    assert "leaf area is not known" in said.message
    bare = planned_run(70.0, hours, ground=far_ground(canopy_m=None))
    assert bare.canopy_m is None
    assert any("Trees not known" in f.message for f in bare.findings)
    rows = dict(run_rows(view_of(bare, hours, far_ground(canopy_m=None)), STYLE))
    assert rows["At release"].endswith("trees not known")


@pytest.mark.behaviour
def test_the_grid_of_the_cases_has_a_convergence_worth_testing() -> None:
    assert abs(FAR.convergence_deg) > 1.5


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("agent", "rain_mm", "until_rain", "words"),
    [
        ("water", 0.0, False, "then it is dry"),
        ("retardant", 0.0, True, "until rain washes it off"),
        ("retardant", 6.0, False, "then rain washes it off"),
    ],
)
def test_answer_and_sheet_say_what_ends_the_line(
    agent: str, rain_mm: float, until_rain: bool, words: str
) -> None:
    """Two hours of weather, 12 mm: 5 mm wash retardant off, at best 10 (common practice)."""
    hours = weather(rain_mm=rain_mm)
    recorder, placed = recorder_and_load(70.0, hours, class_id="single_engine_tanker", agent=agent)
    recorder.table.place = (-33.6, 47.2)
    run, _ = recorder.run(placed, "as_given")
    assert drop_of(run, Outside(FAR))["hold_until_rain"] is until_rain
    view = view_of(run, hours)
    assert words in dict(run_rows(view, style_of_paper()))["Holds"]
