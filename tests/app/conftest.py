"""The invented incident, built once for all tests of the use cases."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from wetline.app.demo import make_demo
from wetline.app.plan import plan_of, planned
from wetline.app.water import water_of_incident

if TYPE_CHECKING:
    from pathlib import Path

MEMBERS = 6


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "incident"
    make_demo(folder, seed=1, force=False)
    return folder


@pytest.fixture(scope="session")
def demo_plan(demo_folder: Path) -> dict[str, Any]:
    return plan_of(planned(demo_folder, at=None, members=MEMBERS, seed=1))


@pytest.fixture(scope="session")
def demo_water(demo_folder: Path) -> dict[str, Any]:
    return water_of_incident(demo_folder, class_id=None, at=None)
