"""The original: its label as read, its panels, its tear-down, and what it is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup

from batchwright.actions.answers import AT_ONCE_S
from batchwright.actions.book import Kept, history_of, kept_thing, save_thing, the_rebuild
from batchwright.actions.pantry import find_ingredients
from batchwright.actions.pasted import packet_document, shelf_names
from batchwright.actions.read import LabelReading, read_label
from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.nutrients import PANEL_KEYS
from batchwright.base.shown import nice_axis_max
from batchwright.original.statements.records import NAMES_MENDED
from batchwright.web.original_form import (
    MOST_PANELS,
    MOST_PARTS,
    PANEL_LABELS,
    SIZES,
    beside_fields,
    document_from_form,
    fields_from_document,
)
from batchwright.web.typed import Typed, typed
from batchwright.web.view import fragment, page, page_of

router = APIRouter(prefix="/rebuilds/{rebuild_id}/original")
SEE_OTHER = 303
NOTHING_YET = 204
LIVE_S = 10.0  # how long the live answer is waited for; the page shows the older one meanwhile
MOST_LOOKED_BACK = 8
SHOWN_HOW = {"name": "known", "synonym": "known", "stripped": "known"}


@router.get("")
def show(request: Request, rebuild_id: int) -> Response:
    """Show the original: the answer first, what it rests on beside it."""
    kept = kept_thing(request.app.state.book, rebuild_id, "original")
    document = kept.heads[0].document
    return _page(request, rebuild_id, kept, kept.heads[0].id, document, {}, status=200)


@router.post("")
def save(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep what was typed as a new revision, whether or not an answer comes of it; show it, or what cannot be."""
    book = request.app.state.book
    kept = kept_thing(book, rebuild_id, "original")
    parent, before = _parent(kept.heads, sent)
    document = _apart(document_from_form(sent.fields, before))
    saved = save_thing(book, kept.thing.id, parent, document, request.state.door.name, sent.fields.get("key", ""))
    answered = _answer(request, document)
    if answered.faults:
        kept = kept_thing(book, rebuild_id, "original")
        return _page(request, rebuild_id, kept, saved.revision.id, document, sent.fields)
    return RedirectResponse(f"/rebuilds/{rebuild_id}/original{_show(sent)}", SEE_OTHER)


@router.post("/look")
def look(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Show the page for what is typed just now, kept nowhere: another way of looking never costs a word."""
    kept = kept_thing(request.app.state.book, rebuild_id, "original")
    parent, before = _parent(kept.heads, sent)
    document = document_from_form(sent.fields, before)
    return _page(request, rebuild_id, kept, parent, document, sent.fields, status=200)


@router.post("/answer")
def answer(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Return the answer to what is typed just now, kept nowhere; the page puts it in place of the older one."""
    kept = kept_thing(request.app.state.book, rebuild_id, "original")
    _, before = _parent(kept.heads, sent)
    document = document_from_form(sent.fields, before)
    answered = _answer(request, document, LIVE_S)
    if answered.working:
        return Response(status_code=NOTHING_YET)
    context = _context(request, rebuild_id, document, sent.fields, answered)
    return fragment(request, "original/live.html", context, answered.faults)


@router.post("/brief")
def save_brief(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep the brief: the deadline and the words it must meet, would be nice to meet, and drops."""
    book = request.app.state.book
    kept = kept_thing(book, rebuild_id, "brief")
    parent, before = _parent(kept.heads, sent)
    words = {key: [w.strip() for w in sent.fields.get(key, "").split(",") if w.strip()]
             for key in ("must", "nice", "drop")}  # fmt: skip
    document = {**before, **words, "deadline": sent.fields.get("deadline", "").strip()}
    save_thing(book, kept.thing.id, parent, document, request.state.door.name, sent.fields.get("key", ""))
    return RedirectResponse(f"/rebuilds/{rebuild_id}/original", SEE_OTHER)


def _parent(heads: Sequence[Any], sent: Typed) -> tuple[int | None, Mapping[str, Any]]:
    """Return the revision a form was typed over and its document; the newest where the form does not say."""
    asked = sent.number("parent")
    chosen = next((head for head in heads if head.id == asked), heads[0])
    return (sent.number("parent") or chosen.id), chosen.document


def _apart(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document with the panel that stands in its text set into figures, where none are typed yet."""
    if document.get("panels") or not document["label"]["text"].strip():
        return document
    packet = packet_document(document["label"]["text"])
    return {**document, **packet} if "panels" in packet else document


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer to what is typed, or what is wrong, beside its field.

    `working`: it is being worked out still; `found` is then that of an earlier version, where the book has one.
    """

    found: Mapping[str, Any] | None = None
    faults: Sequence[Fault] = ()
    working: bool = False


def _answer(request: Request, document: Mapping[str, Any], wait_s: float = AT_ONCE_S, thing_id: int = 0) -> Answered:
    """Return the answer of a document; empty where nothing was entered yet."""
    if not document.get("label", {}).get("text", "").strip() and not document.get("panels"):
        return Answered()
    desk = request.app.state.answers
    try:
        found = desk.within(document, wait_s, page_of(request))
    except InputError as error:
        return Answered(None, beside_fields(error.faults, document))
    if found is not None or not thing_id:
        return Answered(found, working=found is None)
    older = (desk.kept(one.document) for one in history_of(request.app.state.book, thing_id)[1:MOST_LOOKED_BACK])
    return Answered(next((each for each in older if each), None), working=True)


def _show(sent: Typed) -> str:
    return "?show=bakers" if sent.fields.get("show") == "bakers" else ""


def _page(
    request: Request, rebuild_id: int, kept: Kept, parent: int | None, document: Mapping[str, Any],
    sent: Mapping[str, str], status: int | None = None,
) -> Response:  # fmt: skip
    """Return the page of an original. sent: what was typed and is shown as typed; empty for what the document says."""
    answered = _answer(request, document, thing_id=kept.thing.id)
    fields = {**fields_from_document(document), **sent, "label.text": document.get("label", {}).get("text", "")}
    brief = kept_thing(request.app.state.book, rebuild_id, "brief")
    context = _context(request, rebuild_id, document, fields, answered)
    context |= {"parent": parent, "heads": kept.heads, "thing": kept.thing, "brief": brief.heads[0].document,
                "brief_parent": brief.heads[0].id, "brief_heads": brief.heads,
                "gone": request.app.state.photos.gone(document)}  # fmt: skip
    return page(request, "original/original.html", context, answered.faults, status)


def _context(
    request: Request, rebuild_id: int, document: Mapping[str, Any], fields: Mapping[str, str], answered: Answered
) -> dict[str, Any]:
    rebuild = the_rebuild(request.app.state.book, rebuild_id)
    text = document.get("label", {}).get("text", "")
    bakers = (fields.get("look") or request.query_params.get("show") or fields.get("show")) == "bakers"
    right = document.get("label", {}).get("as_printed", ())
    reading = read_label(text, right) if text.strip() else None
    panels = [place for place in range(MOST_PANELS) if any(key.startswith(f"panel{place}.") and value
                                                           for key, value in fields.items())]  # fmt: skip
    found = answered.found
    return {
        "title": f"Original, {rebuild.name}", "bench": "original", "rebuild": rebuild, "fields": fields,
        "found": found, "rows": answer_rows(found, bakers) if found else [], "bakers": bakers,
        "floury": found is not None and any(share["bakers_percent"] for share in found["answer"]["ingredients"]),
        "working": answered.working, "panel_places": range(min(MOST_PANELS, max(panels, default=0) + 2)),
        "part_places": _part_places(fields), "panel_keys": PANEL_KEYS, "panel_labels": PANEL_LABELS, "sizes": SIZES,
        "reading": tree_rows(reading, document.get("match", {})) if reading else [],
        "mended": mended_rows(reading, text) if reading else [], "as_printed": right,
        "pasted": document.get("label", {}).get("pasted", ""),
        "shelf": shelf_options(),
    }  # fmt: skip


@cache
def shelf_options() -> Markup:
    """Return every name of the shelf as the choices of a field."""
    return Markup("").join(Markup("<option>{}</option>").format(name) for name in shelf_names())


def _part_places(fields: Mapping[str, str]) -> range:
    filled = max((place + 1 for place in range(MOST_PARTS) for key in ("name", "g", "brix")
                  if fields.get(f"part{place}.{key}")), default=0)  # fmt: skip
    return range(min(MOST_PARTS, max(2, filled + 1)))


def answer_rows(found: Mapping[str, Any], bakers: bool = False) -> list[dict[str, Any]]:
    """Return the rows of the picture, part by part: name, estimate, what pins it; and the axis they share.

    bakers: in percent of all flour instead of all that goes in, where there is flour.
    """
    answer = found["answer"]
    key = "bakers_percent" if bakers else "added_percent"
    shares = [(share, pins) for share, pins, trace in zip(answer["ingredients"], found["pins"], found["trace"],
                                                          strict=True) if not trace and share[key]]  # fmt: skip
    largest = max((max(share[key]["high"], share[key]["sure_high"] or 0.0) for share, _ in shares), default=1.0)
    rows = []
    for share, pins in shares:
        rows.append(
            {
                "name": share["name"], "part": share["part"], "match": share["match"],
                "ingredient": share["ingredient"], "inside": _inside(share["path"], share["part"]),
                "estimate": Estimate(**share[key]), "pins": pins, "cannot_tell": share["cannot_tell"],
                "axis_max": nice_axis_max(largest),
            }
        )  # fmt: skip
    return rows


def _inside(path: Sequence[str], part: str) -> str:
    """Return the compound a leaf stands in, empty where that is the part itself."""
    return path[-2] if len(path) > 1 and path[-2] != part else ""


def tree_rows(reading: LabelReading, chosen: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the label as read, one row for each leaf: printed name, where it stands on the shelf, and how sure.

    chosen: the cook's own word for a printed name. A name that stands there twice is changed in its first row.
    """
    rows: list[dict[str, Any]] = []
    for place, (leaf, found) in enumerate(reading.leaves):
        name = leaf.item.name
        own = chosen.get(name) or chosen.get(name.casefold()) or ""
        if own:
            found = find_ingredients(own).match
        how = "unknown" if found.how == "unknown" else "known" if own else SHOWN_HOW.get(found.how, "guess")
        said = f"“{own}” is not on the shelf." if own and how == "unknown" else found.note
        rows.append({"at": place, "name": name, "inside": leaf.path[-1] if leaf.path else "", "how": how,
                     "ingredient": found.ingredient or found.ingredient_class or "", "said": said, "chosen": own,
                     "again": any(row["name"] == name for row in rows)})  # fmt: skip
    return rows


def mended_rows(reading: LabelReading, text: str) -> list[dict[str, Any]]:
    """Return what was mended while reading, one row each: what stood there, what it was read as, where in the text."""
    rows = []
    for repair in reading.statement.repairs:
        was = text[repair.start : repair.end]
        rows.append({"field": f"mend:{repair.start}:{repair.end}:{was}", "was": was, "kind": repair.kind,
                     "before": repair.before, "after": repair.after, "start": repair.start, "end": repair.end,
                     "of_a_name": repair.kind in NAMES_MENDED,
                     "around": text[max(0, repair.start - 20) : repair.end + 20]})  # fmt: skip
    return rows
