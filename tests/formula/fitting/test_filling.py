"""Fillings less sweet with the same body."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.formula.fitting.filling import body_targets, less_sweet
from batchwright.formula.fitting.lines import bench_of
from batchwright.formula.fitting.records import Fitted, Rules
from batchwright.formula.fitting.targets import is_powder
from batchwright.formula.records import Formula, Part
from tests.formula.invented import line


def nut_filling() -> Formula:
    """Return a nut filling, half sugar."""
    lines = (line("icing sugar", 240), line("hazelnuts", 160), line("palm oil", 80), line("cocoa powder", 20))
    return Formula("Nut filling", (Part("", lines),))


def fat_filling() -> Formula:
    """Return a white filling of fat and sugar alone."""
    return Formula("White filling", (Part("", (line("icing sugar", 300), line("vegetable shortening", 150))),))


def figure(found: Fitted, name: str) -> tuple[float, float]:
    outcome = next(each for each in found.outcomes if each.name == name)
    return outcome.before, outcome.after


@pytest.mark.parametrize("formula", [nut_filling(), fat_filling()], ids=["nut", "fat"])
@pytest.mark.parametrize("percent", [10.0, 20.0])
def test_less_sweet_with_the_same_body(formula: Formula, percent: float) -> None:
    rules = Rules(extras=("skimmed milk powder", "whole milk powder", "cocoa powder", "hazelnuts"))
    found = less_sweet(formula, percent, rules)
    assert found.met, found.clash
    assert figure(found, "sweetness")[1] == pytest.approx(100.0 - percent - 1.0, abs=1.01)
    for name, points in (("fat as mixed", 1.0), ("powder share", 2.0), ("water as mixed", 1.0)):
        before, after = figure(found, name)
        assert abs(after - before) <= points + 1e-3, name
    assert sum(each.after_g for each in found.changes) == pytest.approx(sum(each.before_g for each in found.changes))


def test_no_other_sweetener_enters_or_grows() -> None:
    rules = Rules(extras=("honey", "glucose syrup", "xylitol", "raisins", "skimmed milk powder"))
    found = less_sweet(nut_filling(), 20, rules)
    assert found.met
    assert [each.name for each in found.changes if each.entering and each.after_g > 0] == ["skimmed milk powder"]
    assert next(each for each in found.changes if each.name == "icing sugar").after_g < 240
    assert any("honey" in note and "not let in" in note for note in found.notes)


def test_impossible_is_said_with_how_far_it_goes_and_what_would_help() -> None:
    found = less_sweet(fat_filling(), 20, Rules())
    assert not found.met
    assert any(name.startswith("sweetness at most 80") for name in found.clash)
    said = " ".join(found.notes)
    assert "less sweet can be reached" in said or "cannot be made less sweet" in said
    assert "skimmed milk powder" in said
    far = less_sweet(fat_filling(), 70, Rules())
    assert not far.met
    assert any("none of the usual powders" in note for note in far.notes)


def test_what_is_said_to_help_helps() -> None:
    assert not less_sweet(fat_filling(), 20, Rules()).met
    assert less_sweet(fat_filling(), 20, Rules(extras=("skimmed milk powder",))).met


def test_strong_tastes_are_held_and_raw_powders_come_last() -> None:
    rules = Rules(extras=("corn starch", "skimmed milk powder"))
    found = less_sweet(nut_filling(), 20, rules)
    grams = {each.name: each.after_g for each in found.changes}
    assert grams["cocoa powder"] <= 40
    assert "corn starch" not in grams
    raw = less_sweet(nut_filling(), 20, Rules(extras=("corn starch",)))
    assert any(each.name == "corn starch" for each in raw.changes)
    assert any(note.startswith("caution") and "corn starch" in note for note in raw.notes)


def test_lactose_counts_as_sweetness() -> None:
    """Milk powder is half sugar and a little sweet, so more sugar comes out than the fifth asked for."""
    found = less_sweet(fat_filling(), 20, Rules(extras=("skimmed milk powder",)))
    sugar = next(each for each in found.changes if each.name == "icing sugar")
    assert sugar.after_g < 0.8 * sugar.before_g


def test_powders_are_told_from_pastes() -> None:
    lines = ("icing sugar", "cocoa powder", "whole milk powder", "corn starch", "wheat flour",
             "hazelnuts", "palm oil", "milk chocolate", "honey", "vanilla extract", "water")  # fmt: skip
    formula = Formula("All", (Part("", tuple(line(name, 10) for name in lines)),))
    powders = [each.name for each in bench_of(formula).candidates if is_powder(each)]
    assert powders == list(lines[:5])


def test_body_targets_hold_where_the_filling_stands() -> None:
    bench = bench_of(nut_filling())
    for target in body_targets(bench):
        assert target.low is not None
        assert target.high is not None
        assert target.low <= target.high


@pytest.mark.parametrize("percent", [0.0, -5.0, 100.0, 250.0])
def test_amounts_that_cannot_be(percent: float) -> None:
    with pytest.raises(InputError, match="less sweet"):
        less_sweet(nut_filling(), percent)


def test_what_is_not_sweet_cannot_be_less_so() -> None:
    bare = Formula("Fat", (Part("", (line("palm oil", 100),)),))
    with pytest.raises(InputError, match="sweet"):
        less_sweet(bare, 20)
