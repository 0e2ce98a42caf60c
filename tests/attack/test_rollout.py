"""Rollouts against containment theory, and the rules that no rollout may break."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from attack.attack_maker import always, ellipse, loads, setting, uniform_fields
from wetline.attack import LineOption, Refusal, futures, roll
from wetline.growth import Front

if TYPE_CHECKING:
    from wetline.attack import Outcome, RollSetting
    from wetline.behaviour import FireFields

MIDDLE = futures(0, 0)[0]


def play(fields: FireFields, burnt: shapely.Polygon, how: RollSetting) -> Outcome:
    return roll(how, MIDDLE, Front(fields, burnt, 0.0), fields)


def heel_of(burnt: shapely.Polygon) -> tuple[float, float]:
    """The southernmost point: the head runs north."""
    x, y = np.asarray(burnt.exterior.coords).T
    i = int(np.argmin(y))
    return float(x[i]), float(y[i])


@pytest.mark.derived
@pytest.mark.parametrize(
    ("length_to_width", "speed", "end", "area"), [(2.0, 3.0, 1.6586, 2.0517), (3.0, 3.0, 1.5759, 1.9406)]
)
def test_line_from_the_heel_closes_when_containment_theory_says(
    length_to_width: float, speed: float, end: float, area: float
) -> None:
    """Two crews from the tail at `speed` times the head's rate: end and area as multiples of those at
    the start, from the ODE of Fried & Fried 1996 solved independently (facts: derived). Line comes in
    pieces of one load, a cell and a half long, so a tenth is allowed."""
    fields = uniform_fields(rate_m_per_min=5.0, length_to_width=length_to_width)
    age = 100.0
    burnt = ellipse(fields, age, back_share=0.3)
    metres = speed * 5.0 * 1.0 * 2
    how = setting(
        fields,
        loads(1.0, 2 * age),
        always(metres),
        anchor=heel_of(burnt),
        cut_off_min=1.2 * age,
        sample_min=1.0,
    )
    out = play(fields, burnt, how)
    assert out.closed_s is not None
    assert (age + out.closed_s / 60.0) / age == pytest.approx(end, rel=0.1)
    assert out.area_m2 / burnt.area == pytest.approx(area, rel=0.12)


@pytest.mark.derived
def test_without_loads_the_fire_grows_as_the_ellipse_does() -> None:
    """Area goes with the square of the age: (160/100)²."""
    fields = uniform_fields(rate_m_per_min=5.0, length_to_width=2.0)
    burnt = ellipse(fields, 100.0, back_share=0.3)
    out = play(fields, burnt, setting(fields, [], always(0.0), anchor=heel_of(burnt), cut_off_min=60.0))
    assert out.area_m2 / burnt.area == pytest.approx(1.6**2, rel=0.01)
    assert all(s.held_m == 0.0 for s in out.samples)
    assert out.closed_s is None


@pytest.mark.derived
def test_water_that_dries_lets_the_fire_go_on() -> None:
    """Line that dries after five minutes, ten minutes before the end, holds nothing at the end."""
    fields = uniform_fields(rate_m_per_min=5.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    some = loads(5.0, 50.0, agent="water")
    how = setting(fields, some, always(80.0, hold_s=300.0), anchor=heel_of(burnt), cut_off_min=60.0)
    out = play(fields, burnt, how)
    assert max(s.held_m for s in out.samples) > 0.0
    assert out.samples[-1].held_m == 0.0


@pytest.mark.property
def test_plenty_of_loads_hold() -> None:
    """Six times the edge's growth with line that lasts: a rollout that loses here is broken."""
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    how = setting(fields, loads(1.0, 120.0), always(200.0), anchor=heel_of(burnt), cut_off_min=120.0)
    out = play(fields, burnt, how)
    assert out.samples[-1].open_m < 1.0
    assert out.area_m2 < 2.0 * burnt.area
    assert out.loads_to_close is not None


@pytest.mark.property
def test_open_is_edge_less_line_at_every_moment() -> None:
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    how = setting(fields, loads(4.0, 90.0), always(90.0), anchor=heel_of(burnt), cut_off_min=90.0)
    for s in play(fields, burnt, how).samples:
        assert 0.0 <= s.held_m <= s.edge_m * 1.0001
        assert s.open_m == pytest.approx(max(0.0, s.edge_m - s.held_m))
        assert s.retardant_m <= s.held_m + 1e-6


@pytest.mark.behaviour
def test_no_line_is_laid_where_none_may_be() -> None:
    """People all along the right flank: the left flank is held, the right never."""
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    west, south, east, north = fields.grid.bounds
    half = shapely.box((west + east) / 2, south, east, north)
    how = setting(
        fields, loads(2.0, 60.0), always(150.0), anchor=heel_of(burnt), cut_off_min=60.0, forbidden=half
    )
    out = play(fields, burnt, how)
    assert 0.0 < out.samples[-1].held_m < out.samples[-1].edge_m
    assert out.loads_laid > 0
    free = play(
        fields,
        burnt,
        setting(fields, loads(2.0, 60.0), always(150.0), anchor=heel_of(burnt), cut_off_min=60.0),
    )
    assert out.samples[-1].held_m < free.samples[-1].held_m


@pytest.mark.behaviour
def test_a_flame_over_the_limit_is_not_attacked_directly() -> None:
    """Head at 300 kW/m, limit 200: heel and flanks are worked, the head stays open."""
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0, intensity=300.0)
    burnt = ellipse(fields, 60.0)
    how = setting(
        fields, loads(2.0, 17.0), always(200.0), anchor=heel_of(burnt), cut_off_min=17.0, intensity_max=200.0
    )
    out = play(fields, burnt, how)
    assert out.loads_laid > 0
    assert out.samples[-1].open_m > 50.0
    cold = setting(fields, loads(2.0, 17.0), always(200.0), anchor=heel_of(burnt), cut_off_min=17.0)
    assert play(fields, burnt, cold).samples[-1].open_m < 1.0


@pytest.mark.behaviour
def test_a_load_that_no_stack_can_bring_to_the_level_is_idle() -> None:
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    how = setting(fields, loads(5.0, 30.0), lambda *_: None, anchor=heel_of(burnt), cut_off_min=30.0)
    out = play(fields, burnt, how)
    assert (out.loads_laid, out.loads_idle) == (0, len(loads(5.0, 30.0)))


@pytest.mark.property
def test_the_same_future_ends_the_same_way() -> None:
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0, toward_deg=33.0)
    burnt = ellipse(fields, 60.0)
    how = setting(fields, loads(3.0, 60.0), always(90.0, 1200.0), anchor=heel_of(burnt), cut_off_min=60.0)
    first, second = play(fields, burnt, how), play(fields, burnt, how)
    assert first.samples == second.samples
    assert first.area_m2 == second.area_m2


@pytest.mark.practice
def test_edge_against_unknown_ground_is_open_never_held() -> None:
    """Unknown is not clear: a ring of unknown fuel round the fire holds nothing."""
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    rows, cols = np.mgrid[: fields.grid.rows, : fields.grid.cols]
    x, y = fields.grid.xy(rows, cols)
    beyond = ~shapely.contains_xy(burnt.buffer(25.0), x, y)
    walled = replace(
        fields,
        burnable=~beyond,
        head_rate_mps=np.where(beyond, 0.0, fields.head_rate_mps).astype(np.float32),
    )
    how = setting(fields, [], always(0.0), anchor=heel_of(burnt), cut_off_min=200.0)
    bare = play(walled, burnt, how).samples[-1]
    assert bare.open_m < 1.0
    assert bare.unknown_m == 0.0
    unknown = play(replace(walled, unknown=beyond, unknown_cells=int(beyond.sum())), burnt, how).samples[-1]
    assert unknown.held_m < 1.0
    assert unknown.open_m == pytest.approx(unknown.edge_m, abs=1.0)
    assert unknown.unknown_m == pytest.approx(unknown.edge_m, rel=0.01)


@pytest.mark.behaviour
def test_a_load_that_its_hour_refuses_falls_in_no_future() -> None:
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    how = setting(fields, loads(5.0, 60.0), always(150.0), anchor=heel_of(burnt), cut_off_min=60.0)
    out = roll(how, MIDDLE, Front(fields, burnt, 0.0), fields, lambda _placed: Refusal(None))
    assert out.loads_laid == 0
    assert out.refused == {load.number for load in how.loads}
    others = play(fields, burnt, replace(how, refused=frozenset(out.refused)))
    assert (others.loads_laid, others.loads_idle) == (0, 0)
    assert others.samples[-1].held_m == 0.0


@pytest.mark.behaviour
def test_a_stack_is_finished_where_it_was_begun_or_begun_anew() -> None:
    """Three loads to a line, one every three minutes, wet for twenty: one line in three loads."""
    fields = uniform_fields(rate_m_per_min=1.0, length_to_width=2.0)
    burnt = ellipse(fields, 240.0)

    def three(*_: object) -> LineOption:
        return LineOption(level=4.0, line_m=60.0, coats=3, hold_s=1200.0)

    seen: list[tuple[int, tuple[float, float]]] = []

    def watch(placed: object) -> None:
        middle = placed.edge.mid[placed.stretch.middle]  # type: ignore[attr-defined]
        seen.append((placed.coat, (float(middle[0]), float(middle[1]))))  # type: ignore[attr-defined]

    how = setting(fields, loads(3.0, 29.0, agent="water"), three, anchor=heel_of(burnt), cut_off_min=30.0)
    roll(how, MIDDLE, Front(fields, burnt, 0.0), fields, watch)
    assert [coat for coat, _ in seen] == [1, 2, 3] * 3
    for i in (0, 3, 6):
        for j in (i + 1, i + 2):
            assert np.hypot(*np.subtract(seen[i][1], seen[j][1])) <= 60.0
    slow = setting(fields, loads(25.0, 101.0, agent="water"), three, anchor=heel_of(burnt), cut_off_min=110.0)
    seen.clear()
    roll(slow, MIDDLE, Front(fields, burnt, 0.0), fields, watch)
    assert {coat for coat, _ in seen} == {1}


@pytest.mark.behaviour
def test_the_last_moment_of_the_race_is_the_cut_off() -> None:
    fields = uniform_fields(rate_m_per_min=4.0, length_to_width=2.0)
    burnt = ellipse(fields, 60.0)
    how = setting(fields, [], always(0.0), anchor=heel_of(burnt), cut_off_min=37.0, sample_min=15.0)
    assert [s.t_s / 60.0 for s in play(fields, burnt, how).samples] == [0.0, 15.0, 30.0, 37.0]
