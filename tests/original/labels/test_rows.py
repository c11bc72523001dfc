"""What a printed list demands: checked on trees written by hand, against the arithmetic of the rules."""

from __future__ import annotations

import math

import pytest

from batchwright.base.estimate import Estimate
from batchwright.original.labels.file import Knowledge
from batchwright.original.labels.rows import cocoa_rows, know_rows, list_rows, part_rows
from batchwright.original.labels.standards import legal_rows, minor_cap, standard_rows
from batchwright.original.labels.tree import build_tree, explained, kind_of, part_plan
from batchwright.original.region.problem import Row
from batchwright.original.statements.records import Item
from batchwright.original.statements.statement import read_statement
from batchwright.pantry.records import Match, Profile

EMPTY = Profile({}, {}, {}, {})


def find(name: str, item: Item) -> tuple[Match, Profile]:
    return Match(name, "name", name, None), EMPTY


def leaves(*names: str) -> tuple[Item, ...]:
    return tuple(Item(name) for name in names)


def holds(row: Row, values: dict[int, float]) -> bool:
    total = sum(factor * values.get(place, 0.0) for place, factor in row.coefficients.items())
    return row.low - 1e-12 <= total <= row.high + 1e-12


def rows_of(items: tuple[Item, ...], market: str = "US") -> list[Row]:
    return list_rows(build_tree(items, find, (), {}, market), market)


def test_descending_order_of_sums() -> None:
    icing = Item("icing", children=leaves("sugar", "water"))
    rows = rows_of((Item("oats"), icing, Item("honey")))
    lines = {row.line: row for row in rows}
    expected = {"order: oats before icing", "order: icing before honey", "order: sugar before water (in icing)"}
    assert set(lines) == expected
    assert holds(lines["order: oats before icing"], {0: 0.5, 1: 0.3, 2: 0.2})
    assert not holds(lines["order: oats before icing"], {0: 0.4, 1: 0.3, 2: 0.2})
    assert not holds(lines["order: sugar before water (in icing)"], {1: 0.2, 2: 0.3})


def test_group_caps_and_no_order_behind_them() -> None:
    raised = leaves("baking soda", "monocalcium phosphate")
    leavening = Item("leavening", children=raised, max_percent=2, role="leavening")
    rows = rows_of((*leaves("flour", "sugar"), Item("salt", max_percent=2), leavening, Item("starch", max_percent=1)))
    caps = [row for row in rows if row.family == "group"]
    capped = [(sorted(row.coefficients), row.high) for row in caps]
    assert capped == [([2], 0.02), ([3], 0.02), ([4], 0.02), ([5], 0.01)]
    assert not any("salt" in row.line for row in rows if row.family == "order")
    assert all(row.low == -math.inf for row in caps)


@pytest.mark.parametrize(("percent", "low", "high"), [(12.0, 11.5, 12.5), (12.5, 12.45, 12.55), (0.25, 0.245, 0.255)])
def test_printed_percent_is_of_the_finished_food(percent: float, low: float, high: float) -> None:
    rows = [row for row in rows_of((Item("oats", percent=percent), Item("sugar"))) if row.family == "quid"]
    finished = 0.8  # place 2: one fifth lost
    for share, fits in ((low, True), (high, True), (low - 0.01, False), (high + 0.01, False)):
        assert all(holds(row, {0: share / 100 * finished, 2: finished}) for row in rows) is fits


def test_at_least_percent_has_no_upper_end() -> None:
    rows = [row for row in rows_of((Item("nuts", percent_min=13), Item("sugar"))) if row.family == "quid"]
    assert len(rows) == 1
    assert holds(rows[0], {0: 0.9, 2: 1.0})
    assert not holds(rows[0], {0: 0.12, 2: 1.0})


def test_either_or_has_no_order_and_may_be_absent() -> None:
    oil = Item("vegetable oil", children=leaves("palm oil", "rapeseed oil"), one_of=True, ordered=False)
    rows = rows_of((Item("flour"), oil, Item("salt")))
    assert not any("palm oil before" in row.line for row in rows)
    assert all(holds(row, {0: 0.6, 1: 0.0, 2: 0.3, 3: 0.1}) for row in rows)


def test_small_tail_is_free_outside_the_united_states() -> None:
    items = leaves("flour", "sugar", "salt", "citric acid")
    swapped = {0: 0.6, 1: 0.385, 2: 0.002, 3: 0.013}
    assert all(holds(row, swapped) for row in rows_of(items, "EU"))
    assert not all(holds(row, swapped) for row in rows_of(items, "US"))
    assert not all(holds(row, {0: 0.3, 1: 0.6, 2: 0.05, 3: 0.05}) for row in rows_of(items, "EU"))


def test_enrichment_is_no_unknown() -> None:
    listed = leaves("wheat flour", "niacin", "reduced iron", "folic acid", "malted barley flour")
    flour = Item("enriched flour", children=listed)
    tree = build_tree((flour, Item("sugar")), find, (), {}, "US")
    assert [leaf.name for leaf in tree.leaves] == ["wheat flour", "malted barley flour", "sugar"]
    assert {one.name: (one.low, one.high) for one in tree.derived}["niacin"][0] == pytest.approx(5.291e-5)
    standard = standard_rows(tree.nodes, tree.leaves, "US")
    assert any("malted barley" in row.line for row in standard)
    assert not all(holds(row, {0: 0.5, 1: 0.02, 2: 0.48}) for row in standard)


def test_parts_from_headings_and_from_the_knife() -> None:
    items = (Item("flour"), Item("fig filling", children=leaves("figs", "sugar")), Item("sugar"))
    names, allowed, heads = part_plan(items, ("filling", "casing"), {})
    assert names == ("filling", "casing")
    assert allowed == [(1,), (0,), (1,)]
    assert heads == [False, True, False]
    names, allowed, _ = part_plan(leaves("flour", "sugar"), ("filling", "casing"), {})
    assert (names, allowed) == (("filling", "casing"), [(0, 1), (0, 1)])
    assert part_plan(leaves("flour"), (), {})[0] == ("whole",)


def test_same_name_in_several_parts_and_what_the_cook_knows() -> None:
    know = {"cinnamon": Knowledge(only="casing"), "sugar": Knowledge(max_percent=30)}
    tree = build_tree(leaves("flour", "sugar", "cinnamon"), find, ("filling", "casing"), know, "EU")
    assert [(leaf.name, leaf.part) for leaf in tree.leaves] == [
        ("flour", 0), ("flour", 1), ("sugar", 0), ("sugar", 1), ("cinnamon", 1)]  # fmt: skip
    assert [row.coefficients for row in know_rows(tree, know) if "sugar" in row.line] == [{2: 1.0, 3: 1.0}]
    order = next(row for row in list_rows(tree, "EU") if row.line == "order: flour before sugar")
    assert order.coefficients == {0: 1.0, 1: 1.0, 2: -1.0, 3: -1.0}


def test_weighed_parts_bound_the_finished_mass() -> None:
    tree = build_tree(leaves("flour"), find, ("filling", "casing"), {}, "")
    rows = part_rows(tree, {"filling": Estimate(0.44, 0.43, 0.45, 0.42, 0.46)})
    assert all(holds(row, {2: 0.4, 3: 0.5}) for row in rows)  # 0.444 of the piece
    assert not all(holds(row, {2: 0.5, 3: 0.4}) for row in rows)


def test_cocoa_sentence_and_standard_of_milk_chocolate() -> None:
    parts = leaves("sugar", "cocoa butter", "cocoa mass", "milk powder")
    tree = build_tree((Item("milk chocolate", children=parts),), find, (), {}, "EU")
    (row,) = cocoa_rows(tree, 30.0)
    assert holds(row, {0: 0.5, 1: 0.2, 2: 0.1, 3: 0.2})
    assert not holds(row, {0: 0.6, 1: 0.1, 2: 0.1, 3: 0.2})
    standard = standard_rows(tree.nodes, tree.leaves, "EU")
    assert not all(holds(row, {0: 0.9, 1: 0.04, 2: 0.03, 3: 0.03}) for row in standard)


def test_legal_caps_and_kinds() -> None:
    assert minor_cap("soy lecithin") is not None
    assert minor_cap("wheat flour") is None
    tree = build_tree(leaves("palm oil", "TBHQ"), find, (), {}, "US")
    (row,) = legal_rows(tree.nodes, tree.leaves)
    assert row.high == pytest.approx(0.0002)
    expected = {"wheat flour": "flour", "wholemeal wheat flour": "whole_flour", "skimmed milk powder": "dry_milk",
                "baking soda": "leavening", "brown sugar": "sugar", "glucose syrup": "syrup", "hazelnuts": "nuts",
                "unsalted butter": "butter", "water": "water", "sea salt": "salt", "sunflower oil": "oil"}  # fmt: skip
    assert {name: kind_of(name, None) for name in expected} == expected


def test_list_behind_the_list_says_what_an_item_is_made_of() -> None:
    text = "Rye flour, water, fig pieces, salt. Fig pieces contain: figs, sugar, rice flour."
    items = explained(read_statement(text).ingredients)
    assert [item.name for item in items] == ["rye flour", "water", "fig pieces", "salt"]
    assert [child.name for child in items[2].children] == ["figs", "sugar", "rice flour"]


def classes(name: str, item: Item) -> tuple[Match, Profile]:
    known = {"hard cheese": "cheese", "milk": "milk", "salt": "salt", "oats": "grain", "basil": "spice",
             "basil, fresh": "vegetable", "oil": "oil", "dried basil": "spice"}  # fmt: skip
    return Match(name, "name", "basil" if "basil" in name and "fresh" not in name else name, known.get(name)), EMPTY


def test_what_a_cheese_was_made_of_takes_its_composition() -> None:
    cheese = Item("hard cheese", children=leaves("milk", "salt"))
    made = build_tree([cheese], classes, (), {}, "").leaves
    assert [leaf.match.ingredient for leaf in made] == ["hard cheese", "salt"]
    stuffed = Item("hard cheese", children=leaves("milk", "oats"))  # something of weight stands beside: no mere source
    made = build_tree([stuffed], classes, (), {}, "").leaves
    assert [leaf.match.ingredient for leaf in made] == ["milk", "oats"]


@pytest.mark.parametrize(
    ("names", "taken"),
    [
        (("basil", "oil"), "basil, fresh"),
        (("oil", "basil"), "basil, fresh"),
        (("salt", "basil"), "basil"),
        (("dried basil", "oil"), "basil"),
        (("oil", "oats", "basil"), "basil"),
    ],
)
def test_a_herb_that_leads_the_list_is_fresh(names: tuple[str, ...], taken: str) -> None:
    made = build_tree(list(leaves(*names)), classes, (), {}, "").leaves
    assert next(leaf.match.ingredient for leaf in made if "basil" in leaf.name) == taken
