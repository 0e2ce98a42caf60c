"""Work on one core, on all of them, or on a cluster: one call, the same results byte for byte."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

__all__ = ["Cluster", "cores_of", "map_futures", "map_stream"]

Item = TypeVar("Item")
Result = TypeVar("Result")

_FEW = 4
_AHEAD = 3
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


def map_stream(
    function: Callable[[Item], Result],
    items: Iterable[Item],
    *,
    workers: int | None = None,
    client: Cluster | None = None,
) -> Iterator[Result]:
    """`function` of each item as it comes, in order; only a few items a worker are held at a time.

    `function` and items must pickle, but with `workers` 1; the rest as in `map_futures`. What is under way when
    the caller turns away is waited for, the rest is dropped.
    """
    ahead = _AHEAD * cores_of(workers, client)
    if client is not None:
        there = client.scatter(function, broadcast=True, hash=False)
        tasks = (client.submit(_apply, there, item, pure=False) for item in items)
        yield from _in_order(tasks, ahead)
    elif ahead == _AHEAD:
        yield from map(function, items)
    else:
        fork = "fork" in multiprocessing.get_all_start_methods()
        pool = ProcessPoolExecutor(
            ahead // _AHEAD,
            mp_context=multiprocessing.get_context("fork" if fork else None),
            initializer=_leave_interrupts,
        )
        try:
            yield from _in_order((pool.submit(function, item) for item in items), ahead)
        finally:
            pool.shutdown(cancel_futures=True)


def _leave_interrupts() -> None:
    """Let the process that was asked be the one that stops: it then ends its workers."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _in_order(tasks: Iterable[Any], ahead: int) -> Iterator[Any]:
    """The result of each task, first come first given, with at most `ahead` of them begun."""
    begun: deque[Any] = deque()
    for task in tasks:
        begun.append(task)
        if len(begun) == ahead:
            yield begun.popleft().result()
    while begun:
        yield begun.popleft().result()
