"""Lanes and dip sites close to each other: a caution on both, and nothing where one of them is stopped."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from wetline.model import shipped_limits
from wetline.water import DipSite, Lane, one_place, with_traffic

LIMITS = shipped_limits()


def a_lane(level: Any = "clear") -> Lane:
    return Lane(
        id="S1", water="Lomvatn", heading_deg=90.0, length_m=1800.0, clear_m=50.0, width_m=120.0,
        start=(0.0, 0.0), end=(1800.0, 0.0), level=level,
    )  # fmt: skip


def a_dip(name: str, x: float, y: float) -> DipSite:
    return DipSite(id=name, water=name, position=(x, y), level="clear", findings=(), clear_m=40.0)


@pytest.mark.practice
@pytest.mark.parametrize(("y", "near"), [(499.0, True), (500.0, False)])
def test_a_site_beside_a_lane_is_a_caution_on_both(y: float, near: bool) -> None:
    """500 m: common practice, no source."""
    (lane,), (dip,) = with_traffic([a_lane()], [a_dip("D1", 900.0, y)], LIMITS)
    for thing in (lane, dip):
        assert thing.level == ("caution" if near else "clear")
        assert [(f.code, f.refers_to) for f in thing.findings] == ([("separation", thing.id)] if near else [])


@pytest.mark.derived
def test_distance_is_that_to_the_run_and_not_to_its_line() -> None:
    """300 m beyond the end and 400 m aside: 500 m. The nearest neighbour is named."""
    _, (dip,) = with_traffic([a_lane()], [a_dip("D1", 2099.0, 400.0)], LIMITS)
    assert dip.findings[0].distance_m == pytest.approx((299.0**2 + 400.0**2) ** 0.5)
    _, (far,) = with_traffic([a_lane()], [a_dip("D1", 2101.0, 400.0)], LIMITS)
    assert far.findings == ()
    _, (one, other) = with_traffic([a_lane()], [a_dip("D1", 900.0, 400.0), a_dip("D2", 900.0, 600.0)], LIMITS)
    assert "200 m from dip site D2" in one.findings[0].message
    assert "200 m from dip site D1" in other.findings[0].message


@pytest.mark.behaviour
def test_what_is_stopped_or_the_same_place_disturbs_nobody() -> None:
    _, (dip,) = with_traffic([a_lane("stop")], [a_dip("D1", 900.0, 10.0)], LIMITS)
    assert dip.findings == ()
    _, same = with_traffic([], [a_dip("D1", 0.0, 0.0), a_dip("D2", 0.5, 0.0)], LIMITS)
    assert [d.findings for d in same] == [(), ()]


@pytest.mark.practice
def test_sites_of_one_water_found_for_two_classes_are_one_place_within_100_m() -> None:
    """100 m: common practice, no source. Two tanks side by side are two places."""
    here, near, far = (
        replace(a_dip(f"D{i}", x, 0.0), water="Tarn") for i, x in enumerate((0.0, 99.0, 101.0))
    )
    assert (one_place(here, near), one_place(here, far)) == (True, False)
    tanks = [replace(site, place=f"Tank {site.id}") for site in (here, near)]
    assert not one_place(*tanks)
    assert one_place(tanks[0], replace(tanks[0], id="D9", class_id="heavy_helicopter"))
