"""The lines that a plan counts on are those of the aircraft as it flies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from attack.attack_maker import START
from wetline.aircraft import aircraft_classes
from wetline.attack import PlannedLoad
from wetline.attack.lines import LineTable
from wetline.drops import resolve
from wetline.model import shipped_limits

pytestmark = pytest.mark.behaviour


def test_a_helicopter_with_a_snorkel_drops_from_its_tank_in_the_plan() -> None:
    table = LineTable(limits=shipped_limits(), weather=None, start=START, classes=aircraft_classes())
    load = PlannedLoad(1, 0.0, "Plover 1", "medium_helicopter", "D1", "water", 1100.0, False, fill="snorkel")
    with_bucket = replace(load, fill="bucket")
    tank, bucket = resolve(table.release(load)), resolve(table.release(with_bucket))
    assert (tank.system, bucket.system) == ("belly_tank", "bucket")
    one, other = table.stack(load, 1.0), table.stack(with_bucket, 1.0)
    assert one is not None
    assert one != other
