"""The opening words of a "2 % or less" group, in the many ways they are printed, and of "one or more of" lists."""

from __future__ import annotations

import re
from dataclasses import dataclass

_AMOUNT = r"(?P<amount>\d{1,2}(?:[.,]\d{1,3})?|½|¼|1/2|1/4|1/10|one[- ]half|one[- ]quarter|half|one|two|three|five)"
_SIGN = r"(?:(?:\s?of\s?(?:1|one))?\s?(?:%|percent\b|per ?cent\b|pct\b\.?)|(?= or less of)|(?= of each))"
_LESS = r"(?:less|lesser|fewer|les|lees|iess|1ess|leess|below|under|smaller)"
_MOST = r"(?:less|lesser|fewer|below|under|no more|not more|up to|at most|maximum of|max|not exceeding|within)"
_VERB = (
    r"(?:(?:and |also |which |it |each |products? |may )?"
    r"(?:contains?|containing|contents?|conatins|contans|contain|cont|includes?|including|made with|with|"
    r"plus|has|have|adds?)"
    r"\s?:?\s?(?:of |also )?)"
)
_WHAT = (
    r"(?:the )?(?:following|ingredients?|remaining|other|minor|these|items|each)"
    r"(?: ingredients?| minor ingredients?| items)?"
)
_TAIL = (
    r"(?:\s?(?:of|each|each of|the|following|these|this|ingredients?|by weight|minor|other|items|or less|"
    r"for each|in each)\b"
    r"(?![\w-]))*"
)
_CAP = re.compile(
    rf"(?<![\w.,]){_VERB}?(?:(?:each |some |all |one or more )?(?:of )?{_WHAT}\s?:?,?\s?"
    rf"(?:(?:are |is |is present |are present |present |used |each )?(?:at|in|in amounts of|in quantities of|"
    rf"at levels of)?\s?))?"
    rf"(?:(?P<less>{_MOST})(?: than| then| that| of)?:?\s?{_AMOUNT}{_SIGN}(?:\s?or less)?"
    rf"|{_AMOUNT.replace('amount', 'amount2')}{_SIGN}\s?(?:or|of|and|oe|0r|ar)?(?:\s?of)?[ /]?{_LESS}\b(?: than)?)"
    rf"(?P<tail>{_TAIL})\s?(?P<colon>:)?",
    re.IGNORECASE,
)
_CAP_PLAIN = re.compile(
    rf"(?<![\w.,])(?:contains?|containing)\s?:?\s?{_AMOUNT}{_SIGN}(?: of)? (?:the|"
    rf"each)(?: of the)? following(?: ingredients)?\s?:?",
    re.IGNORECASE,
)
_NOT_A_GROUP = re.compile(
    r"\s?(?:milk ?)?(?:fat|milkfat|butterfat|acidity|lactose|moisture|alcohol|caffeine)\b", re.IGNORECASE
)
_VERBS = ("con", "inc", "mad", "wit", "and", "als", "whi", "it ", "eac")
_WORDS = {
    "½": 0.5,
    "1/2": 0.5,
    "half": 0.5,
    "¼": 0.25,
    "1/10": 0.1,
    "1/4": 0.25,
    "one": 1.0,
    "two": 2.0,
    "three": 3.0,
    "five": 5.0,
}

_ONE_OF = re.compile(
    r"^(?:(?:may )?(?:contains?|containing|made from|made with|with|from|consisting of|including)?\s?:?\s?)?"
    r"(?:at least one of|one or more of|any one or more of|any of|either of|one of|one or both of|"
    r"one or more|any combination of|"
    r"some or all of|and/or|either)(?: of)?(?: the)?(?: following)?(?: vegetable)?(?: ingredients| oils?|"
    r" fats?)?\s?:?(?![\w-])",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Cap:
    """An opening of a group: where it stands in the text looked through, and the limit [%]."""

    start: int
    end: int
    max_percent: float
    strict: bool
    opens: bool = True
    """False for a bare "less than 1 %" with neither verb nor "of": the limit of the next item alone."""


def _value(amount: str) -> float | None:
    amount = amount.lower()
    if amount in _WORDS:
        return _WORDS[amount]
    if amount.startswith("one") and len(amount) > 3:
        return 0.5 if "half" in amount else 0.25
    try:
        return float(amount.replace(",", "."))
    except ValueError:
        return None


def cap_opening(text: str) -> Cap | None:
    """Return the first "contains 2 % or less of" in the text, or None. Limits above 10 % are no such group."""
    lower = text.lower()
    if (
        "%" not in text
        and "percent" not in lower
        and "per cent" not in lower
        and "less" not in lower
        and "pct" not in lower
    ):
        return None
    match = _CAP.search(text)
    if match is None:
        match = _CAP_PLAIN.search(text)
        if match is None:
            return None
        amount, strict = _value(match["amount"]), False
    else:
        amount = _value(match["amount"] or match["amount2"])
        strict = bool(match["less"]) and match["less"].lower() in ("less", "lesser", "fewer", "below", "under")
        strict = strict and "or less" not in match[0].lower()
        if _NOT_A_GROUP.match(text, match.end()):
            return None
    if amount is None or not 0 < amount <= 10:
        return None
    if "of 1" in match[0] or "of one" in match[0].lower():
        amount = amount if amount < 1 else 1.0
    plain = match.re is _CAP_PLAIN or match[0][:3].lower() in _VERBS
    opens = plain or bool(match["tail"].strip() or match["colon"])
    return Cap(match.start(), match.end(), amount, strict, opens)


def one_of_opening(text: str) -> int:
    """Return how many characters of the start of the text say "one or more of the following" (0 where none)."""
    match = _ONE_OF.match(text)
    return match.end() if match else 0
