"""What happens to an ingredient before it is mixed: browned, reduced, soaked, toasted, drained. Mass is conserved."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.tables import rows
from batchwright.formula.contents import PLACE, SUGAR_KEYS, Contents, Floats, contents_of_line
from batchwright.formula.records import PROCESSES, Line

Ends = tuple[float, float, float]  # low, likely, high

WATER, ALCOHOL, ENERGY, SUGARS = PLACE["water_g"], PLACE["alcohol_g"], PLACE["energy_kcal"], PLACE["sugars_g"]
_SOLUBLE = np.array([PLACE[key] for key in ("sugars_g", "added_sugars_g", *SUGAR_KEYS)])
_SALTS = np.array([PLACE[key] for key in ("sodium_mg", "salt_g", "potassium_mg")])
MOST_DRAINED = 0.9  # of the water: what clings to the food does not drain (common practice)
KCAL_PER_G_SUGAR, KCAL_PER_G_ALCOHOL = 4.0, 7.0  # general factors of 21 CFR 101.9(c)(1)(i)(B) and EU 1169/2011 XIV


@dataclass(frozen=True, slots=True)
class Changed:
    """One gram of an ingredient as written, after its process: what of it reaches the mix.

    `contents` per gram as written [order of CONTENT_KEYS]; `kept` the share of each content that stays; `mixed_g`
    grams that are mixed; `gained_g` and `lost_g` itemise the difference: 1 + gained = mixed + lost.
    """

    contents: Floats
    kept: Floats
    mixed_g: float
    gained_g: Mapping[str, float]
    lost_g: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Processed:
    """One line before and after its process [g], with what was gained and lost by name."""

    process: str
    written_g: Estimate
    mixed_g: Estimate
    gained_g: Mapping[str, float]
    lost_g: Mapping[str, float]

    def to_json(self) -> dict[str, Any]:
        """Return all fields; estimates with their five numbers."""
        return {"process": self.process, "written_g": self.written_g.to_json(), "mixed_g": self.mixed_g.to_json(),
                "gained_g": dict(self.gained_g), "lost_g": dict(self.lost_g)}  # fmt: skip


@cache
def _figures() -> Mapping[tuple[str, str], Mapping[str, Ends]]:
    table: dict[tuple[str, str], dict[str, Ends]] = {}
    for row in rows("formula_processes"):
        ends = float(row["low"]), float(row["likely"]), float(row["high"])
        table.setdefault((row["process"], row["what"]), {})[row["figure"]] = ends
    return table


def figures_of(line: Line, contents: Contents) -> Mapping[str, Ends]:
    """Return the figures a line's process needs, low, likely and high; empty without a process.

    A reduction takes its mark from the preparation: "reduced to 60 g", "to 70 Brix", "by half". Raises InputError for a
    process that is none of PROCESSES, and for a mark that cannot be reached by boiling off water.
    """
    if line.process not in PROCESSES:
        raise InputError([Fault("process", line.process, ", ".join(each for each in PROCESSES if each))])
    if not line.process:
        return {}
    if line.process == "reduced":
        kept = _kept_by_mark(line, contents)
        if kept is not None:
            return {"mass_kept_fraction": (kept, kept, kept)}
    table = _figures()
    found = table.get((line.process, contents.ingredient_class), {})
    return {**table.get((line.process, "*"), {}), **found}


_TO_GRAMS = re.compile(r"(?:reduc\w*|cook\w*|boil\w*)[^.;]*?\bto\s+(?:about\s+)?(\d+(?:\.\d+)?)\s*(?:g|grams?)\b", re.I)
_TO_BRIX = re.compile(r"\bto\s+(?:about\s+)?(\d+(?:\.\d+)?)\s*(?:%|°|degrees?\s*)?\s*brix\b", re.I)
_SHARES = {"half": 0.5, "a half": 0.5, "one half": 0.5, "1/2": 0.5, "a third": 1 / 3, "one third": 1 / 3, "1/3": 1 / 3,
           "two thirds": 2 / 3, "2/3": 2 / 3, "a quarter": 0.25, "one quarter": 0.25, "1/4": 0.25,
           "three quarters": 0.75, "3/4": 0.75}  # fmt: skip
_BY_SHARE = re.compile(r"\b(by|to)\s+(?:about\s+)?(" + "|".join(sorted(_SHARES, key=len, reverse=True)) + r")\b", re.I)


def _kept_by_mark(line: Line, contents: Contents) -> float | None:
    """Return the mass kept per gram where the line says how far to reduce; None where it does not."""
    said = f"{line.preparation} {line.text}"
    least = 1.0 - float(contents.likely[WATER] + contents.likely[ALCOHOL])
    grams, brix, share = _TO_GRAMS.search(said), _TO_BRIX.search(said), _BY_SHARE.search(said)
    if grams and line.grams is not None and line.grams.likely > 0:
        kept = float(grams.group(1)) / line.grams.likely
        shown, written = f"{grams.group(1)} g", line.grams.likely
        allowed = f"{least * written:.0f} to {written:.0f} g: its solids and no more than went in"
    elif brix:
        percent = float(brix.group(1))
        kept = least / (percent / 100.0) if percent > 0 else 2.0
        shown, allowed = f"{percent:g} Brix", f"{100 * least:.0f} to 100 Brix: it begins at about {100 * least:.0f}"
    elif share:
        part = _SHARES[share.group(2).lower()]
        kept = 1.0 - part if share.group(1).lower() == "by" else part
        return max(kept, min(1.0, least + 0.02))  # a cook's eye cannot go below what does not boil off
    else:
        return None
    if not least - 0.005 <= kept <= 1.0 + 1e-9:
        hint = f"reducing takes water away and nothing else: {line.item or line.text}"
        raise InputError([Fault("reduced", shown, allowed, hint)])
    return max(kept, least)


def mark_times(line: Line, factor: float) -> str:
    """Return the preparation of a reduced line whose mass is taken times a factor.

    factor: [above 0]. The mass it is reduced to moves along; a mark that stands in the text alone is brought over.
    """
    found = _TO_GRAMS.search(line.preparation) or _TO_GRAMS.search(line.text)
    if found is None:
        return line.preparation
    mark = f"reduced to {float(found.group(1)) * factor:g} g"
    if found.string is not line.preparation:
        return f"{line.preparation}, {mark}" if line.preparation else mark
    return line.preparation[: found.start()] + mark + line.preparation[found.end() :]


def changed(process: str, contents: Floats, figures: Mapping[str, float]) -> Changed:
    """Return what one gram becomes.

    process: one of PROCESSES; contents: per gram before [order of CONTENT_KEYS]; figures: name to fraction 0..1
    (water gained may exceed 1), as `figures_of` names them.
    """
    kept = np.ones(len(contents))
    if not process:
        return Changed(contents, kept, 1.0, {}, {})
    lost: dict[str, float] = {}
    gained: dict[str, float] = {}
    water = float(contents[WATER])
    if process in ("browned", "toasted"):
        gone = water * figures["water_lost_fraction"]
        pan = figures.get("pan_fraction", 0.0)
        kept *= 1.0 - pan
        kept[WATER] *= 1.0 - figures["water_lost_fraction"]
        lost = {"water": gone, "left in the pan": (1.0 - gone) * pan}
    elif process == "reduced":
        volatile = water + float(contents[ALCOHOL])
        gone = min(1.0 - figures["mass_kept_fraction"], volatile)
        alcohol = min(float(contents[ALCOHOL]), gone)  # alcohol boils off first
        lost = {"water": gone - alcohol}
        kept[WATER] = 1.0 - (gone - alcohol) / water if water > 0 else 1.0
        if alcohol > 0:
            lost["alcohol"] = alcohol
            kept[ALCOHOL] = 1.0 - alcohol / float(contents[ALCOHOL])
    elif process == "drained":
        liquid = water + float(contents[SUGARS])
        share = min(figures["liquid_fraction"] / liquid, MOST_DRAINED) if liquid > 0 else 0.0
        kept[WATER] = 1.0 - share
        kept[_SOLUBLE] = 1.0 - share
        kept[_SALTS] = 1.0 - share
        kept[PLACE["carbohydrate_g"]] = _kept_share(contents, "carbohydrate_g", share * float(contents[SUGARS]))
        lost = {"water": share * water, "sugars": share * float(contents[SUGARS])}
    elif process == "soaked":
        gained = {"water": figures["water_gained_fraction"]}
    after = contents * kept
    after[WATER] += gained.get("water", 0.0)
    spent = KCAL_PER_G_SUGAR * lost.get("sugars", 0.0) + KCAL_PER_G_ALCOHOL * lost.get("alcohol", 0.0)
    after[ENERGY] = max(0.0, after[ENERGY] - spent)
    mixed = 1.0 + sum(gained.values()) - sum(lost.values())
    return Changed(after, kept, mixed, gained, {name: grams for name, grams in lost.items() if grams > 0})


def _kept_share(contents: Floats, key: str, lost_g: float) -> float:
    whole = float(contents[PLACE[key]])
    return max(0.0, 1.0 - lost_g / whole) if whole > 0 else 1.0


def processed(line: Line) -> Processed:
    """Return what a line's process does to its mass; use it to show the cook what to weigh after the pan.

    The range carries the doubt of the amount, of the water in the ingredient, and of the process, in quadrature.
    Raises InputError for a line without grams, an unknown process, or a mark that cannot be reached.
    """
    if line.grams is None:
        raise InputError([Fault("grams", line.text, "a line with an amount", "write how much of it goes in")])
    contents = contents_of_line(line)
    ends = figures_of(line, contents)
    likely = {name: each[1] for name, each in ends.items()}
    middle = changed(line.process, contents.likely, likely)
    up = down = 0.0
    tries = [(contents.likely, {**likely, name: end}) for name, each in ends.items() for end in (each[0], each[2])]
    for sign, doubt in ((1.0, contents.up), (-1.0, contents.down)):
        other = contents.likely.copy()
        other[WATER] = max(0.0, other[WATER] + sign * doubt[WATER])
        tries.append((other, likely))
    for vector, chosen in tries if line.process else []:
        step = changed(line.process, vector, chosen).mixed_g - middle.mixed_g
        up, down = up + max(step, 0.0) ** 2, down + min(step, 0.0) ** 2
    grams = line.grams
    mass, above, below = grams.likely, grams.high - grams.likely, grams.likely - grams.low
    mixed = Estimate(
        mass * middle.mixed_g,
        max(0.0, mass * middle.mixed_g - np.hypot(below * middle.mixed_g, mass * down**0.5)),
        mass * middle.mixed_g + float(np.hypot(above * middle.mixed_g, mass * up**0.5)),
        unit="g", method="amount, water and process doubts in quadrature",
    )  # fmt: skip
    return Processed(line.process, grams, mixed, {name: mass * each for name, each in middle.gained_g.items()},
                     {name: mass * each for name, each in middle.lost_g.items()})  # fmt: skip
