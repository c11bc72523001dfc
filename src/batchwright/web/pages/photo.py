"""Pictures of the packet: taken or uploaded, read, checked beside the picture, taken over into the original."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePosixPath, PureWindowsPath
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.actions.book import Kept, kept_thing, save_thing, the_rebuild
from batchwright.actions.photo import PhotoDesk, taken_over
from batchwright.actions.photo_reading import PhotoReading
from batchwright.base.errors import Fault, InputError
from batchwright.base.nutrients import PANEL_KEYS
from batchwright.store.records import Picture
from batchwright.web.original_form import MOST_PANELS, PANEL_LABELS, document_from_form
from batchwright.web.typed import Typed, typed, whole_number
from batchwright.web.uploads import CleanPicture, clean_picture
from batchwright.web.view import page

router = APIRouter()
SEE_OTHER = 303
NOT_MODIFIED = 304
AGAIN_S = 2  # how soon a page that waits for a reading asks again


@router.get("/rebuilds/{rebuild_id}/photo")
def show(request: Request, rebuild_id: int) -> Response:
    """Show a picture beside what was read in it: the one asked for, else the newest; none, and how to take one."""
    desk: PhotoDesk = request.app.state.photos
    pictures = desk.of(rebuild_id)
    asked = whole_number(request.query_params.get("picture", ""))
    if asked is not None and all(each.id != asked for each in pictures):
        raise InputError([Fault("picture", asked, "a picture of this rebuild")])
    shown = next((each for each in pictures if each.id == asked), pictures[-1] if pictures else None)
    reading: PhotoReading | None = None
    faults: Sequence[Fault] = ()
    waiting = False
    if shown is not None and "type" not in request.query_params:
        try:
            reading = desk.reading(shown)
            waiting = reading is None
        except InputError as error:
            faults = error.faults
    fields = fields_of(reading) if reading else {}
    context = _context(request, rebuild_id, shown, fields, reading) | {"waiting": waiting}
    answer = page(request, "original/photo.html", context, faults, status=200)
    if waiting:
        answer.headers["refresh"] = str(AGAIN_S)  # asks again without a script
    return answer


@router.post("/rebuilds/{rebuild_id}/photo")
def take(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep a picture that was taken or chosen, and show it."""
    try:
        the_rebuild(request.app.state.book, rebuild_id)
        if "picture" not in sent.files:
            raise InputError([Fault("picture", "", "a JPEG, PNG or WebP picture", "Take one, or choose a file.")])
        name, data = sent.files["picture"]
        kept = keep_clean(request.app.state.photos, rebuild_id, name, clean_picture(data))
    except InputError as error:
        if any(fault.field == "rebuild" for fault in error.faults):
            raise
        pictures = request.app.state.photos.of(rebuild_id)
        context = _context(request, rebuild_id, None, {}, None) | {"waiting": False, "pictures": pictures}
        return page(request, "original/photo.html", context, error.faults)
    return RedirectResponse(f"/rebuilds/{rebuild_id}/photo?picture={kept.id}", SEE_OTHER)


def keep_clean(desk: PhotoDesk, rebuild_id: int, name: str, clean: CleanPicture) -> Picture:
    """Keep a picture made anew with its rebuild. name: of the file as sent, of which the last part is kept."""
    last = PurePosixPath(PureWindowsPath(name).name).name  # a path says more of the sender than is wanted
    return desk.keep(rebuild_id, last or "picture", clean.data, clean.media_type, (clean.width, clean.height))


@router.post("/rebuilds/{rebuild_id}/photo/remove")
def remove(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Remove a picture for good: asked first, done once that is confirmed. For the keeper alone."""
    desk: PhotoDesk = request.app.state.photos
    shown = _of_rebuild(desk, rebuild_id, sent)
    if sent.fields.get("for_good") != "yes":
        context = _context(request, rebuild_id, shown, {}, None) | {"waiting": False}
        return page(request, "original/photo_remove.html", context)
    desk.remove(rebuild_id, shown.id, request.state.door.name)
    return RedirectResponse(f"/rebuilds/{rebuild_id}/photo", SEE_OTHER)


def _of_rebuild(desk: PhotoDesk, rebuild_id: int, sent: Typed) -> Picture:
    shown = next((each for each in desk.of(rebuild_id) if each.id == sent.number("picture")), None)
    if shown is None:
        raise InputError([Fault("picture", sent.fields.get("picture", ""), "a picture of this rebuild")])
    return shown


@router.post("/rebuilds/{rebuild_id}/photo/take-over")
def take_over(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Put the checked words and figures into the original, as a new revision."""
    book, desk = request.app.state.book, request.app.state.photos
    shown = _of_rebuild(desk, rebuild_id, sent)
    kept = kept_thing(book, rebuild_id, "original")
    parent = sent.number("parent")
    head = next((each for each in kept.heads if each.id == parent), kept.heads[0])
    typed_in = document_from_form(sent.fields, {})
    listed = typed_in.get("label", {}).get("text", "")
    panels = [panel for panel in typed_in.get("panels", []) if any(key in panel for key in PANEL_KEYS)]
    try:
        document = taken_over(head.document, listed, panels, shown.id, sent.fields.get("how") == "add")
    except InputError as error:
        context = _context(request, rebuild_id, shown, sent.fields, None) | {"waiting": False}
        return page(request, "original/photo.html", context, error.faults)
    save_thing(book, kept.thing.id, head.id, document, request.state.door.name, sent.fields.get("key", ""))
    return RedirectResponse(f"/rebuilds/{rebuild_id}/original", SEE_OTHER)


@router.get("/pictures/{picture_id}")
def picture(request: Request, picture_id: int) -> Response:
    """Send a picture to those who may enter its rebuild; to all others there is none."""
    found, data = request.app.state.photos.one(picture_id)
    if not request.state.door.may_enter(found.rebuild_id):
        raise InputError([Fault("picture", picture_id, "a picture that is in this book")])
    tag = f'"{found.digest}"'
    headers = {"etag": tag, "cache-control": "private, no-cache", "x-content-type-options": "nosniff"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=NOT_MODIFIED, headers=headers)
    return Response(data, media_type=found.media_type, headers=headers)


def fields_of(reading: PhotoReading) -> dict[str, str]:
    """Return what each field shows for a reading."""
    fields = {"label.text": reading.listed}
    for place, panel in enumerate(reading.panels[:MOST_PANELS]):
        fields |= {f"panel{place}.{key}": value for key, value in panel.items()}
    return fields


def _context(
    request: Request, rebuild_id: int, shown: Picture | None, fields: Mapping[str, str], reading: PhotoReading | None
) -> dict[str, Any]:
    book = request.app.state.book
    rebuild = the_rebuild(book, rebuild_id)
    kept: Kept = kept_thing(book, rebuild_id, "original")
    document = kept.heads[0].document
    places = [place for place in range(MOST_PANELS) if any(key.startswith(f"panel{place}.") for key in fields)]
    return {
        "title": f"Pictures, {rebuild.name}", "bench": "original", "rebuild": rebuild, "shown": shown,
        "pictures": request.app.state.photos.of(rebuild_id), "fields": fields, "reading": reading,
        "parent": fields.get("parent", kept.heads[0].id),
        "has_words": bool(document.get("label", {}).get("text", "").strip()),
        "has_panel": bool(document.get("panels") or document.get("panel")),
        "panel_places": places or [0], "filled": [_filled(fields, place) for place in range(MOST_PANELS)],
        "shown_faults": ("picture", "label.text", "add"), "panel_keys": PANEL_KEYS, "panel_labels": PANEL_LABELS,
    }  # fmt: skip


def _filled(fields: Mapping[str, str], place: int) -> frozenset[str]:
    """Return the keys of a panel's fields that hold something."""
    return frozenset(key for key in PANEL_KEYS if fields.get(f"panel{place}.{key}", "").strip())
