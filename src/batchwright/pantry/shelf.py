"""Look-up by any printed name: which ingredient of the shelf a label means, and how that was found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from batchwright.pantry import ingredient
from batchwright.pantry.records import Match, Profile
from batchwright.pantry.shelf_codes import additive
from batchwright.pantry.shelf_heads import (
    COOKED,
    by_head,
    class_of,
    flavour_or_colour,
    nut_form,
    stripped,
    turned,
    without_lead,
    without_role,
    without_tail,
)
from batchwright.pantry.shelf_index import FREEZE_DRIED, Entry, dictionary, index, look
from batchwright.pantry.shelf_spelling import known_letters, mended, split_words
from batchwright.pantry.shelf_words import canonical, effects, one_word, plain, words_of

__all__ = ["dictionary", "knows", "match", "profile_of", "split_words"]

MOST_WORDS = 16
_REMARK_STARTS = frozenset({"may", "to", "for", "as", "used", "from", "product", "see", "not", "no", "without", "made"})
"""A text that begins so is a remark about something, not the name of an ingredient."""
_LYING_IN = frozenset({"oil", "water", "brine", "syrup", "juice", "vinegar"})
"""What a food is packed in; it gives the food no class."""
_ROLES_ALONE = frozenset({"leavening", "leavening agent", "raising agent", "stabilizer", "leavener", "thickener"})
"""A purpose that names no ingredient."""
_NO_OVERRIDES: Mapping[str, str] = MappingProxyType({})
_ALTERNATIVES = {
    "milk, whole": ("whole milk powder",), "milk, skimmed": ("skimmed milk powder", "skimmed milk, concentrated"),
    "whey": ("whey powder",), "buttermilk": ("buttermilk powder",), "cream": ("cream powder", "cream, light"),
    "whole egg": ("whole egg powder",), "egg white": ("egg white powder",), "egg yolk": ("egg yolk powder",),
    "chocolate": ("cocoa mass", "semisweet chocolate", "milk chocolate"), "coconut": ("desiccated coconut",),
    "soybean oil": ("soybeans",), "corn starch": ("corn flour",), "ginger": ("ginger, ground",),
    "corn": ("sweetcorn",),
}
"""What the same printed word may stand for as well. A US list may call dried or concentrated milk, whey, cream and
egg by the name of the fresh food (21 CFR 101.4(b)(3) to (12))."""
_ONLY_AS_PRINTED = {"soybean oil": "soybean", "corn starch": "cornflour", "ginger": "ginger", "corn": "corn"}
"""Other names of these leave no doubt."""

_ALIKE = {"flavouring": "natural and artificial flavour", "malted wheat flour": "malted barley flour",
          "vitamin d2": "vitamin d3", "nigella seed": "cumin", "red leicester cheese": "cheddar cheese",
          "double gloucester cheese": "cheddar cheese", "concentrated chicken broth": "beef extract",
          "concentrated pork broth": "beef extract", "pork broth": "chicken broth", "shrimp stock": "chicken broth",
          "clam juice": "chicken broth", "coriander leaf, dried": "parsley",
          "sardines": "herring", "pilchard": "herring", "sprat": "herring",
          "gluten free soy sauce": "soy sauce", "vegan worcestershire sauce": "worcestershire sauce"}
"""Names without a composition of their own, and the ingredient whose composition serves for them."""


def match(printed: str, overrides: Mapping[str, str] = _NO_OVERRIDES) -> Match:
    """Return which ingredient a printed name means; use it for every leaf of a label.

    printed: the name as the packet prints it, any text. overrides: the cook's own word, printed name -> name on the
    shelf; it wins over everything, compared without regard to case, marks and plural.
    The ways are tried in the order of `records.MATCH_WAYS`: the name itself, a synonym, words that leave the
    composition alone left out, the head noun, a slip of spelling, the class; else unknown. Words that make another
    food (dried, powder, juice, oil, flour ...) are never left out. Never raises; `note` says in words what was done.
    """
    if overrides:
        wanted = canonical(printed)
        for key, value in overrides.items():
            if key == printed or canonical(key) == wanted:
                return _overruled(printed, value)
    return _match(printed)


def _overruled(printed: str, value: str) -> Match:
    found = _match(value)
    note = f"chosen by hand: {value}"
    if found.how in ("class", "unknown"):
        return Match(printed, found.how, found.ingredient, found.ingredient_class, found.alternatives,
                     f"{note}; the shelf has no such ingredient")
    return Match(printed, "name", found.ingredient, found.ingredient_class, found.alternatives, note)


@lru_cache(maxsize=65_536)
def _match(printed: str) -> Match:
    spelled = plain(printed)
    if not spelled:
        return Match(printed, "unknown", note="no words in it")
    if "%" in printed and not printed.rstrip(" )]").endswith("%"):
        strength = index().by_key.get(canonical(printed.replace("%", " percent ")))
        if strength is not None:
            return _made(printed, strength, strength.kind, "")
    code = additive(printed)
    if code is not None:
        return _made(printed, code[0], "synonym", f"additive number {code[1]}")
    raw = index().by_spelling.get(spelled)
    if raw is not None:
        return _made(printed, raw, raw.kind, "")
    words = words_of(printed)
    if len(words) > MOST_WORDS:
        return _by_class(printed, words[:MOST_WORDS]) if len(words) <= 2 * MOST_WORDS else Match(
            printed, "unknown", note="too long for the name of one ingredient")
    if words[0] in _REMARK_STARTS or " ".join(words) in _ROLES_ALONE:
        return _by_class(printed, words)
    return _known(printed, words) or _spelt(printed, words) or _by_class(printed, words)


def _made(printed: str, entry: Entry, how: str, note: str) -> Match:
    if entry.ingredient.endswith(", not named"):
        return Match(printed, "class", None, entry.ingredient_class or None, (), "the label names only its purpose")
    if not entry.on_shelf:
        like = _lender(entry.ingredient)
        more = f"no composition of its own on the shelf: taken as {like or 'wide as its class'}"
        note = f"{note}; {more}" if note else more
    other = _ALTERNATIVES.get(entry.ingredient, ())
    if other and _ONLY_AS_PRINTED.get(entry.ingredient, "") not in ("", plain(printed)):
        other = ()
    return Match(printed, how, entry.ingredient, entry.ingredient_class or None, other, note)


def _known(printed: str, words: tuple[str, ...], strange_modifiers: bool = True) -> Match | None:
    """Match by name, synonym, stripped words or head noun."""
    entry = look(words)
    if entry is not None:
        return _made(printed, entry, entry.kind, "")
    short = without_tail(without_lead(words))
    ways = tuple(dict.fromkeys((short, words)))
    if short != words:
        entry = look(short) or _number(short)
        if entry is not None:
            return _made(printed, entry, "stripped", "without: " + _left_out(words, short))
    for tried in ways:
        entry = turned(tried)
        if entry is not None:
            return _made(printed, entry, "synonym", "words turned round")
    for tried in ways:
        loose = stripped(tried, "none")
        if loose is not None:
            return _made(printed, loose[0], "stripped", "without: " + _left_out(words, tried, loose[1]))
    nut = nut_form(short)
    if nut is not None:
        return _made(printed, nut, "synonym", "the nut, ground or in pieces")
    flavour = flavour_or_colour(short)
    if flavour is not None:
        return _made(printed, flavour, "head", "a flavouring, not the food it is named after")
    for tried in ways:
        entry = without_role(tried)
        if entry is not None:
            return _made(printed, entry, "stripped", "without the word for its purpose")
    for tried in ways:
        loose = stripped(tried, "head")
        if loose is not None:
            return _made(printed, loose[0], "head", "head noun; without: " + _left_out(words, tried, loose[1]))
    if len(short) > 1 and strange_modifiers:
        found = by_head(short)
        if found is not None:
            return _made(printed, found[0], "head", "head noun; without: " + " ".join(found[1]))
    return None


def _number(words: Sequence[str]) -> Entry | None:
    code = additive(" ".join(words)) if len(words) <= 2 else None
    return code[0] if code is not None else None


def _left_out(words: Sequence[str], short: Sequence[str], dropped: Sequence[str] = ()) -> str:
    gone = list(dropped)
    rest = list(short)
    for word in words:
        if word in rest:
            rest.remove(word)
        else:
            gone.append(word)
    return " ".join(gone)


def _spelt(printed: str, words: tuple[str, ...]) -> Match | None:
    """Match after mending slips of spelling and lost blanks."""
    key = known_letters(words)
    if key is not None:
        return _made(printed, index().by_key[key], "spelling", f"read as: {key}")
    better = mended(words)
    if better is None:
        return None
    better = tuple(part for word in better for part in one_word(word).split())
    found = _known(printed, better, strange_modifiers=False)
    if found is None:
        return None
    note = f"read as: {' '.join(better)}"
    if found.how == "class":
        return Match(printed, "class", None, found.ingredient_class, (), f"{note}; {found.note}")
    return Match(printed, "spelling", found.ingredient, found.ingredient_class, found.alternatives,
                 f"{note}; {found.note}" if found.note else note)


def _by_class(printed: str, words: Sequence[str]) -> Match:
    short = without_tail(without_lead(words))
    shown = _class_before_in(short) or class_of(short) or class_of(words) or _class_when_dry(short)
    if shown is None:
        better = mended(short)
        shown = class_of(better) if better is not None else None
    if shown is None:
        return Match(printed, "unknown", note="no word of it is on the shelf")
    return Match(printed, "class", None, shown[0], (), f"class shown by: {shown[1]}")


def _class_before_in(words: Sequence[str]) -> tuple[str, str] | None:
    """Return the class of what lies in oil, water, brine or syrup ("tuna in water"), and the word that shows it."""
    if "in" not in words[1:-1] or words[-1] not in _LYING_IN:
        return None
    kept = words[: list(words).index("in", 1)]
    found = look(kept)
    return (found.ingredient_class, " ".join(kept)) if found is not None else class_of(kept)


def _class_when_dry(words: Sequence[str]) -> tuple[str, str] | None:
    """Return the class of a food that is kept dry and was named cooked ("boiled buckwheat"), and the food's words."""
    kept = [word for word in words if word not in COOKED]
    found = look(kept) if len(kept) < len(words) else None
    return (found.ingredient_class, " ".join(kept)) if found is not None and found.ingredient_class else None


@lru_cache(maxsize=65_536)
def knows(name: str) -> bool:
    """Return whether the shelf knows the name itself: exactly, as a synonym, or with neutral words left out.

    Quick; for deciding where a list splits ("natural and artificial flavors" is one name). False on empty text.
    """
    spelled = plain(name)
    if not spelled or len(spelled) > 120:
        return False
    if spelled in index().by_spelling or additive(name) is not None:
        return True
    words = words_of(name)
    if look(words) is not None:
        return True
    table = effects()
    if "and" in words or "or" in words:
        kept = tuple(word for word in words if table.get(word) != "none" or word in ("and", "or"))
        return look(kept) is not None
    return stripped(words, "none") is not None


def profile_of(found: Match) -> Profile:
    """Return the composition with its doubt for a match: of the ingredient, else of its class, else of any food.

    A name that is known but has no composition of its own on the shelf gets that of its class, and says so.
    """
    if found.ingredient is not None:
        if found.ingredient in ingredient.load_ingredients():
            return ingredient.profile(found.ingredient)
        entry = index().by_key.get(canonical(found.ingredient))
        if entry is not None and entry.on_shelf:
            return ingredient.profile(entry.ingredient)
        like = _lender(found.ingredient)
        if like is not None:
            borrowed = ingredient.profile(like)
            return replace(borrowed, notes=(*borrowed.notes, f"{found.ingredient}: the composition of {like}"))
    if found.ingredient_class:
        return ingredient.class_profile(found.ingredient_class)
    return ingredient.unknown_profile()


def _lender(name: str) -> str | None:
    """Return the ingredient whose composition serves for a name without its own; None where only the class does."""
    like = _ALIKE.get(name) or index().alike.get(canonical(name))
    return "fruit, freeze-dried" if like is None and _fruit_without_water(name) else like


def _fruit_without_water(name: str) -> bool:
    base = name.removeprefix(FREEZE_DRIED[:-2]).removesuffix(" powder")
    known = index().by_key.get(base) if base != name else None
    return known is not None and known.ingredient_class == "fruit"
