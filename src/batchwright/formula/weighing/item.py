"""What a line measures: which ingredient of the shelf, in what form it lies in the cup, and what a cup of it weighs."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from batchwright.base.tables import rows
from batchwright.formula.records import ReadLine
from batchwright.pantry.measures_conventions import Convention, cup_weights
from batchwright.pantry.measures_fills import Fill, fill_of, narrowed
from batchwright.pantry.measures_forms import forms_in
from batchwright.pantry.records import Match
from batchwright.pantry.shelf import match

CUT_FORMS = frozenset({"chopped", "sliced", "grated", "crumbled", "halves", "mashed"})
AFTER_FORMS = {
    **dict.fromkeys(("cheese", "chocolate", "fish", "fruit", "vegetable", "spice"), CUT_FORMS),
    "meat": CUT_FORMS | {"cooked"},
    "baked good": frozenset({"chopped", "crushed", "grated"}),
    "nut": frozenset({"sliced", "slivered"}),
}
"""By class: the forms after the comma in which a food lay in the cup all the same.

No one can measure a loaf or a cabbage by the cup whole, and nuts are sold in slices and slivers; but chopped after the
comma they were measured whole.
"""
FILLED = frozenset({"packed", "sifted", "spooned", "scooped"})
BY_CONVENTION = "by convention"
"""Mark of a line whose weight the choice of convention moves, and the words in what is assumed of it."""
FRUIT_YIELDS = frozenset({"juice", "zest"})
PRESSED = frozenset({"grapefruit", "lemon", "lime", "mandarin", "orange"})
UNIT_KINDS = {"teaspoon": "spoon", "tablespoon": "spoon", "package": "packet", "envelope": "packet", "sachet": "packet",
              "cup": "cup", "millilitre": "cup"}  # fmt: skip
LEAFY_UNITS = frozenset({"bunch", "sprig", "handful", "stem", "stalk"})
LEAFY_WORDS = frozenset({"chopped", "torn", "minced", "shredded", "picked", "snipped", "leaves", "stemmed"})
STATES = frozenset({"boiled", "candied", "canned", "cooked", "dried", "ground", "pickled", "powdered", "salted",
                    "tinned"})  # fmt: skip
"""Words beside a name that make another food of it: its water is not that of the plain one."""
GROUND_KINDS = frozenset({"flavour", "spice"})  # coffee and spices; ground almonds and meat are the same food
CUT_WORDS = frozenset({"fresh", "freshly", "grated", "minced", "chopped", "peeled", "sliced", "crushed", "root"})
STANDS_ALONE = frozenset({"butter", "honey", "margarine", "salt", "sugar", "water"})
"""Staples that are meant themselves before "or": of "sugar or maple syrup" sugar, no sugar syrup."""
OF_MANY_CLASSES = frozenset({"bouillon", "broth", "flour", "milk", "stock"})  # of grains, nuts and meat alike
CONVENTION_MATTERS_PERCENT = 3.0  # below this a kitchen scale of 1 g steps does not tell two conventions apart

_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_REMARK = re.compile(
    r",|;|\bplus\b|\bfor (?:the|dusting|greasing|serving|rolling|garnish|frying)\b|\bif needed\b|\bto taste\b"
)
_OR = re.compile(r"\s+or\s+|\s*/\s*|\s+and/or\s+")
_SIZE = re.compile(r"[\d½¼¾⅓⅔/. ]{1,12}(?:-|\s)?(?:inch|cm|mm)(?:es)?(?:-(?:thick|long|wide))?[-\s]+")
_LISTED = re.compile(
    r",\s+(?=(?:[a-z'-]+\s+){1,2}or\s+(?:[a-z'-]+\s+){1,3}(?:oil|stock|broth|juice|vinegar|wine|flour|milk|sauce)\b)"
)  # "corn, peanut or vegetable oil"
_CUT_OF = re.compile(r"^(?:(?:small|large|thin|thick|fine)\s+)?(?:cubes|strips|chunks|dice|shreds)\s+(?:of\s+)?(?=\w)")
_WORD = re.compile(r"[a-zà-öø-ÿ][a-zà-öø-ÿ'’-]*")
_KNOWN = ("name", "synonym", "stripped", "head", "spelling")


@dataclass(frozen=True, slots=True)
class Named:
    """What a line measures. `words` of the name, `forms` in the order in which they count, `said` what was assumed."""

    match: Match
    words: tuple[str, ...]
    forms: tuple[str, ...]
    said: tuple[str, ...] = ()

    @property
    def ingredient(self) -> str | None:
        """The shelf's name for it."""
        return self.match.ingredient

    @property
    def kind(self) -> str | None:
        """Its ingredient class."""
        return self.match.ingredient_class


def named(read: ReadLine) -> Named:
    """Return what a read line measures; of "butter or margarine" the first that the shelf knows."""
    unit = read.amounts[0].unit if read.amounts else ""
    pressed, pressed_said = _pressed(read, unit)
    if pressed:
        read = replace(read, item=pressed, after="")
    kind = UNIT_KINDS.get(unit, "")
    if kind == "spoon" and _cut_up(read):
        kind = ""  # what is grated or minced by the spoon is the fresh food, not the dried spice
    found, words, said = _matched(_stated(read, kind) or read.item, kind)
    if found.how == "unknown" and read.after:
        explained, other_words, _ = _matched(read.after.split(",")[0])
        if explained.how in ("name", "synonym", "head"):
            found, words = replace(explained, how="head"), other_words  # a guess: never as sure as a name
            said = (f"taken as what the bracket says: {explained.ingredient}",)
    if found.ingredient_class == "spice" and _leafy(read, unit):
        fresh = match(f"fresh {found.ingredient}")
        found = fresh if fresh.ingredient else found
        words = ("fresh", *words)
    before = [word for part in read.before for word in _WORD.findall(part.lower())]
    forms = list(forms_in((*before, *_own_words(read.item), *words)))
    if read.filling in FILLED:
        forms.insert(0, read.filling)
    cut = AFTER_FORMS.get(found.ingredient_class or "", CUT_FORMS if found.ingredient is None else frozenset())
    forms += [form for form in forms_in(_WORD.findall(read.after.lower())) if form in cut]
    return Named(found, words, tuple(dict.fromkeys(forms)), (*pressed_said, *said))


def _own_words(item: str) -> list[str]:
    """Return the words of a name that gives no choice, remarks left out: "1-inch cubes stale bread"."""
    bare = _REMARK.split(_BRACKETS.sub(" ", _SIZE.sub("", item.lower())), maxsplit=1)[0]
    return [] if _OR.search(bare.strip()) else _WORD.findall(bare)


def _pressed(read: ReadLine, unit: str) -> tuple[str, tuple[str, ...]]:
    """Return what is used of a fruit that is counted whole and then juiced or zested, and what is said of it.

    An empty name where it is used whole.
    """
    words = read.item.lower().split()
    done = _WORD.findall(read.after.lower())[:3]
    if unit or not words or words[-1].rstrip("s") not in PRESSED or not done:
        return "", ()
    fruit = words[-1].removesuffix("s")
    zest = {"zest", "zested"} & set(done)
    if {"juice", "juiced"} & set(done):
        more = ", not the zest" if zest else ""
        return f"{fruit} juice", (f"only the juice of the {fruit} is weighed{more}",)
    return (f"{fruit} zest", (f"only the zest of the {fruit} is weighed",)) if zest else ("", ())


def _cut_up(read: ReadLine) -> bool:
    said = " ".join((*read.before, read.item, read.after)).lower()
    return not CUT_WORDS.isdisjoint(_WORD.findall(said))


def _stated(read: ReadLine, kind: str) -> str:
    """Return the name with a word beside it that makes it another food ("ground" of ginger, "cooked" of rice).

    Empty where no such word stands there, or where the shelf knows no other food of that name.
    """
    behind = read.after.lower().split(",")[0].strip()
    for word in (*(word for part in read.before for word in _WORD.findall(part.lower())), behind):
        if word not in STATES:
            continue
        text = f"{word} {read.item}"
        other = _matched(text, kind)[0]
        if other.how not in ("name", "synonym") or other.ingredient in (None, _matched(read.item, kind)[0].ingredient):
            continue
        if word != "ground" or other.ingredient_class in GROUND_KINDS:
            return text
    return ""


def _leafy(read: ReadLine, unit: str) -> bool:
    """Whether a herb is meant fresh: dried herbs are neither bunched, picked nor chopped."""
    said = {*(word for part in read.before for word in part.lower().split()), *read.after.lower().split()}
    return unit in LEAFY_UNITS or bool(said & LEAFY_WORDS)


@cache
def _recipe_words() -> dict[tuple[str, str], str]:
    """Return (word, kind of unit) to what recipes mean by a word that labels use otherwise or not at all."""
    return {(row["word"], row["unit_kind"]): row["means"] for row in rows("formula_recipe_words")}


@lru_cache(maxsize=16_384)
def _matched(item: str, unit_kind: str = "") -> tuple[Match, tuple[str, ...], tuple[str, ...]]:
    """Return the match of an item, the words that were matched, and what was assumed."""
    plain = _LISTED.sub(" or ", _CUT_OF.sub("", _SIZE.sub("", item.lower()).strip()))
    bare = _REMARK.split(_BRACKETS.sub(" ", plain), maxsplit=1)[0].strip(" .:-") or item.lower().strip()
    choices = [part.strip() for part in _OR.split(bare) if part.strip()]
    first = choices[0] if choices else bare
    meant = _recipe_words()
    found = None
    for text in _tries(item, bare, choices):
        text = meant.get((text, unit_kind)) or meant.get((text, "")) or text
        this = match(text)
        if this.how in _KNOWN and this.ingredient is not None:
            found, first = this, text
            break
        if found is None or (found.ingredient_class is None and this.ingredient_class is not None):
            found, first = this, text
    assert found is not None
    said = (f"of {' or '.join(choices)}: {found.ingredient or first} is weighed",) if len(choices) > 1 else ()
    return found, tuple(_WORD.findall(first)), said


def _tries(item: str, bare: str, choices: list[str]) -> list[str]:
    """Return the texts to look up, the best first: light or dark brown sugar is light brown sugar."""
    if len(choices) < 2:
        whole = _BRACKETS.sub(" ", item.lower()).replace(",", " ")
        return list(dict.fromkeys((bare, " ".join(whole.split()))))
    first, last = choices[0], choices[-1].split()
    tries = [first, f"{first} {last[-1]}", f"{first} {' '.join(last[1:])}", choices[-1], bare]
    shared = _shared(first, last)
    oils = any(choice.endswith(" oil") for choice in choices[1:])
    if oils and match(f"{first} oil").ingredient_class == "oil" and "butter" not in first:
        tries.insert(0, f"{first} oil")
    elif shared:
        tries.insert(0, shared)
    elif len(last) > 2 and match(f"{first} {' '.join(last[1:])}").how in ("name", "synonym"):
        tries.insert(0, f"{first} {' '.join(last[1:])}")
    return list(dict.fromkeys(tries))


def _shared(first: str, last: list[str]) -> str:
    """Return "lemon juice" of "lemon or lime juice": the first choice with the head that only the last one names.

    Empty where the two together are no food of the last one's class ("water or chicken stock"), and where the first is
    named again in the last ("milk or milk powder").
    """
    if first in STANDS_ALONE or first.split()[-1] in last:
        return ""
    kind = match(" ".join(last)).ingredient_class
    for count in range(min(len(last) - 1, 2), 0, -1):
        text = f"{first} {' '.join(last[-count:])}"
        found = match(text)
        if found.how in ("name", "synonym") and (found.ingredient_class == kind or last[-1] in OF_MANY_CLASSES):
            return text
    return ""


def fill_for(what: Named, convention: Convention, likely_form: str = "") -> tuple[Fill, tuple[str, ...]]:
    """Return what a US cup of it weighs by the convention, and in words what was assumed about that.

    likely_form: a form that comes before the line's own, "" for none.
    """
    forms = (likely_form, *what.forms) if likely_form else what.forms
    fill = fill_of(what.words, what.ingredient, what.kind, forms)
    name = what.ingredient or ""
    if fill.form in FILLED:
        return fill, ()
    if name in convention.cups:
        weight, scatter = convention.cups[name]
        return narrowed(fill, weight, scatter, convention.name), ()
    choices = cup_weights(name)
    if choices and not fill.kin:
        apart = 100.0 * (max(choices.values()) - min(choices.values())) / fill.likely_g_cup
        if apart > CONVENTION_MATTERS_PERCENT:
            ends = sorted(choices.items(), key=lambda pair: pair[1])
            low, high = (f"{way} {weight:.0f} g" for way, weight in (ends[0], ends[-1]))
            return fill, (f"a cup of {name} {BY_CONVENTION}: {low} to {high}; say how it is filled",)
    return fill, _kin_words(fill, what)


def _kin_words(fill: Fill, what: Named) -> tuple[str, ...]:
    if fill.what == "any":
        ends = f"{fill.low_g_cup:.0f} to {fill.high_g_cup:.0f} g a cup"
        return (f"weighed as most foods are, {ends}",)
    if fill.kin:
        kind = fill.what.split(":", 1)[1]
        return (f"no cup weight of its own: weighed as {kind}{', ' + fill.form if fill.form else ''}",)
    return ()
