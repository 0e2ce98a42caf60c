"""Futures on one core, on all of them, or on a cluster: one call, the same results byte for byte."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = ["Cluster", "cores_of", "map_futures"]

Item = TypeVar("Item")
Result = TypeVar("Result")

_FEW = 4
_shared: dict[str, Any] = {}


class Cluster(Protocol):
    """What is used of a `distributed.Client`."""

    @property
    def nthreads(self) -> Callable[[], Mapping[str, int]]:
        """Threads of each worker."""

    @property
    def scatter(self) -> Callable[..., Any]:
        """Sends an object to the workers."""

    @property
    def submit(self) -> Callable[..., Any]:
        """Calls a function on a worker."""

    @property
    def gather(self) -> Callable[..., Sequence[Any]]:
        """Waits for results."""


def _call(item: Any) -> Any:  # noqa: ANN401  the pool carries any item
    return _shared["function"](item)


def _apply(function: Callable[[Item], Result], item: Item) -> Result:
    return function(item)


def cores_of(workers: int | None, client: Cluster | None) -> int:
    """How many items run at once."""
    if client is not None:
        return max(sum(client.nthreads().values()), 1)
    return workers or os.cpu_count() or 1


def map_futures(
    function: Callable[[Item], Result],
    items: Sequence[Item],
    *,
    workers: int | None = None,
    client: Cluster | None = None,
    few: int = _FEW,
) -> list[Result]:
    """`function` of each item, in order; each item runs on one thread.

    Parameters
    ----------
    workers
        Processes; None for one a core, 1 for none beside this one. They are forked, so that what `function`
        closes over is not copied, and kernels must have been loaded before.
    client
        A Dask cluster to run on instead: `function` and items must pickle, and the cluster must run the
        same release on the same kind of processor for the same bytes.
    few
        Fewer items than this are not worth a process.
    """
    if client is not None:
        there = client.scatter(function, broadcast=True, hash=False)
        return list(client.gather([client.submit(_apply, there, item, pure=False) for item in items]))
    count = min(cores_of(workers, None), len(items))
    if count <= 1 or len(items) < few or "fork" not in multiprocessing.get_all_start_methods():
        return [function(item) for item in items]
    _shared["function"] = function
    try:
        with ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("fork")) as pool:
            return list(pool.map(_call, items))
    finally:
        _shared.clear()
