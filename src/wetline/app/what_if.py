"""What if: the same day with other aircraft, a base without agent, a source closed."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, NoReturn

from wetline.aircraft import Aircraft
from wetline.app.situation import plan_the_day, waters_for
from wetline.circuits import totals_of
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from wetline.app.situation import Situation, Waters
    from wetline.circuits import Day, Source, Totals

__all__ = ["Asked", "Mix", "mixes"]

_MOST_ADDED = 20


@dataclass(frozen=True, slots=True)
class Asked:
    """What ifs as they were written, each list in its order."""

    with_: Sequence[str] = ()
    without: Sequence[str] = ()
    base_out: Sequence[str] = ()
    source_out: Sequence[str] = ()

    def __bool__(self) -> bool:
        """Whether anything is asked."""
        return bool(self.with_ or self.without or self.base_out or self.source_out)


@dataclass(frozen=True, slots=True)
class Mix:
    """One column of the comparison: what it is in words, its sums, what was assumed for it."""

    name: str
    totals: Totals
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Change:
    """One what-if: aircraft added, call signs and sources taken away.

    `closed`: spots of sources; `waters`: (whether bases, name) of all sources of that name. Both hold for classes
    added with it too.
    """

    name: str
    added: tuple[Aircraft, ...] = ()
    gone: frozenset[str] = frozenset()
    closed: frozenset[str] = frozenset()
    waters: frozenset[tuple[bool, str]] = frozenset()
    assumed: tuple[str, ...] = ()


def _refuse(message: str, mend: str, *, option: str, value: str) -> NoReturn:
    raise InputError.of([Problem(message=message, mend=mend, field=option, value=value)])


def _known(option: str, value: str, what: str, known: Collection[str]) -> str:
    """A name as the folder writes it, or an error with the nearest one."""
    by_fold = {name.casefold(): name for name in known}
    if value.strip().casefold() not in by_fold:
        like = get_close_matches(value.strip().casefold(), by_fold, n=1)
        near = f' Did you mean "{by_fold[like[0]]}"?' if like else ""
        _refuse(
            f'"{value}" is no {what}.{near}',
            f"Give one of: {', '.join(sorted(known))}." if known else f"There is no {what} here.",
            option=option,
            value=value,
        )
    return by_fold[value.strip().casefold()]


def _base_for(text: str, given: str | None, class_id: str, situation: Situation) -> str:
    """The base written, else that of the aircraft of the same class, where they have one alone."""
    incident = situation.incident
    if given is not None:
        return _known("with", given, "base", {base.name for base in incident.ground.bases})
    bases = {aircraft.base for aircraft in incident.fleet if aircraft.class_id == class_id}
    if len(bases) != 1:
        _refuse(f"Where {text} stands is not said.", "Write CLASS:N@BASE.", option="with", value=text)
    return bases.pop()


def _more(text: str, number: int, situation: Situation) -> _Change:
    """`CLASS:N` or `CLASS:N@BASE` as aircraft with a fresh crew and full fuel, which is said."""
    match = re.fullmatch(r"\s*([\w-]+)\s*:\s*(\d{1,3})\s*(?:@\s*(.+?))?\s*", text)
    if match is None:
        _refuse(
            f'"{text}" is not CLASS:N@BASE.',
            "Write twin_engine_scooper:2@Halm Field.",
            option="with",
            value=text,
        )
    class_id = _known("with", match[1], "aircraft class", set(situation.incident.classes))
    count = int(match[2])
    if not 1 <= count <= _MOST_ADDED:
        _refuse(f"{count} aircraft cannot be added.", f"Add 1 to {_MOST_ADDED}.", option="with", value=text)
    cls, base = situation.incident.classes[class_id], _base_for(text, match[3], class_id, situation)
    endurance = cls.get("endurance_h")
    likes = [a for a in situation.incident.fleet if a.class_id == class_id]
    agents = [a.agent for a in likes]
    agent = (
        Counter(agents).most_common(1)[0][0] if agents else "retardant" if cls.fills == "base" else "water"
    )
    added = tuple(
        Aircraft(
            call_sign=f"added {number}.{k + 1}",
            class_id=class_id,
            base=base,
            agent=agent,
            fill=likes[0].fill if likes else None,
            fuel_h=None if endurance is None else endurance.value,
            duty_start=situation.now,
            flown_h=0.0,
            pair=f"added {number}" if count == 2 else None,
        )
        for k in range(count)
    )
    words = f"{count} more {cls.name.lower()} at {base}"
    return _Change(
        f"with {words}",
        added=added,
        assumed=(
            f"{words}: ready after start-up, fresh crew, full fuel, {agent}; class's load; no rates given",
        ),
    )


def _closed(option: str, text: str, waters: Waters, *, bases: bool) -> _Change:
    """A base without agent by its name, or a source by its id or the name of its water."""
    sources = [s for s in waters.sources if (s.kind == "base") == bases]
    known = {s.id for s in sources} | {s.name for s in sources}
    name = _known(option, text, "base that loads" if bases else "lane, dip site or water", known)
    said = f"{name} out of agent" if bases else f"{name} out"
    if any(s.name == name for s in sources):
        return _Change(said, waters=frozenset({(bases, name)}))
    return _Change(said, closed=frozenset(s.spot for s in sources if s.id == name))


def _changes(situation: Situation, waters: Waters, asked: Asked) -> list[_Change]:
    signs = {aircraft.call_sign for aircraft in situation.incident.fleet}
    out = [_more(text, i + 1, situation) for i, text in enumerate(asked.with_)]
    for text in asked.without:
        sign = _known("without", text, "call sign of the fleet", signs)
        out.append(_Change(f"without {sign}", gone=frozenset({sign})))
    out += [_closed("base-out", text, waters, bases=True) for text in asked.base_out]
    out += [_closed("source-out", text, waters, bases=False) for text in asked.source_out]
    if len(out) > 1:
        out.append(
            _Change(
                "all of these together",
                added=tuple(a for change in out for a in change.added),
                gone=frozenset().union(*(change.gone for change in out)),
                closed=frozenset().union(*(change.closed for change in out)),
                waters=frozenset().union(*(change.waters for change in out)),
            )
        )
    return out


def _waters_with(situation: Situation, waters: Waters, change: _Change) -> tuple[Source, ...]:
    """The sources for a fleet with classes that the incident's own has not, less the closed ones."""
    fleet = situation.incident.fleet
    known = {a.class_id for a in fleet}
    new = [a.class_id for a in change.added if a.class_id not in known]
    sources = waters.sources
    if new:
        sources = waters_for(situation, [*(a.class_id for a in fleet), *new]).sources
    return tuple(
        s for s in sources if s.spot not in change.closed and (s.kind == "base", s.name) not in change.waters
    )


def mixes(situation: Situation, waters: Waters, day: Day, asked: Asked) -> list[Mix]:
    """The day as it is, then each what-if alone, then all of them together where there are several.

    Raises
    ------
    InputError
        For a class, call sign, base or source that is not known, with the nearest name.
    """
    out = [Mix("as it is", totals_of(day))]
    for change in _changes(situation, waters, asked):
        kept = [a for a in situation.incident.fleet if a.call_sign not in change.gone]
        other = plan_the_day(
            situation,
            waters,
            fleet=(*kept, *change.added),
            sources=_waters_with(situation, waters, change),
        )
        out.append(Mix(change.name, totals_of(other), change.assumed))
    return out
