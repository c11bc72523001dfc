"""A bank of public formulas and how alike two ingredient lists are: what the prior of a decode leans on.

The formulas are public-domain survey recipes (`data/prior_formulas.csv`), the composition of their ingredients stands
in `data/prior_ingredients.csv`. Loaded only when something is decoded.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from batchwright.base.tables import rows
from batchwright.original.region.problem import Floats

# What similarity of two ingredients looks at, and the amount per 100 g that counts as one step of it (common practice).
STEPS = {
    "energy_kcal": 200.0, "fat_g": 20.0, "saturated_fat_g": 10.0, "carbohydrate_g": 25.0, "fiber_g": 5.0,
    "sugars_g": 20.0, "protein_g": 10.0, "cholesterol_mg": 100.0, "sodium_mg": 300.0, "calcium_mg": 150.0,
    "iron_mg": 3.0,
    "potassium_mg": 300.0,
}  # fmt: skip
WATER_STEP_G = 25.0
NO_WORDS = frozenset(
    [
        "with",
        "and",
        "or",
        "made",
        "from",
        "nfs",
        "as",
        "to",
        "type",
        "the",
        "of",
        "in",
        "no",
        "not",
        "a",
        "all",
        "other",
        "for",
        "on",
        "ns",
    ]
)


def title_stems(text: str) -> tuple[str, ...]:
    """Return the words of a food's name that may say what sort it is, singular by their last s."""
    found = {word.rstrip("s") for word in re.findall(r"[a-z]+", text.lower()) if word not in NO_WORDS and len(word) > 2}
    return tuple(sorted(found))


def composition_place(content: Floats, water_g: Floats) -> Floats:
    """Return where ingredients stand for comparing them, (n, 13), from (12, n) per 100 g in the order of STEPS."""
    steps = np.array(list(STEPS.values()))[:, None]
    return np.vstack([np.sqrt(np.maximum(content, 0.0) / steps), water_g / WATER_STEP_G]).T


@dataclass(frozen=True, slots=True)
class Listing:
    """One ingredient list: its leaves with kind, and what is said of the food. `place` is (n, 13)."""

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    place: Floats
    stems: tuple[str, ...] = ()
    sort: str = ""


@dataclass(frozen=True, slots=True)
class Formula(Listing):
    """A listing whose shares (n,) and water loss are known. `family` ties near relatives together."""

    shares: Floats = field(default_factory=lambda: np.zeros(0))
    water_loss: float = 0.0
    family: str = ""


@cache
def _ingredients() -> dict[str, tuple[str, Floats]]:
    found = {}
    for row in rows("prior_ingredients"):
        content = np.array([[float(row[key] or 0)] for key in STEPS])
        found[row["name"]] = (row["kind"], composition_place(content, np.array([float(row["water_g"] or 0)]))[0])
    return found


@cache
def formulas() -> tuple[Formula, ...]:
    """Return every formula of the bank."""
    shelf = _ingredients()
    found = []
    for row in rows("prior_formulas"):
        pairs = [pair.rsplit("=", 1) for pair in row["shares"].split("; ")]
        names = tuple(name for name, _ in pairs)
        found.append(
            Formula(
                names,
                tuple(shelf[name][0] for name in names),
                np.array([shelf[name][1] for name in names]),
                title_stems(row["title"]),
                row["sort"],
                np.array([float(share) for _, share in pairs]),
                float(row["water_loss"]),
                row["family"],
            )
        )
    return tuple(found)


class Bank:
    """Formulas laid out for comparing: idf-weighted unit vectors of ingredients, kinds and title words.

    Similarities are cosines in 0..1. `rows_of[kind]` are the places of that kind's ingredients in the flat arrays
    `formula_of`, `name_of`, `log_share` (natural log of the share) and `place`.
    """

    def __init__(self, known: Sequence[Formula]) -> None:
        self.known = tuple(known)
        self.names = {name: at for at, name in enumerate(sorted({name for f in known for name in f.names}))}
        self.kinds = {kind: at for at, kind in enumerate(sorted({kind for f in known for kind in f.kinds}))}
        self.stems = {stem: at for at, stem in enumerate(sorted({stem for f in known for stem in f.stems}))}
        self.formula_of = np.array([at for at, f in enumerate(known) for _ in f.names], dtype=int)
        self.name_of = np.array([self.names[name] for f in known for name in f.names], dtype=int)
        kind_of = np.array([self.kinds[kind] for f in known for kind in f.kinds], dtype=int)
        self.rows_of = {kind: np.flatnonzero(kind_of == at) for kind, at in self.kinds.items()}
        self.log_share = np.log(np.maximum(np.concatenate([f.shares for f in known]), 2e-4))
        self.place = np.concatenate([f.place for f in known])
        self.count = np.log([len(f.names) for f in known])
        self.sorts = np.array([f.sort for f in known])
        self.loss = np.array([f.water_loss for f in known])
        self.with_water = np.array(["water" in f.kinds for f in known])
        self._weights: dict[str, Floats] = {}
        self.name_vectors = self._unit("names", [f.names for f in known])
        self.kind_vectors = self._unit("kinds", [f.kinds for f in known])
        self.stem_vectors = self._unit("stems", [f.stems for f in known])

    def _unit(self, what: str, lists: Sequence[Collection[str]]) -> Floats:
        index: dict[str, int] = getattr(self, what)
        table = np.zeros((len(lists), len(index)))
        for at, words in enumerate(lists):
            for word in words:
                if word in index:
                    table[at, index[word]] = 1.0
        if what not in self._weights:
            self._weights[what] = np.log1p(len(lists) / np.maximum(table.sum(axis=0), 1.0))
        table *= self._weights[what]
        return np.asarray(table / np.maximum(np.linalg.norm(table, axis=1, keepdims=True), 1e-9))

    def alike(self, listing: Listing) -> dict[str, Floats]:
        """Return how alike a listing is to every formula of the bank, each (formulas,)."""
        return {
            "names": self.name_vectors @ self._unit("names", [listing.names])[0],
            "kinds": self.kind_vectors @ self._unit("kinds", [listing.kinds])[0],
            "stems": self.stem_vectors @ self._unit("stems", [listing.stems])[0],
            "sort": (self.sorts == listing.sort).astype(float) if listing.sort else np.zeros(len(self.known)),
            "count": (self.count - np.log(max(len(listing.names), 1))) ** 2,
            "water": (self.with_water == ("water" in listing.kinds)).astype(float),
        }

    def alike_within(self, at: np.ndarray[tuple[int], np.dtype[np.intp]]) -> dict[str, Floats]:
        """Return the same similarities among the formulas at the places `at`, each (len(at), len(at))."""
        sorts = self.sorts[at]
        return {
            "names": self.name_vectors[at] @ self.name_vectors[at].T,
            "kinds": self.kind_vectors[at] @ self.kind_vectors[at].T,
            "stems": self.stem_vectors[at] @ self.stem_vectors[at].T,
            "sort": (sorts[:, None] == sorts[None]).astype(float),
            "count": (self.count[at][:, None] - self.count[at][None]) ** 2,
        }
