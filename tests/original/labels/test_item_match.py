"""What stands beside a name in the list: ginger among spices is the ground one; dried vinegar is a seasoning."""

from __future__ import annotations

import pytest

from batchwright.actions.read import read_label
from batchwright.original.labels.file import label_from_text
from batchwright.original.labels.label import assemble
from batchwright.original.labels.standards import minor_cap
from batchwright.original.labels.tree import kind_of


def ginger_of(text: str) -> str | None:
    return next(found.ingredient for leaf, found in read_label(text).leaves if leaf.item.name == "ginger")


@pytest.mark.parametrize("text", [
    "rye flour, honey, cinnamon, ginger, cloves", "rye flour, honey, spices (ginger, coriander)",
    "oats, nutmeg, ginger",
])  # fmt: skip
def test_ginger_among_spices_is_ground(text: str) -> None:
    assert ginger_of(text) == "ginger, ground"


@pytest.mark.parametrize("text", [
    "carrots, onions, ginger, garlic", "water, sugar, ginger, lemon juice", "onion, ginger, cumin", "ginger",
])  # fmt: skip
def test_elsewhere_it_is_the_root(text: str) -> None:
    assert ginger_of(text) == "ginger"


def test_the_decode_takes_it_so_too_unless_the_cook_says_otherwise() -> None:
    text = '[label]\ntext = "rye flour, honey, cinnamon, ginger"\n'
    by_name = {leaf.name: leaf.match.ingredient for leaf in assemble(label_from_text(text)).tree.leaves}
    assert by_name["ginger"] == "ginger, ground"
    chosen = text + '[match]\nginger = "candied ginger"\n'
    by_name = {leaf.name: leaf.match.ingredient for leaf in assemble(label_from_text(chosen)).tree.leaves}
    assert by_name["ginger"] == "candied ginger"


@pytest.mark.parametrize("name", ["dried vinegar", "vinegar powder", "dried white vinegar", "malt vinegar solids"])
def test_dried_vinegar_is_a_seasoning(name: str) -> None:
    cap = minor_cap(name)
    assert cap is not None
    assert cap.usual_high <= 3.0
    assert kind_of("vinegar powder", "acid") == "flavour"


def test_vinegar_itself_is_none() -> None:
    assert minor_cap("cider vinegar") is None
    assert kind_of("cider vinegar", "acid") == "vinegar"
