"""Ingredient lines by the habit of their writer: amounts, item and what else the line says."""

from __future__ import annotations

from typing import Any

import pytest

from batchwright.formula.lines.line import read_line
from batchwright.formula.records import ReadLine, Written

Case = tuple[str, str, str] | tuple[str, str, str, dict[str, Any]]

HABITS: dict[str, list[Case]] = {
    "fractions": [
        ("1/2 cup treacle", "0.5 cup", "treacle"),
        ("1 1/2 cups barley flour", "1.5 cup", "barley flour"),
        ("1-1/2 cups barley flour", "1.5 cup", "barley flour"),
        ("2-3/4 cups oat bran", "2.75 cup", "oat bran"),
        ("½ cup treacle", "0.5 cup", "treacle"),
        ("1½ cups treacle", "1.5 cup", "treacle"),
        ("1 ½ cups treacle", "1.5 cup", "treacle"),
        ("⅔ cup poppy seeds", "0.6667 cup", "poppy seeds"),
        ("1\u2044" + "4 tsp mace", "0.25 teaspoon", "mace"),
        ("&frac34; cup buckwheat flour", "0.75 cup", "buckwheat flour"),
        ("1 and 1/4 cups buttermilk", "1.25 cup", "buttermilk"),
        ("1 & 1/4 cups buttermilk", "1.25 cup", "buttermilk"),
        ("0.75 cup semolina", "0.75 cup", "semolina"),
        (".5 cup semolina", "0.5 cup", "semolina"),
        ("1,5 dl rapeseed oil", "1.5 decilitre", "rapeseed oil"),
        ("1,000 g rye flour", "1000 gram", "rye flour"),
    ],
    "ranges": [
        ("2-3 tbsp oat drink", "2..3 tablespoon", "oat drink"),
        ("2 – 3 tbsp oat drink", "2..3 tablespoon", "oat drink"),
        ("2 to 3 tablespoons oat drink", "2..3 tablespoon", "oat drink"),
        ("1/4 to 1/3 cup cocoa", "0.25..0.3333 cup", "cocoa"),
        ("1 to 1 1/2 cups wholemeal flour", "1..1.5 cup", "wholemeal flour"),
        ("1 - 1 1/4 cups wholemeal flour", "1..1.25 cup", "wholemeal flour"),
        ("2 or 3 eggs", "2..3", "eggs"),
        ("1 tbsp to 2 tbsp water", "1..2 tablespoon", "water"),
        ("1 teaspoon to 1 tablespoon aniseed", "1..3 teaspoon", "aniseed"),
        ("between 2 and 3 cups rye flour", "2..3 cup", "rye flour"),
    ],
    "sifted before or after": [
        ("2 cups barley flour, sifted before measuring", "2 cup", "barley flour", {"filling": "sifted"}),
        ("2 cups barley flour, measured after sifting", "2 cup", "barley flour", {"filling": "sifted"}),
        ("2 cups barley flour, sifted", "2 cup", "barley flour", {"filling": ""}),
    ],
    "sums": [
        ("2 sticks + 2 Tbsp butter", "2 stick plus 2 tablespoon", "butter"),
        ("1 c. plus 2 T. rice flour", "1 cup plus 2 tablespoon", "rice flour"),
        ("1 cup, plus 2 tablespoons, rice flour", "1 cup plus 2 tablespoon", "rice flour"),
        ("1 cup (plus 1 tablespoon) rice flour", "1 cup plus 1 tablespoon", "rice flour"),
        ("1 lb 4 oz bread flour", "1 pound plus 4 ounce", "bread flour"),
        ("1/2 cup and 1 tablespoon malt syrup", "0.5 cup plus 1 tablespoon", "malt syrup"),
        ("2 cups minus 1 tablespoon cake flour", "2 cup plus -1 tablespoon", "cake flour"),
        ("1 c. oats + 2 T.", "1 cup plus 2 tablespoon", "oats"),
        ("1 tbsp 1 tsp malt syrup", "1 tablespoon plus 1 teaspoon", "malt syrup"),
        ("1 1/4 cups sugar, plus 3 teaspoons", "1.25 cup plus 3 teaspoon", "sugar"),
        ("6 pounds, 3 ounces rye flour", "6 pound plus 3 ounce", "rye flour"),
        ("1 lb., 5 oz. lard", "1 pound plus 5 ounce", "lard"),
        ("3 cups, 1 tablespoon barley flour", "3 cup plus 1 tablespoon", "barley flour"),
    ],
    "spellings of units": [
        ("1 T cocoa", "1 tablespoon", "cocoa"),
        ("1 t cocoa", "1 teaspoon", "cocoa"),
        ("1 T. cocoa", "1 tablespoon", "cocoa"),
        ("1 t. cocoa", "1 teaspoon", "cocoa"),
        ("1 c. millet", "1 cup", "millet"),
        ("1 C millet", "1 cup", "millet"),
        ("2 Tbs. millet", "2 tablespoon", "millet"),
        ("2 tblsp millet", "2 tablespoon", "millet"),
        ("3 tsps. millet", "3 teaspoon", "millet"),
        ("2 lbs. millet", "2 pound", "millet"),
        ("3# millet", "3 pound", "millet"),
        ("1 qt. water", "1 quart", "water"),
        ("1 pt water", "1 pint", "water"),
        ("8 oz. millet", "8 ounce", "millet"),
        ("8 fl. oz. water", "8 fluid ounce", "water"),
        ("11 fl oz water", "11 fluid ounce", "water"),
        ("4 fluid ounces water", "4 fluid ounce", "water"),
        ("250g millet", "250 gram", "millet"),
        ("250 grammes millet", "250 gram", "millet"),
        ("1.2 l water", "1.2 litre", "water"),
        ("200mL water", "200 millilitre", "water"),
        ("2 dl water", "2 decilitre", "water"),
        ("1 kilo millet", "1 kilogram", "millet"),
    ],
    "number words": [
        ("one cup spelt flour", "1 cup", "spelt flour"),
        ("Two cups spelt flour", "2 cup", "spelt flour"),
        ("half a cup of spelt flour", "0.5 cup", "spelt flour"),
        ("one and a half cups spelt flour", "1.5 cup", "spelt flour"),
        ("a teaspoon oil", "1 teaspoon", "oil"),
        ("an egg", "1", "egg"),
        ("a dozen eggs", "12", "eggs"),
        ("half a dozen eggs", "6", "eggs"),
        ("2 dozen almonds", "24", "almonds"),
        ("3 to 4 dozen almonds", "36..48", "almonds"),
        ("a couple of eggs", "2", "eggs"),
        ("three quarters of a cup of oil", "0.75 cup", "oil"),
        ("quarter of a teaspoon mace", "0.25 teaspoon", "mace"),
    ],
    "how the measure is filled": [
        ("1 cup packed muscovado sugar", "1 cup", "muscovado sugar", {"filling": "packed"}),
        ("1 packed cup muscovado sugar", "1 cup", "muscovado sugar", {"filling": "packed"}),
        ("1 cup firmly packed muscovado sugar", "1 cup", "muscovado sugar", {"filling": "packed"}),
        ("1 cup muscovado sugar, packed", "1 cup", "muscovado sugar", {"filling": "packed"}),
        ("1 cup muscovado sugar (packed)", "1 cup", "muscovado sugar", {"filling": "packed"}),
        ("1 cup sifted cake flour", "1 cup", "cake flour", {"filling": "sifted", "before": ("sifted",)}),
        ("1 cup cake flour, sifted", "1 cup", "cake flour", {"filling": "", "after": "sifted"}),
        ("2 cups cake flour (spooned)", "2 cup", "cake flour", {"filling": "spooned"}),
        ("2 cups cake flour, spooned and levelled", "2 cup", "cake flour", {"filling": "spooned"}),
        ("2 heaped tbsp cocoa", "2 tablespoon", "cocoa", {"filling": "heaped"}),
        ("heaped 2 tbsp cocoa", "2 tablespoon", "cocoa", {"filling": "heaped"}),
        ("1 heaping tsp. cocoa", "1 teaspoon", "cocoa", {"filling": "heaped"}),
        ("1 rounded teaspoon cocoa", "1 teaspoon", "cocoa", {"filling": "heaped", "says": "rounded taken as heaped"}),
        ("1 level teaspoon cocoa", "1 teaspoon", "cocoa", {"filling": "level"}),
        ("a scant cup of cream", "1 cup", "cream", {"filling": "scant"}),
        ("scant 1/2 cup cream", "0.5 cup", "cream", {"filling": "scant"}),
        ("a generous 1/2 cup cream", "0.5 cup", "cream", {"filling": "heaped"}),
        ("55 g muscovado sugar (about 1/4 cup packed)", "55 gram same 0.25 cup", "muscovado sugar",
         {"filling": "packed"}),
        ("4 cups loosely packed mint leaves", "4 cup", "mint leaves", {"filling": ""}),
    ],
    "sizes": [
        ("1 lg. egg", "1", "egg", {"size": "large"}),
        ("3 large eggs", "3", "eggs", {"size": "large"}),
        ("2 medium egg whites", "2", "egg whites", {"size": "medium"}),
        ("2 sm. apples", "2", "apples", {"size": "small"}),
        ("4 extra-large eggs, separated", "4", "eggs", {"size": "extra-large", "after": "separated"}),
        ("1 medium-sized pear", "1", "pear", {"size": "medium"}),
        ("2 cups medium grain rice", "2 cup", "medium grain rice", {"size": ""}),
        ("1 9-inch tart shell", "1", "tart shell", {"size": "9-inch"}),
        ("2-inch piece of ginger", "1 piece", "ginger", {"size": "2-inch"}),
        ("1 (2-inch) piece ginger", "1 piece", "ginger", {"size": "2-inch"}),
        ("1 (9-inch) tart shell", "1", "tart shell", {"size": "9-inch"}),
        ("3cm piece fresh ginger", "1 piece", "fresh ginger", {"size": "3 cm"}),
    ],
    "packages": [
        ("1 (8-oz) package fresh cheese", "1 package each 8 ounce", "fresh cheese"),
        ("1 8-ounce package fresh cheese", "1 package each 8 ounce", "fresh cheese"),
        ("2 (14.5 oz.) cans plums", "2 can each 14.5 ounce", "plums"),
        ("1 14 1/2-ounce can plums", "1 can each 14.5 ounce", "plums"),
        ("2 x 400 g cans plums", "2 can each 400 gram", "plums"),
        ("2x400g tins plums", "2 can each 400 gram", "plums"),
        ("1 can (14 ounces) plums", "1 can each 14 ounce", "plums"),
        ("3 packages, 10 ounces, frozen currants", "3 package each 10 ounce", "frozen currants"),
        ("250 g packet rusks", "250 gram same 1 package", "rusks"),
        ("1 x 7g sachet yeast", "1 sachet each 7 gram", "yeast"),
        ("about 1 1/4-ounce envelope gelatin", "1 envelope each 0.25 ounce", "gelatin", {"marks": ("about",)}),
        ("2 1/4-ounce envelopes gelatin", "2 envelope each 0.25 ounce", "gelatin"),
        ("1 sm. can coconut milk", "1 can", "coconut milk", {"size": "small"}),
        ("1 No. 2 can crushed pears", "1 can", "pears", {"size": "no. 2"}),
        ("2 bananas (about 120 g each)", "2 each 120 gram", "bananas", {"marks": ("about",)}),
        ("2 (3-pound) pumpkins", "2 each 3 pound", "pumpkins"),
        ("1 pack of 6 crumpets", "1 package each 6", "crumpets"),
    ],
    "the same twice": [
        ("1/2 cup (60 g) oat flour", "0.5 cup same 60 gram", "oat flour"),
        ("60 g (1/2 cup) oat flour", "60 gram same 0.5 cup", "oat flour"),
        ("1/2 cup (60 g / 2.1 oz) oat flour", "0.5 cup same 60 gram same 2.1 ounce", "oat flour"),
        ("225g/8oz self-raising flour", "225 gram same 8 ounce", "self-raising flour"),
        ("1kg/2lb 4oz strong flour", "1 kilogram same 2.25 pound", "strong flour"),
        ("100 g (3½ oz) lard", "100 gram same 3.5 ounce", "lard"),
        ("10 tablespoons (1 stick plus 2 tablespoons) butter", "10 tablespoon same 1.25 stick", "butter"),
        ("4 oz pecans, about 1 cup", "4 ounce same 1 cup", "pecans", {"marks": ("about",)}),
        ("40g rice syrup (2 tbsp)", "40 gram same 2 tablespoon", "rice syrup"),
        ("½ cup egg whites (about 4)", "0.5 cup same 4", "egg whites"),
        ("2 sticks (1 cup, 8 ounces, or 226 g) butter", "2 stick same 1 cup same 8 ounce same 226 gram", "butter"),
        ("1/2 cup (65 g) plus 4 tsp rice flour", "0.5 cup same 65 gram plus 4 teaspoon", "rice flour"),
        ("250 ml cup water", "250 millilitre same 1 cup", "water"),
    ],
    "the amount last": [
        ("rice flour 2 cups", "2 cup", "rice flour"),
        ("Rice flour: 200 g", "200 gram", "Rice flour"),
        ("Eggs - 3", "3", "Eggs"),
        ("sugar, 1 cup", "1 cup", "sugar"),
        ("Walnut oil 1/4 cup (50g)", "0.25 cup same 50 gram", "Walnut oil"),
    ],
    "preparation before and after": [
        ("1 cup chopped hazelnuts", "1 cup", "hazelnuts", {"before": ("chopped",), "after": ""}),
        ("1 cup hazelnuts, chopped", "1 cup", "hazelnuts", {"before": (), "after": "chopped"}),
        ("1 cup finely chopped toasted hazelnuts", "1 cup", "hazelnuts", {"before": ("finely", "chopped", "toasted")}),
        ("3 oz. ground hazelnuts toasted", "3 ounce", "hazelnuts", {"before": ("ground",), "after": "toasted"}),
        ("2 cups peeled, cored and diced pears", "2 cup", "pears", {"before": ("peeled", "cored", "and", "diced")}),
        ("1 cup finely-grated parsnip", "1 cup", "parsnip", {"before": ("finely", "grated")}),
        ("1 cup grated Tilsit cheese", "1 cup", "Tilsit cheese", {"before": ("grated",)}),
        ("5 oz soft butter", "5 ounce", "butter", {"before": ("soft",)}),
        ("5 oz butter, soft", "5 ounce", "butter", {"after": "soft"}),
        ("1 cup butter at room temperature", "1 cup", "butter", {"after": "at room temperature"}),
        ("6 oz dark chocolate in small pieces", "6 ounce", "dark chocolate", {"after": "in small pieces"}),
        ("1 cup cream, whipped (optional)", "1 cup", "cream", {"after": "whipped", "marks": ("optional",)}),
        ("1 cup boiling water", "1 cup", "water", {"before": ("boiling",)}),
        ("1 tsp hot paprika", "1 teaspoon", "hot paprika", {"before": ()}),
        ("2 cups light, unsweetened coconut milk", "2 cup", "light, unsweetened coconut milk"),
        ("1 tbsp toasted sesame oil", "1 tablespoon", "toasted sesame oil", {"before": ()}),
        ("1 lb ground pork", "1 pound", "ground pork", {"before": ()}),
    ],
    "marks": [
        ("1 cup honey, divided", "1 cup", "honey", {"marks": ("divided",)}),
        ("1 cup honey (optional)", "1 cup", "honey", {"marks": ("optional",)}),
        ("optional: 1 cup walnuts", "1 cup", "walnuts", {"marks": ("optional",)}),
        ("salt, to taste", "", "salt", {"marks": ("to taste",)}),
        ("1/2 tsp salt, or to taste", "0.5 teaspoon", "salt", {"marks": ("to taste",)}),
        ("2 cups flour, plus more for dusting", "2 cup", "flour", {"marks": ("plus more",)}),
        ("2 cups flour plus extra for the board", "2 cup", "flour", {"marks": ("plus more",)}),
        ("2 tbsp oil, plus 1 tbsp for brushing", "2 tablespoon", "oil", {"marks": ("plus more",)}),
        ("About 1/2 cup milk", "0.5 cup", "milk", {"marks": ("about",)}),
        ("2/3 cup or so milk", "0.6667 cup", "milk", {"marks": ("about",)}),
        ("Icing sugar, to serve", "", "Icing sugar", {"marks": ("for serving",)}),
        ("Butter for the tin", "", "Butter", {"after": "for the tin"}),
    ],
    "a pinch and the like": [
        ("pinch salt", "1 pinch", "salt"),
        ("a pinch of salt", "1 pinch", "salt"),
        ("2 pinches of salt", "2 pinch", "salt"),
        ("generous pinch of salt", "1 pinch", "salt", {"before": ("generous",)}),
        ("dash of vinegar", "1 dash", "vinegar"),
        ("a knob of butter", "1 knob", "butter"),
        ("handful of oats", "1 handful", "oats"),
        ("a few drops lemon oil", "", "lemon oil", {"says": "the line gives no number"}),
        ("2 garlic cloves", "2 clove", "garlic"),
        ("1 clove garlic", "1 clove", "garlic"),
        ("10 cloves", "10", "cloves"),
        ("3 cinnamon sticks", "3 stick", "cinnamon"),
        ("1 sprig rosemary", "1 sprig", "rosemary"),
        ("1 bunch mint", "1 bunch", "mint"),
        ("1 head fennel", "1 head", "fennel"),
        ("4 slices rye bread", "4 slice", "rye bread"),
    ],
    "juice and zest": [
        ("juice of 1 lemon", "1 lemon", "lemon juice"),
        ("juice 1/2 lemon", "0.5 lemon", "lemon juice"),
        ("Juice of half a lime", "0.5 lime", "lime juice"),
        ("grated rind of 2 large oranges", "2 orange", "orange zest", {"before": ("grated",), "size": "large"}),
        ("zest and juice of 1 lemon", "1 lemon", "lemon zest", {"also": ["1 lemon lemon juice"]}),
        ("zest of 2 oranges and juice of 1", "2 orange", "orange zest", {"also": ["1 orange orange juice"]}),
        ("2 tbsp lemon juice", "2 tablespoon", "lemon juice"),
        ("yolks of 3 eggs", "3", "egg yolks"),
    ],
    "several ingredients in a line": [
        ("2 tsp mace, 1/2 tsp anise, pinch cloves", "2 teaspoon", "mace",
         {"also": ["0.5 teaspoon anise", "1 pinch cloves"]}),
        ("1/2 cup water + 1 stock cube", "0.5 cup", "water", {"also": ["1 stock cube"]}),
        ("3 large eggs plus 1 yolk", "3", "eggs", {"also": ["1 yolk"]}),
        ("1 tsp each mace, anise and salt", "1 teaspoon", "mace", {"also": ["1 teaspoon anise", "1 teaspoon salt"]}),
        ("salt and pepper", "", "salt", {"also": ["pepper"]}),
        ("1 tbsp gelatin, dissolved in 1/4 cup water", "1 tablespoon", "gelatin", {"also": ["0.25 cup water"]}),
        ("1 cup butter, cut into 8 pieces", "1 cup", "butter", {"also": []}),
    ],
    "a choice": [
        ("1 cup pecans or walnuts", "1 cup", "pecans or walnuts", {"says": "pecans taken"}),
        ("2 tbsp corn or peanut oil", "2 tablespoon", "corn or peanut oil", {"says": "corn oil taken"}),
        ("1 cup light or dark brown sugar", "1 cup", "light or dark brown sugar", {"says": "light brown sugar taken"}),
        ("1 cup thin cream, or 1/2 cup thick cream", "1 cup", "thin cream", {"after": "or 1/2 cup thick cream"}),
        ("1 cake yeast or 1 envelope dry yeast", "1 cake", "yeast", {"also": []}),
    ],
    "UK and Australian measures": [
        ("1 dessertspoon golden syrup", "1 dessertspoon", "golden syrup"),
        ("2 UK tablespoons golden syrup", "2 tablespoon UK", "golden syrup"),
        ("1 Australian tablespoon cocoa", "1 tablespoon AU", "cocoa"),
        ("1 imperial pint milk", "1 pint UK", "milk"),
        ("2 metric cups flour", "2 cup AU", "flour", {"says": "250 ml"}),
        ("3 US cups flour", "3 cup US", "flour"),
        ("2 tbsp (UK) treacle", "2 tablespoon UK", "treacle"),
    ],
    "slips of pen and scan": [
        ("l cup buckwheat", "1 cup", "buckwheat", {"says": "figure 1"}),
        ("l/2 cup buckwheat", "0.5 cup", "buckwheat", {"says": "figure 1"}),
        ("1 eup buckwheat", "1 cup", "buckwheat", {"says": "eup read as cup"}),
        ("2 teaspons salt", "2 teaspoon", "salt", {"says": "teaspons read as teaspoon"}),
        ("3 tablespoosn honey", "3 tablespoon", "honey", {"says": "read as tablespoon"}),
        ("1/2 Ib. lard", "0.5 pound", "lard", {"says": "Ib read as pound"}),
    ],
    "bullets": [
        ("- 2 cups millet", "2 cup", "millet"),
        ("• 2 cups millet", "2 cup", "millet"),
        ("☐ 2 cups millet", "2 cup", "millet"),
        ("[ ] 2 cups millet", "2 cup", "millet"),
        ("* 2 cups millet", "2 cup", "millet"),
        ("1) 2 cups millet", "2 cup", "millet"),
    ],
    "figures that are no amount": [
        ("100 g 70% chocolate", "100 gram", "70% chocolate"),
        ("2% milk, 1 cup", "1 cup", "2% milk"),
        ("500 g '00' flour", "500 gram", "'00' flour"),
        ("2 cups 2 percent milk", "2 cup", "2 percent milk"),
    ],
    "other languages": [
        ("250 g Mehl", "250 gram", "Mehl"),
        ("2 EL Zucker", "2 tablespoon", "Zucker", {"says": "EL read as tablespoon"}),
        ("100 ml de lait", "100 millilitre", "lait"),
        ("200 г муки", "200 gram", "муки"),
    ],
}  # fmt: skip
CASES = [pytest.param(*case[:3], case[3] if len(case) > 3 else {}, id=f"{habit}: {case[0]}")
         for habit, cases in HABITS.items() for case in cases]  # fmt: skip


def shown(amounts: tuple[Written, ...]) -> str:
    """Return amounts in one short line: 1 cup plus 2 tablespoon."""
    words: list[str] = []
    for each in amounts:
        words += [] if each.join == "first" else [each.join]
        ends = dict.fromkeys((f"{each.low:.4g}", f"{each.high:.4g}"))
        words += ["..".join(ends), each.unit, each.place]
    return " ".join(word for word in words if word)


def in_short(read: ReadLine) -> str:
    """Return amount and item of a further ingredient."""
    return f"{shown(read.amounts)} {read.item}".strip()


@pytest.mark.parametrize(("line", "amounts", "item", "more"), CASES)
def test_habit(line: str, amounts: str, item: str, more: dict[str, Any]) -> None:
    read = read_line(line)
    assert (shown(read.amounts), read.item) == (amounts, item)
    assert read.read
    assert read.text == line
    for name, wanted in more.items():
        if name == "says":
            assert wanted in "; ".join(read.assumptions)
        elif name == "also":
            assert [in_short(each) for each in read.also] == wanted
        else:
            assert getattr(read, name) == wanted, name


def test_there_are_enough() -> None:
    assert len({case.values[0] for case in CASES}) == len(CASES) >= 120
