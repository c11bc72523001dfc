"""Compounds from formulas, held to values printed elsewhere."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.base.tables import rows
from batchwright.pantry.compounds import atoms, compounds, crystal_water_fraction, mineral_fraction, molar_mass

# Printed in handbooks of chemistry (common tables of molar masses, g/mol): to the digits they print.
PRINTED_MOLAR_MASSES = {
    "NaCl": 58.44, "NaHCO3": 84.01, "C6H12O6": 180.16, "C6H12O6·H2O": 198.17, "C12H22O11": 342.30, "C6H8O7": 192.12,
    "KC4H5O6": 188.18, "CaCO3": 100.09, "CaCl2·2H2O": 147.01, "NH4HCO3": 79.06, "C3H8O3": 92.09, "Na2CO3": 105.99,
}  # fmt: skip


@pytest.mark.parametrize(("formula", "printed"), PRINTED_MOLAR_MASSES.items())
def test_molar_mass(formula: str, printed: float) -> None:
    assert molar_mass(formula) == pytest.approx(printed, abs=0.011)


# Label texts and food tables print these shares: salt = sodium x 2.54 (Regulation (EU) 1169/2011 prints 2.5, rounded);
# sodium 39.3 % of sodium chloride, 27.4 % of sodium bicarbonate, water 9.1 % of dextrose monohydrate, calcium 40.0 % of
# calcium carbonate, potassium 52.4 % of potassium chloride, water 8.6 % of citric acid monohydrate (handbooks).
@pytest.mark.parametrize(
    ("formula", "element", "percent"),
    [("NaCl", "Na", 39.3), ("NaHCO3", "Na", 27.4), ("CaCO3", "Ca", 40.0), ("KCl", "K", 52.4), ("Fe2O3", "Fe", 69.9)],
)
def test_mineral_share(formula: str, element: str, percent: float) -> None:
    assert 100 * mineral_fraction(formula, element) == pytest.approx(percent, abs=0.06)


@pytest.mark.parametrize(("formula", "percent"), [("C6H12O6·H2O", 9.1), ("C6H8O7·H2O", 8.6), ("CaSO4·2H2O", 20.9)])
def test_crystal_water(formula: str, percent: float) -> None:
    assert 100 * crystal_water_fraction(formula) == pytest.approx(percent, abs=0.06)


def test_as_sold() -> None:
    found = compounds()
    assert found["salt"]["sodium_mg"] == pytest.approx(39300, abs=100)
    assert found["sodium bicarbonate"]["sodium_mg"] == pytest.approx(27360, abs=60)
    assert found["dextrose"]["water_g"] == pytest.approx(9.1, abs=0.05)
    assert found["dextrose"]["glucose_g"] == found["dextrose"]["sugars_g"]
    assert found["sorbitol"]["sugars_g"] == 0.0
    # 7 kcal/g for alcohol, Annex XIV of Regulation (EU) 1169/2011; sold at 95 %
    assert found["ethanol"]["energy_kcal"] == pytest.approx(7 * found["ethanol"]["alcohol_g"])


def test_every_formula_reads_and_no_share_is_above_one() -> None:
    for row in rows("pantry_compounds"):
        assert atoms(row["formula"])
        parts = sum(float(row[f"{key}_fraction"] or 0) for key in ("carbohydrate", "fat", "protein", "alcohol"))
        assert parts <= 1.0001, row["name"]
        assert float(row["sugars_fraction"]) <= float(row["carbohydrate_fraction"]), row["name"]


@pytest.mark.parametrize("formula", ["", "nacl", "Na(OH)2", "Xx2", "NaCl·", "H" * 61, "NaCl; drop", "A" * 1_000_000])
def test_formulas_that_do_not_read(formula: str) -> None:
    with pytest.raises(InputError):
        atoms(formula)
