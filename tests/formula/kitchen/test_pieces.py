"""What a recipe counts stays counted, reads back, and goes into cups only where no count comes near."""

from __future__ import annotations

import pytest

from batchwright.base.estimate import Estimate
from batchwright.formula.kitchen.grid import amounts_text, unit_text
from batchwright.formula.kitchen.measures import write_measures
from batchwright.formula.kitchen.records import WrittenLine
from batchwright.formula.lines.line import read_line
from batchwright.formula.records import Formula, Line, Part, Written
from batchwright.formula.weighing.weigh import weigh_line

FLOUR = Line("360 g flour", "all-purpose flour", Estimate(360, 360, 360, unit="g"), "wheat flour", "name")


def rewritten(text: str, times: float = 1.0, rescale: float = 0.0, units: str = "us") -> WrittenLine:
    """Return a line weighed and written back, its mass times a factor."""
    line = weigh_line(read_line(text), "spooned")
    assert line.grams is not None
    parts = (Part("", (FLOUR, Line(line.text, line.item, line.grams.scaled(times, "g"), line.ingredient, line.match,
                                   line.amounts, line.preparation, size=line.size))),)  # fmt: skip
    return write_measures(Formula("", parts), "spooned", rescale, units).lines[1]


@pytest.mark.parametrize(
    ("text", "written", "item"),
    [
        ("1 (14-ounce) can sweetened condensed milk", "1 (14-ounce) can", "sweetened condensed milk"),
        ("2 (8-ounce) packages cream cheese", "2 (8-ounce) packages", "cream cheese"),
        ("1 package (7 g) dry yeast", "1 (7-gram) package", "dry yeast"),
        ("3 cloves garlic", "3 cloves", "garlic"),
        ("2 ripe bananas, mashed", "2", "ripe bananas"),
        ("1 medium onion, chopped", "1 medium", "onion"),
        ("4 sheets gelatin", "4 sheets", "gelatin"),
        ("2 large eggs", "2 large", "eggs"),
        ("1 medium egg", "1 medium", "egg"),
    ],
)
def test_a_count_stays_and_reads_back(text: str, written: str, item: str) -> None:
    for units in ("us", "metric"):
        line = rewritten(text, units=units)
        assert (line.text, line.item) == (written, item)
    again = weigh_line(read_line(f"{line.text} {line.item}"), "spooned").grams
    assert again is not None
    assert again.likely == pytest.approx(line.grams, rel=0.01)


def test_twice_as_much_is_twice_the_count() -> None:
    assert (rewritten("1 banana", 2).text, rewritten("1 banana", 2).item) == ("2", "bananas")
    assert (rewritten("2 bananas", 0.5).text, rewritten("2 bananas", 0.5).item) == ("1", "banana")
    assert rewritten("1 clove garlic", 2).text == "2 cloves"
    assert rewritten("1 banana", 1.5).text == "1 1/2"


def test_where_no_count_comes_near_it_is_measured() -> None:
    """A can and a third: cups are nearer than one can or two by far more than they cost."""
    line = rewritten("1 (14-ounce) can sweetened condensed milk", 1.33)
    assert line.amounts[0].unit == "cup"
    assert abs(line.shift_percent or 0) < 5


def test_words() -> None:
    assert [unit_text(unit, 2) for unit in ("leaf", "bunch", "can", "")] == ["leaves", "bunches", "cans", ""]
    assert unit_text("leaf", 1) == "leaf"
    assert amounts_text((Written(2, 2, "package"), Written(8, 8, "ounce", "each"))) == "2 (8-ounce) packages"
