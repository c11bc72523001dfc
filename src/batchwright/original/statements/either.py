"""Items of which any may be absent: and/or, or, a slash."""

from __future__ import annotations

from batchwright.original.statements.bodies import LISTS
from batchwright.original.statements.draft import Draft
from batchwright.original.statements.names import shared_head
from batchwright.original.statements.words import role_class


def one_item(made: list[Draft], head: str | None = None) -> Draft:
    """Return one item for "tapioca syrup/brown rice syrup": its parts may each be absent."""
    names = [draft.name for draft in made]
    head = head or shared_head(names)
    last_words = {name.split(" ")[-1] for name in names}
    same = len(last_words) == 1 and all(" " in name for name in names)
    name = head or (last_words.pop() if same else " or ".join(names))
    out = Draft(name, children=made, one_of=True, ordered=False)
    out.max_percent, out.strict_max = made[0].max_percent, made[0].strict_max
    for draft in made:
        draft.max_percent, draft.strict_max = None, False
    return out


def either_covers(out: list[Draft], either_runs: list[tuple[Draft, int]], owner: Draft | None) -> bool:
    """Whether an "and/or" covers the whole bracket; where it does not, its parts become one item of their own."""
    if owner is None or not either_runs:
        return False
    runs = [run for run in either_runs if any(draft is run[0] for draft in out)]
    listing = not owner.name or owner.name.split(" ")[-1] in LISTS or role_class(owner.name) is not None
    if listing or sum(count for _, count in runs) >= len(out) or "blend" in owner.name:
        return True
    for first, count in runs:
        if count > 1:
            place = next(i for i, draft in enumerate(out) if draft is first)
            out[place : place + count] = [one_item(out[place : place + count])]
    return False
