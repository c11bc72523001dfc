"""What law and trade say about shares: standards of identity, legal caps, usual amounts of minor ingredients."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from batchwright.base.tables import number, rows
from batchwright.original.labels.tree import Leaf, Node
from batchwright.original.region.problem import Row


@dataclass(frozen=True, slots=True)
class MinorCap:
    """How much of a minor ingredient is usual [% of the food] and the most the law allows, where it says."""

    what: str
    pattern: re.Pattern[str]
    usual_low: float
    usual_high: float
    legal_high: float | None
    basis: str


@cache
def minor_caps() -> tuple[MinorCap, ...]:
    """Return the table of minor ingredients, in order of precedence."""
    return tuple(
        MinorCap(
            row["what"],
            re.compile(row["pattern"]),
            number(row["usual_low_percent"]) or 0.0,
            number(row["usual_high_percent"]) or 100.0,
            number(row["legal_high_percent"]),
            row["basis"],
        )
        for row in rows("label_minor_caps")
    )


def minor_cap(name: str, e_number: str | None = None) -> MinorCap | None:
    """Return what is known of a minor ingredient by its name or E-number, None for anything that is not one."""
    plain = name.casefold()
    code = (e_number or "").casefold().replace(" ", "").replace("-", "")
    for cap in minor_caps():
        if cap.pattern.search(plain) or (code and cap.pattern.search(code)):
            return cap
    return None


def usual_ends(leaf: Leaf, e_number: str | None = None) -> tuple[float, float] | None:
    """Return the usual ends of a minor leaf as fractions of the mass as added, None where nothing is usual."""
    cap = minor_cap(leaf.name, e_number)
    if cap is None and leaf.match.ingredient and leaf.match.how in ("name", "synonym", "stripped", "spelling"):
        cap = minor_cap(leaf.match.ingredient)
    return None if cap is None else (cap.usual_low / 100.0, cap.usual_high / 100.0)


def legal_rows(nodes: Sequence[Node], leaves: Sequence[Leaf]) -> list[Row]:
    """Return the legal caps as rows: the printed leaf, over all parts, at most its cap of the food."""
    found = []
    for node in walk(nodes):
        if node.children or not node.places:
            continue
        cap = minor_cap(node.item.name, node.item.e_number)
        if cap is None or cap.legal_high is None:
            continue
        line = f"legal cap: {node.item.name} at most {cap.legal_high:g} %"
        found.append(Row(dict.fromkeys(node.places, 1.0), -np.inf, cap.legal_high / 100.0, line, "minor"))
    return found


def standard_rows(nodes: Sequence[Node], leaves: Sequence[Leaf], market: str) -> list[Row]:
    """Return the standards of identity of the compounds in the list as rows on their parts.

    market: "US", "UK", "EU" or "" (only rows that hold in any market).
    """
    found: list[Row] = []
    for node in walk(nodes):
        if not node.children or len(node.places) < 2:
            continue
        name = re.sub(r"[^a-z -]", "", node.item.name.casefold()).strip()
        for row in rows("label_standards"):
            if row["market"] not in ("any", market) or not re.search(rf"\b{row['compound']}s?$", name):
                continue
            members = re.compile(row["members"])
            hit = [place for place in node.places if members.search(" > ".join(leaves[place].path[len(node.path) :]))]
            low, high = number(row["low_percent"]), number(row["high_percent"])
            if not hit or len(hit) == len(node.places):
                continue
            end = f"at least {low:g} %" if low is not None else f"at most {high:g} %"
            line = f"standard: {node.item.name}: {row['note']} ({end})"
            for edge, is_low in ((low, True), (high, False)):
                if edge is None:
                    continue
                factors = {place: (1.0 if place in hit else 0.0) - edge / 100.0 for place in node.places}
                found.append(Row(factors, 0.0 if is_low else -np.inf, np.inf if is_low else 0.0, line, "standard"))
    return found


def walk(nodes: Sequence[Node]) -> list[Node]:
    """Return every node, parents first, in printed order."""
    found: list[Node] = []
    stack = list(reversed(nodes))
    while stack:
        node = stack.pop()
        found.append(node)
        stack.extend(reversed(node.children))
    return found
