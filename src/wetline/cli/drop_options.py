"""The options of `drop`: how the load is let go, and what is asked of it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path  # noqa: TC003  the parser reads the types of a command when it runs
from typing import Annotated, Literal

from cyclopts import Parameter

from wetline.cli.arguments import Seed, whole_number

__all__ = ["QuestionOptions", "ReleaseOptions"]

Number = float | None
System = Literal["salvo", "trail", "gate", "constant", "bucket", "belly_tank"]


@Parameter(name="*")
@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseOptions:
    """How the load is let go; what is not given is the class's or a stated default."""

    load_l: Annotated[Number, Parameter(help="Load on board, litres.")] = None
    height_m: Annotated[Number, Parameter(help="Tank above the top of canopy or obstacle, metres.")] = None
    speed_mps: Annotated[Number, Parameter(help="True airspeed at release, m/s.")] = None
    wind_mps: Annotated[Number, Parameter(help="Wind at 10 m, m/s.")] = None
    wind_from_deg: Annotated[Number, Parameter(help="Direction the wind comes from, degrees true.")] = None
    heading_deg: Annotated[Number, Parameter(help="Heading of the run over the ground, degrees true.")] = None
    temperature_c: Annotated[Number, Parameter(help="Air temperature, °C.")] = None
    humidity_pct: Annotated[Number, Parameter(help="Relative humidity, %.")] = None
    canopy_m: Annotated[Number, Parameter(help="Height of the trees below, metres.")] = None
    leaf_area: Annotated[Number, Parameter(help="Their leaf area index.")] = None
    system: Annotated[System | None, Parameter(help="Tank and doors, one that the class has.")] = None
    let_go_l: Annotated[Number, Parameter(help="What this drop takes of the load, litres.")] = None
    doors: Annotated[
        int | None, Parameter(converter=whole_number, help="Doors that open, of a salvo or a trail.")
    ] = None
    interval_s: Annotated[Number, Parameter(help="Between the doors of a trail, seconds.")] = None
    opening: Annotated[Number, Parameter(help="Of a gate or a belly tank, share from 0.1 to 1.")] = None
    setting: Annotated[Number, Parameter(help="Coverage setting on a constant-flow tank's panel.")] = None

    def given(self) -> dict[str, float | str | None]:
        """By the names of a release."""
        return asdict(self)


@Parameter(name="*")
@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionOptions:
    """What is asked of the load."""

    level: Annotated[Number, Parameter(help="Coverage level needed, US gal/100 ft²; or give --fuel.")] = None
    fuel: Annotated[
        int | None, Parameter(converter=whole_number, help="Fuel model, whose level is looked up.")
    ] = None
    intensity_kw_per_m: Annotated[Number, Parameter(help="Intensity at the edge, kW/m.")] = None
    target: Annotated[
        str | None, Parameter(help="Where the middle shall lie: LAT,LON.", allow_leading_hyphen=True)
    ] = None
    heights: Annotated[str | None, Parameter(help="Heights to compare, metres: 30,60,90.")] = None
    method: Annotated[
        Literal["planning", "droplets", "both"],
        Parameter(help="Closed form, drop by drop, or the form with the drops beside it."),
    ] = "planning"
    seed: Seed = 1
    picture: Annotated[Path | None, Parameter(help="Write a picture of the pattern here.")] = None
    drop_tests: Annotated[Path | None, Parameter(help="Your own drop tests, used where they apply.")] = None
