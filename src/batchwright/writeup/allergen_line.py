"""The allergen line of a recipe: what is in it, from which line, and which lines leave it open.

Every word of a line is looked at, not only the ingredient it was matched to: alternatives after "or", what is for
dusting, what stands in brackets. A line that is not matched by name makes the whole line "Not complete:".
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from batchwright.formula.records import Formula, Line
from batchwright.pantry.allergens import WORDS, allergens_of, has_allergen_row, named_by_law
from batchwright.pantry.ingredient import load_ingredients
from batchwright.pantry.records import Match
from batchwright.pantry.shelf import match
from batchwright.pantry.shelf_index import look
from batchwright.pantry.shelf_words import canonical, words_of
from batchwright.writeup.records import AllergenFound, AllergenLine, OpenLine

SURE_WAYS = frozenset({"name", "synonym", "stripped"})
WHY_OPEN = {
    "head": "taken by its last word only",
    "spelling": "a slip of spelling was mended",
    "class": "only its kind is known",
    "unknown": "not known",
}
LONGEST_SHOWN = 90  # letters of a line that the card repeats
LONGEST_NAME = 5  # words of a food's name looked for inside a line
CLAIM = re.compile(
    r"\b(vegan|vegetarian|plant[- ]based|free[- ]from|\w+[- ]free|non[- ]?dairy|dairyless|eggless|substitute|"
    r"replacer|imitation|mock|alternative)\b", re.I)  # fmt: skip
"""Words that make another food of the one they stand before: its pack alone says what is in it."""
HARMLESS_FREE = re.compile(
    r"\b(fat|sugar|salt|sodium|cholesterol|caffeine|alcohol|gmo|aluminum|aluminium|cage|acid|seed|stem|pit|bone|skin|"
    r"lump)[- ]free\b|\bfree[- ]range\b", re.I)  # fmt: skip
OR_WORDS = re.compile(r"\b(?:or|and/or|oder|ou)\b|(?<=[a-z])/(?=[a-z])", re.I)
NO_MORE_FOOD = frozenset(("more", "less", "so", "to", "until", "as", "if", "omit", "not", "use", "other", "another",
                          "bit", "equal", "skillet", "pan", "crumbled", "till", "anything", "whatever"))  # fmt: skip
"""What follows "or" and names nothing: "or more as needed"."""
NO_FOOD = re.compile(
    r"(?:about|enough|any|each|well|drained|your|a|an|the|just|both|at|by|in|for|with|without|when|from|store|homemade|cut|cubed|chopped|"
    r"sliced|melted|softened|diced|minced|grated|frozen|thawed|fresh|warm|cold|room|overnight|larger?|smaller?|medium|"
    r"extra|pinch|one|two|three|four|half|cups?|tablespoons?|teaspoons?|tsp|tbsp|ounces?|oz|grams?|g|ml|pounds?|lb|"
    r"sticks?|cans?|packages?)", re.I)  # fmt: skip
"""What may stand between "or" and the food: "or 2 cups chopped"."""
NO_FOOD_WORDS = frozenset(("mold", "mould", "molds", "moulds", "mold's"))  # a pan here, a culture on a label
PLAINER = re.compile(r"(?:(?:unsalted|salted|sweet|fine|fresh|large|whole|raw|plain|cold|soft|softened|melted|sliced|"
                     r"chopped|ground|toasted|roasted|blanched|slivered|all-purpose)\s*)+", re.I)  # fmt: skip
"""Words before a food that make no other food of it."""
_WORD = re.compile(r"[^\W\d_]+(?:['’][a-z]+)?", re.I)
KIND_NOT_SAID = {"sunflower": ("sesame",), **dict.fromkeys(("oil", "oils", "cooking oil"), ("tree nuts", "sesame"))}
"""Items that do not say which oil, or oil or seed: what the pack of some of them decides besides."""
RAW_CLASSES = frozenset({"milk", "cream", "butter", "cheese", "dry milk", "egg", "flour", "whole flour", "nut",
                         "nut butter", "seed", "fish", "grain"})  # fmt: skip
"""What a method may name that is an ingredient; "cookies" or "caramel" there is what is being made."""
CREAMING = re.compile(r"\bcream(?=\s+(?:the|a|an|and|together|until|in|it|them|well|with|your|both|butter|shortening|"
                      r"margarine)\b)", re.I)  # fmt: skip


@dataclass(slots=True)
class _Gathered:
    """What the lines have given so far: allergen -> foods, in the order met."""

    always: dict[str, dict[str, None]] = field(default_factory=dict)
    read_pack: dict[str, dict[str, None]] = field(default_factory=dict)
    open_lines: dict[str, str] = field(default_factory=dict)

    def add(self, ingredient: str, shown: str) -> None:
        """Add the allergens of a shelf ingredient under the name that the recipe gives it."""
        for table, words in zip((self.always, self.read_pack), allergens_of(ingredient), strict=True):
            for word in words:
                table.setdefault(word, {})[shown] = None

    def leave_open(self, text: str, why: str) -> None:
        """Note a line that is not certain; the first reason stands."""
        shown = " ".join(text.split()) or "an empty line"
        self.open_lines.setdefault(shown if len(shown) <= LONGEST_SHOWN else shown[: LONGEST_SHOWN - 1] + "…", why)


def allergen_line(formula: Formula, method: Sequence[str] = (), confirmed_by: str = "") -> AllergenLine:
    """Return the allergens of every line of a recipe, by the US and the EU list, and which lines leave it open.

    Use it for every card, with the method's steps: a food named there and in no line is warned of as well. Lines
    without amount, optional lines, both sides of an "or" and further ingredients of a line all count.
    confirmed_by: who has checked each line against the pack; counts only where every line is matched by name.
    """
    gathered = _Gathered()
    for part in formula.parts:
        for line in part.lines:
            _gather_line(line, gathered)
    for text in formula.unread:
        for name, _ in foods_named(text):
            gathered.add(name, name)
        gathered.leave_open(text, "this line could not be read")
    if not formula.parts or not any(part.lines for part in formula.parts):
        gathered.leave_open(formula.name or "this recipe", "it has no ingredient lines")
    for text in method:
        _gather_step(text, "method", gathered)
    _gather_step(formula.name, "title", gathered)
    us = _found(gathered.always, "US")
    eu = _found(gathered.always, "EU")
    always = set(gathered.always) | ({"gluten cereals"} if "wheat" in gathered.always else set())
    packs = tuple(AllergenFound(word, _told_once(gathered.read_pack[word])) for word in WORDS
                  if word in gathered.read_pack and (word not in always or _adds(gathered, word)))  # fmt: skip
    open_lines = tuple(OpenLine(text, why) for text, why in gathered.open_lines.items())
    return AllergenLine(us, eu, packs, open_lines, " ".join(confirmed_by.split()))


def _adds(gathered: _Gathered, word: str) -> bool:
    """Whether a pack to be read belongs to a food that is not already warned of for the same allergen."""
    return not set(gathered.read_pack[word]) <= set(gathered.always.get(word, {}))


def _found(always: dict[str, dict[str, None]], scheme: str) -> tuple[AllergenFound, ...]:
    """Return what the law of a scheme names, each with its foods; wheat is one of the EU's gluten cereals."""
    found = []
    for word in named_by_law(always, scheme):
        foods = dict(always.get(word, {}))
        if word == "gluten cereals":
            foods |= always.get("wheat", {})
        found.append(AllergenFound(word, _told_once(foods)))
    return tuple(found)


def _told_once(foods: Iterable[str]) -> tuple[str, ...]:
    """Return the foods without those that stand there in fewer words: "butter" tells of "unsalted butter" as well."""
    names = list(foods)
    return tuple(name for name in names
                 if not any(name != other and name.lower().endswith(f" {other.lower()}")
                            and PLAINER.fullmatch(name[: -len(other) - 1]) for other in names))  # fmt: skip


def _gather_line(line: Line, gathered: _Gathered) -> None:
    """Take in one line: what it was matched to, what its item is by itself, and every food its words name."""
    item = line.item.strip()
    sides = tuple(_sides(item))
    shown = next((side for side in sides if match(side).ingredient == line.ingredient), item or line.ingredient or "")
    own = match(item) if item else Match("", "unknown")
    for name in (line.ingredient, own.ingredient):
        if name is not None:
            gathered.add(name, shown or name)
    for other in own.alternatives:
        for word in (*allergens_of(other)[0], *allergens_of(other)[1]):
            if word not in allergens_of(own.ingredient or "")[0]:
                gathered.read_pack.setdefault(word, {})[shown] = None
    for word in KIND_NOT_SAID.get(item.lower(), ()):
        gathered.read_pack.setdefault(word, {})[shown] = None
    sure = line.match in SURE_WAYS and line.ingredient is not None
    if not sure:
        gathered.leave_open(line.text or item, WHY_OPEN.get(line.match, WHY_OPEN["unknown"]))
    elif not has_allergen_row(line.ingredient or ""):
        gathered.leave_open(line.text or item, "no allergens are on record for it")
    elif CLAIM.search(HARMLESS_FREE.sub(" ", line.text)):
        gathered.leave_open(line.text, "a product made to be without something: its pack decides")
    rest = _rest(line, item if own.how in SURE_WAYS and not OR_WORDS.search(item) else "")
    given = allergens_of(line.ingredient or own.ingredient or "")
    for name, words in foods_named(rest):
        always, packs = allergens_of(name)
        if always or not set(packs) <= {*given[0], *given[1]}:  # zest and juice of an orange ask for no second look
            gathered.add(name, words)
    for alternative in dict.fromkeys((*sides, *_alternatives(rest))):
        found = match(alternative)
        if found.ingredient is not None:
            gathered.add(found.ingredient, alternative)
        unsure = found.how not in SURE_WAYS or not has_allergen_row(found.ingredient or "")
        if unsure and not any(canonical(alternative) == canonical(each.item) for each in line.also):
            gathered.leave_open(line.text, f'"{alternative}" in it is not known by name')
    for further in line.also:
        _gather_line(further, gathered)


def _rest(line: Line, item: str) -> str:
    """Return the words of a line without its item where that is matched by name, and without its further items."""
    text = " ; ".join((line.text, line.preparation if line.preparation not in line.text else "", line.stage))
    for known in (item, *(each.item for each in line.also if each.match in SURE_WAYS)):
        if known:
            text = re.sub(r"\b" + r"\W+".join(map(re.escape, known.split())) + r"\b", " ; ", text, count=1, flags=re.I)
    return text


def _alternatives(text: str) -> Iterator[str]:
    """Return what stands after each "or" of a text, up to the next comma, bracket or further "or"."""
    pieces = OR_WORDS.split(text)
    for piece in pieces[1:]:
        words = _WORD.findall(re.split(r"[,;()\[\].:]|\s+(?:and|for|plus)\s", piece, maxsplit=1)[0])
        while words and NO_FOOD.fullmatch(words[0]):
            words = words[1:]
        if words and words[0].lower() not in NO_MORE_FOOD:
            yield " ".join(words[:6])


def _sides(item: str) -> Iterator[str]:
    """Return what an item of several offers, "walnut, hazelnut or olive oil"; nothing where it offers no choice."""
    if not OR_WORDS.search(item):
        return
    for piece in re.split(r",|;", OR_WORDS.sub(",", item)):
        words = piece.split()
        while words and NO_FOOD.fullmatch(words[0]):
            words = words[1:]
        if words and words[0].lower() not in NO_MORE_FOOD:
            yield " ".join(words)


def foods_named(text: str) -> Iterator[tuple[str, str]]:
    """Return every food with allergens that a text names by a name of the shelf: (ingredient, the words as they stand).

    The longest names come first and no word is used twice, so that "coconut milk" is not taken for milk.
    """
    words = [word for word in _WORD.findall(text) if word.lower() not in NO_FOOD_WORDS]
    place = 0
    while place < len(words):
        for size in range(min(LONGEST_NAME, len(words) - place), 0, -1):
            phrase = " ".join(words[place : place + size])
            found = look(words_of(phrase))
            if found is not None:
                always, read_pack = allergens_of(found.ingredient)
                if always or read_pack:
                    yield found.ingredient, phrase.lower()
                place += size
                break
        else:
            place += 1


def _gather_step(text: str, where: str, gathered: _Gathered) -> None:
    """Warn of a food with allergens that the method or the title names and no line holds."""
    classes = load_ingredients()
    for name, words in foods_named(CREAMING.sub(" ", text)):
        one = classes.get(name)
        if one is None or one.ingredient_class not in RAW_CLASSES:
            continue
        missing = [word for word in allergens_of(name)[0] if word not in gathered.always]
        if missing:
            gathered.add(name, f"{words}, named in the {where}")
            gathered.leave_open(words, f"the {where} names it, no ingredient line does")


def gathered_allergens(ingredients: Iterable[str]) -> tuple[str, ...]:
    """Return the allergens that are always in these shelf ingredients, in the order of the two laws."""
    found = {word for name in ingredients for word in allergens_of(name)[0]}
    return tuple(word for word in WORDS if word in found)
