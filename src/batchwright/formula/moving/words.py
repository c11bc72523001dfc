"""Why a move is made, in a cook's words, and what the dough will miss."""

from __future__ import annotations

import numpy as np

from batchwright.base.shown import shown_range
from batchwright.formula.comparing.distance import spoken
from batchwright.formula.contents import Floats
from batchwright.formula.moving.search import Table

MOST_AXES = 2
NOTICED = 0.02  # of the squared distance: an axis that a move brings less nearer is not named
DRY_G = 8.0  # grams of water that 500 g of flour notice under the hand (common practice: a spoonful or two)


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
            if f"{old[axis]:.{digits}f}" == f"{new[axis]:.{digits}f}":
                digits += 1
            what = f"{spoken(ruler.keys[axis], ruler.names[axis])} {old[axis]:.{digits}f} to {new[axis]:.{digits}f} %"
            said.append(f"{what} (original {band})")
    return "; ".join(said)


def dough_notes(table: Table, grams: Floats) -> list[str]:
    """Return what water each baked part wants to handle as it did: as much for its flour as before, if that is felt."""
    notes = []
    flour = np.array([group == "flour" for group in table.groups])
    for place in dict.fromkeys(table.part_of):
        inside = np.array([part == place for part in table.part_of])
        before_g, after_g = (float(amounts[inside & flour].sum()) for amounts in (table.start, grams))
        if not table.baked[inside].any() or min(before_g, after_g) <= 0.0:
            continue
        wanted = float((table.start * table.water)[inside].sum()) * after_g / before_g
        lacking = wanted - float((grams * table.water)[inside].sum())
        name = next(part for at, part in zip(table.part_of, table.parts, strict=True) if at == place) or "the dough"
        if abs(lacking) > DRY_G * after_g / 500.0:
            word = "more" if lacking > 0 else "less"
            notes.append(f"{name}: to handle as before it wants about {abs(lacking):.0f} g {word} water than these "
                         "lines bring; it bakes off and changes nothing above")  # fmt: skip
    return notes
