"""Findings in the words of the trade: stop, blocks, needs a look, caution, noted, none found."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from wetline.cli.text import paragraph, section

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = ["STANDINGS", "finding_lines", "gravest", "note_lines", "standing"]

STANDINGS = ("stop", "blocks", "unknown", "needs a look", "caution", "noted", "none found")
"""Gravest first. `unknown` without a stated effect is never shown as less than it may be."""

_OF_EFFECT = {"blocks": "blocks", "look": "needs a look", "noted": "noted"}
_SHOWN_OF_A_KIND = 6


def standing(finding: Mapping[str, Any]) -> str:
    """The word for one finding."""
    level = finding["level"]
    if level == "unknown":
        return _OF_EFFECT.get(finding.get("effect", ""), "unknown")
    return "none found" if level == "clear" else str(level)


def gravest(findings: Iterable[Mapping[str, Any]]) -> str:
    """The gravest word among findings; `none found` without any."""
    return min((standing(f) for f in findings), key=STANDINGS.index, default="none found")


def finding_lines(findings: Sequence[Mapping[str, Any]], *, about: str | None = None) -> list[str]:
    """All findings by standing: what is wrong one line each, what was not found as a count.

    `about`: the one subject of the whole table, which needs no naming.
    """
    if not findings:
        return section("Checks", ["  none found"])
    out: list[str] = []
    for word in STANDINGS[:-1]:
        out += _of_one_standing(word, [f for f in findings if standing(f) == word], about)
    quiet = [f for f in findings if standing(f) == "none found"]
    if quiet:
        codes = ", ".join(dict.fromkeys(f["code"].replace("_", " ") for f in quiet))
        out += paragraph(f"({len(quiet)} checks: {codes})", first="none found ", indent=2)
    return section("Checks", out)


def note_lines(notes: Sequence[str]) -> list[str]:
    """What was assumed, a paragraph each; nothing where nothing was."""
    if not notes:
        return []
    out: list[str] = []
    for note in notes:
        out += paragraph(note, first="· ", indent=2)
    return section("Assumed", out)


def _of_one_standing(word: str, findings: Sequence[Mapping[str, Any]], about: str | None) -> list[str]:
    texts = Counter(_text(f, about) for f in findings)
    shown = len(texts) if word == "stop" else _SHOWN_OF_A_KIND
    out = []
    for text, times in list(texts.items())[:shown]:
        out += paragraph(f"{text}{f' ({times} times)' if times > 1 else ''}", first=f"{word}: ", indent=2)
    if len(texts) > shown:
        out.append(f"  {word}: {len(texts) - shown} more (use --json)")
    return out


def _text(finding: Mapping[str, Any], about: str | None) -> str:
    """`S3: Boats … [limit 120 min; common practice, no source]`; the subject only where it is not named."""
    subject, message = finding["refers_to"], finding["message"]
    who = "" if subject in message or subject == about else f"{subject}: "
    limit = f"limit {finding['limit']}; " if "limit" in finding and "limit" not in message else ""
    return f"{who}{message} [{limit}{finding['source']}]"
