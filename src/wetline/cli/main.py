"""The commands. Each parses, asks one function of `app`, and renders; nothing is computed here."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path  # noqa: TC003  the parser reads the types of a command when it runs
from typing import Annotated, Any, Literal

from cyclopts import App, CycloptsError, Parameter

from wetline import __version__
from wetline.cautions import CAUTIONS
from wetline.cli.arguments import At, Folder, Json, Members, Seed, whole_number
from wetline.cli.drop_options import QuestionOptions, ReleaseOptions
from wetline.cli.output import give, give_error, speak_utf8
from wetline.errors import InputError, Problem, WetlineError

__all__ = ["app", "main"]

app = App(
    name="wetline",
    help="\n\n".join(["Plans, checks and briefs a day's aerial attack on a wildfire.", *CAUTIONS]),
    version=__version__,
    result_action="return_value",
)


@app.command
def demo(
    folder: Annotated[Path, Parameter(help="A new folder for the invented incident.")],
    *,
    seed: Seed = 1,
    force: Annotated[bool, Parameter(negative=(), help="Replace what stands there.")] = False,
    json: Json = False,
) -> int:
    """Write the invented incident into a new folder."""
    from wetline.app.demo import make_demo

    return give("demo", make_demo(folder, seed=seed, force=force), as_json=json)


@app.command
def check(incident: Folder, *, json: Json = False) -> int:
    """Name every problem of an incident folder at once."""
    from wetline.app.check import check_incident

    return give("check", check_incident(incident), as_json=json)


@app.command
def sizeup(
    incident: Folder,
    *,
    at: At = None,
    hours: Annotated[float, Parameter(help="How far ahead to look, hours.")] = 6.0,
    out: Annotated[
        Path | None, Parameter(help="Write maps of where it burns by when into this folder.")
    ] = None,
    members: Members = 16,
    seed: Seed = 1,
    json: Json = False,
) -> int:
    """Read the fire: its edge, where it runs fastest and why, hourly fronts, whom it reaches."""
    from wetline.app.sizeup import size_up

    answer = size_up(incident, at=at, hours=hours, out=out, members=members, seed=seed)
    return give("sizeup", answer, as_json=json)


@app.command
def water(
    incident: Annotated[Path | None, Parameter(help="The incident folder; or give --file.")] = None,
    *,
    class_: Annotated[
        str | None, Parameter(name="--class", help="Aircraft class; default: those of the fleet.")
    ] = None,
    at: At = None,
    file: Annotated[
        Path | None, Parameter(help="A water file of its own, in any format, without an incident.")
    ] = None,
    length_m: Annotated[
        float | None, Parameter(help="With --file: straight water asked for, metres.")
    ] = None,
    clear_m: Annotated[
        float | None, Parameter(help="With --file: clear half-width each side, metres.")
    ] = None,
    step_deg: Annotated[
        float | None, Parameter(help="With --file: step between headings, degrees; default 5.")
    ] = None,
    out: Annotated[
        Path | None, Parameter(help="Write GPX, KML and GeoPackage of it into this folder.")
    ] = None,
    json: Json = False,
) -> int:
    """Where to fill: scoop lanes, dip sites and bases, best first."""
    from wetline.app.water import water_answer

    answer = water_answer(
        incident,
        class_id=class_,
        at=at,
        file=file,
        length_m=length_m,
        clear_m=clear_m,
        step_deg=step_deg,
        out=out,
    )
    return give("water", answer, as_json=json)


@app.command
def drop(
    *,
    class_: Annotated[str, Parameter(name="--class", help="Aircraft class.")],
    agent: Annotated[
        Literal["water", "foam", "gel", "retardant"] | None,
        Parameter(help="What is dropped; default water."),
    ] = None,
    release: ReleaseOptions | None = None,
    question: QuestionOptions | None = None,
    json: Json = False,
) -> int:
    """One load: how long is the line, where to release, who stands clear, from what height it falls."""
    from wetline.app.drop import DropAsk, drop_answer

    given = (release or ReleaseOptions()).given()
    asked = DropAsk(**asdict(question or QuestionOptions()))
    return give("drop", drop_answer(class_, agent=agent, given=given, asked=asked), as_json=json)


@app.command
def drop_tests(
    file: Annotated[Path, Parameter(help="The table of drop tests; with --template, a new file.")],
    *,
    template: Annotated[
        bool, Parameter(negative=(), help="Write a template to fill, for the class of --class.")
    ] = False,
    class_: Annotated[str | None, Parameter(name="--class", help="With --template: aircraft class.")] = None,
    json: Json = False,
) -> int:
    """Your own drop tests: a template to fill; what a filled table covers, and how far physics is from it."""
    from wetline.app.drop_tests import drop_tests_answer

    return give("drop-tests", drop_tests_answer(file, template=template, class_id=class_), as_json=json)


@app.command
def circuits(
    incident: Folder,
    *,
    at: At = None,
    with_: Annotated[
        list[str] | None,
        Parameter(name="--with", help="What if there were more: CLASS:N@BASE. May be repeated."),
    ] = None,
    without: Annotated[
        list[str] | None, Parameter(help="What if this call sign did not fly. May be repeated.")
    ] = None,
    base_out: Annotated[
        list[str] | None, Parameter(help="What if this base ran out of agent. May be repeated.")
    ] = None,
    source_out: Annotated[
        list[str] | None, Parameter(help="What if this lane, dip site or water were out. May be repeated.")
    ] = None,
    json: Json = False,
) -> int:
    """Circuits of every aircraft and the day's loads until the cut-off."""
    from wetline.app.circuits import circuits_answer
    from wetline.app.what_if import Asked

    asked = Asked(with_ or (), without or (), base_out or (), source_out or ())
    return give("circuits", circuits_answer(incident, at=at, asked=asked), as_json=json)


@app.command
def plan(
    incident: Folder,
    *,
    out: Annotated[Path | None, Parameter(help="Write the plan and its map layers into this folder.")] = None,
    members: Members = 16,
    at: At = None,
    seed: Seed = 1,
    json: Json = False,
) -> int:
    """Where each load goes, whether the line is built faster than the edge grows, who could be hurt."""
    from wetline.app.plan import plan_answer

    return give("plan", plan_answer(incident, out=out, members=members, at=at, seed=seed), as_json=json)


@app.command
def brief(
    incident: Folder,
    *,
    out: Annotated[
        Path | None, Parameter(help="Folder for the files; default: `brief` in the incident folder.")
    ] = None,
    units: Annotated[
        Literal["aviation", "metric", "us"] | None, Parameter(help="Units on the sheets.")
    ] = None,
    members: Members = 16,
    at: At = None,
    seed: Seed = 1,
    json: Json = False,
) -> int:
    """One PDF: a map page and one sheet a crew."""
    from wetline.app.brief import brief_answer

    answer = brief_answer(incident, out=out, units=units, members=members, at=at, seed=seed)
    return give("brief", answer, as_json=json)


@app.command
def atlas(
    file: Annotated[Path, Parameter(help="Outlines of water (with --out), or an atlas (with --near).")],
    *,
    out: Annotated[Path | None, Parameter(help="Find all lanes once and write them into this file.")] = None,
    near: Annotated[
        tuple[float, float] | None, Parameter(help="Ask an atlas: longitude and latitude of the place.")
    ] = None,
    within_km: Annotated[float | None, Parameter(help="With --near: how far, km; default 60.")] = None,
    class_: Annotated[
        str | None, Parameter(name="--class", help="Aircraft class; default: every one that scoops.")
    ] = None,
    wind_kt: Annotated[float | None, Parameter(help="With --near: wind on the water, knots.")] = None,
    wind_from_deg: Annotated[
        float | None, Parameter(help="With --near: where it comes from, degrees true.")
    ] = None,
    most: Annotated[
        int | None, Parameter(converter=whole_number, help="With --near: lanes to list; default 20.")
    ] = None,
    length_m: Annotated[float | None, Parameter(help="With --out: straight water asked for, metres.")] = None,
    clear_m: Annotated[
        float | None, Parameter(help="With --out: clear half-width each side, metres.")
    ] = None,
    step_deg: Annotated[
        float | None, Parameter(help="With --out: step between headings, degrees; default 5.")
    ] = None,
    layer: Annotated[str | None, Parameter(help="With --out: the layer of outlines.")] = None,
    jobs: Annotated[
        int | None, Parameter(converter=whole_number, help="With --out: processes; default one a core.")
    ] = None,
    cluster: Annotated[str | None, Parameter(help="With --out: address of a Dask scheduler.")] = None,
    json: Json = False,
) -> int:
    """Find all lanes of a country or the world once (--out); ask for those near a place (--near)."""
    from datetime import UTC, datetime

    from wetline.app.atlas import AtlasOptions, NearOptions, atlas_answer
    from wetline.cli.progress import progress

    with progress("waters searched") as tell:
        answer = atlas_answer(
            file,
            out=out,
            making=AtlasOptions(
                class_id=class_, length_m=length_m, clear_m=clear_m, step_deg=step_deg, layer=layer,
                jobs=jobs, cluster=cluster,
            ),
            asking=NearOptions(
                near=near, within_km=within_km, class_id=class_, wind_kt=wind_kt,
                wind_from_deg=wind_from_deg, most=most,
            ),
            now=datetime.now(UTC),
            tell=tell,
        )  # fmt: skip
    return give("atlas", answer, as_json=json)


def _asked_for_json(words: list[str]) -> bool:
    return "--json" in words


def main(words: list[str] | None = None) -> None:
    """Run one command and leave with its exit code (0 done, 1 our fault, 2 bad input, 3 a stop stands)."""
    words = sys.argv[1:] if words is None else words
    speak_utf8()
    try:
        code: Any = app(words, exit_on_error=False, print_error=False)
    except CycloptsError as error:
        problem = Problem(
            message=f"{str(error).strip().rstrip('.')}.",
            mend="Run `wetline --help` or `wetline COMMAND --help`.",
        )
        raise SystemExit(give_error(InputError.of([problem]), as_json=_asked_for_json(words))) from None
    except WetlineError as error:
        raise SystemExit(give_error(error, as_json=_asked_for_json(words))) from None
    except Exception as error:  # noqa: BLE001  a fault of ours still answers in its one shape
        import traceback

        traceback.print_exc()
        fault = WetlineError(f"A fault of Wetline: {type(error).__name__}: {error}")
        raise SystemExit(give_error(fault, as_json=_asked_for_json(words))) from None
    raise SystemExit(code if isinstance(code, int) else 0)
