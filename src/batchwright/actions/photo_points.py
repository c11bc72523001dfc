"""Panel figures that a reader may have taken for ten times what is printed: the decimal point is the first thing lost.

A figure is named for a look at the packet; what contradicts nothing else is not found. A point is put in only where
the other column leaves one place for it, and that figure is named all the same.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from statistics import median

from batchwright.base.nutrients import PANEL_KEYS

KCAL_PER_G = {"fat_g": 9.0, "carbohydrate_g": 4.0, "protein_g": 4.0, "fiber_g": 2.0}  # EU 1169/2011, Annex XIV
KCAL_PER_KJ = 1 / 4.184
WHOLE_OF = {"saturated_fat_g": "fat_g", "trans_fat_g": "fat_g", "sugars_g": "carbohydrate_g",
            "added_sugars_g": "sugars_g"}  # fmt: skip
ROUNDED = 0.5  # g; the coarsest step of grams on a panel is one
APART = 5.0  # times one column may be off the others: a lost point makes ten, rounding of small figures up to two
SMALLEST = 0.5  # below it a figure's own rounding hides everything
FEWEST_ROWS = 4  # rows of two columns that say what the columns' ratio is
# How far energy may be from its sum, share and kcal: Europe works it out so, elsewhere other factors are in use.
SLACK = {"EU": (0.10, 8.0), "": (0.25, 20.0)}
ZERO = "begins with 0 and has no point"
MORE = "is more than there is of the food"
PART = "is more than what it is a part of"
SUM = "does not go with the energy"
ENERGY = "does not follow from fat, carbohydrate and protein"
COLUMNS = "does not go with the other column"
PUT_IN = "was read without its point, put in to go with the other column"
TIGHT = 0.04  # how far a figure with its point put in may be from what the other column says, beside both roundings


def lost_points(panels: Sequence[Mapping[str, str]]) -> dict[tuple[int, str], str]:
    """Return the figures to look at again: the panel's place and the figure's key, and what speaks against it.

    panels: figures as typed, column by column, with `basis` and `serving_g`.
    """
    found: dict[tuple[int, str], str] = {}
    for place, panel in enumerate(panels):
        for key, why in _of_one(panel).items():
            found[place, key] = why
    for one in range(len(panels)):
        for other in range(one + 1, len(panels)):
            for place, key in _of_two(panels, one, other):
                found.setdefault((place, key), COLUMNS)
    return found


def points_put_in(
    panels: Sequence[Mapping[str, str]], lost: Mapping[tuple[int, str], str]
) -> tuple[tuple[dict[str, str], ...], dict[tuple[int, str], str]]:
    """Return the panels with lost points put in where the other column leaves one place, and what is to be looked at.

    lost: what `lost_points` found. The digits stay as read; a figure with its point put in stays named (PUT_IN).
    """
    after, said = [dict(panel) for panel in panels], dict(lost)
    for at, key in lost:
        text = panels[at][key]
        if len(panels) != 2 or key == "energy_kcal" or not re.fullmatch(r"[1-9]\d{1,2}", text):
            continue
        ratios, other = _ratios(panels, 1 - at, at), amount_of(panels[1 - at], key)
        if other is None or len(ratios) < FEWEST_ROWS:
            continue
        tenth, ratio = int(text) / 10, median(ratios.values())
        if abs(tenth - ratio * other) <= TIGHT * tenth + 0.05 * (1 + ratio):
            after[at][key], said[at, key] = f"{text[:-1]}.{text[-1]}", PUT_IN
    return tuple(after), said


def amount_of(panel: Mapping[str, str], key: str) -> float | None:
    """Return the amount a figure says [the key's unit], None where none stands there."""
    text = panel.get(key, "").replace(",", ".")
    if key == "energy_kcal":
        kcal, joule = (re.search(rf"(\d+(?:\.\d+)?)\s*{unit}", text, re.I) for unit in ("kcal", "kJ"))
        if kcal or joule:
            return float(kcal[1]) if kcal else float(joule[1]) * KCAL_PER_KJ if joule else None
    number = re.search(r"\d+(?:\.\d+)?", text)
    return float(number[0]) if number else None


def _of_one(panel: Mapping[str, str]) -> dict[str, str]:
    amounts = {key: found for key in PANEL_KEYS if (found := amount_of(panel, key)) is not None}
    said: dict[str, str] = {}
    most_g = _most_g(panel)
    for key, amount in amounts.items():
        grams = amount / 1000 if key.endswith("_mg") else amount
        whole = WHOLE_OF.get(key, "")
        if re.match(r"0\d", panel[key].strip()):
            said[key] = ZERO
        elif key != "energy_kcal" and most_g is not None and grams > most_g + ROUNDED:
            said[key] = MORE
        elif whole in amounts and amount > amounts[whole] + 2 * ROUNDED:
            said[key] = PART
    return {**_off_the_sum(panel, amounts), **said}


def _most_g(panel: Mapping[str, str]) -> float | None:
    """Return how much food the figures are of [g], None where nobody says."""
    if panel.get("basis", "") == "per 100 g":
        return 100.0
    return amount_of(panel, "serving_g") if panel.get("basis") == "per serving" else None


def _off_the_sum(panel: Mapping[str, str], amounts: Mapping[str, float]) -> dict[str, str]:
    """Return what would make the energy right if it were a tenth, or the energy itself where it is off all the same."""
    if not {"energy_kcal", "fat_g", "carbohydrate_g", "protein_g"} <= amounts.keys():
        return {}
    kcal = amounts["energy_kcal"]
    parts = {key: factor * amounts.get(key, 0.0) for key, factor in KCAL_PER_G.items()}
    if panel.get("scheme") != "EU":
        parts.pop("fiber_g")  # it is counted with the carbohydrate there
    share, least = SLACK.get(panel.get("scheme", ""), SLACK[""])

    def fits(energy: float, total: float) -> bool:
        return abs(energy - total) <= share * max(energy, total) + least

    total = sum(parts.values())
    if fits(kcal, total):
        return {}
    whole = [key for key in parts if not re.search(r"\d[.,]\d", panel.get(key, ""))]  # a point that stands is not lost
    named = {key: SUM for key in whole if parts[key] > 0.0 and fits(kcal, total - 0.9 * parts[key])}
    return named or {"energy_kcal": ENERGY}


def _of_two(panels: Sequence[Mapping[str, str]], one: int, other: int) -> list[tuple[int, str]]:
    """Return the figures of two columns that are off the columns' ratio; of each pair the one that is too large."""
    ratios = _ratios(panels, one, other)
    if len(ratios) < FEWEST_ROWS:
        return []
    usual = median(ratios.values())
    return [(other if ratio > usual else one, key) for key, ratio in ratios.items()
            if not 1 / APART < ratio / usual < APART]  # fmt: skip


def _ratios(panels: Sequence[Mapping[str, str]], one: int, other: int) -> dict[str, float]:
    """Return how many times a panel's figure another's is, by key, where both are large enough to say."""
    ratios: dict[str, float] = {}
    for key in PANEL_KEYS:
        first, second = amount_of(panels[one], key), amount_of(panels[other], key)
        if first is not None and second is not None and min(first, second) > 0.0 and max(first, second) >= SMALLEST:
            ratios[key] = second / first
    return ratios
