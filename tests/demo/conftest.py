"""One demo folder a seed, built once for all tests of the room."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import pytest

from demo.written import Written, write

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], Written]:
    @lru_cache
    def of(seed: int) -> Written:
        return write(tmp_path_factory.mktemp("demo") / f"seed {seed}", seed)

    return of


@pytest.fixture(scope="session")
def demo(written: Callable[[int], Written]) -> Written:
    return written(1)
