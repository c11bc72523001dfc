"""How dry a part ends: as given, as usual for its sort, or as it is mixed."""

from __future__ import annotations

import pytest

from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.finish import UNBAKED, finish_of
from batchwright.formula.records import Formula, Part, Step
from tests.formula.invented import line

DOUGH = (line("wheat flour", 300), line("butter", 150), line("milk", 60))
CREAM = (line("butter", 100), line("icing sugar", 200))


@pytest.mark.parametrize(
    ("name", "part", "lines", "sort"),
    [
        ("Pier shortbreads", "", DOUGH, "cookie"),
        ("Harbour brownies", "", DOUGH, "brownie"),
        ("Chocolate-covered wafers", "batter", DOUGH, "wafer"),
        ("Fruit-filled bars", "dough", DOUGH, "bar"),
        ("Lemon berries", "", DOUGH, ""),
        ("Pier loaves", "", (*DOUGH, line("yeast", 5)), "baked"),
        ("Pier snaps", "filling", CREAM, UNBAKED),
        ("Chocolate cake", "caramel filling", CREAM, UNBAKED),
        ("Chocolate cake", "cake layers", DOUGH, "cake"),
        ("Soft caramels", "", CREAM, "caramel"),
    ],
)
def test_the_last_word_that_names_a_sort_decides(name: str, part: str, lines: tuple, sort: str) -> None:  # type: ignore[type-arg]
    formula = Formula(name, (Part(part, lines), Part("other", CREAM)) if part else (Part(part, lines),))
    assert finish_of(formula, formula.parts[0]).sort in (sort, sort or UNBAKED)


def test_the_cooks_own_loss_comes_first() -> None:
    formula = Formula("Pier shortbreads", (Part("", DOUGH, Estimate(9, 8, 10, unit="%")),))
    found = finish_of(formula, formula.parts[0])
    assert found.loss == (0.08, 0.09, 0.10)
    assert not found.taken
    assert not found.note


def test_an_oven_in_the_method_bakes_flour_of_no_known_sort() -> None:
    formula = Formula("Nameless", (Part("", DOUGH),), (Step("Bake until done."),))
    assert finish_of(formula, formula.parts[0]).sort == "baked"
    assert composition_of(formula).whole.loss_percent.likely > 0


def test_a_dry_mix_loses_nothing_and_never_gains() -> None:
    formula = Formula("Pier cake", (Part("", (line("wheat flour", 300), line("sugar", 300))),))
    found = composition_of(formula).whole
    assert found.finished_g.likely <= found.mixed_g.likely


def test_a_simmered_filling_is_wide_and_said() -> None:
    fruit = (line("dates", 450, 0.0), line("water", 180, 0.0))
    formula = Formula("Fruit-filled bars", (Part("dough", DOUGH), Part("filling", fruit)),
                      (Step("Simmer till thick.", "filling"), Step("Bake.", "dough")))  # fmt: skip
    found = composition_of(formula)
    assert found.parts[1].loss_percent.high == pytest.approx(25)
    assert any("stove" in note for note in found.notes)
    dry = Formula("", (Part("filling", (line("sugar", 100), line("butter", 10))),), (Step("Boil."),))
    assert composition_of(dry).whole.finished["water_g"].low >= 0, "never more than there is"
