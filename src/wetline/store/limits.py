"""The incident's own limits over the shipped ones, and the findings where safety is given up."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from wetline.model import Finding, Limit, Limits, shipped_limits
from wetline.store.fields import Fields, Span
from wetline.store.problems import suggestion

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from wetline.store.problems import Complaints

__all__ = ["limits_page", "read_limits"]

_MOST = 1.0e5
_LOW_SUN_MIN = Span(-720.0, 120.0, "min")
"""A cut-off may stand before sunset; two hours after it is night anywhere south of 60°."""
_MUST_NOT_FALL = (
    ("people_stop_m", "people_stop_large_m"),
    ("entrapment_stop_min", "entrapment_caution_min"),
    ("wire_stop_m", "wire_caution_m"),
    ("wind_caution_kt", "wind_poor_kt"),
    ("wind_poor_kt", "wind_stop_kt"),
    ("visibility_stop_m", "visibility_caution_m"),
    ("flame_caution_m", "flame_stop_m"),
    ("hold_water_low_min", "hold_water_min"),
    ("hold_water_min", "hold_water_high_min"),
    ("hold_foam_low_min", "hold_foam_min"),
    ("hold_foam_min", "hold_foam_high_min"),
    ("hold_gel_low_min", "hold_gel_min"),
    ("hold_gel_min", "hold_gel_high_min"),
    ("crew_secure_hand_kw_per_m", "crew_secure_engine_kw_per_m"),
)
"""Pairs of which the first may not exceed the second, or the checks between them turn over."""
_EXAMPLE = '[limits.{name}]\nvalue = {value:g}\nsource = "whose order"\ndate = 2026-05-01'


def read_limits(given: object, complaints: Complaints) -> tuple[Limits, tuple[Finding, ...]]:
    """The shipped limits with the `[limits]` of incident.toml laid over them.

    A name that is not known, a value that is no number and a change without a source are errors: a
    stricter limit that is silently not applied would hurt. A change without a date is a warning.
    """
    shipped = shipped_limits()
    if given is None:
        return shipped, ()
    if not isinstance(given, dict):
        complaints.error(
            "limits must be tables.", "Write [limits.people_stop_m].", field="limits", value=given
        )
        return shipped, ()
    changed: dict[str, Limit] = {}
    for name, table in given.items():
        limit = shipped.by_name.get(name)
        if limit is None:
            complaints.error(
                f'"{name}" is no limit that is known here.{suggestion(name, shipped.by_name)}',
                "Take a name from docs/limits.md.",
                field=f"limits.{name}",
            )
        elif (new := _read_one(limit, table, complaints)) is not None:
            changed[name] = new
    limits = Limits({**shipped.by_name, **changed})
    _check_order(limits, changed, complaints)
    return limits, tuple(_finding(limit) for limit in changed.values() if limit.loosened)


def _read_one(limit: Limit, table: Any, complaints: Complaints) -> Limit | None:  # noqa: ANN401  TOML is untyped
    where = f"limits.{limit.name}"
    if not isinstance(table, dict):
        complaints.error(
            f"{where} must say value, source and date.",
            "Write: " + _EXAMPLE.format(name=limit.name, value=limit.value).replace("\n", "; "),
            field=where,
            value=table,
        )
        return None
    fields = Fields(table, complaints, within=f"{where}.")
    value = fields.number("value", _span(limit), required=True)
    source = fields.text("source", required=True)
    day = fields.day("date")
    if "date" not in table:
        fields.warning("date", f"{where} has no date.", "Add the day of the order: date = 2026-05-01.")
    fields.rest()
    if value is None or source is None:
        return None
    return replace(limit, value=value, source=source, date=day.isoformat() if day else None)


def _span(limit: Limit) -> Span:
    if limit.name.endswith("_after_sunset_min"):
        return _LOW_SUN_MIN
    hint = f"Give {limit.name} in {limit.unit}. A check cannot be switched off by its limit."
    lowest = 1e-6 if limit.looser == "lower" and limit.value > 0 else 0.0
    return Span(lowest, 100.0 if limit.unit == "%" else _MOST, limit.unit, hint)


def _check_order(limits: Limits, changed: Mapping[str, Limit], complaints: Complaints) -> None:
    for low, high in _MUST_NOT_FALL:
        if (low in changed or high in changed) and limits.value(low) > limits.value(high):
            complaints.error(
                f"{low} ({limits[low].text()}) exceeds {high} ({limits[high].text()}).",
                "Change both, so that they keep their order.",
                field=f"limits.{low if low in changed else high}",
                value=limits[low].text(),
                limit=limits[high].text(),
            )


def _finding(limit: Limit) -> Finding:
    shipped = f"{limit.shipped:g} {limit.unit}".rstrip()
    dated = f", {limit.date}" if limit.date else ", undated"
    return Finding(
        code="limit_changed",
        level="caution",
        message=f"{limit.help}: set to {limit.text()}, looser than the shipped {shipped}.",
        source=limit.source + dated,
        refers_to=limit.name,
        limit=shipped,
        value=limit.text(),
    )


def limits_page() -> str:
    """The page `docs/limits.md`: every limit, what it does, its value and where it comes from."""
    head = """# Limits

Every limit that Wetline checks against, as shipped. None of them is a legal limit: each is a setting of
the incident, with a source and a date, written in `incident.toml`:

```toml
[limits.people_stop_m]
value = 80
source = "Sorrin fire service order 12"
date = 2026-05-01
```

An unknown name, a value that is no number, or a change without a source is refused. A value looser than
shipped is used, and stands as a caution (`limit_changed`) on every sheet. *Looser* says which way that is.
A check cannot be switched off by its limit.

| name | value | looser | what it does | source |
|---|---|---|---|---|
"""
    rows = (
        f"| `{x.name}` | {x.text()} | {x.looser} | {x.help} | {x.source} |"
        for x in shipped_limits().by_name.values()
    )
    pairs = "\n".join(f"- `{low}` ≤ `{high}`" for low, high in _MUST_NOT_FALL)
    order = f"\n\nThese must keep their order, or the folder is refused:\n\n{pairs}\n"
    return head + "\n".join(rows) + order
