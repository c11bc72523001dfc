"""API: the formulas of a rebuild - weighed, changed, held against the original, fitted, written out."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from batchwright.actions.bench import checked_document, document_of, named, pasted_document, with_amounts
from batchwright.actions.book import kept_thing, new_thing, remove_thing, save_thing, the_rebuild, thing_of, things_of
from batchwright.actions.fit_words import sentence
from batchwright.base.errors import Fault, InputError
from batchwright.web.api.kept import A_WHILE_S, MADE, WORKING, kept_json
from batchwright.web.api.sent import FitAsked, NewFormula, Number, SaveAmounts, SaveFormula
from batchwright.web.encoded import JSONAnswer
from batchwright.web.view import page_of

router = APIRouter(prefix="/rebuilds/{rebuild_id}/formulas", tags=["formulas"])
MOST_COMPARED = 20


@router.get("", response_model=None)
def formulas(request: Request, rebuild_id: Number) -> dict[str, Any]:
    """Return every formula of a rebuild with its newest versions."""
    the_rebuild(request.app.state.book, rebuild_id)
    return {"formulas": [kept_json(each) for each in things_of(request.app.state.book, rebuild_id, "formula")]}


@router.post("", response_model=None, status_code=MADE)
def take_in(request: Request, rebuild_id: Number, sent: NewFormula) -> dict[str, Any]:
    """Take a recipe in any form into the rebuild, in grams."""
    document = pasted_document(sent.text, sent.convention)
    name = sent.name.strip() or named(document)
    saved = new_thing(request.app.state.book, rebuild_id, "formula", name, document, request.state.door.name)
    return saved.to_json()


@router.get("/compared", response_model=None, responses={WORKING: {"description": "Ask again."}})
def compared(request: Request, rebuild_id: Number, moves: int = Query(3, ge=0, le=6)) -> Response:
    """Return the formulas beside the original, the nearest first, as `compare --json` prints it."""
    kept = things_of(request.app.state.book, rebuild_id, "formula")[-MOST_COMPARED:]
    if not kept:
        raise InputError([Fault("formulas", rebuild_id, "at least one formula", "Take a recipe in first.")])
    found = None
    band = _band(request, rebuild_id)
    if band is not None:
        documents = [each.heads[0].document for each in kept]
        found = request.app.state.answers.compared(band, documents, (), page_of(request), A_WHILE_S, moves)
    if found is None:
        return JSONAnswer({"working": True}, WORKING)
    places = {"formulas": [each.thing.id for each in kept], "order": [one.place for one in found.recipes]}
    return JSONAnswer({**found.to_json(), **places})


@router.get("/{thing_id}", response_model=None)
def formula(request: Request, rebuild_id: Number, thing_id: Number) -> dict[str, Any]:
    """Return one formula with its newest versions."""
    return kept_json(thing_of(request.app.state.book, rebuild_id, thing_id))


@router.put("/{thing_id}", response_model=None)
def save(request: Request, rebuild_id: Number, thing_id: Number, sent: SaveFormula) -> dict[str, Any]:
    """Keep a formula as the next version; every value of it is checked."""
    _formula(request, rebuild_id, thing_id)
    document = checked_document(sent.document)
    return save_thing(request.app.state.book, thing_id, sent.parent, document, request.state.door.name,
                      sent.key).to_json()  # fmt: skip


@router.delete("/{thing_id}", status_code=204)
def remove(request: Request, rebuild_id: Number, thing_id: Number) -> None:
    """Take a formula off the pages; its history stays in the book."""
    _formula(request, rebuild_id, thing_id)
    remove_thing(request.app.state.book, thing_id)


@router.post("/{thing_id}/amounts", response_model=None)
def amounts(request: Request, rebuild_id: Number, thing_id: Number, sent: SaveAmounts) -> dict[str, Any]:
    """Keep amounts set by hand and the lines that stay as the next version."""
    document = with_amounts(_formula(request, rebuild_id, thing_id), sent.amounts, sent.locked)
    return save_thing(request.app.state.book, thing_id, sent.parent, document, request.state.door.name,
                      sent.key).to_json()  # fmt: skip


@router.post("/{thing_id}/fit", response_model=None)
def fit(request: Request, rebuild_id: Number, thing_id: Number, sent: FitAsked) -> dict[str, Any]:
    """Return a formula fitted toward the original, or less sweet, as `fit --json` prints it; nothing is kept.

    `document` in the answer is what may be saved as the next version.
    """
    document = _formula(request, rebuild_id, thing_id)
    band = None if sent.less_sweet_percent else _band(request, rebuild_id)
    found = request.app.state.answers.fitted(document, band, sent.less_sweet_percent, sent.on_hand, sent.own_only,
                                             page_of(request))  # fmt: skip
    after = document_of(found.formula, str(document.get("pasted", "")), document.get("locks", ()))
    return {"sentence": sentence(found), **found.to_json(), "document": after}


@router.get("/{thing_id}/measures", response_model=None)
def measures(request: Request, rebuild_id: Number, thing_id: Number,
             convention: str = Query("", max_length=200)) -> dict[str, Any]:  # fmt: skip
    """Return a formula in cups, spoons and eggs, as `measures --json` prints it."""
    document = _formula(request, rebuild_id, thing_id)
    found: dict[str, Any] = request.app.state.answers.writing(document, convention, page_of(request)).to_json()
    return found


@router.get("/{thing_id}/card", response_model=None)
def card(request: Request, rebuild_id: Number, thing_id: Number,
         convention: str = Query("", max_length=200)) -> dict[str, Any]:  # fmt: skip
    """Return a formula's recipe card, as `card --json` prints it."""
    document = _formula(request, rebuild_id, thing_id)
    found: dict[str, Any] = request.app.state.answers.card(document, convention, page_of(request)).to_json()
    return found


def _formula(request: Request, rebuild_id: int, thing_id: int) -> dict[str, Any]:
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    if kept.thing.kind != "formula":
        raise InputError([Fault("thing", thing_id, "a formula of this rebuild")])
    return dict(kept.heads[0].document)


def _band(request: Request, rebuild_id: int) -> dict[str, Any] | None:
    """Return the original's band, None while it is being worked out; raises InputError where there is no label."""
    document = kept_thing(request.app.state.book, rebuild_id, "original").heads[0].document
    if not document.get("label", {}).get("text", "").strip():
        raise InputError([Fault("original", "", "a label with its ingredients", "Enter the original's label first.")])
    found = request.app.state.answers.within(document, A_WHILE_S, page_of(request))
    return None if found is None else found["band"]
