"""The reader's word tables, loaded once: role words, sources, process phrases, heads of names, E-numbers."""

from __future__ import annotations

import re
from functools import cache

from batchwright.base.tables import rows


@cache
def words(kind: str) -> frozenset[str]:
    """Return the words of one kind in `statement_words.csv` (source, allergen, process, component, oil_source ...)."""
    return frozenset(row["word"] for row in rows("statement_words") if row["kind"] == kind)


@cache
def synonyms() -> dict[str, frozenset[str]]:
    """Return, for each name, the other names that may stand in brackets behind it; both ways round."""
    found: dict[str, set[str]] = {}
    for row in rows("statement_words"):
        if row["kind"] == "synonym":
            found.setdefault(row["word"], set()).add(row["value"])
            found.setdefault(row["value"], set()).add(row["word"])
    return {name: frozenset(others) for name, others in found.items()}


def singular(text: str) -> str:
    """Return the text with a plain plural "s" of its last word taken off."""
    if text.endswith("ies") and len(text) > 5:
        return text[:-3] + "y"
    if text.endswith("s") and not text.endswith(("ss", "us", "is")) and len(text) > 3:
        return text[:-1]
    return text


@cache
def _roles() -> dict[str, tuple[str, str, bool]]:
    return {row["word"]: (row["role"], row["place"], row["after_name"] == "yes") for row in rows("statement_roles")}


_LEAD = re.compile(
    r"^(?:(?:used|added|as|an?|for|the|is|are|serves|acts|act|which|natural source of|:|-|–)\s+|[-–]\s*)+",
    re.IGNORECASE,
)


@cache
def _role_of(text: str) -> tuple[str, str, bool] | None:
    table = _roles()
    for form in (text, singular(text), text.replace("-", " "), singular(text.replace("-", " "))):
        if form in table:
            return table[form]
    return None


_PURPOSE = re.compile(
    r"(?:^|\s)to (?:help )?(?:preserve|protect|maintain|prevent|retain|promote|extend|ensure|retard|inhibit|"
    r"project|keep) (?P<of>[a-z ]{3,30})$"
)
_PURPOSES = (
    ("color", "color retention agent"),
    ("colour", "colour retention agent"),
    ("brown", "color retention agent"),
    ("cak", "anti-caking agent"),
    ("stick", "anti-caking agent"),
    ("clump", "anti-caking agent"),
    ("moist", "humectant"),
    ("fresh", "preservative"),
    ("flav", "preservative"),
    ("taste", "preservative"),
    ("spoil", "preservative"),
    ("mold", "preservative"),
    ("quality", "preservative"),
    ("oxid", "antioxidant"),
)


def role_remark(text: str) -> str | None:
    """Return the role a remark gives ("emulsifier", "to preserve freshness", "as an antioxidant"), or None."""
    if len(text) > 80:
        return None
    text = text.strip(" .,;:-–")
    found = _role_of(text) or _role_of(_LEAD.sub("", text))
    if found:
        return found[0]
    purpose = _PURPOSE.search(text)
    if purpose is None:
        return None
    for hint, role in _PURPOSES:
        if hint in purpose["of"]:
            return role
    return purpose[0]


def role_class(text: str) -> str | None:
    """Return the role a class heading names ("raising agents", "artificial colors"), or None."""
    if len(text) > 60:
        return None
    found = _role_of(text)
    return found[0] if found and found[1] == "any" else None


def role_after(text: str) -> tuple[str, str] | None:
    """Split "bht preservative" into the name and its role; None where the last word is no such role."""
    head, _, last = text.rpartition(" ")
    if not head or len(last) > 30:
        return None
    found = _role_of(last)
    return (head, found[0]) if found and found[2] else None


@cache
def _additives() -> dict[str, str]:
    return {row["number"].lower(): row["name"] for row in rows("statement_e_numbers")}


_E_NUMBER = re.compile(
    r"^(?:(e|ins|cns)[\s.\-:]{0,2})?(\d{3,4})\s?([a-h]?)(?:\s?\(?(i{1,3}|iv|v|vi{0,3}|ix|"
    r"x{1,2})\)?)?$",
    re.IGNORECASE,
)


def e_number(text: str, bare: bool = False) -> tuple[str, str] | None:
    """Return (additive's name, number as printed) of "E500ii", "INS 322", or with `bare` also of "500"; else None.

    A number that is not in the table gives its printed form as the name when it carries the letter E.
    """
    if len(text) > 14:
        return None
    match = _E_NUMBER.match(text.strip())
    if match is None or (not match[1] and not bare):
        return None
    table = _additives()
    name = table.get(match[2] + match[3].lower()) or table.get(match[2])
    if name is None:
        return (text.strip().lower(), text.strip()) if match[1] else None
    return name, text.strip()


@cache
def additive_names() -> frozenset[str]:
    """Return the names of the E-number table, with and without the plural."""
    names = {row["name"] for row in rows("statement_e_numbers")}
    return frozenset(names | {singular(name) for name in names})
