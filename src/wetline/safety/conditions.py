"""Wind, gusts, visibility, density altitude, daylight and flame at the hour of a run."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.model import Finding
from wetline.units import FOOT, KNOT
from wetline.weather.air import density_altitude_m

if TYPE_CHECKING:
    from wetline.model import Code, DropRun
    from wetline.safety.context import SafetyContext
    from wetline.weather import Hour

__all__ = ["check_conditions", "check_daylight", "check_intensity"]


def _unknown_weather(run: DropRun) -> tuple[Finding, ...]:
    codes: tuple[Code, ...] = ("wind", "visibility")
    return tuple(
        Finding(
            code=code,
            level="unknown",
            effect="look",
            message=f"No weather for {run.time:%H:%M}Z: {code} unknown.",
            source="the incident folder",
            refers_to=run.id,
        )
        for code in codes
    )


def _wind(run: DropRun, hour: Hour, context: SafetyContext) -> Finding:
    limits, knots = context.limits, hour.wind_mps / KNOT
    for name, level, word in (
        ("wind_stop_kt", "stop", "stops drops"),
        ("wind_poor_kt", "caution", "scatters drops"),
        ("wind_caution_kt", "caution", "widens and moves the pattern"),
    ):
        if knots >= limits.value(name):
            return Finding.against(
                limits[name],
                code="wind",
                level="stop" if level == "stop" else "caution",
                message=f"Wind {knots:.0f} kt {word}, limit {limits[name].text()}.",
                refers_to=run.id,
                value=f"{knots:.0f} kt",
            )
    return Finding.against(
        limits["wind_caution_kt"],
        code="wind",
        level="clear",
        message=f"Wind {knots:.0f} kt forecast, under {limits['wind_caution_kt'].text()}.",
        refers_to=run.id,
        value=f"{knots:.0f} kt",
    )


def _gust(run: DropRun, hour: Hour, context: SafetyContext) -> Finding:
    limit = context.limits["gust_spread_stop_kt"]
    if hour.gust_mps is None:
        return Finding(
            code="gust",
            level="unknown",
            effect="noted",
            message="Gusts are not given in the weather.",
            source="the incident folder",
            refers_to=run.id,
            limit=limit.text(),
        )
    spread = (hour.gust_mps - hour.wind_mps) / KNOT
    beyond = spread >= limit.value
    return Finding.against(
        limit,
        code="gust",
        level="stop" if beyond else "clear",
        message=f"Gusts {spread:.0f} kt over the mean wind, limit {limit.text()}.",
        refers_to=run.id,
        value=f"{spread:.0f} kt",
    )


def _visibility(run: DropRun, hour: Hour, context: SafetyContext) -> Finding:
    stop, caution = context.limits["visibility_stop_m"], context.limits["visibility_caution_m"]
    if hour.visibility_m is None:
        return Finding(
            code="visibility",
            level="unknown",
            effect="look",
            message="Visibility in the smoke is unknown: look before the run.",
            source="the incident folder",
            refers_to=run.id,
            limit=caution.text(),
        )
    limit = stop if hour.visibility_m < stop.value else caution
    near = hour.visibility_m < caution.value
    return Finding.against(
        limit,
        code="visibility",
        level="stop" if limit is stop else "caution" if near else "clear",
        message=f"Visibility {hour.visibility_m / 1000:.1f} km forecast, outside smoke; limit {limit.text()}.",
        refers_to=run.id,
        value=f"{hour.visibility_m:.0f} m",
    )


def _density_altitude(run: DropRun, hour: Hour, context: SafetyContext) -> Finding:
    limit = context.limits["density_altitude_caution_ft"]
    if run.height_amsl_m is None:
        return Finding(
            code="density_altitude",
            level="unknown",
            effect="noted",
            message="The ground under the run is not known: no density altitude.",
            source="the incident folder",
            refers_to=run.id,
            limit=limit.text(),
        )
    feet = density_altitude_m(run.height_amsl_m, hour.temperature_c, hour.humidity_pct) / FOOT
    return Finding.against(
        limit,
        code="density_altitude",
        level="caution" if feet > limit.value else "clear",
        message=f"Density altitude {round(feet, -2):,.0f} ft at the run, limit {limit.text()}.",
        refers_to=run.id,
        value=f"{round(feet, -2):.0f} ft",
    )


def check_conditions(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Wind, gust spread, visibility and density altitude in the hour of the run."""
    weather = context.weather
    if weather is None or not weather.covers(run.time):
        return _unknown_weather(run)
    hour = weather.at(run.time)
    return (
        _wind(run, hour, context),
        _gust(run, hour, context),
        _visibility(run, hour, context),
        _density_altitude(run, hour, context),
    )


def check_intensity(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Flame at a direct line; an indirect line is judged by where it lies, not by the flame."""
    if run.mode != "direct":
        return ()
    stop, caution = context.limits["flame_stop_m"], context.limits["flame_caution_m"]
    if math.isnan(run.flame_length_m):
        unknown = Finding.against(
            caution,
            code="intensity",
            level="unknown",
            effect="look",
            message="The flame at this line is not known.",
            refers_to=run.id,
        )
        return (unknown,)
    limit = stop if run.flame_length_m >= stop.value else caution
    beyond = run.flame_length_m >= caution.value
    finding = Finding.against(
        limit,
        code="intensity",
        level="stop" if limit is stop else "caution" if beyond else "clear",
        message=f"Flame {run.flame_length_m:.1f} m at a direct line, limit {limit.text()}.",
        refers_to=run.id,
        value=f"{run.flame_length_m:.1f} m",
    )
    return (finding,)


def check_daylight(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """No drop after the cut-off; an unknown cut-off blocks."""
    limit = context.limits["cut_off_after_sunset_min"]
    if context.cut_off is None:
        unknown = Finding(
            code="daylight",
            level="unknown",
            effect="blocks",
            message="Sunset is not known for this place and day: no cut-off can be given.",
            source=limit.source,
            refers_to=run.id,
        )
        return (unknown,)
    late = run.time > context.cut_off
    finding = Finding(
        code="daylight",
        level="stop" if late else "clear",
        message=f"Drop at {run.time:%H:%M}Z, cut-off {context.cut_off:%H:%M}Z.",
        source=limit.source,
        refers_to=run.id,
        limit=f"{context.cut_off:%H:%M}Z",
        value=f"{run.time:%H:%M}Z",
    )
    return (finding,)
