"""The lines of a pasted panel: the names in it and the amounts behind each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from batchwright.base.tables import rows
from batchwright.original.panels.columns import digits
from batchwright.original.panels.reading import unit_of

# Spellings that stand for too many other things in running text.
KEYS_ONLY = {"na", "ca", "fe", "k", "cal", "chol", "sat", "fats", "lipid", "lipids", "joules"}
# Other lines of a panel: they end the line before them.
OTHER_LINES = (
    "other carbohydrate", "other carbohydrates", "soluble fiber", "insoluble fiber", "soluble fibre", "insoluble fibre",
    "vitamin a", "vitamin b1", "vitamin b2", "vitamin b6", "vitamin b12", "vitamin c", "vitamin e", "vitamin k",
    "thiamin",
    "thiamine", "riboflavin", "niacin", "folate", "folic acid", "biotin", "pantothenic acid", "magnesium", "zinc",
    "phosphorus", "iodine", "selenium", "copper", "manganese", "chromium", "omega 3", "caffeine", "servings per",
    "serving size", "daily value", "ingredients", "contains",
)  # fmt: skip
SHORT = 5  # letters: a name this short must stand free
FOLDS = str.maketrans("01|iI", "ollll")
TAIL = re.compile(
    r"\s*(?:\(\s*(?:k?[gj]|mg|mcg|µg|kcal|kj\s*/\s*kcal|kcal\s*/\s*kj)\s*\)|,?\s*total)?\s*[:.…\-–=]*\s*", re.I
)
AMOUNT = re.compile(
    r"(?P<less><|≤|less\s*than\s*)?\s*"
    r"(?P<number>[0-9oOlI|](?:[0-9oOlI|]|[.,](?=[0-9oOlI]))*)\s?"
    r"(?P<unit>kcal|kal|kj|j(?![a-z])|mg|mcg|µg|ug|g(?:rams?)?|q|cals?)?(?![a-km-np-z])[ \t]*(?P<percent>%)?"
    r"|(?P<trace>traces?\b|nil\b)",
    re.I,
)
WORDS = re.compile(r"[a-z]{4,}")
SMALL_WORDS = re.compile(r"less\s*than|kcal|percent|total|about|approx|average|value|per\b")
UNITS = {
    "kcal": "kcal",
    "cal": "kcal",
    "cals": "kcal",
    "kal": "kcal",
    "kj": "kJ",
    "j": "kJ",
    "mg": "mg",
    "mcg": "µg",
    "µg": "µg",
    "ug": "µg",
}


@dataclass(frozen=True, slots=True)
class Amount:
    """One amount of a line: number as text ("8", "<1", "trace"), unit and % beside it ("" where none stands)."""

    number: str
    unit: str
    percent: str


@cache
def name_pattern() -> tuple[re.Pattern[str], dict[str, str | None]]:
    """Return the pattern of all line names on folded text, and the panel key of each (None: another line)."""
    keys: dict[str, str | None] = {fold(name).replace(" ", ""): None for name in OTHER_LINES}
    spelled = list(OTHER_LINES)
    for row in rows("panel_names"):
        if row["spelling"] not in KEYS_ONLY and row["nutrient"] != "serving_g":
            keys[fold(row["spelling"]).replace(" ", "")] = row["nutrient"]
            spelled.append(row["spelling"])
    bodies = [
        r"[\s\-]{0,3}".join(re.escape(word) for word in fold(name).split())
        for name in sorted(spelled, key=len, reverse=True)
    ]
    return re.compile("|".join(bodies)), keys


def fold(text: str) -> str:
    """Return text in lower case with letters and digits that look alike made one (1, i, | to l; 0 to o)."""
    return text.lower().translate(FOLDS) if len(text.lower()) == len(text) else text.translate(FOLDS)


def line_names(text: str) -> Iterator[tuple[str | None, int, int]]:
    """Yield (panel key or None, start, end) of every name of a panel line in the text, in order."""
    pattern, keys = name_pattern()
    shadow = fold(text)
    for match in pattern.finditer(shadow):
        letters = re.sub(r"[\s\-]", "", match[0])
        start, end = match.span()
        if not _free(text, start, end, len(letters) <= SHORT):
            continue
        key = keys.get(letters)
        unit_word = letters in ("kcal", "kj", fold("calories"), fold("calorie"))
        if unit_word and re.search(r"(?:[0-9oO]|[0-9oOlI.,][lI])\s?$", text[max(0, start - 3) : start]):
            continue  # the unit behind a number, not a name
        if key == "energy_kcal" and letters == "energy":
            unit = re.match(r"\s*\(?\s*(kj|kcal)\b(?!\s*/)", text[end : end + 12], re.I)
            if unit:
                key, end = ("energy_kj" if unit[1].lower() == "kj" else "energy_kcal"), end + unit.end()
        tail = TAIL.match(text, end)
        yield key, start, tail.end() if tail else end


def _free(text: str, start: int, end: int, short: bool) -> bool:
    """Say whether a name stands free: no letters against it but the unit or the number of a line with lost blanks."""
    before, after = text[max(0, start - 3) : start], text[end : end + 4]
    if before and before[-1].isalpha() and (short or start == 0) and not re.search(r"[0-9oOlI]\s?(?:g|mg)$", before):
        return False
    if after and after[0].isalpha():
        return bool(re.match(r"[oOlI][0-9oOlI.]{0,3}\s?(?:g|m|%|$)", after)) or bool(
            re.match(r"(?:less|incl|per|tr)", after, re.I)
        )
    return True


def amounts_of(stretch: str, nutrient: str, with_units: bool = True) -> tuple[list[Amount], list[str], int]:
    """Return the amounts in the stretch behind a name, the repairs made in reading, and where the last one ends.

    with_units: whether the table prints units; only then can a 9 be a misread g.
    """
    found: list[Amount] = []
    repairs: list[str] = []
    used = 0
    for match in AMOUNT.finditer(stretch):
        if match["trace"]:
            found.append(Amount(match["trace"].lower(), "", ""))
            used = match.end()
            continue
        raw, unit, percent = match["number"], (match["unit"] or "").lower(), match["percent"]
        if percent and not found and nutrient.startswith("energy"):
            percent = None  # "Calories 120 % Daily Value": the sign belongs to the next heading
        if not any(ch.isdigit() for ch in raw) and not unit and not percent:
            continue
        if WORDS.search(SMALL_WORDS.sub("", stretch[used : match.start()].lower())):
            break  # words between: another matter begins
        number = digits(raw)
        if number != raw:
            repairs.append(f"read {match[0].strip()!r} as {number} {unit}".strip())
        if re.fullmatch(r"0[0-9]+", number) and (unit or number != "09"):  # a leading 0: the point was lost
            number = f"0.{number[1:]}"
            repairs.append(f"read {raw!r} as {number}")
        used = match.end()
        if percent and not unit:
            if found and not found[-1].percent and found[-1].number:
                found[-1] = Amount(found[-1].number, found[-1].unit, number)
            else:
                found.append(Amount("", "", number))
            continue
        unit = UNITS.get(unit, "g" if unit else "")
        repair = ""
        if with_units:
            behind = stretch[match.end() : match.end() + 3]
            number, unit, repair = _nine_for_g(number, unit, nutrient, behind, bool(found))
        if repair:
            repairs.append(repair)
        if number:
            found.append(Amount(f"<{number}" if match["less"] else number, unit, ""))
    return _crossed_energies(found, nutrient), repairs, used


def _crossed_energies(found: list[Amount], nutrient: str) -> list[Amount]:
    """Put units right where they stand before the numbers ("kJ 1573 kcal 373")."""
    own, other = {"energy_kj": ("kJ", "kcal"), "energy_kcal": ("kcal", "kJ")}.get(nutrient, ("", ""))
    if len(found) == 2 and own and found[0].unit == other and not found[1].unit:
        return [Amount(found[0].number, own, ""), Amount(found[1].number, other, "")]
    return found


def _nine_for_g(number: str, unit: str, nutrient: str, behind: str, later: bool) -> tuple[str, str, str]:
    """Read a last 9 as the g of a line that has no unit ("89 10%" for "8g 10%"); drop a lone 9 behind an amount."""
    if unit or unit_of(nutrient) != "g" or not number.endswith("9"):
        return number, unit, ""
    if number == "9":
        return ("", "", "read a lone '9' as g") if later else (number, unit, "")
    if re.match(r"\s*\d{1,3}\s?%|\s*$|\s*\n", behind) or "." in number or number.startswith("0"):
        return number[:-1], "g", f"read {number!r} as {number[:-1]} g"
    return number, unit, ""
