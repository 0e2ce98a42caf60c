"""Every room lists its public names, and each of them exists (ruff keeps them sorted)."""

from __future__ import annotations

import importlib
import pkgutil

import pytest

import wetline

pytestmark = pytest.mark.behaviour

ROOMS = sorted(m.name for m in pkgutil.iter_modules(wetline.__path__, "wetline.") if m.ispkg)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_lists_names_that_exist(room: str) -> None:
    module = importlib.import_module(room)
    names = list(module.__all__)
    assert names
    assert [name for name in names if not hasattr(module, name)] == []
    assert module.__doc__
