"""How sweet sugars and other sweeteners are against table sugar, gram for gram."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.tables import rows

METHOD = "relative sweetness against sucrose, gram for gram; additive by convention, true only roughly"


@cache
def relative_sweetness(what: str) -> Estimate:
    """Return how sweet a stuff is against table sugar, gram for gram (sucrose = 1).

    Use it to compare mixtures of like strength; it says nothing of when sweetness comes and how long it stays.
    what: a name of the table `sweetness_relative` ("sucrose", "lactose", "honey" ...). `likely` is the first-ranked
    source's figure (the middle of its range), low..high spans all sources, which differ much.
    Raises InputError for a name the table does not have.
    """
    found = _table().get(what)
    if found is None:
        raise InputError([Fault("sweetener", what, ", ".join(sorted(_table())))])
    return found


def knows_sweetness(what: str) -> bool:
    """Return whether the table has a figure for a stuff."""
    return what in _table()


@cache
def _table() -> Mapping[str, Estimate]:
    groups: dict[str, list[dict[str, str]]] = {}
    for row in rows("sweetness_relative"):
        groups.setdefault(row["what"], []).append(row)
    found = {}
    for what, given in groups.items():
        ranked = sorted(given, key=lambda row: int(row["rank"]))
        first = (float(ranked[0]["low_percent"]) + float(ranked[0]["high_percent"])) / 200.0
        low = min(float(row["low_percent"]) for row in given) / 100.0
        high = max(float(row["high_percent"]) for row in given) / 100.0
        sources = tuple(dict.fromkeys(row["source"] for row in ranked))
        found[what] = Estimate(first, low, high, unit="of table sugar", method=METHOD, sources=sources)
    return found
