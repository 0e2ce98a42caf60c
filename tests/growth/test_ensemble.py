"""Futures counted: the middle is exact, members come again, shares are shares, unknown is never clear."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from growth.ellipses import ellipse, fields_of, square_grid
from wetline.behaviour import FireFields, Variation
from wetline.errors import InputError, OutsideRangeError
from wetline.growth import Ensemble, Errors, Front, ensemble, ensemble_of, member

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely.geometry import Polygon

GRID = square_grid(80)
HOURS_S = (3600.0, 7200.0)
MIDDLE = (0.5 * sum(GRID.bounds[::2]), 0.5 * sum(GRID.bounds[1::2]))


def uniform(variation: Variation) -> FireFields:
    """The same fire everywhere: wind drives the rate, and turns it; moisture slows it."""
    rate = 0.06 * variation.wind_factor * variation.spread_factor * (1.0 - 0.05 * variation.moisture_add_pct)
    return fields_of(
        GRID, rate, 40.0 + variation.wind_turn_deg, 2.0, edges_s=(0.0, 5400.0, 14_400.0)
    )  # fmt: skip


def fire() -> Polygon:
    return ellipse(*MIDDLE, 1500.0, 0.06, 40.0, 2.0)


def counted(
    *,
    members: int = 12,
    seed: int = 3,
    errors: Errors | None = None,
    fields: Callable[[Variation], FireFields] = uniform,
    place_cells: tuple[NDArray[np.intp], ...] = (),
) -> Ensemble[None]:
    return ensemble(
        fields,
        fire(),
        at_s=0.0,
        hours_s=HOURS_S,
        members=members,
        seed=seed,
        errors=errors or Errors(),
        place_cells=place_cells,
        workers=1,
    )


def grown_alone(number: int, seed: int = 3, errors: Errors | None = None) -> NDArray[np.float64]:
    front = Front(uniform(member(number, seed, errors or Errors())), fire(), 0.0)
    for t_s in HOURS_S:
        front.advance(t_s)
    return front.arrival_s


NONE = Errors(wind_speed=0.0, wind_turn_deg=0.0, moisture_pct=0.0, spread=0.0)


@pytest.mark.property
def test_without_errors_every_member_is_the_middle_future_exactly() -> None:
    found = counted(errors=NONE, members=3)
    alone = grown_alone(0)
    assert set(np.unique(found.probability)) == {0.0, 1.0}
    assert np.array_equal(found.probability[-1] == 1.0, np.isfinite(alone))
    assert np.ptp(found.area_m2, axis=0).tolist() == [0.0, 0.0]
    middle = found.grown[0].arrival_s
    assert middle is not None
    assert np.array_equal(middle, alone)


@pytest.mark.property
def test_a_share_is_the_share_by_direct_count() -> None:
    """Each member grown by itself, and counted by hand."""
    members = 7
    found = counted(members=members)
    maps = np.array([grown_alone(number) for number in range(members + 1)])
    middle = found.grown[0].arrival_s
    assert middle is not None
    assert np.array_equal(middle, maps[0])
    maps = maps[1:]  # the middle future is no draw
    for h, t_s in enumerate(HOURS_S):
        assert found.probability[h] == pytest.approx((maps <= t_s).mean(axis=0), abs=1e-6)
    assert found.of == members
    alone = counted(members=0)
    assert (alone.of, np.array_equal(alone.probability[-1] == 1.0, np.isfinite(middle))) == (1, True)
    # quantiles by the same count: the k-th earliest arrival, to a counting step
    step_s = HOURS_S[0] / 4
    for share, kth in ((0.1, 0), (0.5, 3), (0.9, 6)):
        exact = np.sort(maps, axis=0)[kth]
        ours = found.arrival_s(share)
        assert np.array_equal(np.isfinite(ours), np.isfinite(exact))
        burnt = np.isfinite(exact)
        assert np.abs(ours[burnt] - exact[burnt]).max() <= step_s


@pytest.mark.property
@given(st.integers(0, 2**31), st.integers(1, 40))
def test_a_member_hangs_on_seed_and_number_alone(seed: int, number: int) -> None:
    """Common random numbers: a change of one error leaves what the others drew."""
    one, again = member(number, seed), member(number, seed)
    assert one == again
    assert one != member(number + 1, seed)
    assert one != member(number, seed + 1)
    calm = member(number, seed, Errors(wind_speed=0.0))
    assert calm == replace(one, wind_factor=1.0)
    assert member(0, seed) == Variation()


@pytest.mark.property
def test_member_k_is_the_same_however_many_there_are() -> None:
    few, many = counted(members=3), counted(members=7)
    for a, b in zip(few.grown, many.grown, strict=False):
        assert a.number == b.number
        assert np.array_equal(a.area_m2, b.area_m2)
    assert [g.number for g in many.grown] == list(range(8))


@pytest.mark.derived
def test_errors_spread_as_they_say() -> None:
    """Quantiles of the normal law by scipy; 4000 draws hold 10 and 90 % to a few hundredths of sigma."""
    errors = Errors(wind_speed=0.2, wind_turn_deg=12.0, moisture_pct=1.0, spread=0.3)
    drawn = [member(number, 5, errors) for number in range(1, 4001)]
    z = norm.ppf([0.1, 0.5, 0.9])
    for values, sigma in (
        (np.log([d.wind_factor for d in drawn]), 0.2),
        (np.array([d.wind_turn_deg for d in drawn]), 12.0),
        (np.array([d.moisture_add_pct for d in drawn]), 1.0),
        (np.log([d.spread_factor for d in drawn]), 0.3),
    ):
        assert np.quantile(values, [0.1, 0.5, 0.9]) / sigma == pytest.approx(z, abs=0.08)
    together = np.corrcoef(
        [[d.wind_turn_deg, d.moisture_add_pct, d.spread_factor] for d in drawn], rowvar=False
    )
    assert np.abs(together - np.eye(3)).max() < 0.05


@pytest.mark.property
def test_bands_widen_with_the_errors() -> None:
    small = Errors(wind_speed=0.05, wind_turn_deg=3.0, moisture_pct=0.2, spread=0.05)
    narrow, wide = counted(errors=small), counted()

    def band(found: Ensemble[None]) -> float:
        return float(np.ptp(np.quantile(found.area_m2[:, -1], (0.1, 0.9))))

    assert 0.0 < band(narrow) < 0.5 * band(wide)

    def unsure(found: Ensemble[None]) -> int:
        return int(((found.probability[-1] > 0.0) & (found.probability[-1] < 1.0)).sum())

    assert 0 < unsure(narrow) < 0.5 * unsure(wide)


@pytest.mark.property
def test_shares_fall_outward_and_rise_with_time_over_even_ground() -> None:
    found = counted(errors=Errors(wind_turn_deg=0.0))
    share = found.probability
    assert np.all(np.diff(share, axis=0) >= 0.0)
    # each member's fire is an ellipse round its ignition, so along the lattice's own rays it only ends once
    row, col = (int(i) for i in GRID.index(*MIDDLE))
    step = np.arange(38)
    for down, right in ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1)):
        along = share[-1][row + down * step, col + right * step]
        assert along[0] == 1.0
        assert np.all(np.diff(along) <= 0.0)
    assert 0.0 < share[-1].mean() < 0.9


@pytest.mark.property
def test_quantiles_of_arrival_are_in_order() -> None:
    found = counted()
    early, middle, late = (found.arrival_s(q) for q in (0.1, 0.5, 0.9))
    assert np.all(early <= middle)
    assert np.all(middle <= late)
    assert np.all(early[np.isfinite(early)] <= HOURS_S[-1])
    burnt = np.asarray(found.burnt_in[0] == found.of)
    assert burnt.any()
    assert np.all(late[burnt] == 0.0)


@pytest.mark.property
def test_places_are_reached_in_as_many_futures_as_burn_their_cells() -> None:
    row, col = (int(i) for i in GRID.index(MIDDLE[0] + 250.0, MIDDLE[1] + 250.0))
    here, nowhere = np.array([row * GRID.cols + col]), np.empty(0, np.intp)
    found = counted(place_cells=(here, nowhere))
    assert found.reached_in().tolist() == [int(found.burnt_in[-1, row, col]), -1]
    assert 0 < found.reached_in()[0] < found.of
    assert np.isnan(found.place_s[:, 1]).all()
    finite = found.place_s[:, 0][np.isfinite(found.place_s[:, 0])]
    assert finite.min() > 0.0


@pytest.mark.behaviour
def test_unknown_ground_is_never_shown_as_clear() -> None:
    unknown = np.zeros(GRID.shape, bool)
    unknown[:, :10] = True

    def partly(variation: Variation) -> FireFields:
        fields = uniform(variation)
        rate = np.where(unknown, np.float32(0), fields.head_rate_mps)
        return replace(fields, head_rate_mps=rate, burnable=~unknown, unknown=unknown, unknown_cells=800)

    found = counted(fields=partly, members=2)
    assert np.isnan(found.probability[:, unknown]).all()
    assert not np.isnan(found.probability[:, ~unknown]).any()
    assert np.isnan(found.arrival_s(0.5)[unknown]).all()


@pytest.mark.behaviour
def test_a_fire_that_leaves_the_map_and_parts_that_are_lost_are_counted() -> None:
    def fast(variation: Variation) -> FireFields:
        fields = uniform(variation)
        return replace(fields, head_rate_mps=fields.head_rate_mps * 20.0)

    assert counted(members=3).left_map == 0
    assert counted(fields=fast, members=3).left_map == 4
    assert [g.parts_lost for g in counted(members=1).grown] == [0, 0]


@pytest.mark.behaviour
def test_a_note_is_kept_of_every_future_at_every_hour() -> None:
    found = ensemble_of(
        lambda variation: Front(uniform(variation), fire(), 0.0),
        at_s=0.0,
        hours_s=HOURS_S,
        members=2,
        seed=1,
        note=lambda number, front, rings: (number, front.now_s, len(rings)),
        unknown=None,
        workers=1,
    )
    assert [g.noted for g in found.grown] == [tuple((k, t_s, 1) for t_s in HOURS_S) for k in range(3)]


@pytest.mark.behaviour
def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(InputError, match="do not increase"):
        ensemble(uniform, fire(), at_s=0.0, hours_s=[7200.0, 3600.0], members=1, seed=1, workers=1)
    with pytest.raises(InputError, match="do not increase"):
        ensemble(uniform, fire(), at_s=0.0, hours_s=[], members=1, seed=1, workers=1)
    for members in (-1, 70_000):
        with pytest.raises(OutsideRangeError, match="members"):
            counted(members=members)
    with pytest.raises(OutsideRangeError, match="wind_speed"):
        Errors(wind_speed=0.6)
    with pytest.raises(OutsideRangeError, match="spread"):
        Errors(spread=-0.1)
    with pytest.raises(OutsideRangeError, match="number"):
        member(-1, 0)
    for share in (0.0, 1.5):
        with pytest.raises(OutsideRangeError, match="share"):
            counted(members=0).arrival_s(share)
