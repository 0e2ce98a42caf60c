"""What a base on the ground gives and asks for: runway, agent and stock, pits, fuel, time to reload."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.aircraft import runway_needed_m
from wetline.circuits.stock import Stock
from wetline.model import Band, Finding
from wetline.units import FOOT, HOUR, MINUTE

if TYPE_CHECKING:
    from wetline.aircraft import AircraftClass
    from wetline.ground import Base
    from wetline.model import Code, Level

__all__ = ["AtBase", "at_base", "check_base", "check_reload", "check_runway", "runway_short", "stock_of"]

_NO_SOURCE = "common practice, no source"
_LAYER = "the layer of bases"


@dataclass(frozen=True, slots=True, kw_only=True)
class AtBase:
    """What one class finds at a base. `runway_needed_m`: in this air; `reload_min`: landing to take-off.

    `loads_in_stock`: full loads of the class's own size before it runs dry, what is mixed meanwhile not counted.
    """

    class_id: str
    findings: tuple[Finding, ...]
    runway_needed_m: Band | None = None
    reload_min: Band | None = None
    loads_in_stock: float | None = None


def stock_of(base: Base) -> Stock | None:
    """The stock of a base; None where nobody told it. Mixing that nobody told counts as none."""
    if base.stock_l is None:
        return None
    return Stock(base.stock_l, (base.mix_l_per_h or 0.0) / HOUR)


def check_base(base: Base) -> tuple[Finding, ...]:
    """What stands on a base whoever uses it; the words that nobody gave are named together."""
    out: list[Finding] = []
    loads = base.kind == "tanker_base"
    if loads and base.pits == 0:
        out.append(_said("agent", base.name, "stop", "There is no pit: nobody loads here."))
    if loads and base.stock_l is not None:
        out.append(_stock(base))
    if base.fuel is False:
        out.append(_said("fuel", base.name, "caution", "No fuel here: refuel elsewhere."))
    elif base.fuel:
        out.append(_said("fuel", base.name, "clear", "Fuel is here."))
    if loads and base.load_while_fuelling is not None:
        words = "at once, as the base manager allows" if base.load_while_fuelling else "one after the other"
        out.append(_said("fuel", base.name, "clear", f"Loading and fuelling: {words}."))
    untold = _untold(base, loads=loads)
    if untold:
        message = f"{base.name} does not tell: {'; '.join(untold)}."
        out.append(_said("data_missing", base.name, "unknown", message))
    return tuple(out)


def _stock(base: Base) -> Finding:
    mixed = f", {base.mix_l_per_h:.0f} L/h mixed" if base.mix_l_per_h else ""
    message = f"Stock {base.stock_l or 0.0:.0f} L{mixed}."
    level: Level = "clear" if base.stock_l else "caution" if base.mix_l_per_h else "stop"
    return Finding(
        code="agent", level=level, message=message, source=_LAYER, refers_to=base.name,
        value=f"{base.stock_l or 0.0:.0f} L",
    )  # fmt: skip


def _untold(base: Base, *, loads: bool) -> list[str]:
    """What is not known of a base, and what is counted instead."""
    asked = (
        (loads and base.stock_l is None, "stock (counted as never running dry)"),
        (
            loads and base.stock_l is not None and base.mix_l_per_h is None,
            "how fast it mixes (counted as not at all)",
        ),
        (loads and base.pits is None, "pits (counted as one)"),
        (loads and base.load_while_fuelling is None, "loading while fuelling (counted one after the other)"),
        (base.fuel is None, "fuel"),
        (base.elevation_m is None, "height above the sea"),
    )
    return [words for missing, words in asked if missing]


def _said(code: Code, name: str, level: Level, message: str) -> Finding:
    """What the layer tells of a base; what it does not tell is noted."""
    return Finding(
        code=code,
        level=level,
        effect="noted" if level == "unknown" else None,
        message=message,
        source=_LAYER,
        refers_to=name,
    )


def runway_short(runway_m: float | None, cls: AircraftClass, density_altitude_m: float | None) -> str | None:
    """A known runway against the middle of the class's need in this air, in words, if it falls short."""
    need = runway_needed_m(cls, density_altitude_m or 0.0)
    if runway_m is None or need is None or runway_m >= need.middle:
        return None
    return f"{runway_m:g} m of {need.middle:.0f} m needed{_air(density_altitude_m)}"


def check_runway(
    name: str, runway_m: float | None, cls: AircraftClass, density_altitude_m: float | None, who: str
) -> tuple[Finding, ...]:
    """The runway against what the class needs at full load: below the middle a stop, below the high end a caution.

    `who`: whom the words speak of. A runway that nobody gave asks for a call to the base.
    """
    quantity = cls.get("runway_needed_m")
    need = runway_needed_m(cls, density_altitude_m or 0.0)
    if quantity is None or need is None:
        if cls.fills != "base":
            return ()
        message = f"Runway needed by a {cls.name.lower()} is not known: ask before {who} loads at {name}."
        return (_length(name, "unknown", message, "the class's table"),)
    limit = f"{need.middle:.0f} m"
    if runway_m is None:
        message = f"Runway of {name} not given: ask the base before {who} loads."
        return (_length(name, "unknown", message, quantity.source, limit),)
    most_m = need.middle if need.high is None else need.high
    text = f"Runway {runway_m:.0f} m, {need.middle:.0f} m needed by a {cls.name.lower()}{_air(density_altitude_m)}"
    level: Level = "stop" if runway_m < need.middle else "caution" if runway_m < most_m else "clear"
    message = f"{text}, up to {most_m:.0f} m." if level == "caution" else f"{text}."
    out = [
        Finding(
            code="density_altitude", level=level, message=message, source=quantity.source, refers_to=name,
            limit=limit, value=f"{runway_m:.0f} m",
        )
    ]  # fmt: skip
    if density_altitude_m is None:
        message = f"Density altitude at {name} not known: runway as needed at sea level on a standard day."
        out.append(
            Finding(
                code="density_altitude", level="unknown", effect="noted", message=message,
                source="the incident folder", refers_to=name,
            )
        )  # fmt: skip
    return tuple(out)


def _air(density_altitude_m: float | None) -> str:
    if density_altitude_m is None:
        return ""
    return f" at density altitude {density_altitude_m / FOOT:.0f} ft"


def _length(name: str, level: Level, message: str, source: str, limit: str | None = None) -> Finding:
    return Finding(
        code="data_missing",
        level=level,
        effect="look",
        message=message,
        source=source,
        refers_to=name,
        limit=limit,
    )


def check_reload(name: str, reload_s: float | None, cls: AircraftClass) -> tuple[Finding, ...]:
    """A reload that the base promises, quicker than any that the class's table knows."""
    ground = cls.get("ground_time_min")
    if reload_s is None or ground is None:
        return ()
    least_s = ground.si(ground.low if ground.low is not None else ground.value)
    if reload_s >= least_s:
        return ()
    told, least = f"{reload_s / MINUTE:g} min", f"{least_s / MINUTE:g} min"
    message = f"{name} says {told} from landing to take-off; a {cls.name.lower()} takes {least} at least."
    return (
        Finding(
            code="data_missing", level="caution", message=message, source=ground.source, refers_to=name,
            limit=least, value=told,
        ),
    )  # fmt: skip


def at_base(base: Base, cls: AircraftClass, density_altitude_m: float | None) -> AtBase:
    """What a class finds at a base, beside what stands on it for everybody."""
    loads = base.kind == "tanker_base" and cls.fills == "base"
    runs = base.kind != "helibase" and (loads or cls.get("runway_needed_m") is not None)
    who = f"a {cls.name.lower()}"
    reload_s = None if base.reload_min is None else base.reload_min * MINUTE
    ground, tank = cls.get("ground_time_min"), cls.get("tank_volume_l")
    reload_min = None
    if loads and reload_s is not None:
        reload_min = Band(reload_s / MINUTE)
    elif loads and ground is not None:
        reload_min = Band(ground.value, ground.low, ground.high)
    stocked = loads and base.stock_l is not None and tank is not None
    return AtBase(
        class_id=cls.id,
        findings=(
            *(check_runway(base.name, base.runway_m, cls, density_altitude_m, who) if runs else ()),
            *(check_reload(base.name, reload_s, cls) if loads else ()),
            *(_agents_untold(base) if loads else ()),
        ),
        runway_needed_m=runway_needed_m(cls, density_altitude_m or 0.0) if runs else None,
        reload_min=reload_min,
        loads_in_stock=(base.stock_l or 0.0) / tank.value if stocked and tank is not None else None,
    )


def _agents_untold(base: Base) -> tuple[Finding, ...]:
    if base.agents:
        return ()
    return (
        Finding(
            code="agent", level="unknown", effect="look", message=f"Agents at {base.name} not given: ask the base.",
            source=_NO_SOURCE, refers_to=base.name,
        ),
    )  # fmt: skip
