"""The long work behind the pages, each a function from JSON to JSON, so that another process can do it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from batchwright.actions.bench import band_from_json, band_to_json, formula_of, recipe_text
from batchwright.actions.compare import Wishes, band_of, compare_formulas
from batchwright.actions.fit import Asked, rules_of
from batchwright.actions.measures import measures_text
from batchwright.actions.original import decode_label
from batchwright.actions.original_words import is_set_trace, pin_words, sentence
from batchwright.actions.photo_reading import reading_of
from batchwright.actions.plain_records import to_plain
from batchwright.actions.writeup import make_card
from batchwright.base.errors import Fault, InputError
from batchwright.formula.fitting.filling import less_sweet
from batchwright.formula.fitting.toward import fit_toward
from batchwright.original.labels.file import label_from_mapping


def decoded(document: Mapping[str, Any], mix: str = "") -> dict[str, Any]:
    """Return the decoded answer of an original with its words; what the pages show and the book keeps.

    document: an original as the book keeps it. mix: "300g-flour" or "40-pieces". The result holds `answer` (as
    `Answer.to_json`), `band` (what recipes are held against), `sentence`, and for each ingredient in order `pins` (what
    holds its ends, in words) and `trace` (set by a standard). Raises InputError with every fault of the document.
    """
    answer = decode_label(label_from_mapping(document), mix)
    return {
        "answer": answer.to_json(),
        "band": band_to_json(band_of(answer)),
        "sentence": sentence(answer),
        "pins": [pin_words(share, False) for share in answer.ingredients],
        "trace": [is_set_trace(share) for share in answer.ingredients],
    }


def compared(band: Mapping[str, Any], documents: Sequence[Mapping[str, Any]], locks: Sequence[str] = (),
             moves: int = 3) -> Any:  # fmt: skip
    """Return formulas beside an original, the nearest first, with the first moves of the nearest (a `Comparison`).

    band: as `bench.band_to_json` wrote it. locks: lines that stay in the moves. moves: how many [0 to 6].
    """
    formulas = [formula_of(document) for document in documents]
    return to_plain(compare_formulas(band_from_json(band), formulas, Wishes(moves, tuple(locks))))


def fit_of(document: Mapping[str, Any], band: Mapping[str, Any] | None, less_sweet_percent: float = 0.0,
           on_hand: str = "", own_only: bool = False) -> Any:  # fmt: skip
    """Return a formula fitted toward the original, or less sweet with the same body (a `Fitted`); its locks are kept.

    band: the original, needed unless less_sweet_percent [0 to 90] asks for the other. on_hand: what may enter, parted
    by commas. own_only: nothing the label names may enter. Raises InputError where there is nothing to go toward.
    """
    rules = rules_of(Asked(locks=tuple(document.get("locks", ())), on_hand=on_hand))
    if less_sweet_percent:
        return to_plain(less_sweet(formula_of(document), less_sweet_percent, rules, True, ()))
    if band is None:
        raise InputError([Fault("original", "", "a label with its ingredients", "Enter the original's label first.")])
    return to_plain(fit_toward(formula_of(document), band_from_json(band), rules, not own_only))


def measures_of(document: Mapping[str, Any], convention: str = "") -> Any:
    """Return a formula in kitchen measures (`Writing`). convention: whose cup, empty for the recipe's own."""
    return to_plain(measures_text(recipe_text(document), convention))


def card_of(document: Mapping[str, Any], convention: str = "") -> Any:
    """Return a formula's recipe card (`Card`). convention: whose cup, empty for the recipe's own."""
    return to_plain(make_card(recipe_text(document), convention=convention))


def photo_of(data: bytes) -> dict[str, Any]:
    """Return what a picture says (`PhotoReading.to_json`). data: its bytes as the book keeps it."""
    return reading_of(data).to_json()


def warmed() -> None:
    """Work a small label and a small recipe out, so that every table and library is at hand when one is asked for."""
    found = decoded({"label": {"text": "Ingredients: flour, sugar, butter, salt."}})
    recipe = {"parts": [{"name": "", "lines": [{"text": "100 g flour"}]}]}
    compared(found["band"], [formula_of(recipe).to_json()])


WORKS: Mapping[str, Callable[..., Any]] = {
    "answer": decoded, "compare": compared, "fit": fit_of, "measures": measures_of, "card": card_of, "photo": photo_of,
    "warm": warmed,
}  # fmt: skip
