"""A load of an incident's own class: its own numbers, the fall and the stand-off of the shipped class it is like."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wetline.aircraft import Quantity, aircraft_classes
from wetline.drops import Release, pattern
from wetline.drops.resolve import resolve

pytestmark = pytest.mark.behaviour

SHIPPED = aircraft_classes()["large_tanker"]
OWN = replace(
    SHIPPED,
    id="fast_tanker",
    like="large_tanker",
    quantities={**SHIPPED.quantities, "drop_speed_kt": Quantity(150.0, "kt", "Sorrin air base order 4")},
)


def test_it_is_let_go_with_its_own_numbers_by_the_tank_of_its_like() -> None:
    own = resolve(Release(class_id=OWN.drops_as, cls=OWN))
    shipped = resolve(Release(class_id="large_tanker"))
    assert own.speed_mps == pytest.approx(150 * 1852 / 3600)
    assert own.inputs["speed_mps"].source == "Sorrin air base order 4"
    assert (own.mode, own.class_id, own.load_l) == (shipped.mode, "large_tanker", shipped.load_l)


def test_people_stand_off_from_it_as_from_its_like() -> None:
    own = pattern(Release(class_id=OWN.drops_as, cls=OWN))
    assert own.stand_off_m >= pattern(Release(class_id="large_tanker")).stand_off_m >= 100.0


def test_two_classes_of_one_like_are_not_taken_for_each_other() -> None:
    assert Release(class_id="large_tanker", cls=OWN) != Release(class_id="large_tanker", cls=SHIPPED)
