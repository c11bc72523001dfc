"""Composition of pure compounds from their formulas: sodium in baking soda, water in dextrose monohydrate."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from batchwright.base.errors import Fault, InputError
from batchwright.base.tables import number, rows

METALS = {"Na": "sodium_mg", "Ca": "calcium_mg", "Fe": "iron_mg", "K": "potassium_mg"}
CATIONS = frozenset({"Na", "Mg", "Al", "Si", "K", "Ca", "Ti", "Mn", "Fe", "Co", "Cu", "Zn"})
_PIECE = re.compile(r"([A-Z][a-z]?)(\d*)")
_FORMULA = re.compile(r"(?:[A-Z][a-z]?\d*)+(?:·\d*H2O)?")


@cache
def atomic_masses() -> Mapping[str, float]:
    """Return the mass of each element [g/mol] (IUPAC abridged standard atomic weights)."""
    return {row["element"]: float(row["mass_g_mol"]) for row in rows("pantry_elements")}


def atoms(formula: str) -> dict[str, int]:
    """Return how many atoms of each element a formula without brackets holds, crystal water counted in.

    formula: as "NaHCO3" or "C6H12O6·H2O", at most 60 characters. Raises InputError where it does not read so or
    names an element the table lacks.
    """
    known = atomic_masses()
    fault = Fault("formula", formula, "a formula without brackets, as NaHCO3 or C6H12O6·H2O", "Write out the brackets.")
    if len(formula) > 60 or not _FORMULA.fullmatch(formula):
        raise InputError([fault])
    counts: dict[str, int] = {}
    dry, _, water = formula.partition("·")
    times = int(re.sub(r"H2O$", "", water) or 1) if water else 0
    for element, count in _PIECE.findall(dry):
        if element not in known:
            raise InputError([fault])
        counts[element] = counts.get(element, 0) + int(count or 1)
    if times:
        counts["H"] = counts.get("H", 0) + 2 * times
        counts["O"] = counts.get("O", 0) + times
    return counts


def molar_mass(formula: str) -> float:
    """Return the molar mass [g/mol] of a formula, crystal water included. Raises InputError as `atoms` does."""
    masses = atomic_masses()
    return sum(count * masses[element] for element, count in atoms(formula).items())


def crystal_water_fraction(formula: str) -> float:
    """Return the share of a formula's mass that is crystal water, 0..1: 0.0909 for C6H12O6·H2O."""
    dry = formula.partition("·")[0]
    return 1.0 - molar_mass(dry) / molar_mass(formula)


def mineral_fraction(formula: str, element: str) -> float:
    """Return the share of a formula's mass that is `element`, 0..1: sodium 0.3934 for NaCl."""
    return atoms(formula).get(element, 0) * atomic_masses()[element] / molar_mass(formula)


@cache
def compound_names() -> frozenset[str]:
    """Return the names of the pure compounds the pantry computes from a formula."""
    return frozenset(row["name"] for row in rows("pantry_compounds"))


@cache
def compounds() -> Mapping[str, Mapping[str, float]]:
    """Return the composition per 100 g as sold of every compound of `pantry_compounds.csv`.

    Minerals and crystal water follow from the formula; energy, carbohydrate and the like from fractions of the dry
    compound that the table gives with their source; moisture (or the water of a solution) thins all of it. A share the
    table leaves empty is absent from the answer.
    """
    return {row["name"]: _composition(row) for row in rows("pantry_compounds")}


def _composition(row: Mapping[str, str]) -> dict[str, float]:
    """Return one compound's composition per 100 g as sold."""
    formula, moisture = row["formula"], (number(row["moisture_percent"]) or 0.0) / 100.0
    whole = 100.0 * (1.0 - moisture)  # g of the crystals in 100 g as sold
    water = crystal_water_fraction(formula) if "·" in formula else 0.0
    dry = whole * (1.0 - water)
    found: dict[str, float] = {"energy_kcal": dry * float(row["energy_kcal_g"]), "trans_fat_g": 0.0,
                               "cholesterol_mg": 0.0, "water_g": 100.0 - dry}  # fmt: skip
    for column, key in (
        ("fat_fraction", "fat_g"), ("saturated_fraction", "saturated_fat_g"),
        ("carbohydrate_fraction", "carbohydrate_g"), ("fiber_fraction", "fiber_g"),
        ("sugars_fraction", "sugars_g"), ("sugars_fraction", "added_sugars_g"),
        ("protein_fraction", "protein_g"), ("alcohol_fraction", "alcohol_g"),
    ):  # fmt: skip
        fraction = number(row[column])
        if fraction is not None:
            found[key] = dry * fraction
    if row["sugar"]:
        found[f"{row['sugar']}_g"] = found["sugars_g"]
    for element, key in METALS.items():
        found[key] = 1000.0 * whole * mineral_fraction(formula, element)
    elements = set(atoms(formula))
    if elements & CATIONS and not elements & {"C", "N"}:
        found["ash_g"] = dry
    return found
