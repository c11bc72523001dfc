"""What the lines of a panel say about one another: sums, energy from macronutrients, which daily values were used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache

from batchwright.base.errors import Fault
from batchwright.base.tables import rows
from batchwright.original.panels.reading import EDITIONS, narrowed_by_percent, stated
from batchwright.original.panels.records import PER_100_G, PER_SERVING, Panel
from batchwright.original.panels.rounding import Interval
from batchwright.original.panels.values import Printed

# (part, whole, in words): a part can never exceed its whole.
PARTS = (
    ("saturated_fat_g", "fat_g", "no more than the fat"),
    ("trans_fat_g", "fat_g", "no more than the fat"),
    ("sugars_g", "carbohydrate_g", "no more than the carbohydrate"),
    ("added_sugars_g", "sugars_g", "no more than the total sugars"),
)
GRAM_KEYS = ("fat_g", "carbohydrate_g", "protein_g", "salt_g")


@cache
def factors() -> dict[str, tuple[float, float]]:
    """Return (kcal, kJ) per gram by component. Source: Regulation (EU) 1169/2011 Annex XIV; 21 CFR 101.9(c)(1)(i)."""
    return {row["component"]: (float(row["kcal_per_g"]), float(row["kj_per_g"])) for row in rows("panel_energy")}


def edition_of(
    figures: Sequence[object], values: Mapping[str, Printed], percents: Mapping[str, Decimal]
) -> tuple[str, dict[str, int]]:
    """Return the edition of daily values ("2016" or "before 2016") that clashes least, and the clashes of each."""
    clashes = dict.fromkeys(EDITIONS, 0)
    for figure in figures:
        nutrient = getattr(figure, "nutrient", "")
        if nutrient not in percents or nutrient not in values:
            continue
        for edition in clashes:
            interval = Interval(getattr(figure, "low", 0.0), True, getattr(figure, "high", 0.0), False)
            verdict = narrowed_by_percent(
                nutrient, interval, values[nutrient].number, float(percents[nutrient]), edition
            )[1]
            clashes[edition] += verdict == "contradiction"
    return min(clashes, key=lambda edition: clashes[edition]), clashes


def energy_by_factors(
    fat_g: float, carbohydrate_g: float, protein_g: float, fiber_g: float = 0.0, polyols_g: float = 0.0
) -> tuple[float, float]:
    """Return the energy (kcal, kJ) of the amounts by the label factors, carbohydrate without fiber and polyols.

    Source: Regulation (EU) 1169/2011 Annex XIV. Example: 24 g fat, 64 g carbohydrate, 6.4 g protein and 2.7 g fiber
    hold 2106.4 kJ.
    """
    amounts = {
        "fat": fat_g,
        "carbohydrate": carbohydrate_g,
        "protein": protein_g,
        "fibre": fiber_g,
        "polyols": polyols_g,
    }
    kcal = sum(factors()[name][0] * amount_g for name, amount_g in amounts.items())
    return kcal, sum(factors()[name][1] * amount_g for name, amount_g in amounts.items())


def energy_range(panel: Panel) -> tuple[float, float] | None:
    """Return the energy [kcal, on the panel's basis] that its macronutrients allow, or None where one is missing.

    Low: fiber and sugar alcohol at their least (fiber counted 0 to 4 kcal/g), high: all carbohydrate at 4 kcal/g, both
    widened by the stated factors for alcohol, acids and the specific factors of single foods.
    """
    lines = {figure.nutrient: figure for figure in panel.figures if figure.used}
    if not all(key in lines for key in ("fat_g", "carbohydrate_g", "protein_g")):
        return None
    low = high = 0.0
    for key, component in (("fat_g", "fat"), ("carbohydrate_g", "carbohydrate"), ("protein_g", "protein")):
        low += factors()[component][0] * lines[key].low
        high += factors()[component][0] * lines[key].high
    fiber = lines["fiber_g"].high if "fiber_g" in lines else 0.0
    polyols = lines["sugar_alcohol_g"].high if "sugar_alcohol_g" in lines else 0.0
    if panel.scheme == "EU":
        high += factors()["fibre"][0] * (fiber if "fiber_g" in lines else panel.fiber_allowance_g)
        low -= factors()["carbohydrate"][0] * polyols
    else:
        low -= factors()["carbohydrate"][0] * (fiber + polyols)
    return max(0.0, low * stated("energy_low_factor")), high * stated("energy_high_factor")


def sums_of(panel: Panel) -> tuple[Panel, tuple[Fault, ...]]:
    """Return the panel with figures that cannot be true marked unused, and the faults its sums show."""
    faults: list[Fault] = []
    panel = _impossible(panel, faults)
    lines = {figure.nutrient: figure for figure in panel.figures if figure.used}
    for part, whole, words in PARTS:
        if part in lines and whole in lines and lines[part].low > lines[whole].high:
            faults.append(Fault(part, lines[part].printed, words, f"{lines[whole].line} is printed: a misread digit?"))
    fiber, carbohydrate, sugars = (lines.get(key) for key in ("fiber_g", "carbohydrate_g", "sugars_g"))
    if panel.scheme == "US" and fiber and carbohydrate and sugars and fiber.low + sugars.low > carbohydrate.high:
        faults.append(
            Fault("carbohydrate_g", carbohydrate.printed, "at least fiber and sugars together", "A misread digit?")
        )
    _energy(panel, faults)
    return panel, tuple(faults)


def _impossible(panel: Panel, faults: list[Fault]) -> Panel:
    """Mark what no food can hold: more grams than the food weighs, more energy than pure fat."""
    weight = {PER_100_G: 100.0, PER_SERVING: panel.serving_high_g}.get(panel.basis)
    if weight is None:
        weight = 100.0 * panel.density_high_g_ml if panel.basis != PER_SERVING else None
    if weight is None:
        return panel
    most = {"_kcal": 9.02 * weight, "_kj": 37.1 * weight, "_mg": 1000 * weight, "_g": weight}
    figures = []
    for figure in panel.figures:
        limit = next((top for end, top in most.items() if figure.nutrient.endswith(end)), None)
        if limit is not None and figure.low > limit * 1.001:
            hint = "Left out of the sums. Is the serving weight right, or the decimal point?"
            if figure.nutrient == "energy_kcal":
                hint = "Left out of the sums. Is it kJ for kcal, or the serving weight?"
            faults.append(
                Fault(figure.nutrient, figure.printed, f"at most {limit:.4g} in {weight:.4g} g of food", hint)
            )
            figure = replace(figure, used=False)
        figures.append(figure)
    lines = {figure.nutrient: figure for figure in figures if figure.used}
    total = sum(lines[key].low for key in GRAM_KEYS if key in lines)
    if total > weight * 1.001:
        faults.append(
            Fault(
                "panel",
                f"{total:.4g} g",
                f"fat, carbohydrate, protein and salt within {weight:.4g} g",
                "Is the serving weight right, or a figure ten times too large?",
            )
        )
    return replace(panel, figures=tuple(figures))


def _energy(panel: Panel, faults: list[Fault]) -> None:
    reach = energy_range(panel)
    if reach is None:
        return
    for key, factor in (("energy_kcal", 1.0), ("energy_kj", 4.184)):
        figure = panel.figure(key)
        if figure is None:
            continue
        low, high = figure.low / factor, figure.high / factor
        slack = stated("energy_slack_serving_kcal" if panel.basis == PER_SERVING else "energy_slack_100g_kcal")
        if low <= reach[1] + slack and high >= reach[0] - slack:
            continue
        hint = "A misread digit here or in fat, carbohydrate or protein?"
        if key == "energy_kcal" and reach[0] <= high / 4.184 and low / 4.184 <= reach[1]:
            hint = "It fits if it is kJ: is it kJ for kcal?"
        elif key == "energy_kj" and reach[0] <= high * 4.184 and low * 4.184 <= reach[1]:
            hint = "It fits if it is kcal: is it kcal for kJ?"
        unit = "kcal" if key == "energy_kcal" else "kJ"
        faults.append(
            Fault(key, figure.printed, f"{reach[0] * factor:.0f} to {reach[1] * factor:.0f} {unit} by the sums", hint)
        )
