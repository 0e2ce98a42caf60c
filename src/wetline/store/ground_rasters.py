"""Terrain, fuels and canopy on the working grid, each value judged before it is believed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.ground import slope_aspect
from wetline.store.problems import counted
from wetline.store.rasters import read_onto
from wetline.store.shapes import lonlat_text

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour import FireSystem
    from wetline.grid import Grid
    from wetline.store.problems import Complaints
    from wetline.store.raster_file import RasterFile
    from wetline.store.rasters import Method
    from wetline.store.shapes import Box

__all__ = ["CANOPY", "Canopy", "read_canopy", "read_fuels", "read_terrain"]

LOWEST_M, HIGHEST_M = -500.0, 9000.0
"""No dry land lies lower than 450 m below the sea, none higher than 8850 m (from memory)."""
STEEPEST_MEAN = 0.60
"""Mean slope (tangent) that real ground of some kilometres hardly reaches: it is 31°, near the angle at
which loose rock slides. Heights in feet read as metres steepen every slope 3.28 times, so that ordinary
hills (0.2 to 0.4) land above it. Common practice, no source."""
STEEP_SHARE = 0.01
"""More ground than this above 45° is rock and cliff, or hills in feet. Common practice, no source."""
NEAR_FIRE_M = 5000.0
CLOSE_TO_FIRE_M = 1000.0
_FILLERS = (-9999.0, -32768.0, -32767.0, -99999.0)
"""Values that software writes for "nothing here" and that are no height on Earth."""


@dataclass(frozen=True, slots=True)
class Canopy:
    """One canopy layer: how it is brought over, what may stand in it, and its scale inside."""

    method: Method
    most: float
    unit: str
    hint: str
    scale: float = 1.0


CANOPY = {
    "canopy_cover": Canopy("bilinear", 100.0, "%", "Percent is asked for.", 0.01),
    "canopy_height": Canopy("tallest", 110.0, "m", "Metres are asked for; some sources store tenths."),
    "canopy_base": Canopy("bilinear", 60.0, "m", "Metres are asked for; some sources store tenths."),
    "canopy_bulk": Canopy("bilinear", 1.0, "kg/m³", "kg/m³ is asked for; some sources store hundredths."),
}


def read_terrain(
    source: RasterFile, grid: Grid, fire: Box | None, complaints: Complaints, *, in_metres: bool
) -> NDArray[np.float32] | None:
    """Heights [m] on the grid, NaN where unknown. `in_metres`: somebody vouches for the unit."""
    z = read_onto(source, grid, "bilinear", complaints)
    if z is None:
        return None
    for filler in _FILLERS:
        count = int(np.count_nonzero(z == filler))
        if count:
            z[z == filler] = np.nan
            complaints.warning(
                f"{counted(count, 'cell')} of {filler:g} taken as no data.",
                f"Declare {filler:g} as the NoData value of the file.",
                field="height", value=f"{filler:g}",
            )  # fmt: skip
    if not _any_known(z, complaints):
        return z
    low, high = float(np.nanmin(z)), float(np.nanmax(z))
    if low < LOWEST_M or high > HIGHEST_M:
        beyond = low if low < LOWEST_M else high
        complaints.error(
            f"A height of {beyond:.0f} m is impossible.",
            "Heights must be metres (1 ft = 0.3048 m); declare the file's NoData value.",
            field="height", value=f"{beyond:.0f} m", limit=f"{LOWEST_M:g} to {HIGHEST_M:g} m",
        )  # fmt: skip
    else:
        _check_steepness(z, grid, complaints, in_metres=in_metres)
    _report_holes(np.isnan(z), grid, fire, complaints)
    return z


def _check_steepness(z: NDArray[np.float32], grid: Grid, complaints: Complaints, *, in_metres: bool) -> None:
    if float(np.nanmax(z)) == float(np.nanmin(z)):
        complaints.warning(
            "Every height is the same.", "See that the file holds heights.",
            field="height", value=f"{float(np.nanmax(z)):g} m",
        )  # fmt: skip
        return
    slope, _ = slope_aspect(z, grid.cell_m)
    sloping = np.isfinite(slope) & (slope > 0)  # water and other flats would hide the hills
    mean = float(slope[sloping].mean()) if sloping.any() else 0.0
    steep = float((slope[sloping] > 1.0).mean()) if sloping.any() else 0.0
    mend = (
        "Convert them to metres (1 ft = 0.3048 m); if they are metres,"
        ' say terrain_unit = "m" in incident.toml.'
    )
    if mean > STEEPEST_MEAN:
        note = complaints.warning if in_metres else complaints.error
        note(
            f"The mean slope is {mean:.0%}: the heights look like feet, or tenths of a metre.",
            mend, field="slope", value=f"{mean:.0%}", limit=f"{STEEPEST_MEAN:.0%}",
        )  # fmt: skip
    elif steep > STEEP_SHARE and not in_metres:
        complaints.warning(
            f"{steep:.1%} of the ground is steeper than 45°: the heights may be feet.",
            mend, field="slope", value=f"{steep:.1%} steeper than 45°", limit=f"{STEEP_SHARE:.0%}",
        )  # fmt: skip


def read_fuels(
    source: RasterFile, grid: Grid, fire: Box | None, complaints: Complaints, system: FireSystem
) -> NDArray[np.int16] | None:
    """Fuel numbers of the chosen system on the grid, −1 where unknown."""
    values = read_onto(source, grid, "nearest", complaints)
    if values is None:
        return None
    if _any_known(values, complaints):
        _report_holes(np.isnan(values), grid, fire, complaints)
    known = np.isin(values, np.fromiter(system.fuels, float))
    strange = ~known & ~np.isnan(values)
    if strange.any():
        _refuse_fuels(values[strange], complaints, system)
    return np.where(known, np.nan_to_num(values), -1).astype(np.int16)


def _refuse_fuels(strange: NDArray[np.float32], complaints: Complaints, system: FireSystem) -> None:
    """Name the numbers that the system does not know, the commonest first."""
    found, counts = np.unique(strange, return_counts=True)
    order = np.argsort(-counts)
    listed = ", ".join(f"{found[i]:g} ({counted(int(counts[i]), 'cell')})" for i in order[:10])
    more = f" and {len(found) - 10} more" if len(found) > 10 else ""
    if system.name == "surface_models":
        said = "These are no published fuel model numbers"
        mend = "Give each cell one of the 13 or of the 40 models, or declare the value as NoData."
        limit = "1–13, 91–93, 98, 99, 101–204"
    else:
        said = "These numbers stand for no fuel type in [fire.fuels] of incident.toml"
        mend = (
            'Add a line for each; the surface models\' own numbers need system = "surface_models". '
            "Declare as NoData what is not known."
        )
        limit = ", ".join(f"{number}" for number in system.fuels)
    complaints.error(
        f"{said}: {listed}{more}.", mend,
        field="fuel model", value=", ".join(f"{found[i]:g}" for i in order[:10]), limit=limit,
    )  # fmt: skip


def read_canopy(
    name: str, source: RasterFile, grid: Grid, complaints: Complaints
) -> NDArray[np.float32] | None:
    """One canopy layer on the grid, NaN where unknown; cover as a fraction, the rest in its unit."""
    kind = CANOPY[name]
    values = read_onto(source, grid, kind.method, complaints)
    if values is None or not _any_known(values, complaints):
        return values
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    if low < 0 or high > kind.most:
        complaints.error(
            f"{name} holds {low if low < 0 else high:g} {kind.unit}.", f"{kind.hint} Declare the NoData value.",
            field=name, value=f"{low:g} to {high:g} {kind.unit}", limit=f"0 to {kind.most:g} {kind.unit}",
        )  # fmt: skip
    elif kind.unit == "%" and 0 < high <= 1:
        complaints.error(
            f"The densest cover is {high:g} %: it looks like a fraction.", "Multiply it by 100.",
            field=name, value=f"{high:g} %", limit="0 to 100 %",
        )  # fmt: skip
    scaled: NDArray[np.float32] = values * np.float32(kind.scale)
    return scaled


def _any_known(values: NDArray[np.float32], complaints: Complaints) -> bool:
    if np.isnan(values).all():
        complaints.error(
            "The raster says nothing of the ground round the fire.",
            "Take the sheet that covers the fire; see that its coordinate system is right.",
        )
        return False
    return True


def _report_holes(hole: NDArray[np.bool_], grid: Grid, fire: Box | None, complaints: Complaints) -> None:
    """Warn of holes, with their number and the place of the one nearest to the fire."""
    count = int(np.count_nonzero(hole))
    if not count:
        return
    rows, cols = np.nonzero(hole)
    x, y = grid.xy(rows, cols)
    if fire is None:
        distance = np.zeros(count)
    else:
        dx = np.maximum(np.maximum(fire[0] - x, x - fire[2]), 0.0)
        dy = np.maximum(np.maximum(fire[1] - y, y - fire[3]), 0.0)
        distance = np.hypot(dx, dy)
    nearest = int(np.argmin(distance))
    place = lonlat_text(grid.projection, float(x[nearest]), float(y[nearest]))
    near, close = (int(np.count_nonzero(distance <= d)) for d in (NEAR_FIRE_M, CLOSE_TO_FIRE_M))
    share = count / hole.size
    if fire is not None and close and _mostly_unknown(hole, grid, fire):
        complaints.error(
            f"More than half of the ground within {CLOSE_TO_FIRE_M / 1000:g} km of the fire has no value.",
            "Take a file that covers the fire.",
            field="no data", value=f"{counted(close, 'cell')} within {CLOSE_TO_FIRE_M / 1000:g} km", limit="half",
        )  # fmt: skip
        return
    where = "" if fire is None else f", {near} of them within {NEAR_FIRE_M / 1000:g} km of the fire"
    complaints.warning(
        f"{counted(count, 'cell')} ({share:.2%}) without a value{where}; the nearest at {place}.",
        "Fill them if you can: what is unknown neither burns nor counts as clear in the checks.",
        field="no data", value=counted(count, "cell"), limit="0",
    )  # fmt: skip


def _mostly_unknown(hole: NDArray[np.bool_], grid: Grid, fire: Box) -> bool:
    west, south, east, north = fire
    d = CLOSE_TO_FIRE_M
    _, rows, cols = grid.window(west - d, south - d, east + d, north + d)
    part = hole[rows, cols]
    return bool(part.size == 0 or np.count_nonzero(part) > part.size / 2)
