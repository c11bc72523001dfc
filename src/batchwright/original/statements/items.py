"""One listed stretch made into items: percents, marks, treatment, role, E-number, joined names."""

from __future__ import annotations

import re

from batchwright.original.statements.brackets import Report
from batchwright.original.statements.classes import class_before, class_behind
from batchwright.original.statements.draft import Draft
from batchwright.original.statements.names import (
    NOTE,
    PERCENT,
    class_with_numbers,
    cleaned,
    colour_series,
    shared_head,
    split_joined,
    trimmed,
    with_head,
)
from batchwright.original.statements.spelling import mended, missing_comma, words_end
from batchwright.original.statements.words import additive_names, e_number, role_after, role_class, role_remark, words

_COLOURED = re.compile(r"^colou?red with\s", re.IGNORECASE)
_LEADING = re.compile(r"^(?:and/or|and|or|&|plus)(?![\w-])\s?", re.IGNORECASE)
_TREATED = re.compile(
    r"\s(?:(?:(?:processed|treated|alkalized|alkalised) )?with (?:alkali|potassium carbonate)|(?:processed|"
    r"treated) with lime|in var(?:ying|iable) proportions?)$",
    re.IGNORECASE,
)
_PURPOSE = re.compile(
    r"[\s,]\s?(?:(?:is |are )?(?:added|used)\s)?(?P<words>(?:to (?:help )?(?:preserve|protect|maintain|"
    r"prevent|retain|promote|retard|extend|ensure|project|keep)|for (?:freshness|color|"
    r"colour|flavor|flavour|color retention)|as an? |as (?=preservative|emulsifier|antioxidant|"
    r"stabilizer))[a-z \-]{0,40})$",
    re.IGNORECASE,
)
_APPOSED = re.compile(r"\s?[-–—,]\s?(?P<words>an? [a-z \-]{3,40})$", re.IGNORECASE)
_TAILS = (
    (_TREATED, "process", re.compile(r"\swith\s|proportion", re.IGNORECASE)),
    (_PURPOSE, "role", re.compile(r"\s(?:to|for|as)\s", re.IGNORECASE)),
    (_APPOSED, "role", re.compile(r"[-–—,]\s?an?\s", re.IGNORECASE)),
)
_DIGIT = re.compile(r"\d")
_WITH = re.compile(
    r"\swith\s(?!alkali|lime|vitamin|added|calcium|other|natural|milk|ascorbic|pulp|salt\b)", re.IGNORECASE
)
_NAME_WITH_NUMBER = re.compile(
    r"^(?P<name>.{3,60}?)[\s\-–]{1,3}(?P<number>(?:E|INS)[\s\-]?\d{3,4}[a-i]{0,4})$", re.IGNORECASE
)
_TYPE_FIRST = re.compile(r"(?:lean|milk ?fat|butterfat|fat|reduced fat|low ?fat|proof|acidity)\b")
_ABOUT = re.compile(
    r"^(?:fat|milk ?fat|butterfat|cocoa|juice|fruit|acidity|alcohol|abv|lean|vol|pure|rda|dv|nrv|ri|solids|"
    r"protein|less|or)\b",
    re.IGNORECASE,
)


MOST_PERCENT = 300
"""A printed percent may pass 100 (of the finished food: "prepared from 138 g per 100 g"); beyond this it is a slip."""


def read_percent(draft: Draft, match: re.Match[str], start: int) -> bool:
    """Put a printed percent into the draft; False where it is no percent of an ingredient (over 300)."""
    amount = float(match["amount"].replace(",", "."))
    if amount > MOST_PERCENT:
        return False
    after = (match["after"] or "").lower()
    if match["least"] or "min" in after:
        draft.percent_min = amount
    elif match["most"] or "max" in after:
        draft.percent_max = amount
    else:
        draft.percent = amount
    if match["part"] and not re.search(r"\b(?:product|total|food)\b", match["part"], re.IGNORECASE):
        draft.percent_basis = "component"
    draft.add("percent", start + match.start(), start + match.end())
    return True


class Stretches:
    """Makes drafts out of stretches of one plain text."""

    def __init__(self, text: str, report: Report) -> None:
        self.text = text
        self.report = report
        self.bracketed = False

    def drafts(
        self,
        start: int,
        end: int,
        bare_numbers: bool = False,
        splits: bool = True,
        bracketed: bool = False,
        lists: bool = False,
    ) -> tuple[list[Draft], bool]:
        """Return the items of one stretch (between separators, brackets aside) and whether they are either-or."""
        text = self.text
        self.bracketed = lists
        if bracketed:
            cut = class_behind(text, start, end)
            if cut is not None:
                # "rapeseed oil humectant (glycerol)": a lost comma before the class
                self.report("separator missing", "", ",", cut, cut)
                first, either = self.drafts(start, cut, bare_numbers, splits)
                return first + self.drafts(cut, end, bare_numbers, splits)[0], either
        lead = _LEADING.match(text[start : min(end, start + 8)])
        first_spans: list[tuple[int, int, str]] = []
        either = False
        if lead and lead.end() < end - start:
            first_spans.append((start, start + lead.end(), "joint"))
            either = "or" in lead[0].lower()
            start += lead.end()
        out = self._around_percent(start, end, bare_numbers, splits)
        if out[0] and first_spans:
            out[0][0].spans[:0] = first_spans
        return out[0], out[1] or either

    def _around_percent(
        self, start: int, end: int, bare: bool, splits: bool, more: int = 20
    ) -> tuple[list[Draft], bool]:
        """Cut "pistachios 5% lactose" in two; take the percents out of the rest."""
        text = self.text
        stretch = text[start:end]
        if "%" in stretch or "percent" in stretch.lower() or "per cent" in stretch.lower():
            match = PERCENT.search(stretch)
            if match and float(match["amount"].replace(",", ".")) <= MOST_PERCENT:
                left, right = cleaned(stretch[: match.start()]), cleaned(stretch[match.end() :])
                if left in words("modifier") and right:
                    return self._joined(start, end, bare, splits)
                if left and right and more and not _ABOUT.match(right) and not left.endswith((" of", "with")):
                    self.report("separator missing", "", ",", start + match.end(), start + match.end())
                    first, _ = self._around_percent(start, start + match.end(), bare, splits, 0)
                    rest, either = self._around_percent(start + match.end(), end, bare, splits, more - 1)
                    return first + rest, either
                if not left and (
                    _TYPE_FIRST.match(right) or (right.split(" ")[0] == "milk" and match["amount"] in ("1", "2"))
                ):
                    # "85% lean beef", "2% milk": the percent belongs to the name
                    return self._joined(start, end, bare, splits)
                draft = Draft("")
                if (left or right) and match["amount"] == "100" and not left:
                    draft.say("process", "100%")
                    draft.add("process", start + match.start(), start + match.end())
                else:
                    read_percent(draft, match, start)
                if left and right:
                    # "milk 3.5% fat": the percent belongs to the name
                    return self._joined(start, end, bare, splits)
                inner = (start, start + match.start()) if left else (start + match.end(), end)
                of = re.match(r"\s?of\s", text[inner[0] : inner[1]]) if not left else None
                if of:
                    draft.add("percent", inner[0], inner[0] + of.end())
                    inner = (inner[0] + of.end(), inner[1])
                if not (left or right):
                    return [draft], False
                drafts, either = self._joined(*inner, bare, splits)
                target = drafts[-1] if left else drafts[0]
                target.spans += draft.spans
                for key in ("percent", "percent_min", "percent_max", "percent_basis"):
                    setattr(target, key, getattr(draft, key))
                if draft.process:
                    target.say("process", draft.process)
                return drafts, either
        return self._joined(start, end, bare, splits)

    def _joined(self, start: int, end: int, bare: bool, splits: bool) -> tuple[list[Draft], bool]:
        headed = class_before(self.text, *trimmed(self.text, start, end))
        if headed is not None:
            cut, role = headed
            start, end = trimmed(self.text, start, end)
            klass = Draft(cleaned(self.text[start:cut]), role=role)
            klass.add("name", start, cut)
            klass.children, _ = self._joined(cut, end, True, splits)
            return [klass], False
        joined = split_joined(self.text, start, end) if splits else None
        if joined is None:
            return self._one(start, end, bare), False
        names = [cleaned(self.text[a:b]) for a, b in joined.parts]
        tail_process = _TREATED.search(names[-1])
        head = shared_head(names)
        names = colour_series(names)
        drafts: list[Draft] = []
        for place, (a, b) in enumerate(joined.parts):
            made = self._one(a, b, bare)
            plain_name = cleaned(self.text[a:b])
            if place + 1 < len(names) and head and len(made) == 1 and made[0].name == plain_name:
                made[0].name = with_head(plain_name, head)
            elif len(made) == 1 and names[place] != plain_name:
                made[0].name = names[place]
            drafts += made
        for place, (a, b) in enumerate(joined.joints):
            drafts[min(place + 1, len(drafts) - 1)].add("joint", a, b)
        roles = {draft.role for draft in drafts[:-1]}
        if drafts[-1].role and roles == {None} and (_PURPOSE.search(self.text[start:end]) or tail_process):
            for draft in drafts[:-1]:
                draft.role = drafts[-1].role
        return drafts, joined.either

    def _one(self, start: int, end: int, bare: bool) -> list[Draft]:
        """Return the item of a stretch that holds one name (two or three where parts are joined by "with")."""
        text = self.text
        start, end = trimmed(text, start, end)
        draft = Draft("")
        pieces: list[tuple[int, int]] = []
        place = start
        for match in NOTE.finditer(text, start, end):
            pieces.append((place, match.start()))
            draft.add("note", match.start(), match.end())
            draft.note = (draft.note or "") + match[0]
            place = match.end()
        pieces.append((place, end))
        pieces = [trimmed(text, *piece) for piece in pieces]
        pieces = [piece for piece in pieces if piece[0] < piece[1]]
        if not pieces:
            return [draft]
        last_start, last_end = pieces[-1]
        last = text[last_start:last_end]
        for pattern, what, hint in _TAILS:
            found = pattern.search(last) if hint.search(last) else None
            if found is None or found.start() < 2:
                continue
            if what == "role":
                role = role_remark(cleaned(found["words"]))
                if role is None:
                    continue
                draft.role = role
            else:
                draft.say("process", cleaned(found[0]))
                draft.ordered = draft.ordered and "proportion" not in found[0].lower()
            draft.add(what, last_start + found.start(), last_end)
            last_end = last_start + found.start()
            last = text[last_start:last_end]
        pieces[-1] = trimmed(text, last_start, last_end)
        coloured = _COLOURED.match(text[pieces[0][0] : pieces[0][1]])
        if coloured is not None and coloured.end() < pieces[0][1] - pieces[0][0]:
            draft.role = "colour" if "ou" in coloured[0].lower() else "color"
            draft.add("role", pieces[0][0], pieces[0][0] + coloured.end())
            pieces[0] = (pieces[0][0] + coloured.end(), pieces[0][1])
        name = cleaned(" ".join(text[a:b] for a, b in pieces))
        with_word = _WITH.search(text, pieces[0][0], pieces[-1][1]) if " with " in name else None
        if with_word is not None and len(pieces) == 1:
            return [self._with(draft, pieces[0], with_word, bare)]
        headed = class_with_numbers(text[pieces[0][0] : pieces[-1][1]]) if _DIGIT.search(name) else None
        if headed is not None:
            length, role = headed
            a, b = pieces[0][0], pieces[-1][1]
            draft.name, draft.role = cleaned(text[a : a + length]), role
            draft.add("name", a, a + length)
            draft.children, _ = self._joined(*trimmed(text, a + length, b), True, True)
            return [draft]
        after = role_after(name) if draft.role is None and len(pieces) == 1 else None
        if (
            after is not None
            and role_class(name) is None
            and after[0] not in words("modifier")
            and not role_class(after[0])
        ):
            cut = pieces[0][0] + text[pieces[0][0] : pieces[0][1]].rindex(" ")
            draft.add("role", cut, pieces[0][1])
            draft.role = after[1]
            pieces[0] = (pieces[0][0], cut)
            name = after[0]
        count = missing_comma(name) if len(pieces) == 1 and not self.bracketed else None
        if count is not None:
            cut = words_end(text, *pieces[0], count)
            self.report("separator missing", "", ",", cut, cut)
            return [*self._one(pieces[0][0], cut, bare), *self._rest(draft, cut, pieces[0][1], bare)]
        for piece in pieces:
            draft.add("name", *piece)
        draft.name = name
        self._numbered(draft, bare)
        if draft.e_number is None:
            self._mend(draft, pieces[0][0], pieces[-1][1], bare)
        return [draft]

    def _rest(self, draft: Draft, start: int, end: int, bare: bool) -> list[Draft]:
        """Return the item behind a lost comma, with the marks and remarks that stood at the end of the stretch."""
        made = self._one(start, end, bare)
        made[-1].spans += draft.spans
        for key in ("note", "role", "process"):
            if getattr(draft, key) is not None and getattr(made[-1], key) is None:
                setattr(made[-1], key, getattr(draft, key))
        return made

    def _mend(self, draft: Draft, start: int, end: int, bare: bool) -> None:
        """Mend letters read wrong and lost blanks in a name the shelf does not know, where that may be; report it."""
        better = mended(draft.name)
        if better is None or not self.report(better[1], draft.name, better[0], start, end):
            return
        told = e_number(better[0], bare)
        draft.name, draft.e_number = (told[0], told[1].upper()) if told is not None else (better[0], None)

    def _numbered(self, draft: Draft, bare: bool) -> None:
        """Give an E-number its additive's name, and a named additive its number."""
        name = draft.name
        if not _DIGIT.search(name):
            return
        printed = " ".join(self.text[span[0] : span[1]] for span in draft.spans if span[2] == "name")
        told = e_number(printed.strip(), bare)
        if told is not None:
            draft.name, draft.e_number = told
            return
        both = _NAME_WITH_NUMBER.match(printed)
        if both is not None:
            told = e_number(both["number"])
            if told is not None:
                draft.name, draft.e_number = cleaned(both["name"]), told[1]

    def _with(self, draft: Draft, piece: tuple[int, int], word: re.Match[str], bare: bool) -> Draft:
        """Read "palm oil with tbhq for freshness" as one thing made of the oil and what is joined to it."""
        left, _ = self._joined(piece[0], word.start(), bare, True)
        right, _ = self._joined(word.end(), piece[1], bare, True)
        known = additive_names()
        told = any(
            part.role or part.e_number or part.name in known or part.name in words("abbreviation") for part in right
        )
        if not told and draft.role is None:
            draft.name = cleaned(self.text[piece[0] : piece[1]])
            draft.add("name", *piece)
            return draft
        for part in right:
            part.role = part.role or draft.role
        draft.name = cleaned(self.text[piece[0] : piece[1]])
        draft.role = None
        draft.add("joint", word.start(), word.end())
        draft.children = left + right
        return draft


__all__ = ["Stretches", "read_percent"]
