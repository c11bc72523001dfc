"""What a bracket behind a name says: percent, limit, number, role, treatment, other name, source, or parts."""

from __future__ import annotations

import re

from batchwright.original.statements.draft import Draft
from batchwright.original.statements.groups import cap_opening
from batchwright.original.statements.items import read_percent
from batchwright.original.statements.names import NOTE, PERCENT, bare_source, cleaned, with_head
from batchwright.original.statements.words import (
    e_number,
    role_class,
    role_remark,
    singular,
    synonyms,
    words,
)

_PIECE = re.compile(r"\s?(?:,|;|\band/or\b|\band\b|\bor\b|&|/|\.(?=\s))\s?", re.IGNORECASE)
_DECLARES = re.compile(r"^(?:contains?|containing|may contain)(?: |: ?)", re.IGNORECASE)
_FROM = re.compile(r"^(?:from|derived from|made from|of|sourced from|origin:?|source:?)\s", re.IGNORECASE)
_MADE_FROM = re.compile(r"(?:made |reconstituted )?from\s", re.IGNORECASE)  # milk (from milk solids)
_VITAMIN = re.compile(
    r"^(?:pro-?)?vit(?:amin|\.)? ?[a-k] ?-?\d{0,2}$|^(?:a )?b vitamin$|^[a-eo]\d{1,2}$", re.IGNORECASE
)
_MINERALS = frozenset(
    [
        "iron",
        "zinc",
        "calcium",
        "copper",
        "magnesium",
        "manganese",
        "iodine",
        "selenium",
        "chromium",
        "potassium",
        "phosphorus",
        "molybdenum",
    ]
)
_GRADE = re.compile(
    r"(?:min(?:imum)? )?(?:milk ?fat|butterfat|butter fat|fat|cocoa|cocoa solids|alcohol|abv|vol|acidity|"
    r"lean|juice|brix|proof)"
)
_PER_HUNDRED = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?) ?g ?(?:per|/) ?100 ?g(?: (?:of|in) [a-z ]{2,40})?")
_WHERE = re.compile(r"(?:in|for|on) (?:the|dusting)\b")
_ROMAN = re.compile(r"i{1,3}|iv|vi{0,3}")
_RESIDUE = re.compile(r"[<>≤≥~]? ?(?:\d{1,2}(?:[.,]\d{1,3})?)?[<>~]?")  # what is left of a percentage: "(61)", "(<"
_NUMBERED = re.compile(r"\b(?:red|yellow|blue|green|colou?rs?|vitamins?|no|grade|type)\b")
LISTS = frozenset(
    [
        "oil",
        "oils",
        "fat",
        "fats",
        "shortening",
        "shortenings",
        "nuts",
        "seeds",
        "spices",
        "spice",
        "fruit",
        "fruits",
        "vegetables",
        "cereals",
        "grains",
        "beans",
        "concentrates",
        "cereal",
        "juices",
        "herbs",
        "cultures",
        "enzymes",
        "vitamins",
        "minerals",
        "sugars",
        "sugar",
        "syrups",
        "flours",
        "seasoning",
        "seasonings",
        "leavening",
    ]
)
_PROCESS_ENDS = (
    "processed",
    "pressed",
    "dried",
    "roasted",
    "pasteurized",
    "pasteurised",
    "concentrate",
    "free",
    "grown",
    "made",
    "proportions",
)


def is_vitamin(text: str) -> bool:
    """Return whether the text is a vitamin's letter name ("vitamin b1") or a mineral's plain name."""
    return bool(_VITAMIN.match(text)) or text in _MINERALS


def is_source(text: str) -> bool:
    """Return whether the text names a biological source ("soy", "soya beans", "from milk")."""
    text = _FROM.sub("", text)
    known = words("source")
    return text in known or singular(text) in known


def is_process(text: str) -> bool:
    """Return whether the text is treatment and not a part ("processed with alkali", "expeller pressed")."""
    known = words("process")
    if text in known:
        return True
    if len(text.split()) > 7:
        return False
    return text.startswith(
        ("processed ", "treated with", "pressed ", "made with real", "cured with", "freeze")
    ) or text.endswith(_PROCESS_ENDS)


def is_synonym(name: str, body: str) -> bool:
    """Return whether the two are names of one thing."""
    table = synonyms()
    for form in {name, singular(name), name.removeprefix("organic ").removeprefix("pure ")}:
        others = table.get(form, frozenset())
        if body in others or singular(body) in others:
            return True
    if is_vitamin(body) or is_vitamin(name):
        return (
            len(name.split()) <= 5
            and len(body.split()) <= 5
            and name not in ("vitamins", "minerals", "vitamin", "mineral")
        )
    if len(body) > 2 and body.isalpha() and body in words("abbreviation") and len(name) > len(body):
        return True
    return name.endswith("glaze") and body == "shellac"


def is_residue(text: str) -> bool:
    """Return whether the text is what is left of a percentage without its sign ("61", "<")."""
    return _RESIDUE.fullmatch(text) is not None


def _percent(draft: Draft, text: str, start: int, end: int, body: str) -> bool | None:
    """Read a bracket that holds a percent; None where it holds none, False where it lists parts."""
    name = draft.name
    match = PERCENT.search(text, start, end)
    if match is None:
        return None
    rest = cleaned(text[start : match.start()] + " " + text[match.end() : end])
    if not rest or rest in (
        "w/w",
        "of product",
        "in finished product",
        "of total",
        "of finished product",
        "in total",
        "by weight",
    ):
        if not read_percent(draft, match, 0):
            draft.say("process", body)
        draft.add("percent", start, end)
        return True
    if re.fullmatch(r"(?:of|in|on) (?:the )?[a-z \-]{2,40}", rest) and "," not in rest:
        if read_percent(draft, match, 0):
            draft.percent_basis = None if re.search(r"\b(?:product|total|food)\b", rest) else "component"
            draft.add("percent", start, end)
            return True
    elif name and _GRADE.fullmatch(rest):
        draft.say("process", body)
        draft.add("process", start, end)
        return True
    return False


def _plain_words(draft: Draft, body: str, start: int, end: int) -> bool:
    """Read "45 g per 100 g", "in the filling" and what is left of a percentage."""
    if is_residue(body) and not role_class(draft.name) and not _NUMBERED.search(draft.name):
        draft.add("empty", start, end)
        return True
    per_hundred = _PER_HUNDRED.fullmatch(body)
    if per_hundred is not None:
        draft.percent = float(per_hundred[1].replace(",", "."))
        draft.add("percent", start, end)
        return True
    if _WHERE.match(body) and len(body.split()) <= 4:
        draft.say("process", body)
        draft.add("process", start, end)
        return True
    return False


def remark(draft: Draft, text: str, start: int, end: int) -> bool:
    """Read the flat bracket text [start, end) into the draft where it is a remark; False where it lists parts."""
    body = cleaned(text[start:end])
    name = draft.name
    if not body:
        for match in NOTE.finditer(text, start, end):
            draft.note = (draft.note or "") + match[0]
            draft.add("note", match.start(), match.end())
        draft.add("empty", start, end)
        return True
    bare_note = NOTE.fullmatch(text[start:end].strip())
    if bare_note:
        draft.note = (draft.note or "") + bare_note[0]
        draft.add("note", start, end)
        return True
    cap = cap_opening(text[start:end])
    if cap is not None:
        if not cleaned(text[start + cap.end : end]) and not cleaned(text[start : start + cap.start]) and name:
            draft.max_percent, draft.strict_max = cap.max_percent, cap.strict
            draft.add("max_percent", start, end)
            return True
        return False
    if "%" in body or "percent" in body or "per cent" in body:
        told = _percent(draft, text, start, end, body)
        if told is not None:
            return told
    if name and _plain_words(draft, body, start, end):
        return True
    heads_class = role_class(name) is not None
    pieces = [cleaned(piece) for piece in _PIECE.split(text[start:end])]
    pieces = [piece for piece in pieces if piece]
    if not heads_class and name and not draft.children:
        number = e_number(text[start:end].strip(), bare=True)
        if number is not None:
            draft.e_number = number[1]
            draft.add("e_number", start, end)
            return True
        roles = [role_remark(piece) for piece in pieces]
        whole = role_remark(body)
        if whole or (pieces and all(roles)):
            draft.say("role", whole or ", ".join(dict.fromkeys(role for role in roles if role)))
            draft.add("role", start, end)
            return True
    if draft.e_number and _ROMAN.fullmatch(body):
        draft.e_number += f"({body})"
        draft.add("e_number", start, end)
        return True
    if draft.e_number and len(pieces) == 1 and not is_source(body):
        draft.say("synonym", body)
        draft.add("synonym", start, end)
        return True
    if is_process(body) or (len(pieces) > 1 and all(is_process(piece) for piece in pieces)):
        draft.say("process", body)
        draft.add("process", start, end)
        return True
    if name and not heads_class and is_synonym(name, body):
        draft.say("synonym", body)
        draft.add("synonym", start, end)
        return True
    declared = _DECLARES.match(body)
    if declared and len(pieces) <= 3:
        named = [pieces[0][declared.end() :].strip(), *pieces[1:]] if pieces else [body]
        body = " ".join(text[start:end].lower().split()).strip(" .,;")
        if all(is_source(piece) or piece in words("allergen") for piece in named) or (
            len(pieces) == 1 and body.startswith(("contains ", "may "))
        ):
            draft.say("declares", body)
            draft.add("declares", start, end)
            return True
    last = name.split(" ")[-1] if name else ""
    if not heads_class and name and last not in LISTS:
        source_pieces = pieces if pieces else [body]
        either = bool(re.search(r"\bor\b|/", body))
        few = len(source_pieces) == 1 or either or (last.startswith(("flavo", "starch")) or " and " in body)
        made_from = len(source_pieces) == 1 and len(body.split()) <= 5 and _MADE_FROM.match(body)
        if (few and all(is_source(piece) for piece in source_pieces)) or made_from:
            draft.say("source", _FROM.sub("", " ".join(text[start:end].lower().split()).strip(" .,;:*_")))
            draft.add("source", start, end)
            return True
    return False


def share_oil(draft: Draft) -> None:
    """Give the parts of an oil, fat or shortening the head noun they lack: (palm, shea) -> palm oil, shea oil."""
    head = draft.name.split(" ")[-1] if draft.name else ""
    if (
        head in ("oil", "oils", "shortening", "shortenings", "fat", "fats", "margarine")
        or "oil" in draft.name
        or "shortening" in draft.name
    ):
        noun = "fat" if head in ("fat", "fats") and "oil" not in draft.name else "oil"
        kinds = words("oil_source")
        for child in draft.children:
            if child.name and not child.e_number and bare_source(child.name, kinds) and not child.children:
                child.name = with_head(child.name, noun)
