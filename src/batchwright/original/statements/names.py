"""Names within one listed stretch: percents, marks, "and" and "or", shared head nouns, treatment words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from batchwright.original.statements.spelling import known as knows
from batchwright.original.statements.words import e_number, role_class, singular, words

Stretch = tuple[int, int]

PERCENT = re.compile(
    r"(?:(?<![\w])(?P<least>min(?:imum)?\b\.?|at least|not less than|minimum of|"
    r">)(?: of)?:? ?)?(?P<most>(?<!\w)(?:max(?:imum)?\b\.?|up to|<)(?: of)?:? ?)?"
    r"(?<![\w.,])(?P<amount>\d{1,3}(?:[.,]\d{1,3})?)(?: ?[-–] ?\d{1,3}(?:[.,]\d{1,2})?)? ?(?:%|percent\b|"
    r"per cent\b)"
    r"(?P<after> ?(?:min(?:imum)?\b\.?|max(?:imum)?\b\.?))?"
    r"(?P<basis> ?(?:w/w\b|by weight\b|of (?:the )?(?:total|finished|final) (?:product|food|weight)\b|"
    r"of product\b|of total\b))?"
    r"(?P<part> ?(?:of|in|on) (?:the |total )?(?!which)[a-z][a-z \-]{1,30}$)?",
    re.IGNORECASE,
)
NOTE = re.compile(r"(?:[*†‡§¹²³⁺]|(?<=\w)\^|(?<=\w)\+)+")
_JOINT = re.compile(
    r"(?:,\s?)?(?<![\w-])(?P<word>and ?/ ?or|and or|and|or|&|plus)(?![\w-])|(?P<amp>(?<=\w)&(?=\w))|"
    r"(?P<slash>(?<=[^\W\d_]{2}) ?/ ?(?=[^\W\d_]{2}))",
    re.IGNORECASE,
)
_AND_OR_MARK = re.compile(r"and ?/ ?or", re.IGNORECASE)
_COLOUR = re.compile(
    r"^(?P<stem>(?:fd ?& ?c |fd&c |d&c |f\.d\.&c\.? )?(?:yellow|red|blue|green|"
    r"orange)(?: lake)?) ?(?P<sign>#|no\.?|nos\.?|number)? ?#?\d",
    re.IGNORECASE,
)
_NUMBER_ONLY = re.compile(r"^(?:#|no\.? ?)?\d{1,2}(?: lakes?)?$", re.IGNORECASE)
_LETTERS = re.compile(r"[A-Za-z]{2,}")


@dataclass(frozen=True, slots=True)
class Joined:
    """The parts of "a, b and/or c": their stretches, whether either may be absent, and the joining words' stretches."""

    parts: tuple[Stretch, ...]
    either: bool
    joints: tuple[Stretch, ...]


def cleaned(text: str) -> str:
    """Return a name in lower case, blanks made single, loose signs at its ends taken off."""
    name = " ".join(text.lower().split())
    if ", " in name:
        name = name.replace(", ", " ")
    return name.strip(' .,;:*†‡§+=~^|•·-–—"“”„«»`´_').strip("'’‘ ") if not name.endswith("mono-") else name


def trimmed(text: str, start: int, end: int) -> Stretch:
    """Return the stretch without blanks and loose signs at its ends."""
    while start < end and (text[start].isspace() or text[start] in ",;:-–.•"):
        start += 1
    while end > start and (text[end - 1].isspace() or text[end - 1] in ",;:.–•"):
        end -= 1
    return start, end


def _fixed(name: str) -> bool:
    fixed = words("fixed")
    return (
        name in fixed
        or singular(name) in fixed
        or any(name.endswith(phrase) or name.startswith(phrase) for phrase in _fixed_ends(name))
    )


def _fixed_ends(name: str) -> tuple[str, ...]:
    parts = name.split()
    ends = {" ".join(parts[-count:]) for count in (2, 3, 4, 5)} | {" ".join(parts[:count]) for count in (3, 4, 5)}
    known = words("fixed")
    return tuple(end for end in ends if end in known or singular(end) in known)


def _is_modifier(text: str) -> bool:
    known = words("modifier")
    return (
        text.endswith("-")
        or text in known
        or (text.split(" ")[-1] in known and not _LETTERS.search(text.split(" ")[0] * 0))
    )


def split_joined(text: str, start: int, end: int) -> Joined | None:
    """Return the parts of a stretch joined by and, or, and/or, & or a slash; None where it is one name.

    Fixed names ("natural and artificial flavors", "mono- and diglycerides") and pairs of modifiers ("bleached and
    malted flour") stay whole.
    """
    stretch = text[start:end]
    matches = list(_JOINT.finditer(stretch))
    if not matches or len(matches) > 40:
        return None
    whole = cleaned(stretch)
    if len(matches) == 1 and not matches[0]["slash"] and "or" not in matches[0][0].lower():
        sides = [cleaned(stretch[: matches[0].start()]), cleaned(stretch[matches[0].end() :])]
        if not all(knows(side) for side in sides) and knows(whole) and shared_head(sides) is None:
            return None
    if whole in words("fixed") or singular(whole) in words("fixed"):
        return None
    parts: list[Stretch] = []
    joints: list[Stretch] = []
    either = False
    done = 0
    for match in matches:
        left = cleaned(stretch[done : match.start()])
        right_end = matches[matches.index(match) + 1].start() if match is not matches[-1] else len(stretch)
        right = cleaned(stretch[match.end() : right_end])
        mark = match[0].lower().strip(", ")
        apart = mark in ("and/or", "and / or", "or", "and or") or "/" in mark
        if not left or not right:
            continue
        if not apart:
            pair = f"{left} {mark} {right}"
            if match["amp"] and len(left.split(" ")[-1]) <= 2:
                continue
            if _fixed(pair) or (left.split(" ")[-1] in words("modifier") and not _COLOUR.match(left)):
                continue
            if left.endswith("-") or stretch[match.start() - 2 : match.start()].strip() == "-" or len(left) < 2:
                continue
        elif match["slash"] and (len(left) < 3 or len(right) < 3):
            continue
        elif apart and left.split(" ")[-1] in words("modifier") and left not in ("corn", "rice"):
            if not match["slash"]:
                either = either or False
            continue
        either = either or apart
        parts.append((start + done, start + match.start()))
        joints.append((start + match.start(), start + match.end()))
        done = match.end()
    if not parts:
        return None
    parts.append((start + done, end))
    parts = [trimmed(text, *part) for part in parts]
    if any(a >= b for a, b in parts):
        return None
    return Joined(tuple(parts), either, tuple(joints))


def shared_head(names: list[str]) -> str | None:
    """Return the head noun the last of joined names lends to the bare ones before it ("oil" of "palm and shea oil")."""
    last = names[-1]
    tail = last.split(" ")
    for count in (3, 2, 1):
        head = " ".join(tail[-count:])
        if len(tail) > count and head in words("head"):
            kinds = (
                words("oil_source")
                if head in ("oil", "oils", "fat", "fats", "shortening", "kernel oil")
                else words("plant")
            )
            if all(bare_source(name, kinds) for name in names[:-1]):
                return head
    return None


def bare_source(name: str, kinds: frozenset[str]) -> bool:
    """Return whether a name is a bare plant or oil source, treatment words before it aside."""
    if name in kinds:
        return True
    parts = name.split(" ")
    return any(" ".join(parts[-count:]) in kinds for count in (1, 2, 3) if count < len(parts)) and len(parts) <= 5


def with_head(name: str, head: str) -> str:
    """Return "palm" with the head "oils" as "palm oil"."""
    return f"{name} {head[:-1] if head in _PLURAL else head}"


_PLURAL = frozenset(
    [
        "oils",
        "fats",
        "flours",
        "starches",
        "syrups",
        "juices",
        "concentrates",
        "powders",
        "gums",
        "lecithins",
        "proteins",
        "extracts",
        "sugars",
    ]
)


def colour_series(names: list[str]) -> list[str]:
    """Return "yellow 5", "6" as "yellow 5", "yellow 6"; names that are no bare number stay."""
    out: list[str] = []
    stem = ""
    for name in names:
        match = _COLOUR.match(name)
        if match:
            stem = match["stem"] + (f" {match['sign']}" if match["sign"] and match["sign"] != "#" else "")
        elif stem and _NUMBER_ONLY.match(name):
            name = f"{stem} {name}" if not name.startswith("no") else f"{stem.split(' no')[0]} {name}"
        out.append(name)
    return out


def class_with_numbers(text: str) -> tuple[int, str] | None:
    """Return (length of the class words, role) of "emulsifier E471" or "colours 102, 110"; None where it is not so."""
    match = re.match(r"([A-Za-z][A-Za-z \-]{2,30}?)\s?[-–]?\s?(?=(?:\(?(?:E|INS) ?\d|\d{3}))", text, re.IGNORECASE)
    if match is None:
        return None
    role = role_class(cleaned(match[1]))
    if role is None:
        return None
    rest = cleaned(text[match.end() :])
    first = re.split(r"\s?(?:,|and|&|\+)\s?", rest)[0]
    return (match.end(), role) if e_number(first, bare=True) else None
