"""One amount of an ingredient line: a number with its unit, filling, size and container."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.numbers import number
from batchwright.formula.lines.tokens import Token
from batchwright.formula.lines.units import is_unit, unit_at
from batchwright.formula.lines.words import (
    ABOUT,
    ALONE,
    ARTICLES,
    AWKWARD,
    CONTAINERS,
    FILLINGS,
    IN_OUNCES,
    IN_TEASPOONS,
    MEASURES,
    PLACES,
    SIZES,
    WEIGHTS,
)
from batchwright.formula.records import Written


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number or range with its unit, from token `start` to before token `end`."""

    low: float
    high: float
    unit: str
    end: int
    container: str = ""
    hyphen: bool = False
    implied: bool = False

    def written(self, join: str, place: str = "") -> Written:
        """Return the record of it."""
        return Written(self.low, self.high, self.unit, join, place)

    def words(self) -> str:
        """Return the amount in words."""
        return f"{self.low:g} {self.unit or 'piece'}{'' if self.low == 1 else 's'}"


def quantity(tokens: Sequence[Token], i: int, draft: Draft, inside: bool = False) -> Quantity | None:
    """Return the number, range or bare pinch at a token, with its unit; None where there is no amount.

    inside: whether it is what each of several holds (2 x 400 g), which has no "x" of its own.
    """
    j = i
    while at(tokens, j).lower in ABOUT or (
        at(tokens, j).lower in ("up", "at") and at(tokens, j + 1).lower in ("to", "least")
    ):
        draft.marks.add("about")
        j += 1 + (at(tokens, j).lower in ("up", "at")) + (at(tokens, j + 1).text == ".")
    one = at(tokens, j).lower in ARTICLES or at(tokens, j).text == "1"
    ways = first = j + one
    while at(tokens, ways).lower in FILLINGS:
        ways += 1
    if ways > first and at(tokens, ways).kind == "n":
        for token in tokens[first:ways]:
            draft.fill(token.lower)
        j = ways
    found = number(tokens, j, draft)
    if found is None:
        return _without_number(tokens, j, draft)
    low, high, end = found
    word = at(tokens, j).lower
    if word in ARTICLES and at(tokens, j + 1).lower in ("few", "little", "bit", "touch", "lot"):
        return None
    if at(tokens, end).lower in ("x", "*") and at(tokens, end + 1).kind in ("n", "b"):
        end += 1
        inner = None if inside else quantity(tokens, end, draft, inside=True)
        if inner is not None and inner.unit in MEASURES:
            draft.amounts.append(Written(low, high, inner.container))
            return replace(inner, container="each")
    elif at(tokens, end).lower == "x":
        end += 1
    if at(tokens, end).text == "." and is_unit(tokens, end + 1):
        end += 1
    hyphen = at(tokens, end).text == "-" and is_unit(tokens, end + 1)
    end = end + 1 if hyphen else _qualifiers(tokens, end, draft)
    unit = unit_at(tokens, end, draft)
    if unit is None:
        if (
            at(tokens, end).lower in ("u", "up")
            and at(tokens, end).kind == "w"
            and low < 8
            and at(tokens, end + 1).kind == "w"
        ):
            draft.say(f"{at(tokens, end).text} read as cup")
            return Quantity(low, high, "cup", end + 1)
        return Quantity(low, high, "", end)
    name, end = unit
    return _with_container(tokens, Quantity(low, high, name, end, hyphen=hyphen), draft)


def _qualifiers(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Take size, filling, place and "about" words between number and unit; return the token after them.

    Only where a unit follows in the end: "2 large eggs" keeps its size for the item.
    """
    j, taken = i, []
    while at(tokens, j).kind in ("w", "b") or at(tokens, j).text in ("-", "#"):
        token = at(tokens, j)
        word = token.lower if token.kind == "w" else token.text.lower().strip(". ")
        known = word in SIZES or word in FILLINGS or word in PLACES or word in ABOUT or word in (
            "firmly", "lightly", "tightly", "well", "loosely", "good", "very", "fat", "nice", "standard")  # fmt: skip
        if token.text == "-" and j + 1 < len(tokens):
            known = True
        numbered = j + 1 + (at(tokens, j + 1).text == ".")
        if (word == "no" or token.text == "#") and at(tokens, numbered).kind == "n":
            taken.append(f"no. {at(tokens, numbered).text}")
            j = numbered + 1
            continue
        if not known:
            break
        taken.append(word)
        j += 1 + (at(tokens, j + 1).text == "." and word not in FILLINGS)
    if not taken or not is_unit(tokens, j):
        return i
    for word in taken:
        if word in FILLINGS:
            draft.fill(word)
            if word == "packed" and "loosely" in taken:
                draft.filling = ""
        elif word in SIZES or word.startswith("no. "):
            draft.size = SIZES.get(word, word)
        elif word in PLACES:
            draft.where(word)
        elif word in ABOUT:
            draft.marks.add("about")
        elif word != "-":
            draft.before.append(word)
    return j


def _with_container(tokens: Sequence[Token], found: Quantity, draft: Draft) -> Quantity:
    """Add the container that follows its own weight: 8-ounce package, 400 g can, 250 ml cup."""
    if found.unit not in MEASURES and found.unit != "inch":
        return found
    j = found.end
    while at(tokens, j).lower in SIZES or at(tokens, j).text == "-" or (
            at(tokens, j).lower in ("thick", "vacuum", "resealable", "-thick") and found.unit in WEIGHTS):  # fmt: skip
        j += 1
    after = unit_at(tokens, j, None)
    inside = found.unit in WEIGHTS or found.unit in (
        "millilitre",
        "litre",
        "fluid ounce",
        "centilitre",
        "quart",
        "pint",
    )
    if after is None or not inside or found.unit == after[0]:
        return found
    if after[0] in CONTAINERS or (after[0] == "cup" and found.unit == "millilitre"):
        if (
            at(tokens, j).lower in AWKWARD
            and at(tokens, after[1]).kind not in ("w", "b")
            and after[0] not in CONTAINERS
        ):
            return found
        return replace(found, end=after[1], container=after[0])
    return found


def _without_number(tokens: Sequence[Token], j: int, draft: Draft) -> Quantity | None:
    """Return one of a unit that needs no number: pinch salt, scant tablespoon, heaped cup."""
    k, words = j, []
    while (
        at(tokens, k).lower in FILLINGS
        or at(tokens, k).lower in SIZES
        or at(tokens, k).lower in ("good", "generous", "nice")
    ):
        words.append(at(tokens, k).lower)
        k += 1
    unit = unit_at(tokens, k, None, counted=False)
    if unit is None or (unit[0] not in ALONE and not words):
        return None
    plural = at(tokens, k).lower.endswith("s") and at(tokens, k).lower not in ("tbs",)
    if plural or (words and unit[0] not in MEASURES and unit[0] not in ALONE and unit[0] != "bunch"):
        return None
    for word in words:
        if word in FILLINGS and unit[0] in MEASURES:
            draft.fill(word)
        elif word in SIZES:
            draft.size = SIZES[word]
        else:
            draft.before.append(word)
    if unit[0] in MEASURES:
        draft.say(f"no number: one {unit[0]} taken")
    return Quantity(1.0, 1.0, unit[0], unit[1], implied=True)


def combined(total: Quantity, other: Quantity) -> Quantity | None:
    """Return 1 cup plus 2 tablespoons, 2 lb 4 oz in one unit; None where the units have no fixed ratio."""
    for ratio in (IN_TEASPOONS, IN_OUNCES):
        if total.unit in ratio and other.unit in ratio:
            more = ratio[other.unit] / ratio[total.unit]
            return replace(total, low=total.low + other.low * more, high=total.high + other.high * more, end=other.end)
    return None


def add_quantity(found: Quantity, join: str, draft: Draft) -> None:
    """Put an amount into the draft; with a container it becomes two writings."""
    if found.container == "each":
        draft.amounts.append(found.written("each"))
        return
    draft.amounts.append(found.written(join, draft.place))
    if found.container:
        draft.amounts.append(Written(1.0, 1.0, found.container, "same"))


def add_sum(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read "plus 2 tablespoons", "minus 1 tablespoon" straight behind the first amount."""
    word = at(tokens, i).lower
    silent = Draft()
    other = quantity(tokens, i + 1, silent)
    if (
        other is None
        or other.unit not in MEASURES | {"stick", "pinch", "dash"}
        or (other.implied and word in ("and", "&"))
    ):
        return i
    if word in ("and", "&") and not draft.amounts[0].unit:
        return i
    if word in ("minus", "less"):
        draft.say(f"{other.words()} taken off")
        draft.amounts.append(Written(-other.high, -other.low, other.unit, "plus"))
    else:
        draft.marks |= silent.marks
        add_quantity(replace(other, container=""), "plus", draft)
    return other.end + (at(tokens, other.end).text == ",")
