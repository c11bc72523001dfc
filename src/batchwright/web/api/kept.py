"""API: what the book keeps - rebuilds, briefs, originals with their answers, history, pictures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from batchwright.actions.book import (
    Kept,
    begin_rebuild,
    change_rebuild,
    history_of,
    kept_thing,
    listed_rebuilds,
    save_thing,
    settle_thing,
    step_back,
    step_forward,
    the_rebuild,
    thing_of,
)
from batchwright.actions.documents import OriginalDocument
from batchwright.base.errors import Fault, InputError
from batchwright.store.records import Saved
from batchwright.web.api.sent import (
    MOST_NUMBER,
    ChangeRebuild,
    NewRebuild,
    Number,
    Question,
    SaveBrief,
    SavedAs,
    SaveOriginal,
    Settle,
)
from batchwright.web.encoded import JSONAnswer
from batchwright.web.view import page_of

router = APIRouter(tags=["the book"])
MOST_LISTED = 10_000
A_WHILE_S = 10.0  # how long a program's question waits before it is told to ask again
MADE, WORKING = 201, 202


@router.get("/rebuilds", response_model=None)
def rebuilds(
    request: Request, set_aside: bool = False, find: str = Query("", max_length=200),
    most: int = Query(MOST_LISTED, ge=1, le=MOST_LISTED), skip: int = Query(0, ge=0, le=MOST_NUMBER),
) -> dict[str, Any]:  # fmt: skip
    """Return the rebuilds, the newest change first; those set aside instead where asked for. Keeper only.

    find: words that all stand in the name. most, skip: a piece of a long list.
    """
    found = listed_rebuilds(request.app.state.book, set_aside, most, skip, find)
    return {"rebuilds": [each.to_json() for each in found]}


@router.post("/rebuilds", response_model=None, status_code=MADE)
def begin(request: Request, sent: NewRebuild) -> dict[str, Any]:
    """Begin a rebuild from whatever is at hand; return it and the room its page opens first. Keeper only."""
    begun, room = begin_rebuild(request.app.state.book, sent.pasted, _who(request), sent.name)
    return {"rebuild": begun.to_json(), "room": room}


@router.get("/rebuilds/{rebuild_id}", response_model=None)
def rebuild(request: Request, rebuild_id: Number) -> dict[str, Any]:
    """Return one rebuild."""
    return the_rebuild(request.app.state.book, rebuild_id).to_json()


@router.patch("/rebuilds/{rebuild_id}", response_model=None)
def change(request: Request, rebuild_id: Number, sent: ChangeRebuild) -> dict[str, Any]:
    """Rename a rebuild, set it aside, or bring it back. Keeper only."""
    fields = {} if sent.name is None else {"name": sent.name}
    if sent.set_aside is not None:
        fields["set_aside"] = "yes" if sent.set_aside else "no"
    change_rebuild(request.app.state.book, rebuild_id, fields, _who(request))
    return the_rebuild(request.app.state.book, rebuild_id).to_json()


@router.get("/rebuilds/{rebuild_id}/documents/{kind}", response_model=None)
def one_document(request: Request, rebuild_id: Number, kind: Literal["original", "brief"]) -> dict[str, Any]:
    """Return the original or the brief with its newest revisions; several where two people saved at once."""
    return kept_json(kept_thing(request.app.state.book, rebuild_id, kind))


@router.put("/rebuilds/{rebuild_id}/original", response_model=None)
def save_original(request: Request, rebuild_id: Number, sent: SaveOriginal) -> dict[str, Any]:
    """Keep an original as the next revision, whether or not an answer comes of it."""
    return _saved(request, rebuild_id, "original", sent, document_of(sent.document))


@router.put("/rebuilds/{rebuild_id}/brief", response_model=None)
def save_brief(request: Request, rebuild_id: Number, sent: SaveBrief) -> dict[str, Any]:
    """Keep a brief as the next revision."""
    return _saved(request, rebuild_id, "brief", sent, sent.document.model_dump())


@router.get("/rebuilds/{rebuild_id}/original/answer", responses={WORKING: {"description": "Ask again."}})
def answer(request: Request, rebuild_id: Number, mix: str = Query("", max_length=200)) -> Response:
    """Return what the original is made of, as `decode --json` prints it; 202 while it is being worked out."""
    document = kept_thing(request.app.state.book, rebuild_id, "original").heads[0].document
    return answered(request, document, mix)


@router.post("/rebuilds/{rebuild_id}/original/answer", responses={WORKING: {"description": "Ask again."}})
def answer_to(request: Request, rebuild_id: Number, sent: Question) -> Response:
    """Return what a document would be made of; it is kept nowhere."""
    the_rebuild(request.app.state.book, rebuild_id)
    return answered(request, document_of(sent.document), sent.mix)


@router.get("/rebuilds/{rebuild_id}/things/{thing_id}/history", response_model=None)
def history(request: Request, rebuild_id: Number, thing_id: Number) -> dict[str, Any]:
    """Return every revision of a thing, newest first."""
    kept = thing_of(request.app.state.book, rebuild_id, thing_id)
    revisions = history_of(request.app.state.book, thing_id)
    return {"thing": kept.thing.to_json(), "revisions": [each.to_json() for each in revisions]}


@router.post("/rebuilds/{rebuild_id}/things/{thing_id}/undo", response_model=None)
def undo(request: Request, rebuild_id: Number, thing_id: Number) -> dict[str, Any]:
    """Bring the document before the newest back as a new revision."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    return _stepped(request, step_back(request.app.state.book, thing_id, _who(request)))


@router.post("/rebuilds/{rebuild_id}/things/{thing_id}/redo", response_model=None)
def redo(request: Request, rebuild_id: Number, thing_id: Number) -> dict[str, Any]:
    """Take the last undo back."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    return _stepped(request, step_forward(request.app.state.book, thing_id, _who(request)))


@router.post("/rebuilds/{rebuild_id}/things/{thing_id}/settle", response_model=None)
def settle(request: Request, rebuild_id: Number, thing_id: Number, sent: Settle) -> dict[str, Any]:
    """Let one of several newest revisions take the place of those `seen`, all there are where it is left out."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    return settle_thing(request.app.state.book, thing_id, sent.keep, _who(request), sent.seen).to_json()


@router.get("/rebuilds/{rebuild_id}/pictures", response_model=None)
def pictures(request: Request, rebuild_id: Number) -> dict[str, Any]:
    """Return what is known of the pictures of a rebuild; each lies at /pictures/{id}."""
    the_rebuild(request.app.state.book, rebuild_id)
    return {"pictures": [each.to_json() for each in request.app.state.pictures.of(rebuild_id)]}


@router.delete("/rebuilds/{rebuild_id}/pictures/{picture_id}", status_code=204)
def remove_picture(request: Request, rebuild_id: Number, picture_id: Number, for_good: bool = False) -> None:
    """Remove a picture for good; the history says so, and nothing brings it back. Keeper only, `for_good=true` only."""
    if not for_good:
        hint = "Nothing brings it back but a copy of the book made before."
        raise InputError([Fault("for_good", for_good, "true: the picture is removed for good", hint)])
    request.app.state.photos.remove(rebuild_id, picture_id, _who(request))


def document_of(sent: OriginalDocument) -> dict[str, Any]:
    """Return a document as sent: tables that were not named are absent, not empty."""
    return sent.model_dump(exclude_unset=True)


def answered(request: Request, document: Mapping[str, Any], mix: str) -> Response:
    """Return the answer of a document, or that it is being worked out."""
    found = request.app.state.answers.within(document, A_WHILE_S, page_of(request), mix)
    if found is None:
        return JSONAnswer({"working": True}, WORKING)
    return JSONAnswer({"sentence": found["sentence"], **found["answer"]})


def kept_json(kept: Kept) -> dict[str, Any]:
    """Return a thing with its newest revisions."""
    return {"thing": kept.thing.to_json(), "heads": [head.to_json() for head in kept.heads]}


def _saved(request: Request, rebuild_id: int, kind: str, sent: SavedAs, document: dict[str, Any]) -> dict[str, Any]:
    book = request.app.state.book
    thing = kept_thing(book, rebuild_id, kind).thing
    return save_thing(book, thing.id, sent.parent, document, _who(request), sent.key).to_json()


def _stepped(request: Request, saved: Saved) -> dict[str, Any]:
    """Return what undo or redo brought back, and how many pictures of it are gone for good."""
    return {**saved.to_json(), "pictures_gone": request.app.state.photos.gone(saved.revision.document)}


def _who(request: Request) -> str:
    name: str = request.state.door.name
    return name
