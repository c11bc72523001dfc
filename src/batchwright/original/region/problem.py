"""The decoding task in numbers: what bounds and sampling both work on.

Unknowns x = (s_1 .. s_n, f_1 .. f_m): s the share of each listed leaf in the mass as added (fractions, sum 1), f the
finished mass of each part as a fraction of the whole mass as added (1 - the part's own loss). All rows are linear.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Row:
    """One linear demand `low <= coefficients . x <= high` (either end may be infinite) and the label line it is from.

    `coefficients` maps the place in x to its factor. `line` is the line as a cook would name it
    ("order: sugar before palm oil", "fat 7 g"), the same text for all rows of one label line; `family` is one of
    order, group, quid, panel, standard, loss, part, choice, minor, measured, structure. Rows of the family structure
    (sum, signs, physics) can never be left out to resolve a contradiction.
    """

    coefficients: dict[int, float]
    low: float
    high: float
    line: str
    family: str


@dataclass(frozen=True, slots=True)
class PanelRow:
    """One panel figure as an interval of the true value per 100 g finished, of the whole food or of one part.

    `nutrient` is a key of COMPOSITION_KEYS; `parts` the places of the parts it speaks of (empty = all).
    """

    nutrient: str
    low: float
    high: float
    line: str
    parts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """A label as numbers.

    names: n leaf names, unique within the problem; part_of: n places of parts; part_names: m names.
    nutrients: K keys; typical, spread, low, high: (K, n) composition per 100 g of each leaf, its standard deviation,
    and the two ends of what is possible (equal to typical where exact); water_typical/low/high: (n,) g per 100 g.
    kinds: coarse kind of each leaf as the prior knows kinds; title_words: the food's name; sort: the sort of food
    as the prior's bank spells it; shelf_names: plain ingredient name of each leaf where it differs from `names`.
    rows: linear demands on x; panel: panel figures. `loss_max` bounds each part's loss (fraction of the part's mass).
    """

    names: tuple[str, ...]
    part_of: tuple[int, ...]
    part_names: tuple[str, ...]
    nutrients: tuple[str, ...]
    typical: Floats
    spread: Floats
    low: Floats
    high: Floats
    water_typical: Floats
    water_low: Floats
    water_high: Floats
    rows: tuple[Row, ...]
    panel: tuple[PanelRow, ...]
    loss_max: float = 0.5
    kinds: tuple[str, ...] = field(default=())
    title_words: tuple[str, ...] = field(default=())
    sort: str = ""
    shelf_names: tuple[str, ...] = field(default=())

    @property
    def n(self) -> int:
        """How many leaves."""
        return len(self.names)

    @property
    def m(self) -> int:
        """How many parts."""
        return len(self.part_names)
