"""Recipe lines to grams: each with its range between cooks and conventions, and what was assumed."""

from __future__ import annotations

from batchwright.formula.records import Formula, Line, Part, ReadLine, ReadRecipe
from batchwright.formula.weighing.amount import estimate_of, weighed
from batchwright.formula.weighing.convention import inferred
from batchwright.formula.weighing.item import BY_CONVENTION, named
from batchwright.pantry.measures_conventions import Convention, convention_of

MARK_WORDS = {
    "plus more": "only the stated part is weighed; more is used as needed",
    "to taste": "to taste: the weight is a start",
    "optional": "optional: weighed as if used",
}
PROCESS_WORDS = {"browned": "browned", "drained": "drained", "reduced": "reduced", "soaked": "soaked",
                 "toasted": "toasted"}  # fmt: skip


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
    return Formula(read.name, parts, read.method, read.makes, name, read.credit, unread=read.unread,
                   notes=(*read.notes, *found.notes))  # fmt: skip


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
    weak = what.match.how in ("head", "spelling", "class", "unknown") and read.item
    if weak and not any(words.startswith("not known on the shelf") for words in said):
        said.append(_match_words(what.match.how, what.match.ingredient, what.match.ingredient_class))
    return Line(
        read.text, read.item, None if found is None else estimate_of(found), what.match.ingredient, what.match.how,
        read.amounts, read.preparation, tuple(dict.fromkeys(said)), marks, "", _process(read), also, read.size,
        read.filling,
    )  # fmt: skip


def _match_words(how: str, ingredient: str | None, kind: str | None) -> str:
    if how == "unknown":
        return "not on the shelf"
    if how == "class" or ingredient is None:
        return f"only its kind is known: {kind}"
    return f"taken as {ingredient}" + (" (a slip of spelling mended)" if how == "spelling" else "")


def _process(read: ReadLine) -> str:
    """Return what happens to the mass after measuring; what stands before the item was done before it."""
    words = read.after.lower().replace(",", " ").split()
    return next((PROCESS_WORDS[word] for word in words if word in PROCESS_WORDS), "")
