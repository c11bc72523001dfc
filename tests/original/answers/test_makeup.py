"""What the finished food holds by its label: against arithmetic done by hand, and against what the panel prints."""

from __future__ import annotations

import json
from math import isclose

import pytest

from batchwright.actions.original import decode_file
from batchwright.original.decode import decode
from batchwright.original.labels.file import label_from_mapping
from batchwright.original.records import Answer, Content

# 60 parts fat meal (60 % fat), 40 parts sweet meal (80 % sugars), nothing lost: 36 g fat and 32 g sugars per 100 g.
MEALS = {
    "fat meal": {"energy_kcal": 600, "fat_g": 60, "saturated_fat_g": 15, "carbohydrate_g": 20, "fiber_g": 10,
                 "sugars_g": 0, "added_sugars_g": 0, "protein_g": 10, "sodium_mg": 0, "water_g": 10},
    "sweet meal": {"energy_kcal": 360, "fat_g": 0, "saturated_fat_g": 0, "carbohydrate_g": 90, "fiber_g": 0,
                   "sugars_g": 80, "added_sugars_g": 80, "protein_g": 0, "sodium_mg": 0, "water_g": 10},
}  # fmt: skip
PASTE = {
    "label": {"text": "Ingredients: fat meal, sweet meal"},
    "panel": {"basis": "per 100 g", "scheme": "EU", "fat_g": "36.0", "sugars_g": "32.0"},
    "ingredients": MEALS,
}
PARTED = """
[label]
text = "Ingredients: biscuit (wheat flour, palm oil, sugar, salt), filling (sugar, coconut oil, whey powder)"
[panel]
basis = "per 100 g"
scheme = "EU"
fat_g = 22.4
saturated_fat_g = 13.1
sugars_g = 31.0
protein_g = 5.6
salt_g = 0.51
[teardown]
pieces_g = [10.1, 10.0, 9.9]
parts_g = { biscuit = [6.0, 6.1, 5.9], filling = [4.0, 3.9, 4.0] }
"""


def content(answer: Answer, key: str, part: str = "") -> Content:
    return next(one for one in answer.composition if (one.key, one.part) == (key, part))


@pytest.fixture(scope="module")
def paste() -> Answer:
    return decode(label_from_mapping(PASTE))


@pytest.fixture(scope="module")
def parted() -> Answer:
    return decode_file(PARTED)


@pytest.mark.parametrize(
    ("key", "percent", "within"), [("fat_g", 36.0, 0.3), ("sugars_g", 32.0, 0.3), ("protein_g", 6.0, 1.0),
                                   ("fiber_g", 6.0, 1.0), ("saturated_fat_g", 9.0, 1.0), ("salt_g", 0.0, 0.05)]
)  # fmt: skip
def test_by_hand(paste: Answer, key: str, percent: float, within: float) -> None:
    estimate = content(paste, key).estimate
    assert estimate.low - 1e-9 <= estimate.likely <= estimate.high + 1e-9
    assert isclose(estimate.likely, percent, abs_tol=within)
    assert estimate.low - within <= percent <= estimate.high + within


def test_sure_ends_are_those_of_the_printed_figure(paste: Answer) -> None:
    fat = content(paste, "fat_g").estimate
    assert fat.sure_low == pytest.approx(35.5, abs=0.011)  # from 10 g on, fat is printed to the gram
    assert fat.sure_high == pytest.approx(36.5, abs=0.011)
    assert fat.sure_low - 1e-9 <= fat.low <= fat.high <= fat.sure_high + 1e-9
    assert content(paste, "protein_g").estimate.sure_high is None  # no panel prints it


def test_parts_and_whole_agree(parted: Answer) -> None:
    shares = {part.name: part.estimate.likely / 100.0 for part in parted.parts}
    for key in ("fat_g", "sugars_g", "water_g", "protein_g"):
        summed = sum(share * content(parted, key, part).estimate.likely for part, share in shares.items())
        whole = content(parted, key).estimate
        assert abs(summed - whole.likely) < 2.5, key  # middles of skewed ranges need not add up exactly
    flour_fat, cream_fat = (content(parted, "protein_g", part).estimate for part in ("biscuit", "filling"))
    assert flour_fat.likely > cream_fat.likely


def test_classes_add_up_to_all_that_is_listed(parted: Answer) -> None:
    assert sum(one.added_percent.likely for one in parted.classes) == pytest.approx(100.0, abs=3.0)
    names = [one.name for one in parted.classes]
    assert len(names) == len(set(names))
    assert {"flour", "fat", "sugar", "milk", "salt"} == set(names)
    for one in parted.classes:
        estimate = one.finished_percent
        assert estimate.sure_low is not None
        assert estimate.sure_high is not None
        assert estimate.sure_low - 1e-6 <= estimate.low <= estimate.high <= estimate.sure_high + 1e-6


def test_the_same_label_gives_the_same_digits_and_plain_json(parted: Answer) -> None:
    again = decode_file(PARTED)
    assert again.composition == parted.composition
    plain = json.loads(json.dumps(parted.to_json()))
    assert {"key", "name", "likely", "low", "high", "sure_low", "sure_high"} <= set(plain["composition"][0])
    assert {"name", "added_percent", "finished_percent"} == set(plain["classes"][0])


@pytest.mark.parametrize("text", ["Ingredients: zzyzx, qwert", "Contains: milk", "sugar, wheat flour"])
def test_little_said_is_a_wide_answer(text: str) -> None:
    answer = decode_file(text)
    assert len(answer.composition) == 8
    assert all(0.0 <= one.estimate.low <= one.estimate.high <= 100.0 for one in answer.composition)
    assert sum(one.finished_percent.likely for one in answer.classes) > 90.0
