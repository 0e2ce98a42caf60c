"""Anchors, how both methods stand to them, and the page that says so."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from wetline.drops.misfit import Anchor, anchors, by_droplets, by_planning, misfit, value_of
from wetline.units import COVERAGE_LEVEL, FOOT, KNOT, US_GALLON_L

PAGE = (Path(__file__).parents[2] / "docs" / "drop-model.md").read_text(encoding="utf-8")
PARCELS = 20_000
"""As `tools/drop_misfit_page.py`."""


def _named(name: str) -> Anchor:
    return next(anchor for anchor in anchors() if anchor.name == name)


def _row(anchor: Anchor) -> list[str]:
    rows = [line for line in PAGE.splitlines() if line.startswith(f"| {anchor.what} |")]
    assert len(rows) == 1
    return [cell.strip() for cell in rows[0].strip("|").split("|")]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("name", "flow_gal_per_s", "level"), [("flow_77", 77.0, 0.5), ("flow_450", 450.0, 4.0)]
)
def test_the_bounds_of_the_spread_follow_from_flow_and_setting(
    name: str, flow_gal_per_s: float, level: float
) -> None:
    """σ ≤ (Q/U)/(√(2π) c) at 84 kt, with the flows and settings of MTDC 0057-2852; printed to 0.1 m."""
    litres = flow_gal_per_s * US_GALLON_L / (84.0 * KNOT)
    bound = litres / (math.sqrt(2.0 * math.pi) * level * COVERAGE_LEVEL)
    assert _named(name).high == pytest.approx(bound, abs=0.06)


@pytest.mark.derived
@pytest.mark.parametrize(("gallons", "gallons_per_s"), [(800, 400), (1585, 793), (2000, 1200), (3000, 2000)])
def test_the_depths_are_those_of_the_safe_height_formula(gallons: float, gallons_per_s: float) -> None:
    """S = 101 + 0.0112 L + 0.0202 P + 50 ft, MTDC 0057-2317, with its 50 ft and without."""
    anchor = _named(f"safe_{gallons}_{gallons_per_s}")
    low = 101.0 + 0.0112 * gallons + 0.0202 * gallons_per_s
    assert anchor.low == pytest.approx(low * FOOT, abs=0.01)
    assert anchor.high == pytest.approx((low + 50.0) * FOOT, abs=0.01)


@pytest.mark.behaviour
def test_an_anchor_that_calibrates_is_never_one_held_out() -> None:
    uses = {anchor.name: anchor.use for anchor in anchors()}
    assert len(uses) == len(anchors())
    assert set(uses.values()) == {"calibrate", "hold out"}
    assert list(uses.values()).count("hold out") > list(uses.values()).count("calibrate")


@pytest.mark.behaviour
def test_the_page_names_every_anchor_with_its_source() -> None:
    for anchor in anchors():
        assert _row(anchor)[4:] == [anchor.use, anchor.known, anchor.source]


@pytest.mark.behaviour
@pytest.mark.parametrize(
    "name", [a.name for a in anchors() if a.quantity not in {"best_speed_kt", "speed_over_height"}]
)
def test_the_page_is_fresh_for_the_planning_form(name: str) -> None:
    """Made by tools/drop_misfit_page.py; run it after a change of anchors, settings or physics."""
    anchor = _named(name)
    value, told = value_of(anchor, by_planning), _row(anchor)[2]
    if value is None:
        assert told == "does not say"
    else:
        assert float(told.split(":")[0]) == pytest.approx(value, rel=0.06)


@pytest.mark.behaviour
@pytest.mark.parametrize("name", ["flow_77", "flow_450", "prior_salvo", "gaussian_across", "lost_from_60_m"])
def test_the_page_is_fresh_for_the_droplet_model(name: str) -> None:
    anchor = _named(name)
    value = value_of(anchor, lambda release: by_droplets(release, parcels=PARCELS))
    assert value is not None
    assert float(_row(anchor)[3].split(":")[0]) == pytest.approx(value, rel=0.06)


@pytest.mark.behaviour
def test_a_misfit_says_by_how_much() -> None:
    bound, value, both = _named("flow_450"), _named("gaussian_across"), _named("core_width")
    assert misfit(bound, 9.0) == "held"
    assert misfit(bound, 9.7 * 1.5) == "missed: +50 % over the most"
    assert misfit(value, 2.4) == "-20 %"
    assert misfit(both, 12.0) == "missed: -20 % under the least"
    assert misfit(both, None) == "does not say"
