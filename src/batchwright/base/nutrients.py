"""The names of what a food is made of, spelled once for tables, panels, pages and JSON."""

from __future__ import annotations

# What a panel prints, in printed order; units are in the names, per 100 g unless a panel says otherwise.
PANEL_KEYS = (
    "energy_kcal", "fat_g", "saturated_fat_g", "trans_fat_g", "carbohydrate_g", "fiber_g", "sugars_g",
    "added_sugars_g", "protein_g", "salt_g", "sodium_mg", "cholesterol_mg", "calcium_mg", "iron_mg", "potassium_mg",
)  # fmt: skip

# What decoding uses of an ingredient's composition, in this order in every array; carbohydrate includes fibre.
COMPOSITION_KEYS = (
    "energy_kcal", "fat_g", "saturated_fat_g", "trans_fat_g", "carbohydrate_g", "fiber_g", "sugars_g", "added_sugars_g",
    "protein_g", "sodium_mg", "cholesterol_mg", "calcium_mg", "iron_mg", "potassium_mg", "water_g",
)  # fmt: skip

# What the pantry's tables hold beyond that, where a source gives it.
DETAIL_KEYS = (
    "mono_fat_g", "poly_fat_g", "sucrose_g", "glucose_g", "fructose_g", "lactose_g", "maltose_g", "galactose_g",
    "starch_g", "ash_g", "alcohol_g", "caffeine_mg",
)  # fmt: skip

SODIUM_PER_SALT = 0.39337  # g sodium per g sodium chloride: 22.990 / (22.990 + 35.453), IUPAC atomic weights
