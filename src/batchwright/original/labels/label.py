"""From a whole label - list, panels, weighed pieces, what the cook knows - to one decoding task."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.nutrients import COMPOSITION_KEYS
from batchwright.base.tables import rows
from batchwright.original.labels.file import LabelFile
from batchwright.original.labels.item_match import among_spices, match_item
from batchwright.original.labels.rows import (
    SOLUBLE_KINDS,
    cocoa_rows,
    know_rows,
    list_rows,
    measured_rows,
    part_rows,
)
from batchwright.original.labels.standards import legal_rows, standard_rows, usual_ends
from batchwright.original.labels.tree import Leaf, Tree, build_tree, explained
from batchwright.original.panels.panel import read_panel
from batchwright.original.panels.records import Panel
from batchwright.original.panels.text import read_panels_text, split_label_text
from batchwright.original.region.problem import Floats, PanelRow, Problem
from batchwright.original.sampling.bank import title_stems
from batchwright.original.statements.records import Item, Statement
from batchwright.original.statements.statement import read_statement
from batchwright.original.teardown import read_teardown
from batchwright.original.teardown_records import TearDown
from batchwright.pantry.ingredient import FROM_MEMORY, rests_on_memory
from batchwright.pantry.records import Match, Profile
from batchwright.pantry.shelf import match as match_name
from batchwright.pantry.shelf import profile_of

WIDEST = {"energy_kcal": 902.0, "sodium_mg": 39340.0, "cholesterol_mg": 3000.0, "calcium_mg": 3000.0, "iron_mg": 100.0,
          "potassium_mg": 5000.0}  # fmt: skip
WITHIN = {"saturated_fat_g": "fat_g", "trans_fat_g": "fat_g", "fiber_g": "carbohydrate_g",
          "sugars_g": "carbohydrate_g", "added_sugars_g": "sugars_g"}  # fmt: skip
AVAILABLE = "available_carbohydrate_g"  # carbohydrate less fiber: what a European panel prints (1169/2011 Annex I)
LOSS_MAX_FLOUR = 0.5
LOSS_MAX_OTHER = 0.8  # jams, sauces, dried and boiled-down foods
BRIX_DOUBT = 3.0  # °Bx: pulp, acids and polyols that a refractometer reads otherwise (common practice)
UNKNOWN_NAME = "(unknown food)"


@dataclass(frozen=True, slots=True)
class Assembly:
    """A label ready to decode: the task, and what each unknown of it is.

    usual: (n, 2) usual ends of minor ingredients as fractions of the mass as added, nan where nothing is usual.
    """

    label: LabelFile
    statement: Statement
    tree: Tree
    problem: Problem
    panels: tuple[Panel, ...]
    teardown: TearDown | None
    usual: Floats
    market: str
    notes: tuple[str, ...] = field(default=())


def problem_from_label(label: LabelFile) -> Problem:
    """Return the decoding task of a label; see `assemble` for what stands beside it."""
    return assemble(label).problem


def assemble(label: LabelFile) -> Assembly:
    """Return a label as a decoding task with its tree, panels, weighed parts and notes.

    label: what the cook entered; every part of it may be missing. A label without a list is one unknown food; without a
    panel only the list speaks. Raises InputError for figures that cannot be (negative, text for a number, serving 0).
    """
    notes = list(label.notes)
    listed, beside = split_label_text(label.text)
    statement = read_statement(listed, label.as_printed)
    panels, teardown = _entered(label)
    panels += read_panels_text(beside) if beside.strip() else ()
    notes += [note for panel in panels for note in panel.notes]
    notes += [f"panel: {fault}" for panel in panels for fault in panel.faults]
    notes += [] if teardown is None else [*teardown.notes, *(f"teardown: {fault}" for fault in teardown.faults)]
    shares = _part_shares(teardown)
    market = _market(panels, statement)
    items = explained(statement.ingredients) or [Item(UNKNOWN_NAME)]
    if not statement.ingredients:
        notes.append("no ingredient list: the food is taken as one unknown ingredient")
    find = _finder(label, among_spices(items))
    weighed = [name for name in shares if name]
    tree = build_tree(items, find, weighed, label.know, market)
    demands = list_rows(tree, market)
    demands += standard_rows(tree.nodes, tree.leaves, market)
    demands += legal_rows(tree.nodes, tree.leaves)
    demands += part_rows(tree, shares)
    demands += know_rows(tree, label.know)
    for trailer in statement.trailers:
        if trailer.kind == "cocoa solids" and trailer.min_percent:
            demands += cocoa_rows(tree, trailer.min_percent)
    typical, spread, low, high, water = composition(tree.leaves)
    carbohydrate, fiber = (COMPOSITION_KEYS.index(key) for key in ("carbohydrate_g", "fiber_g"))
    soluble = [
        max(0.0, typical[carbohydrate, place] - typical[fiber, place]) if leaf.kind in SOLUBLE_KINDS else 0.0
        for place, leaf in enumerate(tree.leaves)
    ]
    more_rows, more_figures = measured_rows(tree, _measured(label, teardown), soluble, list(water[0]))
    figures = panel_rows(panels)
    floury = any("flour" in leaf.kind for leaf in tree.leaves)
    usual = np.full((len(tree.leaves), 2), np.nan)
    for place, leaf in enumerate(tree.leaves):
        ends = usual_ends(leaf)
        if ends is not None:
            usual[place] = ends
    if any(figure.nutrient == AVAILABLE for figure in figures):
        typical, spread, low, high = _with_available((typical, spread, low, high))
    keys = (*COMPOSITION_KEYS, AVAILABLE)[: len(typical)]
    keep = [place for place, key in enumerate(keys) if key != "water_g"]
    problem = Problem(
        names=_unique(tree.leaves, tree.part_names),
        part_of=tuple(leaf.part for leaf in tree.leaves),
        part_names=tree.part_names,
        nutrients=tuple(keys[place] for place in keep),
        typical=typical[keep],
        spread=spread[keep],
        low=low[keep],
        high=high[keep],
        water_typical=water[0],
        water_low=water[1],
        water_high=water[2],
        rows=tuple(demands + more_rows),
        panel=tuple(figures + more_figures),
        loss_max=LOSS_MAX_FLOUR if floury else LOSS_MAX_OTHER,
        kinds=tuple(leaf.kind for leaf in tree.leaves),
        title_words=title_stems(f"{label.name} {label.sort}"),
        sort=_sort(f"{label.sort} {label.name}"),
        shelf_names=tuple(leaf.match.ingredient or leaf.name for leaf in tree.leaves),
    )
    told = tuple(dict.fromkeys([*notes, *tree.notes, *_from_memory(tree.leaves)]))
    return Assembly(label, statement, tree, problem, tuple(panels), teardown, usual, market, told)


def _from_memory(leaves: Sequence[Leaf]) -> list[str]:
    """Say which ingredients' composition no source at hand could be checked against."""
    names = dict.fromkeys(leaf.name for leaf in leaves if rests_on_memory(leaf.profile))
    return [f"{FROM_MEMORY}: {', '.join(names)}"] if names else []


def _entered(label: LabelFile) -> tuple[list[Panel], TearDown | None]:
    """Return the panels entered and the tear-down; raises InputError with the faults of all of them together."""
    panels: list[Panel] = []
    teardown = None
    faults: list[Fault] = []
    for given in label.panels:
        try:
            panels += _panels(given)
        except InputError as error:
            faults += error.faults
    try:
        teardown = read_teardown(label.teardown) if label.teardown else None
    except InputError as error:
        faults += error.faults
    if faults:
        raise InputError(faults)
    return panels, teardown


def _panels(given: Mapping[str, Any]) -> tuple[Panel, ...]:
    """Return a panel from keys and figures, or every panel in pasted text."""
    text = given.get("text")
    return read_panels_text(text) if isinstance(text, str) else (read_panel(given),)


def panel_rows(panels: Sequence[Panel]) -> list[PanelRow]:
    """Return every usable figure of every panel per 100 g finished; several panels of one food narrow one another."""
    found = []
    for place, panel in enumerate(panels):
        which = f" (panel {place + 1})" if len(panels) > 1 else ""
        for nutrient, (low, high, line) in panel.per_100g().items():
            if nutrient == "carbohydrate_g" and panel.scheme == "EU" and panel.figure("fiber_g") is None:
                _, upper = panel.factor_per_100g() or (1.0, 1.0)
                found.append(PanelRow(AVAILABLE, low, panel.figure_or_empty(nutrient).high * upper, line + which))
            elif nutrient in COMPOSITION_KEYS:
                found.append(PanelRow(nutrient, max(0.0, low), high, line + which))
    return found


def _with_available(tables: tuple[Floats, Floats, Floats, Floats]) -> tuple[Floats, ...]:
    """Return typical, spread, low and high with a row more: carbohydrate less fiber, as European panels print it."""
    carbohydrate, fiber = (COMPOSITION_KEYS.index(key) for key in ("carbohydrate_g", "fiber_g"))
    typical, spread, low, high = tables
    rows_more = (
        typical[carbohydrate] - typical[fiber],
        spread[carbohydrate],
        low[carbohydrate] - high[fiber],
        high[carbohydrate] - low[fiber],
    )
    return tuple(np.vstack([table, np.maximum(row, 0.0)]) for table, row in zip(tables, rows_more, strict=True))


def composition(leaves: Sequence[Leaf]) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return (typical, spread, low, high) of shape (K, n) per 100 g and water (3, n): typical, low, high.

    K follows COMPOSITION_KEYS. A key that a profile does not hold is as wide as food allows, within the key it is part
    of. Energy is reckoned from fat, protein and carbohydrate (9, 4, 4 kcal per g; fibre 0 to 4), as panels are.
    """
    shape = (len(COMPOSITION_KEYS), len(leaves))
    typical, spread, low, high = (np.zeros(shape) for _ in range(4))
    row_of = {key: row for row, key in enumerate(COMPOSITION_KEYS)}
    for place, leaf in enumerate(leaves):
        profile = leaf.profile
        for row, key in enumerate(COMPOSITION_KEYS):
            if key in profile.typical:
                typical[row, place] = profile.typical[key]
                spread[row, place] = profile.spread.get(key, 0.0)
                low[row, place] = min(profile.low.get(key, profile.typical[key]), profile.typical[key])
                high[row, place] = max(profile.high.get(key, profile.typical[key]), profile.typical[key])
            else:
                top = profile.high.get(key, WIDEST.get(key, 100.0))
                if key in WITHIN:
                    top = min(top, high[row_of[WITHIN[key]], place])
                low[row, place] = min(profile.low.get(key, 0.0), top)
                high[row, place] = top
                typical[row, place] = low[row, place] + (top - low[row, place]) * (0.02 if key in WIDEST else 0.25)
                spread[row, place] = (top - low[row, place]) / 4.0
    _energy(typical, spread, low, high, row_of)
    water = np.array([table[row_of["water_g"]] for table in (typical, low, high)])
    return typical, spread, low, high, water


def _energy(typical: Floats, spread: Floats, low: Floats, high: Floats, row_of: Mapping[str, int]) -> None:
    """Set energy from the macronutrients where that agrees with the shelf's figure; else keep both within the ends."""
    fat, protein, carbohydrate, fiber, energy = (
        row_of[key] for key in ("fat_g", "protein_g", "carbohydrate_g", "fiber_g", "energy_kcal")
    )
    reckoned = 9 * typical[fat] + 4 * typical[protein] + 4 * typical[carbohydrate] - 2 * typical[fiber]
    least = 9 * low[fat] + 4 * low[protein] + 4 * np.maximum(0.0, low[carbohydrate] - high[fiber])
    most = 9 * high[fat] + 4 * high[protein] + 4 * high[carbohydrate]
    agree = np.abs(reckoned - typical[energy]) <= 0.15 * np.maximum(reckoned, 40.0)
    low[energy] = np.minimum(np.minimum(low[energy], np.maximum(least, 0.9 * low[energy])), typical[energy])
    high[energy] = np.maximum(np.maximum(high[energy], np.minimum(most, 1.1 * high[energy])), typical[energy])
    typical[energy] = np.where(agree, np.clip(reckoned, low[energy], high[energy]), typical[energy])
    spread[energy] = np.maximum(spread[energy], 0.02 * typical[energy])


def _unique(leaves: Sequence[Leaf], part_names: Sequence[str]) -> tuple[str, ...]:
    """Return a name for each unknown that no other has: its path, its part where there are several, a count."""
    seen: dict[str, int] = {}
    found = []
    for leaf in leaves:
        name = " > ".join(leaf.path) + (f" @ {part_names[leaf.part]}" if len(part_names) > 1 else "")
        seen[name] = seen.get(name, 0) + 1
        found.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(found)


def _finder(label: LabelFile, meant: Mapping[str, str]) -> Any:
    """Return the look-up of a printed name: the cook's own ingredient, the cook's choice, or the shelf.

    meant: what names stand for among the others of this list.
    """
    kept: dict[tuple[str, str | None], tuple[Match, Profile]] = {}
    own = {name.casefold(): (name, content) for name, content in label.own.items()}

    def find(name: str, item: Item) -> tuple[Match, Profile]:
        key = (name, item.e_number or item.role)
        if key in kept:
            return kept[key]
        asked = label.match.get(name.casefold(), name)
        mine = own.get(asked.casefold())
        if mine is not None:
            found = (Match(name, "name", mine[0], "own", note="the cook's own ingredient"), _own_profile(mine[1]))
        else:
            hit = match_item(item, meant) if asked == name else match_name(asked)
            if asked != name:
                hit = Match(name, "name", hit.ingredient, hit.ingredient_class, hit.alternatives, "chosen by the cook")
            found = (hit, _profile(hit))
        kept[key] = found
        return found

    return find


def _profile(hit: Match) -> Profile:
    """Return the shelf's composition of a match; as wide as food allows where its class has none of its own."""
    try:
        return profile_of(hit)
    except InputError:
        return profile_of(Match(hit.printed, "unknown"))


def _own_profile(content: Mapping[str, float]) -> Profile:
    """Return a cook's own ingredient as given: a figure off another packet is good to 3 % or half a unit."""
    spread = {key: max(0.03 * value, 0.25) for key, value in content.items()}
    low = {key: max(0.0, value - 2 * spread[key]) for key, value in content.items()}
    high = {key: value + 2 * spread[key] for key, value in content.items()}
    typical = dict(content)
    if "water_g" not in content and {"fat_g", "carbohydrate_g", "protein_g"} <= content.keys():
        rest = max(0.0, 100.0 - sum(content[key] for key in ("fat_g", "carbohydrate_g", "protein_g")))
        typical["water_g"], low["water_g"], high["water_g"], spread["water_g"] = 0.8 * rest, 0.0, rest, 0.1 * rest
    return Profile(typical, spread, low, high)


def _sort(said: str) -> str:
    """Return the sort of food as the bank of formulas spells it, from the last telling word; "" where none tells."""
    known = {row["word"]: row["sort"] for row in rows("label_sorts")}
    found = [known[word] for word in re.findall(r"[a-z]+", re.sub(r"s\b", "", said.casefold())) if word in known]
    return found[-1] if found else ""


def _part_shares(teardown: TearDown | None) -> dict[str, Estimate]:
    """Return each weighed part's share of the finished piece [fraction]."""
    parts = () if teardown is None else teardown.parts
    return {part.name: part.share_percent.scaled(0.01, "") for part in parts}


def _measured(label: LabelFile, teardown: TearDown | None) -> dict[str, dict[str, float]]:
    """Return what was measured of the whole ("") and of each part, the tear-down's readings among it."""
    found = {name: dict(entries) for name, entries in label.measured.items()}
    if teardown is None:
        return found
    read = [("", teardown.water_percent, teardown.brix)]
    read += [(part.name, part.water_percent, part.brix) for part in teardown.parts]
    for name, water, brix in read:
        for key, estimate in (("moisture", water), ("brix", brix)):
            if estimate is not None:
                into = found.setdefault(name, {})
                into.setdefault("moisture_percent" if key == "moisture" else "brix", estimate.likely)
                into.setdefault(f"{key}_error", (BRIX_DOUBT if key == "brix" else 0.0) + _half(estimate))
    return found


def _half(estimate: Estimate) -> float:
    """Return half the width of an estimate's widest range."""
    low = estimate.low if estimate.sure_low is None else estimate.sure_low
    high = estimate.high if estimate.sure_high is None else estimate.sure_high
    return max(high - estimate.likely, estimate.likely - low)


def _market(panels: Sequence[Panel], statement: Statement) -> str:
    """Return "US", "EU" or "" from the panels' scheme and the list's own habits."""
    for panel in panels:
        if panel.scheme in ("US", "EU"):
            return panel.scheme
    text = statement.text.casefold()
    if any(item.max_percent is not None for item in statement.walk()) or "thiamin mononitrate" in text:
        return "US"
    british = ("flavouring", "raising agent", "emulsifier:", "colour", "skimmed", "wholemeal", "e471", "e322")
    return "EU" if any(word in text for word in british) else ""
