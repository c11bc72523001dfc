"""One level of the list, between its brackets: headings, "2 % or less" groups, classes with a colon, items."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from batchwright.original.statements.bodies import LISTS, remark
from batchwright.original.statements.bracketed import Bracketed, merged
from batchwright.original.statements.brackets import Group, Part, Report
from batchwright.original.statements.classes import class_joined
from batchwright.original.statements.draft import Draft
from batchwright.original.statements.either import either_covers, one_item
from batchwright.original.statements.groups import cap_opening, one_of_opening
from batchwright.original.statements.lexer import CUT, Token
from batchwright.original.statements.names import PERCENT, bare_source, cleaned, shared_head, with_head
from batchwright.original.statements.records import Span
from batchwright.original.statements.segments import Segment, segments, text_token, with_adjectives
from batchwright.original.statements.spelling import known as known_name
from batchwright.original.statements.trailers import Cut, is_header, opening_header, solids_statement
from batchwright.original.statements.words import additive_names, role_class, role_remark, singular, words

_APPOSED = re.compile(r"^(?:(?:an?|as an?|added as|added|used|as|to|for|which is)\s)", re.IGNORECASE)
_ENDS_GROUP = re.compile(
    r"^(?:coat(?:ed|ing)|dipped|dusted|topped|topping|filling|enrobed|made with|fried in|cooked in|glaz|"
    r"icing|vitamins|finished|garnish)",
    re.IGNORECASE,
)
_JOINING_END = re.compile(r"(?:^|\s|,)\s?(?:and|&|with|plus|or)\s?$", re.IGNORECASE)
_LEAD_IN = re.compile(
    r"^(?P<words>including|includes|include|consisting of|consists of|comprising|comprises|made from|made of|"
    r"made with|composed of|such as|"
    r"prepared from|containing|contains|contain|composition|ingredients|from|eg|e\.g\.|i\.e\.|namely|"
    r"(?P<added>with added|with|added))(?![\w-]):?\s",
    re.IGNORECASE,
)
_TO_NAME = re.compile(
    r"(?:\s*(?:'s)?\s*ingredients?(?: list)?|\s+(?:also )?(?:contains?|is made (?:from|with|of)|made (?:from|"
    r"with)))$"
)


_GROUP_WORDS = ("contains", "contain", "also contains", "containing")


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
    either_runs: list[tuple[Draft, int]] = field(default_factory=list)
    last: Draft | None = None


class Levels:
    """Reads levels of one plain text; headings that are no item are kept in `headings`."""

    def __init__(self, text: str, report: Report) -> None:
        self.text = text
        self.report = report
        self.bracketed = Bracketed(text, report, self.read)
        self.headings: list[Span] = []
        self.beside: list[Cut] = []

    def read(
        self, parts: list[Part], owner: Draft | None = None, bare_numbers: bool = False
    ) -> tuple[list[Draft], bool]:
        """Return the items of one level and whether any of them may be absent (one-of)."""
        level = Level()
        listed = with_adjectives(self.text, segments(parts))
        if owner is not None and listed:
            self._lead_in(level, listed, owner)
        for place, segment in enumerate(listed):
            self._segment(level, segment, listed, place, owner, bare_numbers)
        return level.out, level.one_of or either_covers(level.out, level.either_runs, owner)

    def _lead_in(self, level: Level, listed: list[Segment], owner: Draft) -> None:
        """Take "including", "made from" off the first part; after "with" the owner is its own first part."""
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
        rest = text_token(self.text, first.start + match.end(), first.end)
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
        self,
        level: Level,
        sign: str,
        parts: list[Part],
        listed: list[Segment],
        place: int,
        owner: Draft | None,
        bare: bool,
    ) -> list[Part]:
        """Read the beginning of what is left of a stretch; return what is left then."""
        text = self.text
        first = parts[0]
        if isinstance(first, Group):
            return self._leading_group(level, sign, parts, owner, bare)
        if first.kind == "colon":
            return parts[1:]
        stretch = text[first.start : first.end]
        opened = opening_header(stretch)
        if opened and level.last is not None:
            self.headings.append((first.start, first.start + opened, "header"))
            level.component = level.cap = level.klass = None
            rest = text_token(self.text, first.start + opened, first.end)
            return ([rest] if rest else []) + parts[1:]
        cap = cap_opening(stretch)
        if cap is not None and not (cap.start and PERCENT.match(stretch)):
            before = self._before_cap(first, cap.start)
            if before:
                self._items(level, [before], owner, bare, sign)
            self.headings.append((first.start + cap.start, first.start + cap.end, "group"))
            rest = text_token(self.text, first.start + cap.end, first.end)
            parts = [*([rest] if rest else []), *parts[1:]]
            if (before or (sign == "" and level.last is not None)) and not cap.opens and parts:
                # "caramel and less than 0.1% sodium benzoate": the limit is of this one item
                for draft in self.bracketed.built(parts, owner, bare):
                    draft.max_percent, draft.strict_max = cap.max_percent, cap.strict
                    self._put(level, draft)
                return []
            level.cap, level.cap_items = (cap.max_percent, cap.strict), 0
            level.klass = None
            return parts
        later = next((i for i, part in enumerate(parts) if i and self._opens_group(part)), None)
        if later is not None and not any(isinstance(part, Token) and part.kind == "colon" for part in parts[:later]):
            before_it = parts[:later]
            while before_it:
                before_it = self._step(level, sign, before_it, listed, place, owner, bare)
                sign = ""
            return parts[later:]
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

    def _opens_group(self, part: Part) -> bool:
        """Whether a text behind a bracket begins a "2 % or less" group ("... (vanilla) and less than 2% of")."""
        return (
            isinstance(part, Token)
            and part.kind == "text"
            and (cap := cap_opening(self.text[part.start : part.end])) is not None
            and cap.start <= 5
        )

    def _before_cap(self, first: Token, length: int) -> Token | None:
        """Return what stands before the opening of a group, without a joining word at its end."""
        stretch = self.text[first.start : first.start + length]
        joining = _JOINING_END.search(stretch)
        if joining is not None:
            self.headings.append((first.start + joining.start(), first.start + length, "joint"))
            length = joining.start()
        return text_token(self.text, first.start, first.start + length) if cleaned(stretch[:length]) else None

    def _leading_group(self, level: Level, sign: str, parts: list[Part], owner: Draft | None, bare: bool) -> list[Part]:
        """A bracket with no name before it: its own group, or the parts of the item before ("concentrate, (water)")."""
        group = parts[0]
        assert isinstance(group, Group)
        flat = [part for part in group.parts if isinstance(part, Token) and part.kind == "text"]
        inner = self.text[flat[0].start : flat[0].end] if flat else ""
        cap = cap_opening(inner)
        if cap is None and level.last is not None and sign == "," and level.out:
            self.report("separator removed", ",", "", group.start, group.start)
            self.bracketed.bracket(level.last, group)
            return parts[1:]
        if cap is None and sign in ("", ",") and len(parts) > 1 and len(flat) == len(group.parts) == 1:
            waiting = Draft("")
            if remark(waiting, self.text, flat[0].start, flat[0].end):
                before = len(level.out)
                self._items(level, parts[1:], owner, bare, sign)
                target = level.out[before] if len(level.out) > before else level.last
                merged(target if target is not None else Draft(""), waiting)
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
        rest = text_token(self.text, first.start + opening, first.end)
        parts = [*([rest] if rest else []), *parts[1:]]
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
        self,
        level: Level,
        head: list[Part],
        rest: list[Part],
        listed: list[Segment],
        place: int,
        owner: Draft | None,
        bare: bool,
    ) -> list[Part]:
        """Words with a colon: a header, a class of additives, a class of fats, or a part of the product."""
        within, level.klass = level.klass is not None and level.klass.role is not None, None
        printed = cleaned(" ".join(self.text[part.start : part.end] for part in head if isinstance(part, Token)))
        if is_header(printed):
            self.headings.append((head[0].start, head[-1].end, "header"))
            level.component, level.cap = None, None
            return rest
        begins = rest[0] if rest else None
        headed = singular(printed.split(" ")[-1]) in words("component") and self._headed(listed[place + 1 :])
        if len(rest) == 1 and isinstance(begins, Group) and printed not in _GROUP_WORDS and not headed:
            # "milk chocolate: (sugar, milk), starch": the bracket alone says what the name holds
            self._items(level, [*head, *rest], owner, bare, "")
            return []
        if printed in _GROUP_WORDS and isinstance(begins, Token):
            cap = cap_opening(self.text[begins.start : begins.end])
            if cap is not None and cap.start == 0:
                self.headings.append((head[0].start, head[-1].end, "group"))
                return rest
            if level.last is None:
                self.headings.append((head[0].start, head[-1].end, "header"))
                return rest
        head, both = self._joined_class(level, head, owner, bare)
        drafts = self.bracketed.built(head, owner, bare, splits=False)
        heading = drafts[-1]
        for earlier in drafts[:-1]:
            self._put(level, earlier)
        heading.name = both or _TO_NAME.sub("", heading.name) or heading.name
        role = both or role_class(heading.name)
        slip = role is None and heading.kind is None and (within or heading.name in additive_names())
        if slip and known_name(heading.name):
            # "glazing agents: beeswax, carnauba wax: sugar": a slip for a comma
            self.report("colon as separator", ":", ",", head[-1].end, head[-1].end)
            self._put(level, heading)
            return rest
        ended = self._semicolon_ends(listed, place) or owner is not None
        listing = {singular(heading.name), heading.name} & words("classlike") or heading.name.split(" ")[-1] in LISTS
        oily = heading.name.endswith((" oil", " oils", " fat", " fats", "shortening"))
        if role is not None:
            heading.role = role
            rule = "all" if ended else "additives"
        elif oily or listing:
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

    def _joined_class(self, level: Level, head: list[Part], owner: Draft | None, bare: bool) -> tuple[list[Part], str]:
        """Read what stands before a class ("apples and antioxidant: ..."); return the class alone, or two as a role."""
        first = head[0]
        joined = (
            class_joined(self.text, first.start, first.end) if isinstance(first, Token) and len(head) == 1 else None
        )
        if joined is None:
            return head, ""
        earlier, role = joined
        if role_class(cleaned(self.text[first.start : earlier])) is not None:
            return head, cleaned(self.text[first.start : first.end])
        self._items(level, [Token("text", first.start, earlier)], owner, bare, "")
        self.headings.append((earlier, role, "joint"))
        return [Token("text", role, first.end)], ""

    def _headed(self, later: list[Segment]) -> bool:
        """Whether nothing follows, or another heading with a colon: what stands before is a part of the product."""
        return not later or any(isinstance(part, Token) and part.kind == "colon" for part in later[0].parts)

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
            if match is not None and owner.percent is None and remark(owner, text, first.start, first.end):
                return
        solids = (
            solids_statement(text, first.start, first.end) if len(parts) == 1 and isinstance(first, Token) else None
        )
        if solids is not None:
            self.beside.append(solids)
            return
        klass_numbers = bare or (level.klass is not None and level.klass.role is not None)
        made = self.bracketed.built(parts, owner, klass_numbers)
        either = self.bracketed.either
        if either and owner is None and len(made) > 1:
            made = [self._wrapped(level, made)]
        elif either:
            level.either_runs.append((made[0], len(made)))
        for draft in made:
            if not draft.name and level.last is not None and not draft.children:
                merged(level.last, draft)
                continue
            if level.klass is not None and not self._belongs(level, draft):
                level.klass = None
            self._put(level, draft)

    def _wrapped(self, level: Level, made: list[Draft]) -> Draft:
        """Return one item for "palm, shea and/or corn oil": the bare oil sources just before it belong to it."""
        names = [draft.name for draft in made]
        head = shared_head(names)
        siblings = level.component.children if level.component is not None else level.out
        if head in ("oil", "oils", "fat", "fats") or names[-1].endswith(" oil"):
            kinds = words("oil_source")
            while siblings and level.klass is None and self._bare(siblings[-1], kinds):
                earlier = siblings.pop()
                earlier.name = with_head(earlier.name, head or "oil")
                earlier.max_percent, earlier.strict_max = None, False
                made.insert(0, earlier)
        return one_item(made, head)

    def _bare(self, draft: Draft, kinds: frozenset[str]) -> bool:
        return draft.name in kinds and not draft.children and draft.percent is None and draft.role is None
