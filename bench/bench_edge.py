"""Reading the edge of a ragged perimeter of 10,000 corners, and sharing out what drives a fire.

Ratios against shapely's own buffer out and back of the same polygon, the least that finding fingers asks for.
"""

from __future__ import annotations

import sys
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from growth.ragged import ellipse, even_fields, ragged
from wetline.growth import edge_by_direction, edge_pieces, fastest_point

if TYPE_CHECKING:
    from collections.abc import Callable


def least_cpu_s(call: Callable[[], object], times: int = 5) -> float:
    """The least process time [s] of several calls."""
    out = []
    for _ in range(times):
        begun = time.process_time()
        call()
        out.append(time.process_time() - begun)
    return min(out)


def main() -> None:
    fire = ragged(ellipse(2.0, 33.0, 2200.0), 40.0, 3, step_m=1.1)
    fields = even_fields(33.0, 2.0)
    buffered = least_cpu_s(lambda: fire.buffer(-150.0).buffer(150.0))
    print(
        f"{len(fire.exterior.coords):,} corners, {fire.exterior.length:,.0f} m as drawn; CPU time, best of 5"
    )
    print(f"  shapely buffer out and back  {1e3 * buffered:7.1f} ms")
    for name, call in (
        ("pieces", edge_pieces),
        ("by direction", edge_by_direction),
        ("fastest", fastest_point),
    ):
        took = least_cpu_s(partial(call, fire, fields, 0.0))
        print(f"  {name:<27}  {1e3 * took:7.1f} ms, {took / buffered:5.2f} times that")


if __name__ == "__main__":
    main()
