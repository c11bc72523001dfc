"""From the printed tree to the leaves that decoding asks for: one unknown per leaf and part."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from batchwright.base.tables import number, rows
from batchwright.original.labels.file import Knowledge
from batchwright.original.labels.put_in import carrying
from batchwright.original.statements.records import Item
from batchwright.pantry.records import Match, Profile

Finder = Callable[[str, Item], tuple[Match, Profile]]
MOST_LEAVES = 400  # unknowns beyond which the tail of the list is left as printed groups


@dataclass(frozen=True, slots=True)
class Leaf:
    """One unknown: a listed leaf in one part, with its shelf entry and the kind the prior knows it by."""

    name: str
    path: tuple[str, ...]
    part: int
    match: Match
    profile: Profile
    kind: str


@dataclass(frozen=True, slots=True)
class Derived:
    """A leaf that is no unknown: a fixed part (low..high, fraction) of the unknown at place `of` (enrichment)."""

    name: str
    path: tuple[str, ...]
    part: int
    of: int
    low: float
    high: float
    match: Match


@dataclass(frozen=True, slots=True)
class Node:
    """A printed item with the places of every unknown below it."""

    item: Item
    path: tuple[str, ...]
    children: tuple[Node, ...]
    places: tuple[int, ...]
    component: bool = False


@dataclass(slots=True)
class Tree:
    """The whole list as unknowns."""

    part_names: tuple[str, ...]
    leaves: list[Leaf] = field(default_factory=list)
    derived: list[Derived] = field(default_factory=list)
    nodes: list[Node] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def words(text: str) -> frozenset[str]:
    """Return the plain words of a name, plural endings cut."""
    return frozenset(re.sub(r"(?<=[a-z]{3})s$", "", word) for word in re.findall(r"[a-z]+", text.casefold()))


def same_thing(asked: str, name: str) -> bool:
    """Tell whether what a cook calls something is a printed name: all the cook's words stand in it."""
    return bool(words(asked)) and words(asked) <= words(name)


@cache
def _part_words() -> frozenset[str]:
    return frozenset(row["word"] for row in rows("label_parts"))


@cache
def _enrichment() -> tuple[tuple[re.Pattern[str], str, float, float], ...]:
    found = []
    for row in rows("label_enrichment"):
        low, high = number(row["low_mg_per_100g_flour"]), number(row["high_mg_per_100g_flour"])
        found.append((re.compile(row["pattern"]), row["market"], (low or 0.0) * 1e-5, (high or 0.0) * 1e-5))
    return tuple(found)


@cache
def _kinds() -> tuple[tuple[str, re.Pattern[str] | None, re.Pattern[str]], ...]:
    found = []
    for row in rows("label_kinds"):
        by_class = re.compile(row["class_pattern"]) if row["class_pattern"] else None
        found.append((row["kind"], by_class, re.compile(row["name_pattern"])))
    return tuple(found)


def kind_of(name: str, ingredient_class: str | None) -> str:
    """Return the coarse kind (as the prior knows kinds) of a name; by its words first, by its shelf class second."""
    plain = name.casefold()
    for kind, _, by_name in _kinds():
        if by_name.search(plain):
            return kind
    for kind, by_class, _ in _kinds():
        if ingredient_class and by_class is not None and by_class.search(ingredient_class):
            return kind
    return "other"


def _named_part(item: Item) -> bool:
    """Tell whether a bracketed item is called a part of the food: its last word is one ("walnut filling")."""
    last = re.findall(r"[a-z]+", re.sub(r"s\b", "", item.name.casefold()))[-1:]
    return bool(last) and last[0] in {row["word"] for row in rows("label_parts") if row["bracketed"] == "yes"}


def part_plan(
    items: Sequence[Item], weighed: Sequence[str], know: Mapping[str, Knowledge]
) -> tuple[tuple[str, ...], list[tuple[int, ...]], list[bool]]:
    """Return (names of the parts, for each top-level item the parts it may be in, whether it heads a part).

    weighed: names of the parts that were scraped apart. Two or more bracketed items called parts are parts. A heading
    that names a part is that part; what is left is shared among the parts that no heading names, and everything may be
    in every part where no heading names any.
    """
    heads: dict[int, str] = {}
    components = [place for place, item in enumerate(items) if item.kind == "component" and item.children]
    for place in components:
        if words(items[place].name) & _part_words() or len(components) >= 2:
            heads[place] = items[place].name
    nested = [p for p, item in enumerate(items) if p not in components and len(item.children) > 1 and _named_part(item)]
    if len(nested) + len(heads) >= 2:
        heads.update({place: items[place].name for place in nested})
    free = list(weighed)
    for asked in weighed:
        for place, item in enumerate(items):
            if item.children and asked in free and same_thing(asked, item.name):
                heads[place] = asked
                free.remove(asked)
                break
    if not heads and len(free) < 2:
        free = []
    names: list[str] = []
    for place in sorted(heads):
        if heads[place] not in names:
            names.append(heads[place])
    rest = [place for place in range(len(items)) if place not in heads]
    if rest or not names:
        names += free or (["rest"] if names else ["whole"])
    shared = tuple(range(len(set(heads.values())), len(names)))
    allowed = [(names.index(heads[place]),) if place in heads else shared for place in range(len(items))]
    return tuple(names), allowed, [place in heads for place in range(len(items))]


def allowed_parts(
    name: str, allowed: tuple[int, ...], part_names: Sequence[str], know: Mapping[str, Knowledge], notes: list[str]
) -> tuple[int, ...]:
    """Return the parts an ingredient may be in after what the cook knows of it."""
    for asked, fact in know.items():
        if not same_thing(asked, name):
            continue
        for part, keep in ((fact.only, True), (fact.not_in, False)):
            if not part:
                continue
            hit = [place for place in allowed if same_thing(part, part_names[place])]
            left = tuple(hit) if keep else tuple(place for place in allowed if place not in hit)
            if not hit:
                notes.append(f"know: {asked}: no part called {part!r} here; the parts are {', '.join(part_names)}")
            elif left:
                allowed = left
    return allowed


def explained(items: Sequence[Item]) -> list[Item]:
    """Return the top-level items with what "toffee pieces contain: ..." says behind the list moved to its item.

    A heading with the name of an item before it that has no parts yet says what that item is made of.
    """
    found: list[Item] = []
    for item in items:
        named = [place for place, before in enumerate(found) if _same_name(before, item)]
        if item.kind == "component" and item.children and named:
            found[named[-1]] = replace(found[named[-1]], children=item.children)
        else:
            found.append(item)
    return found


def _same_name(before: Item, heading: Item) -> bool:
    """Tell whether a heading is called as an item without parts."""
    return not before.children and bool(words(before.name)) and words(before.name) == words(heading.name)


def build_tree(
    items: Sequence[Item], find: Finder, weighed: Sequence[str], know: Mapping[str, Knowledge], market: str
) -> Tree:
    """Return the unknowns of a printed list.

    items: the top-level items; find: name and item to (match, profile); weighed: names of parts scraped apart;
    know: what the cook knows; market: "US", "UK", "EU" or "" (sets the enrichment standard).
    """
    part_names, allowed, heads = part_plan(items, weighed, know)
    tree = Tree(part_names)
    for item, parts, head in zip(items, allowed, heads, strict=True):
        tree.nodes.append(_grow(tree, item, (), parts, find, know, market, head))
    return tree


def _grow(
    tree: Tree, item: Item, above: tuple[str, ...], parts: tuple[int, ...], find: Finder,
    know: Mapping[str, Knowledge], market: str, head: bool = False,
) -> Node:  # fmt: skip
    """Add the unknowns of one item and return its node."""
    path = (*above, item.name)
    item = carrying(item, find)
    enriched = _enriched_flour(item, market)
    start = len(tree.leaves)
    if not item.children or (len(tree.leaves) > MOST_LEAVES and not head):
        if item.children:
            tree.notes.append(f"{item.name}: the list is very long; its parts are not told apart")
        _add(tree, item, path, parts, find, know)
        return Node(item, path, (), tuple(range(start, len(tree.leaves))), head)
    children: list[Node] = []
    if enriched is None:
        raw = _raw_stuff(item, find)
        for child in item.children:
            if child.name in raw:
                before = len(tree.leaves)
                _add(tree, child, (*path, child.name), parts, find, know, stands_for=item)
                children.append(Node(child, (*path, child.name), (), tuple(range(before, len(tree.leaves)))))
            else:
                children.append(_grow(tree, child, path, parts, find, know, market))
    else:
        flour, extras = enriched
        for child in item.children:
            if child is flour:
                before = len(tree.leaves)
                _add(tree, child, (*path, child.name), parts, find, know, stands_for=item)
                places = tuple(range(before, len(tree.leaves)))
                children.append(Node(child, (*path, child.name), (), places))
            elif child.name not in extras:
                children.append(_grow(tree, child, path, parts, find, know, market))
        for child in item.children:
            if child.name in extras and child is not flour:
                match, _ = find(child.name, child)
                for place in children[0].places:
                    leaf = tree.leaves[place]
                    low, high = extras[child.name]
                    tree.derived.append(Derived(child.name, (*path, child.name), leaf.part, place, low, high, match))
    return Node(item, path, tuple(children), tuple(range(start, len(tree.leaves))), head)


def _add(
    tree: Tree, item: Item, path: tuple[str, ...], parts: tuple[int, ...], find: Finder,
    know: Mapping[str, Knowledge], stands_for: Item | None = None,
) -> None:  # fmt: skip
    """Add one leaf, once for every part it may be in."""
    match, profile = find(item.name, item)
    if stands_for is not None:
        wider, its_profile = find(stands_for.name, stands_for)
        if wider.how != "unknown":
            match, profile = wider, its_profile
    elif match.ingredient_class == "spice" and len(path) == 1 and _leads(tree) and not DRY.search(item.name):
        fresh, its_profile = find(f"{match.ingredient}, fresh", item)
        if fresh.ingredient_class == "vegetable":
            match, profile = fresh, its_profile
    kind = kind_of(match.ingredient or item.name, match.ingredient_class)
    if item.role and kind == "other":
        kind = kind_of(item.role, item.role)
    for part in allowed_parts(item.name, parts, tree.part_names, know, tree.notes):
        tree.leaves.append(Leaf(item.name, path, part, match, profile, kind))


DRY = re.compile(r"dried|dry|powder|ground|flake|rubbed|milled")


def _leads(tree: Tree) -> bool:
    """Tell whether what comes next heads the list, or stands behind wet things only: a herb is then a fresh one."""
    wet = ("vegetable", "water", "oil", "fruit")
    return len(tree.nodes) < 2 and all(leaf.match.ingredient_class in wet for leaf in tree.leaves)


RAW_STUFF = {
    "cheese": ("milk", "cream", "conc milk"), "butter": ("milk", "cream"), "dry milk": ("milk", "cream"),
    "cream": ("milk",), "dairy protein": ("milk",), "dried fruit": ("fruit",),
}  # fmt: skip
BESIDE = ("salt", "colour", "preservative", "acid", "emulsifier", "gum", "flavour", "leavening", "fortificant", "other",
          "oil", "water")  # fmt: skip


def _raw_stuff(item: Item, find: Finder) -> frozenset[str]:
    """Return the leaves in an item's brackets that are only what it was made of: of cheese (milk, salt) the milk.

    The item is weighed out as itself, so these take its composition. Only where nothing else of weight stands beside.
    """
    match, _ = find(item.name, item)
    stuff = RAW_STUFF.get(match.ingredient_class or "", ())
    if not stuff or any(child.children and not child.role for child in item.children):
        return frozenset()
    classes = {child.name: find(child.name, child)[0].ingredient_class for child in item.children if not child.children}
    raw = frozenset(name for name, its_class in classes.items() if its_class in stuff)
    rest = [its_class for name, its_class in classes.items() if name not in raw]
    return raw if all(its_class is None or its_class in BESIDE for its_class in rest) else frozenset()


def _enriched_flour(item: Item, market: str) -> tuple[Item, dict[str, tuple[float, float]]] | None:
    """Return the flour of an enriched flour and the fixed shares of what enriches it; None for anything else."""
    if not item.children or not re.search(r"flour|semolina", item.name):
        return None
    first = item.children[0]
    if first.children or not re.search(r"flour|semolina|wheat|durum", first.name):
        return None
    extras: dict[str, tuple[float, float]] = {}
    for child in item.children[1:]:
        if child.children:
            continue
        for pattern, where, low, high in _enrichment():
            called = child.name + " " + (child.synonym or "")
            if pattern.search(called) and (where == market or (market != "US") == (where == "UK")):
                extras.setdefault(child.name, (low, high))
                break
        else:
            if re.search(r"vitamin|fol|niacin|nicotin|thiamin|riboflavin|iron|ferrous|nutrient", child.name):
                extras.setdefault(child.name, (0.0, 0.0001))
    return (first, extras) if extras else None
