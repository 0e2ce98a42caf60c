"""What happens on the way: fires lit later, a perimeter drawn anew, line with two ends, places, burn-out.

Times by hand, in a uniform field without wind: distance / rate.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from growth.ellipses import CELL_M, ellipse, fields_of, square_grid
from wetline.errors import InputError, OutsideRangeError
from wetline.growth import Front, advance, arrival

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from wetline.behaviour import FireFields

    Line = tuple[list[tuple[float, float]], float] | tuple[list[tuple[float, float]], float, float]
    Way = Callable[
        [FireFields, Polygon, float, Sequence[Line], Sequence[tuple[Polygon, float]], float], Front
    ]

GRID = square_grid(80)
RATE_MPS = 0.2
CELL_S = CELL_M / RATE_MPS
EVEN = fields_of(GRID, RATE_MPS, 0.0, 1.0)
HOURS = fields_of(GRID, [RATE_MPS] * 4, 0.0, 1.0, edges_s=[0.0, 700.0, 1900.0, 3300.0, 20_000.0])
CX, CY = GRID.xy(*np.mgrid[:80, :80])
X0 = 500_600.0
WEST = box(500_300.0, GRID.north_m - 2100.0, X0, GRID.north_m + 100.0)
"""A straight edge from north to south that runs east."""
AHEAD_M = 300.0
AHEAD = [(X0 + AHEAD_M, GRID.north_m + 50.0), (X0 + AHEAD_M, GRID.north_m - 2050.0)]
AT_LINE_S = AHEAD_M / RATE_MPS
FROM_EDGE_M = CX - X0
NEVER = np.inf


def together(*shapes: Polygon) -> Polygon | MultiPolygon:
    union = shapely.union_all(list(shapes))
    assert isinstance(union, Polygon | MultiPolygon)
    return union


def disc(x: float, y: float, radius_m: float) -> Polygon:
    angle = np.linspace(0.0, 2.0 * np.pi, 360, endpoint=False)
    return Polygon(np.column_stack((x + radius_m * np.cos(angle), y + radius_m * np.sin(angle))))


def at_once(
    fields: FireFields,
    burnt: Polygon,
    until_s: float,
    lines: Sequence[Line],
    lit: Sequence[tuple[Polygon, float]],
    burn_out_s: float,
) -> Front:
    front = Front(fields, burnt, 0.0, burn_out_s=burn_out_s)
    advance(front, until_s, lines, lit=lit)
    return front


def by_hand(
    fields: FireFields,
    burnt: Polygon,
    until_s: float,
    lines: Sequence[Line],
    lit: Sequence[tuple[Polygon, float]],
    burn_out_s: float,
) -> Front:
    """The same by the front's own methods, in steps of 97 s, through a copy."""
    front = Front(fields, burnt, 0.0, burn_out_s=burn_out_s)
    laid = [(line[2] if len(line) == 3 else 0.0, line) for line in lines]
    stops = {until_s, *np.arange(97.0, until_s, 97.0), *(t for t, _ in laid), *(t for _, t in lit)}
    for t_s in sorted(stops):
        front.advance(t_s)
        for burns, at_s in lit:
            if at_s == t_s:
                front.ignite(burns)
        for begin_s, line in laid:
            if begin_s == t_s:
                front.hold_line(line[0], line[1])
        front = front.copy()
    return front


WAYS = pytest.mark.parametrize("way", [at_once, by_hand])
FIELDS = pytest.mark.parametrize("fields", [EVEN, HOURS], ids=["one hour", "hours alike"])


def straight_s(fields_m: NDArray[np.float64], waits_s: float) -> NDArray[np.float64]:
    """Arrival of the straight edge beyond the line, if it waits there until `waits_s`."""
    return np.asarray(waits_s + (fields_m - AHEAD_M) / RATE_MPS)


@pytest.mark.derived
@WAYS
@FIELDS
def test_a_fire_lit_later_burns_from_its_own_time(way: Way, fields: FireFields) -> None:
    first, second = (500_600.0, 5_239_300.0), (501_400.0, 5_238_700.0)
    burnt, spot = disc(*first, 100.0), disc(*second, 60.0)
    got = way(fields, burnt, 4000.0, (), [(spot, 1234.0)], NEVER).arrival_s
    exact = np.minimum(
        (np.hypot(CX - first[0], CY - first[1]) - 100.0) / RATE_MPS,
        1234.0 + (np.hypot(CX - second[0], CY - second[1]) - 60.0) / RATE_MPS,
    )
    reached = (exact > 1300.0) & (exact < 3900.0)
    assert reached.sum() > 1000
    assert np.mean(np.abs(got[reached] - exact[reached])) < 0.03 * CELL_S
    assert got[reached] == pytest.approx(exact[reached], abs=0.5 * CELL_S)
    assert np.isinf(got[exact > 4100.0]).all()
    within = np.hypot(CX - second[0], CY - second[1]) < 50.0
    assert np.all(got[within] == 1234.0)


@pytest.mark.derived
def test_a_spot_in_wind_grows_as_an_ellipse_of_its_own_age() -> None:
    fields = fields_of(GRID, 0.3, 62.0, 3.0)
    spot = ellipse(501_000.0, 5_238_800.0, 400.0, 0.3, 62.0, 3.0)
    alone = arrival(fields, spot, at_s=500.0, until_s=2000.0)
    front = Front(fields, disc(500_100.0, 5_239_900.0, 40.0), 0.0)
    advance(front, 2000.0, lit=[(spot, 500.0)])
    known = np.isfinite(alone)
    assert known.sum() > 100
    assert front.arrival_s[known] == pytest.approx(alone[known], abs=0.5)


@pytest.mark.property
def test_a_fire_lit_where_it_has_burnt_changes_nothing() -> None:
    front = Front(EVEN, disc(501_000.0, 5_239_000.0, 200.0), 0.0)
    front.advance(500.0)
    twin = front.copy()
    twin.ignite(disc(501_020.0, 5_238_980.0, 80.0))
    for one in (front, twin):
        one.advance(1500.0)
    assert twin.arrival_s.tobytes() == front.arrival_s.tobytes()


@pytest.mark.derived
@WAYS
def test_a_spot_beside_wet_line_does_not_leak_across_it(way: Way) -> None:
    """Lit 40 m beyond a line that holds, east of it: nothing west of the line burns."""
    spot = disc(X0 + AHEAD_M + 40.0 + 30.0, 5_239_000.0, 30.0)
    far = box(500_050.0, 5_239_950.0, 500_090.0, 5_239_990.0)
    got = way(EVEN, far, 2500.0, [(AHEAD, np.inf)], [(spot, 200.0)], NEVER).arrival_s
    near_spot = np.hypot(CX - (X0 + AHEAD_M + 70.0), CY - 5_239_000.0)
    assert np.isinf(got[(FROM_EDGE_M < AHEAD_M - 1.0) & (near_spot < 200.0)]).all()
    east = (FROM_EDGE_M > AHEAD_M + 1.0) & (near_spot > 40.0) & (near_spot < 400.0)
    exact = 200.0 + (near_spot[east] - 30.0) / RATE_MPS
    assert got[east] == pytest.approx(exact, abs=0.2 * CELL_S)


@pytest.mark.derived
@WAYS
@FIELDS
def test_line_laid_later_holds_from_then_and_dries(way: Way, fields: FireFields) -> None:
    got = way(fields, WEST, 6000.0, [(AHEAD, 3000.0, 1100.0)], (), NEVER).arrival_s
    before = (FROM_EDGE_M > 0.0) & (FROM_EDGE_M < AHEAD_M - 1.0)
    beyond = (FROM_EDGE_M > AHEAD_M + 1.0) & (FROM_EDGE_M < 850.0)
    assert got[before] == pytest.approx(FROM_EDGE_M[before] / RATE_MPS, abs=0.03 * CELL_S)
    assert got[beyond] == pytest.approx(straight_s(FROM_EDGE_M[beyond], 3000.0), abs=0.03 * CELL_S)


@pytest.mark.derived
@WAYS
def test_line_laid_when_the_fire_has_passed_stops_nothing(way: Way) -> None:
    late = AT_LINE_S + 300.0
    got = way(EVEN, WEST, 4000.0, [(AHEAD, 9000.0, late)], (), NEVER).arrival_s
    reached = (FROM_EDGE_M > 0.0) & (FROM_EDGE_M < 790.0)
    assert got[reached] == pytest.approx(FROM_EDGE_M[reached] / RATE_MPS, abs=0.03 * CELL_S)


@pytest.mark.derived
@WAYS
@FIELDS
@pytest.mark.parametrize(("burn_out_s", "goes_on"), [(1499.0, False), (1501.0, True), (NEVER, True)])
def test_an_edge_that_waits_longer_than_it_burns_is_out_for_good(
    way: Way, fields: FireFields, burn_out_s: float, goes_on: bool
) -> None:
    """It stands at the line from 1,500 s until that dries at 3,000 s."""
    front = way(fields, WEST, 5000.0, [(AHEAD, 3000.0)], (), burn_out_s)
    got = front.arrival_s
    before = (FROM_EDGE_M > 0.0) & (FROM_EDGE_M < AHEAD_M - 1.0)
    assert got[before] == pytest.approx(FROM_EDGE_M[before] / RATE_MPS, abs=0.03 * CELL_S)
    beyond = (FROM_EDGE_M > AHEAD_M + 1.0) & (FROM_EDGE_M < 650.0)
    if goes_on:
        assert got[beyond] == pytest.approx(straight_s(FROM_EDGE_M[beyond], 3000.0), abs=0.03 * CELL_S)
    else:
        assert np.isinf(got[FROM_EDGE_M > AHEAD_M]).all()
        rings = front.trace()
        at_line = np.concatenate([np.abs(ring.xy[:, 0] - X0 - AHEAD_M) < 2.0 for ring in rings])
        held = np.concatenate([ring.held_until_s for ring in rings])
        assert at_line.sum() > 50
        assert np.isposinf(held[at_line]).mean() > 0.95


@pytest.mark.derived
def test_only_where_it_waited_too_long_the_edge_is_out() -> None:
    """Two straight edges at one line: one comes at 500 s, one at 2,500 s; it dries at 3,000 s."""
    near = box(X0 + 200.0, 5_239_100.0, X0 + 210.0, 5_239_900.0)
    late = box(500_300.0, 5_238_050.0, X0 - 210.0, 5_238_900.0)
    wall = np.ones(GRID.shape, bool)
    wall[38:42] = False
    fields = fields_of(GRID, RATE_MPS, 0.0, 1.0, burnable=wall)
    front = Front(fields, together(near, late), 0.0, burn_out_s=1000.0)
    front.hold_line(AHEAD, 3000.0)
    front.advance(3600.0)
    beyond = (FROM_EDGE_M > AHEAD_M + 1.0) & (FROM_EDGE_M < AHEAD_M + 80.0)
    assert np.isinf(front.arrival_s[beyond & (CY > 5_239_200.0) & (CY < 5_239_800.0)]).all()
    goes = beyond & (CY > 5_238_200.0) & (CY < 5_238_800.0)
    assert front.arrival_s[goes] == pytest.approx(straight_s(FROM_EDGE_M[goes], 3000.0), abs=0.05 * CELL_S)


@pytest.mark.derived
@FIELDS
def test_an_edge_held_and_held_again_has_waited_since_the_first(fields: FireFields) -> None:
    """Held at 0 s until 1,000 s, at 900 s until 1,800 s: out at 1,500 s. Let go at 1,400 s it goes on."""
    front = Front(fields, disc(501_000.0, 5_239_000.0, 200.0), 0.0, burn_out_s=1500.0)
    (ring,) = front.trace()
    front.hold(ring, 0, len(ring.xy) - 1, 1000.0)
    front.advance(900.0)
    (ring,) = front.trace()
    again = front.hold(ring, 0, len(ring.xy) - 1, 1800.0)
    front.advance(1400.0)
    assert not front.contained()
    let_go = front.copy()
    let_go.release(again, 1400.0)
    let_go.advance(2000.0)
    assert let_go.burnt.sum() > front.burnt.sum()
    start = front.burnt
    front.advance(6000.0)
    assert np.array_equal(front.burnt, start)
    assert front.contained()
    assert np.isposinf(front.trace()[0].held_until_s).all()
    front.release(again, 6500.0)
    front.advance(9000.0)
    assert np.array_equal(front.burnt, start)


@pytest.mark.derived
@pytest.mark.parametrize("fields", [EVEN, HOURS], ids=["one hour", "hours alike"])
def test_growth_stops_when_the_fire_comes_to_the_first_of_the_places(fields: FireFields) -> None:
    front = Front(fields, WEST, 0.0)
    places = [
        np.flatnonzero((FROM_EDGE_M.ravel() > m) & (FROM_EDGE_M.ravel() < m + 60.0)) for m in (410, 300)
    ]
    went_on = front.copy()
    cells_m = [FROM_EDGE_M.ravel()[cells].min() for cells in places]
    for place in (1, 0):
        reached = front.advance(5000.0, places)
        assert reached is not None
        assert reached.place == place
        assert reached.cell in places[place]
        assert reached.at_s == front.now_s == pytest.approx(cells_m[place] / RATE_MPS, abs=0.03 * CELL_S)
        assert front.arrival_s.ravel()[places[place]].min() == reached.at_s
    assert front.advance(3000.0, places) is None
    assert front.now_s == 3000.0
    went_on.advance(3000.0)
    known = np.isfinite(went_on.arrival_s)
    assert np.array_equal(np.isfinite(front.arrival_s), known)
    assert front.arrival_s[known] == pytest.approx(went_on.arrival_s[known], abs=0.02 * CELL_S)


@pytest.mark.behaviour
def test_what_comes_after_the_stop_is_not_done_and_says_so() -> None:
    front = Front(EVEN, WEST, 0.0)
    place = [np.flatnonzero(FROM_EDGE_M.ravel() > 200.0)]
    done = advance(front, 4000.0, [(AHEAD, 9000.0, 3000.0), (AHEAD, 9000.0)], places=place)
    assert done.pieces == (None, 1)
    assert done.reached is not None
    assert done.reached.place == 0
    assert front.now_s == done.reached.at_s < 1500.0


@pytest.mark.behaviour
@pytest.mark.parametrize("cells", [[], [-1], [80 * 80]])
def test_a_place_off_the_grid_is_refused_and_not_taken_for_one_never_reached(cells: list[int]) -> None:
    with pytest.raises(InputError, match="Place 0"):
        Front(EVEN, WEST, 0.0).advance(100.0, [np.array(cells, np.intp)])


@pytest.mark.behaviour
def test_events_before_now_or_after_the_end_and_a_burn_out_that_is_none_are_refused() -> None:
    front = Front(EVEN, WEST, 0.0)
    with pytest.raises(OutsideRangeError, match="blocked"):
        advance(front, 500.0, [(AHEAD, 900.0, 501.0)])
    with pytest.raises(OutsideRangeError, match="lit"):
        advance(front, 500.0, lit=[(WEST, -1.0)])
    for bad in (-1.0, np.nan):
        with pytest.raises(OutsideRangeError, match="burn_out_s"):
            Front(EVEN, WEST, 0.0, burn_out_s=bad)


@pytest.mark.derived
@FIELDS
def test_a_fire_drawn_anew_goes_on_from_where_it_was_seen(fields: FireFields) -> None:
    """Seen at 1,000 s to have come 150 m instead of 200 m in the north half, and 320 m in the south."""
    front = Front(fields, WEST, 0.0)
    front.advance(1000.0)
    middle = GRID.north_m - 1000.0
    seen = together(
        box(500_300.0, middle, X0 + 150.0, GRID.north_m + 100.0),
        box(500_300.0, GRID.north_m - 2100.0, X0 + 320.0, middle),
    )
    new = front.redrawn(seen)
    assert front.burnt.sum() != new.burnt.sum()
    new.advance(2500.0)
    y, from_edge_m = CY, FROM_EDGE_M
    for part, came_m in ((y > middle + 500.0, 150.0), (y < middle - 100.0, 320.0)):
        old = part & (from_edge_m > 0.0) & (from_edge_m < min(came_m, 199.0))
        assert np.array_equal(new.arrival_s[old], front.arrival_s[old])
        unseen = part & (from_edge_m > 201.0) & (from_edge_m < came_m)
        assert np.all(new.arrival_s[unseen] == 1000.0)
        later = part & (from_edge_m > came_m + 1.0) & (from_edge_m < came_m + 250.0)
        exact = 1000.0 + (from_edge_m[later] - came_m) / RATE_MPS
        assert new.arrival_s[later] == pytest.approx(exact, abs=0.03 * CELL_S)


@pytest.mark.derived
@pytest.mark.parametrize("pen_m", [-8.0, 0.0, 8.0])
def test_line_laid_before_holds_a_fire_drawn_anew_along_it(pen_m: float) -> None:
    """Drawn at 1,000 s a little before, on or beyond the line, which dries at 2,000 s and is then secured."""
    front = Front(EVEN, WEST, 0.0)
    piece = front.hold_line(AHEAD, 2000.0)
    front.advance(1000.0)
    seen = box(500_300.0, GRID.north_m - 2100.0, X0 + AHEAD_M + pen_m, GRID.north_m + 100.0)
    new = front.redrawn(seen)
    secured = new.copy()
    secured.release(piece, np.inf)
    secured.advance(6000.0)
    assert np.isinf(secured.arrival_s[FROM_EDGE_M > AHEAD_M + 12.5]).all()
    new.advance(4000.0)
    beyond = (FROM_EDGE_M > AHEAD_M + 13.0) & (FROM_EDGE_M < 650.0)
    assert new.arrival_s[beyond] == pytest.approx(straight_s(FROM_EDGE_M[beyond], 2000.0), abs=0.05 * CELL_S)


@pytest.mark.derived
def test_a_fire_drawn_well_across_line_has_passed_it_there_and_only_there() -> None:
    front = Front(EVEN, WEST, 0.0)
    front.hold_line(AHEAD, np.inf)
    front.advance(1400.0)
    middle = GRID.north_m - 1000.0
    tongue = box(X0, middle - 100.0, X0 + AHEAD_M + 45.0, middle + 100.0)
    new = front.redrawn(together(box(500_300.0, GRID.north_m - 2100.0, X0 + 280.0, 5.3e6), tongue))
    new.advance(2400.0)
    row = np.abs(CY - middle) < 60.0
    through = row & (FROM_EDGE_M > AHEAD_M + 50.0) & (FROM_EDGE_M < AHEAD_M + 200.0)
    exact = 1400.0 + (FROM_EDGE_M[through] - AHEAD_M - 45.0) / RATE_MPS
    assert new.arrival_s[through] == pytest.approx(exact, abs=0.05 * CELL_S)
    aside = (np.abs(CY - middle) > 400.0) & (FROM_EDGE_M > AHEAD_M + 1.0)
    assert np.isinf(new.arrival_s[aside]).all()
    assert not new.contained()


@pytest.mark.property
@pytest.mark.parametrize("fields", [EVEN, HOURS], ids=["one hour", "hours alike"])
def test_the_same_twice_gives_the_same_bytes(fields: FireFields) -> None:
    def play() -> bytes:
        front = Front(fields, disc(500_900.0, 5_239_000.0, 200.0), 0.0, burn_out_s=4000.0)
        (ring,) = front.trace()
        front.hold(ring, 3, 9, 1800.0)
        advance(front, 2500.0, [(AHEAD, 2000.0, 600.0)], lit=[(disc(501_600.0, 5_238_500.0, 30.0), 800.0)])
        return front.arrival_s.tobytes() + b"".join(ring.xy.tobytes() for ring in front.trace())

    assert play() == play()
