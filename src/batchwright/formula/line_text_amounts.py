"""The amounts of an ingredient line: numbers in every habit, units, containers, sums and second writings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from batchwright.formula.line_text_tokens import Token, text_of, tokens_of
from batchwright.formula.line_text_words import (
    ABOUT,
    ALONE,
    ARTICLES,
    AWKWARD,
    CASED_UNITS,
    CONTAINERS,
    FILLINGS,
    FOREIGN,
    FRACTIONS,
    IN_TEASPOONS,
    LOOSE_FILLINGS,
    MEASURES,
    NUMBERS,
    PLACES,
    SIZES,
    SLIPS,
    STEPS_UP,
    UNITS,
    WEIGHTS,
)
from batchwright.formula.records import Written

LONG_UNITS = ("tablespoon", "teaspoon", "kilogram", "millilitre", "dessertspoon")
LENGTHS = frozenset({"inch", "inches", "in", "cm", "mm", '"', "centimetre", "centimeter", "centimetres", "centimeters"})
_END = Token("p", "", 0, 0)


@dataclass(slots=True)
class Draft:
    """What has been made out of a line so far; filled from left to right."""

    amounts: list[Written] = field(default_factory=list)
    size: str = ""
    filling: str = ""
    marks: set[str] = field(default_factory=set)
    assumptions: list[str] = field(default_factory=list)
    before: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)
    faulty: bool = False
    place: str = ""

    def say(self, words: str) -> None:
        """Add an assumption once."""
        if words not in self.assumptions:
            self.assumptions.append(words)

    def fill(self, word: str) -> None:
        """Note how the measure is filled."""
        self.filling = self.filling or FILLINGS[word]
        if word in LOOSE_FILLINGS:
            self.say(f"{word} taken as {FILLINGS[word]}")


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


def at(tokens: Sequence[Token], index: int) -> Token:
    """Return a token, an empty one outside the line."""
    return tokens[index] if 0 <= index < len(tokens) else _END


def _single(tokens: Sequence[Token], i: int, draft: Draft) -> tuple[float, int] | None:
    """Return one number (1, 1.5, 1/2, 1 1/2, 1-1/2, one and a half, a dozen) and the token after it."""
    token = at(tokens, i)
    if token.kind == "n":
        if at(tokens, i + 1).text in ("%", "°", "º") or at(tokens, i + 1).lower in ("percent", "degrees"):
            return None
        if token.value is None:
            draft.faulty = True
            draft.say(f"{token.text} is no amount: nothing can be divided by zero")
            return 0.0, i + 1
        value, i = token.value, i + 1
        if not token.fraction:
            step = i + (at(tokens, i).lower in ("-", "&", "and", "+"))
            part = at(tokens, step)
            if part.fraction and part.value is not None and part.value < 1 and "." not in token.text:
                joined = step == i or at(tokens, i).text != "-" or part.start == at(tokens, i).end
                if joined:
                    value, i = value + part.value, step + 1
            elif at(tokens, i).lower == "and" and at(tokens, i + 1).lower in ("a", "one") and at(tokens, i + 2).lower in FRACTIONS:
                value, i = value + FRACTIONS[at(tokens, i + 2).lower], i + 3
        if at(tokens, i).lower in ("dozen", "doz", "dz"):
            return value * 12, i + 1 + (at(tokens, i + 1).text == ".")
        return value, i
    return _in_words(tokens, i, draft)


def _in_words(tokens: Sequence[Token], i: int, draft: Draft) -> tuple[float, int] | None:
    word, nxt = at(tokens, i).lower, at(tokens, i + 1).lower
    if word in ("l", "i", "|") and (nxt == "/" or is_unit(tokens, i + 1)) and at(tokens, i).text != "L":
        if nxt == "/" and at(tokens, i + 2).value:
            draft.say("a letter read as the figure 1")
            return 1 / (at(tokens, i + 2).value or 1.0), i + 3
        if nxt != "/" and nxt not in ("i", "l"):
            draft.say("a letter read as the figure 1")
            return 1.0, i + 1
    if word in ARTICLES:
        if nxt in ("dozen", "couple", "half", "quarter", "third"):
            value = NUMBERS[nxt]
            i += 2
            if nxt == "half" and at(tokens, i).lower == "dozen":
                return 6.0, i + 1
            return value, _skip_of(tokens, i, articles=True)
        return (1.0, i + 1) if nxt else None
    if word in ("dozen", "doz"):
        return 12.0, i + 1 + (nxt == ".")
    if word not in NUMBERS:
        return None
    value, i = NUMBERS[word], i + 1
    if word == "half" and nxt in ("and", "&"):
        return None
    if word == "half" and nxt == "-" or (word in ("half", "quarter") and nxt == "pound"):
        i += nxt == "-"
    if nxt in FRACTIONS and word not in FRACTIONS:
        value, i = value * FRACTIONS[nxt], i + 1
    elif nxt in ("and", "&") and at(tokens, i + 1).lower in ("a", "one") and at(tokens, i + 2).lower in FRACTIONS:
        value, i = value + FRACTIONS[at(tokens, i + 2).lower], i + 3
    elif nxt == "-" and at(tokens, i + 1).lower in FRACTIONS:
        value, i = value * FRACTIONS[at(tokens, i + 1).lower], i + 2
    elif nxt == "dozen":
        value, i = value * 12, i + 1
    i = _skip_of(tokens, i, articles=value < 1)
    if value < 1 and at(tokens, i).lower in ("dozen", "doz"):
        return value * 12, i + 1
    return value, i


def _skip_of(tokens: Sequence[Token], i: int, articles: bool = False) -> int:
    if at(tokens, i).lower == "of":
        i += 1
    return i + 1 if articles and at(tokens, i).lower in ARTICLES else i


def number(tokens: Sequence[Token], i: int, draft: Draft) -> tuple[float, float, int] | None:
    """Return low, high and the token after a number or a range (2-3, 2 to 3, 1/4 to 1/3)."""
    if at(tokens, i).text == "-" and at(tokens, i + 1).kind == "n" and at(tokens, i + 1).start == at(tokens, i).end:
        found = _single(tokens, i + 1, draft)
        if found is None:
            return None
        draft.faulty = True
        draft.say("an amount below zero cannot be weighed")
        return -found[0], -found[0], found[1]
    if at(tokens, i).lower == "between":
        i += 1
    first = _single(tokens, i, draft)
    if first is None:
        return None
    low, end = first
    link = at(tokens, end).lower
    if link in ("-", "to", "or", "through", "till") or (link == "and" and at(tokens, i - 1).lower == "between"):
        step = end + 1 + (at(tokens, end + 1).text == "-")
        if at(tokens, step).kind == "n" or at(tokens, step).lower in NUMBERS:
            second = _single(tokens, step, draft)
            if second is not None and second[0] > low and not _is_length(tokens, second[1]):
                return low, second[0], second[1]
    return low, low, end


def _is_length(tokens: Sequence[Token], i: int) -> bool:
    i += at(tokens, i).text == "-"
    token = at(tokens, i)
    return token.lower.split("-")[0] in LENGTHS and (token.lower != "in" or at(tokens, i + 1).text == ".")


def unit_at(tokens: Sequence[Token], i: int, draft: Draft | None = None, counted: bool = True) -> tuple[str, int] | None:
    """Return the unit that stands at a token, singular and in full, and the token after it.

    counted: whether a number stands before it; some spellings are units only then.
    """
    token = at(tokens, i)
    if token.text == "#" and counted:
        return "pound", i + 1
    if token.kind != "w":
        return None
    word = token.lower
    dot = at(tokens, i + 1).text == "."
    after = i + 1 + dot
    if word in ("fl", "fluid", "fld") and UNITS.get(at(tokens, after).lower) == "ounce":
        return "fluid ounce", after + 1 + (at(tokens, after + 1).text == ".")
    if word == "floz":
        return "fluid ounce", after
    cased = CASED_UNITS.get(token.text)
    if cased is not None:
        if token.text in ("EL", "TL") and draft is not None:
            draft.say(f"{token.text} read as {cased}")
        return (cased, after) if counted else None
    unit = UNITS.get(word)
    if unit is None:
        unit = _misspelt(word) if counted else None
        if unit is not None and draft is not None:
            draft.say(f"{token.text} read as {unit}")
        return None if unit is None else (unit, after)
    if word in AWKWARD and (not counted or (word == "in" and not dot)):
        return None
    if word == "c" and not counted:
        return None
    if draft is not None and (word in SLIPS or word in FOREIGN):
        draft.say(f"{token.text} read as {unit}")
    return unit, after


def is_unit(tokens: Sequence[Token], i: int) -> bool:
    """Whether a unit stands here."""
    return unit_at(tokens, i) is not None


def _misspelt(word: str) -> str | None:
    if not 7 <= len(word) <= 13:
        return None
    bare = word.removesuffix("s")
    for name in LONG_UNITS:
        if abs(len(bare) - len(name)) <= 1 and bare[0] == name[0] and _one_slip(bare, name):
            return name
    return None


def _one_slip(a: str, b: str) -> bool:
    """Whether two words differ by one letter more, less, other, or by two neighbours swapped."""
    if a == b:
        return True
    start = 0
    while start < min(len(a), len(b)) and a[start] == b[start]:
        start += 1
    x, y = a[start:], b[start:]
    return x[1:] == y[1:] or x[1:] == y or x == y[1:] or (x[:2] == y[1::-1] and x[2:] == y[2:])


def _qualifiers(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Take size, filling, place and "about" words between number and unit; return the token after them.

    Only where a unit follows in the end: "2 large eggs" keeps its size for the item.
    """
    j, taken = i, []
    while at(tokens, j).kind in ("w", "b") or at(tokens, j).text == "-":
        token = at(tokens, j)
        word = token.lower if token.kind == "w" else token.text.lower().strip(". ")
        known = word in SIZES or word in FILLINGS or word in PLACES or word in ABOUT or word in (
            "firmly", "lightly", "tightly", "well", "loosely", "good", "very", "fat", "nice", "standard")  # fmt: skip
        if token.text == "-" and j + 1 < len(tokens):
            known = True
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
        elif word in SIZES:
            draft.size = SIZES[word]
        elif word in PLACES:
            _place(word, draft)
        elif word in ABOUT:
            draft.marks.add("about")
        elif word != "-":
            draft.before.append(word)
    return j


def _place(word: str, draft: Draft) -> None:
    draft.place = PLACES[word]
    if word == "metric":
        draft.say("a metric cup holds 250 ml, as in Australia")


def quantity(tokens: Sequence[Token], i: int, draft: Draft) -> Quantity | None:
    """Return the number, range or bare pinch at a token, with its unit; None where there is no amount."""
    j = i
    while at(tokens, j).lower in ABOUT or (at(tokens, j).lower in ("up", "at") and at(tokens, j + 1).lower in ("to", "least")):
        draft.marks.add("about")
        j += 1 + (at(tokens, j).lower in ("up", "at")) + (at(tokens, j + 1).text == ".")
    found = number(tokens, j, draft)
    if found is None:
        return _without_number(tokens, j, draft)
    low, high, end = found
    word = at(tokens, j).lower
    if word in ARTICLES and at(tokens, j + 1).lower in ("few", "little", "bit", "touch", "lot"):
        return None
    if at(tokens, end).lower in ("x", "*") and at(tokens, end + 1).kind in ("n", "b"):
        end += 1
        inner = quantity(tokens, end, draft)
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
        if at(tokens, end).lower in ("u", "up") and at(tokens, end).kind == "w" and low < 8 and at(tokens, end + 1).kind == "w":
            draft.say(f"{at(tokens, end).text} read as cup")
            return Quantity(low, high, "cup", end + 1)
        return Quantity(low, high, "", end)
    name, end = unit
    return _with_container(tokens, Quantity(low, high, name, end, hyphen=hyphen), draft)


def _with_container(tokens: Sequence[Token], found: Quantity, draft: Draft) -> Quantity:
    """Add the container that follows its own weight: 8-ounce package, 400 g can, 250 ml cup."""
    if found.unit not in MEASURES and found.unit != "inch":
        return found
    j = found.end
    while at(tokens, j).lower in SIZES or at(tokens, j).text == "-" or (
            at(tokens, j).lower in ("thick", "vacuum", "resealable", "-thick") and found.unit in WEIGHTS):  # fmt: skip
        j += 1
    after = unit_at(tokens, j, None)
    inside = found.unit in WEIGHTS or found.unit in ("millilitre", "litre", "fluid ounce", "centilitre", "quart", "pint")
    if after is None or not inside or found.unit == after[0]:
        return found
    if after[0] in CONTAINERS or (after[0] == "cup" and found.unit == "millilitre"):
        if at(tokens, j).lower in AWKWARD and at(tokens, after[1]).kind not in ("w", "b") and after[0] not in CONTAINERS:
            return found
        return replace(found, end=after[1], container=after[0])
    return found


def _without_number(tokens: Sequence[Token], j: int, draft: Draft) -> Quantity | None:
    """Return one of a unit that needs no number: pinch salt, scant tablespoon, heaped cup."""
    k, words = j, []
    while at(tokens, k).lower in FILLINGS or at(tokens, k).lower in SIZES or at(tokens, k).lower in ("good", "generous", "nice"):
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


def add_quantity(found: Quantity, join: str, draft: Draft) -> None:
    """Put an amount into the draft; with a container it becomes two writings."""
    if found.container == "each":
        draft.amounts.append(found.written("each"))
        return
    draft.amounts.append(found.written(join, draft.place))
    if found.container:
        draft.amounts.append(Written(1.0, 1.0, found.container, "same"))


def leading(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read all amounts from a token on: the first, its container, sums and second writings; return the token after.

    Nothing is read and the same token returned where no amount stands there.
    """
    first = quantity(tokens, i, draft)
    if first is None:
        return i
    word = at(tokens, i).lower
    if word in ARTICLES and not first.unit:
        first = replace(first, implied=True)
    end = first.end
    if not first.unit:
        nested = _count_of_packages(tokens, first, draft)
        if nested is not None:
            return following(tokens, nested, draft)
        end = _length(tokens, end, draft)
        unit = unit_at(tokens, end, draft) if end != first.end else None
        if unit is not None and unit[0] not in WEIGHTS:
            first, end = replace(first, unit=unit[0]), unit[1]
        end = _bracket_before_unit(tokens, first, end, draft)
        if end < 0:
            return following(tokens, -end, draft)
    add_quantity(replace(first, end=end), "first", draft)
    return following(tokens, end, draft)


def _length(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Take a length as the size: 1 9-inch pie shell, 2-inch piece."""
    silent = Draft()
    found = number(tokens, i, silent)
    if found is None or not _is_length(tokens, found[2]):
        return i
    end = found[2] + (at(tokens, found[2]).text == "-")
    end += 1
    if at(tokens, end).text == ".":
        end += 1
    draft.size = " ".join(token.text for token in tokens[i:end]).replace(" - ", "-").replace(" .", "")
    return end + (at(tokens, end).text == "-")


def _count_of_packages(tokens: Sequence[Token], first: Quantity, draft: Draft) -> int | None:
    """Read "1 8-ounce package", "2 14 oz cans"; return the token after, None where it is something else."""
    token = at(tokens, first.end)
    if token.kind != "n":
        return None
    silent = Draft()
    inner = quantity(tokens, first.end, silent)
    if inner is None or inner.unit not in MEASURES:
        return None
    draft.amounts.append(Written(first.low, first.high, inner.container))
    draft.amounts.append(inner.written("each"))
    return inner.end


def _bracket_before_unit(tokens: Sequence[Token], first: Quantity, end: int, draft: Draft) -> int:
    """Read "1 (8-oz) package", "1 large (400 g) can"; return minus the token after where that was found."""
    j = end
    size = ""
    while at(tokens, j).lower in SIZES:
        size, j = SIZES[at(tokens, j).lower], j + 1 + (at(tokens, j + 1).text == ".")
    if at(tokens, j).kind != "b":
        return end
    inner_tokens = tokens_of(at(tokens, j).text)
    unit = unit_at(tokens, j + 1, draft)
    inner = quantity(inner_tokens, 0, Draft())
    if unit is None or inner is None or inner.unit not in MEASURES:
        return end
    rest = [token.text for token in inner_tokens[inner.end:] if token.kind in "wb" and token.lower not in ("each",)]
    draft.after.extend(rest[:0] or ([" ".join(rest)] if rest else []))
    draft.size = size or draft.size
    if unit[0] in MEASURES:
        draft.amounts.append(Written(first.low, first.high, unit[0]))
        draft.amounts.append(inner.written("same"))
    else:
        draft.amounts.append(Written(first.low, first.high, unit[0]))
        draft.amounts.append(inner.written("each"))
    return -unit[1]


def following(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read what follows a first amount: sums, second writings after a slash, brackets with amounts, ways of filling."""
    while True:
        j = _one_more(tokens, i, draft)
        if j == i:
            return i
        i = j


def _one_more(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    token, last = at(tokens, i), draft.amounts[-1]
    if token.kind == "b" and token.lower == "" and token.text.lower().strip(". ") in PLACES:
        _place(token.text.lower().strip(". "), draft)
        return i + 1
    if token.kind == "b":
        return i + 1 if bracket(token.text, draft) else i
    if token.text in (",",) and at(tokens, i + 1).lower in ("plus", "packed", "firmly", "scant", "heaped", "heaping"):
        nxt = at(tokens, i + 1).lower
        if nxt != "plus" or quantity(tokens, i + 2, Draft()) is not None:
            j = _one_more(tokens, i + 1, draft)
            return i if j == i + 1 else j + (at(tokens, j).text == ",")
        return i
    if token.lower in ("plus", "+", "and", "&", "minus", "less"):
        return _sum(tokens, i, draft)
    if token.text in ("/", "|", "=", ",", ";") or (token.text == "-" and token.end < at(tokens, i + 1).start):
        other = quantity(tokens, i + 1, Draft())
        if other is not None and other.unit in MEASURES | CONTAINERS and (token.text in "/|=" or at(tokens, other.end).text == ","
                                                           or token.text == "-"):  # fmt: skip
            if token.text == "-" and other.unit == last.unit and other.low > last.high:
                draft.amounts[-1] = replace(last, high=other.high)
                return other.end
            add_quantity(replace(other, container=""), "each" if last.unit in CONTAINERS and token.text == "," else "same", draft)
            return other.end + (at(tokens, other.end).text == ",")
        return i
    if token.lower == "to" and at(tokens, i + 1).kind == "n":
        other = quantity(tokens, i + 1, Draft())
        if other is not None and other.unit and other.end > i + 1:
            return _range_over_units(other, draft, i)
    if token.lower == "or" and at(tokens, i + 1).lower == "so":
        draft.marks.add("about")
        return i + 2
    if token.kind == "n":
        return _side_by_side(tokens, i, draft)
    if token.lower in FILLINGS and token.lower in ("packed", "heaped", "heaping", "level", "scant", "rounded"):
        draft.fill(token.lower)
        return i + 1 + (at(tokens, i + 1).text == ",")
    if token.lower in ("us", "uk", "au", "imperial", "metric", "australian") and last.unit in MEASURES and not draft.place:
        _place(token.lower, draft)
        return i + 1
    if token.lower in ("firmly", "lightly", "tightly", "well") and at(tokens, i + 1).lower == "packed":
        draft.fill("packed")
        draft.before.append(token.lower)
        return i + 2 + (at(tokens, i + 2).text == ",")
    return i


def _sum(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read "plus 2 tablespoons", "minus 1 tablespoon" straight behind the first amount."""
    word = at(tokens, i).lower
    silent = Draft()
    other = quantity(tokens, i + 1, silent)
    if other is None or other.unit not in MEASURES | {"stick", "pinch", "dash"} or other.implied and word in ("and", "&"):
        return i
    if word in ("and", "&") and not draft.amounts[0].unit:
        return i
    if word in ("minus", "less"):
        draft.say(f"{_words(other)} taken off")
        draft.amounts.append(Written(-other.high, -other.low, other.unit, "plus"))
    else:
        draft.marks |= silent.marks
        add_quantity(replace(other, container=""), "plus", draft)
    return other.end + (at(tokens, other.end).text == ",")


def _range_over_units(other: Quantity, draft: Draft, i: int) -> int:
    """Read "1 tbsp to 2 tbsp", "1 teaspoon to 1 tablespoon" as a range in the first unit."""
    last = draft.amounts[-1]
    if other.unit == last.unit:
        draft.amounts[-1] = replace(last, high=max(last.high, other.high))
        return other.end
    if other.unit in IN_TEASPOONS and last.unit in IN_TEASPOONS:
        high = other.high * IN_TEASPOONS[other.unit] / IN_TEASPOONS[last.unit]
        if high > last.high:
            draft.amounts[-1] = replace(last, high=high)
            draft.say(f"up to {_words(other)} is {high:g} {last.unit}s")
            return other.end
    return i


def _side_by_side(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read "1 lb 4 oz" as a sum and "1 can 400 g" as its content."""
    last = draft.amounts[-1]
    silent = Draft()
    other = quantity(tokens, i, silent)
    if other is None or not other.unit:
        return i
    if (last.unit, other.unit) in STEPS_UP:
        add_quantity(replace(other, container=""), "plus", draft)
        return other.end
    if last.unit in CONTAINERS and other.unit in MEASURES:
        draft.amounts.append(other.written("each"))
        return other.end
    return i


def _words(found: Quantity) -> str:
    return f"{found.low:g} {found.unit or 'piece'}{'' if found.low == 1 else 's'}"


def bracket(text: str, draft: Draft) -> bool:
    """Read amounts in a bracket: another writing of the same, or what each holds; False where none stands there."""
    plain = text.replace("ca.", "about").replace("~", " about ")
    tokens = tokens_of(plain)
    if at(tokens, 0).lower in ("plus", "+", "minus"):
        return draft.amounts != [] and _bracket_sum(tokens, draft)
    silent = Draft()
    first = quantity(tokens, 0, silent)
    if first is None or first.implied:
        return False
    each = any(token.lower in ("each", "apiece") for token in tokens)
    if not first.unit:
        return _bracket_count(plain, tokens, first, draft)
    if first.unit not in MEASURES | CONTAINERS | {"stick"}:
        return False
    place = next((PLACES[token.lower] for token in tokens if token.lower in PLACES), "")
    join = "each" if each or (len(draft.amounts) == 1 and draft.amounts[0].unit in CONTAINERS - {"stick"}) else "same"
    found, i, left = [first], first.end, []
    total = first
    while i < len(tokens):
        token = tokens[i]
        if token.lower in ("plus", "+", "and") and (other := quantity(tokens, i + 1, silent)) is not None:
            if other.unit in IN_TEASPOONS and total.unit in IN_TEASPOONS:
                more = IN_TEASPOONS[other.unit] / IN_TEASPOONS[total.unit]
                total = replace(total, low=total.low + other.low * more, high=total.high + other.high * more)
                found[-1] = total
                i = other.end
                continue
        if token.kind == "n" and (other := quantity(tokens, i, silent)) is not None and other.end > i:
            if other.unit in MEASURES | CONTAINERS:
                found.append(other)
                total = other
            else:
                left.extend(tokens[i:other.end])
            i = other.end
            continue
        if token.lower not in ("each", "apiece", "or", "and", "total", "in", "all", "about", "approx", "approximately") or left:
            if token.kind in "wb":
                left.append(token)
        elif token.lower in ABOUT:
            draft.marks.add("about")
        i += 1
    for each_found in found:
        draft.amounts.append(each_found.written(join, place if each_found.unit == first.unit else ""))
    if silent.marks:
        draft.marks |= silent.marks
    remark = text_of(plain, left)
    if remark:
        draft.after.append(remark)
    return True


def _bracket_sum(tokens: Sequence[Token], draft: Draft) -> bool:
    end = _sum(tokens, 0, draft)
    if end == 0:
        return False
    if end < len(tokens):
        draft.after.append(" ".join(token.text for token in tokens[end:] if token.kind in "wbn"))
    return True


def _bracket_count(plain: str, tokens: Sequence[Token], first: Quantity, draft: Draft) -> bool:
    """Read "(about 3)", "(5 to 6)" behind a measure as a count of the same."""
    if first.end < len(tokens) or not draft.amounts or draft.amounts[0].unit not in MEASURES:
        return False
    draft.amounts.append(first.written("same"))
    return True
