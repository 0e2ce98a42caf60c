"""Who takes the fire for more certain than is shipped is told so everywhere."""

import pytest

from wetline.growth import Errors
from wetline.safety import check_errors

pytestmark = pytest.mark.behaviour


def test_shipped_and_wider_errors_need_no_word() -> None:
    assert check_errors(Errors()) == ()
    assert check_errors(Errors(wind_speed=0.3, wind_turn_deg=30.0)) == ()


def test_narrower_errors_stand_as_a_caution_that_names_them() -> None:
    (finding,) = check_errors(Errors(wind_turn_deg=5.0, moisture_pct=0.0))
    assert (finding.code, finding.level) == ("limit_changed", "caution")
    assert "wind_turn_deg 5 (shipped 12)" in finding.message
    assert "moisture_pct 0 (shipped 1)" in finding.message
