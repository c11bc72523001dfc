"""The ingredient of a line: what is left of it without amounts, with preparation before and after told apart."""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.formula.lines.brackets import bracket
from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.quantity import quantity
from batchwright.formula.lines.tokens import Token, text_of, tokens_of
from batchwright.formula.lines.words import (
    ABOUT,
    ADVERBS,
    DESCRIBING,
    ENDS_ITEM,
    FILLINGS,
    KEPT_WITH,
    MEASURES,
    PIECES,
    PREPARED,
    SERVING,
    SIZES,
    TO_DO,
    TRAILING,
    UNITS,
    WARMED,
    WARMTH,
    word_set,
)
from batchwright.formula.records import Written

MARK_PHRASES = {
    "optional": "optional",
    "opt": "optional", "if desired": "optional", "if you like": "optional", "if wanted": "optional",
    "if liked": "optional", "if using": "optional", "to taste": "to taste", "or to taste": "to taste",
    "divided": "divided", "approximately": "about", "about": "about", "approx": "about", "for serving": "for serving",
    "to serve": "for serving", "for garnish": "for serving", "to garnish": "for serving", "or so": "about",
    "or taste": "to taste", "for garnishing": "for serving", "plus more": "plus more", "or thereabouts": "about",
    "plus extra": "plus more", "and more": "plus more", "or more": "plus more", "roughly": "about",
}  # fmt: skip
_NO_CHOICE = frozenset({"more", "to", "as", "so", "less", "another", "extra", "additional"})
"""What may follow "or" without being another food."""
_SIZED_KINDS = word_set("""
grain grained curd flake flakes flaked pearl pearls shell shells heat hot sherry dry ground coarse noodles fat tapioca
eye holed egg-noodles
""")
"""Words after which small, medium and large name a kind (medium grain rice), not a size."""
_MORE = frozenset({"more", "extra", "additional", "another", "some"})


def mark(phrase: str, draft: Draft) -> bool:
    """Note what a remark marks (optional, divided, to taste ...); True where that is all it says."""
    words = phrase.lower().strip(" .,;!").split()
    whole = " ".join(words)
    if whole in MARK_PHRASES:
        draft.marks.add(MARK_PHRASES[whole])
        return True
    if "optional" in words or "optional" in whole:
        draft.marks.add("optional")
    if "divided" in words:
        draft.marks.add("divided")
    if "taste" in words and "to" in words:
        draft.marks.add("to taste")
    if (
        words
        and (
            words[0] in ("plus", "and", "or", "with", "+", "&", "more", "extra", "additional")
            and _MORE & set(words[:4])
        )
    ) or (words and words[0] in ("plus", "and") and ("for" in words or "to" in words)):
        draft.marks.add("plus more")
    if len(words) > 1 and words[0] in ("for", "to", "as") and SERVING & set(words[1:4]):
        draft.marks.add("for serving")
    return False


def remark(tokens: Sequence[Token], text: str, draft: Draft) -> None:
    """Put a segment that follows the item where it belongs: an amount, a filling, a mark, or preparation after."""
    tokens = [token for token in tokens if not (token.kind == "p" and token.text in ".,;")]
    if not tokens:
        return
    while tokens and tokens[-1].kind == "b":
        in_bracket(tokens[-1].text, draft)
        tokens = tokens[:-1]
    phrase = text_of(text, list(tokens))
    if not phrase or mark(phrase, draft):
        return
    words = [token.lower for token in tokens if token.kind == "w"]
    if _filling(words, phrase, draft) or _second_amount(tokens, draft):
        return
    draft.after.append(phrase)


def in_bracket(text: str, draft: Draft) -> None:
    """Put what a bracket says where it belongs."""
    if mark(text, draft):
        return
    words = [token.lower for token in tokens_of(text) if token.kind == "w"]
    if (draft.amounts and bracket(text, draft)) or _filling(words, text, draft):
        return
    if text:
        draft.after.append(text)


def _filling(words: Sequence[str], phrase: str, draft: Draft) -> bool:
    """Note a way of filling the measure said behind the item (packed, spooned and levelled)."""
    ways = [word for word in words if word in ("packed", "spooned", "heaped", "heaping", "rounded", "level", "scant")]
    rest = set(words) - set(ways) - {"firmly", "lightly", "tightly", "well", "and", "leveled", "levelled", "not"}
    if not ways or "not" in words or (rest and "packed" in words and "in" in words):
        return False
    draft.fill(ways[0])
    if [phrase.lower()] != ways:
        draft.after.append(phrase)
    return True


def _second_amount(tokens: Sequence[Token], draft: Draft) -> bool:
    """Note a bare amount behind the item (walnuts, about 1 cup) as another writing of the first."""
    start = 1 if tokens[0].lower in ("or", "plus", "=", "+") else 0
    silent = Draft()
    found = quantity(tokens, start, silent)
    if found is None or not draft.amounts or found.implied or not found.unit:
        return False
    rest = [token for token in tokens[found.end :] if token.kind == "w"]
    each = bool(rest) and rest[0].lower in ("each", "apiece")
    if tokens[0].lower in ("plus", "+") and rest:
        return False
    if found.unit not in MEASURES | {"stick", "can", "package"} or (rest and not each and (
            rest[0].lower not in PREPARED | ADVERBS | {"total", "in", "when", "after"})):  # fmt: skip
        return False
    join = "plus" if tokens[0].lower in ("plus", "+") else "each" if each else "same"
    draft.amounts.append(found.written(join))
    draft.marks |= silent.marks
    left = " ".join(token.text for token in rest[each:])
    if left:
        draft.after.append(left)
    return True


def segments_of(tokens: Sequence[Token]) -> list[list[Token]]:
    """Return the tokens between commas, semicolons, colons and spaced dashes."""
    found: list[list[Token]] = [[]]
    for index, token in enumerate(tokens):
        spaced = (
            token.text == "-"
            and token.start > at(tokens, index - 1).end > 0
            and at(tokens, index + 1).start > token.end
        )
        if token.text in (",", ";", ":") or spaced or (token.text == "." and at(tokens, index + 1).start > token.end
                                                       and index and len(at(tokens, index - 1).text) > 3):  # fmt: skip
            found.append([])
        else:
            found[-1].append(token)
    return [segment for segment in found if segment]


def split_item(tokens: Sequence[Token], text: str, draft: Draft) -> str:
    """Return the item of what follows the amounts; preparation, marks and remarks go into the draft."""
    segments = segments_of(tokens)
    while len(segments) > 1 and all(token.lower in ABOUT for token in segments[0]):
        draft.marks.add("about")
        segments = segments[1:]
    while len(segments) > 1 and (_only_describes(segments[0]) or _list_of_kinds(segments[0], segments[1])):
        link = [] if _only_done(segments[0]) else [Token("p", ",", segments[0][-1].end, segments[0][-1].end + 1)]
        segments[:2] = [[*segments[0], *link, *segments[1]]]
    item = _head(segments[0], text, draft) if segments else ""
    for index, segment in enumerate(segments[1:], 1):
        if not item and index == 1:
            item = _head(segment, text, draft)
        else:
            remark(segment, text, draft)
    return item


def _only_describes(segment: Sequence[Token]) -> bool:
    """Whether a segment names no food yet: light, / pitted, / plus."""
    words = [token.lower for token in segment if token.kind == "w"]
    return all(
        word in PREPARED or word in ADVERBS or word in DESCRIBING or word in ("and", "of", "or", "a") for word in words
    )


def _only_done(segment: Sequence[Token]) -> bool:
    return all(token.lower in PREPARED or token.lower in ADVERBS or token.kind != "w" for token in segment)


def _list_of_kinds(first: Sequence[Token], second: Sequence[Token]) -> bool:
    """Whether "corn, peanut or vegetable oil": one short word, then words with "or" and a shared noun."""
    words = [token.lower for token in first if token.kind == "w"]
    other = [token.lower for token in second if token.kind == "w"]
    if not 1 <= len(words) <= 3 or first[-1].kind == "b" or "or" not in other[1:-1] or len(other) > 6:
        return False
    return other[0] not in PREPARED and other[0] not in ADVERBS and other[0] not in ENDS_ITEM and other[0] != "or"


def _head(tokens: Sequence[Token], text: str, draft: Draft) -> str:
    """Return the item of the first segment, its preparation taken off in front and behind."""
    words: list[Token] = []
    for token in tokens:
        if token.kind == "b":
            in_bracket(token.text, draft)
        else:
            words.append(token)
    while words and (
        words[0].lower in ("of", "the", "a", "an", "x", "de", "di", "each", "about") or words[0].kind == "p"
    ):
        if words[0].kind == "p" and words[0].text not in ".,:;-+*/&~=|)]}":
            break
        words = words[1:]
    cut = _tail(words)
    front = _front(words[:cut], draft)
    tail = words[cut:]
    if not front and tail and not draft.before:
        front, tail = tail, []
    item = text_of(text, front)
    if tail:
        remark(tail, text, draft)
    return _counted_by(item, draft)


def _front(words: Sequence[Token], draft: Draft) -> list[Token]:
    """Return the item's own words; preparation, sizes and fillings in front of it go into the draft."""
    kept: list[Token] = []
    index, foods = 0, {word.lower for word in words}
    while index < len(words):
        token = words[index]
        word = token.lower
        later = [each.lower for each in words[index + 1 :] if each.kind == "w"]
        first, dash, last = word.partition("-")
        if dash and later and first in ADVERBS and last in PREPARED:
            if last == "packed" and first != "loosely":
                draft.fill(last)
            draft.before.extend(token.text.split("-"))
            index += 1
        elif word in SIZES and later and not kept and later[0] not in _SIZED_KINDS:
            draft.size = f"{draft.size} {SIZES[word]}".strip() if draft.size != SIZES[word] else draft.size
            index += 1 + (at(words, index + 1).text == ".")
        elif word in ("packed", "spooned", "sifted") and later:
            loose = draft.before[-1:] in (["loosely"], ["Loosely"])
            if not loose:
                draft.fill(word)
            if word == "sifted" or loose:
                draft.before.append(token.text)
            index += 1
        elif word in FILLINGS and word in ("heaped", "heaping", "scant", "level", "rounded") and later:
            draft.fill(word)
            index += 1
        elif (
            (word in ADVERBS and later and (later[0] in PREPARED or later[0] == "packed" or later[0] in ADVERBS))
            or (word in PREPARED and later and not _stays(word, later))
            or (
                word in WARMTH
                and later
                and later[-1] in WARMED | {"milk"}
                and not (foods & {"brown", "sugar", "cheese"})
            )
        ):
            draft.before.append(token.text)
            index += 1
        elif word in ("and", ",", "-", "/", "&") and draft.before and later and not kept and (
                later[0] in PREPARED or later[0] in ADVERBS or word in ",-/"):  # fmt: skip
            if word == "and":
                draft.before.append("and")
            index += 1
        elif word in DESCRIBING or (
            word in (",", "and") and kept and at(words, index + 1).lower in PREPARED | DESCRIBING
        ):
            if not (word == "," and words[index + 1].lower in PREPARED):
                kept.append(token)
            index += 1
        else:
            break
    kept.extend(words[index:])
    if kept and not any(token.kind in "wn" for token in kept):
        return []
    return kept


def _stays(word: str, later: Sequence[str]) -> bool:
    """Whether a preparation word makes another food with what follows (ground beef, toasted sesame oil)."""
    kept_with = KEPT_WITH.get(word, frozenset())
    if later[0] in kept_with:
        return not (word == "whipped" and len(later) > 1)
    return word in ("toasted", "roasted", "ground") and later[-1] in kept_with


def _tail(words: Sequence[Token]) -> int:
    """Return where the item ends and a remark without a comma begins (butter at room temperature, oil for frying)."""
    seen_food = False
    for index, token in enumerate(words):
        word, nxt, then = token.lower, at(words, index + 1).lower, at(words, index + 2).lower
        if not seen_food:
            seen_food = token.kind == "w" and word not in PREPARED and word not in ADVERBS
            if not (word in ("to", "for", "as", "plus") and index == 0):
                continue
        if token.kind == "b":
            continue
        if word in ENDS_ITEM and not (word in ("with", "about") and nxt == "skin"):
            return index
        if word == "to" and (nxt in TO_DO or nxt in PREPARED or then in ("the", "pan")):
            return index
        if word == "as" and nxt in ("needed", "desired", "required", "necessary", "a"):
            return index
        if word == "at" and nxt in ("room", "cool", "warm"):
            return index
        if word == "in" and _pieces(words, index + 1):
            return index
        if word in ("or", "and", "&") and (nxt in _NO_CHOICE or at(words, index + 1).kind == "n"):
            return index
        if word in ("+", "*"):
            return index
        if token.kind == "n" and index and _amount_behind(words, index):
            return index
        if (word in PREPARED or (word in ADVERBS and nxt in PREPARED)) and _ends_here(words, index):
            return index
    return len(words)


def _amount_behind(words: Sequence[Token], index: int) -> bool:
    found = quantity(words, index, Draft())
    return found is not None and found.unit in MEASURES


def _pieces(words: Sequence[Token], index: int) -> bool:
    return any(at(words, index + step).lower in PIECES or at(words, index + step).kind == "n" for step in range(3))


def _ends_here(words: Sequence[Token], index: int) -> bool:
    """Whether a preparation word behind the item is a remark: nothing but such words, or a small word, follows."""
    for step in range(index, len(words)):
        word = words[step].lower
        if words[step].kind == "p":
            continue
        if word in (
            "in",
            "into",
            "with",
            "until",
            "to",
            "at",
            "for",
            "but",
            "if",
            "from",
            "on",
            "fine",
            "as",
            "thin",
            "small",
        ):
            return True
        if word not in PREPARED and word not in ADVERBS and word not in ("and", "or", "then"):
            return False
    return True


def _counted_by(item: str, draft: Draft) -> str:
    """Take a unit that stands behind a counted item: 3 garlic cloves, 5 cinnamon sticks."""
    if not draft.amounts or draft.amounts[0].unit:
        return item
    front, _, last = item.rpartition(" ")
    unit = UNITS.get(last.lower(), "")
    if not front or unit not in TRAILING:
        return item
    before = TRAILING[unit]
    if before and front.lower().split()[-1] not in before:
        return item
    first = draft.amounts[0]
    draft.amounts[0] = Written(first.low, first.high, unit, first.join, first.place)
    return front
