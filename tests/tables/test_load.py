"""Every shipped table loads, with its provenance, and refuses damage."""

from __future__ import annotations

import numpy as np
import pytest

from wetline import tables
from wetline.model import shipped_limits

pytestmark = pytest.mark.behaviour

HOW = {"print", "public copy", "memory", "derived", "practice"}


@pytest.mark.parametrize("name", tables.names())
def test_a_table_says_where_it_comes_from(name: str) -> None:
    table = tables.load(name)
    assert table.provenance.citation
    assert table.provenance.how_read in HOW
    assert len({len(column) for column in table.columns.values()}) == 1


def test_columns_are_frozen() -> None:
    column = tables.load("limits/limits")["value"]
    assert column.dtype == np.float64
    with pytest.raises(ValueError, match="read-only"):
        column[0] = 1.0


def test_every_limit_names_its_source_and_the_direction_that_gives_up_safety() -> None:
    for limit in shipped_limits().by_name.values():
        assert limit.source
        assert limit.help
        assert limit.looser in {"higher", "lower", "neither"}
        assert not limit.loosened
