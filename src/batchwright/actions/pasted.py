"""What was pasted, told apart: a recipe or a packet; a packet's panel set into figures that can be checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from batchwright.actions.read import read_label
from batchwright.base.errors import InputError
from batchwright.base.nutrients import PANEL_KEYS
from batchwright.formula.recipes.file import formula_from_text
from batchwright.original.panels.panel import read_panel
from batchwright.original.panels.records import Panel
from batchwright.original.panels.text import read_panels_text, split_label_text
from batchwright.pantry.ingredient import load_ingredients

MOST_PANELS = 4  # as many as the page of an original has fields for
FEWEST_LINES = 2  # one amount in a text may stand on a label too ("flour 50 g"); a recipe has several


def looks_like_recipe(text: str) -> bool:
    """Whether a pasted text is a recipe rather than a packet: no panel, and most of its lines have an amount.

    text: anything a cook pastes [up to 10 MB]. A text that is neither is taken for a packet, which may be anything.
    """
    try:
        formula = formula_from_text(text)
        if read_label(text[:100_000]).panels:
            return False
    except InputError:
        return False
    lines = [line for part in formula.parts for line in part.lines]
    weighed = sum(line.grams is not None for line in lines)
    return weighed >= FEWEST_LINES and 2 * weighed >= len(lines)


def packet_document(text: str) -> dict[str, Any]:
    """Return a pasted packet as the book keeps an original: its list, and its panels as figures to be checked.

    text: a list, or a whole packet with its panel, as pasted. The panel goes into figures only where these say exactly
    what the text says; else the text stays as it is and is read as it is. `label.pasted` then keeps every word.
    """
    if not text.strip():
        return {}
    whole: dict[str, Any] = {"label": {"text": text}}
    try:
        listed, beside = split_label_text(text)
        panels = read_panels_text(beside) if beside.strip() else ()
        figures = [panel_figures(panel) for panel in panels[:MOST_PANELS]]
        same = all(_says_the_same(panel, typed) for panel, typed in zip(panels, figures, strict=True))
    except (InputError, ValueError):
        return whole
    if not panels or not same:
        return whole
    return {"label": {"text": listed, "pasted": text}, "panels": figures}


def panel_figures(panel: Panel) -> dict[str, str]:
    """Return a panel as one types it: the key of each figure and what is printed there."""
    typed = {"basis": panel.basis}
    if panel.scheme:
        typed["scheme"] = panel.scheme
    if panel.serving_g:
        typed["serving_g"] = f"{panel.serving_g:g}"
    for key in PANEL_KEYS:
        figure = panel.figure(key)
        if figure is not None:
            typed[key] = figure.printed
    joule = panel.figure("energy_kj")
    if joule is not None:
        kcal = typed.get("energy_kcal")
        typed["energy_kcal"] = f"{joule.printed} kJ" + (f" / {kcal} kcal" if kcal else "")
    return typed


def _says_the_same(panel: Panel, typed: Mapping[str, str]) -> bool:
    """Whether figures typed from a panel are read as the panel itself was."""
    again = read_panel(typed)
    first, second = panel.per_100g(), again.per_100g()
    return first.keys() == second.keys() and all(_same_row(first[key], second[key]) for key in first)


def _same_row(one: Sequence[float | str], other: Sequence[float | str]) -> bool:
    """Whether two panel rows say the same: figures within a millionth, words exactly."""
    return all(
        abs(was - now) <= 1e-6 * max(1.0, abs(was)) if isinstance(was, float) and isinstance(now, float) else was == now
        for was, now in zip(one[:2], other[:2], strict=True)
    )


def shelf_names() -> tuple[str, ...]:
    """Return the name of every ingredient of the shelf, in order."""
    return tuple(sorted(load_ingredients()))
