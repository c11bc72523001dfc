"""The head noun of a name: what may be left out before it, and which class it gives when nothing else fits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import combinations

from batchwright.base.tables import rows
from batchwright.pantry.allergens import allergens_of
from batchwright.pantry.shelf_index import Entry, index, known_words, look
from batchwright.pantry.shelf_words import canonical, effects, word_set

MOST_DROPPED_WORDS = 7
_NUMBERED = word_set("vitamin vit b bi d k red yellow blue green polysorbate omega coenzyme e ins type")
"""Words whose number is part of the name."""
_LAST_DROPPED = word_set("roasted toasted blanched salted smoked enriched fried sprouted puffed")
"""Words that leave a trace in the food: left out only when nothing else helps."""
_COLOURS = word_set("red white black green yellow blue brown purple pink golden orange")
"""Before a noun they say which kind; behind it they are another thing ("turkey red")."""
_TAIL_VERBS = word_set("preserve maintain protect retain promote prevent help retard improve enhance ensure reduce "
                        "inhibit control keep provide extend restore guard enrich stabilize make prolong "
                        "slow aid give")
_TAIL_AIMS = word_set("color freshness flavor preservation taste texture anticaking moisture moistness retention "
                       "tartness sweetness crispness emulsification shine processing improved decoration "
                       "leavening consistency freshnes protection quality stability dusting nutrition")
_ROLE_NOUNS = word_set("emulsifier preservative stabilizer thickener antioxidant acidulant sweetener humectant "
                        "leavening flavor color conditioner agent fortificant nutrient enhancer dough natural "
                        "artificial vitamin mineral anticaking processing source raising gelling acidity "
                        "emulsifer antifoaming anti b milk soy wheat egg nut filler binder mold")
_SAFE = word_set("nut seed fruit vegetable spice grain salt meat fish sugar dried_fruit")
"""Classes whose head noun keeps its food under a modifier nobody knows ("marcona almonds")."""
_NUT_FORMS = word_set("powder meal flour piece paste grit granule crumb")
"""How a ground or broken nut is called; nothing is added and nothing pressed out."""
COOKED = word_set("cooked boiled canned rehydrated reconstituted hydrated prepared")
"""Words for which a dry food is no longer dry."""
_ANIMAL = ("milk", "egg", "fish", "crustacean shellfish", "molluscs", "meat")
_WITHOUT = {"vegan": _ANIMAL, "plant": _ANIMAL, "vegetable": _ANIMAL, "dairyfree": ("milk",), "glutenfree": ("wheat",)}
"""What a food so named is made without: allergens that the shelf's own food of that name may always hold."""
_DRY_KINDS = frozenset({"cereal", "dry milk", "flour", "grain", "protein", "seed", "starch", "whole flour"})
_PULSES = frozenset({"adzuki beans", "black beans", "black-eyed peas", "chickpeas", "fava beans", "kidney beans",
                     "lentils", "lima beans", "mung beans", "peas, dried", "pinto beans", "urad beans", "white beans"})
_UNSAFE_HEADS = word_set("nut bean seed berry fruit pepper salt leaf root water coconut sugar date palm cane spice "
                          "meat fish sunflower soybean vegetable herb mint tea malt corn wheat milk gum pea "
                          "seasoning mixed gram sole")


@cache
def _fixed_pairs() -> frozenset[tuple[str, ...]]:
    """Pairs of words that are one name: the first is no mere colour or origin ("brown sugar", "sour cream")."""
    return frozenset(tuple(pair.split()) for row in rows("shelf_pairs") for pair in row["pairs"].split("; "))


def without_tail(words: Sequence[str]) -> tuple[str, ...]:
    """Return the words without a trailing remark on purpose ("to preserve freshness", "as an emulsifier")."""
    for place, word in enumerate(words):
        if place == 0:
            continue
        after = words[place + 1] if place + 1 < len(words) else ""
        if (word == "to" and after in _TAIL_VERBS) or (word == "added" and after in {"to", "as", "for", "a"}) or (
            word == "used" and after in {"to", "as", "for", "in"}) or (
            word in {"as", "a", "an"} and (after in _ROLE_NOUNS or after in {"a", "an"})) or (
            word == "for" and (after in _TAIL_AIMS or effects().get(after) == "role")) or (
            word in {"which", "that", "derived", "obtained", "preserved", "naturally"} and after in {
                "is", "from", "by", "with", "contain", "occurring"}) or (
            word == "from" and after not in {"concentrate", "concentrated", "juice", "puree"} and after):
            return tuple(words[:place])
    return tuple(words)


def without_lead(words: Sequence[str]) -> tuple[str, ...]:
    """Return the words without joining or role words in front ("and", "contains", "emulsifier")."""
    place = 0
    while place < len(words) - 1 and words[place] in {"and", "or", "with", "plus", "contain", "containing", "include",
                                                      "including", "contains", "a", "an", "the", "also"}:
        place += 1
    return tuple(words[place:])


def without_role(words: Sequence[str]) -> Entry | None:
    """Return the additive or food left when role words before or behind it go ("emulsifier soy lecithin"), or None."""
    table = effects()
    if " ".join(words) in class_words()[0]:
        return None
    start = 0
    while start < len(words) - 1 and table.get(words[start]) == "role":
        start += 1
    end = len(words)
    while end > start + 1 and table.get(words[end - 1]) == "role":
        end -= 1
    for first, last in ((start, len(words)), (0, end), (start, end)):
        if last - first < len(words):
            found = look(words[first:last])
            if found is not None:
                return found
    if words[0] == "acid" or words[0] == "color" or words[-1] == "color":
        wanted = "acid" if words[0] == "acid" else "colour"
        found = look(words[1:] if words[0] == wanted or words[0] == "color" else words[:-1])
        if found is not None and found.ingredient_class == wanted:
            return found
    return None


def turned(words: Sequence[str]) -> Entry | None:
    """Return the entry for "A of B" read as "B A" ("extractives of paprika"), or None."""
    if "of" not in words[1:-1]:
        return None
    place = list(words).index("of", 1)
    return look((*words[place + 1:], *words[:place]))


def stripped(words: Sequence[str], loosest: str) -> tuple[Entry, tuple[str, ...]] | None:
    """Return the entry reached by leaving out the fewest words, and the words left out; None if no way leads there.

    `loosest` is "none" (only words that leave the composition alone) or "head" (also shape, origin, roasting).
    """
    table = effects()
    allowed = ("none",) if loosest == "none" else ("none", "head")
    places = [place for place, word in enumerate(words) if table.get(word) in allowed
              or (word.isdigit() and _NUMBERED.isdisjoint(words))]
    if places and places[-1] == len(words) - 1 and words[-1] in _COLOURS:
        places.pop()
    if not places or len(words) > 14:
        return None
    if len(places) > MOST_DROPPED_WORDS:
        places = places[:MOST_DROPPED_WORDS]
    places = [place for place in places if tuple(words[place:place + 2]) not in _fixed_pairs()
              and tuple(words[max(place - 1, 0):place + 1]) not in _fixed_pairs()]
    places.sort(key=lambda place: words[place] in _LAST_DROPPED)
    for count in range(1, len(places) + 1):
        if count == len(words):
            break
        for chosen in combinations(places, count):
            rest = [word for place, word in enumerate(words) if place not in chosen]
            found = look(rest)
            bare = len(rest) == 1 and table.get(rest[0]) in ("none", "head", "role") and rest[0] not in index().produce
            if found is not None and not bare and not _another(found, (words[place] for place in chosen)):
                return found, tuple(words[place] for place in sorted(chosen))
    return None


def _another(entry: Entry, left_out: Iterable[str]) -> bool:
    """Whether a word left out says that it is not the shelf's food.

    A food the shelf keeps dry has taken up water ("cooked quinoa"), or the food is made to be without what the shelf's
    own is made of ("vegan cheese", "gluten free flour").
    """
    gone = set(left_out)
    if not gone.isdisjoint(COOKED) and (entry.ingredient_class in _DRY_KINDS or entry.ingredient in _PULSES):
        return True
    without = {allergen for word in gone & _WITHOUT.keys() for allergen in _WITHOUT[word]}
    meat = "meat" in without and entry.ingredient_class == "meat"
    return meat or not without.isdisjoint(allergens_of(entry.ingredient)[0])


def by_head(words: Sequence[str]) -> tuple[Entry, tuple[str, ...]] | None:
    """Return the known head noun behind modifiers nobody knows ("marcona almonds"), and the modifiers; else None.

    No word before it may be another food or change the composition, and only heads whose food stays the same count.
    """
    table = effects()
    for start in range(1, len(words)):
        before = words[:start]
        if any(table.get(word) in ("changes", "word", "role") for word in before):
            continue
        strange = [word for word in before if table.get(word) not in ("none", "head")]
        if any(word in known_words() for word in strange) or len(strange) > 2 or (
                tuple(words[start - 1:start + 1]) in _fixed_pairs()):
            continue
        tail = words[start:]
        found = look(tail)
        if found is None:
            loose = stripped(tail, "head")
            found = loose[0] if loose else None
        if found is None or _another(found, before):
            continue
        if strange and (found.ingredient_class.replace(" ", "_") not in _SAFE or tail[0] in _UNSAFE_HEADS
                        or tail[-1] in _UNSAFE_HEADS):
            return None
        return found, tuple(before)
    return None


def nut_form(words: Sequence[str]) -> Entry | None:
    """Return the nut of "cashew nut powder" or "pecan meal", the nut butter of "walnut paste"; None for the rest."""
    if len(words) < 2 or words[-1] not in _NUT_FORMS:
        return None
    bare = tuple(words[:-1])
    names = [bare, bare[:-1] if bare[-1] in ("nut", "kernel") else (*bare, "nut")]
    butters = [look((*name, "butter")) for name in names if words[-1] == "paste"]
    for found in (*butters, *(look(name) for name in names)):
        if found is not None and found.ingredient_class in ("nut", "nut butter"):
            return found
    return None


def flavour_or_colour(words: Sequence[str]) -> Entry | None:
    """Return the flavouring named after a food ("natural strawberry flavor"); None if the words name none."""
    if not words or "flavor" not in words[-2:] or not {"to", "for", "or", "with"}.isdisjoint(words):
        return None
    joined = " ".join(words)
    if "and" in joined.replace("natural and artificial", "").replace("artificial and natural", "").split():
        return None
    if words[-1] != "flavor" and words[-1] not in {"powder", "oil", "extract", "base", "wonf", "blend", "type",
                                                   "emulsion", "preparation"}:
        return None
    given = set(words)
    if "natural" in given and {"artificial", "imitation", "synthetic"} & given:
        key = "natural and artificial flavor"
    elif {"artificial", "imitation", "synthetic"} & given:
        key = "artificial flavor"
    elif "natural" in given:
        key = "natural flavor"
    elif "smoke" in given:
        key = "smoke flavor"
    else:
        key = "flavor"
    return index().by_key.get(key)


@cache
def class_words() -> tuple[dict[str, str], dict[str, str]]:
    """Return the words that give a class: standing last (one to three words), and standing anywhere."""
    last: dict[str, str] = {}
    anywhere: dict[str, str] = {}
    for row in rows("shelf_heads"):
        table = anywhere if row["place"] == "any" else last
        for word in row["words"].split("; "):
            table.setdefault(canonical(word), row["ingredient_class"])
    return last, anywhere


def class_of(words: Sequence[str]) -> tuple[str, str] | None:
    """Return the class a name shows and the word that shows it: the last words first, then any; else None."""
    last, anywhere = class_words()
    table = effects()
    end = len(words)
    while end:
        for size in (3, 2, 1):
            if size <= end:
                phrase = " ".join(words[end - size:end])
                if phrase in last:
                    return last[phrase], phrase
        if table.get(words[end - 1]) not in ("none", "head", "vague") and not words[end - 1].isdigit():
            break
        end -= 1
    for word in words:
        if word in anywhere:
            return anywhere[word], word
    return None
