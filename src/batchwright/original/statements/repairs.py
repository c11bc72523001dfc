"""Where a bracket ends that never closes."""

from __future__ import annotations

from batchwright.original.statements.bodies import is_process, is_residue, is_source
from batchwright.original.statements.groups import cap_opening
from batchwright.original.statements.lexer import CUT, Token
from batchwright.original.statements.names import PERCENT, bare_source, cleaned
from batchwright.original.statements.words import e_number, role_class, role_remark, words

_FAR = 400
"""Tokens looked ahead for the end of an unclosed bracket."""
_BUDGET = 8000
"""Tokens looked at for all unclosed brackets of a text; beyond, a bracket ends behind its first stretch."""


class ClosingPlace:
    """Chooses the token before which an unclosed bracket of one plain text ends."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.looked = 0

    def __call__(self, found: list[Token], opening: int) -> int:
        """Return the place of that token: behind a remark, behind the parts that belong together, else before the next
        stop, group opening or cut (at most 400 tokens on)."""
        text = self.text
        if self.looked > _BUDGET:
            return min(opening + 2, len(found))
        name = (
            cleaned(text[found[opening - 1].start : found[opening - 1].end])
            if opening and found[opening - 1].kind == "text"
            else ""
        )
        inside = opening + 1
        if inside < len(found) and found[inside].kind == "sep":
            return inside
        if inside < len(found) and found[inside].kind == "text":
            body = cleaned(text[found[inside].start : found[inside].end])
            if name and not role_class(name) and is_residue(body):
                return inside + 1
            remark = (
                (role_remark(body) and not role_class(name))
                or is_process(body)
                or PERCENT.fullmatch(body)
                or e_number(body)
            )
            if remark or (is_source(body) and name and not name.endswith(("oil", "oils", "fat", "fats", "flour"))):
                return inside + 1
        kinds: frozenset[str] | None = None
        if name.endswith(("oil", "oils", "fat", "fats", "shortening")):
            kinds = words("oil_source")
        elif name.endswith("flour"):
            kinds = words("enrichment")
        depth = 0
        last_known = opening + 1
        for place in range(opening + 1, min(len(found), opening + _FAR)):
            token = found[place]
            self.looked += 1
            if token.kind == "open":
                depth += 1
            elif token.kind == "close":
                depth = max(0, depth - 1)
            elif depth == 0 and token.kind == "sep" and token.sign in (".", ";", CUT):
                return place
            elif depth == 0 and token.kind == "text":
                stretch = text[token.start : token.end]
                if place > opening + 1 and cap_opening(stretch) is not None:
                    return place - 1 if found[place - 1].kind == "sep" else place
                if kinds is not None:
                    bare = cleaned(stretch)
                    known = bare in kinds or any(
                        bare_source(bare.removesuffix(" oil").removeprefix("and "), kinds) for _ in (0,)
                    )
                    if not known and place > opening + 1 and " and " not in bare and "or " not in bare:
                        return last_known
                    last_known = place + 1
        return min(len(found), opening + _FAR)
