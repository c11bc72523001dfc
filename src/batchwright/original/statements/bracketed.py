"""One listed stretch with the brackets behind its names."""

from __future__ import annotations

import re
from collections.abc import Callable

from batchwright.original.statements.bodies import is_process, remark, share_oil
from batchwright.original.statements.brackets import Group, Part, Report
from batchwright.original.statements.draft import Draft
from batchwright.original.statements.items import Stretches
from batchwright.original.statements.lexer import Token
from batchwright.original.statements.names import NOTE, PERCENT, cleaned
from batchwright.original.statements.words import e_number, role_class, role_remark, words

ReadLevel = Callable[[list[Part], Draft, bool], tuple[list[Draft], bool]]
"""Reads what a bracket holds: its parts, the bracket's owner, whether bare codes are additives."""

_CONJUNCTION = re.compile(r"^(?:and/or|and|or|&|plus|with)(?![\w-])", re.IGNORECASE)


def merged(last: Draft, draft: Draft) -> None:
    """Give a nameless remark ("12%" between two commas) to the item before it."""
    last.spans += draft.spans
    for key in ("percent", "percent_min", "percent_max", "role", "note", "process"):
        if getattr(draft, key) is not None and getattr(last, key) is None:
            setattr(last, key, getattr(draft, key))


class Bracketed:
    """Makes items of stretches with brackets; what a bracket lists is read by `read_level`."""

    def __init__(self, text: str, report: Report, read_level: ReadLevel) -> None:
        self.text = text
        self.report = report
        self.read_level = read_level
        self.stretches = Stretches(text, report)
        self.either = False

    def built(self, parts: list[Part], owner: Draft | None, bare: bool, splits: bool = True) -> list[Draft]:
        """Return the items of one stretch with its brackets; `self.either` tells whether they are either-or."""
        text = self.text
        self.either = False
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
            either_before = self.either
            bracketed = place + 1 < len(parts) and isinstance(parts[place + 1], Group)
            drafts, either = self.stretches.drafts(
                part.start, part.end, bare, splits and not follows, bracketed, follows
            )
            if made and not made[-1].name and not made[-1].children:
                waiting = made.pop()
                drafts[0].spans += waiting.spans
                for key in ("percent", "percent_min", "percent_max", "process", "source", "note"):
                    if getattr(waiting, key) is not None and getattr(drafts[0], key) is None:
                        setattr(drafts[0], key, getattr(waiting, key))
            self.either = either or either_before
            made += drafts
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
        if (role is not None and role_class(name) is None and not draft.role) or (
            role and len(name.split()) == 1 and not draft.children and name in ("emulsifier", "preservative")
        ):
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
        self.bracket(draft, group)
        if draft.role and draft.role != before and not draft.children:
            for later in range(len(made) - 1, 0, -1):
                if not any(span[2] == "joint" for span in made[later].spans):
                    break
                made[later - 1].role = made[later - 1].role or draft.role
        return place + 1

    def bracket(self, draft: Draft, group: Group) -> None:
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
        kept_either = self.either
        texts = [self.text[part.start : part.end] for part in parts if isinstance(part, Token) and part.kind == "text"]
        codes = draft.role is not None or (bool(texts) and all(e_number(printed, True) for printed in texts))
        children, either = self.read_level(parts, draft, codes)
        self.either = kept_either
        if either:
            draft.one_of, draft.ordered = True, False
        draft.children += [child for child in children if child.name or child.children or child.spans]
        if draft.name == "sugars":
            draft.grouped = True
        if any(child.process and "proportion" in child.process and not child.name for child in children):
            draft.ordered = False
        share_oil(draft)
