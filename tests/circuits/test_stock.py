"""What a base or a tank has to give: closed forms of filling and drawing down."""

from __future__ import annotations

import math

import pytest

from wetline.circuits import Stock, drawn, ready_s

pytestmark = pytest.mark.derived


def test_a_load_on_hand_is_ready_at_once() -> None:
    assert ready_s(Stock(12_000.0), 12_000.0, 500.0) == 500.0


def test_what_lacks_takes_its_litres_over_the_rate() -> None:
    """3,000 L on hand, 13,300 L wanted, 18,000 L/h mixed: 10,300 / 5 = 2,060 s from the stock's own time."""
    stock = Stock(3_000.0, mix_l_per_s=5.0, as_of_s=100.0)
    assert ready_s(stock, 13_300.0, 100.0) == pytest.approx(2_160.0)
    assert ready_s(stock, 13_300.0, 1_000.0) == pytest.approx(2_160.0)
    assert ready_s(stock, 13_300.0, 4_000.0) == 4_000.0


@pytest.mark.parametrize("stock", [Stock(900.0), Stock(900.0, 10.0, most_l=1_000.0)])
def test_what_never_comes_is_infinite(stock: Stock) -> None:
    assert math.isinf(ready_s(stock, 1_100.0, 0.0))


def test_a_tank_fills_to_the_brim_and_no_more() -> None:
    """9,000 L tank, 10 L/s: from 5,000 L full after 400 s, and full it stays."""
    tank = Stock(5_000.0, 10.0, most_l=9_000.0)
    assert tank.at(399.0) == pytest.approx(8_990.0)
    assert tank.at(400.0) == tank.at(1e9) == 9_000.0


def test_nobody_draws_what_is_not_there() -> None:
    with pytest.raises(ValueError, match="1200 L drawn from 1000 L"):
        drawn(Stock(1_000.0), 1_200.0, 0.0)


def test_loads_in_a_row_come_when_stock_and_mixing_have_given_them() -> None:
    """Load k of 4,000 L is there at max(0, (4,000 k − 10,000) / 2): all that was drawn was there before."""
    stock, at_s = Stock(10_000.0, 2.0), 0.0
    for k in range(1, 30):
        at_s = ready_s(stock, 4_000.0, at_s)
        assert at_s == pytest.approx(max(0.0, (4_000.0 * k - 10_000.0) / 2.0))
        stock = drawn(stock, 4_000.0, at_s)
        assert stock.litres >= 0.0


def test_a_tank_sustains_what_is_pumped_into_it() -> None:
    """600 L/min and 1,200 L a load: 30 loads an hour in the long run, whatever was in it."""
    tank, at_s, last = Stock(9_000.0, 10.0, most_l=9_000.0), 0.0, 0.0
    for k in range(400):
        at_s = ready_s(tank, 1_200.0, at_s)
        tank = drawn(tank, 1_200.0, at_s)
        last = at_s - last if k == 399 else at_s
    assert last == pytest.approx(3600.0 / 30.0)
