"""What a cook allows when a recipe is changed: locked lines, what is in the house, where it is sold, what stays out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from batchwright.base.errors import Fault, InputError
from batchwright.formula.axes import class_group, class_groups
from batchwright.formula.contents import match_of
from batchwright.formula.mixture import FlatLine, flat_lines
from batchwright.formula.records import Formula
from batchwright.pantry.ingredient import classes, load_ingredients
from batchwright.pantry.shelf import match
from batchwright.pantry.supply import Supply, supply_of

PALM = "palm"
ALWAYS_AT_HAND = "water"


@dataclass(frozen=True, slots=True)
class Allowed:
    """What may be changed. All empty: anything.

    locked: lines that stay, by the recipe's word for them ("butter", "filling: sugar"). on_hand: what is in the house;
    beside the recipe's own lines nothing else may enter. supermarket: only what a supermarket sells may enter. vegan:
    nothing of animals. without: "palm", a class of the shelf or an ingredient that must not be in it.
    """

    locked: tuple[str, ...] = ()
    on_hand: tuple[str, ...] | None = None
    supermarket: bool = False
    vegan: bool = False
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rule:
    """The cook's wishes as looked up: `on_hand` in shelf names, `names` and `kinds` that stay out, with `palm`."""

    asked: Allowed
    on_hand: tuple[str, ...] | None
    names: frozenset[str]
    kinds: frozenset[str]
    palm: bool

    def refuses(self, ingredient: str) -> str:
        """Return why a shelf ingredient may not be added, in words; empty where it may."""
        item = load_ingredients().get(ingredient)
        kind = item.ingredient_class if item is not None else ""
        supply = supply_of(ingredient, kind)
        banned = self._banned(ingredient, kind, supply, strict=True)
        if banned or ingredient == ALWAYS_AT_HAND:
            return banned
        if self.on_hand is not None and ingredient not in self.on_hand:
            return "not on hand"
        if self.asked.supermarket and supply.sold != "supermarket":
            return "not sold in supermarkets"
        return ""

    def forbids(self, each: FlatLine) -> str:
        """Return why a line of the recipe must go, in words; empty where it may stay."""
        found = match_of(each.line)
        name, kind = found.ingredient or "", found.ingredient_class or ""
        if not name and not kind:
            return ""
        return self._banned(name, kind, supply_of(name, kind), strict=False)

    def asks_for_the_pack(self, each: FlatLine) -> str:
        """Return what the pack of a line that stays must be read for; empty where nothing is asked."""
        found = match_of(each.line)
        supply = supply_of(found.ingredient or "", found.ingredient_class or "")
        asked = [(self.asked.vegan, supply.animal, "of animal origin"), (self.palm, supply.palm, "made with palm")]
        return " or ".join(words for wanted, origin, words in asked if wanted and origin == "some")

    def _banned(self, name: str, kind: str, supply: Supply, strict: bool) -> str:
        never = ("yes", "some") if strict else ("yes",)
        if self.asked.vegan and supply.animal in never:
            return "of animal origin" if supply.animal == "yes" else "may be of animal origin"
        if self.palm and supply.palm in never:
            return "made with palm" if supply.palm == "yes" else "may be made with palm"
        if name in self.names or kind in self.kinds or class_group(kind) in self.kinds:
            return "to be left out"
        return ""


def rule_of(allowed: Allowed, formulas: Sequence[Formula]) -> Rule:
    """Return the cook's wishes looked up and held against the recipes.

    Raises InputError, all faults together, for a lock that names no line of any recipe, a locked line that must go, a
    word for what stays out that the shelf does not know, and a thing on hand that it does not know.
    """
    faults: list[Fault] = []
    names, kinds = set(), set()
    for word in allowed.without:
        found = _kinds_of(word)
        if found:
            kinds |= found
        elif word.strip().casefold() not in (PALM, "palm oil"):
            hit = match(word).ingredient
            if hit is None:
                hint = "Look it up: batchwright pantry find TEXT"
                faults.append(Fault("--no", word, f"palm, an ingredient, or one of {', '.join(classes())}", hint))
            else:
                names.add(hit)
    on_hand: list[str] | None = None
    if allowed.on_hand is not None:
        on_hand = []
        for word in allowed.on_hand:
            hit = match(word).ingredient
            if hit is None:
                faults.append(Fault("--on-hand", word, "an ingredient of the shelf",
                                    "Look it up: batchwright pantry find TEXT"))  # fmt: skip
            else:
                on_hand.append(hit)
    palm = any(word.strip().casefold() in (PALM, "palm oil") for word in allowed.without)
    rule = Rule(allowed, None if on_hand is None else tuple(on_hand), frozenset(names), frozenset(kinds), palm)
    for lock in allowed.locked:
        held = [flat_lines(formula)[place] for formula in formulas for place in named_lines(lock, formula)]
        if not held:
            lines = dict.fromkeys(each.line.item or each.line.text for one in formulas for each in flat_lines(one))
            faults.append(Fault("--lock", lock, f"a line of a recipe: {', '.join(lines)}"))
        for each in held:
            why = rule.forbids(each)
            if why:
                hint = "Take the lock off, or allow the ingredient."
                faults.append(Fault("--lock", lock, "a line that may stay", f"{each.line.item} is {why}. {hint}"))
                break
    if faults:
        raise InputError(faults)
    return rule


def named_lines(text: str, formula: Formula) -> tuple[int, ...]:
    """Return the places (in `flat_lines`) of the lines that a cook's word means: "butter", "filling: sugar", "filling".

    The line's own words come first, then the shelf's name for it, then a word of it, then a whole part.
    """
    lines = flat_lines(formula)
    head, colon, rest = text.partition(":")
    inside = list(range(len(lines)))
    if colon and any(each.part_name.casefold() == head.strip().casefold() for each in lines):
        inside = [at for at in inside if lines[at].part_name.casefold() == head.strip().casefold()]
        text = rest
    asked = text.strip().casefold()
    if not asked:
        return ()
    wanted, stem = match(asked).ingredient, re.escape(asked.removesuffix("s"))
    ways = (
        [at for at in inside if lines[at].line.item.casefold() == asked],
        [at for at in inside if wanted is not None and match_of(lines[at].line).ingredient == wanted],
        [at for at in inside if re.search(rf"\b{stem}", (lines[at].line.item or lines[at].line.text).casefold())],
        [at for at in inside if lines[at].part_name.casefold() == asked],
    )
    return tuple(next((found for found in ways if found), []))


def _kinds_of(word: str) -> set[str]:
    """Return the class or group of classes that a word names ("eggs", "nut", "dairy protein"); empty where none."""
    plain = word.strip().casefold()
    known = (*classes(), *class_groups())
    return {kind for kind in known if plain in (kind, kind + "s")}
