"""What was kept before: every version of a thing, undo, redo, and which of two goes on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.actions.book import history_of, settle_thing, step_back, step_forward, the_rebuild, thing_of
from batchwright.web.typed import Typed, typed
from batchwright.web.view import page

router = APIRouter(prefix="/rebuilds/{rebuild_id}/history/{thing_id}")
SEE_OTHER = 303


@router.get("")
def show(request: Request, rebuild_id: int, thing_id: int) -> Response:
    """Show every version of a thing and which fields changed from each to the next."""
    book = request.app.state.book
    kept = thing_of(book, rebuild_id, thing_id)
    history = history_of(book, thing_id)
    by_id = {revision.id: revision for revision in history}
    rows = []
    for revision in history:
        before = by_id.get(revision.parent_id or 0)
        words = changed_fields(before.document, revision.document) if before else ["begun"]
        rows.append({"revision": revision, "words": words or ["nothing"]})
    context = {"title": f"Versions, {kept.thing.name}", "bench": kept.thing.kind, "kept": kept, "rows": rows,
               "rebuild": the_rebuild(book, rebuild_id), "newest": {head.id for head in kept.heads}}  # fmt: skip
    return page(request, "book/history.html", context)


@router.post("/undo")
def undo(request: Request, rebuild_id: int, thing_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Bring the version before the newest back."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    step_back(request.app.state.book, thing_id, request.state.door.name)
    return _back(request, rebuild_id, thing_id)


@router.post("/redo")
def redo(request: Request, rebuild_id: int, thing_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Take the last undo back."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    step_forward(request.app.state.book, thing_id, request.state.door.name)
    return _back(request, rebuild_id, thing_id)


@router.post("/settle")
def settle(request: Request, rebuild_id: int, thing_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Go on from one of the versions saved at the same time; the others the page showed stay in the history alone."""
    thing_of(request.app.state.book, rebuild_id, thing_id)
    seen = [int(each) for each in sent.fields.get("seen", "").split(",") if each.isdecimal() and len(each) < 10]
    settle_thing(request.app.state.book, thing_id, sent.number("keep") or 0, request.state.door.name, seen or None)
    return _back(request, rebuild_id, thing_id)


def _back(request: Request, rebuild_id: int, thing_id: int) -> Response:
    kind = thing_of(request.app.state.book, rebuild_id, thing_id).thing.kind
    room = f"formula/{thing_id}" if kind == "formula" else "original"
    return RedirectResponse(f"/rebuilds/{rebuild_id}/{room}", SEE_OTHER)


def changed_fields(before: Mapping[str, Any], after: Mapping[str, Any], path: str = "") -> list[str]:
    """Return what changed between two documents, field by field, in words: "label text: …" to "…"."""
    found = []
    for key in dict.fromkeys((*before, *after)):
        was, now = before.get(key), after.get(key)
        name = f"{path} {key}".strip().replace("_", " ")
        if was == now:
            continue
        if isinstance(was, Mapping) and isinstance(now, Mapping):
            found += changed_fields(was, now, name)
        else:
            found.append(f"{name}: {_short(was)} → {_short(now)}")
    return found


def _short(value: Any) -> str:
    text = "nothing" if value in (None, "", [], {}) else ", ".join(map(str, value)) if isinstance(value, list) else str(
        value)  # fmt: skip
    return text if len(text) <= 160 else text[:157] + "…"
