"""The edge as the attack sees it: parts, lengths, and stretches in either direction."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from attack.attack_maker import ellipse, uniform_fields
from wetline.attack import view
from wetline.attack.edge_view import EdgeView, first_free, measured_m, stretch_from
from wetline.growth import Front

if TYPE_CHECKING:
    import shapely


def an_edge(toward_deg: float = 0.0) -> tuple[EdgeView, shapely.Polygon]:
    fields = uniform_fields(rate_m_per_min=5.0, length_to_width=2.5, toward_deg=toward_deg, intensity=800.0)
    burnt = ellipse(fields, 80.0, back_share=0.4)
    (ring,) = Front(fields, burnt, 0.0).trace()
    return view(ring, fields, 0.0), burnt


@pytest.mark.derived
@pytest.mark.parametrize("toward_deg", [0.0, 90.0, 217.0])
def test_length_and_area_are_those_of_the_drawn_ellipse(toward_deg: float) -> None:
    """shapely's own length and area of the drawn polygon; the lattice may not overstate the edge."""
    edge, burnt = an_edge(toward_deg)
    assert edge.ring.area_m2 == pytest.approx(burnt.area, rel=0.02)
    assert measured_m(edge.ring) == pytest.approx(burnt.length, rel=0.04)


@pytest.mark.derived
@pytest.mark.parametrize("toward_deg", [0.0, 90.0, 217.0])
def test_parts_are_named_looking_from_heel_to_head(toward_deg: float) -> None:
    """Seen along the head's direction the left flank's outward normal points to the left."""
    edge, burnt = an_edge(toward_deg)
    angle = np.radians(toward_deg)
    ahead, right = np.array([np.sin(angle), np.cos(angle)]), np.array([np.cos(angle), -np.sin(angle)])
    offset = edge.mid - np.array([burnt.centroid.x, burnt.centroid.y])
    named = np.array([edge.part(i) for i in range(len(edge.length_m))])
    assert edge.part(int(np.argmax(offset @ ahead))) == "head"
    assert edge.part(int(np.argmin(offset @ ahead))) == "heel"
    assert (offset[named == "right_flank"] @ right).min() > 0.0
    assert (offset[named == "left_flank"] @ right).max() < 0.0
    assert set(named) == {"head", "heel", "left_flank", "right_flank"}


@pytest.mark.derived
def test_intensity_is_full_at_the_head_and_least_at_the_heel() -> None:
    """Back to head rate (1−e)/(1+e) with e² = 1 − 1/L²: 0.0436 at L/W 2.5, by hand."""
    edge, _ = an_edge()
    assert edge.intensity_kw_per_m.max() == pytest.approx(800.0, rel=0.01)
    assert edge.intensity_kw_per_m.min() == pytest.approx(800.0 * 0.0436, rel=0.1)


@pytest.mark.property
@pytest.mark.parametrize("direction", [1, -1])
def test_a_stretch_is_as_long_as_asked_and_stays_on_what_is_usable(direction: int) -> None:
    edge, _ = an_edge()
    n = len(edge.length_m)
    usable = np.ones(n, bool)
    usable[10:14] = False
    start, _ = first_free(usable, start=14 if direction > 0 else 10, direction=direction)
    assert start is not None
    stretch = stretch_from(edge, usable, segment=start, direction=direction, want_m=120.0)
    inside = (stretch.first + np.arange((stretch.last - stretch.first) % n + 1)) % n
    assert usable[inside].all()
    assert stretch.length_m == pytest.approx(120.0, abs=15.0)
    assert edge.length_m[inside].sum() == pytest.approx(stretch.length_m)
    line = stretch.line(edge.ring.xy)
    near = edge.ring.xy[start] if direction > 0 else edge.ring.xy[(start + 1) % n]
    assert line[0] == pytest.approx(near)


@pytest.mark.property
def test_a_narrow_gap_goes_on_over_held_line_but_never_over_what_may_not_be_worked() -> None:
    edge, _ = an_edge()
    usable = np.zeros(len(edge.length_m), bool)
    usable[20] = True
    over_held = stretch_from(edge, usable, segment=20, direction=1, want_m=120.0, held=~usable)
    assert 30.0 <= over_held.length_m <= 50.0
    alone = stretch_from(edge, usable, segment=20, direction=1, want_m=120.0, held=np.zeros_like(usable))
    assert (alone.first, alone.last) == (20, 20)
    assert first_free(np.zeros(5, bool), start=0, direction=1) == (None, None)
