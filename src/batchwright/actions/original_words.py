"""What an answer says in a cook's words: the plain sentence before every table, and what holds an ingredient's ends.

Page, print and terminal say it with the same words.
"""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.base.shown import shown_range
from batchwright.original.records import Answer, Share

LONGEST_PIN = 2  # label lines named per end in a table; all of them one step further
LEAST_SHOWN = 0.05  # percent; traces that a standard sets get one line together below this


def sentence(answer: Answer) -> str:
    """Return the answer in plain words: what it mostly is, what it loses in the oven, what cannot be told."""
    amounts: dict[str, float] = {}
    for share in answer.ingredients:
        amounts[share.name] = amounts.get(share.name, 0.0) + share.added_percent.likely
    if all(share.match == "unknown" for share in answer.ingredients):
        return "Nothing on this label names an ingredient that the shelf knows: what follows is as wide as food allows."
    largest = sorted(amounts, key=lambda name: -amounts[name])[:3]
    together = sum(amounts[name] for name in largest)
    said = [f"Mostly {listed(largest)}, together about {together:.0f} % of what goes in."]
    loss = answer.bake_loss_percent
    if loss.high >= 2.0:
        said.append(f"It loses {shown_range(loss.low, loss.high)} % of that by the time it is eaten.")
    open_ = [share.name for share in answer.ingredients if share.cannot_tell and share.added_percent.high >= 1.0]
    if open_:
        said.append(f"The label does not pin {listed(list(dict.fromkeys(open_))[:4])}.")
    return " ".join(said)


def listed(names: Sequence[str]) -> str:
    """Return names with commas and an "and"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def is_set_trace(share: Share) -> bool:
    """Whether a share is a trace that a standard sets, such as the vitamins of enriched flour."""
    pins = [pin.line for pin in share.pinned_by]
    return share.added_percent.high < LEAST_SHOWN and bool(pins) and all(pin.startswith("standard:") for pin in pins)


def pin_words(share: Share, every_line: bool) -> str:
    """Return which lines hold an ingredient's ends, or that none does."""
    if share.part == "whole" and not share.pinned_by:
        return ""
    if share.cannot_tell:
        return "cannot tell: no label line pins it"
    found = []
    for side, word in (("low", "least"), ("high", "most")):
        lines = [pin.line for pin in share.pinned_by if pin.side == side]
        rest = [line for line in lines if not line.startswith("order: ")]
        order = [line for line in lines if line.startswith("order: ")]
        if every_line:
            shown = rest + order
        else:
            shown = rest[:LONGEST_PIN] + (["order"] if order else [])
            shown += [f"{len(rest) - LONGEST_PIN} more"] if len(rest) > LONGEST_PIN else []
        if shown:
            found.append(f"{word}: {', '.join(shown)}")
    return "; ".join(found)
