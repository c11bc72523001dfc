"""The formulas of a rebuild: pasted recipes in grams, beside the original, changed, fitted, written out."""

from __future__ import annotations

import json
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
from batchwright.formula.comparing.records import Comparison
from batchwright.web.numbers import number_typed
from batchwright.web.pages.original import answer_rows
from batchwright.web.resent import once
from batchwright.web.typed import Typed, typed
from batchwright.web.view import page, page_of, units_of

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
        document = pasted_document(text, units_of(request).cup)
    except InputError as error:
        faults = [replace(fault, field="pasted") for fault in error.faults]
        return page(request, "formula/formulas.html", _all(request, rebuild_id, text), faults)
    who, book = request.state.door.name, request.app.state.book
    made = once(request, f"formula {rebuild_id}",
                lambda: new_thing(book, rebuild_id, "formula", named(document), document, who),
                sent.fields.get("key", ""))  # fmt: skip
    return RedirectResponse(f"/rebuilds/{rebuild_id}/formula/{made.revision.thing_id}", SEE_OTHER)


@router.post("/first")
def first(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Take the one formula that fits the original's label as a recipe to work on."""
    found, _ = _original(request, rebuild_id)
    if found is None:
        hint = "Enter the original's label first, and wait for its answer."
        raise InputError([Fault("original", "", "an original with an answer", hint)])
    document = {**pasted_document(json.dumps({**found["answer"], "name": "From the label"})), "pasted": ""}
    book = request.app.state.book
    saved = new_thing(book, rebuild_id, "formula", "From the label", document, request.state.door.name)
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
    units = replace(units_of(request), weight="oz" if sent.fields.get("in") == "oz" else "g")
    shown = {row.at: units.typed(row.grams.likely) for row in bench_rows(document)[1] if row.grams is not None}
    faults: list[Fault] = []
    amounts: dict[int, float] = {}
    for name, value in sent.fields.items():
        place = name.removeprefix("grams:")
        if name == place or not place.isdecimal() or not value.strip() or value.strip() == shown.get(int(place)):
            continue
        number = number_typed(value)
        if number is None or not 0 <= number * units.grams <= 1_000_000:
            faults.append(Fault(name, value, "an amount, 0 or more, such as 120 or 2,5"))
        else:
            amounts[int(place)] = number * units.grams
    locked = [int(name[5:]) for name in sent.fields if name.startswith("lock:") and name[5:].isdecimal()]
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
    units = units_of(request)
    writing = request.app.state.answers.writing(kept.heads[0].document, units.cup, page_of(request))
    context = _base(request, rebuild_id, kept, "In cups") | _beside(request, rebuild_id) | {"writing": writing}
    return page(request, "formula/measures.html", context)


@router.get("/{thing_id}/card")
def card(request: Request, rebuild_id: int, thing_id: int) -> Response:
    """Show the recipe card as it prints."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    units = units_of(request)
    made = request.app.state.answers.card(kept.heads[0].document, units.cup, page_of(request))
    context = _base(request, rebuild_id, kept, "Card") | _beside(request, rebuild_id) | {"card": made}
    return page(request, "formula/card.html", context)


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
    context = _base(request, rebuild_id, kept, "Versions") | _beside(request, rebuild_id)
    context |= {"rows": rows, "newest": {revision.id for revision in kept.heads}}
    return page(request, "formula/versions.html", context)


def _base(request: Request, rebuild_id: int, kept: Kept, title: str) -> dict[str, Any]:
    rebuild = the_rebuild(request.app.state.book, rebuild_id)
    return {"title": f"{title}, {kept.thing.name}", "bench": "formula", "rebuild": rebuild, "kept": kept,
            "here": f"/rebuilds/{rebuild_id}/formula/{kept.thing.id}"}  # fmt: skip


def _parent(kept: Kept, sent: Typed) -> tuple[int | None, Mapping[str, Any]]:
    """Return the revision a form was typed over and its document; the newest where the form does not say."""
    asked = sent.number("parent")
    chosen = next((head for head in kept.heads if head.id == asked), kept.heads[0])
    return (sent.number("parent") or chosen.id), chosen.document


def _original(request: Request, rebuild_id: int) -> tuple[Any, bool]:
    """Return the original's answer, None where it has no label yet or none of use; and whether it is to come."""
    document = kept_thing(request.app.state.book, rebuild_id, "original").heads[0].document
    if not document.get("label", {}).get("text", "").strip():
        return None, False
    try:
        found = request.app.state.answers.within(document, page=page_of(request))
    except InputError:
        return None, False
    return found, found is None


def _band(request: Request, rebuild_id: int) -> tuple[Any, bool]:
    """Return the original's band as kept with its answer, None where there is none; and whether it is to come."""
    found, working = _original(request, rebuild_id)
    return (found["band"] if found else None), working


def _beside(request: Request, rebuild_id: int) -> dict[str, Any]:
    """Return what stands at the side of a formula's pages: the original in one sentence and its ranges."""
    found, _ = _original(request, rebuild_id)
    return {"original": found, "original_rows": answer_rows(found) if found else []}


def _one(request: Request, rebuild_id: int, thing_id: int) -> dict[str, Any]:
    """Return what the page of one formula shows."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    document = kept.heads[0].document
    weighing, rows = bench_rows(document)
    band, working = _band(request, rebuild_id)
    desk = request.app.state.answers
    compared = desk.compared(band, [document], document.get("locks", ()), page_of(request)) if band else None
    return _base(request, rebuild_id, kept, "Formula") | {
        "weighing": weighing, "rows": rows, "compared": compared.recipes[0] if compared else None,
        "moves": compared.moves if compared else None, "fitted": None, "typed": {}, "band": band,
        "document": document, "beside_max": _beside_max(compared),
        "named": [*(f"grams:{row.at}" for row in rows), "less_sweet", "on_hand"],
        "working": working or (band is not None and compared is None),
    }  # fmt: skip


def _all(request: Request, rebuild_id: int, pasted: str) -> dict[str, Any]:
    """Return what the page of all formulas shows."""
    book = request.app.state.book
    rebuild = the_rebuild(book, rebuild_id)
    kept = things_of(book, rebuild_id, "formula")
    band, working = _band(request, rebuild_id)
    compared, by_place, listed = None, {}, kept
    if band is not None and kept:
        by_place = dict(enumerate(kept[-MOST_COMPARED:]))
        documents = [each.heads[0].document for each in by_place.values()]
        compared = request.app.state.answers.compared(band, documents, page=page_of(request))
    if compared:
        nearest = [by_place[one.place] for one in compared.recipes]
        listed = (*nearest, *reversed(kept[:-MOST_COMPARED]))
    return {"original": None, "title": f"Formula, {rebuild.name}", "bench": "formula", "rebuild": rebuild,
            "formulas": listed, "band": band,
            "working": bool(kept) and (working or (band is not None and compared is None)),
            "compared": compared, "by_place": by_place, "pasted": pasted,
            "axes": axis_rows(compared) if compared else [], "beside_max": _beside_max(compared),
            **({} if compared else _beside(request, rebuild_id))}  # fmt: skip


def _beside_max(compared: Comparison | None) -> float:
    """Return the end of the axis that the nearest recipe and the original share."""
    axes = compared.recipes[0].axes if compared else ()
    return nice_axis_max(max((max(axis.original.high, axis.recipe.high) for axis in axes), default=100.0))


def axis_rows(compared: Comparison) -> list[dict[str, Any]]:
    """Return one row for each axis that any recipe has: the original's range, and each recipe's place beside it."""
    by_key = [{axis.key: axis for axis in recipe.axes} for recipe in compared.recipes]
    every = {key: axis for axes in reversed(by_key) for key, axis in axes.items()}
    order = dict.fromkeys(key for axes in by_key for key in axes)
    return [
        {"name": every[key].name, "kind": every[key].kind, "original": every[key].original,
         "cells": [axes.get(key) for axes in by_key]}
        for key in order
    ]
