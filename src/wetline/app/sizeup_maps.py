"""The size-up as maps: where the fire burns by when, in how many of the futures, and its hourly outlines."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.app.answer import Answer, Outside, iso
from wetline.cautions import CAUTIONS
from wetline.store import geotiff, write_bytes_atomic, write_text_atomic

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from wetline.attack import Outlook, Scene

__all__ = ["LIKELY_PCT", "write_maps"]

LIKELY_PCT = (90, 50, 10)
"""Shares of the futures at which burning ground and arrival are told."""


def write_maps(folder: Path, scene: Scene, seen: Outlook, hours_s: Sequence[float]) -> list[Answer]:
    """Write `burning.tif`, `arrival.tif` and `fronts.geojson` into a folder that is there.

    `burning.tif`: a band an hour, in what share of the modelled futures a cell has burnt by then. `arrival.tif`:
    minutes after the moment asked about by which it has burnt in 10, 50 and 90 % of them; 0 or less where it
    burns now, no value where it does not burn that often in the time modelled or where the ground is unknown.
    `fronts.geojson`: outlines of the middle future. All of it if nothing more is stopped.
    """
    counted, outside = seen.counted, Outside(scene.window)
    times = [iso(scene.start + timedelta(seconds=t)) or "" for t in hours_s]
    tags = {
        "SUBJECT": f"share of {counted.of} modelled futures, uncalibrated; if nothing more is stopped",
        "CAUTION": " ".join(CAUTIONS),
    }
    burning = {f"burnt by {time}": counted.probability[k] for k, time in enumerate(times)}
    minutes = {
        f"minutes after {iso(scene.start + timedelta(seconds=scene.now_s))}, {pct} % of futures": _minutes(
            scene, seen, pct
        )
        for pct in sorted(LIKELY_PCT)
    }
    outlines = {
        "type": "FeatureCollection",
        "cautions": list(CAUTIONS),
        "features": [
            {
                "type": "Feature",
                "properties": {"kind": "front", "time": time, "future": "middle", "if": "nothing is stopped"},
                "geometry": {
                    "type": "MultiLineString",
                    "coordinates": [
                        outside.line([*ring.tolist(), ring[0].tolist()])
                        for ring in seen.played[0].lines_xy[k]
                    ],
                },
            }
            for k, time in enumerate(times)
        ],
    }
    written: list[Answer] = []
    for kind, name, data in (
        ("burning", "burning.tif", geotiff(scene.window, burning, tags)),
        ("arrival", "arrival.tif", geotiff(scene.window, minutes, tags)),
    ):
        write_bytes_atomic(folder / name, data)
        written.append({"kind": kind, "path": str(folder / name)})
    write_text_atomic(
        folder / "fronts.geojson", json.dumps(outlines, ensure_ascii=False, allow_nan=False) + "\n"
    )
    written.append({"kind": "fronts", "path": str(folder / "fronts.geojson")})
    return written


def _minutes(scene: Scene, seen: Outlook, pct: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    arrival_s = seen.counted.arrival_s(pct / 100.0)
    return np.where(np.isfinite(arrival_s), (arrival_s - scene.now_s) / 60.0, np.nan)
