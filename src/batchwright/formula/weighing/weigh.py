"""Recipe lines to grams: each with its range between cooks and conventions, and what was assumed."""

from __future__ import annotations

from batchwright.formula.records import Formula, Line, Part, ReadLine, ReadRecipe
from batchwright.formula.weighing.amount import estimate_of, weighed
from batchwright.formula.weighing.convention import inferred
from batchwright.formula.weighing.item import BY_CONVENTION, named
from batchwright.pantry.measures_conventions import Convention, convention_of
from batchwright.pantry.records import Match

MARK_WORDS = {
    "plus more": "only the stated part is weighed; more is used as needed",
    "to taste": "to taste: the weight is a start",
    "optional": "optional: weighed as if used",
}
PROCESS_WORDS = {"browned": "browned", "drained": "drained", "reduced": "reduced", "soaked": "soaked",
                 "toasted": "toasted"}  # fmt: skip

FEWEST_STRANGE = 3
"""Unknown foods from which on a recipe may be in another language."""


def weigh_line(read: ReadLine, convention: str = "") -> Line:
    """Return one ingredient line in grams; use it for a line that stands alone.

    read: the line as read; convention: how cups are filled and whose they are, as `convention_of` takes it, "" for as
    wide as all of them. A line without an amount that can be weighed keeps its words and says why. Raises InputError
    for a convention that is not known.
    """
    return _line(read, convention_of(convention))


def weigh_recipe(read: ReadRecipe, convention: str = "") -> Formula:
    """Return a recipe in grams, every line weighed by one convention.

    read: the recipe as read; convention: as for `weigh_line`. Where lines print both a cup and a weight of flour, they
    decide the convention for the others, and the notes say so. Raises InputError for a convention that is not known.
    """
    chosen = convention_of(convention)
    found = inferred((line for part in read.parts for line in part.lines), chosen)
    parts = tuple(Part(part.name, tuple(_line(line, found.convention) for line in part.lines)) for part in read.parts)
    name = found.convention.name or "US cup"
    notes = (*read.notes, *found.notes, *_foreign(parts))
    return Formula(read.name, parts, read.method, read.makes, name, read.credit, unread=read.unread,
                   notes=notes)  # fmt: skip


def _line(read: ReadLine, convention: Convention) -> Line:
    what = named(read)
    said = list(read.assumptions)
    also = tuple(_line(one, convention) for one in read.also)
    if not read.read:
        return Line(read.text, read.item, None, assumptions=(*said, "could not be read: left as it stands"), also=also,
                    marks=read.marks)  # fmt: skip
    found, words = weighed(read, what, convention)
    marks = read.marks
    if any(BY_CONVENTION in each for each in words):
        marks = (*marks, BY_CONVENTION)
    said += what.said
    said += words
    said += [MARK_WORDS[mark] for mark in read.marks if mark in MARK_WORDS and found is not None]
    if what.match.how in ("head", "spelling", "class", "unknown") and read.item:
        said.append(_match_words(read.item, what.match))
    return Line(
        read.text, read.item, None if found is None else estimate_of(found), what.match.ingredient, what.match.how,
        read.amounts, read.preparation, tuple(dict.fromkeys(said)), marks, "", _process(read), also, read.size,
        read.filling,
    )  # fmt: skip


def _match_words(item: str, found: Match) -> str:
    if found.how == "unknown":
        return f"not on the shelf: write “{item}” by its English name, or say under [match] which food it is"
    if found.how == "class" or found.ingredient is None:
        return f"only its kind is known: {found.ingredient_class}"
    return f"taken as {found.ingredient}" + (" (a slip of spelling mended)" if found.how == "spelling" else "")


def _foreign(parts: tuple[Part, ...]) -> tuple[str, ...]:
    """Return a note where most lines name foods that the shelf does not know, as in another language."""
    named_lines = [line for part in parts for line in part.lines if line.item]
    strange = sum(1 for line in named_lines if line.match == "unknown")
    if strange < FEWEST_STRANGE or 2 * strange < len(named_lines):
        return ()
    return (f"{strange} of {len(named_lines)} lines name foods that are not on the shelf: a recipe in another language "
            "is read only where its ingredients stand by their English names",)  # fmt: skip


def _process(read: ReadLine) -> str:
    """Return what happens to the mass after measuring; what stands before the item was done before it."""
    words = read.after.lower().replace(",", " ").split()
    return next((PROCESS_WORDS[word] for word in words if word in PROCESS_WORDS), "")
