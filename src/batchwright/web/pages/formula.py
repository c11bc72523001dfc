"""The formulas of a rebuild: pasted recipes in grams, beside the original, changed, fitted, written out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from batchwright.actions.bench import (
    bench_rows,
    changes_between,
    document_of,
    named,
    pasted_document,
    with_amounts,
)
from batchwright.actions.book import (
    Kept,
    kept_thing,
    new_thing,
    remove_thing,
    save_thing,
    the_rebuild,
    thing_of,
    things_of,
)
from batchwright.actions.writeup import written_card
from batchwright.base.errors import Fault, InputError
from batchwright.base.shown import nice_axis_max
from batchwright.formula.compare_records import Comparison
from batchwright.web.numbers import number_typed
from batchwright.web.typed import Typed, typed
from batchwright.web.units import units_from_cookies
from batchwright.web.view import axis_name, page, page_of

router = APIRouter(prefix="/rebuilds/{rebuild_id}/formula")
SEE_OTHER = 303
MOST_COMPARED = 8


@router.get("")
def show_all(request: Request, rebuild_id: int) -> Response:
    """Show every formula of a rebuild beside the original, the nearest first."""
    return page(request, "formula/formulas.html", _all(request, rebuild_id, ""))


@router.post("")
def paste(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Take a pasted recipe into the rebuild and show it in grams."""
    text = sent.fields.get("pasted", "")
    try:
        document = pasted_document(text, units_from_cookies(request.cookies).cup)
    except InputError as error:
        faults = [replace(fault, field="pasted") for fault in error.faults]
        return page(request, "formula/formulas.html", _all(request, rebuild_id, text), faults)
    book = request.app.state.book
    saved = new_thing(book, rebuild_id, "formula", named(document), document, request.state.door.name)
    return RedirectResponse(f"/rebuilds/{rebuild_id}/formula/{saved.revision.thing_id}", SEE_OTHER)


@router.get("/{thing_id}")
def show(request: Request, rebuild_id: int, thing_id: int) -> Response:
    """Show one formula in grams, and what can be done with it."""
    return page(request, "formula/formula.html", _one(request, rebuild_id, thing_id))


@router.post("/{thing_id}")
def change(request: Request, rebuild_id: int, thing_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep amounts set by hand, and the lines that stay, as the next version."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    parent, document = _parent(kept, sent)
    faults: list[Fault] = []
    amounts: dict[int, float] = {}
    for name, value in sent.fields.items():
        place = name.removeprefix("grams:")
        if name != place and place.isdigit() and value.strip():
            grams = number_typed(value)
            if grams is None or not 0 <= grams <= 1_000_000:
                faults.append(Fault(name, value, "grams, 0 or more, such as 120 or 2,5"))
            else:
                amounts[int(place)] = grams
    locked = [int(name[5:]) for name in sent.fields if name.startswith("lock:") and name[5:].isdigit()]
    if faults:
        context = _one(request, rebuild_id, thing_id) | {"typed": sent.fields}
        return page(request, "formula/formula.html", context, faults)
    document = with_amounts(document, amounts, locked)
    save_thing(request.app.state.book, thing_id, parent, document, request.state.door.name, sent.fields.get("key", ""))
    return RedirectResponse(f"/rebuilds/{rebuild_id}/formula/{thing_id}", SEE_OTHER)


@router.post("/{thing_id}/remove")
def remove(request: Request, rebuild_id: int, thing_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Take a formula off the pages; its history stays in the book."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    remove_thing(request.app.state.book, thing_id)
    return RedirectResponse(f"/rebuilds/{rebuild_id}/formula", SEE_OTHER)


@router.post("/{thing_id}/fit")
def fit(request: Request, rebuild_id: int, thing_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Fit a formula toward the original or less sweet; show what would change, kept only when asked for."""
    book = request.app.state.book
    kept = thing_of(book, rebuild_id, thing_id)
    parent, document = _parent(kept, sent)
    wanted = sent.fields.get("less_sweet", "").strip()
    try:
        less = 0.0 if not wanted else number_typed(wanted)
        if less is None or not 0 <= less <= 90:
            raise InputError([Fault("less_sweet", wanted, "a percentage from 1 to 90")])
        found = request.app.state.answers.fitted(document, _band(request, rebuild_id)[0], less,
                                                 sent.fields.get("on_hand", ""), page=page_of(request))  # fmt: skip
    except InputError as error:
        context = _one(request, rebuild_id, thing_id) | {"typed": sent.fields}
        return page(request, "formula/formula.html", context, error.faults)
    if sent.fields.get("keep"):
        after = document_of(found.formula, str(document.get("pasted", "")), document.get("locks", ()))
        save_thing(book, thing_id, parent, after, request.state.door.name, sent.fields.get("key", ""))
        return RedirectResponse(f"/rebuilds/{rebuild_id}/formula/{thing_id}", SEE_OTHER)
    context = _one(request, rebuild_id, thing_id) | {"fitted": found, "typed": sent.fields}
    return page(request, "formula/formula.html", context)


@router.get("/{thing_id}/measures")
def measures(request: Request, rebuild_id: int, thing_id: int) -> Response:
    """Show a formula in cups, spoons and eggs, and what that does to its ratios."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    units = units_from_cookies(request.cookies)
    writing = request.app.state.answers.writing(kept.heads[0].document, units.cup, page_of(request))
    context = _base(request, rebuild_id, kept, "In cups") | {"writing": writing}
    return page(request, "formula/measures.html", context)


@router.get("/{thing_id}/card")
def card(request: Request, rebuild_id: int, thing_id: int) -> Response:
    """Show the recipe card as it prints."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    units = units_from_cookies(request.cookies)
    made = request.app.state.answers.card(kept.heads[0].document, units.cup, page_of(request))
    return page(request, "formula/card.html", _base(request, rebuild_id, kept, "Card") | {"card": made})


@router.get("/{thing_id}/card/{form}")
def card_file(request: Request, rebuild_id: int, thing_id: int, form: str) -> Response:
    """Give the card as text, Markdown, a page, or schema.org data to take away."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    text = written_card(request.app.state.answers.card(kept.heads[0].document, page=page_of(request)), form)
    if form == "html":
        return HTMLResponse(text, headers={"content-disposition": 'attachment; filename="card.html"'})
    return Response(text, media_type="text/plain; charset=utf-8")


@router.get("/{thing_id}/versions")
def versions(request: Request, rebuild_id: int, thing_id: int) -> Response:
    """Show every version of a formula and what changed from each to the next, in words and grams."""
    book = request.app.state.book
    kept = thing_of(book, rebuild_id, thing_id)
    history = book.history(thing_id)
    by_id = {revision.id: revision for revision in history}
    rows = []
    for revision in history:
        parent = by_id.get(revision.parent_id)
        words = changes_between(parent.document, revision.document) if parent is not None else ["as pasted"]
        rows.append({"revision": revision, "words": words or ["nothing in grams"]})
    context = _base(request, rebuild_id, kept, "Versions") | {"rows": rows, "newest": {r.id for r in kept.heads}}
    return page(request, "formula/versions.html", context)


def _base(request: Request, rebuild_id: int, kept: Kept, title: str) -> dict[str, Any]:
    rebuild = the_rebuild(request.app.state.book, rebuild_id)
    return {"title": f"{title}, {kept.thing.name}", "bench": "formula", "rebuild": rebuild, "kept": kept,
            "here": f"/rebuilds/{rebuild_id}/formula/{kept.thing.id}"}  # fmt: skip


def _parent(kept: Kept, sent: Typed) -> tuple[int | None, Mapping[str, Any]]:
    """Return the revision a form was typed over and its document; the newest where the form does not say."""
    asked = sent.fields.get("parent", "")
    chosen = next((head for head in kept.heads if str(head.id) == asked), kept.heads[0])
    return (int(asked) if asked.isdigit() else chosen.id), chosen.document


def _band(request: Request, rebuild_id: int) -> tuple[Any, bool]:
    """Return the original's band as kept with its answer, None where there is none; and whether it is to come."""
    document = kept_thing(request.app.state.book, rebuild_id, "original").heads[0].document
    if not document.get("label", {}).get("text", "").strip():
        return None, False
    try:
        found = request.app.state.answers.within(document, page=page_of(request))
    except InputError:
        return None, False
    return (found["band"], False) if found else (None, True)


def _one(request: Request, rebuild_id: int, thing_id: int) -> dict[str, Any]:
    """Return what the page of one formula shows."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    document = kept.heads[0].document
    weighing, rows = bench_rows(document)
    band, working = _band(request, rebuild_id)
    desk = request.app.state.answers
    compared = desk.compared(band, [document], document.get("locks", ()), page_of(request)) if band else None
    axes = compared.recipes[0].axes if compared else ()
    beside_max = nice_axis_max(max((max(axis.original.high, axis.recipe.high) for axis in axes), default=100.0))
    largest = max((row.bakers_percent.high for row in rows if row.bakers_percent), default=100.0)
    return _base(request, rebuild_id, kept, "Formula") | {
        "weighing": weighing, "rows": rows, "compared": compared.recipes[0] if compared else None,
        "moves": compared.moves if compared else None, "axis_max": nice_axis_max(largest), "fitted": None,
        "document": document, "beside_max": beside_max, "typed": {}, "band": band,
        "working": working or (band is not None and compared is None),
    }  # fmt: skip


def _all(request: Request, rebuild_id: int, pasted: str) -> dict[str, Any]:
    """Return what the page of all formulas shows."""
    book = request.app.state.book
    rebuild = the_rebuild(book, rebuild_id)
    kept = things_of(book, rebuild_id, "formula")
    band, working = _band(request, rebuild_id)
    compared = None
    if band is not None and kept:
        shown = kept[-MOST_COMPARED:]
        shown_documents = [each.heads[0].document for each in shown]
        compared = request.app.state.answers.compared(band, shown_documents, page=page_of(request))
        kept_by_place = dict(enumerate(shown))
    else:
        kept_by_place = {}
    return {"title": f"Formula, {rebuild.name}", "bench": "formula", "rebuild": rebuild, "formulas": kept,
            "band": band, "working": bool(kept) and (working or (band is not None and compared is None)),
            "compared": compared, "by_place": kept_by_place, "pasted": pasted,
            "axes": axis_rows(compared) if compared else []}  # fmt: skip


def axis_rows(compared: Comparison) -> list[dict[str, Any]]:
    """Return one row for each axis that any recipe has: the original's range, and each recipe's place beside it."""
    by_key = [{axis.key: axis for axis in recipe.axes} for recipe in compared.recipes]
    every = {key: axis for axes in reversed(by_key) for key, axis in axes.items()}
    order = dict.fromkeys(key for axes in by_key for key in axes)
    return [
        {"name": axis_name(every[key]), "original": every[key].original, "cells": [axes.get(key) for axes in by_key]}
        for key in order
    ]
