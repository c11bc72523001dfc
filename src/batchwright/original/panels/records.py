"""A nutrition panel as read: each printed figure with the interval of true amounts it stands for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from batchwright.base.errors import Fault
from batchwright.base.nutrients import COMPOSITION_KEYS

PER_100_G = "per 100 g"
PER_100_ML = "per 100 ml"
PER_SERVING = "per serving"
BASES = (PER_100_G, PER_100_ML, PER_SERVING)

# Units as a cook reads them, by the end of the key.
UNITS = {"_kcal": "kcal", "_kj": "kJ", "_mg": "mg", "_ug": "µg", "_g": "g"}

# Energy of a gram in kcal and kJ: Regulation (EU) 1169/2011 Annex XIV. Protein and carbohydrate share one ratio.
KJ_PER_KCAL = 17 / 4
FAT_KJ_GAP = 37 - 9 * KJ_PER_KCAL
FIBER_KJ_GAP = 8 - 2 * KJ_PER_KCAL
SALT_PER_SODIUM = 2.5  # what labels must use: Regulation (EU) 1169/2011 Annex I
EXACT_SALT = "x 2.54"  # in the name of a reading: a database worked the salt out from sodium by atomic weights
KJ_SLACK = 1.0  # kJ/100 g: organic acids, polyols and alcohol in ordinary amounts, and rounding of the macronutrients


@dataclass(frozen=True, slots=True)
class PanelFigure:
    """One line of a panel.

    `nutrient` is a panel key (or energy_kj, mono_fat_g, poly_fat_g, sugar_alcohol_g, starch_g, vitamin_d_ug);
    `printed` the figure as it stands there; `low`..`high` the true amounts it may stand for, in the key's unit, on the
    panel's own basis. `readings` are the rival readings (name, low, high), `percent_dv` the printed % daily value.
    `lawful` is False where the figure is on no rounding step of the scheme; `used` is False where it cannot be true.
    """

    nutrient: str
    printed: str
    low: float
    high: float
    lawful: bool = True
    readings: tuple[tuple[str, float, float], ...] = ()
    note: str = ""
    percent_dv: float | None = None
    used: bool = True

    @property
    def line(self) -> str:
        """The label line as a cook names it ("fat 7 g")."""
        name, unit = self.nutrient, ""
        for end, word in UNITS.items():
            if name.endswith(end):
                name, unit = name[: -len(end)].replace("_", " "), word
                break
        if not self.printed[-1:].isdigit():
            unit = ""
        return f"{name} {self.printed} {unit}".strip()

    def to_json(self) -> dict[str, Any]:
        """Return the figure with its interval."""
        return {
            "nutrient": self.nutrient,
            "printed": self.printed,
            "low": self.low,
            "high": self.high,
            "lawful": self.lawful,
            "readings": [list(reading) for reading in self.readings],
            "note": self.note,
            "percent_dv": self.percent_dv,
            "used": self.used,
        }

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> PanelFigure:
        """Read back what `to_json` wrote."""
        rest = {key: document[key] for key in document if key != "readings"}
        return cls(**rest, readings=tuple((str(n), float(lo), float(hi)) for n, lo, hi in document.get("readings", ())))


@dataclass(frozen=True, slots=True)
class Panel:
    """A whole panel. `basis` is one of BASES; `scheme` "US", "EU" or None where neither fits.

    `serving_g` is the serving as printed [g], `serving_low_g`..`serving_high_g` what it may weigh (None: not given).
    `density_low_g_ml`..`density_high_g_ml` turn figures per 100 ml into grams. `fiber_allowance_g` is the fiber per
    100 g that a European panel may leave unprinted. `column` names the column it came from, `edition` the daily values
    its percentages agree with ("2016", "before 2016", "").
    """

    figures: tuple[PanelFigure, ...] = ()
    basis: str = PER_100_G
    scheme: str | None = None
    serving_g: float | None = None
    serving_low_g: float | None = None
    serving_high_g: float | None = None
    density_low_g_ml: float = 1.0
    density_high_g_ml: float = 1.0
    fiber_allowance_g: float = 25.0
    edition: str = ""
    column: str = ""
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()

    def figure(self, nutrient: str) -> PanelFigure | None:
        """Return the line of a nutrient, None where the panel does not print it."""
        return next((figure for figure in self.figures if figure.nutrient == nutrient), None)

    def figure_or_empty(self, nutrient: str) -> PanelFigure:
        """Return the line of a nutrient, an empty one where the panel does not print it."""
        return self.figure(nutrient) or PanelFigure(nutrient, "", 0.0, 0.0)

    def factor_per_100g(self) -> tuple[float, float] | None:
        """Return the least and the greatest factor from the panel's basis to 100 g; None where no weight is known."""
        if self.basis == PER_SERVING:
            if not self.serving_low_g or not self.serving_high_g:
                return None
            return 100.0 / self.serving_high_g, 100.0 / self.serving_low_g
        if self.basis == PER_100_ML:
            return 1.0 / self.density_high_g_ml, 1.0 / self.density_low_g_ml
        return 1.0, 1.0

    def per_100g(self) -> dict[str, tuple[float, float, str]]:
        """Return, for keys of COMPOSITION_KEYS, the true amount per 100 g of food as (low, high, label line).

        Serving figures are divided by what the serving may weigh; salt becomes sodium; a European carbohydrate figure
        becomes total carbohydrate by adding fiber; kJ and kcal narrow one another. Figures that cannot be true are
        left out (their faults say why). Empty where figures are per serving and no serving weight is known.
        """
        factor = self.factor_per_100g()
        if factor is None:
            return {}
        found: dict[str, tuple[float, float, str]] = {}
        for figure in self.figures:
            if figure.used:
                found[figure.nutrient] = (figure.low * factor[0], figure.high * factor[1], figure.line)
        if "salt_g" in found:
            low, high, line = found.pop("salt_g")
            exact = any(EXACT_SALT in name for name, _, _ in self.figure_or_empty("salt_g").readings)
            sodium = (1000 * low / (2.54 if exact else SALT_PER_SODIUM), 1000 * high / SALT_PER_SODIUM, line)
            found["sodium_mg"] = _both(found["sodium_mg"], sodium) if "sodium_mg" in found else sodium
        _join_energy(found)
        if self.scheme == "EU" and "carbohydrate_g" in found:
            low, high, line = found["carbohydrate_g"]
            if "fiber_g" in found:
                fiber_low, fiber_high, fiber_line = found["fiber_g"]
                line = f"{line} + {fiber_line}"
            else:
                others = sum(found[key][0] for key in ("fat_g", "protein_g") if key in found)
                fiber_low, fiber_high = 0.0, max(0.0, min(self.fiber_allowance_g, 100.0 - others - low))
            found["carbohydrate_g"] = (min(100.0, low + fiber_low), min(100.0, high + fiber_high), line)
        return {key: found[key] for key in COMPOSITION_KEYS if key in found}

    def with_faults(self, *faults: Fault) -> Panel:
        """Return the panel with more faults reported."""
        return replace(self, faults=self.faults + faults)

    def to_json(self) -> dict[str, Any]:
        """Return the panel: what was printed, how it was read, what is doubtful."""
        plain = {name: getattr(self, name) for name in self.__dataclass_fields__}
        plain["figures"] = [figure.to_json() for figure in self.figures]
        plain["faults"] = [fault.to_json() for fault in self.faults]
        plain["notes"] = list(self.notes)
        return plain

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> Panel:
        """Read back what `to_json` wrote."""
        rest = {key: document[key] for key in document if key not in ("figures", "faults", "notes")}
        return cls(
            **rest,
            figures=tuple(PanelFigure.from_json(figure) for figure in document.get("figures", ())),
            faults=tuple(Fault(**fault) for fault in document.get("faults", ())),
            notes=tuple(document.get("notes", ())),
        )


def _both(one: tuple[float, float, str], other: tuple[float, float, str]) -> tuple[float, float, str]:
    """Return what two lines on the same amount leave together; the first alone where they clash."""
    low, high = max(one[0], other[0]), min(one[1], other[1])
    if low > high:
        return one
    line = one[2] if (low, high) == one[:2] else other[2] if (low, high) == other[:2] else f"{one[2]} + {other[2]}"
    return low, high, line


def _join_energy(found: dict[str, tuple[float, float, str]]) -> None:
    """Turn a kJ line into kcal by the share of fat and fiber (their factors differ), and join it with the kcal line."""
    if "energy_kj" not in found:
        return
    low, high, line = found.pop("energy_kj")
    fat_low, fat_high, _ = found.get("fat_g", (0.0, 100.0, ""))
    fiber_low, fiber_high, _ = found.get("fiber_g", (0.0, 40.0, ""))
    kcal = (
        max(0.0, (low - FAT_KJ_GAP * fat_low - FIBER_KJ_GAP * fiber_low - KJ_SLACK) / KJ_PER_KCAL),
        (high - FAT_KJ_GAP * fat_high - FIBER_KJ_GAP * fiber_high + KJ_SLACK) / KJ_PER_KCAL,
        line,
    )
    found["energy_kcal"] = _both(found["energy_kcal"], kcal) if "energy_kcal" in found else kcal
