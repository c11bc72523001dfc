"""The head of a panel: which columns it has, and what a serving weighs."""

from __future__ import annotations

import re
from dataclasses import dataclass

from batchwright.original.panels.records import PER_100_G, PER_100_ML, PER_SERVING

NUMBER = r"[0-9oOlI][0-9oOlI.,]{0,6}"
HUNDRED = r"[1lI][0oO]{2}"
COLUMN = re.compile(
    rf"(?P<hundred>(?:per|/|each)?\s*{HUNDRED}\s*(?P<unit>g|ml)(?:rams?)?)"
    rf"|per\s*(?P<weight>{NUMBER})\s*g(?:rams?)?\b(?:\s*(?P<after>serving|portion|[a-z]{{3,12}}))?"
    rf"|(?:per|each|amount\s*(?:per|/)|1)\s*(?:[0-9/½]{{1,4}}\s*)?"
    rf"(?P<thing>serving|portion|biscuits?|cookies?|bars?|pieces?|slices?|wafers?|squares?|cups?|packs?|packets?|packages?"
    rf"|containers?|sachets?|sweets?|cakes?)(?:\s*\((?P<inside>[^()]{{1,40}})\))?"
    rf"|(?P<prepared>as\s*prepared|as\s*sold|as\s*consumed)",
    re.I,
)
SERVING = re.compile(
    rf"serv(?:ing)?\.?\s*size\s*:?\s*(?P<size>[^\n]{{0,60}})|portion\s*(?:size)?\s*:?\s*(?P<portion>{NUMBER}\s*g\b)",
    re.I,
)
GRAMS = re.compile(rf"(?P<number>{NUMBER})\s*(?P<unit>g|9|gr|grams?|ml)(?![a-z0-9])", re.I)
CONTAINERS = re.compile(
    r"(?P<about>about\s*)?(?P<count>[0-9]{1,3}(?:[.,][0-9])?\s*)?(?:servings|portions|(?<=1 )serving)\s*per\s*"
    r"(?:container|pack(?:age|et)?|box|bag)\s*:?\s*(?P<behind>(?:about\s*)?[0-9]{1,3}\b(?!\s*(?:g|serving)))?",
    re.I,
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its basis, the serving it speaks of as text, and the words of its heading."""

    basis: str
    serving: str = ""
    words: str = ""


def digits(text: str) -> str:
    """Return a number with letters that were taken for digits put right (O for 0, l for 1)."""
    return text.translate(str.maketrans("oOlI|", "00111"))


def columns_of(head: str) -> list[Column]:
    """Return the columns that a panel's head names, in order; empty where it names none."""
    found: list[Column] = []
    marks: list[str] = []
    for match in COLUMN.finditer(CONTAINERS.sub(" ", head)):
        words = " ".join(match[0].split())
        if match["prepared"]:
            marks.append(words)
            continue
        if match["hundred"]:
            column = Column(PER_100_ML if (match["unit"] or "").lower() == "ml" else PER_100_G, "", words)
        elif match["weight"]:
            column = Column(PER_SERVING, f"{digits(match['weight'])} g", words)
        else:
            inside = GRAMS.search(match["inside"] or "")
            column = Column(PER_SERVING, f"{digits(inside['number'])} {_unit(inside['unit'])}" if inside else "", words)
        same = [
            old
            for old in found
            if old.basis == column.basis
            and (old.serving == column.serving or not old.serving or not column.serving)
            and not _differs(old, column)
        ]
        if not same:
            found.append(column)
        elif column.serving and not same[0].serving:
            found[found.index(same[0])] = column
    if marks and len(found) == 1 and len(marks) == 2:
        return [Column(found[0].basis, found[0].serving, f"{found[0].words} {mark}") for mark in marks]
    return found


def _differs(one: Column, other: Column) -> bool:
    """Say whether two serving columns speak of different things ("per serving" beside "per container")."""
    whole = re.compile(r"container|pack|packet|package", re.I)
    return bool(whole.search(one.words)) != bool(whole.search(other.words))


def _unit(word: str) -> str:
    return "ml" if word.lower() == "ml" else "g"


def serving_of(head: str) -> str:
    """Return the serving's weight as text ("27 g"), "" where the head gives none."""
    for match in SERVING.finditer(head):
        grams = list(GRAMS.finditer(match["size"] or match["portion"] or ""))
        if grams:
            best = next((g for g in grams if _unit(g["unit"]) == "g"), grams[0])
            return f"{digits(best['number'])} {_unit(best['unit'])}"
    return ""


def servings_per_pack(head: str) -> int | None:
    """Return how many servings the pack holds, None where the head gives no whole count ("about 8" is none)."""
    match = CONTAINERS.search(head)
    if not match or match["about"]:
        return None
    text = (match["count"] or match["behind"] or "").strip()
    return int(text) if text.isdigit() and int(text) > 0 else None


def speaks_of_pack(column: Column) -> bool:
    """Say whether a column speaks of the whole pack."""
    return bool(re.search(r"container|pack", column.words, re.I))
