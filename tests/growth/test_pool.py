"""One core, all cores, a cluster: the same call, the same bytes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest
from distributed import Client, LocalCluster

from growth.ellipses import ellipse, fields_of, square_grid
from wetline.growth import Ensemble, ensemble, map_futures

if TYPE_CHECKING:
    from collections.abc import Iterator

    from wetline.behaviour import FireFields, Variation

GRID = square_grid(50)
MIDDLE = (0.5 * sum(GRID.bounds[::2]), 0.5 * sum(GRID.bounds[1::2]))


@dataclass(frozen=True)
class Uniform:
    """Fields of a member; pickles."""

    rate_mps: float

    def __call__(self, variation: Variation) -> FireFields:
        rate = self.rate_mps * variation.wind_factor * variation.spread_factor
        return fields_of(GRID, rate, variation.wind_turn_deg, 1.5)


@pytest.fixture(scope="module")
def client() -> Iterator[Client]:
    with (
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=1, threads_per_worker=2, processes=True, dashboard_address=None
        ) as cluster,
        Client(cluster) as found,  # type: ignore[no-untyped-call]
    ):
        yield found


def counted(workers: int | None = None, client: Client | None = None) -> Ensemble[None]:
    return ensemble(
        Uniform(0.05),
        ellipse(*MIDDLE, 1200.0, 0.05, 0.0, 1.5),
        at_s=0.0,
        hours_s=[3600.0, 7200.0],
        members=9,
        seed=4,
        place_cells=[np.array([30]), np.array([50 * 10 + 25, 50 * 11 + 25])],
        workers=workers,
        client=client,
    )


def same(one: Ensemble[None], other: Ensemble[None]) -> bool:
    return (
        one.burnt_in.tobytes() == other.burnt_in.tobytes()
        and one.area_m2.tobytes() == other.area_m2.tobytes()
        and one.place_s.tobytes() == other.place_s.tobytes()
        and [g.reached_edge for g in one.grown] == [g.reached_edge for g in other.grown]
    )


@pytest.mark.property
@pytest.mark.parametrize("workers", [2, 3])
def test_processes_give_the_same_bytes_as_one_core(workers: int) -> None:
    alone = counted(workers=1)
    assert 0 < alone.probability[-1].sum() < GRID.rows * GRID.cols
    assert same(alone, counted(workers=workers))


@pytest.mark.property
def test_a_cluster_gives_the_same_bytes_as_one_core(client: Client) -> None:
    assert same(counted(workers=1), counted(client=client))


@pytest.mark.property
def test_results_come_in_the_order_of_the_items(client: Client) -> None:
    for result in (
        map_futures(abs, range(-6, 0), workers=1),
        map_futures(abs, range(-6, 0), workers=2),
        map_futures(abs, range(-6, 0), client=client),
    ):
        assert result == [6, 5, 4, 3, 2, 1]


@pytest.mark.behaviour
@pytest.mark.parametrize("workers", [1, 2])
def test_an_error_in_a_worker_comes_back(workers: int) -> None:
    with pytest.raises(ZeroDivisionError):
        map_futures(lambda item: 1 // item, [3, 2, 1, 0], workers=workers)


INTERRUPTED = """
import os, time
from wetline.growth import map_stream

def work(wait_s):
    time.sleep(wait_s)
    return os.getpid()

try:
    seen = set()
    for k, worker in enumerate(map_stream(work, [0.05] * 40 + [2.0], workers=2)):
        seen.add(worker)
        if k == 39:  # one of the two waits now, the other works
            print(len(seen), flush=True)
except KeyboardInterrupt:
    print("stopped", flush=True)
"""


@pytest.mark.behaviour
def test_an_interrupt_ends_the_workers_without_a_word_of_theirs() -> None:
    """The terminal tells every process of the group; the one that was asked says what there is to say."""
    asked = subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    )  # fmt: skip
    assert asked.stdout is not None
    assert asked.stdout.readline() == "2\n"
    os.killpg(asked.pid, signal.SIGINT)
    said, wrong = asked.communicate(timeout=60)
    assert said.endswith("stopped\n")
    assert not wrong
