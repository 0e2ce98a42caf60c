"""The limits as shipped."""

import pytest

from wetline import tables


@pytest.mark.property
def test_no_limit_stands_twice() -> None:
    names = [row["name"] for row in tables.load("limits/limits").rows()]
    assert len(names) == len(set(names))
