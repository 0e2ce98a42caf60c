"""Fit the relations of the planning form to the droplet model, and write `drop/form.csv` afresh.

The droplet model runs over a design of loads that fills the space in which planning happens: quasi-random
heights, speeds, flows a metre, loads, agents, warm and dry air, each in calm and in a wind of any direction.
Every relation is then fitted by least squares in the logarithms, most of them as a plane. Its scatter becomes
part of the band of the form. Run after a change of the droplet model or its settings: `python tools/fit_drop_form.py`.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import qmc

from wetline.aircraft import aircraft_classes
from wetline.drops import AGENTS, Release
from wetline.drops.droplets import droplets
from wetline.drops.fall import wind_drift_s
from wetline.drops.misfit import measured
from wetline.drops.relations import FEATURES, crabbed, features
from wetline.drops.resolve import resolve
from wetline.units import KNOT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.drops.droplets import Droplets
    from wetline.drops.release import Resolved

TABLE = Path(__file__).parents[1] / "src" / "wetline" / "tables" / "data" / "drop" / "form.csv"
LOADS_A_CLASS, PARCELS, SEED = 32, 10_000, 1
HEIGHT_M, FLOW_L_PER_M = (10.0, 250.0), (5.0, 90.0)
LEAST_DRIFT_M = 3.0
LEAST_LOST = 0.05
FIRST_DEPTH_M = 15.0
EDGE_SHARE = 0.005
SHAPE = ("flow", "height", "speed", "drop", "gross")
REFERENCE = {
    "flow": 20.0,
    "height": 50.0,
    "speed": 50.0,
    "drop": 2.5,
    "gross": 10_000.0,
    "thirst": 1.5,
    "wind": 5.0,
}


@dataclass(frozen=True, slots=True)
class Case:
    """One load of the design, in calm and in wind."""

    calm: Resolved
    windy: Resolved


@dataclass(frozen=True, slots=True)
class Fit:
    """One relation: its value at the reference, its powers by feature, and what it leaves unexplained."""

    name: str
    unit: str
    at_reference: float
    powers: dict[str, float]
    scatter: float
    cases: int


def between(ends: tuple[float, float], share: float) -> float:
    """A number between two, even in its logarithm."""
    low, high = ends
    return float(low * (high / low) ** share)


def design(each: int, seed: int) -> list[Case]:
    """Quasi-random loads of every class that drops, as much as its tank holds and as fast as it drops."""
    cases = []
    for number, (class_id, cls) in enumerate(aircraft_classes().items()):
        tank, fast = cls.get("tank_volume_l"), cls.get("drop_speed_kt")
        if tank is None or fast is None:
            continue
        slow_kt, fast_kt = fast.low or fast.value, fast.high or fast.value
        sample = qmc.Sobol(9, rng=np.random.default_rng([seed, number])).random(each)
        for u in sample:
            load, speed = tank.value * (0.3 + 0.7 * u[0]), KNOT * (slow_kt + (fast_kt - slow_kt) * u[1])
            calm = Release(
                class_id=class_id,
                load_l=load,
                speed_mps=speed,
                height_m=between(HEIGHT_M, u[2]),
                duration_s=min(max(load / (between(FLOW_L_PER_M, u[3]) * speed), 0.6), 50.0),
                agent=AGENTS[int(4 * u[4])],
                temperature_c=8.0 + 34.0 * u[5],
                humidity_pct=10.0 + 80.0 * u[6],
                heading_deg=0.0,
                wind_mps=0.0,
                wind_from_deg=360.0 * u[7],
            )
            windy = replace(calm, wind_mps=min(1.0 + 14.0 * u[8], 0.4 * speed))
            cases.append(Case(resolve(calm), resolve(windy)))
    return cases


@dataclass(frozen=True, slots=True)
class Seen:
    """What the droplet model gave for one case of the design."""

    case: Case
    calm: Droplets
    windy: Droplets


def seen(cases: Sequence[Case], parcels: int = PARCELS) -> list[Seen]:
    """The droplet model over the design."""
    return [
        Seen(case, *(droplets(r, parcels=parcels, seed=SEED) for r in (case.calm, case.windy)))
        for case in cases
    ]


def _terms(loads: Sequence[Resolved], by: Sequence[str]) -> NDArray[np.float64]:
    """A column of ones, and the logarithm of each feature named over its reference."""
    numbers = features(loads)
    logs = [np.log(numbers[:, FEATURES.index(f)] / REFERENCE[f]) for f in by]
    return np.column_stack((np.ones(len(loads)), *logs))


def _fit(
    head: tuple[str, str], found: NDArray[np.float64], by: Sequence[str], left: NDArray[np.float64]
) -> Fit:
    powers = dict(zip(by, found[1:].tolist(), strict=True))
    return Fit(*head, math.exp(found[0]), powers, float(left.std(ddof=found.size)), left.size)


def fitted(
    head: tuple[str, str], values: NDArray[np.float64], loads: Sequence[Resolved], by: Sequence[str]
) -> Fit:
    """The plane through the logarithms of positive values over the features named."""
    terms = _terms(loads, by)
    found, *_ = np.linalg.lstsq(terms, np.log(values), rcond=None)
    return _fit(head, np.asarray(found, float), by, np.log(values) - terms @ found)


def fitted_grown(
    head: tuple[str, str], values: NDArray[np.float64], loads: Sequence[Resolved], by: Sequence[str]
) -> list[Fit]:
    """Positive lengths as a product of powers times 1 − exp(−height/depth), the depth one of flow and speed."""
    name, unit = head
    deep = ("flow", "speed")
    terms, depths = _terms(loads, by), _terms(loads, deep)
    split = terms.shape[1]
    height = np.array([load.height_m for load in loads])

    def left(powers: NDArray[np.float64]) -> NDArray[np.float64]:
        share = -np.expm1(-height * np.exp(-depths @ powers[split:]))
        return np.asarray(terms @ powers[:split] + np.log(share) - np.log(values), float)

    start = np.zeros(split + depths.shape[1])
    start[[0, split]] = float(np.log(values).mean()), math.log(FIRST_DEPTH_M)
    found = np.asarray(least_squares(left, start).x, float)
    apart = left(found)
    return [_fit(head, found[:split], by, apart), _fit((f"{name}_depth", unit), found[split:], deep, apart)]


def fitted_loss(lost: NDArray[np.float64], loads: Sequence[Resolved]) -> list[Fit]:
    """−ln(1 − share lost) as the sum of two products of powers: drops as released, and finer ones broken off.

    By least squares in the share left; where little is lost, its ratio matters no more than `LEAST_LOST`.
    """
    whole, broken = ("height", "drop", "thirst"), ("flow", "height", "speed", "drop", "thirst")
    first, second = _terms(loads, whole), _terms(loads, broken)
    split = first.shape[1]

    def left(powers: NDArray[np.float64]) -> NDArray[np.float64]:
        gone = np.exp(first @ powers[:split]) + np.exp(second @ powers[split:])
        return np.asarray(np.exp(-gone) - (1.0 - lost), float)

    start = np.zeros(split + second.shape[1])
    start[[0, split]] = math.log(0.03)

    def weighed(powers: NDArray[np.float64]) -> NDArray[np.float64]:
        return left(powers) / (lost + LEAST_LOST)

    found = np.asarray(least_squares(weighed, start).x, float)
    apart = left(found)
    return [
        _fit(("lost", ""), found[:split], whole, apart),
        _fit(("lost_broken", ""), found[split:], broken, apart),
    ]


def _core_m(load: Resolved, found: Droplets) -> float:
    """Spread across [m] of the Gaussian with the peak of the model: lines are read on the centre line.

    That of all drops is wider, for a few fine ones land far downwind.
    """
    return measured(load, found).spread_across_m


def fitted_wind_spread(found: Sequence[Seen], by: Sequence[str]) -> list[Fit]:
    """Spread across [m] for each metre carried across, `by` features, and for each metre carried any way.

    σ² in wind is that in calm, and the squares of both, which the winds from everywhere tell apart. By
    least squares in ln σ in the wind: where wind adds nothing to be seen, it weighs nothing.
    """
    terms = _terms([item.case.windy for item in found], by)
    right, anyway = np.array([_carried_m(item) for item in found]).T
    calm = np.array([_core_m(item.case.calm, item.calm) for item in found])
    windy = np.array([_core_m(item.case.windy, item.windy) for item in found])

    def left(powers: NDArray[np.float64]) -> NDArray[np.float64]:
        sizes, eddies = np.exp(terms @ powers[1:]) * right, math.exp(powers[0]) * anyway
        return np.asarray(np.log(np.sqrt(calm**2 + sizes**2 + eddies**2) / windy), float)

    start = np.zeros(terms.shape[1] + 1)
    start[:2] = math.log(0.1), math.log(0.3)
    best = np.asarray(least_squares(left, start).x, float)
    apart = left(best)
    return [
        _fit(("drift_spread", "m per m"), best[1:], by, apart),
        _fit(("eddy_spread", "m per m"), best[:1], (), apart),
    ]


def _edge_m(load: Resolved, found: Droplets) -> float:
    """How far [m] from the track all but `EDGE_SHARE` of the load lies, on both sides together."""
    litres = found.raster.coverage_l_per_m2.sum(axis=0) * found.raster.cell_m2
    away = np.abs(found.raster.right_m)
    order = np.argsort(-away)
    beyond = found.off_grid_l + np.cumsum(litres[order])
    within = int(np.searchsorted(beyond, EDGE_SHARE * load.load_l))
    return float(away[order[min(within, order.size - 1)]])


def fitted_edge(found: Sequence[Seen], by: Sequence[str]) -> list[Fit]:
    """The edge [m] in calm as a length that grows with the fall; in wind it moves out by shares of the drift.

    One share, `by` features, of how far the wind carries the load across, and one of how far any way.
    """
    calm = [item.case.calm for item in found]
    first = np.array([_edge_m(item.case.calm, item.calm) for item in found])
    still = fitted_grown(("edge_across_m", "m"), first, calm, SHAPE)
    terms = _terms([item.case.windy for item in found], by)
    right, anyway = np.abs(np.array([_carried_m(item) for item in found])).T
    windy = np.array([_edge_m(item.case.windy, item.windy) for item in found])

    def left(powers: NDArray[np.float64]) -> NDArray[np.float64]:
        out = first + np.exp(terms @ powers[1:]) * right + math.exp(powers[0]) * anyway
        return np.asarray(np.log(out / windy), float)

    start = np.zeros(terms.shape[1] + 1)
    start[0] = math.log(0.1)
    best = np.asarray(least_squares(left, start).x, float)
    apart = left(best)
    return [
        *still,
        _fit(("drift_edge", "m per m"), best[1:], by, apart),
        _fit(("eddy_edge", "m per m"), best[:1], (), apart),
    ]


def _carried_m(item: Seen) -> tuple[float, float]:
    """How far [m] the wind alone carries the middle of the load: to the right, and in all.

    The throw is taken out of the drift: it goes to windward as far as the aircraft points there.
    """
    ahead, windward = (float(part[0]) for part in crabbed([item.case.windy]))
    right = item.windy.drift_right_m + windward / ahead * item.windy.throw_m
    return right, math.hypot(item.windy.drift_along_m, right)


def relations(found: Sequence[Seen]) -> list[Fit]:
    """Every relation of the form."""
    calm = [item.case.calm for item in found]
    flying = [item for item in found if _carried_m(item)[1] >= LEAST_DRIFT_M]
    windy = [item.case.windy for item in flying]
    numbers = features(windy)
    lone = wind_drift_s(numbers[:, FEATURES.index("height")], numbers[:, FEATURES.index("drop")])
    core = np.array([_core_m(item.case.calm, item.calm) for item in found])
    lost = np.array([item.calm.evaporated_l / item.case.calm.load_l for item in found])

    def of(name: str) -> NDArray[np.float64]:
        return np.array([getattr(item.calm, name) for item in found])

    drift = np.array([_carried_m(item)[1] for item in flying])
    wind = numbers[:, FEATURES.index("wind")]
    return [
        *fitted_grown(("spread_across_m", "m"), core, calm, SHAPE),
        *fitted_grown(("smear_along_m", "m"), of("spread_along_m"), calm, SHAPE),
        *fitted_grown(("throw_m", "m"), of("throw_m"), calm, ("flow", "speed", "drop", "gross")),
        fitted(("drift_ratio", ""), drift / (wind * lone), windy, ("flow", "height", "speed", "drop")),
        *fitted_wind_spread(found, ("flow", "height", "speed", "drop", "wind")),
        *fitted_edge(found, ("flow", "height", "speed", "drop", "wind")),
        *fitted_loss(lost, calm),
    ]


def write(fits: Sequence[Fit], cases: Sequence[Case], path: Path = TABLE) -> None:
    """The table `drop/form`, figures rounded to what the fit bears, with the range of what it was made of."""
    numbers = features([load for case in cases for load in (case.calm, case.windy)])
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(("name", "unit", "at_reference", *FEATURES, "scatter", "cases"))
        out.writerow(("reference", "", "", *(f"{REFERENCE[f]:g}" for f in FEATURES), "", ""))
        for name, ends in (("low", numbers.min(axis=0)), ("high", numbers.max(axis=0))):
            out.writerow((name, "", "", *(f"{end:.4g}" for end in ends), "", ""))
        for fit in fits:
            powers = (f"{fit.powers[f]:.4f}" if f in fit.powers else "" for f in FEATURES)
            row = (fit.name, fit.unit, f"{fit.at_reference:.5g}", *powers, f"{fit.scatter:.3f}", fit.cases)
            out.writerow(row)


def main() -> None:
    """Run the design, fit, tell, write."""
    cases = design(LOADS_A_CLASS, SEED)
    fits = relations(seen(cases))
    for fit in fits:
        powers = ", ".join(f"{name} {power:+.2f}" for name, power in fit.powers.items())
        print(f"{fit.name:16} {fit.at_reference:8.3g} {fit.unit:8} {powers}; scatter {fit.scatter:.2f}")
    write(fits, cases)


if __name__ == "__main__":
    main()
