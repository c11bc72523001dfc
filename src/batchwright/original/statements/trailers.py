"""What stands beside the list: header words, "contains", "may contain", equipment, cocoa solids, legends."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from batchwright.base.tables import rows
from batchwright.original.statements.groups import cap_opening
from batchwright.original.statements.lexer import CUT, tokens
from batchwright.original.statements.words import words


@dataclass(frozen=True, slots=True)
class Cut:
    """A stretch of the plain text taken out of the list."""

    kind: str
    start: int
    end: int
    items: tuple[str, ...] = ()
    min_percent: float | None = None
    mark: str = ""


@cache
def _starters() -> tuple[re.Pattern[str], dict[str, tuple[str, str]]]:
    table = {row["words"]: (row["kind"], row["strength"]) for row in rows("statement_trailers")}
    return re.compile(rf"(?<![\w-]){_one_pattern(table)}(?![\w-])", re.IGNORECASE), table


def _one_pattern(phrases: Iterable[str]) -> str:
    """Return one pattern for many phrases, their common beginnings shared, the longest that fits first."""
    tree: dict[str, Any] = {}
    for phrase in phrases:
        node = tree
        for character in phrase:
            node = node.setdefault(character, {})
        node[""] = {}

    def written(node: dict[str, Any]) -> str:
        ends = "" in node
        branches = []
        for character, below in sorted(node.items(), reverse=True):
            if character:
                branches.append((r"\s" if character == " " else re.escape(character)) + written(below))
        if not branches:
            return ""
        joined = branches[0] if len(branches) == 1 and not ends else f"(?:{'|'.join(branches)})"
        return joined + "?" if ends else joined

    return written(tree)


@cache
def _header() -> re.Pattern[str]:
    longest_first = sorted((row["words"] for row in rows("statement_headers")), key=len, reverse=True)
    names = "|".join(map(re.escape, longest_first))
    return re.compile(
        rf"(?:\W{{0,3}}|[\d\W]{{4,20}} )(?:(?:{names})\b\s?[/|&,\-(]?\s?){{1,6}}\)?"
        r"\s?(?P<colon>[:;.=\-–]|->)?\s?",
        re.IGNORECASE,
    )


_SOLIDS = re.compile(
    r"(?:(?:milk |dark |white |plain |"
    r"the )?chocolate(?: coating)?:? )?(?:contains?:? )?(?:a )?(?:min(?:imum)?\.? )?(?:of )?"
    r"(?:(?P<before>\d{1,2}(?:[.,]\d)?) ?% )?(?:min(?:imum)?\.? )?(?:dry |total )?(?P<what>cocoa|"
    r"milk) solids\b(?! ?[,(\[])"
    r"(?(before)|[^.,;\n()]{0,12}?(?P<amount>\d{1,2}(?:[.,]\d)?) ?%)(?: ?min(?:imum)?\b\.?)?"
    r"(?:,? (?:and )?(?:\d{1,2}(?:[.,]\d)? ?% )?"
    r"milk solids[^.,;\n]{0,12}?(?:\d{1,2}(?:[.,]\d)? ?%)?(?: ?min(?:imum)?\b)?)?",
    re.IGNORECASE,
)
_LEGEND = re.compile(r"(?P<mark>[*†‡§^+¹²³⁺]{1,4}|\(\*{1,3}\))\s?[=:\-–]?\s?(?=[^\W\d_]|\d{1,3} ?%)")
_LIST_JOINT = re.compile(r"\s*(?:,|;|&|\band/or\b|\band\b|\bor\b|\.)\s*", re.IGNORECASE)
_LEAD = re.compile(
    r"^(?:\W*(?:contains?|may|also|traces?|of|trace|amounts|the|following|allergens?|ingredients?|this|"
    r"product|information|"
    r"advice|one|more|or|be|present|minute|small|possible|unintended|can|and|from|other than|it|warning|"
    r"allergy)\b)*\W*",
    re.IGNORECASE,
)
_OTHER_LEAD = re.compile(r"^other (?=nuts|tree nuts|cereals)", re.IGNORECASE)
_EQUIPMENT_LEAD = re.compile(
    r".{0,160}?(?:\balso (?:processes|handles|process|handle|uses|makes|produces|packs|packages|used for|"
    r"used to process|used to make|"
    r"contains?|processing|manufactures)|\bthat (?:processes|handles|uses|process|packages|makes|produces|"
    r"contains?|manufactures|use|handle)|"
    r"\bwhich (?:processes|handles|uses|also)|\bhandling|\bprocessing|\bhandles|\bshared with|"
    r"\bshares equipment with|\bwhere|\bwith|"
    r"\bprocesses|\busing|\bcontaining|\bprocess)\b(?: products containing| products with|"
    r" products made with| containing)?:?",
    re.IGNORECASE | re.DOTALL,
)
_SENTENCE = re.compile(
    r"\b(?:is|are|was|were|be|this|these|our|your|you|we|please|see|store|keep|made|suitable|visit|consume|"
    r"not|no|may|for|use|by|"
    r"information|product|products|package|pack|contact|serve|do|if|it|allergens?|bold|vegetarians?|vegans?)\b",
    re.IGNORECASE,
)


def _listed(text: str, lead: re.Pattern[str]) -> tuple[str, ...]:
    """Return the things named in a trailer, in lower case; a bracket stays with the thing before it."""
    text = text.strip()
    match = lead.match(text)
    text = text[match.end() :] if match else text
    pieces: list[str] = []
    depth = 0
    start = 0
    for joint in re.finditer(r"[(\[{]|[)\]}]|,|;|&|\band/or\b|\band\b|\bor\b|\.|\n", text, re.IGNORECASE):
        if joint[0] in "([{":
            depth += 1
        elif joint[0] in ")]}":
            depth = max(0, depth - 1)
        elif depth == 0:
            pieces.append(text[start : joint.start()])
            start = joint.end()
    pieces.append(text[start:])
    clean = (" ".join(piece.lower().split()).strip(" .,:;*!-–") for piece in pieces)
    return tuple(dict.fromkeys(piece for piece in clean if piece and piece not in ("the", "of", "and", "also")))


def _allergenic(text: str) -> bool:
    known = words("allergen")
    return text in known or any(word in known for word in re.findall(r"[a-z]+", text))


def _depths(text: str) -> list[tuple[int, int]]:
    """Return the stretches inside brackets that do close."""
    stack: list[int] = []
    spans: list[tuple[int, int]] = []
    for match in re.finditer(r"[()\[\]{}]", text):
        if match[0] in "([{":
            stack.append(match.start())
        elif stack:
            start = stack.pop()
            if not stack or match.start() - start > 0:
                spans.append((start, match.start()))
    spans.sort()
    outer: list[tuple[int, int]] = []
    for start, end in spans:
        if not outer or start > outer[-1][1]:
            outer.append((start, end))
    return outer


def _sentence_end(text: str, start: int, limit: int) -> int:
    """Return where the sentence that begins at `start` ends (its stop included), at most `limit`."""
    for match in re.compile(r"[.!\n]").finditer(text, start, limit):
        place = match.start()
        if match[0] == "\n":
            before = text[start:place].rstrip()
            after = text[place + 1 : place + 2]
            if before.endswith((",", ":", ";", "&")) or after.islower() or not after:
                continue
            if re.search(
                r"\b(?:and|or|of|the|that|with|a|on|in|also|may|contain|contains)$", before[-12:], re.IGNORECASE
            ):
                continue
            return place
        if (
            place + 1 >= limit
            or text[place + 1].isspace()
            or text[place + 1] in "*†)\"'" + CUT
            or text[place + 1].isupper()
        ):
            if re.search(
                r"(?:\b(?:no|inc|co|ltd|min|approx|u\.s|st)|\b[a-z])$",
                text[max(start, place - 8) : place],
                re.IGNORECASE,
            ):
                continue
            return place + 1
    return limit


def _described(kind: str, text: str, start: int, end: int) -> Cut | None:
    """Return the trailer with what it names; None where the words turn out to be no trailer."""
    body = text[start:end]
    if kind == "equipment":
        named = _EQUIPMENT_LEAD.match(body)
        return Cut(kind, start, end, _listed(body[named.end() :], _LEAD) if named else ())
    if cap_opening(body[:200]) is not None:
        return None
    one_of = re.search(r"one or more of", body[:60], re.IGNORECASE) is not None
    if kind == "may contain":
        items = _listed(body, _LEAD)
        if one_of and not all(_allergenic(item) for item in items):
            return None
        return Cut(kind, start, end, tuple(_OTHER_LEAD.sub("other ", item) for item in _listed(body, _LEAD)))
    if kind == "contains":
        items = _listed(body, _LEAD)
        if one_of and not all(_allergenic(item) for item in items):
            return None
        if re.search(r"\d ?%|percent\b", body[:60]) and not all(_allergenic(item) for item in items):
            return None
        told = sum(_allergenic(item) for item in items)
        if len(items) >= 3 and told * 2 < len(items) and len(_SENTENCE.findall(body)) < 2:
            return None
        if (
            not items
            or told * 2 < len(items)
            or re.search(r"\bno\b|\bfree\b|naturally occurring|source of", body[:60], re.IGNORECASE)
        ):
            return Cut("statement", start, end)
        return Cut(kind, start, end, items)
    return Cut(kind, start, end)


def headers(text: str) -> tuple[int, int] | None:
    """Return the stretch of the header words at the start ("Zutaten / Ingredients:"), or None."""
    match = _header().match(text)
    if match is None or match.end() == 0:
        return None
    after = text[match.end() : match.end() + 1]
    if match["colon"] is None and not ("\n" in match[0] or after.isupper() or "/" in match[0]):
        return None
    return match.start(), match.end()


def solids_statement(text: str, start: int, end: int) -> Cut | None:
    """Return the "cocoa solids 35% minimum" that stands alone between two separators, else None."""
    match = _SOLIDS.fullmatch(text, start, end) if "solids" in text[start:end].lower() else None
    if match is None:
        return None
    amount = float((match["before"] or match["amount"]).replace(",", "."))
    return Cut(match["what"].lower() + " solids", start, end, (), amount)


def opening_header(text: str) -> int:
    """Return how many characters of the start are a header without colon ("Ingredients Carrot"); 0 where none."""
    if text[:4].lower() != "ingr":
        return 0
    match = _header().match(text)
    return match.end() if match and match.end() < len(text) and text[match.end()].isupper() else 0


def is_header(text: str) -> bool:
    """Return whether the text is nothing but header words ("ingredients", "made from")."""
    match = _header().match(text) if len(text) < 80 else None
    return match is not None and match.end() == len(text)


def _legends(text: str, outer: list[tuple[int, int]]) -> list[tuple[int, int, str]]:
    used: set[str] = set()
    found: list[tuple[int, int, str]] = []
    for match in re.compile(r"[*†‡§^+¹²³⁺]{1,4}").finditer(text):
        place = match.start()
        before = text[place - 1] if place else "\n"
        if before.isalnum() or before in ")]%" or (before == " " and text[match.end() : match.end() + 1] in ",;)]"):
            used.add(match[0])
    for match in _LEGEND.finditer(text):
        mark = match["mark"].strip("()")
        before = text[: match.start()][-3:].rstrip(" ")[-1:] if match.start() else "\n"
        glued = match.start() > 0 and (text[match.start() - 1].isalnum() or text[match.start() - 1] in ")]")
        if before in (",", "(", "[", ":", "&", "/") or (glued and mark) or match.start() == 0:
            continue
        if before in (".", ";", "\n", CUT) or mark in used:
            found.append((match.start(), match.end(), mark))
    return [entry for entry in found if not any(start < entry[0] < end for start, end in outer[-40:])]


def cuts(text: str) -> list[Cut]:
    """Return the trailers and legends of the plain text in order, never overlapping."""
    outer = _depths(text)
    inside_at = 0

    def inside(place: int) -> bool:
        nonlocal inside_at
        while inside_at < len(outer) and outer[inside_at][1] < place:
            inside_at += 1
        return inside_at < len(outer) and outer[inside_at][0] < place

    pattern, table = _starters()
    starts: list[tuple[int, str, str]] = []
    heads: dict[int, int] = {}
    for match in pattern.finditer(text):
        kind, strength = table[" ".join(match[0].lower().split())]
        before = text[max(0, match.start() - 3) : match.start()].rstrip(" \"'*†-–•")[-1:]
        bounded = before in ("", ".", ";", "\n", "!", ":", ")", "]", "|", CUT)
        colon = before == "," and text[match.end() : match.end() + 2].lstrip().startswith(":")
        if match[0].lower() == "contains" and not bounded and text[match.end() : match.end() + 1] == " ":
            said = _listed(
                text[match.end() : _sentence_end(text, match.end(), min(len(text), match.end() + 200))], _LEAD
            )
            bounded = bool(said) and all(item in words("allergen") for item in said)
        if strength == "alone" and not (bounded and _stands_alone(text, match.start())):
            continue
        if (strength == "strong" or bounded or colon) and not inside(match.start()):
            starts.append((match.start(), kind, ""))
            heads[match.start()] = match.end()
    inside_at = 0
    for match in _SOLIDS.finditer(text) if "solids" in text.lower() else ():
        before = text[max(0, match.start() - 3) : match.start()].rstrip()[-1:]
        if before in ("", ".", ";", "\n", ",", ":", ")", "*") and not inside(match.start()):
            starts.append((match.start(), match["what"].lower() + " solids", match["before"] or match["amount"]))
    starts += [(start, "footnote", mark) for start, _, mark in _legends(text, outer)]
    starts.sort(key=lambda entry: entry[0])
    found: list[Cut] = []
    done = 0
    opened = -1
    for place, (start, kind, detail) in enumerate(starts):
        if start < done:
            continue
        after = starts[place + 1][0] if place + 1 < len(starts) else -1
        if start in heads and after >= heads[start] and not text[heads[start] : after].strip(" :,-–\n"):
            # "Allergy advice: may contain ...": a heading of the trailer behind it
            opened = start if opened < 0 else opened
            continue
        start, opened = (opened if opened >= 0 else start), -1
        limit = len(text)
        for later in starts[place + 1 : place + 6]:
            if later[0] > max(start, heads.get(starts[place][0], 0)) + 2:
                limit = later[0]
                break
        end = _sentence_end(text, start, limit)
        if kind.endswith(" solids"):
            solids = _SOLIDS.match(text, starts[place][0])
            cut: Cut | None = Cut(
                kind, start, max(end, solids.end() if solids else end), (), float(detail.replace(",", "."))
            )
        elif kind == "footnote":
            cut = Cut(kind, start, end, mark=detail)
        else:
            cut = _described(kind, text, start, end)
        if cut is not None:
            found.append(cut)
            done = cut.end
    return _with_rest(text, found)


def _stands_alone(text: str, start: int) -> bool:
    """Whether a sentence such as "gluten free" or "certified organic" stands for itself behind the list."""
    if not text[:start].strip():
        return False
    sentence = text[start : min(_sentence_end(text, start, min(len(text), start + 80)), start + 80)]
    return len(sentence.split()) <= 6 and not re.search(r"[,;(\[:%]", sentence)


def _with_rest(text: str, found: list[Cut]) -> list[Cut]:
    """Add, as statements, the sentences behind the first trailer that are no list."""
    out: list[Cut] = []
    for place, cut in enumerate(found):
        out.append(cut)
        limit = found[place + 1].start if place + 1 < len(found) else len(text)
        start = cut.end
        while start < limit:
            end = _sentence_end(text, start, limit)
            sentence = text[start:end].strip()
            bare = sentence.strip(" .,;:")
            if (
                bare
                and out[-1].kind == "contains"
                and len(bare) < 40
                and all(item in words("allergen") for item in _listed(bare, _LEAD))
            ):
                out[-1] = Cut(
                    "contains", out[-1].start, end, tuple(dict.fromkeys(out[-1].items + _listed(bare, _LEAD)))
                )
            elif bare and _is_list(sentence):
                break
            elif bare:
                out.append(Cut("statement", start, end))
            start = max(end, start + 1)
    return out


def _is_list(sentence: str) -> bool:
    if cap_opening(sentence[:200]) is not None:
        return True
    if headers(sentence) is not None or re.match(r"[^,.(]{2,40}(?:ingredients?)?:\s", sentence):
        return not re.match(r"\W*(?:allerg|nutrition|storage|warning|net|best)", sentence, re.IGNORECASE)
    commas = sum(token.kind in ("sep", "open") for token in tokens(sentence))
    told = len(_SENTENCE.findall(sentence))
    return commas >= 2 and told * 3 <= commas
