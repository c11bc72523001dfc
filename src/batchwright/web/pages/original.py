"""The original: its label as read, its panels, its tear-down, and what it is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.actions.book import kept_thing, save_thing, the_rebuild
from batchwright.actions.read import LabelReading, read_label
from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.nutrients import PANEL_KEYS
from batchwright.base.shown import nice_axis_max
from batchwright.web.original_form import (
    MOST_PANELS,
    MOST_PARTS,
    PANEL_LABELS,
    SIZES,
    document_from_form,
    fields_from_document,
)
from batchwright.web.typed import Typed, typed
from batchwright.web.view import fragment, page

router = APIRouter(prefix="/rebuilds/{rebuild_id}/original")
SEE_OTHER = 303
SHOWN_HOW = {"name": "known", "synonym": "known", "stripped": "known"}


@router.get("")
def show(request: Request, rebuild_id: int) -> Response:
    """Show the original: the answer first, what it rests on beside it."""
    book = request.app.state.book
    kept = kept_thing(book, rebuild_id, "original")
    brief = kept_thing(book, rebuild_id, "brief")
    document = kept.heads[0].document
    found, faults = _answer(request, document)
    context = _context(request, rebuild_id, document, fields_from_document(document), found)
    context |= {"parent": kept.heads[0].id, "heads": kept.heads, "thing": kept.thing, "brief": brief.heads[0].document,
                "brief_parent": brief.heads[0].id, "brief_heads": brief.heads}  # fmt: skip
    return page(request, "original/original.html", context, faults, status=200)


@router.post("")
def save(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep what was typed as a new revision, whether or not an answer comes of it, and show the page again."""
    book = request.app.state.book
    kept = kept_thing(book, rebuild_id, "original")
    parent, before = _parent(kept.heads, sent)
    document = document_from_form(sent.fields, before)
    save_thing(book, kept.thing.id, parent, document, request.state.door.name, sent.fields.get("key", ""))
    return RedirectResponse(f"/rebuilds/{rebuild_id}/original#main", SEE_OTHER)


@router.post("/answer")
def answer(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Return the answer to what is typed just now, kept nowhere; the page puts it in place of the older one."""
    kept = kept_thing(request.app.state.book, rebuild_id, "original")
    _, before = _parent(kept.heads, sent)
    document = document_from_form(sent.fields, before)
    found, faults = _answer(request, document)
    context = _context(request, rebuild_id, document, sent.fields, found)
    return fragment(request, "original/answer.html", context, faults)


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
    asked = sent.fields.get("parent", "")
    chosen = next((head for head in heads if str(head.id) == asked), heads[0])
    return (int(asked) if asked.isdigit() else chosen.id), chosen.document


def _answer(request: Request, document: Mapping[str, Any]) -> tuple[Mapping[str, Any] | None, Sequence[Fault]]:
    """Return the decoded answer with its words, none where nothing was entered, and what is wrong."""
    if not document.get("label", {}).get("text", "").strip():
        return None, ()
    try:
        return request.app.state.answers.of(document), ()
    except InputError as error:
        return None, error.faults


def _context(
    request: Request, rebuild_id: int, document: Mapping[str, Any], fields: Mapping[str, str],
    found: Mapping[str, Any] | None,
) -> dict[str, Any]:  # fmt: skip
    rebuild = the_rebuild(request.app.state.book, rebuild_id)
    panels = [place for place in range(MOST_PANELS) if any(key.startswith(f"panel{place}.") for key in fields)]
    text = document.get("label", {}).get("text", "")
    bakers = request.query_params.get("show") == "bakers" or fields.get("show") == "bakers"
    return {
        "title": f"Original, {rebuild.name}", "bench": "original", "rebuild": rebuild, "fields": fields,
        "found": found, "rows": answer_rows(found, bakers) if found else [], "bakers": bakers,
        "panel_places": range(min(MOST_PANELS, len(panels) + 1)), "part_places": _part_places(fields),
        "panel_keys": PANEL_KEYS, "panel_labels": PANEL_LABELS, "sizes": SIZES,
        "reading": tree_rows(read_label(text), document.get("match", {})) if text.strip() else [],
    }  # fmt: skip


def _part_places(fields: Mapping[str, str]) -> range:
    filled = sum(1 for place in range(MOST_PARTS) if fields.get(f"part{place}.name"))
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
                "ingredient": share["ingredient"], "depth": min(4, len(share["path"]) - 1),
                "estimate": Estimate(**share[key]), "pins": pins, "cannot_tell": share["cannot_tell"],
                "axis_max": nice_axis_max(largest),
            }
        )  # fmt: skip
    return rows


def tree_rows(reading: LabelReading, chosen: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the label as read, one row for each leaf: printed name, where it stands on the shelf, and how sure."""
    rows = []
    for leaf, found in reading.leaves:
        name = leaf.item.name
        own = chosen.get(name) or chosen.get(name.casefold())
        how = "unknown" if found.how == "unknown" else SHOWN_HOW.get(found.how, "guess")
        rows.append({"name": name, "path": leaf.path, "depth": min(4, len(leaf.path)), "how": "known" if own else how,
                     "ingredient": own or found.ingredient or found.ingredient_class or "", "said": found.note,
                     "chosen": own or ""})  # fmt: skip
    return rows
