"""Futures on all cores: the same call for one core, several, or a cluster's own `map`."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["map_futures"]

Item = TypeVar("Item")
Result = TypeVar("Result")

_FEW = 4
_shared: dict[str, Any] = {}


def _call(item: Any) -> Any:  # noqa: ANN401  the pool carries any item
    return _shared["function"](item)


def map_futures(
    function: Callable[[Item], Result], items: Sequence[Item], *, workers: int | None = None
) -> list[Result]:
    """`function` of each item, in order.

    Worker processes are forked, so that what `function` closes over is not copied; one thread a
    future keeps every result the same byte for byte, however many cores there are.
    """
    count = min(workers or os.cpu_count() or 1, len(items))
    if count <= 1 or len(items) < _FEW or "fork" not in multiprocessing.get_all_start_methods():
        return [function(item) for item in items]
    _shared["function"] = function
    try:
        with ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("fork")) as pool:
            return list(pool.map(_call, items))
    finally:
        _shared.clear()
