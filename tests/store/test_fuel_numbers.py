"""Which fuel numbers a folder may hold: the published sets and nothing beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from store.asking import errors, the_error
from store.folder_maker import fuels, write_raster

if TYPE_CHECKING:
    from pathlib import Path

PUBLISHED = [
    *range(1, 14), 91, 92, 93, 98, 99,
    *range(101, 110), *range(121, 125), *range(141, 150), *range(161, 166), *range(181, 190), *range(201, 205),
]  # fmt: skip


@pytest.mark.published
def test_every_published_number_is_taken(folder: Path) -> None:
    """Anderson 1982, INT-122 (13 models); Scott and Burgan 2005, RMRS-GTR-153 (40 and five non-burnable)."""
    assert len(PUBLISHED) == 13 + 5 + 40
    values = fuels()
    values[0, : len(PUBLISHED)] = np.array(PUBLISHED)
    write_raster(folder / "fuels.tif", values)
    assert errors(folder) == []


@pytest.mark.published
@pytest.mark.parametrize("number", [14, 90, 94, 97, 100, 110, 125, 150, 166, 205])
def test_numbers_beside_the_published_sets_are_refused(folder: Path, number: int) -> None:
    """Anderson 1982, INT-122 (1-13); Scott and Burgan 2005, RMRS-GTR-153, table 7 (91-204)."""
    values = fuels()
    values[0, 0] = number
    write_raster(folder / "fuels.tif", values)
    assert the_error(folder).value == str(number)
