"""Lines to grams: measures with their range, printed weights, pieces, what cannot be weighed and what is said of it."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.formula.lines.line import read_line
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Line, ReadLine, Written
from batchwright.formula.weighing.weigh import weigh_line


def weighed(text: str, convention: str = "") -> Line:
    return weigh_line(read_line(text), convention)


def grams(text: str, convention: str = "") -> tuple[float, float, float]:
    found = weighed(text, convention).grams
    assert found is not None, text
    return found.low, found.likely, found.high


def said(text: str, convention: str = "") -> str:
    return "; ".join(weighed(text, convention).assumptions)


@pytest.mark.parametrize(("text", "low_g", "high_g"), [
    ("2 sticks butter", 218, 241), ("1 stick + 2 Tbsp. butter", 136, 152), ("2 large eggs", 94, 110),
    ("1 lg. egg", 47, 55),
    ("3 egg whites", 80, 115), ("1 tsp. baking soda", 3.9, 6.1), ("1 Tbsp. honey", 19, 23), ("1 c. milk", 219, 262),
    ("3 cloves garlic", 7, 20), ("1 pkg. yeast", 6.4, 8.1), ("1 envelope unflavored gelatin", 6.4, 12.1),
    ("juice of 1 lemon", 29, 61), ("1 lemon, juiced", 29, 61), ("zest of 2 oranges", 7, 29), ("pinch of salt", 0.1, 1),
    ("1 bunch parsley", 39, 111), ("2 bananas, mashed", 180, 300), ("1 cup packed brown sugar", 169, 231),
    ("1 cup sifted cake flour", 84, 114), ("1 cup grated cheddar", 97, 131), ("1 cup melted butter", 218, 261),
    ("1/2 cup chopped fresh parsley", 6, 33), ("250 ml water", 243, 257), ("1 UK pint milk", 565, 615),
    ("2 Australian tablespoons honey", 52, 60), ("2 tsp yeast", 5.7, 8.2), ("1 cup strong coffee", 219, 252),
])  # fmt: skip
def test_a_measure_gives_a_range_within(text: str, low_g: float, high_g: float) -> None:
    low, likely, high = grams(text)
    assert low_g <= low <= likely <= high <= high_g


@pytest.mark.parametrize(("text", "exact_g"), [
    ("100 g flour", 100), ("1 kg sugar", 1000), ("1/2 lb. butter", 226.796), ("8 oz. dark chocolate", 226.796),
    ("1 (8-oz.) package cream cheese", 226.796), ("2 packages (8 oz. each) cream cheese", 453.592),
    ("2 x 400 g cans tomatoes", 800),
    ("1 cup (120 g) flour", 120), ("1/2 cup (4 oz.) butter", 113.398),
])  # fmt: skip
def test_a_printed_weight_wins(text: str, exact_g: float) -> None:
    low, likely, high = grams(text)
    assert low == pytest.approx(exact_g, rel=1e-4)
    assert high == pytest.approx(exact_g, rel=1e-4)
    assert likely == pytest.approx(exact_g, rel=1e-4)


def test_a_range_of_amounts_widens_the_grams() -> None:
    low, _, high = grams("2 to 3 cups sugar")
    assert low == pytest.approx(grams("2 cups sugar")[0])
    assert high == pytest.approx(grams("3 cups sugar")[2])


def test_a_sum_is_the_sum_of_its_terms() -> None:
    assert grams("1 cup plus 2 Tbsp. sugar")[1] == pytest.approx(grams("1 1/8 cups sugar")[1], rel=1e-3)


def test_millilitres_printed_for_a_weight_are_not_trusted() -> None:
    assert grams("1 cup (240 g) flour") == grams("1 cup flour")
    assert "millilitres" in said("1 cup (240 g) flour")
    assert "millilitres" in said("2/3 cup (160 g) powdered sugar")


def test_what_weighs_as_much_as_water_may_print_240() -> None:
    assert grams("1 cup (240 g) milk")[1] == 240
    assert "millilitres" not in said("1 cup (240 g) milk")


def test_a_weight_far_from_its_measure_is_taken_and_said() -> None:
    assert grams("1 cup (300 g) flour")[1] == 300
    assert "slip" in said("1 cup (300 g) flour")


def test_flour_is_marked_until_the_convention_is_said() -> None:
    open_line, said_line = weighed("2 cups flour"), weighed("2 cups flour", "dip and sweep")
    assert "by convention" in open_line.marks
    assert "by convention" not in said_line.marks
    assert open_line.grams
    assert said_line.grams
    assert said_line.grams.likely == pytest.approx(284)
    assert said_line.grams.high / said_line.grams.low < open_line.grams.high / open_line.grams.low
    assert (open_line.doubt_percent or 0) > 3


def test_milk_is_not_marked() -> None:
    assert weighed("1 cup milk").marks == ()


@pytest.mark.parametrize(("convention", "flour_g"), [("dip and sweep", 142), ("spooned", 120), ("spoon and level", 128),
                                                    ("135 g", 135)])  # fmt: skip
def test_conventions_move_flour(convention: str, flour_g: float) -> None:
    assert grams("1 cup all-purpose flour", convention)[1] == pytest.approx(flour_g)


def test_a_metric_cup_is_larger() -> None:
    assert grams("1 cup milk", "metric cup")[1] / grams("1 cup milk", "US cup")[1] == pytest.approx(
        250 / 236.588, rel=1e-4
    )


def test_the_line_itself_says_whose_spoon() -> None:
    assert grams("1 Australian tablespoon sugar")[1] > 1.3 * grams("1 tablespoon sugar")[1]


def test_the_line_says_how_it_is_filled_against_the_convention() -> None:
    assert grams("1 cup sifted flour", "scooped")[1] == pytest.approx(114)


def test_heaped_and_scant() -> None:
    assert grams("1 scant cup sugar")[1] < grams("1 cup sugar")[1] < grams("1 heaping cup sugar")[1]
    assert "heaped" in said("1 heaping cup sugar")


def test_before_and_after_the_comma() -> None:
    assert grams("1 cup chopped walnuts")[1] > grams("1 cup walnuts, chopped")[1]
    assert grams("1 cup sifted flour")[1] < grams("1 cup flour, sifted")[1]


def test_a_vegetable_cut_after_the_comma_was_cut_in_the_cup() -> None:
    assert grams("1 cup carrot, grated") == grams("1 cup grated carrot")


@pytest.mark.parametrize(("after", "before"), [
    ("1 cup almonds, sliced", "1 cup sliced almonds"), ("1 cup almonds, slivered", "1 cup slivered almonds"),
    ("1 cup chicken, cooked and shredded", "1 cup cooked chicken"),
    ("2 cups stale bread, torn", "2 cups torn bread"), ("1 cup crackers, crushed", "1 cup crushed crackers"),
])  # fmt: skip
def test_what_is_sold_or_cut_so_lay_so_in_the_cup(after: str, before: str) -> None:
    assert grams(after) == grams(before)


@pytest.mark.parametrize(("text", "low_g", "high_g"), [
    ("10 cherry tomatoes", 90, 250), ("4 plum tomatoes", 170, 370), ("2 chicken breasts", 270, 610),
    ("20 grapes", 50, 170), ("6 asparagus spears", 65, 140), ("1 rutabaga", 280, 800), ("8 corn tortillas", 140, 290),
    ("1 aubergine", 300, 720), ("12 lasagna noodles", 170, 350), ("2 sheets nori", 3.5, 7),
    ("1 large tomato", 145, 230),
])  # fmt: skip
def test_a_piece_is_weighed_by_its_whole_name(text: str, low_g: float, high_g: float) -> None:
    low, likely, high = grams(text)
    assert low_g <= low <= likely <= high <= high_g


@pytest.mark.parametrize(("text", "same"), [
    ("4 cups 1-inch cubes of day-old bread", "4 cups cubed day-old bread"),
    ("2 cups 1/2-inch-diced tomatoes", "2 cups diced tomatoes"),
    ("1 cup thin strips of ham", "1 cup sliced ham"),
])  # fmt: skip
def test_how_it_is_cut_may_stand_before_what_is_cut(text: str, same: str) -> None:
    assert weighed(text).ingredient == weighed(same).ingredient
    assert grams(text) == grams(same)


@pytest.mark.parametrize(("text", "ingredient"), [
    ("1/4 cup lemon or lime juice", "lemon juice"), ("1 cup beef or chicken stock", "beef stock"),
    ("1/2 cup peanut or almond butter", "peanut butter"), ("1 cup coconut or almond milk", "coconut milk"),
    ("1 cup almond or hazelnut meal", "almond flour"), ("1 cup grape or cherry tomatoes", "tomatoes"),
    ("1 cup sugar or maple syrup", "sugar"), ("1 cup water or chicken stock", "water"),
    ("1/2 cup butter or peanut oil", "butter"), ("1/2 cup honey or maple syrup", "honey"),
    ("2 cups corn, peanut or vegetable oil", "corn oil"), ("4 cups chicken, beef or vegetable stock", "chicken broth"),
    ("1 cup milk or milk powder", "milk, whole"),
    ("1 cup tomatoes, fresh or canned", "tomatoes"), ("1 cup butter, melted or softened", "butter"),
])  # fmt: skip
def test_a_head_that_only_the_last_choice_names_belongs_to_the_first_too(text: str, ingredient: str) -> None:
    assert weighed(text).ingredient == ingredient


@pytest.mark.parametrize(("text", "likely_g"), [
    ("1 cup Brussels sprouts", 92), ("1 cup banana chips", 75), ("1 cup ice cubes", 155),
    ("1 cup hazelnut spread", 296),
    ("1 cup popcorn kernels", 205), ("1 cup orzo", 172), ("1 cup dried kidney beans", 194), ("1 cup spring mix", 30),
    ("1 cup tortilla chips, crushed", 65), ("1 cup chives, snipped", 45), ("1 tbsp. dried sage", 2),
])  # fmt: skip
def test_a_name_is_not_weighed_as_its_last_word(text: str, likely_g: float) -> None:
    assert grams(text)[1] == pytest.approx(likely_g, rel=0.1)


def test_what_is_peeled_or_trimmed_may_be_printed_as_bought() -> None:
    plain, trimmed = grams("4 cups sweet potatoes, grated"), grams("4 cups sweet potatoes, peeled and grated")
    assert trimmed[1] == plain[1]
    assert trimmed[2] > 1.1 * plain[2]
    assert "as bought" in said("4 cups sweet potatoes, peeled and grated")
    assert grams("2 tbsp. garlic, peeled and minced") == grams("2 tbsp. garlic, minced")


@pytest.mark.parametrize("text", ["salt to taste", "oil for frying", "a few drops of love"])
def test_no_number_gives_no_grams_or_says_what_was_taken(text: str) -> None:
    line = weighed(text)
    assert line.text == text
    assert line.grams is None or line.assumptions


def test_plus_more_weighs_the_stated_part() -> None:
    assert grams("1/2 cup sugar, plus more for dusting") == grams("1/2 cup sugar")
    assert "stated part" in said("1/2 cup sugar, plus more for dusting")


def test_kin_are_wider_and_said() -> None:
    line = weighed("1 cup sliced dragon melon")
    assert line.grams is not None
    assert any("kind" in words or "not known" in words or "weighed as" in words for words in line.assumptions)


@pytest.mark.parametrize(("text", "ingredient"), [
    ("1 tsp soda", "sodium bicarbonate"), ("1 c. AP flour", "wheat flour"),
    ("1 cup confectioners' sugar", "icing sugar"),
    ("1/2 cup oleo", "margarine, 80 % fat"), ("1 tbsp. mustard", "mustard, prepared"), ("2 tsp. yeast", "yeast, dried"),
    ("1/2 cup chopped parsley", "parsley, fresh"), ("1 tsp. dried parsley", "parsley"),
    ("1 cup coffee", "brewed coffee"),
    ("1/2 cup butter or margarine", "butter"), ("1/4 cup light or dark brown sugar", "brown sugar"),
    ("2 tbsp. groundnut or other mild oil", "peanut oil"), ("1 lemon, juiced", "lemon juice"),
    ("1 lime, zested", "lime peel"),
])  # fmt: skip
def test_words_of_recipes(text: str, ingredient: str) -> None:
    assert weighed(text).ingredient == ingredient


def test_a_pressed_fruit_says_what_of_it_is_weighed() -> None:
    assert "only the juice of the lemon" in said("1 lemon, juiced")
    assert "not the zest" in said("1 lemon, zest and juice")
    assert grams("1 lemon, zest and juice") == grams("juice of 1 lemon")
    assert grams("1 lemon, sliced")[1] > grams("1 lemon, juiced")[1]


def test_the_process_is_what_comes_after_measuring() -> None:
    assert weighed("1 cup butter, browned").process == "browned"
    assert weighed("1 cup walnuts, toasted").process == "toasted"
    assert weighed("1 cup toasted walnuts").process == ""


def test_further_ingredients_of_a_line_are_weighed_too() -> None:
    line = weighed("2 tsp cinnamon, 1/2 tsp ginger")
    assert [one.item for one in line.also] == ["ginger"]
    assert line.also[0].grams is not None


def test_an_unread_line_is_kept() -> None:
    line = weigh_line(ReadLine("??? 7 zz", read=False))
    assert (line.text, line.grams) == ("??? 7 zz", None)
    assert line.assumptions


def test_a_count_of_what_is_not_known_says_so() -> None:
    line = weigh_line(ReadLine("3 zorps", (Written(3, 3, ""),), "zorps"))
    assert line.grams is None
    assert "weigh it" in "; ".join(line.assumptions)


def test_the_written_form_comes_back() -> None:
    line = weighed("1 heaping cup (130 g) flour, plus more for dusting")
    assert Line.from_json(line.to_json()).to_json() == line.to_json()


UNITS = ["cup", "tablespoon", "teaspoon", "ounce", "gram", "pint", "", "stick", "clove", "package", "zorp"]
ITEMS = ["flour", "milk", "egg", "zorps", "butter", "garlic", "", "lemon juice"]


@given(st.sampled_from(UNITS), st.floats(0.01, 500), st.sampled_from(ITEMS))
def test_no_amount_breaks_it(unit: str, amount: float, item: str) -> None:
    found = weigh_line(ReadLine("x", (Written(amount, amount, unit),), item)).grams
    assert found is None or 0 <= found.low <= found.likely <= found.high


@given(st.text(max_size=60))
def test_no_text_breaks_it(text: str) -> None:
    assert weigh_line(read_line(text)).text is not None


def test_time_grows_no_faster_than_the_lines() -> None:
    texts = [f"{count} cups flour {count}" for count in range(1, 201)]
    reads = [read_line(text) for text in texts]

    def seconds(repeats: int) -> float:
        begin = time.process_time()
        for _ in range(repeats):
            for read in reads:
                weigh_line(read)
        return time.process_time() - begin

    seconds(1)
    assert seconds(4) < 30 * max(seconds(1), 0.005)


def test_a_small_pack_is_no_package_of_most_foods() -> None:
    """A sachet of what is not known, a packet of spice: no half pound of it is made up."""
    for text in ("1 sachet moon dust", "1 envelope onion soup mix", "1 packet taco seasoning"):
        assert weighed(text).grams is None, text
        assert "weigh it" in said(text)
    assert grams("1 package moon dust")[1] > 100
    assert grams("1 sachet instant yeast")[1] == pytest.approx(7, abs=0.5)


def test_sifted_before_measuring_is_sifted_flour() -> None:
    """The chart of 114 g a sifted cup."""
    assert grams("1 C flour, sifted before measuring")[1] == pytest.approx(114, abs=1)
    assert grams("1 C flour, sifted")[1] > 120


@pytest.mark.parametrize(("text", "words"), [
    ("0 cups flour", "the amount is 0"),
    ("0 g sugar", "the amount is 0"),
    ("150 g Mehl", "write “Mehl” by its English name"),
    ("80 g beurre", "write “beurre” by its English name"),
    ("2 florbs sugar", "“florbs” is no unit known here: write cup, tablespoon"),
    ("800000000 cups flour", "is the amount right?"),
])  # fmt: skip
def test_what_is_wrong_with_a_line_is_named_with_what_to_do(text: str, words: str) -> None:
    assert words in said(text)


def test_a_food_that_is_no_unit_is_not_called_one() -> None:
    """Two plums of which nobody knows the kind are pieces, not a unit."""
    assert "no unit known" not in said("2 mirabelle plums")
    assert "no unit known" not in said("3 chocolate bars")


def test_a_picture_before_the_amount_hides_nothing() -> None:
    for picture in ("🧁", "👩🏽‍🍳", "✨ ", "➤ "):
        assert weighed(f"{picture} 2 cups flour").grams == weighed("2 cups flour").grams
        assert weighed(f"{picture} 2 cups flour").text.startswith(picture[0])


def test_a_recipe_in_another_language_is_told_what_to_do_and_kept() -> None:
    foreign = formula_from_text("200 g Mehl\n100 g beurre\n2 Tassen Zucker\n1 Prise Salz\n")
    assert any("English names" in note for note in foreign.notes)
    assert [line.text for line in foreign.parts[0].lines][:2] == ["200 g Mehl", "100 g beurre"]
    known = formula_from_text("200 g rye flour\n100 g butter\n2 cups moon dust\n")
    assert not any("English names" in note for note in known.notes)
