"""Which fuel model's coverage holds where, and what is said where nobody knows."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from wetline.attack.lines import NO_GUIDE, coverage_fuel
from wetline.behaviour import SURFACE_MODELS, CanadianSystem, fbp_fuel
from wetline.safety import check_coverage
from wetline.weather import START_UP, DatedCodes

pytestmark = pytest.mark.behaviour

CANADIAN = CanadianSystem(
    stands={1: fbp_fuel("C-2"), 2: fbp_fuel("C-3"), 9: None},
    told=DatedCodes(codes=START_UP, day=date(2026, 7, 14)),
    coverage_models={2: 8},
)


def test_surface_models_stand_for_themselves_and_bare_ground_for_its_neighbour() -> None:
    fuel = np.array([[4, 4, 98, -1, 165]], np.int16)
    assert coverage_fuel(fuel, SURFACE_MODELS).tolist() == [[4, 4, 4, 165, 165]]


def test_a_number_of_another_system_is_never_read_as_a_surface_model() -> None:
    # number 1 is grass among the surface models, boreal spruce here
    fuel = np.array([[1, 1, 9, 2, 2]], np.int16)
    assert coverage_fuel(fuel, CANADIAN).tolist()[0][:2] == [NO_GUIDE, NO_GUIDE]
    assert coverage_fuel(fuel, CANADIAN).tolist()[0][3:] == [8, 8]


def test_where_nothing_burns_nothing_is_known() -> None:
    assert coverage_fuel(np.full((2, 2), 9, np.int16), CANADIAN).tolist() == [[NO_GUIDE] * 2] * 2


def test_fuels_without_a_coverage_are_named_where_they_are_on_the_ground() -> None:
    (finding,) = check_coverage(CANADIAN, np.array([[1, 2, 9]], np.int16))
    assert (finding.level, finding.effect, finding.code) == ("unknown", "noted", "data_missing")
    assert "C-2" in finding.message
    assert "C-3" not in finding.message
    assert check_coverage(CANADIAN, np.array([[2, 9]], np.int16)) == ()
    assert check_coverage(SURFACE_MODELS, np.array([[1, 4, 165]], np.int16)) == ()
