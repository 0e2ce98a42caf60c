"""Invented names, made from syllables."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

__all__ = ["CREWS", "Namer"]

CREWS = ("Alder", "Birch", "Rowan", "Sedge")

_ONSET = (
    "B", "Br", "D", "Dr", "F", "Fr", "G", "Gr", "H", "K", "Kr", "L", "M", "N", "P", "Pr",
    "R", "S", "Sk", "Sn", "St", "T", "Th", "Tr", "V", "W",
)  # fmt: skip
_VOWEL = ("a", "e", "i", "o", "u", "a", "e", "o", "ae", "oa", "ei")
_MIDDLE = (
    "bb", "dd", "ld", "lf", "lm", "lv", "mb", "nd", "ng", "nn", "rd", "rl", "rn", "rr", "rv",
    "sk", "ss", "st", "tt", "vv", "zz", "nth", "rth", "lth",
)  # fmt: skip
_TAIL = (
    "a",
    "ak",
    "al",
    "an",
    "ar",
    "e",
    "eg",
    "el",
    "em",
    "en",
    "er",
    "ick",
    "il",
    "in",
    "ith",
    "ock",
    "om",
    "or",
    "ul",
    "um",
)


class Namer:
    """Hands out invented names, none of them twice."""

    def __init__(self, rng: np.random.Generator) -> None:
        self._rng = rng
        self._given: set[str] = set()

    def _one(self, words: tuple[str, ...]) -> str:
        return words[int(self._rng.integers(len(words)))]

    def word(self) -> str:
        """A word such as `Sorrin` or `Tessick`."""
        for _ in range(1_000):
            name = self._one(_ONSET) + self._one(_VOWEL) + self._one(_MIDDLE) + self._one(_TAIL)
            if name not in self._given and len(name) <= 9:
                self._given.add(name)
                return name
        message = "no name is left to invent"
        raise LookupError(message)

    def lake(self, area_ha: float) -> str:
        """`Lake Sorrin`, `Pell Water`, `Dorrin Tarn`: by size."""
        word = self.word()
        if area_ha >= 150:
            return f"Lake {word}"
        return f"{word} Water" if area_ha >= 40 else f"{word} Tarn"

    def with_tail(self, *tails: str) -> str:
        """A word and one of the tails: `Halm Field`, `Ketter Ridge`."""
        return f"{self.word()} {self._one(tails)}"
