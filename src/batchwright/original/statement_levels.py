"""One level of the list, between its brackets: headings, "2 % or less" groups, classes with a colon, items and parts."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from batchwright.original.statement_bodies import is_process, remark, share_oil
from batchwright.original.statement_brackets import Group, Part, Report
from batchwright.original.statement_draft import Draft
from batchwright.original.statement_groups import cap_opening, one_of_opening
from batchwright.original.statement_items import Stretches
from batchwright.original.statement_lexer import CUT, Token
from batchwright.original.statement_names import NOTE, PERCENT, bare_source, cleaned, shared_head, with_head
from batchwright.original.statement_records import Span
from batchwright.original.statement_trailers import is_header
from batchwright.original.statement_words import additive_names, role_class, role_remark, singular, words

_CONJUNCTION = re.compile(r"^(?:and/or|and|or|&|plus|with)(?![\w-])", re.IGNORECASE)
_APPOSED = re.compile(r"^(?:(?:an?|as an?|added as|added|used|as|to|for|which is)\s)", re.IGNORECASE)
_ENDS_GROUP = re.compile(
    r"^(?:coat(?:ed|ing)|dipped|dusted|topped|topping|filling|enrobed|made with|fried in|cooked in|glaz|icing|vitamins|finished|garnish)",
    re.IGNORECASE,
)
_JOINING_END = re.compile(r"(?:^|\s|,)\s?(?:and|&|with|plus|or)\s?$", re.IGNORECASE)
_LEAD_IN = re.compile(
    r"^(?P<words>including|includes|include|consisting of|consists of|comprising|comprises|made from|made of|made with|composed of|such as|"
    r"prepared from|containing|contains|contain|composition|ingredients|from|eg|e\.g\.|i\.e\.|namely|(?P<added>with added|with|added))(?![\w-]):?\s",
    re.IGNORECASE,
)
_BARE_ADJECTIVES = frozenset(
    "unbleached bleached enriched unbromated unbleached/unbromated organic pasteurized pasteurised homogenized cultured filtered raw "
    "degerminated refined deodorized natural roasted non-gmo grade dried whole unsalted salted sliced cooked boneless skinless fresh ground".split()
)
_TO_NAME = re.compile(r"(?:\s*(?:'s)?\s*ingredients?(?: list)?|\s+(?:also )?(?:contains?|is made (?:from|with|of)|made (?:from|with)))$")


@dataclass(slots=True)
class Segment:
    """What stands between two separators: `sign` is the separator before it."""

    sign: str
    parts: list[Part]


@dataclass(slots=True)
class Level:
    """The state while one level is read."""

    out: list[Draft] = field(default_factory=list)
    component: Draft | None = None
    klass: Draft | None = None
    rule: str = ""
    cap: tuple[float, bool] | None = None
    cap_items: int = 0
    one_of: bool = False
    either_items: int = 0
    last: Draft | None = None


def segments(parts: list[Part]) -> list[Segment]:
    """Return the stretches between separators; empty ones are left out, the strongest separator wins."""
    out: list[Segment] = []
    now = Segment("", [])
    rank = {"": 0, ",": 1, "-": 2, "|": 2, "•": 2, "\n": 2, ";": 3, ".": 4, CUT: 5}
    for part in parts:
        if isinstance(part, Token) and part.kind == "sep":
            if now.parts:
                out.append(now)
                now = Segment(part.sign, [])
            elif rank.get(part.sign, 1) > rank.get(now.sign, 1) or not now.sign:
                now.sign = part.sign
        else:
            if len(now.parts) >= 40:
                out.append(now)
                now = Segment("", [])
            now.parts.append(part)
    if now.parts:
        out.append(now)
    return out


class Levels:
    """Reads levels of one plain text; headings that are no item are kept in `headings`."""

    def __init__(self, text: str, report: Report) -> None:
        self.text = text
        self.report = report
        self.stretches = Stretches(text, report)
        self.headings: list[Span] = []

    def read(self, parts: list[Part], owner: Draft | None = None, bare_numbers: bool = False) -> tuple[list[Draft], bool]:
        """Return the items of one level and whether any of them may be absent (one-of)."""
        level = Level()
        listed = self._with_adjectives(segments(parts))
        if owner is not None and listed:
            self._lead_in(level, listed, owner)
        for place, segment in enumerate(listed):
            self._segment(level, segment, listed, place, owner, bare_numbers)
        return level.out, level.one_of or bool(level.either_items)

    def _with_adjectives(self, listed: list[Segment]) -> list[Segment]:
        """Join "unbleached, unbromated flour": a lone adjective belongs to the name behind the comma."""
        for place in range(len(listed) - 2, -1, -1):
            here, after = listed[place], listed[place + 1]
            first = here.parts[0]
            nearest = after.parts[0]
            if (
                len(here.parts) == 1
                and after.sign == ","
                and isinstance(first, Token)
                and isinstance(nearest, Token)
                and nearest.kind == "text"
                and first.kind == "text"
                and cleaned(self.text[first.start : first.end]) in _BARE_ADJECTIVES
            ):
                joined = Token("text", first.start, nearest.end)
                listed[place] = Segment(here.sign, [joined, *after.parts[1:]])
                del listed[place + 1]
        return listed

    def _lead_in(self, level: Level, listed: list[Segment], owner: Draft) -> None:
        """Take "including", "made from" off the first part; "with ..." adds to the owner, which then is its own first part."""
        first = listed[0].parts[0]
        if not isinstance(first, Token) or first.kind != "text":
            return
        stretch = self.text[first.start : first.end]
        match = _LEAD_IN.match(stretch)
        if match is None or cap_opening(stretch) is not None or one_of_opening(stretch):
            return
        owner.add("joint", first.start, first.start + match.end())
        if match["added"] and owner.name and not owner.children:
            itself = Draft(owner.name, [span for span in owner.spans if span[2] == "name"])
            level.out.append(itself)
        rest = self._token(first.start + match.end(), first.end)
        listed[0].parts[:1] = [rest] if rest else []

    def _segment(
        self, level: Level, segment: Segment, listed: list[Segment], place: int, owner: Draft | None, bare: bool
    ) -> None:
        """Read one stretch between separators."""
        if segment.sign in (";", ".", CUT):
            level.klass = None
            if segment.sign in (".", CUT) and level.cap_items > 1:
                level.cap, level.cap_items = None, 0
        sign, parts = segment.sign, segment.parts
        while parts:
            parts = self._step(level, sign, parts, listed, place, owner, bare)
            sign = ""

    def _step(
        self, level: Level, sign: str, parts: list[Part], listed: list[Segment], place: int, owner: Draft | None, bare: bool
    ) -> list[Part]:
        """Read the beginning of what is left of a stretch; return what is left then."""
        text = self.text
        first = parts[0]
        if isinstance(first, Group):
            return self._leading_group(level, sign, parts, owner, bare)
        if first.kind == "colon":
            return parts[1:]
        stretch = text[first.start : first.end]
        cap = cap_opening(stretch)
        if cap is not None and not (cap.start and PERCENT.match(stretch)):
            before = self._before_cap(first, cap.start)
            if before:
                self._items(level, [before], owner, bare, sign)
            self.headings.append((first.start + cap.start, first.start + cap.end, "group"))
            rest = self._token(first.start + cap.end, first.end)
            parts = ([rest] if rest else []) + parts[1:]
            if before and not cap.opens and parts:
                # "caramel and less than 0.1% sodium benzoate": the limit is of this one item
                for draft in self._built(parts, owner, bare):
                    draft.max_percent, draft.strict_max = cap.max_percent, cap.strict
                    self._put(level, draft)
                return []
            level.cap, level.cap_items = (cap.max_percent, cap.strict), 0
            level.klass = None
            return parts
        opening = one_of_opening(stretch)
        if opening:
            return self._one_of(level, first, opening, parts, owner)
        colon = next((i for i, part in enumerate(parts) if isinstance(part, Token) and part.kind == "colon"), None)
        if colon is not None:
            return self._heading(level, parts[:colon], parts[colon + 1 :], listed, place, owner, bare)
        if _ENDS_GROUP.match(stretch) and sign in (".", ";", CUT):
            level.cap = None
        self._items(level, parts, owner, bare, sign)
        return []

    def _before_cap(self, first: Token, length: int) -> Token | None:
        """Return what stands before the opening of a group, without a joining word at its end."""
        stretch = self.text[first.start : first.start + length]
        joining = _JOINING_END.search(stretch)
        if joining is not None:
            self.headings.append((first.start + joining.start(), first.start + length, "joint"))
            length = joining.start()
        return self._token(first.start, first.start + length) if cleaned(stretch[:length]) else None

    def _token(self, start: int, end: int) -> Token | None:
        piece = self.text[start:end]
        start += len(piece) - len(piece.lstrip())
        end -= len(piece) - len(piece.rstrip())
        return Token("text", start, end) if end > start else None

    def _leading_group(
        self, level: Level, sign: str, parts: list[Part], owner: Draft | None, bare: bool
    ) -> list[Part]:
        """A bracket with no name before it: its own group, or the parts of the item before ("concentrate, (water)")."""
        group = parts[0]
        assert isinstance(group, Group)
        flat = [part for part in group.parts if isinstance(part, Token) and part.kind == "text"]
        inner = self.text[flat[0].start : flat[0].end] if flat else ""
        cap = cap_opening(inner)
        if cap is None and level.last is not None and sign == "," and level.out:
            self.report("separator removed", ",", "", group.start, group.start)
            self._bracket(level.last, group)
            return parts[1:]
        if cap is None and sign in ("", ",") and len(parts) > 1 and len(flat) == len(group.parts) == 1:
            waiting = Draft("")
            if remark(waiting, self.text, group.start + 1, group.end - 1):
                before = len(level.out)
                self._items(level, parts[1:], owner, bare, sign)
                target = level.out[before] if len(level.out) > before else level.last
                self._merged(target if target is not None else Draft(""), waiting)
                if target is None:
                    self.headings += waiting.spans
                return []
        outer_cap = level.cap
        if level.klass is not None and sign == "":
            level.rule = "all"
        inside = segments(group.parts)
        for place, segment in enumerate(inside):
            self._segment(level, segment, inside, place, owner, bare)
        if not (cap is not None and not cleaned(inner[cap.end :]) and len(group.parts) <= 2):
            level.cap = outer_cap
        return parts[1:]

    def _one_of(self, level: Level, first: Token, opening: int, parts: list[Part], owner: Draft | None) -> list[Part]:
        """Read "one or more of the following": of the bracket's owner, or of a new item that takes what follows."""
        rest = self._token(first.start + opening, first.end)
        parts = ([rest] if rest else []) + parts[1:]
        if owner is not None:
            owner.add("one_of", first.start, first.start + opening)
            level.one_of = True
            return parts
        wrapper = Draft(cleaned(self.text[first.start : first.start + opening]), one_of=True, ordered=False)
        wrapper.add("name", first.start, first.start + opening)
        level.klass = None
        self._put(level, wrapper)
        level.klass, level.rule = wrapper, "all"
        return parts

    def _heading(
        self, level: Level, head: list[Part], rest: list[Part], listed: list[Segment], place: int, owner: Draft | None, bare: bool
    ) -> list[Part]:
        """Words with a colon: a header, a class of additives, a class of fats, or a part of the product."""
        text = self.text
        level.klass = None
        printed = cleaned(" ".join(text[part.start : part.end] for part in head if isinstance(part, Token)))
        if is_header(printed):
            self.headings.append((head[0].start, head[-1].end, "header"))
            level.component, level.cap = None, None
            return rest
        drafts = self._built(head, owner, bare, splits=False)
        heading = drafts[-1]
        for earlier in drafts[:-1]:
            self._put(level, earlier)
        heading.name = _TO_NAME.sub("", heading.name) or heading.name
        role = role_class(heading.name)
        known = words("classlike")
        ended = self._semicolon_ends(listed, place) or owner is not None
        oily = heading.name.endswith((" oil", " oils", " fat", " fats", "shortening"))
        if role is not None:
            heading.role = role
            rule = "all" if ended else "additives"
        elif oily or singular(heading.name) in known or heading.name in known:
            rule = "all" if ended or not oily else "oils"
        elif owner is not None:
            rule = "all"
        else:
            heading.kind = "component"
            level.cap = level.component = None
            self._put(level, heading)
            level.component = heading
            return rest
        self._put(level, heading)
        level.klass, level.rule = heading, rule
        if role is not None and rest:
            self._segment(level, Segment("", rest), listed, place, owner, True)
            return []
        return rest

    def _semicolon_ends(self, listed: list[Segment], place: int) -> bool:
        for later in listed[place + 1 : place + 40]:
            if later.sign in (";", ".", CUT):
                return True
            if any(isinstance(part, Token) and part.kind == "colon" for part in later.parts):
                return False
        return False

    def _put(self, level: Level, draft: Draft) -> None:
        level.last = draft
        if level.cap is not None and draft.max_percent is None and draft.kind is None and level.klass is None:
            draft.max_percent, draft.strict_max = level.cap
            level.cap_items += 1
        if level.klass is not None:
            level.klass.children.append(draft)
        elif level.component is not None:
            level.component.children.append(draft)
        else:
            level.out.append(draft)

    def _belongs(self, level: Level, draft: Draft) -> bool:
        """Whether a draft still belongs to the class with a colon that is open."""
        if level.rule == "all" or level.klass is None or not level.klass.children:
            return True
        if level.rule == "oils":
            return bare_source(draft.name.removesuffix(" oil"), words("oil_source"))
        return draft.e_number is not None or draft.name in additive_names() or singular(draft.name) in additive_names()

    def _items(self, level: Level, parts: list[Part], owner: Draft | None, bare: bool, sign: str) -> None:
        text = self.text
        first = parts[0]
        if len(parts) == 1 and isinstance(first, Token) and level.last is not None and sign == ",":
            stretch = text[first.start : first.end]
            if _APPOSED.match(stretch):
                role = role_remark(cleaned(stretch))
                if role is not None:
                    level.last.say("role", role)
                    level.last.add("role", first.start, first.end)
                    return
        if owner is not None and len(parts) == 1 and isinstance(first, Token) and not level.out:
            match = PERCENT.fullmatch(text[first.start : first.end])
            if match is not None and owner.percent is None:
                remark(owner, text, first.start, first.end)
                return
        klass_numbers = bare or (level.klass is not None and level.klass.role is not None)
        made = self._built(parts, owner, klass_numbers)
        either = self._either
        if either and owner is None and len(made) > 1:
            made = [self._wrapped(level, made)]
        elif either:
            level.either_items += 1
        for draft in made:
            if not draft.name and level.last is not None and not draft.children:
                self._merged(level.last, draft)
                continue
            if level.klass is not None and not self._belongs(level, draft):
                level.klass = None
            self._put(level, draft)

    def _merged(self, last: Draft, draft: Draft) -> None:
        """Give a nameless remark ("12%" between two commas) to the item before it."""
        last.spans += draft.spans
        for key in ("percent", "percent_min", "percent_max", "role", "note", "process"):
            if getattr(draft, key) is not None and getattr(last, key) is None:
                setattr(last, key, getattr(draft, key))

    def _wrapped(self, level: Level, made: list[Draft]) -> Draft:
        """Return one item for "tapioca syrup/brown rice syrup": its parts may each be absent."""
        names = [draft.name for draft in made]
        head = shared_head(names)
        last_words = {name.split(" ")[-1] for name in names}
        name = head or (last_words.pop() if len(last_words) == 1 and all(" " in name for name in names) else " or ".join(names))
        siblings = level.component.children if level.component is not None else level.out
        if head in ("oil", "oils", "fat", "fats") or names[-1].endswith(" oil"):
            kinds = words("oil_source")
            while siblings and level.klass is None and self._bare(siblings[-1], kinds):
                earlier = siblings.pop()
                earlier.name = with_head(earlier.name, head or "oil")
                earlier.max_percent, earlier.strict_max = None, False
                made.insert(0, earlier)
        return Draft(name, children=made, one_of=True, ordered=False)

    def _bare(self, draft: Draft, kinds: frozenset[str]) -> bool:
        return draft.name in kinds and not draft.children and draft.percent is None and draft.role is None

    def _built(self, parts: list[Part], owner: Draft | None, bare: bool, splits: bool = True) -> list[Draft]:
        """Return the items of one stretch with its brackets; `self._either` tells whether they are either-or."""
        text = self.text
        self._either = False
        made: list[Draft] = []
        place = 0
        while place < len(parts):
            part = parts[place]
            if isinstance(part, Group):
                if not made:
                    made.append(Draft(""))
                place = self._brackets(made, parts, place)
                continue
            if part.kind != "text":
                place += 1
                continue
            stretch = text[part.start : part.end]
            if made and made[-1].name and self._goes_on(made[-1], stretch, part):
                place += 1
                continue
            follows_bracket = bool(made) and (made[-1].name or made[-1].children)
            if follows_bracket and not _CONJUNCTION.match(stretch):
                self.report("separator missing", "", ",", part.start, part.start)
            follows = self._list_follows(parts, place)
            either_before = self._either
            bracketed = place + 1 < len(parts) and isinstance(parts[place + 1], Group)
            drafts, either = self.stretches.drafts(part.start, part.end, bare, splits and not follows, bracketed)
            if made and not made[-1].name and not made[-1].children:
                waiting = made.pop()
                drafts[0].spans += waiting.spans
                for key in ("percent", "percent_min", "percent_max", "process", "source", "note"):
                    if getattr(waiting, key) is not None and getattr(drafts[0], key) is None:
                        setattr(drafts[0], key, getattr(waiting, key))
            self._either = either or either_before
            made += drafts
            self._count = len(drafts)
            place += 1
        return made or [Draft("")]

    def _list_follows(self, parts: list[Part], place: int) -> bool:
        """Whether the bracket behind a text lists parts (so that "chocolate and caramel (...)" stays one name)."""
        for group in parts[place + 1 : place + 4]:
            if not isinstance(group, Group):
                return False
            if any(isinstance(part, Group) for part in group.parts):
                return True
            inner = [part for part in group.parts if isinstance(part, Token) and part.kind == "text"]
            if len(inner) > 1 and not all(role_remark(cleaned(self.text[part.start : part.end])) for part in inner):
                return True
        return False

    def _goes_on(self, draft: Draft, stretch: str, part: Token) -> bool:
        """Read words behind a bracket that belong to the item before: percent, mark, role, the rest of its name."""
        text = self.text
        name = cleaned(stretch)
        if not name:
            for match in NOTE.finditer(text, part.start, part.end):
                draft.note = (draft.note or "") + match[0]
            draft.add("note", part.start, part.end)
            return True
        if PERCENT.fullmatch(stretch.strip()):
            return remark(draft, text, part.start, part.end)
        if is_process(name) and not role_class(name):
            draft.say("process", name)
            draft.add("process", part.start, part.end)
            if "proportion" in name:
                draft.ordered = False
            return True
        if name.startswith("from ") and len(name.split()) <= 5:
            draft.say("source", name.removeprefix("from "))
            draft.add("source", part.start, part.end)
            return True
        role = role_remark(name)
        if role is not None and role_class(name) is None and not draft.role or (role and len(name.split()) == 1 and not draft.children and name in ("emulsifier", "preservative")):
            draft.say("role", role or "")
            draft.add("role", part.start, part.end)
            return True
        if name in words("continues") and not draft.children:
            draft.name = f"{draft.name} {name}"
            draft.add("name", part.start, part.end)
            return True
        return False

    def _brackets(self, made: list[Draft], parts: list[Part], place: int) -> int:
        """Read the bracket at `place` into the last item (or, where it is a role, into all joined ones)."""
        group = parts[place]
        assert isinstance(group, Group)
        draft = made[-1]
        before = draft.role
        self._bracket(draft, group)
        if draft.role and draft.role != before and not draft.children:
            for earlier in made[-getattr(self, "_count", 1) : -1]:
                earlier.role = earlier.role or draft.role
        return place + 1

    def _bracket(self, draft: Draft, group: Group) -> None:
        """Read one bracket into a draft: a remark, or its parts."""
        parts = group.parts
        while len(parts) == 1 and isinstance(parts[0], Group):
            parts = parts[0].parts
        if not parts:
            return
        if not any(isinstance(part, Group) for part in parts):
            start, end = parts[0].start, parts[-1].end
            if remark(draft, self.text, start, end):
                return
        role = role_class(draft.name) if draft.name else None
        if role is not None:
            draft.role = draft.role or role
        kept_either, kept_count = getattr(self, "_either", False), getattr(self, "_count", 1)
        children, either = self.read(parts, draft, draft.role is not None)
        self._either, self._count = kept_either, kept_count
        if either:
            draft.one_of, draft.ordered = True, False
        draft.children += [child for child in children if child.name or child.children or child.spans]
        if draft.name == "sugars":
            draft.grouped = True
        if children and any(child.process and "proportion" in child.process and not child.name for child in children):
            draft.ordered = False
        share_oil(draft)
