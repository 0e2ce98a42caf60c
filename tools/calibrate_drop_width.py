"""Set the width of the droplet model on the anchors that are there for it, and write `drop/droplets.csv` afresh.

Few knobs move, each inside the range of its row, by least squares: what an anchor's bound or range is broken by
counts in units of its slack, a range with a first setting pulls towards that setting, and each knob is held to
its first setting by its own range. Anchors to hold out are not looked at. Run after a change of the physics:
`python tools/calibrate_drop_width.py`; then `tools/fit_drop_form.py` and `tools/drop_misfit_page.py`.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares

from wetline import tables
from wetline.drops.droplet_settings import droplet_settings
from wetline.drops.misfit import anchors, by_droplets, value_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.misfit import Anchor

TABLE = Path(__file__).parents[1] / "src" / "wetline" / "tables" / "data" / "drop" / "droplets.csv"
KNOBS = {"wake_turbulence": 0.3, "wake_reach_m": 7.0, "spreading": 2.5}
"""What moves, from its first setting."""
PARCELS = 10_000
BOUND_SLACK = 0.1  # of a bound: breaking it by this much counts as one


def residual(anchor: Anchor, value: float) -> float:
    """How badly a value stands to an anchor, 1 for one slack."""
    if anchor.value is not None and anchor.low is not None and anchor.high is not None:
        return (value - anchor.value) / (0.25 * (anchor.high - anchor.low))
    if anchor.high is not None and value > anchor.high:
        return (min(value, 4.0 * anchor.high) / anchor.high - 1.0) / BOUND_SLACK
    if anchor.low is not None and value < anchor.low:
        return (value / anchor.low - 1.0) / BOUND_SLACK
    return 0.0


def calibrated() -> tuple[dict[str, float], list[tuple[str, float]]]:
    """The knobs, and what each anchor to calibrate on then comes to."""
    rows = {row["name"]: row for row in tables.load("drop/droplets").rows()}
    low, high = (np.log([rows[name][end] for name in KNOBS]) for end in ("low", "high"))
    first = np.log(list(KNOBS.values()))
    used = [anchor for anchor in anchors() if anchor.use == "calibrate"]

    def values(logs: NDArray[np.float64]) -> list[float]:
        knobs = dict(zip(KNOBS, np.exp(np.clip(logs, low, high)).tolist(), strict=True))
        settings = replace(droplet_settings(), **knobs)
        found = (
            value_of(anchor, lambda release: by_droplets(release, parcels=PARCELS, settings=settings))
            for anchor in used
        )
        return [math.inf if value is None else value for value in found]

    def residuals(logs: NDArray[np.float64]) -> NDArray[np.float64]:
        apart = [residual(anchor, value) for anchor, value in zip(used, values(logs), strict=True)]
        return np.concatenate((apart, 0.5 * (logs - first) / (0.25 * (high - low))))

    best = least_squares(
        residuals, np.clip(first, low, high), bounds=(low, high), diff_step=[0.05], max_nfev=25
    )
    names = [anchor.name for anchor in used]
    found = dict(zip(KNOBS, np.exp(best.x).tolist(), strict=True))
    return found, list(zip(names, values(best.x), strict=True))


def write(knobs: dict[str, float]) -> None:
    """The knobs into their rows, rounded to what they bear; nothing else of the table is touched."""
    rows = TABLE.read_text(encoding="utf-8").splitlines()
    for i, row in enumerate(rows):
        name, _, rest = row.split(",", 2)
        if name in knobs:
            rows[i] = f"{name},{knobs[name]:.3g},{rest}"
    TABLE.write_text("\n".join(rows) + "\n", encoding="utf-8")


def main() -> None:
    """Calibrate, tell, write."""
    knobs, reached = calibrated()
    for name, value in knobs.items():
        print(f"{name:20} {value:.3g}")
    for name, value in reached:
        print(f"  {name:18} {value:.3g}")
    write(knobs)


if __name__ == "__main__":
    main()
