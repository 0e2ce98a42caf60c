"""How a load arrives at the top of the canopy: in one piece or as a shower, steeply or still moving forward."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.drops.bands import joined
from wetline.drops.column import column
from wetline.drops.danger import SAFE_HEIGHT_SOURCE, SAFETY_M, safe_height_m
from wetline.drops.droplet_settings import DropletSettings, droplet_settings
from wetline.drops.fall import terminal_speed_mps
from wetline.drops.liquid import Liquid
from wetline.drops.planning import settings_of
from wetline.drops.varied import varied
from wetline.errors import OutsideRangeError
from wetline.model import Band, Finding
from wetline.units import FOOT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.column import Column
    from wetline.drops.release import Resolved

__all__ = ["Strike", "shower_pressure_pa", "stagnation_pressure_pa", "strike", "strike_findings"]

_Case = tuple[float, float, Liquid, DropletSettings]

_STEEP = 0.2
_FLOW_STEP = 1.02
_VARIED = ("exit_speed_mps", "column_shape", "stripping_power", "shelter", "entrainment")
_OWN_SOURCE = (
    "derived: the column broken up by Pilch and Erdman 1987, fitted to MTDC 0057-2317, not checked on film"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Key:
    """What the column depends on; `slow`, `fast`: shares of the flow that it is varied to."""

    flow_l_per_s: float
    slow: float
    fast: float
    speed_mps: float
    liquid: Liquid
    height_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """How a load arrives at the top of canopy or obstacle, `height_m` below the tank, in calm air.

    `published_m`: height under which the published formula lets it strike, None with the reason in
    `published_why` where the formula was not made for the release. `own_m`: under the tank, where 90 %
    of the load falls steeper than forward/down 0.2, by the column model, with its band. `rules_m`: the
    height to keep, and which of the two gives it. `intact_share`: of the load, still one body on
    arrival. `speed_mps`: of that body through the air; where none is left, at most this while drops still move
    forward, and then that of falling drops. `stagnation_pa`: ½ρV² at that speed; `shower_pa`: the mean
    pressure of the shower, None where its coverage is not told. `red`: by the model's middle, part of the
    load arrives in one body, or more than a tenth of it still moves forward.
    """

    class_id: str
    height_m: float
    published_m: float | None
    published_why: str
    own_m: Band
    rules_m: float
    rules: Literal["published", "own"]
    intact_share: Band
    speed_mps: float
    stagnation_pa: float
    shower_pa: float | None
    red: bool

    @property
    def speed_is_bound(self) -> bool:
        """Whether `speed_mps` and the pressures are upper bounds: no body is left, drops still move forward."""
        return self.intact_share.middle == 0.0 and self.height_m < self.own_m.middle

    @property
    def falls_vertically(self) -> bool | None:
        """Whether it does from this height; None between the model's middle and the height to keep.

        Where no published height stands behind the model, its whole band must lie under the height too.
        """
        if self.red:
            return False
        sure_m = self.rules_m if self.published_m is not None else max(self.rules_m, self.own_m.high or 0.0)
        return True if self.height_m >= sure_m else None

    @property
    def core_intact(self) -> bool | None:
        """Whether part of the load arrives in one body; None where the band does not tell."""
        if (self.intact_share.low or 0.0) > 0.0:
            return True
        return None if (self.intact_share.high or 0.0) > 0.0 else False


def stagnation_pressure_pa(density_kg_per_m3: float, speed_mps: float) -> float:
    """½ρV² [Pa]: of a jet, or of one drop where it hits."""
    return 0.5 * density_kg_per_m3 * speed_mps**2


def shower_pressure_pa(
    coverage_l_per_m2: float, time_s: float, speed_mps: float, density_kg_per_m3: float
) -> float:
    """Mean pressure [Pa] of drops that bring a coverage in a time: mass flux times speed.

    Raises
    ------
    OutsideRangeError
        If the time is not positive.
    """
    if not time_s > 0.0:
        raise OutsideRangeError(field="time_s", value=time_s, low=0, high=math.inf, unit="s", above_low=True)
    return coverage_l_per_m2 * 1e-3 * density_kg_per_m3 / time_s * speed_mps


def _not_for(resolved: Resolved) -> str:
    """Why the published formula was not made for a release; empty where it was."""
    if resolved.mode == "constant":
        return "the formula was not made for constant flow"
    if resolved.mode == "bucket":
        return "the formula was not made for buckets and helicopters"
    if resolved.class_id.startswith("single_engine"):
        return "the formula was not made for single-engine aircraft"
    return ""


def _cases(key: _Key) -> list[_Case]:
    """The middle, then each uncertain thing alone at its low and its high end."""
    liquid, airspeed = key.liquid, varied("speed_share")
    middle = droplet_settings()
    ends = {s.name: (s.low, s.high) for s in settings_of("drop/droplets").values()}
    size = liquid.median_mm
    sizes = [replace(liquid, median_mm=Band(end)) for end in (size.low, size.high) if end is not None]
    flow, speed = key.flow_l_per_s, key.speed_mps
    return [
        (flow, speed, liquid, middle),
        *((flow, speed, liquid, replace(middle, **{name: end})) for name in _VARIED for end in ends[name]),
        *((flow, speed, mixed, middle) for mixed in sizes),
        *((flow * share, speed, liquid, middle) for share in (key.slow, key.fast)),
        *((flow, speed * share, liquid, middle) for share in (airspeed.low, airspeed.high)),
    ]


@lru_cache(maxsize=256)
def _own(key: _Key) -> tuple[Band, Band, float]:
    """Height of vertical fall, and what arrives at the canopy: share intact, and speed."""
    bodies = [column(flow, speed, liquid, settings=one) for flow, speed, liquid, one in _cases(key)]
    depths = np.array([body.vertical_depth_m for body in bodies])
    shares = [float(body.intact_share(key.height_m)) for body in bodies]
    own = _joined(depths)
    return (
        own,
        Band(shares[0], min(shares), max(shares)),
        _speed_mps(bodies[0], key.liquid, key.height_m),
    )


def _joined(depths: NDArray[np.float64]) -> Band:
    """A band of heights; where some case never falls vertically, without an upper end."""
    if not np.isfinite(depths).all():
        return Band(float(depths[0]), float(depths.min()), math.inf)
    own = joined(depths)
    return Band(own.middle, max(0.0, own.low or 0.0), own.high)


def _speed_mps(body: Column, liquid: Liquid, depth_m: float) -> float:
    """Speed [m/s] at a depth: of the body; of drops that fall steeply; between them at most the body's last."""
    if body.intact_share(depth_m) > 0.0:
        speeds = np.hypot(body.forward_mps, body.down_mps)
        return float(np.interp(depth_m, body.depth_m, speeds))
    if depth_m < body.vertical_depth_m:
        return math.hypot(body.forward_mps[-1], body.down_mps[-1])
    return float(terminal_speed_mps(liquid.median_mm.middle)) * math.hypot(1.0, _STEEP)


def strike(
    resolved: Resolved, *, peak_l_per_m2: float | None = None, spread_along_m: float | None = None
) -> Strike:
    """How a load arrives. `peak_l_per_m2`, `spread_along_m`: of its pattern, for the pressure of the shower.

    The published height has 50 ft of safety in it; the own one is given as much before the higher of the
    two rules. Where the formula was not made for the release, the own one rules alone. Flow is taken up by
    2 % at most, so that runs that hardly differ share an answer.

    Raises
    ------
    OutsideRangeError
        For a flow or speed outside the column's range.
    """
    peak = resolved.flow.peak_l_per_s
    own, whole, speed = _own(
        _Key(
            flow_l_per_s=_FLOW_STEP ** math.ceil(math.log(peak, _FLOW_STEP)),
            slow=round(resolved.duration_s / resolved.duration_high_s, 2),
            fast=round(resolved.duration_s / resolved.duration_low_s, 2),
            speed_mps=resolved.speed_mps,
            liquid=resolved.liquid,
            height_m=resolved.height_m,
        )
    )
    why = _not_for(resolved)
    published = None if why else safe_height_m(resolved.load_l, peak)
    own_rules = own.middle + SAFETY_M
    density = resolved.liquid.density_kg_per_m3
    shower = None
    if peak_l_per_m2 is not None and spread_along_m is not None:
        # a Gaussian of this spread along the track, passing at the speed over the ground, at its peak
        time_s = math.sqrt(2.0 * math.pi) * spread_along_m / resolved.ground_speed_mps
        shower = shower_pressure_pa(peak_l_per_m2, time_s, speed, density)
    return Strike(
        class_id=resolved.class_id,
        height_m=resolved.height_m,
        published_m=published,
        published_why=why,
        own_m=own,
        rules_m=max(own_rules, published or 0.0),
        rules="own" if published is None or own_rules > published else "published",
        intact_share=whole,
        speed_mps=speed,
        stagnation_pa=stagnation_pressure_pa(density, speed),
        shower_pa=shower,
        red=whole.middle > 0.0 or resolved.height_m < own.middle,
    )


def _metres(height_m: float) -> str:
    return f"{height_m:.1f} m ({height_m / FOOT:.0f} ft)"


def strike_findings(struck: Strike) -> tuple[Finding, ...]:
    """A caution below the height that rules, and a word where no published height stands behind it."""
    out = []
    source = SAFE_HEIGHT_SOURCE if struck.rules == "published" else _OWN_SOURCE
    if struck.red or struck.height_m < struck.rules_m:
        out.append(
            Finding(
                code="height_safe",
                level="caution",
                message=_arrives(struck),
                source=source,
                refers_to=struck.class_id,
                limit=_metres(struck.rules_m),
                value=_metres(struck.height_m),
            )
        )
    if struck.published_m is None:
        out.append(
            Finding(
                code="height_safe",
                level="unknown",
                effect="noted",
                message=(
                    f"No published height of vertical fall: {struck.published_why}. The height given is the "
                    "column model's own, which no film has checked."
                ),
                source=_OWN_SOURCE,
                refers_to=struck.class_id,
                limit=_metres(struck.rules_m),
                value=_metres(struck.height_m),
            )
        )
    return tuple(out)


def _arrives(struck: Strike) -> str:
    harm = "it can hurt people and bring down trees, and leaves one side of the fuel dry."
    if struck.intact_share.middle > 0.0:
        share = 100.0 * struck.intact_share.middle
        return f"About {share:.0f} % of the load arrives in one body at {struck.speed_mps:.0f} m/s: {harm}"
    word = "strikes" if struck.red else "may strike"
    high = 100.0 * (struck.intact_share.high or 0.0)
    body = f", up to {high:.0f} % of it in one body" if high >= 1.0 else ""
    return f"From this height the load {word} while it still moves forward{body}: {harm}"
