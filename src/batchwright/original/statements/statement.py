"""An ingredient statement read into a tree: `read_statement`. Own grammar; nothing of the text is dropped."""

from __future__ import annotations

import re
from collections.abc import Collection

from batchwright.base.errors import Fault, InputError
from batchwright.original.statements.brackets import grouped
from batchwright.original.statements.clean import Plain, plain
from batchwright.original.statements.draft import Draft
from batchwright.original.statements.levels import Levels
from batchwright.original.statements.lexer import CUT, tokens
from batchwright.original.statements.records import NAMES_MENDED, Footnote, Repair, Span, Statement, Trailer
from batchwright.original.statements.repairs import ClosingPlace
from batchwright.original.statements.trailers import Cut, cuts, headers
from batchwright.original.statements.words import words

LONGEST = 25_000
"""A longer text is refused."""

_CAPITALS = re.compile(r"\b[A-Z][A-Z'’\-]{1,}(?:[ \-]+[A-Z][A-Z'’\-]{1,})*\b")


def read_statement(text: str, as_printed: Collection[str] = ()) -> Statement:
    """Read an ingredient statement as printed (any length, any markup, with its trailers) into a tree.

    Brackets of any kind, "2 % or less" groups, classes with a colon, component headings, percents, "
    "E-numbers, joined
    names, footnotes and trailers are told apart; what is mended is listed in `repairs`, each with its place. Every word
    ends in an item, a trailer, a footnote, a heading or a repair (`Statement.uncovered()` is empty). Never fails: an
    empty text gives an empty tree. as_printed: names that are right as they stand, in small letters; their letters
    and blanks are not mended, and no repair is listed for them. Time grows in line with the length. Raises InputError
    for a text of more than 25,000 characters: no list is that long (the longest seen on a packet has about 2,500).
    """
    if len(text) > LONGEST:
        allowed = f"at most {LONGEST:,} characters"
        raise InputError(
            [Fault("statement", text, allowed, "Give the ingredient list alone, without the text around it.")]
        )
    repairs: list[Repair] = []
    clean = plain(text, repairs)

    def report(kind: str, before: str, after: str, start: int, end: int) -> bool:
        if kind in NAMES_MENDED and before in as_printed:
            return False
        first = clean.start(start) if start < len(clean.text) else len(text)
        repairs.append(Repair(kind, before, after, first, clean.end(end) if end > start else first))
        return True

    headings: list[Span] = []
    working = clean.text
    header = headers(working)
    if header is not None:
        headings.append((header[0], header[1], "header"))
        working = _cut(working, [header])
    found = cuts(working)
    working = _cut(working, [(cut.start, cut.end) for cut in found])
    levels = Levels(working, report)
    drafts, _ = levels.read(grouped(tokens(working), report, ClosingPlace(working)))
    headings += levels.headings
    drafts = _named(drafts, headings)
    items = tuple(draft.finished(clean) for draft in drafts)
    found = sorted([*found, *levels.beside], key=lambda cut: cut.start)
    trailers, notes = _beside(found, clean)
    return Statement(
        text,
        items,
        trailers,
        notes,
        _emphasised(text, clean, found),
        tuple(sorted(repairs, key=lambda repair: (repair.start, repair.end))),
        tuple((clean.start(start), clean.end(end), what) for start, end, what in headings),
    )


def _cut(text: str, stretches: list[tuple[int, int]]) -> str:
    """Return the text of the same length with each stretch replaced by a cut mark and blanks."""
    pieces: list[str] = []
    done = 0
    for start, end in stretches:
        if end > start:
            pieces += [text[done:start], CUT, " " * (end - start - 1)]
            done = end
    return "".join([*pieces, text[done:]])


def _named(drafts: list[Draft], headings: list[Span]) -> list[Draft]:
    """Return the drafts without those that have neither name nor parts; their stretches stay as headings."""
    out: list[Draft] = []
    for draft in drafts:
        draft.children = _named(draft.children, headings)
        if draft.name or draft.children:
            out.append(draft)
        else:
            headings.extend(draft.spans)
    return out


def _beside(found: list[Cut], clean: Plain) -> tuple[tuple[Trailer, ...], tuple[Footnote, ...]]:
    trailers: list[Trailer] = []
    notes: list[Footnote] = []
    for cut in found:
        start, end = clean.start(cut.start), clean.end(cut.end)
        words_of = " ".join(clean.text[cut.start : cut.end].lower().split()).strip(" .,;")
        if cut.kind == "footnote":
            legend = re.sub(r"^(?:[*†‡§^+¹²³⁺]+|\(\*+\))\s?[=:\-–]?\s?", "", words_of)
            notes.append(Footnote(cut.mark, legend, start, end))
        else:
            trailers.append(Trailer(cut.kind, words_of, start, end, cut.items, cut.min_percent))
    return tuple(trailers), tuple(notes)


def _emphasised(text: str, clean: Plain, found: list[Cut]) -> tuple[str, ...]:
    """Return the names set off in the list: marked as bold or underlined, or a known allergen source in capitals."""
    trailing = [(clean.start(cut.start), clean.end(cut.end)) for cut in found]
    stretches = [(start, text[start:end]) for start, end in clean.emphasis]
    letters = [character for character in text if character.isalpha()]
    small = sum(character.islower() for character in letters)
    if small * 2 > len(letters):
        known = words("source")
        for match in _CAPITALS.finditer(text):
            named = match[0].lower()
            if named in known or any(word in known for word in named.split()):
                stretches.append((match.start(), match[0]))
    out: dict[str, None] = {}
    place = 0
    for start, printed in sorted(stretches):
        while place < len(trailing) and trailing[place][1] <= start:
            place += 1
        if place < len(trailing) and trailing[place][0] <= start:
            continue
        name = " ".join(printed.lower().split()).strip(" .,;:()_*")
        if name:
            out[name] = None
    return tuple(out)
