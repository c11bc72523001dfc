"""What a cook allows: words looked up, and what cannot be said together."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.formula.mixture import flat_lines
from batchwright.formula.moving.allowed import Allowed, named_lines, rule_of
from tests.formula.invented_bands import FILLED, RICH, SHORTBREAD, recipe

MARGARINE = recipe("spread", ("dough", {"wheat flour": 300, "margarine, 80 % fat": 200, "sugar": 90}))


@pytest.mark.parametrize(
    ("word", "items"),
    [("butter", ["butter"]), ("flour", ["wheat flour"]), ("sugar", ["sugar", "sugar"]), ("filling: sugar", ["sugar"]),
     ("filling", ["walnuts", "sugar", "honey"]), ("walnut", ["walnuts"]), ("cinnamon", []), ("", []), ("filling:", [])],
)  # fmt: skip
def test_a_cooks_word_for_a_line(word: str, items: list[str]) -> None:
    lines = [line for part in FILLED.parts for line in part.lines]
    assert [lines[place].item for place in named_lines(word, FILLED)] == items


@pytest.mark.parametrize(
    ("allowed", "name", "reason"),
    [
        (Allowed(), "glucose syrup", ""),
        (Allowed(supermarket=True), "glucose syrup", "not sold in supermarkets"),
        (Allowed(supermarket=True), "honey", ""),
        (Allowed(vegan=True), "honey", "of animal origin"),
        (Allowed(vegan=True), "sugar", ""),
        (Allowed(without=("palm",)), "palm oil", "made with palm"),
        (Allowed(without=("palm",)), "vegetable shortening", "may be made with palm"),
        (Allowed(without=("nuts",)), "walnuts", "to be left out"),
        (Allowed(without=("eggs",)), "egg white", "to be left out"),
        (Allowed(without=("walnuts",)), "hazelnuts", ""),
        (Allowed(on_hand=("honey",)), "sugar", "not on hand"),
        (Allowed(on_hand=("honey",)), "water", ""),
    ],
)
def test_what_may_enter(allowed: Allowed, name: str, reason: str) -> None:
    assert rule_of(allowed, [SHORTBREAD]).refuses(name) == reason


def test_all_faults_come_together() -> None:
    wishes = Allowed(locked=("cinnamon", "butter"), vegan=True, without=("moonstone",), on_hand=("unobtainium flakes",))
    with pytest.raises(InputError) as error:
        rule_of(wishes, [SHORTBREAD])
    fields = sorted(fault.field for fault in error.value.faults)
    assert fields == ["--lock", "--lock", "--no", "--on-hand"]
    text = str(error.value)
    assert "butter is of animal origin" in text
    assert "wheat flour, butter, sugar, salt" in text


def test_a_lock_may_belong_to_one_of_several_recipes() -> None:
    assert rule_of(Allowed(locked=("egg",)), [SHORTBREAD, RICH]).asked.locked == ("egg",)
    with pytest.raises(InputError, match="--lock"):
        rule_of(Allowed(locked=("egg",)), [SHORTBREAD])


def test_what_depends_on_the_pack_stays_and_is_said() -> None:
    rule = rule_of(Allowed(vegan=True, without=("palm",)), [MARGARINE])
    margarine = flat_lines(MARGARINE)[1]
    assert rule.forbids(margarine) == ""
    assert rule.asks_for_the_pack(margarine) == "of animal origin or made with palm"
