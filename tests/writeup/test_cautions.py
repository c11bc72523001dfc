"""Cautions come when the ingredients or the method ask for them, each with its wording and its deferral."""

from __future__ import annotations

import pytest

from batchwright.base.tables import rows
from batchwright.formula.lines.line import read_line
from batchwright.formula.records import Formula, Line, Part
from batchwright.formula.weighing.weigh import weigh_line
from batchwright.pantry.ingredient import classes
from batchwright.writeup.cautions import cautions_of


def keys(lines: list[str], *method: str) -> set[str]:
    formula = Formula("", (Part("", tuple(weigh_line(read_line(line)) for line in lines)),))
    return {one.caution for one in cautions_of(formula, method)}


@pytest.mark.parametrize(
    ("caution", "lines", "method"),
    [("raw_flour", ["1 cup all-purpose flour"], ""), ("raw_egg", ["2 egg whites"], ""),
     ("raw_egg", ["1 unheard-of egg thing"], ""), ("raw_milk", ["1 cup raw milk"], ""),
     ("hot_sugar", ["1 cup sugar"], "Boil to the soft-ball stage."), ("hot_sugar", ["1 cup honey"], "Cook to 240 °F."),
     ("hot_fat", ["1 cup butter"], "Brown the butter."), ("hot_fat", ["1 l oil"], "Deep-fry until golden."),
     ("honey", ["1 tbsp honey"], ""), ("alcohol", ["2 tbsp rum"], ""), ("nuts", ["1 cup hazelnuts"], ""),
     ("choking", ["1 cup whole almonds"], ""), ("choking", ["4 cups popcorn"], ""),
     ("ammonia", ["1 tsp ammonium bicarbonate"], ""), ("acrylamide", ["1 cup flour"], "Bake until golden."),
     ("refrigeration", ["1 cup cream"], "Fill with the custard."),
     ("cooling", ["1 cup milk"], "Cook the pastry cream."),
     ("garlic_oil", ["2 cloves garlic", "1 cup olive oil"], ""), ("silicone", ["1 cup sugar"], "Use a silicone mold."),
     ("printed_parts", ["1 cup flour"], "Press with a 3D-printed stamp."),
     ("canning", ["1 cup milk"], "Pour into hot jars."), ("copper", ["1 cup sugar"], "Use a copper pan."),
     ("decorations", ["edible glitter"], ""), ("bitter_kernels", ["10 g apricot kernels"], "")],
)  # fmt: skip
def test_triggered(caution: str, lines: list[str], method: str) -> None:
    assert caution in keys(lines, method)


@pytest.mark.parametrize(
    ("caution", "lines", "method"),
    [("hot_sugar", ["1 cup sugar"], "Stir in."), ("hot_sugar", ["1 cup sugar"], "Bake at 300 °F."),
     ("hot_sugar", ["1 cup sugar"], "Boil water for the bath."),
     ("nuts", ["1 tsp nutmeg"], ""), ("nuts", ["1 cup coconut"], ""), ("choking", ["1 cup almond flour"], ""),
     ("alcohol", ["1 tbsp red wine vinegar"], ""), ("refrigeration", ["1 tsp cream of tartar"], "Make the filling."),
     ("raw_egg", ["1 cup eggplant"], ""), ("raw_flour", ["1 cup sugar"], "")],
)  # fmt: skip
def test_not_triggered(caution: str, lines: list[str], method: str) -> None:
    assert caution not in keys(lines, method)


def test_each_defers_and_says_why() -> None:
    formula = Formula("", (Part("", (Line("1 cup honey", "honey", None, "honey", "name"),)),))
    found = cautions_of(formula, ("Boil it to 250 °F.",))
    assert {one.caution for one in found} == {"hot_sugar", "honey"}
    for one in found:
        assert "local food codes decide" in one.defers
        assert one.because
        assert one.wording.endswith(".")


def test_table() -> None:
    found = rows("writeup_cautions")
    assert len({row["caution"] for row in found}) == len(found)
    for row in found:
        assert row["rule"] in ("foods", "method", "both", "hot sugar"), row
        assert row["foods"] or row["rule"] == "method", row
        assert row["method"] or row["rule"] == "foods", row
        named = {word[6:] for word in row["foods"].split("; ") if word.startswith("class:")}
        assert named <= set(classes()), row
