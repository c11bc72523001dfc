"""What has been made out of an ingredient line so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from batchwright.formula.lines.tokens import Token
from batchwright.formula.lines.words import FILLINGS, LOOSE_FILLINGS, PLACES
from batchwright.formula.records import Written

_END = Token("p", "", 0, 0)


@dataclass(slots=True)
class Draft:
    """What has been made out of a line so far; filled from left to right."""

    amounts: list[Written] = field(default_factory=list)
    size: str = ""
    filling: str = ""
    marks: set[str] = field(default_factory=set)
    assumptions: list[str] = field(default_factory=list)
    before: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)
    faulty: bool = False
    place: str = ""

    def say(self, words: str) -> None:
        """Add an assumption once."""
        if words not in self.assumptions:
            self.assumptions.append(words)

    def fill(self, word: str) -> None:
        """Note how the measure is filled."""
        self.filling = self.filling or FILLINGS[word]
        if word in LOOSE_FILLINGS:
            self.say(f"{word} taken as {FILLINGS[word]}")

    def where(self, word: str) -> None:
        """Note whose cup or spoon it is."""
        self.place = PLACES[word]
        if word == "metric":
            self.say("a metric cup holds 250 ml, as in Australia")


def at(tokens: Sequence[Token], index: int) -> Token:
    """Return a token, an empty one outside the line."""
    return tokens[index] if 0 <= index < len(tokens) else _END
