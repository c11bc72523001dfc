"""One ingredient line as a cook writes it, read into amounts, item and preparation; nothing is weighed here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from batchwright.formula.lines.amounts import leading
from batchwright.formula.lines.choice import first_choice
from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.finish import finish
from batchwright.formula.lines.fruit import fruit_taken, read_fruit
from batchwright.formula.lines.item import MARK_PHRASES, in_bracket, split_item
from batchwright.formula.lines.quantity import quantity
from batchwright.formula.lines.tokens import Token, plain, text_of, tokens_of
from batchwright.formula.lines.units import is_unit
from batchwright.formula.lines.words import (
    ABOUT,
    ADVERBS,
    ALONE,
    NO_FOOD,
    PIECES,
    PREPARED,
    SIZES,
)
from batchwright.formula.records import ReadLine

__all__ = ["LONGEST", "first_choice", "read_line", "read_several"]

LONGEST = 1000
"""Letters of the longest line that is read as one ingredient; a longer one is prose."""
_VAGUE = frozenset({"few", "several", "some", "little", "bit", "touch", "plenty", "lots", "extra", "additional"})
_EGG_PARTS = frozenset({"yolk", "yolks", "white", "whites"})
_STIRRED_IN = frozenset({"dissolved", "mixed", "beaten", "whisked", "stirred", "combined", "blended"})


def read_line(text: str) -> ReadLine:
    """Return one ingredient line as read; use it for each line of a list.

    text: the line as written, any habit: fractions, ranges, sums ("2 sticks + 2 Tbsp"), weight first or in brackets,
    size, filling and preparation words, juice and zest of a fruit, several ingredients (they stand in `also`). Never
    raises: a line that cannot be made out comes back with `read` False, the words kept and an assumption saying why.
    """
    first, *others = read_several(text) or (_unreadable(text, "nothing to read in this line"),)
    return replace(first, text=text, also=(*first.also, *others))


@lru_cache(maxsize=256)  # a line is looked at several times while its place in a recipe is sought
def read_several(text: str) -> tuple[ReadLine, ...]:
    """Return each ingredient of one line by itself, `text` its own stretch; none for an empty line."""
    if len(text) > LONGEST:
        return (_unreadable(text, f"longer than {LONGEST} letters: not one ingredient line"),)
    line = plain(text)
    tokens = tokens_of(line)
    if not any(token.kind in "wnb" for token in tokens):
        return (_unreadable(text, "no words in this line"),) if text.strip() else ()
    found: list[ReadLine] = []
    for stretch, remark in _ingredients(tokens):
        read = _read_one(stretch, line)
        found.append(replace(read, assumptions=(*read.assumptions, remark)) if remark else read)
    return tuple(_shared(found))


def _unreadable(text: str, why: str) -> ReadLine:
    return ReadLine(text, item=" ".join(text.split()), assumptions=(why,), read=False)


def _ingredients(tokens: Sequence[Token]) -> list[tuple[list[Token], str]]:
    """Cut a line where a further ingredient with its own amount begins."""
    cuts: list[tuple[int, int, str]] = []
    named = False
    start = leading(tokens, 0, Draft())
    juice = fruit_taken(tokens, 0) if start == 0 else None
    if juice is not None:
        start, named = juice[1], True
    for index in range(start, len(tokens)):
        token = tokens[index]
        if named and token.lower == "or" and quantity(tokens, index + 1, Draft()) is not None:
            break
        if named and (token.text in (",", ";", "+", "&", ".") or token.lower in ("and", "plus")):
            step = index + 1
            while at(tokens, step).lower in ("and", "plus", "&", "+"):
                step += 1
            if step < len(tokens) and _starts_ingredient(tokens, step, token.lower):
                cuts.append((index, step, ""))
        elif named and token.lower in ("in", "with", "into") and at(tokens, index - 1).lower in _STIRRED_IN and (
                _starts_ingredient(tokens, index + 1, "with") and not _counted_alone(tokens, index + 1)):  # fmt: skip
            cuts.append(
                (
                    index,
                    index + 1,
                    f"{at(tokens, index - 1).lower} {token.lower} the first: counted as a further ingredient",
                )
            )
        elif (
            token.kind == "w"
            and token.lower not in NO_FOOD
            and token.lower not in PREPARED
            and token.lower not in ADVERBS
        ):
            named = True
    pieces, begin, remark = [], 0, ""
    for end, nxt, said in cuts:
        pieces.append((list(tokens[begin:end]), remark))
        begin, remark = nxt, said
    pieces.append((list(tokens[begin:]), remark))
    return [piece for piece in pieces if piece[0]]


def _counted_alone(tokens: Sequence[Token], i: int) -> bool:
    found = quantity(tokens, i, Draft())
    return found is None or not found.unit


def _starts_ingredient(tokens: Sequence[Token], i: int, separator: str) -> bool:
    """Whether an amount and a food of its own begin here."""
    if fruit_taken(tokens, i) is not None:
        return separator != "with"
    draft = Draft()
    found = quantity(tokens, i, draft)
    if found is None or draft.marks or draft.faulty or found.unit == "inch":
        return False
    if not found.unit and (
        separator == "." or (at(tokens, i).kind != "n" and at(tokens, i).lower not in ("one", "two", "three", "four"))
    ):
        return False
    if found.implied and found.unit not in ALONE:
        return False
    j = found.end
    while at(tokens, j).kind == "b" or at(tokens, j).text in (".", "-", "of"):
        j += 1
    foods = 0
    for token in tokens[j:]:
        if token.text in (",", ";") or token.kind == "n":
            break
        if token.lower == "for" or (token.lower == "to" and not foods):
            break
        if token.kind != "w" or token.lower in SIZES or token.lower in ("fresh", "dried"):
            continue
        if token.lower in NO_FOOD and not foods:
            return False
        if token.lower in PIECES and not found.unit:
            return False
        if token.lower not in PREPARED and token.lower not in ADVERBS:
            foods += 1
    if not foods and separator in (",", ";") and _amount_only_then(tokens, j):
        return False
    return foods > 0


def _amount_only_then(tokens: Sequence[Token], j: int) -> bool:
    return all(token.lower in PREPARED or token.lower in ADVERBS or token.kind != "w" for token in tokens[j:])


def _read_one(tokens: list[Token], line: str) -> ReadLine:
    """Read the tokens of one ingredient."""
    juice = fruit_taken(tokens, 0)
    if juice is not None:
        return read_fruit(tokens, line, *juice)
    draft = Draft()
    start = 0
    if at(tokens, 0).lower in _EGG_PARTS and at(tokens, 1).lower in ("of", "from"):
        after = leading(tokens, 2, draft)
        if draft.amounts and at(tokens, after).lower in ("egg", "eggs"):
            done = split_item(tokens[after + 1 :], line, draft)
            draft.after[:0] = [done] if done else []
            return finish(draft, line, tokens, f"egg {tokens[0].lower}")
        draft = Draft()
    label = next((index for index, token in enumerate(tokens[:6]) if token.text == ":"), 0)
    if label and all(token.kind == "w" for token in tokens[:label]):
        said = " ".join(token.lower for token in tokens[:label])
        if said in MARK_PHRASES:
            draft.marks.add(MARK_PHRASES[said])
            start = label + 1
        elif label + 1 < len(tokens) and _starts_ingredient(tokens, label + 1, ":"):
            draft.after.append(text_of(line, tokens[:label]))
            start = label + 1
    if at(tokens, start).kind == "b" and at(tokens, start + 1).kind != "":
        opening = tokens_of(at(tokens, start).text)
        if " ".join(token.lower for token in opening) in ("optional", "divided"):
            draft.marks.add(opening[0].lower)
            start += 1
    after = leading(tokens, start, draft)
    rest = tokens[after:]
    if not draft.amounts:
        rest = _vague(rest, draft)
        rest = _amount_at_end(rest, draft)
    if at(rest, 0).lower == "each" and draft.amounts:
        rest = rest[1:]
        item = text_of(line, [token for token in rest if token.kind != "b"])
        for token in rest:
            if token.kind == "b":
                in_bracket(token.text, draft)
        return _each_of(item.removeprefix("of "), draft, line, tokens)
    item = split_item(rest, line, draft)
    if not item and len(draft.amounts) == 1 and draft.amounts[0].unit == "clove":
        draft.amounts = [replace(draft.amounts[0], unit="")]
        item = "cloves"
    return finish(draft, line, tokens, item)


def _each_of(phrase: str, draft: Draft, line: str, tokens: Sequence[Token]) -> ReadLine:
    """Read "1 teaspoon each cinnamon, cloves and ginger": every one gets the amount."""
    names = [name.strip() for part in phrase.replace(" & ", " and ").split(",") for name in part.split(" and ")]
    names = [name for name in names if name]
    reads: list[ReadLine] = []
    for name in names or [""]:
        each = replace(draft, amounts=list(draft.amounts), marks=set(draft.marks), before=list(draft.before),
                       after=list(draft.after), assumptions=list(draft.assumptions))  # fmt: skip
        item = split_item(tokens_of(name), name, each)
        reads.append(finish(each, name if reads else line, tokens if not reads else (), item))
    return replace(reads[0], also=tuple(reads[1:]))


def _vague(tokens: list[Token], draft: Draft) -> list[Token]:
    """Take off "a few drops of", "some": an amount without a number."""
    start = 1 if at(tokens, 0).lower in ("a", "an") else 0
    if at(tokens, start).lower not in _VAGUE or start + 1 >= len(tokens):
        return tokens
    end = start + 1
    if is_unit(tokens, end) and end + 1 < len(tokens):
        end += 1
    draft.before.extend(token.text for token in tokens[start:end])
    draft.say(f"{' '.join(token.lower for token in tokens[:end])}: the line gives no number")
    return tokens[end:]


def _amount_at_end(tokens: list[Token], draft: Draft) -> list[Token]:
    """Read an amount that stands behind the item ("flour 2 cups", "Sugar: 200 g", "Eggs - 3"); return the rest."""
    for index in range(1, len(tokens)):
        if tokens[index].kind != "n":
            continue
        silent = Draft()
        found = quantity(tokens, index, silent)
        if found is None or at(tokens, index - 1).lower in (
            "x",
            "into",
            "in",
            "to",
            "of",
            "for",
            "least",
            "another",
            "no",
        ):
            continue
        end = at(tokens, found.end)
        closes = end.kind in ("", "p", "b") or found.end >= len(tokens) or end.lower in PREPARED | ADVERBS
        bare = not found.unit and found.end >= len(tokens) and (
            index == 1 or at(tokens, index - 1).text in (":", "-", "x", ",", "=") or index <= 3)  # fmt: skip
        if not ((closes and found.unit and found.unit != "inch") or bare):
            continue
        back = index
        while at(tokens, back - 1).lower in ABOUT or (
            at(tokens, back - 1).text in ("-", ":", ",", ".", "=") and back > 1
        ):
            back -= 1
        after = leading(tokens, back if at(tokens, back).lower in ABOUT else index, draft)
        rest = [*tokens[:back], *tokens[after:]]
        if tokens[after:] and tokens[after].kind == "w":
            rest = [
                *tokens[:back],
                Token("p", ",", tokens[back - 1].end, tokens[back - 1].end, None, ","),
                *tokens[after:],
            ]
        return rest
    return tokens


def _shared(found: list[ReadLine]) -> list[ReadLine]:
    """Cut "salt and pepper" without an amount in two."""
    if len(found) != 1 or found[0].amounts or found[0].also or not found[0].read:
        return found
    only = found[0]
    words = only.item.split()
    lowered = [word.lower().strip(",") for word in words]
    if "and" not in lowered[1:-1] or len(words) > 9:
        return found
    place = lowered.index("and", 1)
    if lowered[place - 1] not in ("salt", "pepper", "butter", "flour", "sugar", "oil") or "or" in lowered:
        return found
    if " ".join(lowered) in ("half and half", "bread and butter pickles"):
        return found
    second = Draft()
    other = split_item(tokens_of(" ".join(words[place + 1 :])), " ".join(words[place + 1 :]), second)
    return [
        replace(only, item=" ".join(words[:place]).strip(" ,")),
        replace(only, text=" ".join(words[place + 1 :]), item=other, before=tuple(second.before)),
    ]
