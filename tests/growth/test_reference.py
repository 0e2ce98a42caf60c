"""Arrival times against shortest paths over a finer grid with far neighbours, in fields that are not uniform.

Errors count relative to the arrival itself, from a tenth of the time looked at on. What the reference
itself is good to is measured in the same test, by refining it, and must be far less than the limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely.geometry import Point

from growth.ellipses import CELL_M, fields_of, square_grid
from growth.reference import Ground, reference_s
from wetline.growth import Front, arrival

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from wetline.behaviour import FireFields

CELLS = 72
GRID = square_grid(CELLS)
MIDDLE = (GRID.west_m + 0.5 * CELLS * CELL_M + 3.0, GRID.north_m - 0.5 * CELLS * CELL_M - 7.0)
BURNT = Point(*MIDDLE).buffer(80.0, quad_segs=32)
HOUR_S = 1500.0
LINES = [
    ([(MIDDLE[0] - 150.0, MIDDLE[1] + 310.0), (MIDDLE[0] + 260.0, MIDDLE[1] + 190.0)], np.inf),
    ([(MIDDLE[0] + 205.0, MIDDLE[1] - 140.0), (MIDDLE[0] - 90.0, MIDDLE[1] - 215.0)], 3000.0),
]


@dataclass(frozen=True)
class Case:
    name: str
    until_s: float
    limit_percent: float
    most_length_to_width: float = 1.5
    patch_cells: int = 0
    barriers: bool = False
    hours: int = 1
    lines: bool = False

    def __str__(self) -> str:
        return self.name


CASES = [
    Case("smooth, long ellipses", 9000.0, 1.0, most_length_to_width=4.0),
    Case("smooth, very long ellipses", 9000.0, 1.5, most_length_to_width=6.0),
    Case("smooth, barriers", 9000.0, 1.0, most_length_to_width=3.0, barriers=True),
    Case("patchy, barriers", 6000.0, 1.0, patch_cells=12, barriers=True),
    Case("smooth, hourly wind", 6000.0, 1.0, most_length_to_width=3.0, hours=4),
    Case("smooth, hourly wind, barriers", 6000.0, 1.5, most_length_to_width=3.0, hours=4, barriers=True),
    Case("smooth, lines", 6000.0, 1.0, most_length_to_width=2.0, lines=True),
    Case("all at once", 6000.0, 1.0, most_length_to_width=2.0, hours=4, barriers=True, lines=True),
]
"""Limits in % of the arrival, mean."""


def waves(x: NDArray[np.float64], y: NDArray[np.float64], seed: int) -> NDArray[np.float64]:
    """Six waves of 900 to 2,250 m, deviation 1."""
    rng = np.random.default_rng(seed)
    out = np.zeros_like(x)
    for _ in range(6):
        number, toward, phase = rng.uniform(0.4, 1.0) * 2.0 * np.pi / 900.0, *rng.uniform(0.0, 2.0 * np.pi, 2)
        out += np.sin(number * (np.cos(toward) * x + np.sin(toward) * y) + phase)
    return np.asarray(out / np.sqrt(3.0))


def patches(x: NDArray[np.float64], y: NDArray[np.float64], seed: int, cells: int) -> NDArray[np.float64]:
    """One value a patch, deviation 1, corners on corners of cells."""
    values = np.clip(np.random.default_rng(seed).normal(size=(99, 99)), -1.5, 1.5)
    return np.asarray(values[(y / (cells * CELL_M)).astype(int), (x / (cells * CELL_M)).astype(int)])


def ground(case: Case, refine: int) -> Ground:
    """The case on nodes `refine` times as close as the cells; with 1, on the cells themselves."""
    n, cell_m = CELLS * refine, CELL_M / refine
    row, col = np.mgrid[:n, :n]
    x, y = (col + 0.5) * cell_m, (row + 0.5) * cell_m
    vary = [
        patches(x, y, seed, case.patch_cells) if case.patch_cells else waves(x, y, seed) for seed in (1, 2, 3)
    ]
    hour = np.arange(case.hours)[:, None, None]
    ratio = 1.0 + (case.most_length_to_width - 1.0) / (1.0 + np.exp(-1.5 * vary[2]))
    burns = np.ones((n, n), bool)
    if case.barriers:
        block = np.random.default_rng(9).random((CELLS // 4, CELLS // 4)) < 0.1
        burns = ~np.kron(block, np.ones((4 * refine, 4 * refine), bool))
        burns[np.hypot(x - 0.5 * CELLS * CELL_M, y - 0.5 * CELLS * CELL_M) < 150.0] = True
    lines = [(*start, *end, dries_s) for (start, end), dries_s in LINES] if case.lines else []
    return Ground(
        cell_m=cell_m,
        west_m=GRID.west_m + 0.5 * cell_m,
        north_m=GRID.north_m - 0.5 * cell_m,
        rate_mps=0.2
        * np.exp((0.3 if case.patch_cells else 0.5) * vary[0])
        * (1.0 + 0.5 * np.sin(2.0 * hour)),
        toward_deg=40.0 * vary[1] + 35.0 * hour,
        eccentricity=np.sqrt(1.0 - 1.0 / ratio**2) + 0.0 * hour,
        burns=burns,
        edges_s=np.append(HOUR_S * np.arange(case.hours), 1e9),
        lines=np.array(lines, float).reshape(-1, 5),
    )


@cache
def by_paths(case: Case, refine: int, reach: int) -> NDArray[np.float64]:
    found = reference_s(ground(case, refine), BURNT, case.until_s, reach)
    middle = refine // 2
    return found[middle::refine, middle::refine]


def fields(case: Case) -> FireFields:
    same = ground(case, 1)
    ratio = 1.0 / np.sqrt(1.0 - same.eccentricity**2)
    return fields_of(
        GRID, same.rate_mps, same.toward_deg, ratio, edges_s=[*same.edges_s], burnable=same.burns
    )


def at_once(case: Case) -> NDArray[np.float64]:
    lines = LINES if case.lines else []
    return arrival(fields(case), BURNT, at_s=0.0, until_s=case.until_s, lines=lines)


def in_strips(case: Case) -> NDArray[np.float64]:
    front = Front(fields(case), BURNT, 0.0)
    for xy, until_s in LINES if case.lines else []:
        front.hold_line(xy, until_s)
    for t_s in [*np.arange(173.0, case.until_s, 173.0), case.until_s]:
        front.advance(t_s)
    return front.arrival_s


def differences(
    got: NDArray[np.float64], reference: NDArray[np.float64], until_s: float
) -> NDArray[np.float64]:
    counted = (
        np.isfinite(got) & np.isfinite(reference) & (reference > 0.1 * until_s) & (reference < 0.95 * until_s)
    )
    assert counted.sum() > 400
    return np.asarray(got[counted] / reference[counted] - 1.0)


@pytest.mark.derived
@pytest.mark.parametrize("way", [at_once, in_strips])
@pytest.mark.parametrize("case", CASES, ids=str)
def test_times_meet_shortest_paths_over_a_finer_grid(
    way: Callable[[Case], NDArray[np.float64]], case: Case
) -> None:
    reference = by_paths(case, 3, 10)
    got = way(case)
    error = differences(got, reference, case.until_s)
    assert 100.0 * np.mean(np.abs(error)) < case.limit_percent
    surely = np.isfinite(reference) & (reference < 0.9 * case.until_s)
    assert np.mean(np.isfinite(got[surely])) > 0.99
    assert np.isinf(got[np.isinf(reference)]).mean() > 0.99


@pytest.mark.derived
@pytest.mark.parametrize(("refine", "reach"), [(3, 6), (5, 10)])
@pytest.mark.parametrize("case", [CASES[1], CASES[3], CASES[5]], ids=str)
def test_what_the_reference_itself_is_good_to(case: Case, refine: int, reach: int) -> None:
    """Half as many directions, or nodes three fifths as far apart, change it by less than the limits."""
    change = differences(by_paths(case, refine, reach), by_paths(case, 3, 10), case.until_s)
    assert 100.0 * np.mean(np.abs(change)) < 0.6
