"""Why a move is made, in a cook's words, and what the dough will miss."""

from __future__ import annotations

import numpy as np

from batchwright.base.shown import shown_range
from batchwright.formula.contents import Floats
from batchwright.formula.distance import spoken
from batchwright.formula.move_search import Table

MOST_AXES = 2
NOTICED = 0.02  # of the squared distance: an axis that a move brings less nearer is not named
DRY_G = 8.0  # grams of water that a dough of 500 g of flour notices (common practice: a spoonful or two)


def reason(table: Table, before: Floats, after: Floats) -> str:
    """Return what a move brings: the axes it brings nearest, from and to, with the original's range."""
    old, new = table.values(before), table.values(after)
    ruler = table.ruler
    gain = ruler.weight * (ruler.steps(old) ** 2 - ruler.steps(new) ** 2)
    least = NOTICED * float((ruler.weight * ruler.steps(old) ** 2).sum())
    said = []
    for axis in np.argsort(-gain)[:MOST_AXES]:
        if gain[axis] > least and gain[axis] > 0:
            band = shown_range(float(ruler.low[axis]), float(ruler.high[axis]))
            width = max(abs(float(new[axis] - old[axis])), 0.3)
            digits = 0 if width >= 3 else 1
            what = f"{spoken(ruler.keys[axis], ruler.names[axis])} {old[axis]:.{digits}f} to {new[axis]:.{digits}f} %"
            said.append(f"{what} (original {band})")
    return "; ".join(said)


def dough_notes(table: Table, grams: Floats) -> list[str]:
    """Return what each baked part misses of its water as mixed, where that is enough to be felt under the hand."""
    notes = []
    for place in dict.fromkeys(table.part_of):
        inside = np.array([part == place for part in table.part_of])
        if not table.baked[inside].any():
            continue
        change = float(((grams - table.start) * table.water)[inside].sum())
        flour = float(sum(grams[at] for at in np.flatnonzero(inside) if table.groups[at] == "flour"))
        name = next(part for at, part in zip(table.part_of, table.parts, strict=True) if at == place) or "the dough"
        if flour > 0 and abs(change) > DRY_G * flour / 500.0:
            word, cure = ("less", "add water") if change < 0 else ("more", "leave water out")
            notes.append(f"{name}: {abs(change):.0f} g {word} water goes in than before; it bakes off, so {cure} "
                         "until the dough feels as it did")  # fmt: skip
    return notes
