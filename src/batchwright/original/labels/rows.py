"""What the printed list demands of the shares: order, groups, percentages; and parts, what was measured or known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.original.labels.file import Knowledge
from batchwright.original.labels.standards import minor_cap, walk
from batchwright.original.labels.tree import Leaf, Node, Tree, same_thing
from batchwright.original.region.problem import PanelRow, Row

EU_FREE_ORDER = 0.02  # Regulation (EU) 1169/2011 Annex VII A: below 2 % of the finished product, any order at the end
DOUGH_WATER = 1.6  # per flour: a baked part stood in the list with water that bakes off (the wettest batter, wafers)
FLOUR_KINDS = ("flour", "whole_flour")
HALF_DIGIT = 0.5  # of the last digit a percentage is printed with
SOLUBLE_KINDS = ("sugar", "syrup", "fruit", "dried_fruit", "juice", "milk", "dry_milk", "conc_milk", "sweetener")


def list_rows(tree: Tree, market: str) -> list[Row]:
    """Return every demand of the printed list on the shares (n unknowns, then m finished masses)."""
    found = order_rows(tree.nodes, tree.leaves, market)
    for node in walk(tree.nodes):
        if node.children and node.item.ordered and not node.item.one_of:
            found += order_rows(node.children, tree.leaves, market, node)
    for node in walk(tree.nodes):
        found += group_rows(node)
        found += percent_rows(node, tree)
    return found


def order_rows(
    siblings: Sequence[Node], leaves: Sequence[Leaf], market: str, above: Node | None = None
) -> list[Row]:
    """Return the rows of descending order among the items of one list.

    An item of a "2 % or less" group, or after one, says nothing of order; nor do headings that name parts. Outside
    the United States the last items may stand in any order below 2 %: among minor ingredients at the end a later one
    may exceed an earlier one, but then by no more than 2 %. A bracketed part with flour stood in the list with water
    that need not be named, so the next item may exceed its listed mass by that. What stands in brackets behind a
    function ("leavening (a, b)") is held to the order leaf by leaf: no leaf exceeds the item before, and the next item
    not their sum.
    """
    found: list[Row] = []
    free = 0.0 if market == "US" else EU_FREE_ORDER
    tail = _minor_tail(siblings)
    before: Node | None = None
    where = f" (in {above.item.name})" if above is not None else ""
    for place, node in enumerate(siblings):
        if node.item.max_percent is not None or node.item.kind == "component" or not node.places:
            before = None if node.item.max_percent is not None else before
            continue
        if before is not None:
            line = f"order: {before.item.name} before {node.item.name}{where}"
            loose = free if place > tail else 0.0
            for lesser in _heads(node):
                factors = dict.fromkeys(before.places, 1.0)
                if before.component:
                    factors.update({p: 1.0 + DOUGH_WATER for p in before.places if leaves[p].kind in FLOUR_KINDS})
                for unknown in lesser:
                    factors[unknown] = factors.get(unknown, 0.0) - 1.0
                found.append(Row(factors, -loose, np.inf, line, "order"))
        before = node
    return found


def _heads(node: Node) -> list[tuple[int, ...]]:
    """Return the sets of unknowns that the item before must not be less than: the sum, or each leaf of a function."""
    if node.item.role and node.children:
        return [child.places for child in node.children if child.places]
    return [node.places]


def _minor_tail(siblings: Sequence[Node]) -> int:
    """Return the place from which every item of a list is a minor ingredient (its length where the last is none)."""
    tail = len(siblings)
    for place in range(len(siblings) - 1, -1, -1):
        node = siblings[place]
        names = [child.item for child in walk([node]) if not child.children] or [node.item]
        if not (node.item.role or all(minor_cap(item.name, item.e_number) for item in names)):
            break
        tail = place
    return tail


def group_rows(node: Node) -> list[Row]:
    """Return the cap of an item that stands in a "2 % or less" group: of its sum, or leaf by leaf for a function."""
    if node.item.max_percent is None or not node.places:
        return []
    share = node.item.max_percent / 100.0
    line = f"group: {node.item.name}, {node.item.max_percent:g} % or less"
    return [Row(dict.fromkeys(places, 1.0), -np.inf, share, line, "group") for places in _heads(node)]


def percent_rows(node: Node, tree: Tree) -> list[Row]:
    """Return the rows of a printed percentage: of the finished food, or of its own part where the text says so."""
    item = node.item
    if not node.places or (item.percent is None and item.percent_min is None and item.percent_max is None):
        return []
    n = len(tree.leaves)
    if item.percent_basis == "component" and len(node.path) > 1:
        base = _base_of_parent(node, tree)
        of = f" of {node.path[-2]}"
    else:
        base = {n + part: 1.0 for part in range(len(tree.part_names))}
        of = ""
    found = []
    ends: list[tuple[float | None, float | None, str]] = [
        (*_printed_ends(item.percent), f"{item.name} {item.percent:g} %{of}" if item.percent is not None else ""),
        (item.percent_min, None, f"{item.name} at least {item.percent_min or 0:g} %{of}"),
        (None, item.percent_max, f"{item.name} at most {item.percent_max or 0:g} %{of}"),
    ]
    for low, high, line in ends:
        for end, is_low in ((low, True), (high, False)):
            if end is None:
                continue
            factors: dict[int, float] = dict.fromkeys(node.places, 1.0)
            for unknown, weight in base.items():
                factors[unknown] = factors.get(unknown, 0.0) - weight * end / 100.0
            found.append(Row(factors, 0.0 if is_low else -np.inf, np.inf if is_low else 0.0, line, "quid"))
    return found


def _printed_ends(percent: float | None) -> tuple[float | None, float | None]:
    """Return the ends of what a printed percentage may stand for: half its last digit to each side."""
    if percent is None:
        return None, None
    digits = len(f"{percent:.6f}".rstrip("0").split(".")[1])
    half = HALF_DIGIT * 10.0**-digits
    return max(0.0, percent - half), percent + half


def _base_of_parent(node: Node, tree: Tree) -> dict[int, float]:
    """Return the unknowns that make up the item above, as added."""
    for other in walk(tree.nodes):
        if any(child is node for child in other.children):
            return dict.fromkeys(other.places, 1.0)
    return {len(tree.leaves) + part: 1.0 for part in range(len(tree.part_names))}


def part_rows(tree: Tree, shares: Mapping[str, Estimate]) -> list[Row]:
    """Return the rows of weighed parts: each part's share of the finished food [fraction], its sure or likely range."""
    n, m = len(tree.leaves), len(tree.part_names)
    found = []
    for asked, share in shares.items():
        hit = [place for place, name in enumerate(tree.part_names) if same_thing(asked, name) or asked == name]
        if len(hit) != 1 or m < 2:
            continue
        low = share.low if share.sure_low is None else share.sure_low
        high = share.high if share.sure_high is None else share.sure_high
        line = f"weighed: {asked} {100 * low:.1f} to {100 * high:.1f} % of the piece"
        for end, is_low in ((low, True), (high, False)):
            factors = {n + part: (1.0 if part == hit[0] else 0.0) - end for part in range(m)}
            found.append(Row(factors, 0.0 if is_low else -np.inf, np.inf if is_low else 0.0, line, "part"))
    return found


def know_rows(tree: Tree, know: Mapping[str, Knowledge]) -> list[Row]:
    """Return what the cook knows of shares as added, over all parts."""
    found = []
    for asked, fact in know.items():
        places = [place for place, leaf in enumerate(tree.leaves) if same_thing(asked, leaf.name)]
        if not places:
            tree.notes.append(f"know: nothing on the list is called {asked!r}")
            continue
        if fact.min_percent > 0.0 or fact.max_percent < 100.0:
            line = f"the cook knows: {asked} {fact.min_percent:g} to {fact.max_percent:g} % as added"
            ends = (fact.min_percent / 100.0, fact.max_percent / 100.0)
            found.append(Row(dict.fromkeys(places, 1.0), *ends, line, "measured"))
    return found


def measured_rows(
    tree: Tree, measured: Mapping[str, Mapping[str, float]], soluble: Sequence[float], water: Sequence[float]
) -> tuple[list[Row], list[PanelRow]]:
    """Return what was measured: moisture and fat as figures, Brix as a row on dissolved solids against water.

    measured: part name ("" = the whole) to figures; soluble, water: (n,) g per 100 g of each leaf.
    """
    n, found, figures = len(tree.leaves), [], []
    for asked, entries in measured.items():
        hit = tuple(place for place, name in enumerate(tree.part_names) if asked and same_thing(asked, name))
        if asked and not hit:
            tree.notes.append(f"measured: no part called {asked!r} here; the parts are {', '.join(tree.part_names)}")
            continue
        whole = asked or "the food"
        for key, nutrient, error in (("moisture_percent", "water_g", 0.5), ("fat_percent", "fat_g", 2.0)):
            if key in entries:
                slack = entries.get(key.replace("_percent", "_error"), error)
                line = f"measured: {key.replace('_percent', '')} of {whole} {entries[key]:g} ± {slack:g} %"
                ends = max(0.0, entries[key] - slack), min(100.0, entries[key] + slack)
                figures.append(PanelRow(nutrient, *ends, line, hit))
        if "brix" in entries:
            slack = entries.get("brix_error", 4.0)
            line = f"measured: {entries['brix']:g} ± {slack:g} °Brix of {whole}"
            parts = hit or tuple(range(len(tree.part_names)))
            for end, is_low in ((entries["brix"] - slack, True), (entries["brix"] + slack, False)):
                factors: dict[int, float] = {}
                for place, leaf in enumerate(tree.leaves):
                    if leaf.part in parts:
                        wet = (water[place] - 100.0) / 100.0
                        factors[place] = soluble[place] / 100.0 * (1 - end / 100.0) - end / 100.0 * wet
                for part in parts:
                    factors[n + part] = -end / 100.0
                found.append(Row(factors, 0.0 if is_low else -np.inf, np.inf if is_low else 0.0, line, "measured"))
    return found, figures


def cocoa_rows(tree: Tree, least_percent: float) -> list[Row]:
    """Return the row of a "cocoa solids: x % minimum" sentence, on the one chocolate it can speak of."""
    chocolates = [node for node in walk(tree.nodes) if node.children and "chocolate" in node.item.name]
    floury = any(leaf.kind in ("flour", "whole_flour", "grain", "cereal") for leaf in tree.leaves)
    if len(chocolates) > 1 or (not chocolates and floury):
        return []
    places = chocolates[0].places if chocolates else tuple(range(len(tree.leaves)))
    cocoa = [place for place in places if _is_cocoa(tree.leaves[place])]
    if not cocoa or len(cocoa) == len(places):
        return []
    line = f"cocoa solids {least_percent:g} % minimum"
    factors = {place: (1.0 if place in cocoa else 0.0) - least_percent / 100.0 for place in places}
    return [Row(factors, 0.0, np.inf, line, "quid")]


def _is_cocoa(leaf: Leaf) -> bool:
    """Tell whether a leaf counts among cocoa solids: mass, butter, powder, or an unknown chocolate."""
    return any(word in leaf.name for word in ("cocoa", "cacao", "chocolate liquor", "unsweetened chocolate"))


